"""Humidity of air: humidity ratio, frost or dew point, partial pressure of the vapour, relative humidity.

Humidity is carried as humidity ratio or as frost/dew point, never as relative humidity: in hot air the
saturation pressure exceeds the total pressure and relative humidity loses its meaning. Below 0.01 degC every
"dew point" here is the frost point, over ice.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from energy.air._arrays import in_blocks, polynomial
from energy.air._moist_ranges import humidity_ratio_in_range, pressure_in_range
from energy.air._ranges import FloatArray, OnRange, check
from energy.air._saturation_line import COLDEST, EQS, HOTTEST, LEAST, log_saturation, start_of_inverse, temperature_at
from energy.air.constants import MASS_RATIO, ZERO_CELSIUS
from energy.air.saturation import saturation_pressure

# Enhancement factor, fitted: see enhancement_factor. Pressures in bar, u = 273.15/T - 1.
_F_FAR = (3.513592e-3, 9.435476e-3, 9.649186e-3, 2.636076e-3)
_F_NEAR = (6.092705e-2, 2.422666e-1, 2.633967e-1)
_F_PRESSURE = 9.543999e-6
_F_HOTTEST = 453.15
_F_SOURCE = "the enhancement factor (real-gas moist air, ASHRAE RP-1485)"


def _log_enhancement(T: FloatArray, p_sat: FloatArray, P: FloatArray) -> FloatArray:
    u = ZERO_CELSIUS / T - 1
    slope = polynomial(u, _F_FAR) + p_sat / P * polynomial(u, _F_NEAR) + (1e-5 * _F_PRESSURE) * P
    return 1e-5 * (P - p_sat) * slope


def _humidity_ratio(T: FloatArray, P: FloatArray) -> FloatArray:
    p_sat = np.exp(log_saturation(T))
    p_w = p_sat * np.exp(_log_enhancement(T, p_sat, P))
    return np.where(p_sat < P, MASS_RATIO * p_w / (P - p_w), np.inf)  # no such air: the check of the result says so


def _dew_point(W: FloatArray, P: FloatArray) -> FloatArray:
    p_w = P * W / (MASS_RATIO + W)
    p_w = np.where(p_w < LEAST, np.nan, p_w)  # no such frost point: the check of the result says so
    log_w = np.log(p_w)
    # Each round leaves at most 3 % of the error, the extrapolation of two of them (Aitken) less than a third round would.
    once = log_w - _log_enhancement(start_of_inverse(log_w), p_w, P)
    twice = log_w - _log_enhancement(start_of_inverse(once), np.exp(once), P)
    log_sat = twice - np.square(twice - once) / ((twice - once) - (once - log_w))
    T = temperature_at(log_w - _log_enhancement(start_of_inverse(log_sat), np.exp(log_sat), P))
    end = np.clip(T, COLDEST, _F_HOTTEST)
    return np.where(np.abs(T - end) < 1e-5, end, T)  # what the iteration leaves; anything else is for the check


def enhancement_factor(temperature: ArrayLike, pressure: ArrayLike, *, on_range: OnRange = "raise") -> FloatArray:
    r"""Vapour pressure of saturated moist air over that of water alone, f.

    .. math:: \ln f = (P - p_s) [a(u) + b(u) p_s / P + c P], \quad u = 273.15 / T - 1

    with cubic a, quadratic b and constant c: the shape that second virial coefficients give. f is 1 where the
    saturation pressure reaches the total pressure.

    Parameters
    ----------
    temperature : array_like, shape (...)
        Temperature of the saturated air. [K], 173.15 to 453.15.
    pressure : array_like, shape (...)
        Total pressure, above the saturation pressure. [Pa], 1e4 to 1.6e6.
    on_range : {"raise", "nan"}
        What to do outside that range.

    Returns
    -------
    ndarray, shape (...)
        Enhancement factor. [-]

    Raises
    ------
    OutOfRangeError
        Any value out of range or NaN, or saturation above total pressure, and ``on_range="raise"``.

    Notes
    -----
    f goes with ``saturation_pressure``: the fit makes up for its 0.03 % too. Largest error of the humidity
    ratio of saturated air: 0.07 % for -60 to 100 degC, 50 kPa to 1.3 MPa and vapour below half of the total
    pressure; 0.14 % over the whole range, up to 90 % vapour. True f falls by up to 0.12 % (at 1.3 MPa) from
    ice to water at the triple point, since water dissolves air; the fit runs smoothly through, so that every
    humidity has one dew point.

    Source
    ------
    Own minimax fit to the saturated moist air of CoolProp 8.0.0, which follows ASHRAE RP-1485 (Herrmann,
    Kretzschmar and Gatley 2009).
    """
    T = check("temperature", temperature, COLDEST, _F_HOTTEST, "K", _F_SOURCE, on_range)
    P = pressure_in_range(pressure, on_range)
    p_sat = saturation_pressure(T, on_range=on_range)
    check("saturation pressure / pressure", p_sat / P, 0.0, 1.0, "", _F_SOURCE, on_range)
    return in_blocks(lambda t, s, p: np.where(s > p, np.nan, np.exp(_log_enhancement(t, s, p))), T, p_sat, P)


def humidity_ratio(dew_point: ArrayLike, pressure: ArrayLike, *, on_range: OnRange = "raise") -> FloatArray:
    r"""Water vapour per dry air of air with this frost or dew point.

    .. math:: W = 0.621945 \, f p_s / (P - f p_s)

    Parameters
    ----------
    dew_point : array_like, shape (...)
        Frost point below 0.01 degC, dew point from there on, at this pressure. [K], 173.15 to 453.15.
    pressure : array_like, shape (...)
        Total pressure. [Pa], 1e4 to 1.6e6.
    on_range : {"raise", "nan"}
        What to do outside that range.

    Returns
    -------
    ndarray, shape (...)
        Humidity ratio. [kg/kg]

    Raises
    ------
    OutOfRangeError
        Any value out of range or NaN, or a result above 10 kg/kg, and ``on_range="raise"``.

    Source
    ------
    ASHRAE Handbook - Fundamentals (2017), ch. 1, eq. 20, with the factor of ``enhancement_factor``.
    """
    T = check("dew point", dew_point, COLDEST, _F_HOTTEST, "K", _F_SOURCE, on_range)
    W = in_blocks(_humidity_ratio, T, pressure_in_range(pressure, on_range))
    return humidity_ratio_in_range(W, on_range, "humidity ratio at this dew point and pressure")[()]


def dew_point(humidity_ratio: ArrayLike, pressure: ArrayLike, *, on_range: OnRange = "raise") -> FloatArray:
    """Frost point (below 0.01 degC) or dew point of moist air.

    Parameters
    ----------
    humidity_ratio : array_like, shape (...)
        Water vapour per dry air. [kg/kg], 0 to 10 and not below the value at a frost point of -100 degC.
    pressure : array_like, shape (...)
        Total pressure. [Pa], 1e4 to 1.6e6.
    on_range : {"raise", "nan"}
        What to do outside that range.

    Returns
    -------
    ndarray, shape (...)
        Frost or dew point, inverse of ``humidity_ratio`` within 1e-5 K. [K]

    Raises
    ------
    OutOfRangeError
        Any value out of range or NaN, or a result outside 173.15 to 453.15 K, and ``on_range="raise"``.

    Source
    ------
    Inverse of ``humidity_ratio``.
    """
    W, P = humidity_ratio_in_range(humidity_ratio, on_range), pressure_in_range(pressure, on_range)
    name = "dew point at this humidity ratio and pressure"
    return check(name, in_blocks(_dew_point, W, P), COLDEST, _F_HOTTEST, "K", _F_SOURCE, on_range)[()]


def vapour_pressure(humidity_ratio: ArrayLike, pressure: ArrayLike, *, on_range: OnRange = "raise") -> FloatArray:
    """Partial pressure of the water vapour: its mole fraction times the total pressure.

    Parameters
    ----------
    humidity_ratio : array_like, shape (...)
        Water vapour per dry air. [kg/kg], 0 to 10.
    pressure : array_like, shape (...)
        Total pressure. [Pa], 1e4 to 1.6e6.
    on_range : {"raise", "nan"}
        What to do outside that range.

    Returns
    -------
    ndarray, shape (...)
        Partial pressure. [Pa]

    Raises
    ------
    OutOfRangeError
        Any value out of range or NaN, and ``on_range="raise"``.

    Source
    ------
    ASHRAE Handbook - Fundamentals (2017), ch. 1, eq. 20.
    """
    W, P = humidity_ratio_in_range(humidity_ratio, on_range), pressure_in_range(pressure, on_range)
    return P * W / (MASS_RATIO + W)


def relative_humidity(temperature: ArrayLike, dew_point: ArrayLike, *, on_range: OnRange = "raise") -> FloatArray:
    """Saturation pressure at the dew point over that at the air temperature; for sorption only.

    Parameters
    ----------
    temperature : array_like, shape (...)
        Air temperature. [K], 173.15 to 473.15.
    dew_point : array_like, shape (...)
        Frost or dew point of the air. [K], 173.15 to 473.15.
    on_range : {"raise", "nan"}
        What to do outside that range.

    Returns
    -------
    ndarray, shape (...)
        Relative humidity, over ice below 0.01 degC; above 1 for dew points above the air temperature. [-]

    Raises
    ------
    OutOfRangeError
        Any value out of range or NaN, and ``on_range="raise"``.

    Notes
    -----
    This is the activity of water that a pellet or a desiccant meets, a few millionths to thousandths in hot
    dry air. Do not carry it as a state: above the boiling point no air reaches 1.

    Source
    ------
    Definition, from ``saturation_pressure``; enhancement factors, alike within 1 % near 1 atm, are left out.
    """
    T = check("temperature", temperature, COLDEST, HOTTEST, "K", EQS, on_range)
    Td = check("dew point", dew_point, COLDEST, HOTTEST, "K", EQS, on_range)
    return in_blocks(lambda t, d: np.exp(log_saturation(d) - log_saturation(t)), T, Td)
