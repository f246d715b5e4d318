"""Labels of inputs in place of their keys in a case file, for readers who do not write one: pages and documents."""

from __future__ import annotations

import re
from functools import cache

from pydantic import BaseModel

from energy.study.form import entries
from energy.study.paths import models_in
from energy.study.plant_sections import OwnResin
from energy.study.schema import CaseFile

_WORD = r"[a-z]+(?:_[a-z0-9]+)+"
_KEY = re.compile(rf"(?<![\w'.\[]){_WORD}(?![\w'\[])")
"""A key in a sentence; one in quotes is what somebody wrote."""
_BESIDE_LABEL = re.compile(rf"(“[^”]*”)(?: \({_WORD}\)|, {_WORD}(?:,(?= of )|(?=[\s)])))")
"""A label with its key beside it."""
_LEFT = re.compile(rf" \((?:[a-z]+, or )?{_WORD}\)")
_LEFT_NOW = re.compile(rf"\({_WORD}, (?=now )")
"""A key in brackets that is not told apart: what stands before it says enough."""
_OF_RESIN = re.compile(r"\bown_resin\.(\w+)")


def labelled(message: str) -> str:
    """A message with the labels of inputs in place of their keys in a case file, and none said twice.

    A key that means more than one thing stays, but for one in brackets behind words that say as much.
    """
    labels, of_resin = _labels(), _of_resin()
    message = _BESIDE_LABEL.sub(r"\1", message)
    message = _OF_RESIN.sub(lambda key: f"“{of_resin[key[1]]}”" if key[1] in of_resin else key[0], message)
    message = _KEY.sub(lambda key: f"“{labels[key[0]]}”" if key[0] in labels else key[0], message)
    return _LEFT_NOW.sub("(", _LEFT.sub("", message))


@cache
def _of_resin() -> dict[str, str]:
    """Label of every key of a resin's own values."""
    return {key: entry.label for key, entry in entries(OwnResin).items()}


@cache
def _labels() -> dict[str, str]:
    """Label of every key of more than one word that means the same wherever it stands."""
    found: dict[str, set[str]] = {}
    seen: set[type[BaseModel]] = set()
    left: list[type[BaseModel]] = [CaseFile]
    while left:
        model = left.pop()
        if model in seen:
            continue
        seen.add(model)
        for key, entry in entries(model).items():
            if "_" in key:
                found.setdefault(key, set()).add(entry.label)
        left += [inner for field in model.model_fields.values() for inner in models_in(field.annotation)]
    return {key: names.pop() for key, names in found.items() if len(names) == 1}
