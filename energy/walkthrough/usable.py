"""Readings as they are typed in: what of them can be used already, and why the rest cannot."""

from __future__ import annotations

import re
from collections.abc import Mapping
from typing import Any

from energy.errors import CaseError, Problem
from energy.walkthrough.baseline import readings_from


def usable(written: Mapping[str, Any]) -> tuple[dict[str, Any], dict[str, str]]:
    """A table of readings without those that cannot be read, or say nothing beside the others.

    Of two that cannot both be right the one typed last, which stands last in the table, is left out.

    Returns
    -------
    dict
        What can be used. Where the table as a whole is wrong, it is as it was written.
    dict of str to str
        By name, why a reading is left out.
    """
    kept, left = dict(written), dict[str, str]()
    while problems := _problems(kept):
        names = [(_name(kept, problem), problem.message) for problem in problems]
        if not all(name for name, _ in names):
            return kept, left
        for name, message in names:
            if kept.pop(name, None) is not None:
                left[name] = _said(name, message, left)
    return kept, left


def _problems(table: Mapping[str, Any]) -> tuple[Problem, ...]:
    try:
        readings_from(table)
    except CaseError as error:
        return error.problems
    return ()


def _name(table: Mapping[str, Any], problem: Problem) -> str:
    """The reading to leave out for a problem; empty where none of them would mend it."""
    if problem.key:
        own = problem.key.partition(".")[0]
        return own if own in table and own != "hopper" else ""
    for name in reversed([*table]):
        rest = {key: value for key, value in table.items() if key != name}
        if name != "hopper" and re.search(rf"\b{name}\b", problem.message) and problem not in _problems(rest):
            return name
    return ""


def _said(name: str, message: str, left: Mapping[str, str]) -> str:
    missing = re.match(r"(\w+) is missing; ", message)
    if missing and missing[1] in left:
        return f"{name} goes with {missing[1]}, which is left out"
    return message
