"""Wet-bulb temperature against the real gas and a handbook's example."""

from __future__ import annotations

import numpy as np
import pytest
from CoolProp.CoolProp import HAPropsSI

from energy.air.wet_bulb import wet_bulb_temperature
from energy.errors import OutOfRangeError


def test_wet_bulb_against_coolprop():
    # CoolProp follows ASHRAE RP-1485; the gap of 0.03 K in hot wet air is that of the fits of enthalpy.
    for celsius, ratio, pressure in (
        (120, 0.01, 101325),
        (80, 0.01, 101325),
        (60, 0.02, 9e4),
        (180, 0.03, 101325),
    ):
        expected = HAPropsSI("B", "T", celsius + 273.15, "W", ratio, "P", pressure)
        assert wet_bulb_temperature(celsius + 273.15, ratio, pressure) == pytest.approx(expected, abs=0.04)


@pytest.mark.published("ASHRAE Fundamentals 2017, ch. 1", where="Example 1", quoted="read in PsychroLib tests")
def test_wet_bulb_of_the_handbook_example():
    # 40 degC and wet bulb 20 degC: printed W = 0.0065, half a digit of which is 0.12 K.
    assert wet_bulb_temperature(313.15, 0.0065, 101325.0) == pytest.approx(293.15, abs=0.12)


def test_wet_bulb_arrays_and_range():
    many = wet_bulb_temperature([353.15, 313.15], [0.01, 0.02], 101325.0)
    assert many == pytest.approx(
        [wet_bulb_temperature(353.15, 0.01, 101325.0), wet_bulb_temperature(313.15, 0.02, 101325.0)]
    )
    with pytest.raises(OutOfRangeError, match="air not saturated"):
        wet_bulb_temperature(293.15, 0.03, 101325.0)
    with pytest.raises(OutOfRangeError, match="wet-bulb temperature"):
        wet_bulb_temperature(274.15, 0.0, 101325.0)
    assert np.isnan(wet_bulb_temperature([353.15, 293.15], [0.01, 0.03], 101325.0, on_range="nan")).tolist() == [
        False,
        True,
    ]
