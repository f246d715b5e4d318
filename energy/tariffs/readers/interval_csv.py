"""Reads interval readings from a table in text (CSV): a column of time stamps and a column of kW or kWh."""

from __future__ import annotations

import os
import re
from datetime import datetime
from functools import lru_cache
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from energy import units
from energy.errors import UnitError
from energy.tariffs.readers._files import Problems, Wrong, opened, quoted
from energy.tariffs.readers._table import Column, Decimal, Table, numbers, unit_in
from energy.tariffs.readers.below_zero import told
from energy.tariffs.readers.series import EARLIEST, LATEST, Counted, Series, from_local, zone_info
from energy.tariffs.tariff import Commodity

_ISO = re.compile(r"(\d{4})[-/.](\d\d?)[-/.](\d\d?)")
_OTHER = re.compile(r"(\d\d?)([-/.])(\d\d?)\2(\d{4})")
_TIME = re.compile(
    r"(?:[T ]\s*(\d\d?):(\d\d)(?::(\d\d)(?:\.\d+)?)?\s*([AaPp])?\.?(?:[Mm]\.?)?)?\s*(Z|UTC|[+-]\d\d:?\d\d)?"
)
_EPOCH = datetime(1970, 1, 1)
_LONGEST_STEP = 31 * 86400
_KINDS: tuple[Literal["energy", "power", "volume"], ...] = ("energy", "power", "volume")


def read_interval_csv(
    path: str | os.PathLike[str],
    *,
    time: str | None = None,
    value: str | None = None,
    unit: str | None = None,
    zone: str | None = None,
    stamp: Literal["beginning", "end"] = "beginning",
    step: int | None = None,
    day_first: bool | None = None,
    decimal: Decimal | None = None,
    commodity: Commodity | None = "electricity",
) -> Series:
    """Read interval readings from a table in text.

    Cells are separated by semicolons, tabs or commas. Time stamps are dates with a time (2026-03-08 00:15,
    3/8/2026 12:15 AM, 08.03.2026 00:15), with an offset (Z, -05:00) or without. Lines above the header are passed
    over where a column is named.

    Parameters
    ----------
    path : str or path
        The file, at most 50 MB.
    time, value : str, optional
        Names of the columns. Without `time`, the one column of time stamps; without `value`, the one column whose
        header names a unit.
    unit : str, optional
        Unit of the values, of energy, power or volume; else the header must name it.
    zone : str, optional
        IANA name of the time zone of the local clock. Must be given where the stamps have no offset; "UTC" if they
        are in UTC.
    stamp : {"beginning", "end"}
        What of each interval the stamp marks.
    step : int, optional
        Length of the intervals; else the most frequent one between stamps. [s]
    day_first : bool, optional
        Whether 3/8/2026 is the 3rd of August; needed only where no date in the file shows it.
    decimal : {".", ","}, optional
        Decimal sign; needed only where the figures do not show it.
    commodity : str, optional
        What the meter supplies.

    Returns
    -------
    Series
        Blank cells and missing rows are gaps.

    Raises
    ------
    CaseError
        No such file, too large, not a table; a stamp or number that cannot be read or has two meanings; stamps that
        stand twice, go back and forth, do not exist on the local clock, or in the repeated hour of autumn do not
        show which is meant; intervals of more than one length. With file and line.
    """
    with opened(path) as stream:
        if zone is not None:
            zone_info(zone)
        table = Table(stream, [name for name in (time, value) if name])
        problems = Problems()
        time_at = table.column(time) if time else table.guess("a date and time in every row", _is_stamp, "time=")
        value_at = _value_column(table, value, unit, time_at)
        kind, name = _unit(table, value_at, unit)
        title, separator = table.header[value_at], table.separator
        line, (stamps, cells) = table.columns(time_at, value_at)
        del table  # and the text of the file with it
        amount = numbers(cells, line, separator, decimal, problems, name)
        clock, offset = _clock(stamps, line, day_first, problems)
        problems.stop()
        del stamps, cells
        if clock.size > 1 and clock[0] > clock[-1]:  # newest first
            clock, offset, line, amount = clock[::-1], offset[::-1], line[::-1], amount[::-1]
        at = _utc(clock, offset, line, zone, problems)
        problems.stop()
        length = _step(at, line, step, problems)
        problems.stop()
        start = at - length if stamp == "end" else at
        if start.min() < EARLIEST or start.max() > LATEST:
            raise Wrong(int(line[np.argmin(start)]), "is outside the years 1970 to 2099")
        read = ~np.isnan(amount)
        if not read.any():
            raise Wrong(int(line[0]), f"all cells of the column {quoted(title)} are blank")
        si = units.from_unit(amount[read], kind, name)
        counted: Counted = "energy" if kind == "power" else kind
        blank = int((~read).sum())
        found = Series(
            start=start[read],
            step=length,
            amount=si * length if kind == "power" else si,
            counted=counted,
            commodity=commodity,
            zone=zone,
            in_utc=bool((offset == 0.0).all()),
            source=os.fspath(path),
            notes=(_blank(blank),) if blank else (),
        )
        return told(found)


def _blank(number: int) -> str:
    return "1 cell is blank and counts as a gap" if number == 1 else f"{number} cells are blank and count as gaps"


def _value_column(table: Table, value: str | None, unit: str | None, time_at: int) -> int:
    if value:
        return table.column(value)
    others = [i for i in range(len(table.header)) if i != time_at]
    found = [i for i in others if unit_in(table.header[i])] or (others if unit and len(others) == 1 else [])
    if unit and len(found) > 1:
        found = [i for i in found if unit_in(table.header[i]) == unit]
    if len(found) != 1:
        state = f"{len(found)} columns name a unit" if found else "no column names one unit such as kW or kWh"
        raise Wrong(table.line, f"{state}; name the column of figures with value= and unit=; {table.named()}")
    return found[0]


def _unit(table: Table, column: int, unit: str | None) -> tuple[Literal["energy", "power", "volume"], str]:
    name, header = unit or unit_in(table.header[column]), table.header[column]
    if not name:
        raise Wrong(table.line, f"the header {quoted(header)} names no unit; say unit='kW' or unit='kWh'")
    if unit and (said := unit_in(header)) and said != unit:
        raise Wrong(table.line, f"the header {quoted(header)} names {said}, but unit={unit!r} is asked for")
    for kind in _KINDS:
        try:
            units.from_unit(1.0, kind, name)
        except UnitError:
            continue
        return kind, name
    raise Wrong(table.line, f"{quoted(name)} is not a unit of energy, power or volume; write kW, kWh, therm, m3")


def _is_stamp(cell: str) -> bool:
    return any((date := p.match(cell)) and _TIME.fullmatch(cell, date.end()) for p in (_ISO, _OTHER))


def _clock(
    stamps: Column, line: NDArray[np.int64], day_first: bool | None, problems: Problems
) -> tuple[NDArray[np.int64], NDArray[np.float64]]:
    """What the clock shows, and its offset or NaN. [s]"""
    if day_first is None:
        day_first = _day_first(stamps, int(line[0]))
    clock, offset = np.zeros(len(stamps), dtype=np.int64), np.full(len(stamps), np.nan)
    for i, text in enumerate(stamps):
        try:
            clock[i], offset[i] = _stamp(text, day_first)
        except ValueError as error:
            why = str(error) if str(error).startswith("has") else "is not a date and time"
            problems.add(
                int(line[i]), f"{quoted(text)} {why}; write for instance 2026-03-08 00:15 or 2026-03-08T00:15Z"
            )
    problems.stop()
    bare = np.isnan(offset)
    if bare.any() and not bare.all():
        i = int(np.flatnonzero(bare != bare[0])[0])
        raise Wrong(int(line[i]), "stamps with and without an offset are mixed; write all in one way")
    return clock, offset


def _day_first(stamps: Column, line: int) -> bool:
    """Whether the day stands before the month, from dates that can only be read one way."""
    first = second = 0  # largest number at either place
    for text in stamps:
        if date := _OTHER.match(text):
            first, second = max(first, int(date[1])), max(second, int(date[3]))
            if date[2] == ".":
                first = max(first, 13)  # with points, the day stands first
    if first > 12 and second > 12:
        raise Wrong(line, "some dates have the day first and some the month; write all in one way")
    if first and first <= 12 and second <= 12:
        raise Wrong(line, f"{quoted(stamps[0])} may have the day or the month first; say day_first=True or False")
    return first > 12


def _stamp(text: str, day_first: bool) -> tuple[int, float]:
    date = _ISO.match(text) or _OTHER.match(text)
    if not date:
        raise ValueError
    seconds, offset = _time(text[date.end() :])
    return _days(date[0], day_first) * 86400 + seconds, offset


@lru_cache(maxsize=1024)
def _days(text: str, day_first: bool) -> int:
    if date := _ISO.fullmatch(text):
        year, month, day = (int(part) for part in date.groups())
    else:
        first, second, year = (int(part) for part in re.split("[-/.]", text))
        day, month = (first, second) if day_first else (second, first)
    try:
        days = (datetime(year, month, day) - _EPOCH).days
    except ValueError:
        raise ValueError("has no such day") from None
    if not 0 <= days <= LATEST // 86400:
        raise ValueError("has a year outside 1970 to 2099")
    return days


@lru_cache(maxsize=4096)
def _time(text: str) -> tuple[int, float]:
    """Time of day and offset or NaN. [s]"""
    time = _TIME.fullmatch(text)
    if not time:
        raise ValueError
    hour, minute, second = (int(part or 0) for part in time.group(1, 2, 3))
    if time[4]:
        if not 1 <= hour <= 12:
            raise ValueError("has no such time of day")
        hour = hour % 12 + (12 if time[4] in "Pp" else 0)
    if minute > 59 or second > 59 or hour > 24 or (hour == 24 and minute + second):
        raise ValueError("has no such time of day")
    offset = float("nan")
    if zone := time[5]:
        figures = zone[1:].replace(":", "")
        offset = (
            0.0 if zone in ("Z", "UTC") else (int(figures[:2]) * 3600 + int(figures[2:]) * 60) * float(zone[0] + "1")
        )
        if abs(offset) > 54000:
            raise ValueError("has an offset of more than 15 h")
    return hour * 3600 + minute * 60 + second, offset


def _utc(
    clock: NDArray[np.int64], offset: NDArray[np.float64], line: NDArray[np.int64], zone: str | None, problems: Problems
) -> NDArray[np.int64]:
    if not np.isnan(offset[0]):
        return clock - offset.astype(np.int64)
    if zone is None:
        raise Wrong(int(line[0]), "the stamps have no offset; say zone='UTC', or the zone of the clock they show")
    first, last = from_local(zone, clock)
    for i in np.flatnonzero(first == -1):
        problems.add(int(line[i]), f"{_shown(clock[i])} does not exist in {zone}: the clock is moved forward over it")
    twice = first != last
    edges = np.flatnonzero(np.diff(np.concatenate(([False], twice, [False])).astype(np.int8)))
    for begin, end in edges.reshape(-1, 2):
        back = np.flatnonzero(np.diff(clock[begin:end]) <= 0)
        if back.size == 1:
            first[begin + back[0] + 1 : end] = last[begin + back[0] + 1 : end]
        else:
            more = "stands once" if not back.size else "stands more than twice"
            message = (
                f"{_shown(clock[begin])} occurs twice in {zone} and the file does not show which is meant: it {more}"
            )
            problems.add(int(line[begin]), f"{message}; write stamps with an offset, or in UTC")
    return first


def _step(at: NDArray[np.int64], line: NDArray[np.int64], step: int | None, problems: Problems) -> int:
    """Length of the intervals; problems for stamps that repeat, go back or do not fit it."""
    apart = np.diff(at)
    for i in np.flatnonzero(apart <= 0):
        what = "stands a second time" if apart[i] == 0 else "is earlier than the one before"
        problems.add(
            int(line[i + 1]), f"the time {_shown(at[i + 1])} UTC {what} (line {line[i]}); put the rows in order"
        )
    problems.stop()
    told = step is not None
    if step is None:
        if not apart.size:
            raise Wrong(int(line[0]), "one row does not show how long an interval is; say step= in seconds")
        lengths, times = np.unique(apart, return_counts=True)
        step = int(lengths[times.argmax()])
    if not 1 <= step <= _LONGEST_STEP:
        raise Wrong(0, f"intervals of {step} s are not possible; they last 1 s to 31 days")
    odd = np.flatnonzero(apart % step)
    same = np.flatnonzero((apart[1:] == apart[:-1]) & (apart[1:] > step)) + 1
    for i in odd if odd.size or told else same:
        what = f"intervals of {apart[i]} s among those of {step} s"
        problems.add(
            int(line[i + 1]),
            f"{what}: the steps are mixed; give each length its own file, or say step= if rows are missing",
        )
    return int(step)


def _shown(clock: np.int64) -> str:
    return str(clock.astype("datetime64[s]")).replace("T", " ")[:16]
