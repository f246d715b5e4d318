"""What is said while sizes of the present dryers rest on nothing but what was counted before their duty was changed."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from energy.reports.doubts import called
from energy.reports.rows import in_a_row
from energy.study.compare import Comparison
from energy.study.standing import KINDS, still_kept
from energy.units import parse, show

_SIZES = {
    "built_for": ("built for ", ""),
    "hopper_volume": ("a hopper of ", ""),
    "air_resin_ratio": ("", " kg of air per kg of resin"),
}
"""By key, what stands before and behind the first of several such sizes."""
_NAMES = {
    "built_for": "what they were built for",
    "hopper_volume": "the hopper",
    "air_resin_ratio": "the air per kg of resin",
}


def kept_as_before(comparison: Comparison, *, page: bool = False) -> list[str]:
    """Said beside a saving that hangs on sizes nobody has typed; where to put them is told by keys, on a `page` in words.

    Nothing under a scenario, where present dryers keep the size that they have in the case.
    """
    case, base = comparison.case, comparison.baseline
    kept = {} if case.stands else still_kept(case.document)
    if not kept:
        return []
    several, units, said = len(case.model.hoppers) > 1, case.model.case.units, []
    for key, (before, behind) in _SIZES.items():
        at: dict[str, list[str]] = {}
        for name, sizes in kept.items():
            if key in sizes:
                at.setdefault(show(parse(sizes[key]["value"], KINDS[key]), KINDS[key], units), []).append(name)
        listed = [
            f"{'' if i else before}{size}{'' if i else behind}{f' at {in_a_row(names)}' if several else ''}"
            for i, (size, names) in enumerate(at.items())
        ]
        said += [in_a_row(listed)] if listed else []
    keys = [key for key in _SIZES if any(key in sizes for sizes in kept.values())]
    where = ", under Options" if page else f" ({in_a_row(keys)})"
    less = [
        one.hopper.name
        for one in base.served
        if "built_for" in kept.get(one.hopper.name, {}) and any(f.check == "throughput" for f in one.verdict.findings)
    ]
    more = f" More is asked than they are counted as built for{f', at {in_a_row(less)}' if several else ''}."
    return [
        f"Counted as before the duty was changed, {called(base)}: {'; '.join(said)}. The saving hangs on it: put in what the nameplate "
        f"says{where}.{more if less else ''}"
    ]


def to_confirm(document: Mapping[str, Any]) -> str:
    """The same for a list of what is still to be replaced before anything is signed; empty where nothing is."""
    kept = still_kept(document)
    listed = []
    for key, words in _NAMES.items():
        names = [name for name, sizes in kept.items() if key in sizes]
        listed += [f"{words} at {in_a_row(names)}"] if names else []
    if not listed:
        return ""
    return f"Still to be read at the present dryers: {'; '.join(listed)}. It is counted as before the duty was changed; confirm it before anything is signed."
