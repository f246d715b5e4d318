"""The hopper as it is built: its size, what it loses to the hall, and the air it needs."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from energy.air import moist
from energy.air.constants import LIQUID_WATER_HEAT_CAPACITY
from energy.dryers.base import Array, Duty, Inputs
from energy.dryers.resin_heating import heat_taken, temperature_lift
from energy.equipment import hopper, wall
from energy.remembered import remembered


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


def design_ratio(inputs: Inputs, duty: Duty, usual: Array | float | None = None) -> Array:
    """Air per resin that a dryer is built for: as given, or what is usual, but enough to heat the resin. [kg/kg]

    Parameters
    ----------
    inputs : Inputs
    duty : Duty
    usual : float, optional
        Air per resin that it has anyhow; by default the resin's. [kg/kg]
    """
    if inputs.air_resin_ratio is not None:
        return np.asarray(inputs.air_resin_ratio)
    duty = duty.built_for
    least, loss, built = _least(inputs, duty)
    throughput = duty.design_throughput
    ratio = np.maximum(duty.resin.air_resin_ratio if usual is None else usual, inputs.air_over_least * least)
    if inputs.DRIES_IN_HOPPER:  # others heat a charge
        return least * over_least(inputs, duty, throughput, loss, built.height, ratio / least)
    return ratio


def least_ratio(inputs: Inputs, duty: Duty) -> Array:
    """Air per resin that just heats the resin and the shell of the hopper that is built for a duty. [kg/kg]"""
    return _least(inputs, duty.built_for)[0]


def _least(inputs: Inputs, duty: Duty) -> tuple[Array, Array, Geometry]:
    """That, and with it the loss of the hopper [W] and the hopper."""
    built = geometry(inputs, duty, duty.resin.air_resin_ratio)
    loss = shell_loss(inputs, duty, built, duty.drying_temperature).hopper
    return least_air(duty, duty.design_throughput, loss) / duty.design_throughput, loss, built


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
    if not np.any(short):
        return usual
    return np.where(short, np.maximum(usual, hopper.capacity_ratio_for(units, 1.0 - share, MOST_AIR)), usual)


@dataclass(frozen=True, slots=True, kw_only=True)
class ShellLoss:
    """What hopper and hot duct lose to the hall."""

    hopper: Array
    """Taken from the air in the hopper. [W]"""
    duct: Array
    """Taken from the air between heater and hopper, so the heater gives it on top. [W]"""
    outer: Array
    """Temperature of the side wall's outer face. [K]"""


def shell_loss(inputs: Inputs, duty: Duty, built: Geometry, temperature: Array) -> ShellLoss:
    """Loss of hopper and hot duct; all walls have the process air's temperature."""
    hopper_loss, duct_loss, outer = _walls(
        *(temperature, duty.hall_temperature, built.diameter, built.height, built.duct_diameter, inputs.duct_length),
        *(inputs.insulation_thickness, inputs.insulation_conductivity, inputs.shell_emissivity),
    )
    return ShellLoss(hopper=hopper_loss, duct=duct_loss, outer=outer)


@remembered(48)  # dryers of several types stand under hoppers alike
def _walls(
    t_dry: Array,
    t_hall: Array,
    d: Array,
    height: Array,
    duct: Array,
    length: Array,
    insulation: Array,
    conductivity: Array,
    emissivity: Array,
) -> tuple[Array, Array, Array]:
    """Loss of hopper and of hot duct, and the temperature of the side wall's outer face."""
    shape = np.broadcast_shapes(*(np.shape(a) for a in (t_dry, t_hall, d, height, duct, length)))
    # The three walls come before every axis that any input has.
    deepest = max(np.ndim(a) for a in (insulation, conductivity, emissivity))
    shape = (1,) * (deepest - len(shape)) + shape
    areas = (np.pi * d * height, np.pi / 2.0 * d**2, np.pi * duct * length)
    curvatures = (2.0 / d, 0.0, 2.0 / duct)  # side wall, both ends, hot duct
    area, curvature = (np.stack([np.broadcast_to(a, shape) for a in parts]) for parts in (areas, curvatures))
    loss, outer = wall.wall_loss(t_dry, t_hall, area, height, insulation, conductivity, emissivity, curvature)
    return loss[0] + loss[1], loss[2], outer[0]


def hot_loss(inputs: Inputs, duty: Duty, built: Geometry, now: ShellLoss) -> ShellLoss:
    """Loss at drying temperature: that of now, unless standby is set back."""
    if inputs.standby_temperature is None:
        return now
    return shell_loss(inputs, duty, built, duty.drying_temperature)
