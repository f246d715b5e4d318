"""Sorption: the moisture below which air of a given dew point cannot dry a resin."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from energy.air._ranges import FloatArray, OnRange, check, floats
from energy.air.constants import GAS_CONSTANT
from energy.air.saturation import saturation_pressure, saturation_temperature
from energy.air.water_vapour import relative_humidity


def slope_at(
    temperature: ArrayLike,
    slope: ArrayLike,
    slope_temperature: ArrayLike | None = None,
    enthalpy: ArrayLike | None = None,
) -> FloatArray:
    r"""Slope of the sorption isotherm at a temperature, by van 't Hoff.

    .. math:: s(T) = s \exp[-(H/R)(1/T - 1/T_s)]

    Parameters
    ----------
    temperature : array_like, shape (...)
        Of resin and air. [K]
    slope : array_like, shape (...)
        Equilibrium moisture over relative humidity at ``slope_temperature``. [kg/kg dry resin]; the number of
        percent moisture per percent relative humidity is the same.
    slope_temperature : array_like, shape (...), optional
        Temperature the slope was measured at; needed with an enthalpy. [K]
    enthalpy : array_like, shape (...), optional
        Enthalpy of mixing liquid water into the resin, that is the heat of solution from the vapour
        (negative) plus the heat of vaporisation. [J/mol]; above zero the slope rises with temperature. None:
        it does not change.

    Returns
    -------
    ndarray, shape (...)
        Slope. [kg/kg dry resin]

    Raises
    ------
    ValueError
        An enthalpy without the temperature of the slope.
    """
    s, t = floats(slope), floats(temperature)
    if enthalpy is None:
        return s
    if slope_temperature is None:
        raise ValueError("an enthalpy of sorption needs slope_temperature, the temperature the slope was measured at")
    return s * np.exp(-np.asarray(enthalpy) / GAS_CONSTANT * (1.0 / t - 1.0 / np.asarray(slope_temperature)))


def equilibrium_moisture(
    air_temperature: ArrayLike,
    dew_point: ArrayLike,
    slope: ArrayLike,
    *,
    slope_temperature: ArrayLike | None = None,
    enthalpy: ArrayLike | None = None,
    on_range: OnRange = "raise",
) -> FloatArray:
    r"""Moisture of a resin in equilibrium with air: the floor of drying.

    .. math:: X_{eq} = s(T)\, p_s(T_{dew}) / p_s(T)

    Parameters
    ----------
    air_temperature : array_like, shape (...)
        Drying temperature, of air and pellet. [K], 173.15 to 473.15.
    dew_point : array_like, shape (...)
        Dew point at the pressure of the hopper (frost point below 0.01 degC). [K], not above the air
        temperature.
    slope, slope_temperature, enthalpy : array_like, shape (...)
        As in ``slope_at``.
    on_range : {"raise", "nan"}
        What to do outside these ranges.

    Returns
    -------
    ndarray, shape (...)
        Equilibrium moisture. [kg/kg dry resin]

    Raises
    ------
    OutOfRangeError
        Any value out of range or NaN, and ``on_range="raise"``.

    Notes
    -----
    A straight isotherm, good at the low relative humidity of a dryer; slopes at drying temperature are
    uncertain by a factor of two where no measurement is cited.

    Source
    ------
    Henry's law; polycarbonate at 100 degC 0.005945: Golovoy and Zinbo, Polym. Eng. Sci. 29 (1989) 1733-1737.
    """
    humidity = check(
        "relative humidity",
        relative_humidity(air_temperature, dew_point, on_range=on_range),
        0.0,
        1.0,
        "",
        "air no colder than its dew point",
        on_range,
    )
    return (slope_at(air_temperature, slope, slope_temperature, enthalpy) * humidity)[()]


def dew_point_for_moisture(
    target: ArrayLike,
    air_temperature: ArrayLike,
    slope: ArrayLike,
    *,
    slope_temperature: ArrayLike | None = None,
    enthalpy: ArrayLike | None = None,
    on_range: OnRange = "raise",
) -> FloatArray:
    """Dew point of the air whose sorption floor is a given moisture; to get there the air must be a bit
    drier.

    Parameters
    ----------
    target : array_like, shape (...)
        Moisture. [kg/kg dry resin], up to the slope: above that, any air no colder than its dew point will
        do.
    air_temperature : array_like, shape (...)
        Drying temperature. [K], 173.15 to 473.15.
    slope, slope_temperature, enthalpy : array_like, shape (...)
        As in ``slope_at``.
    on_range : {"raise", "nan"}
        What to do outside these ranges.

    Returns
    -------
    ndarray, shape (...)
        Dew point (frost point below 0.01 degC), 173.15 or more. [K]

    Raises
    ------
    OutOfRangeError
        Any value out of range or NaN, or a dew point below 173.15 K, and ``on_range="raise"``.
    """
    humidity = check(
        "relative humidity at the target moisture",
        np.asarray(target) / slope_at(air_temperature, slope, slope_temperature, enthalpy),
        0.0,
        1.0,
        "",
        "air no colder than its dew point",
        on_range,
    )
    return saturation_temperature(humidity * saturation_pressure(air_temperature, on_range=on_range), on_range=on_range)
