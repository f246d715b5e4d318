"""What a dryer asks of the plant around it: cooling, the heat it leaves in the hall, and the hall air it blows outdoors."""

from __future__ import annotations

from calendar import isleap
from collections.abc import Mapping
from dataclasses import dataclass, replace
from functools import cache
from typing import TYPE_CHECKING, Any

import numpy as np

from energy.air import moist, water_vapour
from energy.air.constants import LIQUID_WATER_HEAT_CAPACITY, ZERO_CELSIUS
from energy.dryers.base import Array
from energy.study.case import Case
from energy.study.duty import atmospheric_pressure, hall_air, outdoor_air
from energy.study.finding import Finding
from energy.study.year import Year
from energy.units import show

if TYPE_CHECKING:
    from energy.equipment.building import Building

COOLING_PLANT = "cooling plant"
OUTDOOR_AIR_HEATED = "Outdoor air for the hall, heating"
OUTDOOR_AIR_COOLED = "Outdoor air for the hall, cooling"


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
    """What the dryer's heat, and the hall air that it blows outdoors, change in the hall, by month. [J]"""

    carrier: str
    """That the hall is heated with."""
    heating_saved: Array
    cooling_added: Array
    """Electricity."""
    make_up_heating: Array
    """Of that carrier, for the air from outdoors in place of what is blown out."""
    make_up_cooling: Array
    """Electricity that cools and dries the same; below 0 where that air is colder than the hall."""
    dried: bool
    """Has that air more water in cooled months than the hall is kept at?"""
    blown_out: Array
    """Hall air that leaves outdoors. [kg]"""

    def of(self, place: int) -> HallEffect:
        """That of one option of several beside each other."""
        arrays = "heating_saved", "cooling_added", "make_up_heating", "make_up_cooling", "blown_out"
        own = {name: months[place] for name in arrays if (months := getattr(self, name)).ndim > 1}
        return replace(self, **own)

    def changes(self, carrier: str) -> tuple[tuple[str, Array], ...]:
        """By line of the bill, what the hall takes more of a carrier through the dryers; below 0 is less. [J]

        Heating saved comes last: the least is then what the hall is left with.
        """
        cooling = (OUTDOOR_AIR_COOLED, self.make_up_cooling), ("Hall cooling added", self.cooling_added)
        heating = (OUTDOOR_AIR_HEATED, self.make_up_heating), ("Hall heating saved", -self.heating_saved)
        return (*(cooling if carrier == "electricity" else ()), *(heating if carrier == self.carrier else ()))

    def taken(self, carrier: str) -> Array:
        """What the hall takes more of a carrier in all, shape (..., 12). [J]"""
        return np.asarray(sum((energy for _, energy in self.changes(carrier)), start=np.zeros(12)))


def hall_effect(case: Case, year: Year) -> HallEffect | None:
    """What a year's heat does to the hall; None where the case has no building."""
    building = case.model.building
    if building is None:
        return None
    outdoors, dew_point = outdoor_air(case)
    blown_out = building.blown_out(year.hall_air)
    fresh = damp = blown_out * 0.0
    if np.any(blown_out) and case.climate is not None:
        hall, kept_at = hall_air(case)
        humidity, dry = (water_vapour.humidity_ratio(dew, atmospheric_pressure(case)) for dew in (dew_point, kept_at))
        fresh = blown_out * (moist.enthalpy(hall, humidity) - moist.enthalpy(outdoors, humidity))
        # A chiller that keeps the hall drier than the air outdoors condenses the difference, which leaves as water at the hall's dew point.
        heat = moist.vapour_enthalpy(hall) - LIQUID_WATER_HEAT_CAPACITY * (kept_at - ZERO_CELSIUS)
        damp = blown_out * np.maximum(humidity - dry, 0.0) * heat
    changed = building.effect(building.places(year.heat_out)["hall"], outdoors, fresh, damp)
    return HallEffect(
        carrier=building.heating_carrier,
        heating_saved=np.maximum(changed.heating_saved, 0.0),
        cooling_added=np.maximum(changed.cooling_electricity, 0.0),
        make_up_heating=changed.make_up_heating,
        make_up_cooling=changed.make_up_cooling,
        dried=bool(np.any(damp * building.cooled(outdoors))),
        blown_out=blown_out,
    )


@cache
def _usual_building() -> Building:
    from energy.equipment.building import Building

    return Building()


def taken_by_each(effect: HallEffect, count: int) -> list[dict[str, float]]:
    """By carrier, what the hall takes more in a year under each of so many options beside each other. [J]"""
    sums = {name: np.broadcast_to(effect.taken(name), (count, 12)).sum(-1).tolist() for name in ("electricity", "gas")}
    return [{name: taken[place] for name, taken in sums.items()} for place in range(count)]


def notes(case: Case, year: Year, effect: HallEffect | None) -> list[Finding]:
    """Where the heat ends up, in a sentence for each option of years beside each other, with what `hall_effect` says of them."""
    building = case.model.building or _usual_building()
    heats = {place: heat.sum(-1).tolist() for place, heat in building.places(year.heat_out).items()}
    seconds = (366 if isleap(case.model.case.year) else 365) * 86400.0
    found = []
    for place, in_hall in enumerate(heats["hall"]):
        ends = {name: heat[place] for name, heat in heats.items()}
        whole = sum(ends.values())
        shares = ", ".join(
            f"{100 * heat / whole:.0f} % {_IN[name]}" for name, heat in ends.items() if heat > 0.005 * whole
        )
        text = f"The heat of a year ends up: {shares}. In the hall that is {show(in_hall / seconds, 'power', 'kW')} on average."
        if effect is None:
            text += " Its effect on hall heating and cooling is not counted: the case says nothing of how the hall is heated and cooled."
        else:
            text += _of_effect(case, effect.of(place), seconds)
        found.append(
            Finding(
                check="heat to the hall",
                value=in_hall / 3.6e6,
                limit=None,
                unit="kWh/year",
                verdict="pass",
                text=text,
            )
        )
    return found


def _of_effect(case: Case, effect: HallEffect, seconds: float) -> str:
    saved, added = (show(float(np.sum(e)), "energy", "kWh") for e in (effect.heating_saved, effect.cooling_added))
    text = f" Counted: {saved} of {effect.carrier} for heating saved, {added} of electricity for cooling added."
    if np.any(effect.blown_out):
        text += f" {_of_fresh_air(case, effect, seconds)}"
    return text + _of_a_warm_hall(case)


def blows_out(case: Case, year: Year) -> bool:
    """Is outdoor air counted that replaces hall air blown outdoors?"""
    effect = hall_effect(case, year)
    return effect is not None and case.climate is not None and bool(np.any(effect.blown_out))


def _of_a_warm_hall(case: Case) -> str:
    """Said where a hall that is cooled is taken to be warmer than outdoors, as ventilation leaves one that is not."""
    building = case.model.building
    cooled = 0 if building is None else int(np.ceil(np.max(building.cooling_months)))
    if case.climate is None or not cooled:
        return ""
    outdoors, hall = outdoor_air(case)[0], hall_air(case)[0]
    hot = np.argsort(outdoors)[-cooled:]
    if np.all(hall[hot] <= outdoors[hot]):
        return ""
    warmest = show(float(np.max(hall[hot])), "temperature", case.model.case.units)
    return (
        f" In the cooled months the hall is taken to be warmer than outdoors, up to {warmest}, as one that is only aired: where it is kept "
        "cooler, give hall_temperature in each of site.months."
    )


def _of_fresh_air(case: Case, effect: HallEffect, seconds: float) -> str:
    """What replaces hall air that is blown outdoors, and what that takes."""
    flow = show(float(np.sum(effect.blown_out)) / seconds, "mass flow", case.model.case.units)
    text = f"The dryers blow hall air outdoors, {flow} on average, and air from outdoors replaces it"
    if case.climate is None:
        return (
            f"{text}. What warming that takes is not counted: the case knows no air outdoors. Give a climate (site.climate) or twelve "
            "months (site.months)."
        )
    warmed, cooled = float(np.sum(effect.make_up_heating)), float(np.sum(effect.make_up_cooling))
    text += f": {show(warmed, 'energy', 'kWh')} of {effect.carrier} to warm it in the heated months"
    if cooled:
        word = (
            f"to cool {'and dry ' if effect.dried else ''}it"
            if cooled > 0.0
            else "less, since it is colder than the hall,"
        )
        text += f", {show(abs(cooled), 'energy', 'kWh')} of electricity {word} in the cooled ones"
    return f"{text}."


_IN = {"hall": "in the hall", "outside": "outdoors", "cooling water": "in the cooling water", "resin": "in the resin"}
