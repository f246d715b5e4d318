"""What was read of how the beds of a dryer are regenerated, as inputs of the model. The desiccant in them is there, whatever was read."""

from __future__ import annotations

from collections.abc import Callable

from energy.dryers import base, circuit_inputs
from energy.study.readings import Readings

CYCLE_APART = 20.0
"""Times the cycle expected, or less than it, from which a cycle is doubted; by judgement. [-]"""
LONGER = 1.3
"""Cycle over that of the case's timer beyond which it is no timer that changes the beds, where nobody read what does; by judgement. [-]"""
COLDEST_BED = 423.15
"""Air below it takes hardly any water out of desiccant; by judgement. [K]"""
HOTTEST = 573.15
"""The model's own limit. [K]"""
NEAR_BED = 40.0
"""How far regeneration air may be from what the case sets; further below, its heater is at fault; by judgement. [K]"""

HalfWidth = Callable[[Readings, str], float]
"""How far a reading may be off, by its name."""


def far_below(cold: float, off: float, asked: float) -> bool:
    """Is regeneration air so far below what is asked for that it is a fault of the heater, and no other set point? [K]"""
    return cold + off < min(COLDEST_BED, asked) or cold + off < asked - NEAR_BED


def inputs_read(inputs: base.Inputs, readings: Readings, off: HalfWidth) -> dict[str, object]:
    """Temperature, control and cycle of regeneration that were read, as inputs; nothing of a dryer without desiccant.

    Air of a heater at fault is no other set point (see `heated`). A cycle is the timer's where one changes the beds: as it
    was read, or as the case has it beside a cycle that is no longer than the timer's.
    """
    if not isinstance(inputs, circuit_inputs.Inputs):
        return {}
    changes: dict[str, object] = {}
    hot = readings.regeneration_temperature
    asked = float(inputs.regeneration_temperature)
    if hot is not None and not far_below(float(hot), off(readings, "regeneration_temperature"), asked):
        changes["regeneration_temperature"] = min(float(hot), HOTTEST)
    control = readings.regeneration_control
    if control is not None:
        changes["regeneration_control"] = control
        if control == "timer":
            changes["dew_point_set_point"] = None
    cycle, own = readings.regeneration_cycle, float(inputs.cycle_time)
    if cycle is None or (control or inputs.regeneration_control) != "timer":
        return changes
    possible = own < CYCLE_APART * cycle and cycle < CYCLE_APART * own
    if possible and (control is not None or cycle <= LONGER * own):
        changes["cycle_time"] = float(cycle)
    return changes


def changed_every(inputs: base.Inputs, cycle: float) -> base.Inputs:
    """The inputs of a dryer whose beds are changed at that time, whatever decides it. [s]"""
    by_clock = {"regeneration_control": "timer", "dew_point_set_point": None, "cycle_time": cycle}
    return inputs.model_copy(update=by_clock)


def heated(inputs: base.Inputs, readings: Readings, off: HalfWidth, hall: float) -> float:
    """Heat of regeneration over the model's where its air is that of a heater at fault, at equal air; else 1. [K, -]

    Nor where its heater was read: see `found.regenerated`. Blower and beds stay, so that the colder air only carries less.
    """
    cold = readings.regeneration_temperature
    if not isinstance(inputs, circuit_inputs.Inputs) or cold is None or readings.regeneration_power is not None:
        return 1.0
    asked = float(inputs.regeneration_temperature)
    if not far_below(float(cold), off(readings, "regeneration_temperature"), asked):
        return 1.0
    return float(max(cold - hall, 0.0) / (asked - hall))
