"""A hopper's resin: the stored one, with what the case says of it put over it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from typing import Any

from energy.errors import UnitError
from energy.resins.properties import Resin, custom_resin, load_resin
from energy.study.paths import walk
from energy.study.plant_sections import Hopper, OwnResin
from energy.units import parse


def resin_of(hopper: Hopper, row: Mapping[str, Any] | None = None) -> Resin:
    """The hopper's resin with its own values put over it.

    Parameters
    ----------
    hopper : Hopper
    row : mapping, optional
        The hopper as it is written, for the ranges of its own values.
    """
    given = {k: v for k, v in (hopper.own_resin.model_dump() if hopper.own_resin else {}).items() if v is not None}
    if hopper.resin.lower() == "own":
        found = custom_resin(None, **given)
    else:
        found = custom_resin(hopper.resin, **given) if given else load_resin(hopper.resin)
    if hopper.own_resin is None or row is None:
        return found
    return replace(found, ranges=_ranges(hopper.own_resin, row.get("own_resin")))


def _ranges(own: OwnResin, written: Any) -> tuple[tuple[str, float, float], ...]:
    """Own values that are written with a range: key, low, high."""
    found = []
    for key, quantity, value in walk(own):
        raw = written.get(key) if isinstance(written, Mapping) else None
        if value is None or not isinstance(raw, Mapping) or not {"low", "high"} <= raw.keys():
            continue
        try:
            low, high = (parse(raw[end], quantity.kind) for end in ("low", "high"))
        except UnitError:  # told where the ranges of a case are checked
            continue
        found.append((key, low, high))
    return tuple(found)
