"""What was read of how the beds of a dryer are regenerated, as inputs of the model. The desiccant in them is there, whatever was read."""

from __future__ import annotations

from energy.dryers import base, circuit_inputs
from energy.sources import load
from energy.study.readings import Readings

BEYOND_USUAL = 5.0
"""Times the longest cycle that a dryer may have, or less than the shortest, from which a cycle is doubted; by judgement. [-]"""
LONGER = 1.3
"""Times the cycle read is shorter or longer than the case's timer from which that is told; by judgement. [-]"""
COLDEST_BED = 423.15
"""Air below it takes hardly any water out of desiccant; by judgement. [K]"""
HOTTEST = 573.15
"""The model's own limit. [K]"""


def control_of(inputs: circuit_inputs.Inputs, readings: Readings) -> str:
    """What changes the beds: as it was read, else by the case."""
    return str(readings.regeneration_control or inputs.regeneration_control)


def cycles(inputs: circuit_inputs.Inputs) -> tuple[float, float]:
    """Shortest and longest cycle that is usual for the type, the case's own in it. [s]"""
    stored, own = load(f"dryers/{inputs.kind}")["cycle_time"], float(inputs.cycle_time)
    assert stored.si_low is not None
    assert stored.si_high is not None
    return min(stored.si_low, own), max(stored.si_high, own)


def inputs_read(inputs: base.Inputs, readings: Readings) -> dict[str, object]:
    """Temperature, control and cycle of regeneration that were read, as inputs; nothing of a dryer without desiccant.

    A cycle is the timer's where one changes the beds, as it was read or else by the case; changed by dew point it follows from
    the water.
    """
    if not isinstance(inputs, circuit_inputs.Inputs):
        return {}
    changes: dict[str, object] = {}
    if readings.regeneration_temperature is not None:
        changes["regeneration_temperature"] = min(float(readings.regeneration_temperature), HOTTEST)
    control = readings.regeneration_control
    if control is not None:
        changes["regeneration_control"] = control
        if control == "timer":
            changes["dew_point_set_point"] = None
    cycle, (shortest, longest) = readings.regeneration_cycle, cycles(inputs)
    if cycle is None or control_of(inputs, readings) != "timer":
        return changes
    if shortest < BEYOND_USUAL * cycle and cycle < BEYOND_USUAL * longest:
        changes["cycle_time"] = float(cycle)
    return changes


def changed_every(inputs: base.Inputs, cycle: float) -> base.Inputs:
    """The inputs of a dryer whose beds are changed at that time, whatever decides it. [s]"""
    by_clock = {"regeneration_control": "timer", "dew_point_set_point": None, "cycle_time": cycle}
    return inputs.model_copy(update=by_clock)
