"""What a capital cost is quoted for, kept with it when the throughput of a case is changed."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from dashboards import lists
from energy.errors import EnergyError
from energy.study.compare import Case
from energy.study.paths import as_written
from energy.study.sweep import total_throughput
from energy.units import parse

KEPT = "the throughput of the case when the capital was entered"
"""Note of a throughput that was written here and not typed; it goes when the capital is entered anew."""


def kept_with(document: lists.Document, changes: Mapping[str, Any], after: lists.Document, case: Case) -> lists.Changes:
    """What a change of throughput or capital does to the throughput that capitals are quoted for.

    Parameters
    ----------
    document, after : mapping
        The case before and after the changes.
    changes : mapping
        By path.
    case : Case
        As last compared: a throughput typed half may stand in `document`.

    Returns
    -------
    dict
        More changes, by path.
    """
    now, before = _total(after), total_throughput(case)
    found: lists.Changes = {}
    for place, (row, was) in enumerate(_pairs(document, after), start=1):
        path = f"options[{place}].capital_for"
        if path in changes or not row.get("capital"):
            continue
        written = row.get("capital_for")
        if isinstance(written, Mapping) and written.get("note") == KEPT:
            anew = was is not None and row["capital"] != was.get("capital")
            if anew or _same(now, parse(written["value"], "mass flow")):
                found[path] = None
        elif written is None and now is not None and not _same(now, before):
            found[path] = {
                "value": as_written(before, "mass flow", case.model.case.units),
                "basis": "assumption",
                "note": KEPT,
            }
    return found


def _pairs(document: lists.Document, after: lists.Document) -> list[tuple[lists.Row, lists.Row | None]]:
    """Every option with what it was, found by its name."""
    known = {lists.name_of(row): row for row in lists.rows(document, "options")}
    return [(row, known.get(lists.name_of(row))) for row in lists.rows(after, "options")]


def _total(document: lists.Document) -> float | None:
    """Throughput of all hoppers, None where one cannot be read. [kg/s]"""
    total = 0.0
    for row in lists.rows(document, "hoppers"):
        given = row.get("throughput")
        try:
            total += parse(given.get("value") if isinstance(given, Mapping) else given, "mass flow")
        except (EnergyError, TypeError):
            return None
    return total or None


def _same(one: float | None, other: float) -> bool:
    return one is not None and abs(one / other - 1.0) < 1e-6
