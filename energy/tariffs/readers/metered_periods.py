"""Reads periods metered before and after a change from a table in text (CSV): when, days, resin, energy by carrier."""

from __future__ import annotations

import io
import os
from typing import Any, BinaryIO

import numpy as np

from energy.errors import CaseError, Problem
from energy.tariffs.readers._files import Problems, Wrong, opened, quoted
from energy.tariffs.readers._table import Decimal, Table, numbers, unit_in

CARRIERS = {"compressed air": "compressed_air", "electricity": "electricity", "gas": "gas"}
"""Words of a header, and the key they stand for."""
_GAS = {"gas": "gas", "gas_volume": "gas"}
"""Keys that are gas, and what they are called."""
_ENERGY = ("Wh", "kWh", "MWh", "GJ", "MJ", "MMBtu")
_VOLUME = ("m3", "ccf")
_MASS = ("kg", "lb")
_WEEK = 7.0
_BESIDE = (
    "",
    "week",
    "weeks",
    "date",
    "start",
    "end",
    "from",
    "to",
    "note",
    "notes",
    "remark",
    "remarks",
    "comment",
    "comments",
)
"""Headers of columns that say which period a row is, and of remarks: they are left where they are."""


def read_metered_periods(path: str | os.PathLike[str], *, decimal: Decimal | None = None) -> list[dict[str, Any]]:
    """Rows of a table as a case has them.

    Headers: "when" with before or after in each row; "days", or every row is a week; "resin (kg)" or in lb; and
    "electricity (kWh)", "gas (kWh)" or "gas (m3)", "compressed air (kWh)" as far as they are metered. A column of dates or remarks
    may stand beside them, none that is not known.

    Raises
    ------
    CaseError
        No such file, not such a table; with file and line.
    """
    with opened(path) as stream:
        return metered_periods_in(stream, decimal=decimal)


def metered_periods_from_text(text: str) -> list[dict[str, Any]]:
    """As `read_metered_periods`, of a text that somebody typed or pasted.

    Raises
    ------
    CaseError
        Not such a table; with the line.
    """
    try:
        return metered_periods_in(io.BytesIO(text.encode()))
    except Wrong as wrong:
        line, message = wrong.problem
        said = message.replace("say decimal='.' or decimal=','", "write it without a sign between thousands")
        raise CaseError([Problem(line, said)]) from None


def metered_periods_in(stream: BinaryIO, *, decimal: Decimal | None = None) -> list[dict[str, Any]]:
    """As `read_metered_periods`, of a table that is open already.

    Raises
    ------
    CaseError, Wrong
        Not such a table; with the line.
    """
    problems = Problems()
    table = Table(stream)
    lower = [name.strip().lower() for name in table.header]
    if lower.count("when") != 1:
        raise Wrong(table.line, f"one column must be called when, with before or after in each row; {table.named()}")
    found: dict[str, tuple[int, str]] = {}
    unknown: list[int] = []
    for i, name in enumerate(lower):
        if name == "when" or name in _BESIDE:
            continue
        key, unit = _column(name, table.header[i])
        if not key:
            unknown.append(i)
            continue
        if key in found or (key in _GAS and any(other in found for other in _GAS)):
            raise Wrong(table.line, f"two columns hold {_GAS.get(key, key).replace('_', ' ')}; {table.named()}")
        found[key] = (i, unit)
    if "resin" not in found:
        raise Wrong(table.line, f"no column is called resin with kg or lb; {table.named()}")
    if unknown:
        raise Wrong(table.line, _not_taken(table.header[unknown[0]]))
    lines, (when, *cells) = table.columns(lower.index("when"), *(i for i, _ in found.values()))
    columns = {
        key: numbers(column, lines, table.separator, decimal, problems, unit or key)
        for (key, (_, unit)), column in zip(found.items(), cells, strict=True)
    }
    rows = []
    for k, line in enumerate(lines):
        row: dict[str, Any] = {"when": when[k].strip().lower(), "days": _WEEK}
        if row["when"] not in ("before", "after"):
            problems.add(int(line), "has neither before nor after in the column when")
        for key, values in columns.items():
            if np.isnan(values[k]):
                problems.add(int(line), f"has no {_GAS.get(key, key).replace('_', ' ')}")
            row[key] = float(values[k]) if key == "days" else f"{values[k]:.15g} {found[key][1]}"
        rows.append(row)
    problems.stop()
    return rows


def _column(name: str, header: str) -> tuple[str, str]:
    """Key and unit of a column; two empty texts of one that is not looked at."""
    if name == "days":
        return "days", ""
    if name.startswith("resin"):
        unit = next((u for u in _MASS if u in name.replace("(", " ").replace(")", " ").split()), "")
        return ("resin", unit) if unit else ("", "")
    unit = str(unit_in(header))
    for words, key in CARRIERS.items():
        if name.startswith(words) and unit in _ENERGY:
            return key, unit
        if key == "gas" and name.startswith(words) and unit in _VOLUME:
            return "gas_volume", unit
    return "", ""


def _not_taken(header: str) -> str:
    """Why a column is not taken, and what would be."""
    lower, taken = header.strip().lower(), "kWh, MWh, GJ, MJ or MMBtu"
    if lower.startswith("gas"):
        how = f"gas is taken in {taken}, or in m3 or ccf as its meter shows it"
    elif lower.startswith("compressed air"):
        how = f"compressed air is taken as the electricity of its compressor, in {taken}"
    elif lower.startswith("electricity"):
        how = f"electricity is taken in {taken}"
    else:
        known = 'when, days, "resin (kg)", "electricity (kWh)", "gas (kWh)" or "gas (m3)", "compressed air (kWh)"'
        how = f"the columns are called {known}; rename it, or leave it out"
    return f"the column {quoted(header)} is not known; {how}"
