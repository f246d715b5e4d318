"""What was read of an input of the present dryer and cannot take its place, and what the readings and the comparison count then."""

from __future__ import annotations

from dataclasses import dataclass

from energy.dryers import circuit_inputs
from energy.study.form import entries
from energy.units import show
from energy.units.degrees import unit_typed
from energy.walkthrough.beds_as_read import control_of
from energy.walkthrough.doubt import system_of
from energy.walkthrough.found import Found

TEMPERATURE, CYCLE, AIR = "regeneration_temperature", "regeneration_cycle", "air_velocity"


@dataclass(frozen=True, slots=True, kw_only=True)
class KeptOut:
    """A reading that does not become the input that it is of."""

    reading: str
    value: float
    """SI."""
    why: str
    """In a clause."""


def kept_out(found: Found) -> tuple[KeptOut, ...]:
    """Readings of inputs that are not taken over, each with its reason; none where all are, or none was read."""
    readings, inputs = found.readings, found.machine.inputs
    told: dict[str, str] = {}
    if readings.air_velocity is not None and inputs.airflow_control != "fixed":
        told[AIR] = "the airflow of this dryer follows the load, and that of a moment is not what it is built for"
    if isinstance(inputs, circuit_inputs.Inputs):
        hot = readings.regeneration_temperature
        if hot is not None and (why := _no_temperature(found, inputs, hot)):
            told[TEMPERATURE] = why
        if readings.regeneration_cycle is not None and control_of(inputs, readings) != "timer":
            told[CYCLE] = "beds are changed by dew point, so that the time between changes follows from the water"
    return tuple(KeptOut(reading=name, value=float(getattr(readings, name)), why=why) for name, why in told.items())


def _no_temperature(found: Found, inputs: circuit_inputs.Inputs, hot: float) -> str:
    """Why regeneration air of that temperature cannot be the set point; empty where it can. [K]"""
    coldest, hottest = entries(type(inputs))[TEMPERATURE].limits
    unit = unit_typed(hot, system_of(found))
    if not coldest[1] <= hot <= hottest[1]:
        ends = " to ".join(show(end, "temperature", unit) for end in (coldest[1], hottest[1]))
        return f"a dryer can be set to {ends}"
    if float(getattr(found.inputs_found, TEMPERATURE)) != hot:
        return "the model has no answer for this dryer with it"
    return ""
