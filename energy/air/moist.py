"""Moist air: saturation, humidity, enthalpy, volume, transport properties and mixing.

Humidity is carried as humidity ratio or as frost/dew point, never as relative humidity: in hot air the
saturation pressure exceeds the total pressure and relative humidity loses its meaning. Below 0.01 degC every
"dew point" here is the frost point, over ice. Enthalpy is zero for dry air and for liquid water at 0 degC.

Every function takes arrays that broadcast, and plain floats, and never changes its inputs. Values out of
range and NaN are refused with ``on_range="raise"`` and answered with NaN with ``on_range="nan"``.
"""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
from numpy.typing import ArrayLike, NDArray

from energy.air._ranges import FloatArray, OnRange, check

ZERO_CELSIUS = 273.15
"""Zero of the Celsius scale. [K]"""

TRIPLE_POINT = 273.16
"""Temperature at which ice, water and vapour meet. [K] Ice below, water from here on."""

MASS_RATIO = 0.621945
"""Molar mass of water over that of dry air. [-] Source: ASHRAE Fundamentals 2017, ch. 1, eq. 20."""

LIQUID_WATER_HEAT_CAPACITY = 4186.0
"""Specific heat of liquid water. [J/(kg K)] Source: IAPWS-95 by CoolProp, 4179 to 4215 from 5 to 99 degC."""

HIGHEST_HUMIDITY_RATIO = 10.0
"""Most water per dry air. [kg/kg] Source: range of ASHRAE RP-1485 (Herrmann, Kretzschmar, Gatley 2009)."""

_BLOCK = 8192  # values worked on at a time: temporaries then stay in the processor's cache

# ASHRAE Fundamentals 2017, ch. 1, eqs 5 and 6: ln p = c/T + polynomial(T) + d ln T; p in Pa, T in K.
_ICE = (-5.6745359e3, (6.3925247, -9.677843e-3, 6.2215701e-7, 2.0747825e-9, -9.484024e-13), 4.1635019)
_WATER = (-5.8002206e3, (1.3914993, -4.8640239e-2, 4.1764768e-5, -1.4452093e-8), 6.5459673)
_EQ_5 = "ASHRAE Fundamentals 2017 eq. 5"
_EQ_6 = "ASHRAE Fundamentals 2017 eq. 6"
_EQS = "ASHRAE Fundamentals 2017 eqs 5 and 6"
_COLDEST, _HOTTEST = 173.15, 473.15  # of eqs 5 and 6 together [K]
_LEAST, _MOST = 1.4051021e-3, 1.5550738e6  # saturation pressure there, rounded outward [Pa]
_LOG_TRIPLE = 6.4161717135  # ln of the saturation pressure in Pa at the triple point

# Start of the inverse, fitted to eqs 5 and 6: temperature within 4e-4 K; one Newton step then ends at 1e-8 K.
# Ice: 1/T as a polynomial of ln p; water: T.
_START_ICE = (4.70430621e-3, -1.62722879e-4, 4.09714338e-8, -3.02126429e-9, -1.61714589e-10)
_START_WATER = (222.8534, -3.056695, 3.448449, -0.490000024, 0.0461266098, -2.23614204e-3, 5.05286276e-5)

# Enhancement factor, fitted: see enhancement_factor. Pressures in bar, u = 273.15/T - 1.
_F_FAR = (3.513592e-3, 9.435476e-3, 9.649186e-3, 2.636076e-3)
_F_NEAR = (6.092705e-2, 2.422666e-1, 2.633967e-1)
_F_PRESSURE = 9.543999e-6
_F_HOTTEST = 453.15
_F_SOURCE = "the enhancement factor (real-gas moist air, ASHRAE RP-1485)"
_LEAST_PRESSURE, _MOST_PRESSURE = 1e4, 1.6e6

# Dry air at 1 atm. Heat capacities in J/(kg K) of t in degC; viscosity in 1e-6 Pa s, conductivity of T/100 K.
_DRY_MEAN_HEAT_CAPACITY = (1005.6468, 7.70487e-3, 1.349173e-4)  # from 0 degC to t: enthalpy / t
_DRY_HEAT_CAPACITY = (1005.6468, 2 * 7.70487e-3, 3 * 1.349173e-4)  # at t
_VAPOUR_HEAT, _VAPOUR_HEAT_CAPACITY = 2501e3, 1860.0
_VISCOSITY = (-0.03595212, 7.884335, -0.6726202, 0.03617091)
_CONDUCTIVITY = (-7.382211e-4, 1.1025727e-2, -7.866043e-4, 4.176718e-5)
_DRY_HOTTEST = 573.15
_DRY_SOURCE = "the fits of dry-air properties (-100 to 300 degC)"


def _polynomial(x: FloatArray, coefficients: tuple[float, ...]) -> FloatArray:
    """Polynomial of x, coefficients from the constant upwards (Horner)."""
    result = coefficients[-1] * x
    for coefficient in coefficients[-2:0:-1]:
        result += coefficient
        result *= x
    result += coefficients[0]
    return result


def _in_blocks(kernel: Callable[..., FloatArray], *arguments: FloatArray) -> FloatArray:
    """The kernel over the broadcast arguments, block by block where they are large; a scalar for scalars."""
    together = np.broadcast(*arguments)
    size, shape = together.size, together.shape
    if size <= _BLOCK:
        return np.asarray(kernel(*arguments))[()]
    if size <= _BLOCK * shape[0]:  # along the first axis: what is alike along others is worked on once
        result: FloatArray = np.empty(shape)
        step = _BLOCK * shape[0] // size
        long = [a.ndim == len(shape) and len(a) > 1 for a in arguments]
        for start in range(0, shape[0], step):
            rows = slice(start, start + step)
            result[rows] = kernel(*(a[rows] if cut else a for a, cut in zip(arguments, long, strict=True)))
        return result
    flat = [a if a.ndim == 0 else np.broadcast_to(a, shape).reshape(-1) for a in arguments]
    result = np.empty(size)
    for start in range(0, size, _BLOCK):
        part = slice(start, start + _BLOCK)
        result[part] = kernel(*(a if a.ndim == 0 else a[part] for a in flat))
    return result.reshape(shape)


# ---------------------------------------------------------------------------------------------- saturation


def _log_branch(T: FloatArray, log_T: FloatArray, branch: tuple[float, tuple[float, ...], float]) -> FloatArray:
    c, polynomial, d = branch
    return c / T + _polynomial(T, polynomial) + d * log_T


def _ice_or_water(
    cold: NDArray[np.bool_], ice: Callable[[], FloatArray], water: Callable[[], FloatArray]
) -> FloatArray:
    """Either branch where all values are on its side, as most often; both, chosen one by one, where they are not."""
    if not cold.any():
        return water()
    return ice() if cold.all() else np.where(cold, ice(), water())


def _log_saturation(T: FloatArray) -> FloatArray:
    log_T = np.log(T)
    cold = np.asarray(T < TRIPLE_POINT)
    return _ice_or_water(cold, lambda: _log_branch(T, log_T, _ICE), lambda: _log_branch(T, log_T, _WATER))


def _log_slope(T: FloatArray) -> FloatArray:
    """d ln p / dT of the saturation line."""

    def slope(branch: tuple[float, tuple[float, ...], float]) -> FloatArray:
        c, polynomial, d = branch
        derivative = tuple(i * a for i, a in enumerate(polynomial))[1:]
        return (d - c / T) / T + _polynomial(T, derivative)

    return _ice_or_water(np.asarray(T < TRIPLE_POINT), lambda: slope(_ICE), lambda: slope(_WATER))


def _start(log_p: FloatArray) -> FloatArray:
    """Saturation temperature within 4e-4 K."""
    cold = np.asarray(log_p < _LOG_TRIPLE)
    return _ice_or_water(cold, lambda: 1 / _polynomial(log_p, _START_ICE), lambda: _polynomial(log_p, _START_WATER))


def _temperature_at(log_p: FloatArray) -> FloatArray:
    T = _start(log_p)
    return T - (_log_saturation(T) - log_p) / _log_slope(T)


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
    T = check("temperature", temperature, _COLDEST, TRIPLE_POINT, "K", _EQ_5, on_range)
    return _in_blocks(lambda t: np.exp(_log_branch(t, np.log(t), _ICE)), T)


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
    T = check("temperature", temperature, ZERO_CELSIUS, _HOTTEST, "K", _EQ_6, on_range)
    return _in_blocks(lambda t: np.exp(_log_branch(t, np.log(t), _WATER)), T)


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
    T = check("temperature", temperature, _COLDEST, _HOTTEST, "K", _EQS, on_range)
    return _in_blocks(lambda t: np.exp(_log_saturation(t)), T)


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
    p = check("vapour pressure", vapour_pressure, _LEAST, _MOST, "Pa", _EQS, on_range)
    return _in_blocks(lambda q: np.clip(_temperature_at(np.log(q)), _COLDEST, _HOTTEST), p)  # rounding at the ends


# ------------------------------------------------------------------------------------------------ humidity


def _log_enhancement(T: FloatArray, p_sat: FloatArray, P: FloatArray) -> FloatArray:
    u = ZERO_CELSIUS / T - 1
    slope = _polynomial(u, _F_FAR) + p_sat / P * _polynomial(u, _F_NEAR) + (1e-5 * _F_PRESSURE) * P
    return 1e-5 * (P - p_sat) * slope


def _humidity_ratio(T: FloatArray, P: FloatArray) -> FloatArray:
    p_sat = np.exp(_log_saturation(T))
    p_w = p_sat * np.exp(_log_enhancement(T, p_sat, P))
    return np.where(p_sat < P, MASS_RATIO * p_w / (P - p_w), np.inf)  # no such air: the check of the result says so


def _dew_point(W: FloatArray, P: FloatArray) -> FloatArray:
    p_w = P * W / (MASS_RATIO + W)
    p_w = np.where(p_w < _LEAST, np.nan, p_w)  # no such frost point: the check of the result says so
    log_w = np.log(p_w)
    log_sat = log_w - _log_enhancement(_start(log_w), p_w, P)
    for _ in range(3):  # each round leaves at most 3 % of the error
        log_sat = log_w - _log_enhancement(_start(log_sat), np.exp(log_sat), P)
    T = _temperature_at(log_sat)
    end = np.clip(T, _COLDEST, _F_HOTTEST)
    return np.where(np.abs(T - end) < 1e-5, end, T)  # what the iteration leaves; anything else is for the check


def _pressure(pressure: ArrayLike, on_range: OnRange) -> FloatArray:
    return check("pressure", pressure, _LEAST_PRESSURE, _MOST_PRESSURE, "Pa", "moist air here", on_range)


def _ratio(humidity_ratio: ArrayLike, on_range: OnRange, name: str = "humidity ratio") -> FloatArray:
    return check(name, humidity_ratio, 0.0, HIGHEST_HUMIDITY_RATIO, "kg/kg", "moist air (ASHRAE RP-1485)", on_range)


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
    T = check("temperature", temperature, _COLDEST, _F_HOTTEST, "K", _F_SOURCE, on_range)
    P = _pressure(pressure, on_range)
    p_sat = saturation_pressure(T, on_range=on_range)
    check("saturation pressure / pressure", p_sat / P, 0.0, 1.0, "", _F_SOURCE, on_range)
    return _in_blocks(lambda t, s, p: np.where(s > p, np.nan, np.exp(_log_enhancement(t, s, p))), T, p_sat, P)


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
    T = check("dew point", dew_point, _COLDEST, _F_HOTTEST, "K", _F_SOURCE, on_range)
    W = _in_blocks(_humidity_ratio, T, _pressure(pressure, on_range))
    return _ratio(W, on_range, "humidity ratio at this dew point and pressure")[()]


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
    W, P = _ratio(humidity_ratio, on_range), _pressure(pressure, on_range)
    name = "dew point at this humidity ratio and pressure"
    return check(name, _in_blocks(_dew_point, W, P), _COLDEST, _F_HOTTEST, "K", _F_SOURCE, on_range)[()]


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
    W, P = _ratio(humidity_ratio, on_range), _pressure(pressure, on_range)
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
    T = check("temperature", temperature, _COLDEST, _HOTTEST, "K", _EQS, on_range)
    Td = check("dew point", dew_point, _COLDEST, _HOTTEST, "K", _EQS, on_range)
    return _in_blocks(lambda t, d: np.exp(_log_saturation(d) - _log_saturation(t)), T, Td)


# ------------------------------------------------------------------------------------------------ enthalpy


def _temperature(temperature: ArrayLike, on_range: OnRange, name: str = "temperature") -> FloatArray:
    return check(name, temperature, _COLDEST, _DRY_HOTTEST, "K", _DRY_SOURCE, on_range)


def _enthalpy(T: FloatArray, W: FloatArray) -> FloatArray:
    t = T - ZERO_CELSIUS
    dry = _polynomial(t, _DRY_MEAN_HEAT_CAPACITY)
    dry *= t
    t *= _VAPOUR_HEAT_CAPACITY
    t += _VAPOUR_HEAT
    return dry + W * t


def _heat_capacity(T: FloatArray, W: FloatArray) -> FloatArray:
    return _polynomial(T - ZERO_CELSIUS, _DRY_HEAT_CAPACITY) + W * _VAPOUR_HEAT_CAPACITY


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
    return _in_blocks(lambda T: _enthalpy(T, np.asarray(0.0)), _temperature(temperature, on_range))


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
    return _VAPOUR_HEAT + _VAPOUR_HEAT_CAPACITY * (_temperature(temperature, on_range) - ZERO_CELSIUS)


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
    return _in_blocks(_enthalpy, _temperature(temperature, on_range), _ratio(humidity_ratio, on_range))


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
    return _in_blocks(_heat_capacity, _temperature(temperature, on_range), _ratio(humidity_ratio, on_range))


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
    h, W = np.asarray(enthalpy, dtype=np.float64), _ratio(humidity_ratio, on_range)
    T = _in_blocks(_temperature_from_enthalpy, h, W)
    return _temperature(T, on_range, "temperature at this enthalpy and humidity ratio")[()]


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
    W_1, W_2 = _ratio(humidity_ratio_1, on_range), _ratio(humidity_ratio_2, on_range)
    h_1, h_2 = (
        enthalpy(temperature_1, W_1, on_range=on_range),
        enthalpy(temperature_2, W_2, on_range=on_range),
    )
    W = (m_1 * W_1 + m_2 * W_2) / m
    T = temperature_from_enthalpy((m_1 * h_1 + m_2 * h_2) / m, W, on_range=on_range)
    m, W = np.broadcast_arrays(m, W, T)[:2]
    return m[()], T, W[()]


# --------------------------------------------------------------------------- volume, transport, atmosphere


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
    T, W = _temperature(temperature, on_range), _ratio(humidity_ratio, on_range)
    return _in_blocks(lambda t, w, p: 287.042 * t * (1 + 1.607858 * w) / p, T, W, _pressure(pressure, on_range))


def dynamic_viscosity(temperature: ArrayLike, *, on_range: OnRange = "raise") -> FloatArray:
    """Dynamic viscosity of dry air near 1 atm.

    Parameters
    ----------
    temperature : array_like, shape (...)
        Air temperature. [K], 173.15 to 573.15.
    on_range : {"raise", "nan"}
        What to do outside that range.

    Returns
    -------
    ndarray, shape (...)
        Dynamic viscosity, within 0.06 % of its source up to 250 degC, 0.2 % up to 300 degC; 1 % higher at 1 MPa. [Pa s]

    Raises
    ------
    OutOfRangeError
        Any value out of range or NaN, and ``on_range="raise"``.

    Source
    ------
    Own cubic fit to CoolProp 8.0.0 (Lemmon and Jacobsen 2004).
    """
    return _in_blocks(lambda T: 1e-6 * _polynomial(0.01 * T, _VISCOSITY), _temperature(temperature, on_range))


def thermal_conductivity(temperature: ArrayLike, *, on_range: OnRange = "raise") -> FloatArray:
    """Thermal conductivity of dry air near 1 atm.

    Parameters
    ----------
    temperature : array_like, shape (...)
        Air temperature. [K], 173.15 to 573.15.
    on_range : {"raise", "nan"}
        What to do outside that range.

    Returns
    -------
    ndarray, shape (...)
        Thermal conductivity, within 0.04 % of its source up to 250 degC, 0.15 % up to 300 degC; about 1 % higher at 1 MPa. [W/(m K)]

    Raises
    ------
    OutOfRangeError
        Any value out of range or NaN, and ``on_range="raise"``.

    Source
    ------
    Own cubic fit to CoolProp 8.0.0 (Lemmon and Jacobsen 2004).
    """
    return _in_blocks(lambda T: _polynomial(0.01 * T, _CONDUCTIVITY), _temperature(temperature, on_range))


def pressure_at_altitude(altitude: ArrayLike, *, on_range: OnRange = "raise") -> FloatArray:
    """Pressure of the standard atmosphere.

    Parameters
    ----------
    altitude : array_like, shape (...)
        Height above sea level. [m], -5000 to 11000.
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
    ASHRAE Handbook - Fundamentals (2017), ch. 1, eq. 3.
    """
    z = check("altitude", altitude, -5000.0, 11000.0, "m", "ASHRAE Fundamentals 2017 eq. 3", on_range)
    return 101325 * (1 - 2.25577e-5 * z) ** 5.2559
