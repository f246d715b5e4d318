"""Air and pellets in the bed: heat transfer, heat balance and pressure drop."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from energy.air import moist, transport, water_vapour
from energy.dryers import water_left
from energy.dryers.base import Array, Duty, Inputs
from energy.dryers.hopper_sizing import Geometry, transfer_units
from energy.dryers.process_control import Setting
from energy.dryers.resin_heating import heat_taken, temperature_lift
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
        The air cannot bring the resin to drying temperature, which in a machine that is there already is refused only where
        its water would not leave either; or the resin comes hotter than that.
    """
    temperature_lift(duty)
    resin, air_flow = duty.resin, run.air_flow
    prandtl = around.diffusivity * moist.heat_capacity(around.temperature, humidity)
    transfer = hopper.nusselt_of_forced(around.forced, prandtl) * around.conductance

    def balance(throughput: Array, final_moisture: Array) -> hopper.HopperState:
        return hopper.heat_balance(
            air_flow=air_flow,
            air_temperature=run.temperature,
            air_humidity=humidity,
            resin_flow=throughput,
            resin_specific_heat=resin.specific_heat,
            resin_temperature=duty.resin_temperature,
            initial_moisture=duty.initial_moisture,
            final_moisture=final_moisture,
            shell_loss=loss,
            transfer=transfer,
            flow_transfer_units=transfer_units(inputs, built.height),
        )

    state = water_left.state_of(inputs, duty, run.temperature, humidity, balance)
    cold = (state.capacity_ratio < 1.0) & (duty.throughput > 0)
    if cold.any():
        # No answer where the air could not carry what leaves, which is all the water of a resin without diffusion data.
        most = water_vapour.humidity_ratio(state.return_temperature, duty.pressure, on_range="nan")
        colder = state.resin_outlet_temperature < duty.resin_temperature
        refuse_too_much_resin(duty, state, loss, colder | (state.return_humidity > most))
        refuse_too_little_air(duty, air_flow, state, loss, cold & ~np.asarray(duty.stands, dtype=bool))
    return state


def refuse_too_much_resin(duty: Duty, state: hopper.HopperState, loss: Array, beyond: NDArray[np.bool_]) -> None:
    """Refuse, with the throughput that would do, what not even a machine that is there already can be run on."""
    beyond = beyond & (state.capacity_ratio < 1.0) & (duty.throughput > 0) & np.asarray(duty.stands, dtype=bool)
    if np.any(beyond):
        raise ModelError(
            f"{_of_both(float(np.max(duty.throughput)), 'mass flow')} of {duty.resin.called} are far more than the air of "
            f"the present machine can heat and dry; {_up_to(duty, state, loss, beyond)}",
            beyond,
        )


def carried(duty: Duty, state: hopper.HopperState, loss: Array) -> Array:
    """Heat that the air can give over that of shell and resin with all the water that is to leave it. [-]"""
    flow = np.where(np.asarray(duty.throughput) > 0.0, duty.throughput, 1.0)
    now = heat_taken(replace(duty, final_moisture=duty.initial_moisture - state.water_removed / flow), duty.throughput)
    return np.asarray(state.capacity_ratio * (now + loss) / (heat_taken(duty, duty.throughput) + loss))


def heated(duty: Duty, state: hopper.HopperState, loss: Array) -> Array:
    """Throughput whose heat, all its water's with it, and that of the shell are all that the air can give. [kg/s]"""
    dried = heat_taken(duty, duty.throughput)
    nothing = dried == 0.0
    given = np.where(nothing, np.inf, np.where(nothing, 1.0, carried(duty, state, loss)) * (dried + loss) - loss)
    return np.asarray(duty.throughput * np.where(nothing, 1.0, given / np.where(nothing, 1.0, dried)))


def _up_to(duty: Duty, state: hopper.HopperState, loss: Array, short: NDArray[np.bool_]) -> str:
    """The throughput that the air could heat, in a clause."""
    most = float(np.broadcast_to(heated(duty, state, loss), short.shape)[short].min())
    hottest = float(np.max(duty.drying_temperature))
    if most <= 0.0:
        return f"it brings less than the shell takes at {_of_both(hottest, 'temperature')}, whatever is fed"
    return f"about {_of_both(most, 'mass flow')} at most could be brought to {_of_both(hottest, 'temperature')}"


def _of_both(value: float, kind: str) -> str:
    return " (".join(show(value, kind, system) for system in ("si", "us")) + ")"


def refuse_too_little_air(
    duty: Duty, air_flow: Array, state: hopper.HopperState, loss: Array, short: NDArray[np.bool_]
) -> None:
    """Refuse air of less heat-capacity flow than what it has to heat, with what would do.

    That is an airflow; for a machine that is there already, a throughput.
    """
    if np.any(short):
        throughput = np.broadcast_to(duty.throughput, short.shape)[short]
        given = np.broadcast_to(air_flow, short.shape)[short] / throughput
        hottest = float(np.max(duty.drying_temperature))
        need = given / np.broadcast_to(state.capacity_ratio, short.shape)[short]
        standing = short & np.asarray(duty.stands, dtype=bool)
        would_do = f"at least {need.max():.3g} kg/kg is needed"
        if np.any(standing):
            would_do = _up_to(duty, state, loss, standing)
        raise ModelError(
            f"an air flow of {given.max():.3g} kg per kg of resin cannot bring {duty.resin.called} to "
            f"{_of_both(hottest, 'temperature')}; {would_do}",
            short,
        )


def pellet_size(resin: Resin) -> float:
    """Diameter of the sphere with the pellet's ratio of volume to surface, 6 V / A. [m]"""
    d, length = resin.pellet_diameter, resin.pellet_length
    return 6.0 * (d * length / 4.0) / (d / 2.0 + length)


def bed_pressure_drops(duty: Duty, built: Geometry, *air_flows: Array) -> list[Array]:
    """Pressure drop of the pellet bed at each air flow, at the temperature in its middle. [kg/s], [Pa]"""
    resin = duty.resin
    middle = 0.5 * (duty.drying_temperature + duty.resin_temperature)
    volume, viscosity = moist.specific_volume(middle, 0.0, duty.pressure), transport.dynamic_viscosity(middle)
    size, voidage = pellet_size(resin), 1.0 - resin.bulk_density / resin.density
    return [
        hopper.ergun_gradient(flow * volume / built.area, size, voidage, 1.0 / volume, viscosity) * built.height
        for flow in air_flows
    ]
