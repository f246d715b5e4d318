"""Surface water of a pellet: its heat balance, and saturated air."""

from __future__ import annotations

import numpy as np
import pytest
from CoolProp.CoolProp import PropsSI

from energy.air.wet_bulb import wet_bulb_temperature
from energy.errors import OutOfRangeError
from energy.resins.surface_water import surface_drying_time


def test_surface_drying_closes_the_heat_balance():
    # 0.2 % on 3 mm polypropylene in air of 80 degC, 0.2 m/s in the bed (93.7 W/(m2 K), Wakao and Kaguei).
    wet_bulb = wet_bulb_temperature(353.15, 0.01, 101325.0)
    time = surface_drying_time(0.002, 3e-3, 905.0, 353.15, wet_bulb, 93.7)
    heat = 93.7 * np.pi * 3e-3**2 * (353.15 - wet_bulb) * time
    vaporisation = PropsSI("H", "T", wet_bulb, "Q", 1, "Water") - PropsSI("H", "T", wet_bulb, "Q", 0, "Water")
    water = 0.002 * 905.0 * np.pi * 3e-3**3 / 6.0
    assert heat == pytest.approx(water * vaporisation, rel=1e-3)  # vapour as an ideal gas
    assert time < 600.0  # minutes, where water inside a pellet takes hours


def test_surface_drying_stops_in_saturated_air():
    assert surface_drying_time(0.0, 3e-3, 905.0, 353.15, 305.0, 90.0) == 0.0
    with pytest.raises(OutOfRangeError, match="warmer than its wet bulb"):
        surface_drying_time(0.002, 3e-3, 905.0, 305.0, 305.0, 90.0)
    some = surface_drying_time([0.002, -1.0, 0.002], 3e-3, 905.0, [350.0, 350.0, 300.0], 305.0, 90.0, on_range="nan")
    assert np.isnan(some).tolist() == [False, True, True]
