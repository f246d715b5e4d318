"""Reads periods metered before and after a change from a table in text (CSV): when, days, resin, energy by carrier."""

from __future__ import annotations

import io
import os
from typing import Any, BinaryIO

import numpy as np

from energy.errors import CaseError, Problem
from energy.tariffs.readers._files import Problems, Wrong, opened
from energy.tariffs.readers._table import Decimal, Table, numbers, unit_in

CARRIERS = {"compressed air": "compressed_air", "electricity": "electricity", "gas": "gas"}
"""Words of a header, and the key they stand for."""
_ENERGY = ("Wh", "kWh", "MWh", "GJ", "MJ", "MMBtu")
_MASS = ("kg", "lb")
_WEEK = 7.0


def read_metered_periods(path: str | os.PathLike[str], *, decimal: Decimal | None = None) -> list[dict[str, Any]]:
    """Rows of a table as a case has them.

    Headers: "when" with before or after in each row; "days", or every row is a week; "resin (kg)" or in lb; and
    "electricity (kWh)", "gas (kWh)", "compressed air (kWh)" as far as they are metered.

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
    for i, name in enumerate(lower):
        key, unit = _column(name, table.header[i])
        if not key:
            continue
        if key in found:
            raise Wrong(table.line, f"two columns hold {key.replace('_', ' ')}; {table.named()}")
        found[key] = (i, unit)
    if "resin" not in found:
        raise Wrong(table.line, f"no column is called resin with kg or lb; {table.named()}")
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
                problems.add(int(line), f"has no {key.replace('_', ' ')}")
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
    for words, key in CARRIERS.items():
        if name.startswith(words) and unit_in(header) in _ENERGY:
            return key, str(unit_in(header))
    return "", ""
