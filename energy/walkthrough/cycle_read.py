"""How often beds are changed, beside what the dryer of the case does and what its heater can give."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

import numpy as np

from energy.dryers import circuit_inputs
from energy.errors import ModelError, OutOfRangeError
from energy.study.at_work import operate
from energy.study.readings import QUANTITIES
from energy.units import show
from energy.walkthrough.beds_as_read import BEYOND_USUAL, changed_every, cycles
from energy.walkthrough.doubt import Doubt, slip_of_ten, system_of, times
from energy.walkthrough.estimate import Estimate
from energy.walkthrough.found import Found, regeneration_of

RESERVE = 1.5
"""Regeneration heater that a dryer may have over the one that the model sizes; by judgement. [-]"""


def cycle_expected(found: Found) -> float:
    """Time between bed changes in the model: the timer's, or longer where the dew point decides. [s]"""
    op, inputs = found.as_found, found.machine.inputs
    beds, cycle = getattr(inputs, "beds", 1.0), float(getattr(inputs, "cycle_time", 0.0))
    mass = float(np.ravel(op.sizing["desiccant"])[0]) / beds
    water, swing = (float(np.ravel(op.details[key])[0]) for key in ("water_adsorbed", "swing"))
    if water <= 0.0 or swing <= 0.0:
        return cycle
    longer = mass * swing / water / float(getattr(found.inputs_found, "cycle_time", cycle))  # than as it was found
    return cycle * longer


def heat_at(found: Found, cycle: float) -> float | None:
    """Heat of regeneration where beds are changed that often, whatever decides it; None without an answer. [s, W]

    Desiccant and metal are heated more or less often; the water is what comes in an hour, and the temperature read is in the
    model already.
    """
    try:
        machine = replace(found.machine, inputs=changed_every(found.inputs_found, cycle), regenerated=found.regenerated)
        return regeneration_of(operate(machine, (found.duty_found,)))
    except (ModelError, OutOfRangeError):
        return None


def beyond_heater(found: Found, cycle: float) -> tuple[float, float] | None:
    """Mean heat of regeneration at that cycle and what the heater of the case can give, where the first is surely more; else None. [W]"""
    heat = heat_at(replace(found, regenerated=1.0), cycle)
    built = float(np.ravel(found.expected.sizing["regeneration_heater"])[0])
    return (heat, built) if heat is not None and heat > RESERVE * built else None


def cycle_apart(found: Found) -> float | None:
    """How many times longer than expected a cycle was read that no dryer of this kind has; None where it may have it. [-]

    Held against what is usual for the type, the timer's of the case and, where the dew point decides, the longer one that the
    water asks for; and against what the heater of the case can give.
    """
    read, inputs = found.readings.regeneration_cycle, found.machine.inputs
    if read is None or not found.closed or not isinstance(inputs, circuit_inputs.Inputs):
        return None
    expected, timer = cycle_expected(found), float(inputs.cycle_time)
    usual = cycles(inputs)
    if read >= BEYOND_USUAL * max(usual[1], expected):
        return float(read) / max(timer, expected)
    if read * BEYOND_USUAL <= min(usual[0], expected) or (read < timer and beyond_heater(found, float(read))):
        return float(read) / min(timer, expected)
    return None


def slip_of_cycle(found: Found, given: Mapping[str, Estimate]) -> Doubt | None:
    """A cycle that no dryer of this kind has, most often in another unit or a slip of ten."""
    apart = None if "regeneration" not in given else cycle_apart(found)
    read, inputs = found.readings.regeneration_cycle, found.machine.inputs
    if apart is None or read is None or not isinstance(inputs, circuit_inputs.Inputs):
        return None
    system = system_of(found)
    factor, unit = max(apart, 1.0 / apart), QUANTITIES["regeneration_cycle"].unit(system)
    than = f"{times(factor)} {'longer' if apart > 1.0 else 'shorter'} than expected"
    beyond = None if apart > 1.0 else beyond_heater(found, float(read))
    hot = ""
    if beyond is not None:
        asked, built = (show(heat, "power", system) for heat in beyond)
        hot = f", and would take {asked} of regeneration heat on the mean, where the heater of the case gives {built}"
    if 30.0 <= factor <= 120.0:  # what it would take goes without saying
        hot = ""
        slip = ": hours taken for minutes?" if apart > 1.0 else ": minutes taken for hours?"
    else:
        low, high = cycles(inputs)
        slip = f".{slip_of_ten(float(read), low, max(high, cycle_expected(found)), 'time', unit)}"
    return Doubt(
        name="regeneration_cycle",
        reading="regeneration_cycle",
        brief=f"{than}: check it",
        text=f"Check the cycle: {show(read, 'time', unit)} is {than}{hot}{slip}",
        cannot_be=True,
    )
