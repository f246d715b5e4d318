"""Reads hourly weather files in two open formats, EPW and TMY3, and gives their monthly means.

Nothing is filled in: a missing hour, a missing-value code or a value that cannot be is refused with file and line.
Hours are those of the file, on standard time.
"""

from __future__ import annotations

import csv
import os
import re
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from itertools import zip_longest
from math import isfinite
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from energy.air import water_vapour
from energy.air._ranges import FloatArray
from energy.air.constants import ZERO_CELSIUS
from energy.errors import CaseError, Problem

LARGEST_FILE = 20_000_000
"""Larger files are refused unread. [byte]"""

_DAYS = (31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31)
_EPW_HEADERS = (
    *("LOCATION", "DESIGN CONDITIONS", "TYPICAL/EXTREME PERIODS", "GROUND TEMPERATURES"),
    *("HOLIDAYS/DAYLIGHT SAVING", "COMMENTS 1", "COMMENTS 2", "DATA PERIODS"),
)
_EPW_COLUMNS = (32, 35)  # files of 32 end before albedo and liquid precipitation
_TMY3_COLUMNS = ("Date (MM/DD/YYYY)", "Time (HH:MM)", "Dry-bulb (C)", "Dew-point (C)", "Pressure (mbar)")
_STAMP = re.compile(r"(\d\d?)/(\d\d?)/\d{4} (\d\d?):00")
_HOUR = "month {}, day {}, hour {}"
_NAMES = ("temperature", "dew point", "pressure")
_LIMITS = ((-70.0, 70.0, "degC"), (-70.0, 70.0, "degC"), (31000.0, 120000.0, "Pa"))  # of the EPW data dictionary
_ROUNDING = 0.5  # dew points in files are rounded, and measured by another instrument than the temperature [K]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class HourlyWeather:
    """A year of hourly outdoor air: 8760 hours from 1 January, or 8784."""

    month: NDArray[np.int64]
    """1 to 12, shape (n,)."""
    temperature: FloatArray
    """Shape (n,). [K]"""
    dew_point: FloatArray
    """As the file gives it, shape (n,). [K] Below 0.01 degC it is taken as the frost point. Files do not say; where a
    station counts from supercooled water, the humidity is then 10 % too low at -10 degC, 0.2 g/kg."""
    pressure: FloatArray
    """Station pressure, shape (n,). [Pa]"""
    location: str
    """Place, with state and country where the file says them."""
    source: str
    """Format, file name and what the file says of its own source."""


class _Wrong(Exception):
    """What is wrong, and the line it stands in (0 for the file as a whole)."""

    def __init__(self, line: int, message: str) -> None:
        super().__init__(message)
        self.problem = Problem(f"line {line}" if line else "", message)


def read_epw(path: str | os.PathLike[str]) -> HourlyWeather:
    """Read an EPW file (.epw) of one year of hours.

    Parameters
    ----------
    path : str or path
        The file, at most 20 MB.

    Returns
    -------
    HourlyWeather
        Its air temperature, dew point and station pressure.

    Raises
    ------
    CaseError
        No such file, not that format, or a gap in it; with file and line.

    Source
    ------
    EnergyPlus, Auxiliary Programs, "EnergyPlus Weather File (EPW) Data Dictionary".
    """
    return _read(path, _epw)


def read_tmy3(path: str | os.PathLike[str]) -> HourlyWeather:
    """Read a TMY3 file (.csv) of one year of hours.

    Parameters
    ----------
    path : str or path
        The file, at most 20 MB.

    Returns
    -------
    HourlyWeather
        Its dry-bulb temperature, dew point and station pressure.

    Raises
    ------
    CaseError
        No such file, not that format, or a gap in it; with file and line.

    Source
    ------
    Wilcox and Marion, Users Manual for TMY3 Data Sets, NREL/TP-581-43156 (2008).
    """
    return _read(path, _tmy3)


def monthly(weather: HourlyWeather) -> tuple[FloatArray, FloatArray]:
    """Mean temperature of each month, and the dew point of its mean humidity ratio at its mean pressure.

    Parameters
    ----------
    weather : HourlyWeather
        A year of hours.

    Returns
    -------
    temperature, dew_point : ndarray, shape (12,)
        January to December. [K] The dew point lies above the mean of the hourly dew points, since damp hours hold
        more water than dry ones lack.
    """

    def mean(values: FloatArray) -> FloatArray:
        month = weather.month - 1
        return np.bincount(month, weights=values, minlength=12) / np.bincount(month, minlength=12)

    water = mean(water_vapour.humidity_ratio(weather.dew_point, weather.pressure))
    return mean(weather.temperature), water_vapour.dew_point(water, mean(weather.pressure))


def _read(path: str | os.PathLike[str], read: Callable[[str, list[str]], HourlyWeather]) -> HourlyWeather:
    file = Path(path)
    try:
        return read(file.name, _lines(file))
    except _Wrong as wrong:
        raise CaseError([wrong.problem], file=str(file)) from None


def _lines(file: Path) -> list[str]:
    try:
        if not file.is_file():
            raise _Wrong(0, "is a folder or a device; give a file" if file.exists() else "there is no such file")
        with file.open("rb") as stream:
            content = stream.read(LARGEST_FILE + 1)
    except (OSError, ValueError) as error:
        raise _Wrong(0, f"cannot be read: {getattr(error, 'strerror', None) or error}") from None
    if len(content) > LARGEST_FILE:
        raise _Wrong(0, f"is larger than {LARGEST_FILE // 10**6} MB; a year of hours has 1 to 2 MB")
    try:
        text = content.decode("utf-8-sig")
    except UnicodeDecodeError:
        text = content.decode("latin-1")  # place names in older files; the figures are plain digits anyway
    lines = re.split("\r\n|\n|\r", text)
    while lines and not lines[-1].strip():
        lines.pop()
    return lines


def _epw(name: str, lines: list[str]) -> HourlyWeather:
    for number, header in enumerate(_EPW_HEADERS, 1):
        said = lines[number - 1].partition(",")[0].strip() if number <= len(lines) else ""
        if not said.upper().startswith(header.split()[0]):
            raise _Wrong(number, f"starts with {_quote(said)}; line {number} of an EPW file starts with {header}")
    place = [part.strip() for part in lines[0].split(",")]
    if len(place) != 10:
        raise _Wrong(1, f"has {len(place)} fields; the LOCATION of an EPW file has 10")
    periods = [part.strip() for part in lines[7].split(",")]
    for field, what in ((1, "data periods"), (2, "records an hour")):
        if periods[field : field + 1] != ["1"]:
            said = _quote(periods[field]) if field < len(periods) else "nothing"
            raise _Wrong(8, f"says {said} for the number of {what}; one year of hours has 1")

    rows = _rows(lines, 8, _EPW_COLUMNS, (1, 2, 3, 6, 7, 9))  # month, day, hour; the values
    return _weather(
        [row[3:] for row in rows],
        (1.0, 1.0, 1.0),
        lambda value, quantity: value >= (99.9, 99.9, 999999.0)[quantity],
        _months([row[:3] for row in rows], 9),
        first_line=9,
        location=", ".join(part for part in place[1:4] if part not in ("", "-")),
        source=", ".join(part for part in (f"EPW file {name}", place[4], f"station {place[5]}") if part),
    )


def _tmy3(name: str, lines: list[str]) -> HourlyWeather:
    try:
        place = next(csv.reader(lines[:1]), [])
        header = next(csv.reader(lines[1:2]), [])
    except csv.Error:
        place, header = [], []
    if len(place) != 7:
        raise _Wrong(1, f"has {len(place)} fields; line 1 of a TMY3 file has 7, the station and where it is")
    titles = [title.strip() for title in header]
    for title in _TMY3_COLUMNS:
        if title not in titles:
            raise _Wrong(2, f"has no column '{title}'; line 2 of a TMY3 file names its columns")

    rows = _rows(lines, 2, (len(titles),) * 2, [titles.index(title) for title in _TMY3_COLUMNS])
    stamps = []
    for number, (date, time, *_) in enumerate(rows, 3):
        stamp = _STAMP.fullmatch(f"{date} {time}")
        if not stamp:
            raise _Wrong(number, f"{_quote(f'{date} {time}')} is not MM/DD/YYYY and a full hour")
        stamps.append(stamp.groups())
    return _weather(
        [row[2:] for row in rows],
        (1.0, 1.0, 100.0),  # mbar
        lambda value, _: value <= -9900.0,
        _months(stamps, 3),
        first_line=3,
        location=", ".join(part.strip() for part in place[1:3] if part.strip()),
        source=f"TMY3 file {name}, station {place[0].strip()}",
    )


def _quote(text: str) -> str:
    return repr(text if len(text) <= 40 else f"{text[:37]}...")


def _rows(lines: list[str], headers: int, widths: tuple[int, int], wanted: Sequence[int]) -> list[list[str]]:
    """The wanted fields of every line below the headers; all must be as wide as the first."""
    width = lines[headers].count(",") + 1 if len(lines) > headers else 0
    width = width if widths[0] <= width <= widths[1] else widths[1]
    rows = []
    for number, line in enumerate(lines[headers:], headers + 1):
        fields = line.split(",")
        if len(fields) != width:
            raise _Wrong(number, f"has {len(fields)} columns; {width} are needed")
        rows.append([fields[column].strip() for column in wanted])
    return rows


def _months(stamps: Sequence[Sequence[str]], first_line: int) -> NDArray[np.int64]:
    """The month of each hour, once the stamps have turned out to be every hour of one year in order."""
    given = []
    for number, stamp in enumerate(stamps, first_line):
        try:
            given.append((int(stamp[0]), int(stamp[1]), int(stamp[2])))
        except ValueError:
            raise _Wrong(number, f"month, day and hour are {_quote(', '.join(stamp))}; write numbers") from None
    leap = any(stamp[:2] == (2, 29) for stamp in given)
    days = [(month, day) for month in range(1, 13) for day in range(1, _DAYS[month - 1] + 1 + (leap and month == 2))]
    wanted = [(month, day, hour) for month, day in days for hour in range(1, 25)]
    total = f"a year has {len(wanted)} hours, one a line, {len(given)} are there"
    for number, (found, needed) in enumerate(zip_longest(given, wanted), first_line):
        if needed is None:
            raise _Wrong(number, f"is more than the year; {total}")
        if found is None:
            raise _Wrong(number, f"{_HOUR.format(*needed)} is missing; {total}")
        if found != needed:
            raise _Wrong(number, f"is {_HOUR.format(*found)} where {_HOUR.format(*needed)} must stand; {total}")
    return np.array([month for month, _, _ in given])


def _weather(
    rows: list[list[str]],
    factors: Sequence[float],
    missing: Callable[[float, int], bool],
    month: NDArray[np.int64],
    *,
    first_line: int,
    location: str,
    source: str,
) -> HourlyWeather:
    values = np.empty((3, len(rows)))
    for quantity, (name, factor, (low, high, unit)) in enumerate(zip(_NAMES, factors, _LIMITS, strict=True)):
        for hour, row in enumerate(rows):
            text = row[quantity]
            try:
                value = float(text)
            except ValueError:
                value = float("nan")
            if low < value * factor < high:
                values[quantity, hour] = value * factor
                continue
            if not text:
                message = f"{name} is empty"
            elif not isfinite(value):
                message = f"{name} {_quote(text)} is not a number"
            elif missing(value, quantity):
                message = f"{name} {_quote(text)} is the code for a missing value"
            else:
                message = f"{name} {value * factor:.6g} {unit} is outside {low:g} to {high:g} {unit}"
            raise _Wrong(first_line + hour, f"{message}; fill the gap from another source first")
    temperature, dew_point, pressure = values
    wet = np.flatnonzero(dew_point > temperature + _ROUNDING)
    if wet.size:
        at = int(wet[0])
        message = f"dew point {dew_point[at]:g} degC is above the temperature {temperature[at]:g} degC"
        raise _Wrong(first_line + at, f"{message}; air that cold holds less water ({wet.size} such lines)")
    return HourlyWeather(
        month=month,
        temperature=temperature + ZERO_CELSIUS,
        dew_point=dew_point + ZERO_CELSIUS,
        pressure=pressure,
        location=location,
        source=source,
    )
