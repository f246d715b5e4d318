"""Air before the heater that was read colder than anything that cools it, in a dryer whose air comes round in a circuit."""

from __future__ import annotations

from energy.dryers import circuit_inputs
from energy.units import show
from energy.units.degrees import unit_typed
from energy.walkthrough.doubt import Doubt, system_of
from energy.walkthrough.found import Found, half_width, usual
from energy.walkthrough.other_unit import would_be

WATER_COLDER = 2.0
"""How much colder than in the case cooling water may be on a day; by judgement. [K]"""


def colder_than_coolant(found: Found) -> Doubt | None:
    """Air colder than both what cools it and the hall that its ducts stand in, by more than these and the reading may be off.

    Nothing is said of dryers that take their air from outdoors or from a compressor: that may be as cold as it comes.
    """
    before, inputs = found.readings.heater_inlet_temperature, found.machine.inputs
    if before is None or not isinstance(inputs, circuit_inputs.Inputs):
        return None
    hall, water = float(found.duty.hall_temperature[0]), float(found.duty.coolant_temperature[0])
    known = found.readings.hall_temperature is not None
    off = half_width(found.readings, "hall_temperature") if known else usual("case_hall_temperature")
    by_water = inputs.cooler == "water"
    coldest = min(hall - off, water - WATER_COLDER) if by_water else hall - off
    if before + half_width(found.readings, "heater_inlet_temperature") >= coldest:
        return None
    unit = unit_typed(before, system_of(found))
    read, of_hall, of_water = (show(value, "temperature", unit) for value in (before, hall, water))
    than = f"the cooling water ({of_water}) and the hall ({of_hall})" if by_water else f"the hall ({of_hall})"
    low, high = min(hall, water) if by_water else hall, float(found.duty_found.drying_temperature[0])
    words = would_be(found, "heater_inlet_temperature", low, high)
    return Doubt(
        name="heater_inlet_temperature",
        reading="heater_inlet_temperature",
        brief="colder than what cools it: check it",
        text=f"Check the air before the heater: {read} is colder than {than}, and nothing else cools this air{words}",
        cannot_be=True,
    )
