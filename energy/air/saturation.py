"""Saturation of water: the pressure of its vapour over ice and over water, and the temperature at a pressure."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from energy.air._arrays import in_blocks
from energy.air._ranges import FloatArray, OnRange, check
from energy.air._saturation_line import (
    COLDEST,
    EQS,
    HOTTEST,
    ICE,
    LEAST,
    MOST,
    WATER,
    log_branch,
    log_saturation,
    temperature_at,
)
from energy.air.constants import TRIPLE_POINT, ZERO_CELSIUS

_EQ_5 = "ASHRAE Fundamentals 2017 eq. 5"
_EQ_6 = "ASHRAE Fundamentals 2017 eq. 6"


def saturation_pressure_ice(temperature: ArrayLike, *, on_range: OnRange = "raise") -> FloatArray:
    """Vapour pressure of water over ice.

    Parameters
    ----------
    temperature : array_like, shape (...)
        Ice temperature. [K], 173.15 to 273.16.
    on_range : {"raise", "nan"}
        What to do outside that range.

    Returns
    -------
    ndarray, shape (...)
        Pressure. [Pa]

    Raises
    ------
    OutOfRangeError
        Any value out of range or NaN, and ``on_range="raise"``.

    Source
    ------
    ASHRAE Handbook - Fundamentals (2017), ch. 1, eq. 5 (Hyland and Wexler 1983).
    """
    T = check("temperature", temperature, COLDEST, TRIPLE_POINT, "K", _EQ_5, on_range)
    return in_blocks(lambda t: np.exp(log_branch(t, np.log(t), ICE)), T)


def saturation_pressure_water(temperature: ArrayLike, *, on_range: OnRange = "raise") -> FloatArray:
    """Vapour pressure over liquid water.

    Parameters
    ----------
    temperature : array_like, shape (...)
        Water temperature. [K], 273.15 to 473.15.
    on_range : {"raise", "nan"}
        What to do outside that range.

    Returns
    -------
    ndarray, shape (...)
        Pressure. [Pa]

    Raises
    ------
    OutOfRangeError
        Any value out of range or NaN, and ``on_range="raise"``.

    Source
    ------
    ASHRAE Handbook - Fundamentals (2017), ch. 1, eq. 6 (Hyland and Wexler 1983).
    """
    T = check("temperature", temperature, ZERO_CELSIUS, HOTTEST, "K", _EQ_6, on_range)
    return in_blocks(lambda t: np.exp(log_branch(t, np.log(t), WATER)), T)


def saturation_pressure(temperature: ArrayLike, *, on_range: OnRange = "raise") -> FloatArray:
    """Vapour pressure over ice below the triple point, over water from there on.

    Parameters
    ----------
    temperature : array_like, shape (...)
        Temperature. [K], 173.15 to 473.15.
    on_range : {"raise", "nan"}
        What to do outside that range.

    Returns
    -------
    ndarray, shape (...)
        Pressure. [Pa]

    Raises
    ------
    OutOfRangeError
        Any value out of range or NaN, and ``on_range="raise"``.

    Notes
    -----
    The branches meet at 273.16 K within 1e-8; at 273.15 K they would not. IAPWS values differ by up to
    0.033 %.

    Source
    ------
    ASHRAE Handbook - Fundamentals (2017), ch. 1, eqs 5 and 6 (Hyland and Wexler 1983).
    """
    T = check("temperature", temperature, COLDEST, HOTTEST, "K", EQS, on_range)
    return in_blocks(lambda t: np.exp(log_saturation(t)), T)


def saturation_temperature(vapour_pressure: ArrayLike, *, on_range: OnRange = "raise") -> FloatArray:
    """Temperature at which pure vapour saturates: frost point below 0.01 degC, dew point from there on.

    Parameters
    ----------
    vapour_pressure : array_like, shape (...)
        Pressure of the pure vapour. [Pa], 0.0014051021 to 1555073.8 (-100 to 200 degC).
    on_range : {"raise", "nan"}
        What to do outside that range.

    Returns
    -------
    ndarray, shape (...)
        Temperature, inverse of ``saturation_pressure`` within 1e-7 K. [K]

    Raises
    ------
    OutOfRangeError
        Any value out of range or NaN, and ``on_range="raise"``.

    Notes
    -----
    A fitted polynomial of ln p, good to 4e-4 K, and one Newton step.

    Source
    ------
    ASHRAE Handbook - Fundamentals (2017), ch. 1, eqs 5 and 6, inverted.
    """
    p = check("vapour pressure", vapour_pressure, LEAST, MOST, "Pa", EQS, on_range)
    return in_blocks(lambda q: np.clip(temperature_at(np.log(q)), COLDEST, HOTTEST), p)  # rounding at the ends
