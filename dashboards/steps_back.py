"""Steps of Undo as the browser keeps them: what differs from one document to the one before, not the documents; no widget in here."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

import tomli_w

from energy.study.case import read_document
from energy.study.paths import copied

ROOM = 400_000
"""Room for the steps of a case beside it in the browser. [characters]"""


def kept(history: Sequence[dict[str, Any]], document: dict[str, Any]) -> list[str]:
    """The way back from a document to those before it, a text for each, as far as there is room for them; the last is taken first.

    Parameters
    ----------
    history : sequence of dict
        Documents before it, the oldest first.
    document : dict
    """
    room, steps, newer = ROOM, [], document
    for older in reversed(history):
        text = tomli_w.dumps({"changes": _changes(newer, older)})
        room -= len(text)
        if room < 0:
            break
        steps.append(text)
        newer = older
    return steps[::-1]


def taken_up(steps: Sequence[str], document: dict[str, Any]) -> list[dict[str, Any]]:
    """The documents before a document, the oldest first, from what was kept of them.

    Raises
    ------
    EnergyError, KeyError, TypeError, ValueError, IndexError
        Steps that do not belong to it.
    """
    history, newer = [], document
    for text in reversed(steps):
        newer = copied(newer)
        for change in read_document(text, "the kept case")["changes"]:
            _put(newer, change)
        history.append(newer)
    return history[::-1]


def _changes(newer: Any, older: Any, at: tuple[str | int, ...] = ()) -> list[dict[str, Any]]:
    """What makes the older of the newer: a value at a place, or none where there was nothing."""
    if newer == older:
        return []
    if isinstance(newer, Mapping) and isinstance(older, Mapping):
        gone = [{"at": [*at, key]} for key in newer if key not in older]
        new = [{"at": [*at, key], "value": value} for key, value in older.items() if key not in newer]
        return [
            *gone,
            *new,
            *(c for key in older if key in newer for c in _changes(newer[key], older[key], (*at, key))),
        ]
    if isinstance(newer, list) and isinstance(older, list) and len(newer) == len(older):
        return [c for i, pair in enumerate(zip(newer, older, strict=True)) for c in _changes(*pair, (*at, i))]
    return [{"at": [*at], "value": older}]


def _put(document: Any, change: Mapping[str, Any]) -> None:
    *way, last = change["at"]
    for key in way:
        document = document[key]
    if "value" in change:
        document[last] = copied(change["value"])
    else:
        del document[last]
