"""Conveying of pellets and the ducts of an air system, against real air, the exact flow of heat, and by hand."""

from __future__ import annotations

import numpy as np
import pytest
from CoolProp.CoolProp import PropsSI

from energy.equipment import conveying

COLD = 293.15
DENSITY = PropsSI("D", "T", COLD, "P", 101325.0, "Air")


@pytest.mark.parametrize("pressure", [10e3, 30e3])
def test_conveying_work_against_real_air(pressure):
    """Air sucked in behind the line at 1 bar less its pressure drop, brought back to 1 bar along an isentrope."""
    inlet = 1e5 - pressure
    entropy, start = (PropsSI(name, "T", COLD, "P", inlet, "Air") for name in ("S", "H"))
    per_air = PropsSI("H", "S", entropy, "P", 1e5, "Air") - start
    # 5 kg of pellets go with a kilogram of air; half of what the motor takes reaches the air.
    assert conveying.conveying_work(5.0, pressure, 0.5) == pytest.approx(per_air / 5.0 / 0.5, rel=2e-3)


def test_conveying_work_by_hand():
    # 70 to 100 kPa: 3.5 x 287.042 x 293.15 J/kg x (0.7^(-2/7) - 1) = 31.595 kJ per kg of air.
    assert conveying.conveying_work(np.array([1.0, 10.0]), 30e3, np.array([[1.0], [0.4]])) == pytest.approx(
        np.array([[31595.0, 3159.5], [78988.0, 7898.8]]), rel=1e-4
    )


def test_duct_carries_its_flow_at_its_velocity():
    diameter = conveying.duct_diameter(1.2, 15.0, COLD)
    assert DENSITY * 15.0 * 0.25 * np.pi * diameter**2 == pytest.approx(1.2, rel=5e-4)  # air as an ideal gas


def test_duct_pressure_by_hand():
    # Friction 0.02 over 30 m of 0.25 m, and half as much again for fittings: 3.6 dynamic pressures.
    found = conveying.duct_pressure(30.0, 0.25, 15.0, COLD)
    assert found == pytest.approx(3.6 * 0.5 * DENSITY * 15.0**2, rel=5e-4)


def test_duct_conductance_by_hand():
    # Bare: 10 m x pi x 0.25 m x 8 W/(m2 K). With 50 mm: ln(0.35 / 0.25) / (2 pi 0.04) + 1 / (pi 0.35 x 8) = 1.45246 m K/W.
    found = conveying.duct_conductance(10.0, 0.25, [0.0, 0.05])
    assert found == pytest.approx([62.832, 10.0 / 1.45246], rel=1e-5)
