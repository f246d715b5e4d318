"""The beds of a desiccant circuit: their size, what regeneration leaves on them, and how dry they make the air."""

from __future__ import annotations

import numpy as np

from energy.air import saturation, water_vapour
from energy.dryers.base import Array
from energy.dryers.circuit_inputs import Inputs
from energy.equipment import regeneration
from energy.equipment.desiccant import Desiccant, equilibrium_pressure, loading
from energy.errors import ModelError
from energy.units import show

DRIEST = 183.15  # K


def residual_loading(inputs: Inputs, humidity: Array, pressure: Array, desiccant: Desiccant) -> Array:
    """Water left on the desiccant after regeneration with air of that humidity. [kg/kg]"""
    vapour = water_vapour.vapour_pressure(humidity, pressure)
    return loading(vapour, inputs.regeneration_temperature, desiccant)


def delivered_humidity(
    inputs: Inputs, residual: Array, temperature: Array, pressure: Array, desiccant: Desiccant
) -> Array:
    """Humidity of air leaving the regenerated end of the desiccant, the stated approach above equilibrium. [kg/kg]"""
    # Below a frost point of -90 degC no instrument of the trade tells one dryness from another.
    vapour = np.maximum(equilibrium_pressure(residual, temperature, desiccant), saturation.saturation_pressure(DRIEST))
    frost = saturation.saturation_temperature(vapour)
    return water_vapour.humidity_ratio(frost + inputs.dew_point_approach, pressure)


def longer_use(bed_use: Array | float, dry: Array, held: Array, feed: Array) -> Array:
    """Water taken up until the outlet has risen to a humidity, over that taken up until it begins to rise. [-]

    Parameters
    ----------
    bed_use : array_like, shape (...)
        Share of the swing used when the front reaches the outlet. [-]
    dry, held, feed : array_like, shape (...)
        Humidity at the outlet before the front, of the set-point, at the inlet. [kg/kg]

    Source
    ------
    A front that rises evenly leaves as much unused as its half length; what is still unused when a share s of it has
    left is (1 - s)^2 of that. Length of unused bed, Collins, J. J., Chem. Eng. Prog. Symp. Ser. 63 (1967), from memory.
    """
    passed = np.clip((held - dry) / np.where(feed > dry, feed - dry, np.inf), 0.0, 1.0)
    return np.asarray((1.0 - (1.0 - np.asarray(bed_use)) * (1.0 - passed) ** 2) / bed_use)


def design_mass(inputs: Inputs, water: Array, air_flow: Array, pressure: Array, desiccant: Desiccant) -> Array:
    """Desiccant in one bed: the used share of the swing at the warmest inlet takes up a cycle's water. [kg]"""
    feed = loading(water_vapour.vapour_pressure(water / air_flow, pressure), inputs.adsorption_limit, desiccant)
    hall = water_vapour.humidity_ratio(inputs.design_hall_dew_point, pressure)
    residual = residual_loading(inputs, hall, pressure, desiccant)
    swing = inputs.bed_use * (feed - residual)
    if np.any(swing <= 0):
        raise ModelError(
            "the desiccant takes up no water between "
            f"{show(float(np.max(inputs.adsorption_limit)), 'temperature', 'si')} at the inlet and regeneration at "
            f"{show(float(np.min(inputs.regeneration_temperature)), 'temperature', 'si')}; "
            "regenerate hotter or cool the inlet",
            swing <= 0,
        )
    return regeneration.bed_mass(water, inputs.cycle_time, swing)
