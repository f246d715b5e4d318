"""Moist air as it carries heat and water: enthalpy, heat capacity, volume, and the mixing of two streams.

Enthalpy is zero for dry air and for liquid water at 0 degC.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from energy.air._arrays import in_blocks, polynomial
from energy.air._moist_ranges import humidity_ratio_in_range, pressure_in_range, temperature_in_range
from energy.air._ranges import FloatArray, OnRange, check, floats
from energy.air.constants import ZERO_CELSIUS

# Dry air at 1 atm, in J/(kg K) of t in degC.
_DRY_MEAN_HEAT_CAPACITY = (1005.6468, 7.70487e-3, 1.349173e-4)  # from 0 degC to t: enthalpy / t
_DRY_HEAT_CAPACITY = (1005.6468, 2 * 7.70487e-3, 3 * 1.349173e-4)  # at t
_VAPOUR_HEAT, _VAPOUR_HEAT_CAPACITY = 2501e3, 1860.0


def _enthalpy(T: FloatArray, W: FloatArray) -> FloatArray:
    t = T - ZERO_CELSIUS
    dry = polynomial(t, _DRY_MEAN_HEAT_CAPACITY)
    dry *= t
    t *= _VAPOUR_HEAT_CAPACITY
    t += _VAPOUR_HEAT
    return dry + W * t


def _heat_capacity(T: FloatArray, W: FloatArray) -> FloatArray:
    return polynomial(T - ZERO_CELSIUS, _DRY_HEAT_CAPACITY) + W * _VAPOUR_HEAT_CAPACITY


def _temperature_from_enthalpy(h: FloatArray, W: FloatArray) -> FloatArray:
    # Newton's rule for t (a + t (b + t c)) = heat, with the new value written out: no difference of large numbers.
    heat, a = h - W * _VAPOUR_HEAT, _DRY_HEAT_CAPACITY[0] + W * _VAPOUR_HEAT_CAPACITY
    b, c = _DRY_MEAN_HEAT_CAPACITY[1:]
    t = heat / a  # within 3 K
    for _ in range(3):  # 1e-3 K, 1e-10 K, rounding
        curve = (2.0 * c) * t
        slope = 1.5 * curve
        curve += b
        curve *= t
        curve *= t
        curve += heat
        slope += 2.0 * b
        slope *= t
        slope += a
        t = curve / slope
    return t + ZERO_CELSIUS


def dry_air_enthalpy(temperature: ArrayLike, *, on_range: OnRange = "raise") -> FloatArray:
    r"""Specific enthalpy of dry air, zero at 0 degC.

    .. math:: h = 1005.6468 t + 7.70487 \cdot 10^{-3} t^2 + 1.349173 \cdot 10^{-4} t^3, \quad t = T - 273.15

    Parameters
    ----------
    temperature : array_like, shape (...)
        Air temperature. [K], 173.15 to 573.15.
    on_range : {"raise", "nan"}
        What to do outside that range.

    Returns
    -------
    ndarray, shape (...)
        Specific enthalpy. [J/kg]

    Raises
    ------
    OutOfRangeError
        Any value out of range or NaN, and ``on_range="raise"``.

    Notes
    -----
    Within 5 J/kg from -60 to 250 degC, 10 J/kg down to -100 degC and 51 J/kg (0.02 %) up to 300 degC. A constant heat capacity makes the rise
    from 20 degC to drying temperatures 0.2 to 0.7 % too small.

    Source
    ------
    Own least-squares fit to dry air of CoolProp 8.0.0 at 1 atm, -60 to 250 degC.
    """
    return in_blocks(lambda T: _enthalpy(T, np.asarray(0.0)), temperature_in_range(temperature, on_range))


def vapour_enthalpy(temperature: ArrayLike, *, on_range: OnRange = "raise") -> FloatArray:
    """Specific enthalpy of water vapour in air, zero for liquid water at 0 degC: 2501000 + 1860 t.

    Parameters
    ----------
    temperature : array_like, shape (...)
        Vapour temperature. [K], 173.15 to 573.15.
    on_range : {"raise", "nan"}
        What to do outside that range.

    Returns
    -------
    ndarray, shape (...)
        Specific enthalpy. [J/kg]

    Raises
    ------
    OutOfRangeError
        Any value out of range or NaN, and ``on_range="raise"``.

    Source
    ------
    ASHRAE Handbook - Fundamentals (2017), ch. 1, eq. 30.
    """
    return _VAPOUR_HEAT + _VAPOUR_HEAT_CAPACITY * (temperature_in_range(temperature, on_range) - ZERO_CELSIUS)


def enthalpy(temperature: ArrayLike, humidity_ratio: ArrayLike, *, on_range: OnRange = "raise") -> FloatArray:
    """Enthalpy of moist air per dry air, zero for dry air and liquid water at 0 degC.

    Parameters
    ----------
    temperature : array_like, shape (...)
        Air temperature. [K], 173.15 to 573.15.
    humidity_ratio : array_like, shape (...)
        Water vapour per dry air. [kg/kg], 0 to 10.
    on_range : {"raise", "nan"}
        What to do outside that range.

    Returns
    -------
    ndarray, shape (...)
        Enthalpy per kilogram of dry air. [J/kg]

    Raises
    ------
    OutOfRangeError
        Any value out of range or NaN, and ``on_range="raise"``.

    Notes
    -----
    The rise from 20 degC is within 0.15 % of real-gas moist air up to 200 degC and a dew point of 30 degC
    near 1 atm. The effect of pressure, 2 kJ/kg lower at 0.8 MPa and 0 degC, is left out.

    Source
    ------
    ``dry_air_enthalpy`` and ``vapour_enthalpy``.
    """
    return in_blocks(
        _enthalpy, temperature_in_range(temperature, on_range), humidity_ratio_in_range(humidity_ratio, on_range)
    )


def heat_capacity(temperature: ArrayLike, humidity_ratio: ArrayLike, *, on_range: OnRange = "raise") -> FloatArray:
    """Heat capacity of moist air per dry air: the derivative of ``enthalpy`` by temperature.

    Parameters
    ----------
    temperature : array_like, shape (...)
        Air temperature. [K], 173.15 to 573.15.
    humidity_ratio : array_like, shape (...)
        Water vapour per dry air. [kg/kg], 0 to 10.
    on_range : {"raise", "nan"}
        What to do outside that range.

    Returns
    -------
    ndarray, shape (...)
        Heat capacity per kilogram of dry air. [J/(kg K)]

    Raises
    ------
    OutOfRangeError
        Any value out of range or NaN, and ``on_range="raise"``.

    Source
    ------
    ``enthalpy``, differentiated.
    """
    return in_blocks(
        _heat_capacity, temperature_in_range(temperature, on_range), humidity_ratio_in_range(humidity_ratio, on_range)
    )


def temperature_from_enthalpy(
    enthalpy: ArrayLike, humidity_ratio: ArrayLike, *, on_range: OnRange = "raise"
) -> FloatArray:
    """Temperature of moist air of this enthalpy; inverse of ``enthalpy`` to rounding.

    Parameters
    ----------
    enthalpy : array_like, shape (...)
        Enthalpy per kilogram of dry air. [J/kg]
    humidity_ratio : array_like, shape (...)
        Water vapour per dry air. [kg/kg], 0 to 10.
    on_range : {"raise", "nan"}
        What to do where the temperature falls outside 173.15 to 573.15 K.

    Returns
    -------
    ndarray, shape (...)
        Air temperature. [K]

    Raises
    ------
    OutOfRangeError
        Any value or result out of range or NaN, and ``on_range="raise"``.

    Source
    ------
    ``enthalpy``, inverted by three Newton steps.
    """
    h, W = floats(enthalpy), humidity_ratio_in_range(humidity_ratio, on_range)
    T = in_blocks(_temperature_from_enthalpy, h, W)
    return temperature_in_range(T, on_range, "temperature at this enthalpy and humidity ratio")[()]


def mix(
    flow_1: ArrayLike,
    temperature_1: ArrayLike,
    humidity_ratio_1: ArrayLike,
    flow_2: ArrayLike,
    temperature_2: ArrayLike,
    humidity_ratio_2: ArrayLike,
    *,
    on_range: OnRange = "raise",
) -> tuple[FloatArray, FloatArray, FloatArray]:
    """State of two air streams mixed without heat loss: dry air, water and enthalpy are conserved.

    Parameters
    ----------
    flow_1, flow_2 : array_like, shape (...)
        Flow of dry air, not both zero. [kg/s], 0 to 1e6.
    temperature_1, temperature_2 : array_like, shape (...)
        Temperature of each stream. [K], 173.15 to 573.15.
    humidity_ratio_1, humidity_ratio_2 : array_like, shape (...)
        Water vapour per dry air of each stream. [kg/kg], 0 to 10.
    on_range : {"raise", "nan"}
        What to do outside that range.

    Returns
    -------
    flow, temperature, humidity_ratio : ndarray, shape (...)
        Of the mixture. [kg/s], [K], [kg/kg]

    Raises
    ------
    OutOfRangeError
        Any value out of range or NaN, or no flow at all, and ``on_range="raise"``.

    Notes
    -----
    All water counts as vapour: whether the mixture would form fog is not looked at.

    Source
    ------
    Balances of mass and energy.
    """
    m_1 = check("flow 1", flow_1, 0.0, 1e6, "kg/s", "mixing", on_range)
    m_2 = check("flow 2", flow_2, 0.0, 1e6, "kg/s", "mixing", on_range)
    m = check("flow 1 + flow 2", m_1 + m_2, 1e-12, 2e6, "kg/s", "mixing", on_range)
    W_1, W_2 = humidity_ratio_in_range(humidity_ratio_1, on_range), humidity_ratio_in_range(humidity_ratio_2, on_range)
    h_1, h_2 = (
        enthalpy(temperature_1, W_1, on_range=on_range),
        enthalpy(temperature_2, W_2, on_range=on_range),
    )
    W = (m_1 * W_1 + m_2 * W_2) / m
    T = temperature_from_enthalpy((m_1 * h_1 + m_2 * h_2) / m, W, on_range=on_range)
    m, W = np.broadcast_arrays(m, W, T)[:2]
    return m[()], T, W[()]


def specific_volume(
    temperature: ArrayLike, humidity_ratio: ArrayLike, pressure: ArrayLike, *, on_range: OnRange = "raise"
) -> FloatArray:
    """Volume of moist air per dry air, as an ideal gas.

    Parameters
    ----------
    temperature : array_like, shape (...)
        Air temperature. [K], 173.15 to 573.15.
    humidity_ratio : array_like, shape (...)
        Water vapour per dry air. [kg/kg], 0 to 10.
    pressure : array_like, shape (...)
        Total pressure. [Pa], 1e4 to 1.6e6.
    on_range : {"raise", "nan"}
        What to do outside that range.

    Returns
    -------
    ndarray, shape (...)
        Volume per kilogram of dry air. [m3/kg]

    Raises
    ------
    OutOfRangeError
        Any value out of range or NaN, and ``on_range="raise"``.

    Source
    ------
    ASHRAE Handbook - Fundamentals (2017), ch. 1, eq. 26.
    """
    T, W = temperature_in_range(temperature, on_range), humidity_ratio_in_range(humidity_ratio, on_range)
    return in_blocks(lambda t, w, p: 287.042 * t * (1 + 1.607858 * w) / p, T, W, pressure_in_range(pressure, on_range))
