"""Readings as they are typed in: what of them can be used already, and why the rest cannot."""

from __future__ import annotations

import re
from collections.abc import Mapping
from typing import Any

from energy.errors import CaseError, Problem
from energy.study.readings import WAY_ROUND
from energy.walkthrough.baseline import readings_from


def usable(written: Mapping[str, Any], shown: str | None = None) -> tuple[dict[str, Any], dict[str, str]]:
    """A table of readings without those that cannot be read, or say nothing beside the others.

    Of two that cannot both be right the one typed last, which stands last in the table, is left out; of two temperatures that
    may be the wrong way round both are, since nothing tells which of them is right. Temperatures are told in the unit
    `shown`, degC or degF, else as they were typed.

    Returns
    -------
    dict
        What can be used. Where the table as a whole is wrong, it is as it was written.
    dict of str to str
        By name, why a reading is left out.
    """
    kept, left = dict(written), dict[str, str]()
    while problems := _problems(kept, shown):
        named = [(_names(kept, problem, shown), problem.message) for problem in problems]
        if not all(names for names, _ in named):
            return kept, left
        for name, message in ((name, message) for names, message in named for name in names):
            if kept.pop(name, None) is not None:
                left[name] = _said(name, message, left)
    return kept, left


def _problems(table: Mapping[str, Any], shown: str | None) -> tuple[Problem, ...]:
    try:
        readings_from(table, shown=shown)
    except CaseError as error:
        return error.problems
    return ()


def _names(table: Mapping[str, Any], problem: Problem, shown: str | None) -> tuple[str, ...]:
    """The readings to leave out for a problem."""
    if not problem.key and WAY_ROUND in problem.message:
        return tuple(name for name in table if re.search(rf"\b{name}\b", problem.message))
    name = _name(table, problem, shown)
    return (name,) if name else ()


def _name(table: Mapping[str, Any], problem: Problem, shown: str | None) -> str:
    """The reading to leave out for a problem; empty where none of them would mend it."""
    if problem.key:
        own = problem.key.partition(".")[0]
        return own if own in table and own != "hopper" else ""
    for name in reversed([*table]):
        rest = {key: value for key, value in table.items() if key != name}
        if name != "hopper" and re.search(rf"\b{name}\b", problem.message) and problem not in _problems(rest, shown):
            return name
    return ""


def _said(name: str, message: str, left: Mapping[str, str]) -> str:
    missing = re.match(r"(\w+) is missing; ", message)
    if missing and missing[1] in left:
        return f"{name} goes with {missing[1]}, which is left out"
    return message
