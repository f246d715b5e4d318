"""The plant's year: production, hot standby and off in each month, and the warm starts after a stop.

A shift belongs to the day it starts on: on a holiday or a shutdown day no shift starts, and one that began the
evening before runs to its end. Plant clocks stay on standard time: every day has 24 h, so the hour that daylight
saving moves between two months is left out.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date, timedelta

import numpy as np
from numpy.typing import NDArray

from energy.air._ranges import FloatArray, check
from energy.errors import CaseError, OutOfRangeError, Problem, UnknownNameError
from energy.holidays import HolidayRule, check_rule, kept_holidays
from energy.plant.shifts import WEEKDAYS, Shifts, begin_and_length, wrong_in

STATES = ("off", "production", "standby", "start")
"""What a quarter hour may be; a start is the first hour of production after a stop with the dryers off."""

WARMING = 3
"""Hours of production after the first of a start that are told apart, since a heater may be as long at warming up."""
ON_CLOCK = len(STATES) + WARMING
"""States by the clock: those of `STATES`, and the second to the last of the hours after a start."""

_START = 60  # minutes
_DAY = 1440  # minutes
_MARGIN = timedelta(days=35)  # before and after the year, to see how long the stops at its ends last
_FIRST_YEAR, _LAST_YEAR = 1900, 2100


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class OperatingYear:
    """Time in each state and warm starts, January to December; the states of a month add up to the month."""

    year: int
    production: FloatArray
    """Time of production, shape (12,). [s]"""
    standby: FloatArray
    """Time of hot standby, shape (12,). [s]"""
    off: FloatArray
    """Time switched off, shape (12,). [s]"""
    starts: FloatArray
    """Starts after a stop with the dryers off, in the month of the start, shape (12,). [-]"""
    mean_stop: FloatArray
    """Mean length of the stops that those starts end, whole also where begun in an earlier month; 0 without a start,
    shape (12,). [s]"""
    pauses: FloatArray = field(default_factory=lambda: np.zeros(12))
    """Stops through which the dryers are kept in hot standby, in the month in which they end, shape (12,). [-]"""
    quarters: NDArray[np.int8] | None = None
    """State of every quarter hour by the local clock, of `STATES`, and beyond them the second, third and fourth hour of
    production after a start, shape (days of the year, 96); None where only the hours of a year are known."""

    @property
    def mean_pause(self) -> FloatArray:
        """Mean length of those stops; 0 without one, shape (12,). [s]"""
        return np.divide(self.standby, self.pauses, out=np.zeros(12), where=self.pauses > 0.0)


def month_lengths(year: int) -> FloatArray:
    """Length of each month, without daylight saving.

    Parameters
    ----------
    year : int
        1900 to 2100.

    Returns
    -------
    ndarray, shape (12,)
        Length of January to December. [s]

    Raises
    ------
    OutOfRangeError
        Another year.
    """
    return np.diff(_month_edges(year)) * 86400.0


def operating_year(year: int, shifts: Shifts) -> OperatingYear:
    """Time in each state and starts in one year of shifts.

    Parameters
    ----------
    year : int
        1900 to 2100.
    shifts : Shifts
        When the plant runs. Beyond the ends of the year the weekly shifts go on, with the country's holidays.

    Returns
    -------
    OperatingYear
        The months add up to 8760 h, in a leap year 8784 h, to the second.

    Raises
    ------
    CaseError
        A shift, shutdown or holiday that cannot be used, two shifts that overlap; one line for each.
    OutOfRangeError
        Another year.
    """
    edges = _month_edges(year)
    problems = list(wrong_in(year, shifts))
    holidays: Mapping[date, str] = {}
    try:
        check_rule(shifts.holiday_rule)
    except UnknownNameError as error:
        problems.append(Problem("holiday_rule", str(error)))
    else:
        if shifts.country is not None:
            try:
                holidays = kept_holidays(
                    year, shifts.country, shifts.subdivision, tuple(shifts.holiday_names), shifts.holiday_rule
                )
            except UnknownNameError as error:
                problems.append(Problem(error.key, str(error)))
    if problems:
        raise CaseError(problems)

    first = min([date(year, 1, 1), *(start for start, _ in shifts.shutdown_ranges)]) - _MARGIN
    last = max([date(year, 12, 31), *(end for _, end in shifts.shutdown_ranges)]) + _MARGIN
    days = (last - first).days + 1
    closed = np.zeros(days, dtype=bool)
    mondays = [date.fromisocalendar(year, week, 1) for week in shifts.shutdown_weeks]
    spans = [*shifts.shutdown_ranges, *((monday, monday + timedelta(days=6)) for monday in mondays)]
    for from_day, to_day in [*spans, *((day, day) for day in (*shifts.holiday_dates, *holidays))]:
        closed[max(0, (from_day - first).days) : max(0, (to_day - first).days + 1)] = True

    # Stretches of production in minutes from the first day, and the stops before, between and after them.
    weekday = (first.weekday() + np.arange(days)) % 7
    begins: list[NDArray[np.int64]] = []
    lengths: list[NDArray[np.int64]] = []
    for shift in shifts.shifts:
        clock, minutes = begin_and_length(shift)
        open_days = np.flatnonzero(np.isin(weekday, [WEEKDAYS.index(day) for day in shift.weekdays]) & ~closed)
        begins.append(open_days * _DAY + clock)
        lengths.append(np.full(open_days.size, minutes))
    begin, length = np.concatenate(begins), np.concatenate(lengths)
    order = np.argsort(begin)
    begin, end = begin[order], (begin + length)[order]
    stop_begin, stop_end = np.append(0, end), np.append(begin, max(days * _DAY, end.max(initial=0)))
    stop = stop_end - stop_begin
    off = 60 * stop > max(shifts.standby_up_to, 0)

    months = (edges - first.toordinal()) * _DAY
    production = _in_months(begin, end, months)
    standby = _in_months(stop_begin[~off], stop_end[~off], months)
    month = np.searchsorted(months, stop_end[:-1], side="right") - 1  # of the start that ends each stop but the last
    ended = off[:-1] & (month >= 0) & (month < 12)
    starts = np.bincount(month[ended], minlength=12)
    kept_hot = ~off[:-1] & (stop[:-1] > 0) & (month >= 0) & (month < 12)
    stopped = np.bincount(month[ended], weights=stop[:-1][ended], minlength=12)
    return OperatingYear(
        year=year,
        production=np.multiply(60.0, production),
        standby=np.multiply(60.0, standby),
        off=np.multiply(60.0, np.diff(months) - production - standby),
        starts=starts.astype(float),
        mean_stop=60.0 * stopped / np.maximum(starts, 1),
        pauses=np.bincount(month[kept_hot], minlength=12).astype(float),
        quarters=_quarters(
            int(months[0]),
            int(months[-1]),
            {1: (begin, end), 2: (stop_begin[~off], stop_end[~off]), 3: (stop_end[:-1][off[:-1]], None)},
        ),
    )


def _quarters(
    first: int, last: int, spans: Mapping[int, tuple[NDArray[np.int64], NDArray[np.int64] | None]]
) -> NDArray[np.int8]:
    """State in the middle of every quarter hour between two minutes, from the spans of each state in minutes."""
    middle = np.arange(first, last, 15) + 7
    states = np.zeros(middle.size, dtype=np.int8)
    for state, (begin, end) in spans.items():
        if not begin.size:
            continue
        at = np.searchsorted(begin, middle, side="right") - 1
        if end is not None:
            states[(at >= 0) & (middle < end[at])] = state
            continue
        hour = (middle - begin[at]) // _START
        starting = (at >= 0) & (hour <= WARMING) & (states == 1)
        states[starting] = state + hour[starting]
    return states.reshape(-1, 96)


def from_hours(
    year: int, production_hours: float, *, starts_per_week: float = 0.0, standby_share: float = 0.0
) -> OperatingYear:
    """Time in each state when only the hours of a year are known: the same share of every day.

    Parameters
    ----------
    year : int
        1900 to 2100.
    production_hours : float
        Production in the year. [h], 0 to 8760, in a leap year 8784.
    starts_per_week : float
        Starts after a stop with the dryers off. [-]
    standby_share : float
        Share of the rest of the time in hot standby; off otherwise. [-]

    Returns
    -------
    OperatingYear
        The months in proportion to their days; `starts` are seldom whole.

    Raises
    ------
    OutOfRangeError
        Any of them out of range, or starts without time off.
    """
    length = month_lengths(year)
    hours = length.sum() / 3600
    check("production hours", production_hours, 0.0, hours, "h", f"the year {year}")
    check("standby share", standby_share, 0.0, 1.0, "", "a share")
    check("starts per week", starts_per_week, 0.0, 7 * 1440.0, "", "starts at least a minute apart")
    production = length * min(production_hours / hours, 1.0)
    standby = (length - production) * standby_share
    off = length - production - standby
    if starts_per_week > 0 and not off.all():
        raise OutOfRangeError(f"starts per week = {starts_per_week:g} needs time off to start from; there is none")
    starts = starts_per_week * length / (7 * 86400.0)
    mean_stop = off / starts if starts_per_week > 0 else np.zeros(12)
    return OperatingYear(
        year=year,
        production=production,
        standby=standby,
        off=off,
        starts=starts,
        mean_stop=mean_stop,
        pauses=np.where(standby > 0.0, length / 86400.0, 0.0),  # one in every day
    )


def public_holidays(
    year: int,
    country: str,
    subdivision: str | None = None,
    *,
    names: Sequence[str] = (),
    rule: HolidayRule = "none",
) -> dict[date, str]:
    """Public holidays kept in one year, moved off weekends by a stated rule and not by the country's own.

    Parameters
    ----------
    year : int
        1900 to 2100.
    country, subdivision : str
        Codes of the `holidays` package.
    names : sequence of str
        English names of the holidays to keep; empty for all.
    rule : {"none", "sunday to monday", "nearest weekday"}
        A moved holiday is kept on its new day only; where another holiday stands there, the two fall together.

    Returns
    -------
    dict
        Name by day, in order, those moved into the year from its neighbours included.

    Raises
    ------
    UnknownNameError
        No such country, subdivision, rule or name of a holiday, or a country without holidays for the year.
    OutOfRangeError
        Another year.
    """
    _month_edges(year)
    kept = kept_holidays(year, country, subdivision, tuple(names), rule)
    return {day: name for day, name in sorted(kept.items()) if day.year == year}


def _month_edges(year: int) -> NDArray[np.int64]:
    """Ordinals of the first days of the months, and of the year after."""
    if not _FIRST_YEAR <= year <= _LAST_YEAR:
        raise OutOfRangeError(f"year = {year} is outside {_FIRST_YEAR} to {_LAST_YEAR}, the range of the calendar here")
    firsts = [date(year, month, 1) for month in range(1, 13)]
    return np.array([day.toordinal() for day in (*firsts, date(year + 1, 1, 1))])


def _in_months(begin: NDArray[np.int64], end: NDArray[np.int64], edges: NDArray[np.int64]) -> NDArray[np.int64]:
    """Minutes of the stretches in each month."""
    overlap = np.minimum(end[:, None], edges[1:]) - np.maximum(begin[:, None], edges[:-1])
    return np.maximum(overlap, 0).sum(axis=0)
