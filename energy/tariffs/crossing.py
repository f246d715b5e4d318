"""Operating states crossed with price cells once, so that a year's bill needs no walk through its hours."""

from __future__ import annotations

from collections import OrderedDict
from dataclasses import dataclass
from typing import Any, NamedTuple

import numpy as np
from numpy.typing import ArrayLike

from energy.errors import EnergyError, OutOfRangeError
from energy.tariffs.calendar import PriceCalendar
from energy.tariffs.clock import QUARTER, Clock, Integers, clock_at, quarter_hours
from energy.tariffs.load import Array, Load
from energy.tariffs.tariff import Tariff

_KEPT: OrderedDict[tuple[Any, ...], Crossing] = OrderedDict()
_KEPT_AT_MOST = 32


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Crossing:
    """How long each operating state lasts in each price cell, and which states meet in a demand window and in a day."""

    year: int
    cells: tuple[str, ...]
    time: Array
    """Time by month, state and cell, shape (12, states, cells). [s]"""
    window_month: Integers
    """Month of every mix of states that fills a demand window, sorted by month and cell, shape (n,)."""
    window_cell: Integers
    """Its price cell, shape (n,)."""
    window_mix: Array
    """Share of each state in it, shape (n, states). [-]"""
    day_month: Integers
    """Month of every mix of states that fills a day, sorted, shape (d,)."""
    day_time: Array
    """Time of each state in it, shape (d, states). [s]"""


def cross(states: ArrayLike, tariff: Tariff, year: int, *, count: int | None = None) -> Crossing:
    """Cross the operating state of every quarter hour of a year with a tariff's price calendar.

    Parameters
    ----------
    states : array_like of int or bool, shape (n,)
        State, from 0, of each quarter hour of the local year in the order of `quarter_hours(year, time_zone)`.
    tariff : Tariff
        Its calendar and demand window.
    year : int
        Local year.
    count : int, optional
        Number of states; one more than the highest that occurs by default.

    Returns
    -------
    Crossing
        Kept, and given again when the same is asked.

    Raises
    ------
    OutOfRangeError
        Not one whole number from 0 up for each quarter hour.
    """
    calendar, window = tariff.price_calendar, int(tariff.demand_window)
    given = np.asarray(states)
    clock = quarter_hours(year, calendar.time_zone)
    if given.shape != clock.time.shape or given.dtype.kind not in "biu" or (given < 0).any():
        raise OutOfRangeError(
            f"operating states of {year} have shape {given.shape}, type {given.dtype}; "
            f"write one whole number from 0 up for each of its {clock.time.size} quarter hours"
        )
    state = given.astype(np.int64)
    size = int(state.max()) + 1 if count is None else count
    if state.max() >= size:
        raise OutOfRangeError(f"operating state {state.max()} is not one of the {size} states, counted from 0")
    key = (calendar.fingerprint, window, year, size, state.tobytes())
    if key in _KEPT:
        _KEPT.move_to_end(key)
        return _KEPT[key]
    cell, cells = calendar.cell_at(clock), len(calendar.cells)
    counts = np.bincount((clock.month * size + state) * cells + cell, minlength=12 * size * cells)
    group = windows(clock, window)
    first = np.flatnonzero(np.diff(group, prepend=-1))
    rows = np.unique(np.column_stack([clock.month[first], cell[first], _mixes(group, state, size)]), axis=0)
    day = np.cumsum(np.diff(clock.day, prepend=clock.day[0]))
    first_of_day = np.flatnonzero(np.diff(day, prepend=-1))
    days = np.unique(np.column_stack([clock.month[first_of_day], _mixes(day, state, size)]), axis=0)
    made = Crossing(
        year=year,
        cells=calendar.cells,
        time=np.multiply(float(QUARTER), counts).reshape(12, size, cells),
        window_month=rows[:, 0],
        window_cell=rows[:, 1],
        window_mix=rows[:, 2:] / rows[:, 2:].sum(-1, keepdims=True),
        day_month=days[:, 0],
        day_time=np.multiply(float(QUARTER), days[:, 1:]),
    )
    _KEPT[key] = made
    if len(_KEPT) > _KEPT_AT_MOST:
        _KEPT.popitem(last=False)
    return made


def cross_time(time: ArrayLike, tariff: Tariff, year: int) -> Crossing:
    """Cross operating states of which only the time in each month is known: spread evenly over the clock.

    Parameters
    ----------
    time : array_like, shape (12, states)
        Time in each state; the rest of a month has no load. [s]
    tariff : Tariff
    year : int

    Returns
    -------
    Crossing
        A state that occurs in a month occurs in each of its cells, and fills a demand window there; a day holds the
        states in the proportion of the month.

    Raises
    ------
    OutOfRangeError
        Another shape, a negative time, or more time than the month has.
    """
    calendar = tariff.price_calendar
    of_cell = calendar.time(year)
    month = of_cell.sum(-1)
    given = np.asarray(time, dtype=float)
    if given.ndim != 2 or given.shape[0] != 12 or (given < 0).any():
        raise OutOfRangeError(f"times of operating states have shape {given.shape}; write 12 rows of 0 or more")
    longest = given.sum(-1) - month
    if (longest > 3600.0 + 1e-9 * month).any():  # plant clocks without daylight saving may be an hour off
        worst = int(longest.argmax())
        raise OutOfRangeError(f"operating states of month {worst + 1} last {longest[worst]:.0f} s longer than it")
    share = of_cell / month[:, None]
    crossed = given[:, :, None] * share[:, None, :]
    rows = np.argwhere(crossed.swapaxes(1, 2) > 0)
    length = np.array([np.count_nonzero(quarter_hours(year).month == m) / 96 for m in range(12)])
    return Crossing(
        year=year,
        cells=calendar.cells,
        time=crossed,
        window_month=rows[:, 0],
        window_cell=rows[:, 1],
        window_mix=np.eye(given.shape[1])[rows[:, 2]],
        day_month=np.arange(12),
        day_time=given / length[:, None],
    )


def load_from_periods(power: ArrayLike, crossing: Crossing, *, peak: ArrayLike | None = None, **others: Any) -> Load:
    """The load of a meter whose power is known in each operating state.

    Parameters
    ----------
    power : array_like, shape (..., states) or (..., 12, states)
        Mean power in each state; a state that never occurs may hold NaN. [W]
    crossing : Crossing
        When the states occur.
    peak : array_like, optional
        Highest power in each state, shaped alike; the mean by default. [W]
    **others
        Further fields of `Load`, such as `power_factor`.

    Returns
    -------
    Load
        With energy and peak by price cell.

    Raises
    ------
    OutOfRangeError
        Another number of states.
    """
    mean = _by_month(power, crossing)
    high = mean if peak is None else _by_month(peak, crossing)
    known = np.where(crossing.time.sum(-1) > 0, mean, 0.0)
    single = (crossing.window_mix > 0).argmax(-1)
    if (crossing.window_mix.max(-1) == 1.0).all():
        values = high[..., crossing.window_month, single]
    else:
        at = high[..., crossing.window_month, :]
        values = (np.where(crossing.window_mix > 0, at, 0.0) * crossing.window_mix).sum(-1)
    of_day = known[..., crossing.day_month, :] * crossing.day_time
    cells = len(crossing.cells)
    code = crossing.window_month * cells + crossing.window_cell
    return Load(
        cells=crossing.cells,
        cell_energy=np.einsum("...ms,msc->...mc", known, crossing.time),
        cell_peak=_highest(values, _sorted(code), 12 * cells).reshape(*values.shape[:-1], 12, cells),
        daily_peak=_highest(of_day.sum(-1), _sorted(crossing.day_month), 12),
        year=crossing.year,
        **others,
    )


def load_from_series(
    time: ArrayLike, power: ArrayLike, tariff: Tariff, *, step: float | None = None, **others: Any
) -> Load:
    """The load of a meter whose power is known in every interval of twelve months.

    Parameters
    ----------
    time : array_like of int, shape (n,)
        Start of each interval, seconds since 1970-01-01 00:00 UTC; the intervals follow each other without a gap.
    power : array_like, shape (..., n)
        Mean power in each. [W]
    tariff : Tariff
        Its calendar and demand window.
    step : float, optional
        Length of an interval, of which the demand window must be a multiple; by default the distance of the first
        two. [s]
    **others
        Further fields of `Load`, such as `power_factor`.

    Returns
    -------
    Load
        With energy and peak by price cell. The twelve months need not begin in January; each takes its place by name.

    Raises
    ------
    EnergyError
        Intervals that leave a gap, overlap, are too long for the demand window, or are not twelve whole months.
    """
    begin, value = np.asarray(time), np.asarray(power, dtype=float)
    calendar, window = tariff.price_calendar, int(tariff.demand_window)
    if begin.ndim != 1 or begin.size < 2 or value.shape[-1:] != begin.shape:
        raise OutOfRangeError(f"{value.shape} powers do not fit {begin.shape} times; write one power for each")
    length = int(step if step is not None else begin[1] - begin[0])
    if length <= 0 or window % length or QUARTER % min(length, QUARTER):
        raise EnergyError(
            f"intervals of {length} s cannot show the demand over {window // 60} min of '{tariff.name}'; "
            "its window must be a whole number of intervals"
        )
    laid, cells = _laid_out(begin, length, calendar, window), len(calendar.cells)
    means = value  # where an interval is a window
    if laid.window.size < begin.size:
        means = np.add.reduceat(value, laid.window, axis=-1) / np.diff(laid.window, append=begin.size)
    of_piece = np.add.reduceat(value, laid.piece, axis=-1)
    highest = np.maximum.reduceat(means, laid.window_run, axis=-1)
    of_day = np.add.reduceat(of_piece, laid.day, axis=-1) * length
    return Load(
        cells=calendar.cells,
        cell_energy=_added(of_piece, laid.codes, 12 * cells).reshape(*value.shape[:-1], 12, cells) * length,
        cell_peak=_highest(highest, laid.window_codes, 12 * cells).reshape(*value.shape[:-1], 12, cells),
        daily_peak=_highest(of_day, laid.day_months, 12),
        year=laid.year,
        **others,
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class _Laid:
    """Where intervals lie on a price calendar: first interval of every piece of a day in one cell, and so on."""

    year: int
    time: Integers
    """Start of every interval. [s]"""
    piece: Integers
    """First interval of every piece of a day in one cell."""
    codes: Integers
    """Month times cells plus cell of those pieces."""
    day: Integers
    """First piece of every day."""
    day_months: _Sorted
    window: Integers
    """First interval of every demand window."""
    window_run: Integers
    """First window of every run in one month and cell."""
    window_codes: _Sorted
    """Of those runs."""


_LAID: OrderedDict[tuple[Any, ...], _Laid] = OrderedDict()


def _laid_out(begin: Integers, length: int, calendar: PriceCalendar, window: int) -> _Laid:
    """Kept, since the same readings are billed again and again; an error where the intervals do not follow each other."""
    key = int(begin[0]), length, begin.size, calendar.fingerprint, window
    laid = _LAID.get(key)
    if laid is None or not (begin == laid.time).all():
        _check_follow(begin, length)
        laid = _LAID[key] = _lay_out(begin[0] + length * np.arange(begin.size), length, calendar, window)
        if len(_LAID) > _KEPT_AT_MOST:
            _LAID.popitem(last=False)
    _LAID.move_to_end(key)
    return laid


def _check_follow(begin: Integers, length: int) -> None:
    wrong = np.flatnonzero(np.diff(begin) != length)
    if wrong.size:
        at = np.datetime64(int(begin[wrong[0]]), "s")
        what = "is followed by a gap" if begin[wrong[0] + 1] - begin[wrong[0]] > length else "overlaps the next"
        raise EnergyError(f"the interval that starts at {at}Z {what} ({wrong.size} such places)")


def _lay_out(time: Integers, length: int, calendar: PriceCalendar, window: int) -> _Laid:
    clock = clock_at(time, calendar.time_zone)
    year = _whole_months(clock, length, calendar)
    code = clock.month * len(calendar.cells) + calendar.cell_at(clock)
    first, day, run = (np.flatnonzero(np.diff(n, prepend=n[0] - 1)) for n in (windows(clock, window), clock.day, code))
    window_run = np.flatnonzero(np.diff(code[first], prepend=-1))
    piece = np.union1d(run, day)
    return _Laid(
        year=year,
        time=time,
        piece=piece,
        codes=code[piece],
        day=np.searchsorted(piece, day),
        day_months=_sorted(clock.month[day]),
        window=first,
        window_run=window_run,
        window_codes=_sorted(code[first][window_run]),
    )


def _by_month(power: ArrayLike, crossing: Crossing) -> Array:
    values = np.asarray(power, dtype=float)
    states = crossing.time.shape[1]
    if values.shape[-1:] != (states,):
        raise OutOfRangeError(f"powers have shape {values.shape}; the last axis must be {states} operating states")
    if values.ndim == 1 or values.shape[-2] != 12:
        values = np.broadcast_to(values[..., None, :], (*values.shape[:-1], 12, states))
    return values


def windows(clock: Clock, window: int) -> Integers:
    """Number of the demand window of each instant: windows stand on the local clock and end where it is moved."""
    local = (clock.time + clock.offset) // window
    new = (np.diff(local, prepend=local[0]) != 0) | (np.diff(clock.offset, prepend=clock.offset[0]) != 0)
    return np.cumsum(new, dtype=np.int64)


def _mixes(group: Integers, state: Integers, size: int) -> Integers:
    """Quarter hours of each state in each group, shape (groups, states)."""
    return np.bincount(group * size + state, minlength=(int(group[-1]) + 1) * size).reshape(-1, size)


class _Sorted(NamedTuple):
    """Values of the same code beside each other."""

    order: Integers
    codes: Integers
    """That there are, rising."""
    first: Integers
    """Place of the first value of each of them in that order."""


def _sorted(code: Integers) -> _Sorted:
    order = np.argsort(code, kind="stable")
    return _Sorted(order, *np.unique(code[order], return_index=True))


def _highest(values: Array, by: _Sorted, size: int) -> Array:
    """Highest of the values of each code on the last axis; 0 where there is none."""
    found = np.zeros((*values.shape[:-1], size))
    found[..., by.codes] = np.maximum.reduceat(values[..., by.order], by.first, axis=-1)
    return found


def _added(values: Array, code: Integers, size: int) -> Array:
    flat = values.reshape(-1, values.shape[-1])
    rows = [np.bincount(code, weights=row, minlength=size) for row in flat]
    return np.asarray(rows, dtype=float).reshape(*values.shape[:-1], size)


def _whole_months(clock: Clock, length: int, calendar: PriceCalendar) -> int:
    """Year of the February among twelve whole months, or an error that says which month is not whole."""
    months = clock.day.astype("datetime64[D]").astype("datetime64[M]")
    found, counts = np.unique(months, return_counts=True)
    for month, number in zip(found, counts, strict=True):
        name, at = str(month), int(month.astype(np.int64))
        year = 1970 + at // 12
        needed = np.count_nonzero(quarter_hours(year, calendar.time_zone).month == at % 12) * QUARTER
        if number * length != needed:
            raise EnergyError(f"{name} is not whole: {number * length / 3600:g} of its {needed / 3600:g} h are there")
    if found.size != 12:
        raise EnergyError(f"the intervals span {found.size} months, {found[0]} to {found[-1]}; twelve are needed")
    return int(next(1970 + m // 12 for m in found.astype(np.int64).tolist() if m % 12 == 1))
