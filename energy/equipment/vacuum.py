"""Vacuum: what it takes to empty a vessel, by pump or by an ejector that spends compressed air."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

from energy.air._ranges import floats

Array = NDArray[np.float64]


def pumping_speed(volume: ArrayLike, time: ArrayLike, start_pressure: ArrayLike, end_pressure: ArrayLike) -> Array:
    r"""Volume flow a pump must take in to empty a tight vessel in a time.

    .. math:: S = \frac{V}{t} \ln \frac{p_0}{p_1}

    Parameters
    ----------
    volume : array_like, shape (...)
        Free gas volume of the vessel. [m3]
    time : array_like, shape (...)
        [s]
    start_pressure, end_pressure : array_like, shape (...)
        [Pa absolute]

    Returns
    -------
    ndarray, shape (...)
        At inlet condition. [m3/s]

    Source
    ------
    Constant pumping speed, isothermal; textbook relation, from memory.
    """
    v, t = floats(volume), floats(time)
    return np.asarray(v / t * np.log(floats(start_pressure) / floats(end_pressure)))


def pumping_time(volume: ArrayLike, speed: ArrayLike, start_pressure: ArrayLike, end_pressure: ArrayLike) -> Array:
    """Time in which a pump of that speed empties a tight vessel: :func:`pumping_speed` solved for the time. [s]"""
    # Speed times time is the same volume whichever of the two is given.
    return pumping_speed(volume, speed, start_pressure, end_pressure)


WATER_GAS_CONSTANT = 461.51805  # J/(kg K), IAPWS R6-95


def vapour_load(water_rate: ArrayLike, temperature: ArrayLike, vapour_pressure: ArrayLike) -> Array:
    r"""Volume flow a pump must take in to carry water vapour away at a held partial pressure.

    .. math:: S = \frac{\dot m R_w T}{p_w}

    Parameters
    ----------
    water_rate : array_like, shape (...)
        Water evaporated. [kg/s]
    temperature : array_like, shape (...)
        Of the gas. [K]
    vapour_pressure : array_like, shape (...)
        Partial pressure of the vapour. [Pa]

    Returns
    -------
    ndarray, shape (...)
        At inlet condition. [m3/s]

    Source
    ------
    Ideal gas with the specific gas constant of water, IAPWS R6-95 (from memory).
    """
    rate, t = floats(water_rate), floats(temperature)
    return np.asarray(rate * WATER_GAS_CONSTANT * t / floats(vapour_pressure))


def evacuation_work(volume: ArrayLike, start_pressure: ArrayLike, end_pressure: ArrayLike) -> Array:
    r"""Least work to empty a vessel against the pressure it began with, isothermal.

    .. math:: W = V\,[(p_0 - p_1) - p_1 \ln(p_0 / p_1)]

    Parameters
    ----------
    volume : array_like, shape (...)
        [m3]
    start_pressure, end_pressure : array_like, shape (...)
        [Pa absolute]

    Returns
    -------
    ndarray, shape (...)
        [J]; for a perfect vacuum the volume times the pressure around it.
    """
    v, p_0, p_1 = (floats(x) for x in (volume, start_pressure, end_pressure))
    return np.asarray(v * ((p_0 - p_1) - p_1 * np.log(p_0 / p_1)))


def holding_power(speed: ArrayLike, pressure: ArrayLike, outlet_pressure: ArrayLike) -> Array:
    r"""Least power of a pump that takes in a volume flow at a held pressure, isothermal: :math:`S\,p \ln(p_{out}/p)`.

    Parameters
    ----------
    speed : array_like, shape (...)
        At inlet condition. [m3/s]
    pressure, outlet_pressure : array_like, shape (...)
        [Pa absolute]

    Returns
    -------
    ndarray, shape (...)
        [W]
    """
    s, p, out = (floats(x) for x in (speed, pressure, outlet_pressure))
    return np.asarray(s * p * np.log(out / p))
