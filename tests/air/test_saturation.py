"""Saturation of water against printed tables, IAPWS and itself backwards."""

from __future__ import annotations

import numpy as np
import pytest
from air_states import kelvin, rows
from hypothesis import given
from hypothesis import strategies as st

from energy.air import saturation
from energy.errors import OutOfRangeError


def test_range_message_says_what_is_wrong_and_what_is_allowed():
    with pytest.raises(OutOfRangeError) as caught:
        saturation.saturation_pressure_ice([200.0, 300.0, np.nan])
    assert str(caught.value) == (
        "temperature = 300 K is outside 173.15 to 273.16 K, the range of ASHRAE Fundamentals 2017 eq. 5 (2 of 3 values)"
    )
    with pytest.raises(ValueError, match="write 'raise' or 'nan'"):
        saturation.saturation_pressure_ice(200.0, on_range="clip")


def test_rounding_of_unit_conversion_does_not_matter_at_the_ends():
    assert -100 + 273.15 < 173.15
    assert saturation.saturation_pressure(-100 + 273.15) == pytest.approx(
        saturation.saturation_pressure(173.15), rel=1e-12
    )
    with pytest.raises(OutOfRangeError):
        saturation.saturation_pressure(173.15 - 1e-9)


@pytest.mark.parametrize("row", rows("saturation_printed"))
def test_saturation_pressure_as_printed(row):
    # The table prints IAPWS values; Hyland-Wexler differs by up to 0.033 %. At -60 degC three digits stand.
    assert saturation.saturation_pressure(kelvin(row["celsius"])) == pytest.approx(row["pascal"], rel=3.3e-4, abs=5e-3)


@pytest.mark.parametrize("row", rows("saturation_iapws"))
def test_saturation_pressure_agrees_with_iapws(row):
    assert saturation.saturation_pressure(kelvin(row["celsius"])) == pytest.approx(row["pascal"], rel=3.3e-4)


@pytest.mark.parametrize("row", rows("saturation_equations"))
def test_saturation_pressure_is_that_of_the_equations(row):
    # Six digits, or six decimals, are printed.
    assert saturation.saturation_pressure(kelvin(row["celsius"])) == pytest.approx(row["pascal"], rel=5e-6, abs=5e-7)


def test_ice_and_water_meet_at_the_triple_point():
    ice, water = saturation.saturation_pressure_ice(273.16), saturation.saturation_pressure_water(273.16)
    assert ice == pytest.approx(water, rel=1e-8)
    assert saturation.saturation_pressure(273.16 - 1e-9) == pytest.approx(ice, rel=1e-9)


@given(st.floats(173.15, 473.15))
def test_saturation_temperature_is_the_inverse(T):
    assert saturation.saturation_temperature(saturation.saturation_pressure(T)) == pytest.approx(T, abs=1e-7)


def test_saturation_pressure_never_falls():
    assert (np.diff(saturation.saturation_pressure(np.linspace(173.15, 473.15, 300_001))) > 0).all()
