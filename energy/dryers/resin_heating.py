"""Heat that the resin and its water take up."""

from __future__ import annotations

import numpy as np

from energy.air import moist
from energy.air.constants import LIQUID_WATER_HEAT_CAPACITY, ZERO_CELSIUS
from energy.dryers.base import Array, Duty
from energy.errors import ModelError
from energy.units import show


def heat_taken(duty: Duty, throughput: Array) -> Array:
    """Heat that resin and its water take up at a throughput. [W]"""
    lift = duty.drying_temperature - duty.resin_temperature
    middle = 0.5 * (duty.drying_temperature + duty.resin_temperature)
    liquid = LIQUID_WATER_HEAT_CAPACITY
    water = duty.initial_moisture - duty.final_moisture
    evaporation = water * (moist.vapour_enthalpy(middle) - liquid * (duty.resin_temperature - ZERO_CELSIUS))
    specific_heat = duty.resin.specific_heat + duty.final_moisture * liquid
    return np.asarray(throughput * (specific_heat * lift + evaporation))


def temperature_lift(duty: Duty) -> Array:
    """Drying temperature less that of the pellets fed. [K]

    Raises
    ------
    ModelError
        The pellets come as hot as the drying air, or hotter.
    """
    lift = np.asarray(duty.drying_temperature - duty.resin_temperature)
    if (lift <= 0.0).any():
        fed, dry = (
            show(float(np.max(t)), "temperature", "si") for t in (duty.resin_temperature, duty.drying_temperature)
        )
        raise ModelError(
            f"resin fed at {fed} has nothing to take up from air of {dry}; a lower feed temperature is needed",
            lift <= 0.0,
        )
    return lift


def evaporated_water(duty: Duty, water: Array) -> Array:
    """Heat that turns the resin's water into vapour at hall temperature. [W]"""
    liquid = LIQUID_WATER_HEAT_CAPACITY * (duty.resin_temperature - ZERO_CELSIUS)
    return water * (moist.vapour_enthalpy(duty.hall_temperature) - liquid)
