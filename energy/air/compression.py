"""Compressed air: its dew point after expansion, and the ideal work of compressing it.

Works are per cubic metre of air at the inlet state: 1 J/m3 = 1 Pa, and 60 kJ/m3 = 1 kW per m3/min. Air is an
ideal gas of constant heat-capacity ratio here; pressures are absolute.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from energy.air import water_vapour
from energy.air._ranges import FloatArray, OnRange, check

HEAT_CAPACITY_RATIO = 1.4
"""Heat-capacity ratio of air. [-] Source: ideal diatomic gas, 7/5; any thermodynamics textbook."""

_SOURCE = "the ideal-gas compression formulas"


def expanded_humidity_ratio(
    pressure_dew_point: ArrayLike, supply_pressure: ArrayLike, *, on_range: OnRange = "raise"
) -> FloatArray:
    """Water vapour per dry air of compressed air, which expansion does not change.

    Parameters
    ----------
    pressure_dew_point : array_like, shape (...)
        Frost or dew point at the supply pressure. [K], 173.15 to 453.15.
    supply_pressure : array_like, shape (...)
        Absolute pressure at which that dew point holds. [Pa], 1e4 to 1.6e6.
    on_range : {"raise", "nan"}
        What to do outside that range.

    Returns
    -------
    ndarray, shape (...)
        Humidity ratio before and after expansion. [kg/kg]

    Raises
    ------
    OutOfRangeError
        Any value out of range or NaN, and ``on_range="raise"``.

    Source
    ------
    ``water_vapour.humidity_ratio``: ASHRAE Handbook - Fundamentals (2017), ch. 1, eq. 20, with enhancement factor.
    """
    return water_vapour.humidity_ratio(pressure_dew_point, supply_pressure, on_range=on_range)


def expanded_frost_point(
    pressure_dew_point: ArrayLike,
    supply_pressure: ArrayLike,
    atmospheric_pressure: ArrayLike,
    *,
    on_range: OnRange = "raise",
) -> FloatArray:
    r"""Frost point of compressed air once it is expanded to atmospheric pressure.

    .. math:: f(T, P_{atm}) p_s(T) / P_{atm} = f(T_{PDP}, P) p_s(T_{PDP}) / P

    Parameters
    ----------
    pressure_dew_point : array_like, shape (...)
        Frost or dew point at the supply pressure. [K], 173.15 to 453.15.
    supply_pressure : array_like, shape (...)
        Absolute pressure at which that dew point holds. [Pa], 1e4 to 1.6e6.
    atmospheric_pressure : array_like, shape (...)
        Absolute pressure after expansion. [Pa], 1e4 to 1.6e6.
    on_range : {"raise", "nan"}
        What to do outside that range.

    Returns
    -------
    ndarray, shape (...)
        Frost point, or dew point where it is 0.01 degC or above. [K]

    Raises
    ------
    OutOfRangeError
        Any value out of range or NaN, or a result below 173.15 K, and ``on_range="raise"``.

    Notes
    -----
    A dew point over supercooled water, which many charts of the trade show below 0 degC, reads 2 to 4 K lower
    for the same air. Without the factors f the result is 0.2 to 0.35 K too low.

    Source
    ------
    Constant mole fraction of water; ``water_vapour.humidity_ratio`` and its inverse.
    """
    W = water_vapour.humidity_ratio(pressure_dew_point, supply_pressure, on_range=on_range)
    return water_vapour.dew_point(W, atmospheric_pressure, on_range=on_range)


def _pressures(
    inlet_pressure: ArrayLike, outlet_pressure: ArrayLike, on_range: OnRange
) -> tuple[FloatArray, FloatArray]:
    """Inlet pressure and pressure ratio."""
    p_1 = check("inlet pressure", inlet_pressure, 1.0, 1e7, "Pa", _SOURCE, on_range)
    p_2 = check("outlet pressure", outlet_pressure, 1.0, 1e7, "Pa", _SOURCE, on_range)
    return p_1, check("outlet pressure / inlet pressure", p_2 / p_1, 1.0, 1e4, "", _SOURCE, on_range)


def _ratio(ratio: ArrayLike, name: str, on_range: OnRange) -> FloatArray:
    return check(name, ratio, 1.001, 5 / 3, "", _SOURCE, on_range)


def isothermal_work(
    inlet_pressure: ArrayLike, outlet_pressure: ArrayLike, *, on_range: OnRange = "raise"
) -> FloatArray:
    r"""Least possible work of compression, heat removed all the way: :math:`p_1 \ln(p_2/p_1)`.

    Parameters
    ----------
    inlet_pressure : array_like, shape (...)
        Absolute pressure at the inlet. [Pa], 1 to 1e7.
    outlet_pressure : array_like, shape (...)
        Absolute pressure at the outlet, not below the inlet. [Pa], 1 to 1e7.
    on_range : {"raise", "nan"}
        What to do outside that range.

    Returns
    -------
    ndarray, shape (...)
        Work per volume of inlet air. [J/m3]

    Raises
    ------
    OutOfRangeError
        Any value out of range or NaN, and ``on_range="raise"``.

    Source
    ------
    Steady-flow work of an ideal gas; any thermodynamics textbook.
    """
    p_1, r = _pressures(inlet_pressure, outlet_pressure, on_range)
    return p_1 * np.log(r)


def isentropic_work(
    inlet_pressure: ArrayLike,
    outlet_pressure: ArrayLike,
    ratio: ArrayLike = HEAT_CAPACITY_RATIO,
    *,
    on_range: OnRange = "raise",
) -> FloatArray:
    r"""Work of loss-free compression without cooling: :math:`\frac{k}{k-1} p_1 [(p_2/p_1)^{(k-1)/k} - 1]`.

    Parameters
    ----------
    inlet_pressure : array_like, shape (...)
        Absolute pressure at the inlet. [Pa], 1 to 1e7.
    outlet_pressure : array_like, shape (...)
        Absolute pressure at the outlet, not below the inlet. [Pa], 1 to 1e7.
    ratio : array_like, shape (...)
        Heat-capacity ratio k. [-], 1.001 to 5/3.
    on_range : {"raise", "nan"}
        What to do outside that range.

    Returns
    -------
    ndarray, shape (...)
        Work per volume of inlet air. [J/m3]

    Raises
    ------
    OutOfRangeError
        Any value out of range or NaN, and ``on_range="raise"``.

    Source
    ------
    Steady-flow work of an ideal gas; any thermodynamics textbook.
    """
    return staged_work(inlet_pressure, outlet_pressure, 1, ratio, on_range=on_range)


def polytropic_work(
    inlet_pressure: ArrayLike, outlet_pressure: ArrayLike, exponent: ArrayLike, *, on_range: OnRange = "raise"
) -> FloatArray:
    r"""Work of compression with some cooling: :math:`\frac{n}{n-1} p_1 [(p_2/p_1)^{(n-1)/n} - 1]`.

    Parameters
    ----------
    inlet_pressure : array_like, shape (...)
        Absolute pressure at the inlet. [Pa], 1 to 1e7.
    outlet_pressure : array_like, shape (...)
        Absolute pressure at the outlet, not below the inlet. [Pa], 1 to 1e7.
    exponent : array_like, shape (...)
        Polytropic exponent n. [-], 1.001 to 5/3; towards 1 the work becomes ``isothermal_work``.
    on_range : {"raise", "nan"}
        What to do outside that range.

    Returns
    -------
    ndarray, shape (...)
        Work per volume of inlet air. [J/m3]

    Raises
    ------
    OutOfRangeError
        Any value out of range or NaN, and ``on_range="raise"``.

    Source
    ------
    Steady-flow work of an ideal gas; any thermodynamics textbook.
    """
    p_1, r = _pressures(inlet_pressure, outlet_pressure, on_range)
    n = _ratio(exponent, "polytropic exponent", on_range)
    share = (n - 1) / n
    return p_1 * np.expm1(share * np.log(r)) / share


def staged_work(
    inlet_pressure: ArrayLike,
    outlet_pressure: ArrayLike,
    stages: ArrayLike,
    ratio: ArrayLike = HEAT_CAPACITY_RATIO,
    *,
    on_range: OnRange = "raise",
) -> FloatArray:
    r"""Isentropic work in stages of equal pressure ratio, air cooled back to inlet temperature between them.

    .. math:: N \frac{k}{k-1} p_1 [(p_2/p_1)^{(k-1)/(N k)} - 1]

    Parameters
    ----------
    inlet_pressure : array_like, shape (...)
        Absolute pressure at the inlet. [Pa], 1 to 1e7.
    outlet_pressure : array_like, shape (...)
        Absolute pressure at the outlet, not below the inlet. [Pa], 1 to 1e7.
    stages : array_like, shape (...)
        Number of stages N. [-], 1 to 10.
    ratio : array_like, shape (...)
        Heat-capacity ratio k. [-], 1.001 to 5/3.
    on_range : {"raise", "nan"}
        What to do outside that range.

    Returns
    -------
    ndarray, shape (...)
        Work per volume of inlet air. [J/m3]

    Raises
    ------
    OutOfRangeError
        Any value out of range or NaN, and ``on_range="raise"``.

    Source
    ------
    Steady-flow work of an ideal gas; any thermodynamics textbook.
    """
    p_1, r = _pressures(inlet_pressure, outlet_pressure, on_range)
    N = check("number of stages", stages, 1.0, 10.0, "", _SOURCE, on_range)
    k = _ratio(ratio, "heat-capacity ratio", on_range)
    share = (k - 1) / (N * k)
    return p_1 * np.expm1(share * np.log(r)) / share


def isentropic_outlet_temperature(
    inlet_temperature: ArrayLike,
    inlet_pressure: ArrayLike,
    outlet_pressure: ArrayLike,
    ratio: ArrayLike = HEAT_CAPACITY_RATIO,
    *,
    on_range: OnRange = "raise",
) -> FloatArray:
    r"""Air temperature after loss-free compression without cooling: :math:`T_1 (p_2/p_1)^{(k-1)/k}`.

    Parameters
    ----------
    inlet_temperature : array_like, shape (...)
        Temperature at the inlet. [K], 173.15 to 523.15.
    inlet_pressure : array_like, shape (...)
        Absolute pressure at the inlet. [Pa], 1 to 1e7.
    outlet_pressure : array_like, shape (...)
        Absolute pressure at the outlet, not below the inlet. [Pa], 1 to 1e7.
    ratio : array_like, shape (...)
        Heat-capacity ratio k. [-], 1.001 to 5/3.
    on_range : {"raise", "nan"}
        What to do outside that range.

    Returns
    -------
    ndarray, shape (...)
        Temperature at the outlet. [K]

    Raises
    ------
    OutOfRangeError
        Any value out of range or NaN, and ``on_range="raise"``.

    Source
    ------
    Isentropic change of state of an ideal gas; any thermodynamics textbook.
    """
    T_1 = check("inlet temperature", inlet_temperature, 173.15, 523.15, "K", _SOURCE, on_range)
    _, r = _pressures(inlet_pressure, outlet_pressure, on_range)
    k = _ratio(ratio, "heat-capacity ratio", on_range)
    return T_1 * np.exp((k - 1) / k * np.log(r))  # a power would make 1 of 1**nan
