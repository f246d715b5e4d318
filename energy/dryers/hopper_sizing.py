"""The hopper as it is built: its size, what it loses to the hall, and the air it needs."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import NamedTuple

import numpy as np

from energy.air import moist
from energy.air.constants import LIQUID_WATER_HEAT_CAPACITY
from energy.dryers.base import Array, Duty, Inputs
from energy.dryers.resin_heating import heat_taken, temperature_lift
from energy.equipment import hopper, wall
from energy.remembered import Latest


@dataclass(frozen=True, slots=True, kw_only=True)
class Geometry:
    """A hopper built for the design throughput."""

    volume: Array
    height: Array
    area: Array
    """Free area for the air. [m2]"""
    diameter: Array
    duct_diameter: Array
    """Of the hot duct. [m]"""
    air_flow: Array
    """Design flow of dry air. [kg/s]"""


def geometry(inputs: Inputs, duty: Duty, ratio: Array | float) -> Geometry:
    """Hopper and hot duct for the duty that sizes the machine and an air flow per resin. [kg/kg]"""
    duty = duty.built_for
    volume = _volume(inputs, duty)
    diameter = hopper.bed_diameter(volume, inputs.slenderness)
    height = inputs.slenderness * diameter
    air_flow = np.asarray(ratio * np.asarray(duty.design_throughput, float))
    hot = air_flow * moist.specific_volume(duty.drying_temperature, 0.0, duty.pressure)
    duct_diameter = np.sqrt(4.0 * hot / inputs.duct_velocity / np.pi)
    return Geometry(
        volume=volume,
        height=height,
        area=np.pi / 4.0 * diameter**2,
        diameter=diameter,
        duct_diameter=duct_diameter,
        air_flow=air_flow,
    )


def bed_height(inputs: Inputs, duty: Duty) -> Array:
    """Height of the hopper that is built for a duty. [m]"""
    return np.asarray(inputs.slenderness * hopper.bed_diameter(_volume(inputs, duty.built_for), inputs.slenderness))


def _volume(inputs: Inputs, duty: Duty) -> Array:
    resin = duty.resin
    return hopper.bed_volume(duty.design_throughput, duty.residence_time, resin.bulk_density, inputs.usable_share)


COLDER = 5.0
"""Pellets this much colder than asked are as warm as asked; common practice, from memory. [K]"""
WARM_ENOUGH = COLDER - 0.5
"""How much colder than asked pellets leave a hopper at most that air is sized for: a little less than what the check of drying lets pass. [K]"""
MOST_AIR = 6.0
"""Air over the least that a hopper is given for that, by judgement: of a bed too low to exchange its heat no more helps. [-]"""


def design_ratio(inputs: Inputs, duty: Duty) -> Array:
    """Air per resin that a dryer is built for: as given, or what is usual, but enough to heat the resin. [kg/kg]"""
    return design_ratios([(inputs, duty)])[0]


def design_ratios(dryers: Sequence[tuple[Inputs, Duty]]) -> list[Array]:
    """As `design_ratio`, of several dryers in one call."""
    unstated = [(inputs, duty.built_for) for inputs, duty in dryers if inputs.air_resin_ratio is None]
    least = iter(zip(unstated, _least(unstated), strict=True))
    return [
        _ratio(*next(least)) if inputs.air_resin_ratio is None else np.asarray(inputs.air_resin_ratio)
        for inputs, _ in dryers
    ]


def _ratio(dryer: tuple[Inputs, Duty], of_least: tuple[Array, Array, Geometry]) -> Array:
    (inputs, duty), (least, loss, built) = dryer, of_least
    ratio = inputs.air_over_least * least
    if not inputs.AIR_IS_DEAR:
        ratio = np.maximum(duty.resin.air_resin_ratio, ratio)
    if inputs.DRIES_IN_HOPPER:  # others heat a charge
        return least * over_least(inputs, duty, duty.design_throughput, loss, built.height, ratio / least)
    return np.asarray(ratio)


def least_ratio(inputs: Inputs, duty: Duty) -> Array:
    """Air per resin that just heats the resin and the shell of the hopper that is built for a duty. [kg/kg]"""
    return _least([(inputs, duty.built_for)])[0][0]


def _least(dryers: Sequence[tuple[Inputs, Duty]]) -> list[tuple[Array, Array, Geometry]]:
    """That of several dryers, and with it the loss of the hopper [W] and the hopper."""
    shells = [
        Shell(inputs, duty, geometry(inputs, inputs.vessel(duty), duty.resin.air_resin_ratio), duty.drying_temperature)
        for inputs, duty in dryers
    ]
    return [
        (least_air(of.duty, of.duty.design_throughput, loss.hopper) / of.duty.design_throughput, loss.hopper, of.built)
        for of, loss in zip(shells, shell_losses(shells), strict=True)
    ]


def least_air(duty: Duty, throughput: Array, loss: Array) -> Array:
    """Dry air that just heats resin, water and shell. [kg/s]"""
    middle = 0.5 * (duty.drying_temperature + duty.resin_temperature)
    return hopper.airflow_needed(heat_taken(duty, throughput) + loss, temperature_lift(duty), middle)


USUAL_HEIGHT = 1.5
"""Bed height that `transfer_unit_height` is told for; lower beds have as many transfer units; by judgement. [m]"""


def transfer_units(inputs: Inputs, height: Array) -> Array:
    """Transfer units that uneven flow of air and pellets leaves to a bed of that height. [-]

    Unevenness is as wide as the bed at most, so that a small hopper has as many units as a usual one. A transfer unit of
    the same height in both would have pellets leave a small hopper cold whatever its air, which practice does not see.
    """
    return np.maximum(height, USUAL_HEIGHT) / inputs.transfer_unit_height


def over_least(inputs: Inputs, duty: Duty, throughput: Array, loss: Array, height: Array, usual: Array) -> Array:
    """Air over the least that does, at least `usual`: so much that pellets leave a bed of that height warm enough. [-]

    Air and pellets exchange heat as in :func:`hopper.heat_balance`, with the transfer units that uneven flow leaves.
    """
    resin = duty.resin.specific_heat + duty.final_moisture * LIQUID_WATER_HEAT_CAPACITY
    share = (
        throughput * resin * WARM_ENOUGH / (heat_taken(duty, throughput) + loss)
    )  # of all heat, which need not be given
    units = transfer_units(inputs, height)
    short = hopper.counterflow_effectiveness(units, 1.0 / usual) < 1.0 - share
    if not short.any():
        return usual
    return np.where(short, np.maximum(usual, hopper.capacity_ratio_for(units, 1.0 - share, MOST_AIR)), usual)


@dataclass(frozen=True, slots=True)
class ShellLoss:
    """What hopper and hot duct lose to the hall."""

    hopper: Array
    """Taken from the air in the hopper. [W]"""
    duct: Array
    """Taken from the air between heater and hopper, so the heater gives it on top. [W]"""
    outer: Array
    """Temperature of the side wall's outer face. [K]"""


class Shell(NamedTuple):
    """Hopper and hot duct with process air of a temperature."""

    inputs: Inputs
    duty: Duty
    built: Geometry
    temperature: Array
    """Of the process air, and so of all walls. [K]"""


def shell_loss(inputs: Inputs, duty: Duty, built: Geometry, temperature: Array) -> ShellLoss:
    """Loss of hopper and hot duct; all walls have the process air's temperature."""
    return shell_losses([Shell(inputs, duty, built, temperature)])[0]


def shell_losses(shells: Sequence[Shell]) -> list[ShellLoss]:
    """As `shell_loss`, of several: dryers of several types stand under hoppers alike, and their walls are worked out together."""
    walls = [
        tuple(
            np.asarray(a, dtype=np.float64)
            for a in (
                *(of.temperature, of.duty.hall_temperature, of.built.diameter, of.built.height),
                *(of.built.duct_diameter, of.inputs.duct_length, of.inputs.insulation_thickness),
                *(of.inputs.insulation_conductivity, of.inputs.shell_emissivity),
            )
        )
        for of in shells
    ]
    keys = [tuple((a.shape, a.tobytes()) for a in wall) for wall in walls]
    return _LOSSES.take_all(keys, lambda new: _losses([walls[i] for i in new]))


_LOSSES: Latest[ShellLoss] = Latest(48)
_TOGETHER = 8192
"""Values of walls up to which they are put beside each other: of more, numbers take the time and not calls."""


def _losses(walls: Sequence[tuple[Array, ...]]) -> list[ShellLoss]:
    shapes = [np.broadcast(*wall).shape for wall in walls]
    sizes = [math.prod(shape) for shape in shapes]
    if len(walls) == 1 or 3 * sum(sizes) > _TOGETHER:
        return [_loss(*wall) for wall in walls]
    ends = np.cumsum(sizes).tolist()
    beside = np.empty((len(walls[0]), ends[-1]))
    for wall_, shape, size, end in zip(walls, shapes, sizes, ends, strict=True):
        for row, values in zip(beside, wall_, strict=True):
            row[end - size : end].reshape(shape)[...] = values
    of_all = _loss(*beside)
    return [
        ShellLoss(*(values[end - size : end].reshape(shape) for values in (of_all.hopper, of_all.duct, of_all.outer)))
        for shape, size, end in zip(shapes, sizes, ends, strict=True)
    ]


def _loss(
    t_dry: Array,
    t_hall: Array,
    d: Array,
    height: Array,
    duct: Array,
    length: Array,
    insulation: Array,
    conductivity: Array,
    emissivity: Array,
) -> ShellLoss:
    shape = np.broadcast_shapes(*(a.shape for a in (t_dry, t_hall, d, height, duct, length)))
    # The three walls come before every axis that any input has.
    deepest = max(a.ndim for a in (insulation, conductivity, emissivity))
    area, curvature = np.empty((2, 3, *(1,) * (deepest - len(shape)), *shape))
    # Side wall, both ends, hot duct.
    area[0], area[1], area[2] = np.pi * d * height, np.pi / 2.0 * d**2, np.pi * duct * length
    curvature[0], curvature[1], curvature[2] = 2.0 / d, 0.0, 2.0 / duct
    loss, outer = wall.wall_loss(t_dry, t_hall, area, height, insulation, conductivity, emissivity, curvature)
    return ShellLoss(hopper=loss[0] + loss[1], duct=loss[2], outer=outer[0])


def hot_loss(inputs: Inputs, duty: Duty, built: Geometry, now: ShellLoss) -> ShellLoss:
    """Loss at drying temperature: that of now, unless standby is set back."""
    if inputs.standby_temperature is None:
        return now
    return shell_loss(inputs, duty, built, duty.drying_temperature)
