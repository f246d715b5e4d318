"""Viscosity and conductivity of air, with its density and heat capacity, against printed tables and the real gas."""

from __future__ import annotations

import numpy as np
import pytest
from air_states import ATM, kelvin, rows
from CoolProp.CoolProp import PropsSI

from energy.air import moist, transport


@pytest.mark.parametrize("row", rows("dry_air"))
def test_dry_air(row):
    T = kelvin(row["celsius"])
    # Ideal gas: 0.04 % off. Transport: the fits are within 0.06 and 0.04 %, five digits are printed.
    assert 1 / moist.specific_volume(T, 0.0, ATM) == pytest.approx(row["kg_per_cubic_metre"], rel=5e-4)
    assert transport.dynamic_viscosity(T) == pytest.approx(row["pascal_second"], rel=6e-4)
    assert transport.thermal_conductivity(T) == pytest.approx(row["watt_per_metre_kelvin"], rel=4e-4)
    assert moist.heat_capacity(T, 0.0) == pytest.approx(row["joule_per_kg_kelvin"], rel=2e-4)


def test_transport_properties_over_the_whole_range():
    T = np.linspace(173.15, 523.15, 36)
    viscosity, conductivity = (np.array([PropsSI(x, "T", t, "P", ATM, "Air") for t in T]) for x in "VL")
    np.testing.assert_allclose(transport.dynamic_viscosity(T), viscosity, rtol=6e-4)
    np.testing.assert_allclose(transport.thermal_conductivity(T), conductivity, rtol=4e-4)
    hot = np.linspace(523.15, 573.15, 6)  # beyond the fitted range
    viscosity, conductivity = (np.array([PropsSI(x, "T", t, "P", ATM, "Air") for t in hot]) for x in "VL")
    np.testing.assert_allclose(transport.dynamic_viscosity(hot), viscosity, rtol=2e-3)
    np.testing.assert_allclose(transport.thermal_conductivity(hot), conductivity, rtol=1.5e-3)
