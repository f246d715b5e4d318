"""Heat and volume of moist air against printed tables, the real gas and balances."""

from __future__ import annotations

import numpy as np
import pytest
from air_states import ATM, T_ANY, W_ANY, kelvin, rows
from CoolProp.CoolProp import HAPropsSI, PropsSI
from hypothesis import given
from hypothesis import strategies as st

from energy.air import moist, water_vapour
from energy.air.constants import LIQUID_WATER_HEAT_CAPACITY
from energy.errors import OutOfRangeError


@pytest.mark.parametrize("row", rows("saturated_air"))
def test_saturated_air_as_printed(row):
    T = kelvin(row["celsius"])
    humidity = water_vapour.humidity_ratio(T, ATM)
    # Own fit within 0.04 %; near boiling (57 % vapour at 85 degC) within 0.14 %. Seven decimals are printed.
    assert humidity == pytest.approx(row["W"], rel=1.4e-3 if row["celsius"] > 80 else 4e-4, abs=1e-7)
    # 0.04 % of the humidity; vapour by eq. 30 is 0.05 % (50 degC) to 0.3 % (85 degC) above real vapour.
    assert moist.enthalpy(T, humidity) == pytest.approx(
        row["joule_per_kg"], rel=4e-3 if row["celsius"] > 80 else 1e-3, abs=10
    )


@pytest.mark.published(
    "ASHRAE Handbook - Fundamentals (2017), ch. 1",
    where="Example 1",
    quoted="read in the tests of PsychroLib 2.5.0",
)
def test_state_read_off_the_chart():
    # 40 degC, 0.0065 kg/kg, read off a chart: dew point about 7 degC (half a degree, and 1 % of humidity).
    assert water_vapour.dew_point(0.0065, ATM) == pytest.approx(kelvin(7), abs=0.7)
    assert moist.enthalpy(kelvin(40), 0.0065) == pytest.approx(56.7e3, rel=7e-3)
    assert moist.specific_volume(kelvin(40), 0.0065, ATM) == pytest.approx(0.896, abs=1e-3)


@pytest.mark.parametrize("row", rows("states"))
def test_state_of_real_gas_air(row):
    T, Td, P = kelvin(row["celsius"]), kelvin(row["dew_point"]), row["kilopascal"] * 1e3
    humidity = water_vapour.humidity_ratio(Td, P)
    # The fit leaves 0.05 %, and five decimals of g/kg are printed.
    assert humidity == pytest.approx(row["W"], abs=5e-9 + 5e-4 * row["W"])
    # Dry air: the fit. Vapour: its constant heat capacity costs up to 9 kJ/kg at 200 degC. At 1500 m the
    # enthalpy of real dry air is 0.04 kJ/kg higher.
    tolerance = 6e-3 + 9 * humidity + (0.04 if row["kilopascal"] < 101 else 0)
    assert moist.enthalpy(T, humidity) / 1e3 == pytest.approx(row["kilojoule_per_kg"], abs=tolerance)
    # Ideal gas: real air at 1 atm is 0.2 % denser at -60 degC and 0.05 % lighter at 200 degC.
    assert moist.specific_volume(T, humidity, P) == pytest.approx(row["cubic_metre_per_kg"], rel=2e-3)
    # Vapour at 200 degC takes 1940 instead of 1860 J/(kg K).
    assert moist.heat_capacity(T, humidity) == pytest.approx(row["joule_per_kg_kelvin"], rel=3e-4 + 0.1 * humidity)


# --- enthalpy


def test_dry_air_enthalpy_of_the_real_gas():
    t = np.linspace(-100, 250, 71)
    real = np.array([HAPropsSI("H", "T", kelvin(x), "P", ATM, "W", 0) for x in t])
    np.testing.assert_allclose(moist.dry_air_enthalpy(kelvin(t)), real, atol=10)
    np.testing.assert_allclose(moist.dry_air_enthalpy(kelvin(t[t >= -60])), real[t >= -60], atol=5)
    # Beyond the fitted range, up to the hottest regeneration air.
    hot = np.linspace(250, 300, 11)
    real = np.array([HAPropsSI("H", "T", kelvin(x), "P", ATM, "W", 0) for x in hot])
    np.testing.assert_allclose(moist.dry_air_enthalpy(kelvin(hot)), real, atol=51)


@pytest.mark.parametrize("pressure", [ATM, 84555.93], ids=["sea level", "1500 m"])
@pytest.mark.parametrize("dew", [-60, -40, -20, 0, 10, 20, 30])
def test_heat_to_warm_air_is_that_of_the_real_gas(dew, pressure):
    W = HAPropsSI("W", "T", kelvin(60), "D", kelvin(dew), "P", pressure)
    start = max(20, dew)
    for t in (60, 80, 100, 120, 150, 180, 200):
        states = [HAPropsSI("H", "T", kelvin(x), "P", pressure, "W", W) for x in (start, t)]
        rise = moist.enthalpy(kelvin(t), W) - moist.enthalpy(kelvin(start), W)
        # Dry air: the fit, and 0.03 % from pressure. Moist: 1860 J/(kg K) is 1 to 4 % low, times W = 0.03.
        assert rise == pytest.approx(states[1] - states[0], rel=3e-4 if dew <= -20 else 1.5e-3)


@given(st.floats(173.15, 523.15), st.floats(0.0, 10.0))
def test_temperature_from_enthalpy_is_the_inverse_to_rounding(T, W):
    assert moist.temperature_from_enthalpy(moist.enthalpy(T, W), W) == pytest.approx(T, rel=1e-12)


@given(st.floats(174.0, 523.0), st.floats(0.0, 1.0))
def test_heat_capacity_is_the_slope_of_enthalpy(T, W):
    slope = (moist.enthalpy(T + 0.01, W) - moist.enthalpy(T - 0.01, W)) / 0.02
    assert moist.heat_capacity(T, W) == pytest.approx(slope, rel=1e-7)


def test_enthalpy_is_the_sum_of_dry_air_and_vapour():
    expected = moist.dry_air_enthalpy(T_ANY) + W_ANY * moist.vapour_enthalpy(T_ANY)
    np.testing.assert_allclose(moist.enthalpy(T_ANY, W_ANY), expected, rtol=1e-14)


@given(
    st.floats(1e-3, 1e3),
    st.floats(173.15, 523.15),
    st.floats(0.0, 1.0),
    st.floats(0.0, 1e3),
    st.floats(173.15, 523.15),
    st.floats(0.0, 1.0),
)
def test_mixing_conserves_air_water_and_enthalpy(m_1, T_1, W_1, m_2, T_2, W_2):
    m, T, W = moist.mix(m_1, T_1, W_1, m_2, T_2, W_2)
    h_in = m_1 * moist.enthalpy(T_1, W_1), m_2 * moist.enthalpy(T_2, W_2)
    assert m == m_1 + m_2
    assert m * W == pytest.approx(m_1 * W_1 + m_2 * W_2, rel=1e-14)
    scale = m * 1e5 + abs(h_in[0]) + abs(h_in[1])
    assert abs(m * moist.enthalpy(T, W) - sum(h_in)) <= 1e-13 * scale


def test_mixing_with_nothing_or_with_itself_changes_nothing():
    assert moist.mix(2.0, 300.0, 0.01, 0.0, 350.0, 0.5) == pytest.approx((2.0, 300.0, 0.01))
    assert moist.mix(2.0, 300.0, 0.01, 1.0, 300.0, 0.01) == pytest.approx((3.0, 300.0, 0.01))
    with pytest.raises(OutOfRangeError, match=r"flow 1 \+ flow 2"):
        moist.mix(0.0, 300.0, 0.01, 0.0, 350.0, 0.01)


@pytest.mark.published(
    "ASHRAE Handbook - Fundamentals (2017), ch. 1",
    where="Table 2, dry air, 25 degC",
    quoted="read in the tests of PsychroLib 2.5.0",
)
def test_dry_air_as_printed():
    # Printed 25148 from real gas; the cubic is within 5. Volume is ideal here.
    assert moist.enthalpy(kelvin(25), 0.0) == pytest.approx(25148, abs=5)
    assert moist.specific_volume(kelvin(25), 0.0, ATM) == pytest.approx(0.8443, abs=4e-4)


def test_liquid_water_takes_what_iapws_says():
    real = [PropsSI("C", "T", t, "P", ATM, "Water") for t in np.linspace(278.15, 372.15, 48)]
    assert np.mean(real) == pytest.approx(LIQUID_WATER_HEAT_CAPACITY, rel=2e-3)
    assert 4179 <= min(real) < max(real) <= 4215
