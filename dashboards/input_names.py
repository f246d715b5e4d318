"""What the quantities of a case are called: in a list to choose from, and before what is wrong with one."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Mapping

from energy.reports.labels import labelled
from energy.reports.simulation import place_in_words
from energy.study.schema import CaseFile
from energy.units import Quantity

_PARTS = re.compile(r"(?:\['.*?'\](?=\.|$)|[^.])+")
"""Keys between points; a name in quotes may hold one."""
_READ = re.compile(r"readings\[(\d+)\]")
_OWN_NAME = re.compile(r"^\w+\['(.*)'\]$")


def input_names(found: Mapping[str, Quantity], model: CaseFile) -> list[tuple[str, str]]:
    """Name and path of each quantity, in its order; the name says the whole way where the short one is not enough."""
    short = {path: f"{quantity.label}: {_place(path, model)}" for path, quantity in found.items()}
    count = Counter(short.values())
    return [
        (short[path] if count[short[path]] == 1 else f"{quantity.label}: {_way(path)}", path)
        for path, quantity in found.items()
    ]


def _place(path: str, model: CaseFile) -> str:
    """Where an input belongs; of a reading, the hopper at which it was read."""
    read = _READ.match(path)
    return f"read at {model.readings[int(read[1]) - 1].hopper}" if read else place_in_words(path, model)


def _way(path: str) -> str:
    """The whole way to an input, without its own key: Present dryers, machines 2."""
    return in_words(path.rpartition(".")[0])


def in_words(path: str) -> str:
    """A path as people would say it: Present dryers, machines 2, built for."""
    parts = [part for part in _PARTS.findall(path) if part != "inputs"]
    words = (_OWN_NAME.sub(r"\1", part).replace("[", " ").replace("]", "").replace("_", " ") for part in parts)
    return ", ".join(words)


def told(name: str, message: str) -> str:
    """What is wrong behind the name of its field; a label that the message begins with is not said twice."""
    message = labelled(message)
    label, colon, rest = message.partition(": ")
    if not name or (colon and label == name):
        return message
    return f"{name}: {rest if colon and name.casefold().endswith(label.casefold()) else message}"
