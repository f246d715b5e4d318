"""Files that a case from a page names: which it may not, and what a downloaded case holds of those it may."""

from __future__ import annotations

from collections.abc import Container, Mapping
from typing import Any

from energy.errors import Problem, nearest
from energy.plant.climate import sample_names
from energy.study.references import files_named
from energy.tariffs import demo_tariffs

_NO_FILE = "is no file that can be read from a page"
_INSTEAD = {
    "tariffs": "write a price or a demo tariff there, open the case and press “Add a tariff file” on Compare, or",
    "site": "write a sample climate there, open the case and press “Open a weather file” on Compare, or",
    "plant_load": "take it out, open the case and press “Open readings of the meter” on Compare, or",
}
"""What to do about a file that a section names."""


def strange(document: Mapping[str, Any], own: Container[str]) -> list[Problem]:
    """Files that a case names and no page reads; those that the case as served names are its own."""
    known = [*demo_tariffs(), *sample_names()]
    return [
        Problem(key, f"'{name}' {_NO_FILE}{nearest(name, known)}; {_instead(key)}")
        for key, name in files_named(document).items()
        if name not in own
    ]


def _instead(key: str) -> str:
    """What to do about a file that a key of the case names."""
    section = key.split("].")[-1].partition(".")[0]
    return f"{_INSTEAD.get(section, '')} start with dryer-energy dashboard FILE, which reads it beside the case".strip()


def taken_or_left(took: list[str], left: list[str]) -> str:
    """What a downloaded case holds of the files beside it, and what not."""
    told = [f"The downloaded case holds what {', '.join(took)} said, so that it opens anywhere."] if took else []
    if left:
        them = "them" if len(left) > 1 else "it"
        told.append(
            f"It still needs {', '.join(left)} beside it: take {them} along, and open it with dryer-energy dashboard."
        )
    return " ".join(told)
