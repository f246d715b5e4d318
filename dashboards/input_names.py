"""What every quantity of a case is called where it is chosen from a list."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Mapping

from energy.reports.simulation import place_in_words
from energy.units import Quantity

_OWN_NAME = re.compile(r"^\w+\['(.*)'\]$")


def input_names(found: Mapping[str, Quantity]) -> list[tuple[str, str]]:
    """Name and path of each quantity, in its order; the name says the whole way where the short one is not enough."""
    short = {path: f"{quantity.label}: {place_in_words(path)}" for path, quantity in found.items()}
    count = Counter(short.values())
    return [
        (short[path] if count[short[path]] == 1 else f"{quantity.label}: {_way(path)}", path)
        for path, quantity in found.items()
    ]


def _way(path: str) -> str:
    """The whole way to an input, without its own key: Present dryers, machines 2."""
    parts = [part for part in path.split(".")[:-1] if part != "inputs"]
    words = (_OWN_NAME.sub(r"\1", part).replace("[", " ").replace("]", "").replace("_", " ") for part in parts)
    return ", ".join(words)
