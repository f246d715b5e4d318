"""For which option each text of a request was written, kept with the case: a text that tells of another one is to be read again."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from energy.study.compare import Comparison
from energy.study.paths import changed, name_of, rows, written
from energy.study.request_section import WrittenFor

Document = Mapping[str, Any]
TABLE = "request.written_for"
TEXTS = tuple(WrittenFor.model_fields)
"""Keys of the texts that speak of the option asked for."""


def asked_for(comparison: Comparison) -> str:
    """The option that the request asks for: the one that it names, else the best."""
    ranked = comparison.ranked()
    best = ranked[0] if ranked else comparison.baseline
    return str(comparison.case.model.request.recommended) or best.name


def of_another(document: Document, asked: str) -> dict[str, str]:
    """By key, texts that were written while another option was asked for, and that option."""
    found = {key: options for key, options in _table(document).items() if key in _texts(document)}
    return {key: options[0] for key, options in found.items() if options and asked not in options}


def kept_up(before: Document, after: Document) -> dict[str, Any]:
    """`after` a change of a case, in which a text typed anew is one of the option asked for now, and an option renamed is found again."""
    found = _table(after)
    if not found or found != _table(before):
        return dict(after)
    old, new = _texts(before), _texts(after)
    names = _renamed(before, after)
    kept = {
        key: [names.get(option, option) for option in options]
        for key, options in found.items()
        if old.get(key) == new.get(key)
    }
    return dict(after) if kept == found else changed(after, {TABLE: kept or None})


def left_behind(before: Document, after: Document, was: str, asked: str) -> dict[str, Any]:
    """`after` a change of a case that turned the choice: texts that it did not touch were written for the option asked for before.

    Parameters
    ----------
    before, after : mapping
        The case before and after the change.
    was, asked : str
        The options asked for then and now.
    """
    was = _renamed(before, after).get(was, was)
    if was == asked:
        return dict(after)
    old, found = _texts(before), _table(after)
    new = {key: [was] for key, text in _texts(after).items() if key not in found and old.get(key) == text}
    return changed(after, {TABLE: {**found, **new}}) if new else dict(after)


def read_again(document: Document, key: str, asked: str) -> dict[str, Any]:
    """The change that says of a text: it holds for the option asked for now as well."""
    found = _table(document)
    return {TABLE: {**found, key: [*found.get(key, []), asked]}}


def _table(document: Document) -> dict[str, list[str]]:
    table = written(document, TABLE)
    return {key: list(options) for key, options in table.items()} if isinstance(table, Mapping) else {}


def _texts(document: Document) -> dict[str, Any]:
    found = {key: written(document, f"request.{key}") for key in TEXTS}
    return {key: text for key, text in found.items() if text}


def _renamed(before: Document, after: Document) -> dict[str, str]:
    """The new name of an option that has another one at the same place, by its old one."""
    old, new = ([name_of(row) for row in rows(document, "options")] for document in (before, after))
    if len(old) != len(new):
        return {}
    return {a: b for a, b in zip(old, new, strict=True) if a not in new and b not in old}
