"""What heaters and blowers take: heat bought, motor power, a start from cold."""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np

from energy.air import moist
from energy.dryers.base import Array, BlowerInputs, Duty, HeatSource, Inputs, Start
from energy.dryers.hopper_sizing import Geometry, ShellLoss
from energy.dryers.process_control import Setting
from energy.equipment import blower, heater
from energy.sources import load

STEEL_DENSITY = 7850.0  # kg/m3, plain steel
MOTOR_MARGIN = 1.15  # rated power over shaft power at the working point; common practice


def bought_heat(inputs: Inputs, useful: Array, source: HeatSource) -> tuple[str, Array, Array]:
    """Carrier, power bought and power lost on the way for a useful heat. [W]"""
    if source == "gas":
        bought = heater.purchased_power(useful, inputs.gas_efficiency)
        return "gas", bought, bought - useful
    bought = heater.purchased_power(useful, inputs.heater_efficiency)
    return "electricity", bought, bought - useful


def heater_losses(*lost: tuple[str, Array]) -> dict[str, Array]:
    """Terms of the heat balance for what heaters lose, by their carrier: from the heater's box, or up a flue. [W]"""
    terms: dict[str, Array] = {}
    for carrier, power in lost:
        name = "flue gas" if carrier == "gas" else "heater losses"
        terms[name] = terms.get(name, 0.0) + power
    return terms


def motor_input(inputs: BlowerInputs, shaft: Array, design_shaft: Array) -> tuple[Array, Array]:
    """Electrical power behind a shaft power, and rated power of the motor built for the design shaft power. [W]"""
    rated = MOTOR_MARGIN * design_shaft
    drive: Array | float = inputs.drive_efficiency
    variable = np.asarray(inputs.airflow_control) == "variable speed"
    if variable.any():
        share = np.divide(
            shaft, rated, out=np.ones(np.broadcast_shapes(np.shape(shaft), np.shape(rated))), where=rated > 0
        )
        drive = inputs.drive_efficiency * np.where(variable, blower.drive_efficiency(share), 1.0)
    return shaft / (blower.motor_efficiency(rated, inputs.motor_class) * drive), rated


def blower_work(inputs: BlowerInputs, run: Setting, bed: Array, design_bed: Array, circuit: Array | float) -> Array:
    """Pressure rise of the blower: the system's own at a changed speed, the design's behind a damper. [Pa]

    Parameters
    ----------
    bed, design_bed : ndarray
        Pressure drop of the pellets now and at design flow. [Pa]
    circuit : ndarray
        Pressure drop of all else at design flow; it falls with the square of the flow. [Pa]
    """
    own, throttled = bed + circuit * run.share**2, np.asarray(inputs.airflow_control) == "throttled"
    return np.where(throttled, design_bed + circuit, own) if throttled.any() else np.asarray(own)


def startup_heater(
    inputs: Inputs, duty: Duty, built: Geometry, humidity: Array, hot: ShellLoss, taken: Array | None = None
) -> Array:
    """Heater that lifts the whole design airflow from the hall's, or another, to drying temperature behind the hot duct. [W]"""
    cold = duty.hall_temperature if taken is None else taken
    rise = moist.enthalpy(duty.drying_temperature, humidity) - moist.enthalpy(cold, humidity)
    return bought_heat(inputs, np.asarray(built.air_flow * rise + hot.duct), inputs.heat_source)[1]


def warm_up(inputs: Inputs, duty: Duty, capacity: Array, hot: ShellLoss) -> Mapping[tuple[str, str], Array]:
    """Energy bought to warm what is in the hopper, of that heat capacity [J/K], after a stop, in which it cooled towards the hall. [J]"""
    above = np.asarray(duty.drying_temperature - duty.hall_temperature)
    conductance = hot.hopper / above
    left = above * np.exp(-duty.stop_time * conductance / capacity)
    carrier, bought, _ = bought_heat(inputs, capacity * (above - left), inputs.heat_source)
    return {("process heat", carrier): bought}


def start_of(
    inputs: Inputs, duty: Duty, built: Geometry, hot: ShellLoss, power: Array, air_flow: Array, count: int = 1
) -> Start:
    """A start of so many hoppers alike: from cold, and after a standby at a lower temperature.

    Where the air comes back from a hopper that is colder, the heater gives more: after standby such a part of the power of
    a start from cold as the hopper has cooled of the way to the hall.

    Parameters
    ----------
    inputs : Inputs
    duty : Duty
    built : Geometry
    hot : ShellLoss
        At drying temperature.
    power : ndarray
        Of the heater at a start from cold. [W]
    air_flow : ndarray
        Dry air of standby that takes the hopper's heat away and does not bring it back. [kg/s]
    count : int
        Of hoppers.

    Source
    ------
    A body of one temperature in that air, which leaves as warm as the body: what it had more is gone with the time constant of its
    heat capacity over that of the air. A deep bed cools no slower, since a front of cold passes through it.
    """
    capacity = _capacity(inputs, duty, built)
    standby = np.asarray(inputs.standby_temperature, dtype=float)  # NaN: no set-back
    above = duty.drying_temperature - np.fmin(standby, duty.drying_temperature)
    conductance = air_flow * moist.heat_capacity(duty.drying_temperature - 0.5 * above, 0.0)
    cooled = above * -np.expm1(-duty.pause_time * conductance / capacity)
    carrier, bought, _ = bought_heat(inputs, capacity * cooled, inputs.heat_source)
    from_cold = warm_up(inputs, duty, capacity, hot)
    return Start(
        energy={key: count * heat for key, heat in from_cold.items()},
        power=power,
        after_standby={("process heat", carrier): count * bought},
        power_after_standby=np.asarray(power * cooled / (duty.drying_temperature - duty.hall_temperature)),
    )


def _capacity(inputs: Inputs, duty: Duty, built: Geometry) -> Array:
    """Heat capacity of a full hopper, steel and resin. [J/K]"""
    steel = built.area * 4.0 * built.height / built.diameter + 2.0 * built.area
    steel = steel * inputs.wall_thickness * STEEL_DENSITY * load("factors")["steel_specific_heat"].si
    resin = built.volume * inputs.usable_share * duty.resin.bulk_density * duty.resin.specific_heat
    return np.asarray(steel + resin)
