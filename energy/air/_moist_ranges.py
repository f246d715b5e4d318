"""The ranges in which moist air is known here, and the checks of its temperature, humidity and pressure."""

from __future__ import annotations

from numpy.typing import ArrayLike

from energy.air._ranges import FloatArray, OnRange, check
from energy.air._saturation_line import COLDEST

HIGHEST_HUMIDITY_RATIO = 10.0
"""Most water per dry air. [kg/kg] Source: range of ASHRAE RP-1485 (Herrmann, Kretzschmar, Gatley 2009)."""

_LEAST_PRESSURE, _MOST_PRESSURE = 1e4, 1.6e6
_DRY_HOTTEST = 573.15
_DRY_SOURCE = "the fits of dry-air properties (-100 to 300 degC)"


def temperature_in_range(temperature: ArrayLike, on_range: OnRange, name: str = "temperature") -> FloatArray:
    return check(name, temperature, COLDEST, _DRY_HOTTEST, "K", _DRY_SOURCE, on_range)


def humidity_ratio_in_range(humidity_ratio: ArrayLike, on_range: OnRange, name: str = "humidity ratio") -> FloatArray:
    return check(name, humidity_ratio, 0.0, HIGHEST_HUMIDITY_RATIO, "kg/kg", "moist air (ASHRAE RP-1485)", on_range)


def pressure_in_range(pressure: ArrayLike, on_range: OnRange) -> FloatArray:
    return check("pressure", pressure, _LEAST_PRESSURE, _MOST_PRESSURE, "Pa", "moist air here", on_range)
