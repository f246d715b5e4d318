"""Two temperatures that were entered in each other's place: neither can be as typed, and each would fit as the other."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from energy.study.readings import QUANTITIES
from energy.units import show
from energy.units.degrees import unit_typed
from energy.walkthrough.beds_as_read import COLDEST_BED
from energy.walkthrough.doubt import Doubt, system_of
from energy.walkthrough.found import Found, colder_than_hall
from energy.walkthrough.other_unit import HOTTEST_BED, NEAR, NEAR_HALL


@dataclass(frozen=True, slots=True)
class _Range:
    """Where a temperature may be expected. [K]"""

    low: float
    high: float

    def has(self, read: float) -> bool:
        return self.low <= read <= self.high


def wrong_way_round(found: Found) -> dict[str, Doubt]:
    """Pairs of which each reading is where the other should be, by name; two of one text for each pair.

    Process and return air are refused where they are the wrong way round (`energy.study.readings`). These are pairs of which one
    by itself would be called off, and for no good reason the one.
    """
    readings, asked = found.readings, float(found.duty.drying_temperature[0])
    of_case = found.machine.duties[0].hall_temperature
    hall = _Range(float(np.min(of_case)) - NEAR_HALL, float(np.max(of_case)) + NEAR_HALL)
    bed, process = _Range(COLDEST_BED, HOTTEST_BED), _Range(asked - NEAR, asked + NEAR)
    told: dict[str, Doubt] = {}
    for name in ("return_temperature", "shell_temperature"):
        if readings.hall_temperature is None or found.batch or not colder_than_hall(readings, found.duty, name):
            continue
        if hall.has(float(getattr(readings, name))) and not hall.has(readings.hall_temperature):
            told |= _pair(
                found, name, "hall_temperature", "the first is colder than the second, beside hot process air"
            )
    hot, regeneration = readings.process_temperature, readings.regeneration_temperature
    if found.closed and hot is not None and regeneration is not None:
        swapped = bed.has(hot) and process.has(regeneration)
        if swapped and not process.has(hot) and not bed.has(regeneration):
            told |= _pair(
                found, "process_temperature", "regeneration_temperature", "the first is hotter than the second"
            )
    return told


def _pair(found: Found, one: str, other: str, why: str) -> dict[str, Doubt]:
    named = []
    for name in (one, other):
        read, label = getattr(found.readings, name), QUANTITIES[name].label
        named.append(
            f"{label[:1].lower()}{label[1:]} ({show(read, 'temperature', unit_typed(read, system_of(found)))})"
        )
    text = f"Check which is which, {named[0]} or {named[1]}: {why}, and the wrong way round they would fit."
    brief = "the wrong way round? Check which is which"
    return {name: Doubt(name=name, reading=name, brief=brief, text=text, cannot_be=True) for name in (one, other)}
