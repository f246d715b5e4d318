"""Conveying of pellets in a lean stream of air, and the ducts of an air system that serves many hoppers."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

from energy.air import compression, moist
from energy.air._ranges import floats
from energy.units.kinds import STANDARD_ATMOSPHERE

Array = NDArray[np.float64]

# Friction factor of smooth ducts of 0.1 to 0.4 m at 10 to 20 m/s, fittings included as half of the straight length
# again; film coefficient of free convection and radiation outside a warm duct. Common practice, from memory.
DUCT_FRICTION = 0.02
FITTINGS = 1.5
OUTSIDE_FILM = 8.0  # W/(m2 K)
INSULATION = 0.04  # W/(m K), mineral wool
BAR, WARM = 1.0e5, 293.15


def conveying_work(load: ArrayLike, pressure: ArrayLike, efficiency: ArrayLike) -> Array:
    """Electricity that conveying takes per kilogram of pellets.

    Parameters
    ----------
    load : array_like, shape (...)
        Pellets per conveying air. [kg/kg]
    pressure : array_like, shape (...)
        Pressure drop of the line, below atmospheric at the blower. [Pa]
    efficiency : array_like, shape (...)
        Of the blower with its motor, on isentropic work. [-]

    Returns
    -------
    ndarray, shape (...)
        [J/kg]
    """
    per_air = compression.isentropic_work(BAR - floats(pressure), BAR)  # per volume sucked in
    volume = 287.042 * WARM / (BAR - floats(pressure))
    return per_air * volume / floats(load) / floats(efficiency)


def duct_diameter(air_flow: ArrayLike, velocity: ArrayLike, temperature: ArrayLike) -> Array:
    """Diameter of a round duct for a mass flow of dry air at atmospheric pressure. [kg/s], [m/s], [K] to [m]"""
    volume = np.asarray(air_flow) * moist.specific_volume(temperature, 0.0, STANDARD_ATMOSPHERE)
    return np.sqrt(4.0 * volume / np.asarray(velocity) / np.pi)


def duct_pressure(length: ArrayLike, diameter: ArrayLike, velocity: ArrayLike, temperature: ArrayLike) -> Array:
    """Pressure drop of a duct with its fittings by Darcy and Weisbach. [m], [m], [m/s], [K] to [Pa]"""
    density = 1.0 / moist.specific_volume(temperature, 0.0, STANDARD_ATMOSPHERE)
    dynamic = 0.5 * density * floats(velocity) ** 2
    return FITTINGS * DUCT_FRICTION * np.asarray(length) / np.asarray(diameter) * dynamic


def duct_conductance(length: ArrayLike, diameter: ArrayLike, insulation: ArrayLike) -> Array:
    """Heat lost by a round duct per kelvin above the hall, through its insulation and the film outside it. [W/K]

    Parameters
    ----------
    length, diameter, insulation : array_like, shape (...)
        Insulation 0 is a bare duct. [m]
    """
    inner = floats(diameter)
    outer = inner + 2.0 * floats(insulation)
    resistance = np.log(outer / inner) / (2.0 * np.pi * INSULATION) + 1.0 / (np.pi * outer * OUTSIDE_FILM)
    return np.asarray(length) / resistance
