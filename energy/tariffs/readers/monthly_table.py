"""Reads twelve months of a plant's own load from a table in text (CSV) or TOML: month, kWh, kW and, if known, kVAr."""

from __future__ import annotations

import os
import re
import tomllib
from dataclasses import dataclass
from typing import Any, BinaryIO

import numpy as np
from numpy.typing import NDArray

from energy import units
from energy.errors import Problem, nearest
from energy.tariffs.readers._files import Problems, Wrong, opened, quoted
from energy.tariffs.readers._table import Decimal, Table, numbers, unit_in
from energy.tariffs.readers.series import FloatArray

LARGEST_TOML = 100_000
"""A table of twelve months has about 1 kB. [byte]"""

_MONTH = re.compile(r"(?:(\d{4})[-/])?(\d\d?)")
_MONTHS = (
    *("", "January", "February", "March", "April", "May", "June"),
    *("July", "August", "September", "October", "November", "December"),
)
_NAMES = {name[:end].lower(): i for i, name in enumerate(_MONTHS) if name for end in (3, None)}
_COLUMNS = {"kWh": "energy", "MWh": "energy", "kW": "peak", "MW": "peak", "kVAr": "reactive"}
_KEYS = ("month", "kWh", "kW", "kVAr")
_WRITE = "write the month as 2026-01, 1 or January"


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class MonthlyTable:
    """Twelve months of one meter, January to December."""

    energy: FloatArray
    """Shape (12,). [J]"""
    peak: FloatArray
    """Highest mean power over the meter's own window, shape (12,). [W]"""
    reactive: FloatArray | None
    """Reactive power that goes with it, shape (12,); None where the table has no such column. [var]"""
    year: tuple[int | None, ...]
    """Year of each month where the table says it."""
    source: str
    """The file."""
    notes: tuple[str, ...] = ()
    """What a reader of the figures should know, one sentence each."""


def read_monthly_table(path: str | os.PathLike[str], *, decimal: Decimal | None = None) -> MonthlyTable:
    """Read a table of twelve months.

    As text: a column "month" and columns whose headers name kWh (or MWh), kW (or MW) and, if known, kVAr. As TOML
    (.toml): twelve tables [[months]] with month, kWh, kW and, if known, kVAr. A month is 2026-01, 1 or January.

    Parameters
    ----------
    path : str or path
        The file.
    decimal : {".", ","}, optional
        Decimal sign of a text table; needed only where the figures do not show it.

    Returns
    -------
    MonthlyTable
        In SI, January first, whatever month the table starts with.

    Raises
    ------
    CaseError
        No such file, not such a table, a month that is missing or stands twice, a figure that is missing, negative
        or cannot be read; with file and line, or month.
    """
    source = os.fspath(path)
    with opened(path) as stream:
        problems = Problems()
        if source.lower().endswith(".toml"):
            rows = _toml(stream, problems)
        else:
            rows = _csv(stream, decimal, problems)
        return _twelve(rows, source, problems)


_Row = tuple[str, int, int | None, dict[str, float]]  # where, month 1 to 12, year, figures in SI


def _csv(stream: BinaryIO, decimal: Decimal | None, problems: Problems) -> list[_Row]:
    table = Table(stream)
    lower = [name.lower() for name in table.header]
    month_at = lower.index("month") if lower.count("month") == 1 else -1
    if month_at < 0:
        month_at = table.guess("a month in every row", lambda cell: _month(cell) is not None, "the header 'month'")
    positions: dict[str, tuple[int, str]] = {}
    for i, name in enumerate(table.header):
        unit = unit_in(name)
        if i == month_at or unit not in _COLUMNS:
            continue
        if _COLUMNS[unit] in positions:
            raise Wrong(table.line, f"two columns hold {_COLUMNS[unit]}; {table.named()}")
        positions[_COLUMNS[unit]] = (i, unit)
    for what, unit in (("energy", "kWh"), ("peak", "kW")):
        if what not in positions:
            raise Wrong(table.line, f"no column names {unit}; {table.named()}")
    lines, (months, *cells) = table.columns(month_at, *(i for i, _ in positions.values()))
    found: list[NDArray[np.float64]] = []
    for (_, unit), column in zip(positions.values(), cells, strict=True):
        values = numbers(column, lines, table.separator, decimal, problems, unit)
        for line, value in zip(lines, values, strict=True):
            if np.isnan(value):
                problems.add(int(line), f"has no {unit}; each month needs one")
        found.append(np.array([_si(value, unit) for value in values]))
    rows: list[_Row] = []
    for k, (line, text) in enumerate(zip(lines, months, strict=True)):
        if (month := _month(text)) is None:
            problems.add(int(line), f"{quoted(text)} is not a month; {_WRITE}")
            continue
        figures = {what: float(values[k]) for what, values in zip(positions, found, strict=True)}
        rows.append((f"line {line}", *month, figures))
    return rows


def _toml(stream: BinaryIO, problems: Problems) -> list[_Row]:
    content = stream.read(LARGEST_TOML + 1)
    if len(content) > LARGEST_TOML:
        raise Wrong(0, f"is larger than {LARGEST_TOML // 1000} kB; a table of twelve months has about 1 kB")
    try:
        document = tomllib.loads(content.decode("utf-8-sig"))
    except UnicodeDecodeError:
        raise Wrong(0, "is not text in UTF-8; save it as UTF-8") from None
    except RecursionError:
        raise Wrong(0, "is nested too deeply") from None
    except ValueError as error:
        raise Wrong(0, f"cannot be read as TOML: {str(error)[:1].lower()}{str(error)[1:]}") from None
    for key in document.keys() - {"months"}:
        raise Wrong(0, f"there is no such key as {quoted(key)}; write each month under [[months]]")
    tables = document.get("months")
    if not isinstance(tables, list) or not all(isinstance(table, dict) for table in tables):
        raise Wrong(0, "write each month under [[months]], with month, kWh, kW and, if known, kVAr")
    rows: list[_Row] = []
    for number, table in enumerate(tables, 1):
        if row := _toml_row(f"months, number {number}", table, problems):
            rows.append(row)
    return rows


def _toml_row(where: str, table: dict[str, Any], problems: Problems) -> _Row | None:
    def add(key: str, message: str) -> None:
        problems.found.append(Problem(f"{where}.{key}" if key else where, message))

    before = len(problems.found)
    for key in table.keys() - set(_KEYS):
        add(key, f"there is no such key{nearest(key, _KEYS)}; allowed are {', '.join(_KEYS)}")
    written = table.get("month")
    month = None if isinstance(written, bool) or not isinstance(written, str | int) else _month(str(written))
    if month is None:
        add("month", f"{'is missing' if written is None else 'is not a month'}; {_WRITE}")
    figures = {}
    for unit in _KEYS[1:]:
        value = table.get(unit)
        if isinstance(value, bool) or not isinstance(value, int | float | None):
            add(unit, f"{repr(value)[:40]} is not a number")
        elif value is None and unit != "kVAr":
            add(unit, "is missing")
        elif value is not None and not abs(value) <= 1e15:
            add(unit, "is not a finite number, or is too large")
        elif value is not None:
            figures[_COLUMNS[unit]] = _si(float(value), unit)
    return (where, *month, figures) if month and len(problems.found) == before else None


def _si(value: float, unit: str) -> float:
    if unit == "kVAr":
        return value * 1e3
    return units.from_unit(value, "energy" if _COLUMNS[unit] == "energy" else "power", unit)


def _month(text: str) -> tuple[int, int | None] | None:
    """Month and year of a cell, None if it is none."""
    name, _, year = text.lower().replace("-", " ").partition(" ")
    if name in _NAMES and re.fullmatch(r"(\d{4})?", year.strip()):
        return _NAMES[name], int(year) if year.strip() else None
    found = _MONTH.fullmatch(text)
    if found and 1 <= int(found[2]) <= 12:
        return int(found[2]), int(found[1]) if found[1] else None
    return None


def _twelve(rows: list[_Row], source: str, problems: Problems) -> MonthlyTable:
    by_month: dict[int, _Row] = {}
    for row in rows:
        where, month, _, figures = row
        if month in by_month:
            message = f"{_MONTHS[month]} stands a second time, first in {by_month[month][0]}; give twelve months"
            problems.found.append(Problem(where, message))
        by_month.setdefault(month, row)
        problems.found += [Problem(where, f"{what} is negative") for what, x in figures.items() if x < 0]
    if not problems.found and (missing := [_MONTHS[m] for m in range(1, 13) if m not in by_month]):
        problems.found.append(Problem("", f"{', '.join(missing)} missing; each of the twelve months is needed"))
    held = {m for m, row in by_month.items() if "reactive" in row[3]}
    if not problems.found and held and len(held) < 12:
        lacking = ", ".join(_MONTHS[m] for m in range(1, 13) if m not in held)
        problems.found.append(Problem("", f"kVAr is missing in {lacking}; give it for all months or none"))
    problems.stop()
    ordered = [by_month[m] for m in range(1, 13)]

    def column(what: str) -> FloatArray:
        return np.array([row[3][what] for row in ordered])

    energy, peak = column("energy"), column("peak")
    days = np.array([31, 29, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31])
    over = [_MONTHS[i + 1] for i in np.flatnonzero(energy > peak * (86400.0 * days + 3600.0))]
    note = f"in {', '.join(over)} the energy is more than the peak could give all month; check the units and columns"
    return MonthlyTable(
        energy=energy,
        peak=peak,
        reactive=column("reactive") if held else None,
        year=tuple(row[2] for row in ordered),
        source=source,
        notes=(note,) if over else (),
    )
