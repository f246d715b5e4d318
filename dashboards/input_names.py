"""What the quantities of a case are called: in a list to choose from, and before what is wrong with one."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Mapping
from functools import cache

from pydantic import BaseModel

from energy.reports.simulation import place_in_words
from energy.study.form import entries
from energy.study.paths import models_in
from energy.study.schema import CaseFile
from energy.units import Quantity

_PARTS = re.compile(r"(?:\['.*?'\](?=\.|$)|[^.])+")
"""Keys between points; a name in quotes may hold one."""
_KEY = re.compile(r"(?<![\w'.\[])[a-z]+(?:_[a-z0-9]+)+(?![\w'\[])")
"""A key in a sentence; one in quotes is what somebody wrote."""
_OWN_NAME = re.compile(r"^\w+\['(.*)'\]$")


def input_names(found: Mapping[str, Quantity], model: CaseFile) -> list[tuple[str, str]]:
    """Name and path of each quantity, in its order; the name says the whole way where the short one is not enough."""
    short = {path: f"{quantity.label}: {place_in_words(path, model)}" for path, quantity in found.items()}
    count = Counter(short.values())
    return [
        (short[path] if count[short[path]] == 1 else f"{quantity.label}: {_way(path)}", path)
        for path, quantity in found.items()
    ]


def _way(path: str) -> str:
    """The whole way to an input, without its own key: Present dryers, machines 2."""
    return in_words(path.rpartition(".")[0])


def in_words(path: str) -> str:
    """A path as people would say it: Present dryers, machines 2, built for."""
    parts = [part for part in _PARTS.findall(path) if part != "inputs"]
    words = (_OWN_NAME.sub(r"\1", part).replace("[", " ").replace("]", "").replace("_", " ") for part in parts)
    return ", ".join(words)


def labelled(message: str) -> str:
    """A message with the labels of inputs in place of their keys in a case file; a key that is not told apart stays."""
    labels = _labels()
    return _KEY.sub(lambda key: f"“{labels[key[0]]}”" if key[0] in labels else key[0], message)


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


def told(name: str, message: str) -> str:
    """What is wrong behind the name of its field; a label that the message begins with is not said twice."""
    message = labelled(message)
    label, colon, rest = message.partition(": ")
    if not name or (colon and label == name):
        return message
    return f"{name}: {rest if colon and name.casefold().endswith(label.casefold()) else message}"
