"""What a hopper's resin is called: by the name of its own values where one is given, else by its abbreviation."""

from __future__ import annotations

from energy.resins.properties import Resin
from energy.study.plant_sections import Hopper


def called(hopper: Hopper, resin: Resin) -> str:
    """PETG, where the case names its own values so; else the abbreviation."""
    return _own_name(hopper) or resin.abbreviation


def in_full(hopper: Hopper, resin: Resin) -> str:
    """The same with whose values they are: PETG (own values over PET), PET (own values), PET."""
    if hopper.own_resin is None:
        return resin.abbreviation
    name = called(hopper, resin)
    over = "" if name == resin.abbreviation or hopper.resin.lower() == "own" else f" over {resin.abbreviation}"
    return f"{name} (own values{over})"


def _own_name(hopper: Hopper) -> str:
    return ((hopper.own_resin.name if hopper.own_resin is not None else None) or "").strip()
