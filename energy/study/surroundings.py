"""What a dryer asks of the plant around it: cooling, and the heat it leaves in the hall."""

from __future__ import annotations

from calendar import isleap
from collections.abc import Mapping
from dataclasses import dataclass, replace
from functools import cache
from typing import TYPE_CHECKING, Any

import numpy as np

from energy.dryers.base import Array
from energy.study.case import Case
from energy.study.duty import atmospheric_pressure, outdoor_air
from energy.study.finding import Finding
from energy.study.year import Year
from energy.units import show

if TYPE_CHECKING:
    from energy.equipment.building import Building

COOLING_PLANT = "cooling plant"


def with_cooling_plant(case: Case, year: Year) -> Year:
    """The year with the electricity and water that the plant's own cooling takes; unchanged where none is given.

    The dryer's heat balance ends at its cooler, so the cooling plant is in its energy but not in that balance.
    """
    plant = case.model.cooling
    heat = year.energy.get(("cooling", "cooling"))
    if plant is None or heat is None or not np.any(heat > 0.0):
        return year
    air = *outdoor_air(case), atmospheric_pressure(case)
    demand = plant.demand(heat, *air)
    key, taken = ("cooling", "electricity"), ("cooling", "cooling")

    def with_electricity(table: Mapping[Any, Array]) -> dict[Any, Array]:
        """A table of heat by (state,) end use and carrier with the electricity that its cooling takes."""
        heats = {k: v for k, v in table.items() if k[-2:] == taken}
        own = {(*k[:-2], *key): plant.demand(v, *air).electricity for k, v in heats.items()}
        return {**table, **{k: table.get(k, 0.0) + v for k, v in own.items()}}

    return replace(
        year,
        energy=with_electricity(year.energy),
        peak=with_electricity(year.peak),
        energy_in=with_electricity(year.energy_in),
        peak_in=with_electricity(year.peak_in),
        states={**year.states, COOLING_PLANT: demand.electricity},
        water=demand.water,
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class HallEffect:
    """What the dryer's heat changes in the hall, by month. [J]"""

    carrier: str
    """That the hall is heated with."""
    heating_saved: Array
    cooling_added: Array
    """Electricity."""


def hall_effect(case: Case, year: Year) -> HallEffect | None:
    """What a year's heat does to the hall; None where the case has no building."""
    building = case.model.building
    if building is None:
        return None
    to_hall = building.places(year.heat_out)["hall"]
    changed = building.effect(to_hall, outdoor_air(case)[0])
    return HallEffect(
        carrier=building.heating_carrier,
        heating_saved=np.maximum(changed.heating_saved, 0.0),
        cooling_added=np.maximum(changed.cooling_electricity, 0.0),
    )


@cache
def _usual_building() -> Building:
    from energy.equipment.building import Building

    return Building()


def notes(case: Case, year: Year) -> tuple[Finding, ...]:
    """Where the heat ends up, in a sentence."""
    building = case.model.building or _usual_building()
    places = {place: float(np.sum(heat)) for place, heat in building.places(year.heat_out).items()}
    whole = sum(places.values())
    shares = ", ".join(
        f"{100 * heat / whole:.0f} % {_IN[place]}" for place, heat in places.items() if heat > 0.005 * whole
    )
    seconds = (366 if isleap(case.model.case.year) else 365) * 86400.0
    mean = show(places["hall"] / seconds, "power", "kW")
    text = f"The heat of a year ends up: {shares}. In the hall that is {mean} on average."
    effect = hall_effect(case, year)
    if effect is None:
        text += " Its effect on hall heating and cooling is not counted: the case says nothing of how the hall is heated and cooled."
    else:
        saved, added = (show(float(np.sum(e)), "energy", "kWh") for e in (effect.heating_saved, effect.cooling_added))
        text += f" Counted: {saved} of {effect.carrier} for heating saved, {added} of electricity for cooling added."
    return (
        Finding(
            check="heat to the hall",
            value=places["hall"] / 3.6e6,
            limit=None,
            unit="kWh/year",
            verdict="pass",
            text=text,
        ),
    )


_IN = {"hall": "in the hall", "outside": "outdoors", "cooling water": "in the cooling water", "resin": "in the resin"}
