"""Scenarios of a case as a document: added, renamed, changed, removed; and what each makes of the comparison."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from dashboards import lists
from dashboards.input_names import told
from energy.errors import CaseError, EnergyError
from energy.reports.doubts import present_fails
from energy.reports.scenario_words import of_present
from energy.study.case import Case
from energy.study.compare import Comparison, compare
from energy.study.paths import walk
from energy.study.scenarios import under
from energy.study.schema import Scenario

MOST = 20
"""Scenarios of a case, as its schema has it."""
MOST_CHANGES = 100
FIRST = ("tariffs.electricity_factor", "120 %")
"""What a new scenario changes."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Outcome:
    """What one scenario comes to."""

    name: str
    comparison: Comparison | None = None
    problem: str = ""
    """Why there is none."""
    note: str = ""
    """What of the present dryers is to be known there."""


def outcome(case: Case, scenario: Scenario) -> Outcome:
    """Compare a case under one of its scenarios."""
    try:
        other = under(case, scenario.changes)
        if other.model == case.model:
            return Outcome(name=scenario.name, problem="No change entered: its values are those of the case.")
        found = compare(other)
        told_too = [*present_fails(found, when="there"), *of_present(case, found)]
        return Outcome(name=scenario.name, comparison=found, note=" ".join(told_too))
    except CaseError as error:
        labels = {path: quantity.label for path, quantity, _ in walk(case.model)}
        return Outcome(
            name=scenario.name,
            problem=" ".join(f"{told(labels.get(p.key, p.key), p.message)}." for p in error.problems),
        )
    except EnergyError as error:
        return Outcome(name=scenario.name, problem=f"{error}.")


def changes_of(document: lists.Document, place: int) -> dict[str, Any]:
    """What a scenario of a document changes, by path."""
    found = lists.rows(document, "scenarios")[place].get("changes")
    return {str(path): value for path, value in found.items()} if isinstance(found, Mapping) else {}


def add(document: lists.Document) -> lists.Changes:
    """One more scenario, which begins with dearer electricity."""
    listed = lists.rows(document, "scenarios")
    name = lists.fresh([lists.name_of(row) for row in listed], f"Scenario {len(listed) + 1}")
    path, value = FIRST
    return lists.add_row(document, "scenarios", {"name": name, "changes": {path: value}})


def put(document: lists.Document, place: int, path: str, value: Any, instead_of: str = "") -> lists.Changes:
    """One change of a scenario: added, given another value, put in place of another, or taken out with no value.

    A scenario goes with its last change.
    """
    changes = changes_of(document, place)
    if instead_of and path != instead_of:
        changes = {path if key == instead_of else key: v for key, v in changes.items() if key != path}
    changes[path] = value
    kept = {key: v for key, v in changes.items() if v is not None}
    if not kept:
        return lists.remove_row(document, "scenarios", place)
    return {f"scenarios[{place + 1}].changes": kept}
