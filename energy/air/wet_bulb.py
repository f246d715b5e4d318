"""Wet-bulb temperature: that of a wet surface in an air stream."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from energy.air import moist, water_vapour
from energy.air._moist_ranges import HIGHEST_HUMIDITY_RATIO
from energy.air._ranges import FloatArray, OnRange, check, floats
from energy.air.constants import LIQUID_WATER_HEAT_CAPACITY, ZERO_CELSIUS


def wet_bulb_temperature(
    air_temperature: ArrayLike, humidity_ratio: ArrayLike, pressure: ArrayLike, *, on_range: OnRange = "raise"
) -> FloatArray:
    r"""Temperature of a wet surface in an air stream: that of adiabatic saturation (Lewis number one).

    .. math:: h(T, W_s(T)) = h(T_{air}, W) + (W_s(T) - W)\, h_{water}(T)

    Parameters
    ----------
    air_temperature : array_like, shape (...)
        Of the air. [K]
    humidity_ratio : array_like, shape (...)
        Of the air. [kg/kg], up to saturation.
    pressure : array_like, shape (...)
        Total pressure. [Pa]
    on_range : {"raise", "nan"}
        What to do outside these ranges.

    Returns
    -------
    ndarray, shape (...)
        Wet-bulb temperature, 0 degC or more. [K], balance closed to 1e-6 K.

    Raises
    ------
    OutOfRangeError
        Any value out of range or NaN, and ``on_range="raise"``.

    Source
    ------
    ASHRAE Handbook - Fundamentals (2017), ch. 1, thermodynamic wet-bulb temperature, with the real-gas
    saturation and enthalpy of ``energy.air``.
    """
    t_air, w, p = (floats(x) for x in (air_temperature, humidity_ratio, pressure))
    h_air = moist.enthalpy(t_air, w, on_range=on_range)

    def excess(t: FloatArray) -> FloatArray:
        saturated = water_vapour.humidity_ratio(t, p, on_range=on_range)
        water = LIQUID_WATER_HEAT_CAPACITY * (t - ZERO_CELSIUS)
        return moist.enthalpy(t, saturated, on_range=on_range) - h_air - (saturated - w) * water

    # Convex and rising: the secant rule comes down from the warm side, the air itself or boiling.
    boiling = water_vapour.dew_point(0.999 * HIGHEST_HUMIDITY_RATIO, p, on_range=on_range)
    late = np.minimum(t_air, boiling) + np.zeros(w.shape)
    at_late = check("enthalpy below saturation", excess(late), -1e-3, np.inf, "J/kg", "air not saturated", on_range)
    t, step = late - 1.0, np.ones(())
    for _ in range(60):
        value = excess(t)
        open_ = np.abs(step) > 1e-6
        if not open_.any():
            break
        step = np.where(open_, value * (late - t) / np.where(open_, at_late - value, 1.0), 0.0)
        late, at_late, t = t, value, t - step
    return check("wet-bulb temperature", t, ZERO_CELSIUS, np.inf, "K", "a surface wet with water", on_range)[()]
