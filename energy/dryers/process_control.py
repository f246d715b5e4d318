"""How a dryer is run in each period: temperature of the process air, and airflow."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from energy.air import moist
from energy.dryers.base import Array, Duty, Inputs
from energy.dryers.hopper_sizing import Geometry, Shell, shell_losses
from energy.dryers.resin_heating import heat_taken, temperature_lift
from energy.errors import ModelError
from energy.units import show


@dataclass(frozen=True, slots=True, kw_only=True)
class Setting:
    """How a dryer is run in each period."""

    temperature: Array
    """Of the process air. [K]"""
    share: Array
    """Airflow over design. [-]"""
    air_flow: Array
    """Dry air. [kg/s]"""


def setting(inputs: Inputs, duty: Duty, built: Geometry) -> Setting:
    """Process-air temperature and airflow of each period by the dryer's controls; no throughput is standby.

    A controlled airflow falls with what it follows down to its stated floor and never rises above design.
    """
    return settings([(inputs, duty, built)])[0]


def settings(hoppers: Sequence[tuple[Inputs, Duty, Geometry]]) -> list[Setting]:
    """As `setting`, of several hoppers in a few calls."""
    temperatures = [process_temperature(inputs, duty) for inputs, duty, _ in hoppers]
    controls = [_controlled(inputs) for inputs, _, _ in hoppers]
    asked = iter(_shares_asked([hopper for hopper, control in zip(hoppers, controls, strict=True) if control.any()]))
    found = []
    for (inputs, duty, built), temperature, controlled in zip(hoppers, temperatures, controls, strict=True):
        share: Array | float = 1.0
        if controlled.any():
            share = np.where(controlled, np.clip(next(asked), inputs.airflow_floor, 1.0), 1.0)
        share = np.where(np.asarray(duty.throughput) == 0.0, inputs.standby_flow_share, share)
        found.append(Setting(temperature=temperature, share=share, air_flow=built.air_flow * share))
    return found


def _controlled(inputs: Inputs) -> NDArray[np.bool_]:
    """Does the airflow follow what the resin asks? A charge gets its air whatever the throughput."""
    return np.asarray((np.asarray(inputs.airflow_control) != "fixed") & inputs.DRIES_IN_HOPPER)


def process_temperature(inputs: Inputs, duty: Duty) -> Array:
    """Drying temperature, or that of standby where nothing flows. [K]

    Raises
    ------
    ModelError
        Standby below hall temperature.
    """
    if inputs.standby_temperature is None:
        return np.asarray(duty.drying_temperature)
    idle = np.asarray(duty.throughput) == 0.0
    if np.any(idle & (inputs.standby_temperature < duty.hall_temperature)):
        raise ModelError(
            f"a standby temperature of {show(float(np.nanmin(inputs.standby_temperature)), 'temperature', 'si')} is below that of the "
            f"hall, {show(float(np.max(duty.hall_temperature)), 'temperature', 'si')}; set it higher or leave it out"
        )
    back = np.fmin(inputs.standby_temperature, duty.drying_temperature)  # NaN, of a machine beside: no set-back
    return np.where(idle, back, duty.drying_temperature)


def _shares_asked(hoppers: Sequence[tuple[Inputs, Duty, Geometry]]) -> list[Array]:
    """Airflow over design that each hopper asks; their walls are worked out together."""
    shells = [
        Shell(inputs, of, built, of.drying_temperature)
        for inputs, duty, built in hoppers
        for of in (duty, duty.built_for)
    ]
    losses = [loss.hopper for loss in shell_losses(shells)]
    return [
        _share_asked(*hopper, now, most) for hopper, now, most in zip(hoppers, losses[::2], losses[1::2], strict=True)
    ]


def _share_asked(inputs: Inputs, duty: Duty, built: Geometry, loss: Array, most: Array) -> Array:
    """Airflow over design that brings the air back at its target: what it has to give over what it gives per kelvin.

    `loss` and `most` are what the hopper loses now and at design. [W]
    """
    taken = heat_taken(duty, duty.throughput) + loss
    if inputs.return_air_target is None:
        design = duty.built_for
        design_taken = heat_taken(design, design.design_throughput) + most
        # Per kelvin of lift: air that is less above the pellets gives less.
        return np.asarray(taken / temperature_lift(duty) / (design_taken / temperature_lift(design)))
    fall = duty.drying_temperature - inputs.return_air_target
    if np.any(fall <= 0):
        raise ModelError(
            f"a return-air temperature of {show(float(np.max(inputs.return_air_target)), 'temperature', 'si')} is not below the drying "
            f"temperature of {show(float(np.min(duty.drying_temperature)), 'temperature', 'si')}"
        )
    middle = duty.drying_temperature - 0.5 * fall
    return np.asarray(taken / (moist.heat_capacity(middle, 0.0) * fall * built.air_flow))
