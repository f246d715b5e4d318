"""What a hopper's resin is called: by the name of its own values where one is given, else by its abbreviation."""

from __future__ import annotations

from energy.resins.properties import Resin
from energy.study.compare import Comparison
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


def data_of_another(comparison: Comparison) -> list[str]:
    """Said of resins of the user's own, by another name, that have diffusion data of the stored resin they start from."""
    of = {r.called: r.of_another("diffusivity") for r in comparison.case.resins if r.hygroscopic}
    return [
        f"{name} is reckoned with the diffusion data of {stored}, from which it starts."
        for name, stored in of.items()
        if stored
    ]
