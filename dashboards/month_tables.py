"""Twelve months typed in as a table: a row for each month, pasted from a sheet as well."""

from __future__ import annotations

import json
from calendar import month_abbr, month_name
from collections.abc import Callable, Mapping, Sequence
from typing import Any

from pydantic import BaseModel

from dashboards import lists
from dashboards.form import Part
from dashboards.input_names import told
from dashboards.state import State
from energy.reports.print_signs import pretty
from energy.study.form import Entry, entries
from energy.units import to_unit

Counted = Mapping[str, Sequence[float]]
"""What the comparison counts in each month, by key; shown where the case gives nothing. SI"""


def month_table(
    state: State, path: str, model: type[BaseModel], heads: Mapping[str, str], label: str, counted: Counted
) -> Part:
    """A table of twelve months.

    Parameters
    ----------
    state : State
    path : str
        Of the list in the document; each entry has its `month`.
    model : type
        Of an entry.
    heads : mapping
        Short headings of the columns by key, in their order; the unit is put behind.
    label : str
        What the table is.
    counted : mapping
        See `Counted`.
    """
    found = entries(model)
    columns = [found[key] for key in heads]
    rows = lists.rows(state.document, path)
    cells = [_cell(state, path, rows, month, entry, counted) for month in range(1, 13) for entry in columns]
    units = [pretty(state.unit_of(entry.quantity)) for entry in columns if entry.quantity is not None]
    named = {state.printed(cell["id"]): cell["label"] for cell in cells}
    wrong = [
        told(named.get(p.key, ""), p.message) for p in state.problems if p.key == path or p.key.startswith(f"{path}[")
    ]
    return {
        "id": path,
        "kind": "table",
        "label": label,
        "columns": [f"{head} ({unit})" for head, unit in zip(heads.values(), units, strict=True)],
        "heads": [month_abbr[month] for month in range(1, 13)],
        "parts": cells,
        "problems": wrong,
        "acts": {"paste": lambda text: _paste(state, path, columns, text)},
    }


def _cell(state: State, path: str, rows: list[lists.Row], month: int, entry: Entry, counted: Counted) -> Part:
    assert entry.quantity is not None
    kind, unit = entry.quantity.kind, state.unit_of(entry.quantity)
    place = _place_of(rows, month)
    raw = None if place is None else rows[place].get(entry.key)
    identity = f"{path}:{month}.{entry.key}" if place is None else f"{path}[{place + 1}].{entry.key}"
    value = state.text_of(raw, kind, None, unit)
    if raw is None and entry.key in counted:
        value = f"{to_unit(float(counted[entry.key][month - 1]), kind, unit):.1f}"
    return {
        "id": identity,
        "kind": "field",
        "as": "cell",
        "label": f"{month_name[month]}, {entry.label.lower()}",
        "value": value,
        "left": raw is None,
        "problem": state.problem_at(identity),
        "acts": {"value": lambda text: _put(state, path, {(month, entry.key): _written(state, entry, text)})},
    }


def _place_of(rows: list[lists.Row], month: int) -> int | None:
    return next((i for i, row in enumerate(rows) if row.get("month") == month), None)


def _written(state: State, entry: Entry, text: str) -> str:
    assert entry.quantity is not None
    return state.with_unit(text, entry.quantity.kind, state.unit_of(entry.quantity)) if text else ""


def _put(state: State, path: str, values: Mapping[tuple[int, str], str]) -> None:
    """Values by month and key into the list; an empty one is taken out."""
    rows = lists.rows(state.document, path)
    for (month, key), value in values.items():
        place = _place_of(rows, month)
        if place is None:
            rows.append({"month": month})
            place = len(rows) - 1
        if value:
            rows[place][key] = value
        else:
            rows[place].pop(key, None)
    state.set({path: rows})


def _paste(state: State, path: str, columns: list[Entry], text: str) -> None:
    """Cells of a sheet, from one cell of the table down and to the right; what does not fit into it is left."""
    try:
        given: Any = json.loads(text)
        row, column, cells = int(given["row"]), int(given["column"]), list(given["cells"])
        sheet = [[str(cell).strip() for cell in line] for line in cells]
    except (ValueError, TypeError, KeyError):
        return
    if not (0 <= row < 12 and 0 <= column < len(columns)):
        return
    _put(
        state,
        path,
        {
            (row + down + 1, columns[column + right].key): _written(state, columns[column + right], cell)
            for down, line in enumerate(sheet[: 12 - row])
            for right, cell in enumerate(line[: len(columns) - column])
        },
    )


def rows_of(values: Mapping[str, Sequence[float]], show: Callable[[str, float], str]) -> list[lists.Row]:
    """Twelve entries from what is known of each month, by key."""
    return [{"month": m + 1, **{key: show(key, float(series[m])) for key, series in values.items()}} for m in range(12)]
