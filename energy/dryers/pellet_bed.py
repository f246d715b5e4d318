"""Air and pellets in the bed: heat transfer, heat balance and pressure drop."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from energy.air import moist, transport
from energy.dryers.base import Array, Duty, Inputs
from energy.dryers.hopper_sizing import Geometry
from energy.dryers.process_control import Setting
from energy.dryers.resin_heating import temperature_lift
from energy.equipment import hopper
from energy.errors import ModelError
from energy.resins.properties import Resin
from energy.units import show


@dataclass(frozen=True, slots=True, kw_only=True)
class Film:
    """Air around the pellets of a bed, all but its humidity."""

    temperature: Array
    """[K]"""
    diffusivity: Array
    """Viscosity over conductivity: the Prandtl number over the heat capacity. [kg K/J]"""
    forced: Array
    """Of the Nusselt number. [-]"""
    conductance: Array
    """Of the whole bed at a Nusselt number of one. [W/K]"""


def film(duty: Duty, built: Geometry, run: Setting) -> Film:
    """Air around the pellets as the dryer is set."""
    resin, size = duty.resin, pellet_size(duty.resin)
    middle = 0.5 * (run.temperature + duty.hall_temperature)
    viscosity, conductivity = transport.dynamic_viscosity(middle), transport.thermal_conductivity(middle)
    pellets = resin.bulk_density / resin.density
    return Film(
        temperature=middle,
        diffusivity=viscosity / conductivity,
        forced=hopper.forced_part(run.air_flow / built.area * size / viscosity),
        conductance=conductivity / size * 6.0 * pellets / size * built.volume,
    )


def hopper_state(
    inputs: Inputs, duty: Duty, built: Geometry, run: Setting, around: Film, humidity: Array, loss: Array
) -> hopper.HopperState:
    """The hopper with process air as set and of that humidity.

    Raises
    ------
    ModelError
        The air cannot bring the resin to drying temperature, or the resin comes hotter than that.
    """
    temperature_lift(duty)
    resin, air_flow = duty.resin, run.air_flow
    prandtl = around.diffusivity * moist.heat_capacity(around.temperature, humidity)
    state = hopper.heat_balance(
        air_flow=air_flow,
        air_temperature=run.temperature,
        air_humidity=humidity,
        resin_flow=duty.throughput,
        resin_specific_heat=resin.specific_heat,
        resin_temperature=duty.resin_temperature,
        initial_moisture=duty.initial_moisture,
        final_moisture=duty.final_moisture,
        shell_loss=loss,
        transfer=hopper.nusselt_of_forced(around.forced, prandtl) * around.conductance,
        flow_transfer_units=built.height / inputs.transfer_unit_height,
    )
    refuse_too_little_air(duty, air_flow, state.capacity_ratio)
    return state


def refuse_too_little_air(duty: Duty, air_flow: Array, capacity_ratio: Array) -> None:
    """Refuse, with the airflow that would do, air of less heat-capacity flow than what it has to heat."""
    short = np.asarray((capacity_ratio < 1.0) & (duty.throughput > 0))
    if np.any(short):
        throughput = np.broadcast_to(duty.throughput, short.shape)[short]
        given = np.broadcast_to(air_flow, short.shape)[short] / throughput
        hottest = float(np.max(duty.drying_temperature))
        need = given / np.broadcast_to(capacity_ratio, short.shape)[short]
        raise ModelError(
            f"an air flow of {given.max():.3g} kg per kg of resin cannot bring {duty.resin.abbreviation} to "
            f"{' ('.join(show(hottest, 'temperature', system) for system in ('si', 'us'))}); "
            f"at least {need.max():.3g} kg/kg is needed",
            short,
        )


def pellet_size(resin: Resin) -> float:
    """Diameter of the sphere with the pellet's ratio of volume to surface, 6 V / A. [m]"""
    d, length = resin.pellet_diameter, resin.pellet_length
    return 6.0 * (d * length / 4.0) / (d / 2.0 + length)


def bed_pressure_drop(duty: Duty, built: Geometry, air_flow: Array) -> Array:
    """Pressure drop of the pellet bed at the temperature in its middle. [Pa]"""
    resin = duty.resin
    middle = 0.5 * (duty.drying_temperature + duty.resin_temperature)
    volume = moist.specific_volume(middle, 0.0, duty.pressure)
    gradient = hopper.ergun_gradient(
        air_flow * volume / built.area,
        pellet_size(resin),
        1.0 - resin.bulk_density / resin.density,
        1.0 / volume,
        transport.dynamic_viscosity(middle),
    )
    return gradient * built.height
