"""Whether the air of a dryer carries enough heat for its resin, and how much would do."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from energy.air import moist, water_vapour
from energy.dryers import circuit_inputs, hopper_sizing, pellet_bed
from energy.dryers.base import Array, Duty, Inputs, Operation
from energy.equipment.hopper import HopperState
from energy.study.extremes import lowest

SMALLEST = 1e-9
"""Throughput in place of one that no air could warm. [kg/s]"""
FAR = 3.0
"""Air over what is usual from which it is doubted, by judgement: no control or worn filter makes so much, an oversized dryer seldom. [-]"""
TEN = (0.7, 2.0)
"""A tenth, or ten times, of an air within this of what is usual is taken for what was meant; by judgement. [-]"""
AIR_MARGIN = 1.1
"""Heat capacity of the air over what it heats that leaves a margin for a dirty filter; common practice, from memory. [-]"""


def carried(duty: Duty, inputs: Inputs, operation: Operation) -> float:
    """Heat of the air over what it is to heat; of one that cannot, all water counted that is to leave. [-]"""
    ratio = lowest(operation.hopper.capacity_ratio)
    return ratio if ratio >= 1.0 else float(np.min(pellet_bed.carried(duty, *_if_it_could(duty, inputs, operation))))


def heated(duty: Duty, inputs: Inputs, operation: Operation) -> float:
    """The throughput that the air of a dryer could bring to drying temperature with the margin that its check asks for. [kg/s]"""
    state, loss = _if_it_could(duty, inputs, operation)
    fed = duty
    for _ in range(3):  # what is enough hangs a little on what is fed; a hundredth more, since what is told is rounded
        enough = 1.01 * max(air_over_least(fed, inputs), AIR_MARGIN)
        most = pellet_bed.heated(duty, replace(state, capacity_ratio=state.capacity_ratio / enough), loss)
        fed = replace(duty, throughput=np.maximum(most, SMALLEST))
    return float(np.min(most))


def air_over_least(duty: Duty, inputs: Inputs) -> float:
    """Air over the least that heats the resin for which pellets leave warm, as new dryers are sized. [-]"""
    if not inputs.DRIES_IN_HOPPER:
        return 1.0
    built = hopper_sizing.geometry(inputs, duty, duty.resin.air_resin_ratio)
    loss = hopper_sizing.shell_loss(inputs, duty, built, duty.drying_temperature).hopper
    return float(
        np.max(hopper_sizing.over_least(inputs, duty, duty.throughput, loss, built.height, np.ones_like(loss)))
    )


def air_is_its_own(duty: Duty, inputs: Inputs) -> bool:
    """Is the air stated of this dryer, so that it may be far from what is usual? A retrofit has that of what is there, told there."""
    stated, resin = inputs.air_resin_ratio, np.asarray(duty.resin.air_resin_ratio, dtype=float)
    if stated is None:
        return False
    inherited = resin != duty.resin.usual_air
    return not bool(np.all(inherited & np.isclose(resin, stated, rtol=1e-9)))


def over_usual(duty: Duty, inputs: Inputs) -> tuple[float, float]:
    """Air that a dryer is built for: per resin [kg/kg], and over what one like it is built for where no air is stated [-].

    That is what practice gives the resin, or what heats it and its shell where that is more.
    """
    duty, usual = duty.built_for, duty.built_for.resin.usual_air
    unstated = inputs.model_copy(update={"air_resin_ratio": None})
    built = hopper_sizing.design_ratio(inputs, duty)
    over = built / hopper_sizing.design_ratio(unstated, replace(duty, resin=replace(duty.resin, air_resin_ratio=usual)))
    place = int(np.argmax(over))
    return float(np.ravel(np.broadcast_to(built, over.shape))[place]), float(np.ravel(over)[place])


def slip_of_ten(over: float) -> str:
    """The question whether an air so many times what is usual is a slip of ten, to end a sentence with; else empty."""
    for factor, word in ((0.1, "A tenth of the air"), (10.0, "Ten times the air")):
        if TEN[0] <= factor * over <= TEN[1]:
            return f" {word} would be usual: a slip of ten?"
    return ""


def _if_it_could(duty: Duty, inputs: Inputs, operation: Operation) -> tuple[HopperState, Array]:
    """The hopper as its air would be if it could heat the resin, and what its shell would take. [W]"""
    state = operation.hopper
    built = hopper_sizing.geometry(inputs, duty, duty.resin.air_resin_ratio)
    loss = hopper_sizing.shell_loss(inputs, duty, built, duty.drying_temperature).hopper
    if isinstance(inputs, circuit_inputs.Inputs):  # its air is dry again where less is asked, and carries less
        damp = water_vapour.humidity_ratio(operation.delivered_dew_point, duty.pressure)
        as_is, dry = (moist.heat_capacity(duty.drying_temperature, humidity) for humidity in (damp, 0.0))
        state = replace(state, capacity_ratio=state.capacity_ratio * dry / as_is)
    return state, loss
