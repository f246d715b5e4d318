"""Moist air against printed tables, IAPWS, real-gas moist air, and itself backwards."""

from __future__ import annotations

import inspect
import tomllib
from pathlib import Path

import numpy as np
import pytest
from CoolProp.CoolProp import HAPropsSI, PropsSI
from hypothesis import assume, given
from hypothesis import strategies as st

from energy.air import moist
from energy.errors import OutOfRangeError

TABLES = tomllib.loads((Path(__file__).parents[1] / "published" / "moist_air.toml").read_text("utf-8"))
ATM = 101325.0


def rows(table):
    return [
        pytest.param(
            row,
            id=row["where"],
            marks=pytest.mark.published(row["source"], where=row["where"], quoted=row["quoted"]),
        )
        for row in TABLES[table]
    ]


def kelvin(celsius):
    return celsius + 273.15


# Per public function: arguments inside its range, as arrays, and one value outside for each argument.
T_ANY = np.array([173.15, 233.15, 273.15, 273.16, 300.0, 372.0, 453.15])
T_DEW = np.array([173.15, 233.15, 253.15, 273.16, 280.0, 300.0, 340.0])
W_ANY = np.array([1e-6, 1e-4, 2e-3, 0.01, 0.03, 0.2, 1.0])
P_ANY = np.array([ATM, 84556.0, 8e5, 5e4, 1.3e6, ATM, 1.6e6])
FLOW = np.array([0.0, 0.2, 1.0, 2.0, 0.1, 0.3, 5.0])
CASES = {
    "saturation_pressure": ([T_ANY], [480.0]),
    "saturation_pressure_ice": ([T_ANY[:4]], [274.0]),
    "saturation_pressure_water": ([T_ANY[2:]], [260.0]),
    "saturation_temperature": ([np.array([2e-3, 1.0, 611.0, 612.0, 1e4, ATM, 1.5e6])], [1e-3]),
    "enhancement_factor": ([T_DEW, P_ANY], [460.0, 9e3]),
    "humidity_ratio": ([T_DEW, P_ANY], [400.0, 2e6]),
    "dew_point": ([W_ANY, P_ANY], [0.0, 9e3]),
    "vapour_pressure": ([W_ANY, P_ANY], [-1e-9, 2e6]),
    "relative_humidity": ([T_ANY, T_DEW], [480.0, 100.0]),
    "dry_air_enthalpy": ([T_ANY], [580.0]),
    "vapour_enthalpy": ([T_ANY], [170.0]),
    "enthalpy": ([T_ANY, W_ANY], [170.0, -1e-9]),
    "heat_capacity": ([T_ANY, W_ANY], [580.0, 11.0]),
    "temperature_from_enthalpy": ([1e5 + 2.5e6 * W_ANY, W_ANY], [1e9, -1e-9]),
    "mix": ([FLOW, T_ANY, W_ANY, FLOW[::-1], T_DEW, W_ANY[::-1]], [-1.0, 1.0, 11.0, 2e6, 580.0, -1.0]),
    "specific_volume": ([T_ANY, W_ANY, P_ANY], [580.0, -1e-9, 0.0]),
    "dynamic_viscosity": ([T_ANY], [580.0]),
    "thermal_conductivity": ([T_ANY], [170.0]),
    "pressure_at_altitude": ([np.array([-500.0, 0.0, 300.0, 1500.0])], [12000.0]),
}


def test_every_public_function_is_in_the_cases_below():
    public = {
        name
        for name, value in inspect.getmembers(moist, inspect.isfunction)
        if value.__module__ == moist.__name__ and not name.startswith("_")
    }
    assert public == set(CASES)


@pytest.mark.parametrize("name", CASES)
def test_array_equals_each_scalar_and_leaves_its_inputs_alone(name):
    function, arguments = getattr(moist, name), CASES[name][0]
    before = [a.copy() for a in arguments]
    for a in arguments:
        a.setflags(write=False)
    result = np.array(function(*arguments))
    one_by_one = np.array([function(*map(float, row)) for row in zip(*arguments, strict=True)])
    # Vectorised and scalar exp and log may differ in the last digit.
    np.testing.assert_allclose(result, np.moveaxis(one_by_one, 0, -1), rtol=1e-12)
    for a, b in zip(arguments, before, strict=True):
        np.testing.assert_array_equal(a, b)


@pytest.mark.parametrize("name", CASES)
def test_large_arrays_equal_small_ones(name):
    function, arguments = getattr(moist, name), CASES[name][0]
    small = np.array(function(*arguments))
    large = np.array(function(*(np.tile(a, (3000, 1)) for a in arguments)))  # more than two blocks, two axes
    np.testing.assert_allclose(large, np.broadcast_to(small[..., None, :], large.shape), rtol=1e-12)


@pytest.mark.parametrize(("name", "position"), [(n, i) for n, (a, _) in CASES.items() for i in range(len(a))])
def test_out_of_range_is_an_error_or_nan(name, position):
    function, (arguments, outside) = getattr(moist, name), CASES[name]
    for bad in (outside[position], np.nan):
        changed = [a.copy() for a in arguments]
        changed[position][1] = bad
        with pytest.raises(OutOfRangeError, match="is outside"):
            function(*changed)
        result = np.array(function(*changed, on_range="nan"))
        kept = np.array(function(*arguments))
        assert np.isnan(result[..., 1]).any()
        np.testing.assert_allclose(np.delete(result, 1, -1), np.delete(kept, 1, -1), rtol=1e-12)


def test_range_message_says_what_is_wrong_and_what_is_allowed():
    with pytest.raises(OutOfRangeError) as caught:
        moist.saturation_pressure_ice([200.0, 300.0, np.nan])
    assert str(caught.value) == (
        "temperature = 300 K is outside 173.15 to 273.16 K, the range of ASHRAE Fundamentals 2017 eq. 5 (2 of 3 values)"
    )
    with pytest.raises(ValueError, match="write 'raise' or 'nan'"):
        moist.saturation_pressure_ice(200.0, on_range="clip")


def test_rounding_of_unit_conversion_does_not_matter_at_the_ends():
    assert -100 + 273.15 < 173.15
    assert moist.saturation_pressure(-100 + 273.15) == pytest.approx(moist.saturation_pressure(173.15), rel=1e-12)
    with pytest.raises(OutOfRangeError):
        moist.saturation_pressure(173.15 - 1e-9)


def test_arguments_broadcast_and_may_be_empty():
    assert moist.humidity_ratio(T_DEW[:, None], P_ANY[None, :]).shape == (7, 7)
    assert moist.enthalpy(np.full((20000, 1), 300.0), [0.0, 0.01]).shape == (20000, 2)
    assert moist.dew_point(np.array([]), ATM).shape == (0,)


# --- saturation


@pytest.mark.parametrize("row", rows("saturation_printed"))
def test_saturation_pressure_as_printed(row):
    # The table prints IAPWS values; Hyland-Wexler differs by up to 0.033 %. At -60 degC three digits stand.
    assert moist.saturation_pressure(kelvin(row["celsius"])) == pytest.approx(row["pascal"], rel=3.3e-4, abs=5e-3)


@pytest.mark.parametrize("row", rows("saturation_iapws"))
def test_saturation_pressure_agrees_with_iapws(row):
    assert moist.saturation_pressure(kelvin(row["celsius"])) == pytest.approx(row["pascal"], rel=3.3e-4)


@pytest.mark.parametrize("row", rows("saturation_equations"))
def test_saturation_pressure_is_that_of_the_equations(row):
    # Six digits, or six decimals, are printed.
    assert moist.saturation_pressure(kelvin(row["celsius"])) == pytest.approx(row["pascal"], rel=5e-6, abs=5e-7)


def test_ice_and_water_meet_at_the_triple_point():
    ice, water = moist.saturation_pressure_ice(273.16), moist.saturation_pressure_water(273.16)
    assert ice == pytest.approx(water, rel=1e-8)
    assert moist.saturation_pressure(273.16 - 1e-9) == pytest.approx(ice, rel=1e-9)


@given(st.floats(173.15, 473.15))
def test_saturation_temperature_is_the_inverse(T):
    assert moist.saturation_temperature(moist.saturation_pressure(T)) == pytest.approx(T, abs=1e-7)


def test_saturation_pressure_never_falls():
    assert (np.diff(moist.saturation_pressure(np.linspace(173.15, 473.15, 300_001))) > 0).all()


# --- humidity


@pytest.mark.parametrize("row", rows("enhancement"))
def test_enhancement_factor_of_compressed_air(row):
    # True f steps down by 0.07 % from ice to water at 8 bar; the fit runs through the middle.
    f = moist.enhancement_factor(kelvin(row["celsius"]), row["bar"] * 1e5)
    assert f == pytest.approx(row["f"], abs=7.5e-4)


def saturated_air(celsius, pressures):
    """Temperature, pressure and humidity ratio of saturated real-gas air, up to 90 % vapour."""
    T, P = (g.ravel() for g in np.meshgrid(kelvin(np.asarray(celsius)), pressures))
    vapour = np.array([PropsSI("P", "T", t, "Q", 1, "Water") if t > 273.16 else 0.0 for t in T])
    T, P = T[vapour < 0.88 * P], P[vapour < 0.88 * P]
    return T, P, np.array([HAPropsSI("W", "T", t, "D", t, "P", p) for t, p in zip(T, P, strict=True)])


@pytest.mark.parametrize(
    ("celsius", "pressures", "share", "within"),
    [
        (np.linspace(-60, 100, 33), [5e4, 8.4556e4, ATM, 2e5, 4e5, 8e5, 1.1e6, 1.3e6], 0.5, 7e-4),
        (np.linspace(-100, 180, 57), [1e4, 2e4, 5e4, ATM, 3e5, 8e5, 1.3e6, 1.6e6], 1.0, 1.4e-3),
    ],
    ids=["usual", "whole range"],
)
def test_humidity_ratio_of_saturated_air_is_that_of_the_real_gas(celsius, pressures, share, within):
    T, P, W = saturated_air(celsius, pressures)
    vapour = W / (0.621945 + W)
    kept = vapour < share
    np.testing.assert_allclose(moist.humidity_ratio(T, P)[kept], W[kept], rtol=within)


def test_no_least_squares_fit_of_the_enhancement_factor_of_the_same_shape_does_better():
    T, P, W = saturated_air(np.linspace(-100, 180, 57), [1e4, 2e4, 5e4, ATM, 3e5, 8e5, 1.3e6, 1.6e6])
    p_sat, share = moist.saturation_pressure(T), W / (0.621945 + W)
    log_f = np.log(share * P / p_sat)
    u, rest = 273.15 / T - 1, (P - p_sat) / 1e5
    near = [rest * p_sat / P * u**i for i in range(3)]
    columns = np.stack([rest * u**i for i in range(4)] + near + [rest * P / 1e5], axis=1)
    weight = 1 / (1 - share)  # relative error of W over that of f
    fitted = np.linalg.lstsq(columns * weight[:, None], log_f * weight)[0]
    best = np.abs((columns @ fitted - log_f) * weight).max()
    ours = np.abs((np.log(moist.enhancement_factor(T, P)) - log_f) * weight).max()
    assert ours <= best


@pytest.mark.parametrize("pressure", [ATM, 84555.93], ids=["sea level", "1500 m"])
def test_humidity_ratio_for_dryers_within_a_five_hundredth_of_real_gas(pressure):
    for dew in range(-60, 31, 10):
        # The dry bulb, from the dew point to 180 degC, makes no difference.
        for t in (dew, 60, 180):
            W = HAPropsSI("W", "T", kelvin(t), "D", kelvin(dew), "P", pressure)
            assert moist.humidity_ratio(kelvin(dew), pressure) == pytest.approx(W, rel=2e-3)
            # 0.04 % of humidity is 0.007 K of dew point.
            assert moist.dew_point(W, pressure) == pytest.approx(kelvin(dew), abs=0.01)


def test_enhancement_fades_where_vapour_fills_the_air():
    f = moist.enhancement_factor(moist.saturation_temperature(np.array([0.5, 0.9, 0.99, 1.0]) * ATM), ATM)
    assert (np.diff(f) < 0).all()
    assert f[-1] == pytest.approx(1.0, abs=1e-12)
    with pytest.raises(OutOfRangeError, match="saturation pressure / pressure"):
        moist.enhancement_factor(380.0, ATM)


@given(st.floats(173.15, 453.15), st.floats(1e4, 1.6e6))
def test_dew_point_is_the_inverse_of_humidity_ratio(T, P):
    W = moist.humidity_ratio(T, P, on_range="nan")
    assume(np.isfinite(W))
    assert moist.dew_point(W, P) == pytest.approx(T, abs=1e-5)


def test_dew_point_is_the_inverse_on_a_fine_grid():
    T, P = np.linspace(173.15, 453.15, 5601)[:, None], np.geomspace(1e4, 1.6e6, 12)
    W = moist.humidity_ratio(T, P, on_range="nan")
    back = moist.dew_point(W, P, on_range="nan")
    assert np.isnan(back).sum() == np.isnan(W).sum() < W.size / 2
    assert np.nanmax(np.abs(back - T)) < 1e-5
    assert (np.diff(W, axis=0)[np.isfinite(np.diff(W, axis=0))] > 0).all()


def test_air_without_room_for_the_vapour_or_without_vapour_is_refused():
    with pytest.raises(OutOfRangeError, match="humidity ratio at this dew point and pressure"):
        moist.humidity_ratio(380.0, ATM)
    with pytest.raises(OutOfRangeError, match="dew point at this humidity ratio and pressure"):
        moist.dew_point(0.0, ATM)


@given(st.floats(1e-7, 10.0), st.floats(1e4, 1.6e6))
def test_vapour_pressure_gives_the_humidity_ratio_back(W, P):
    p = moist.vapour_pressure(W, P)
    assert 0.621945 * p / (P - p) == pytest.approx(W, rel=1e-13)


def test_relative_humidity_is_one_at_the_dew_point_and_tiny_in_hot_dry_air():
    assert moist.relative_humidity(T_ANY, T_ANY) == pytest.approx(1.0, abs=1e-15)
    # Table of states: 180 degC, frost point -40 degC: 1.288e-5 of real gas, with its factors f.
    assert moist.relative_humidity(kelvin(180), kelvin(-40)) == pytest.approx(1.288e-5, rel=0.01)


@pytest.mark.parametrize("row", rows("saturated_air"))
def test_saturated_air_as_printed(row):
    T = kelvin(row["celsius"])
    humidity = moist.humidity_ratio(T, ATM)
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
    assert moist.dew_point(0.0065, ATM) == pytest.approx(kelvin(7), abs=0.7)
    assert moist.enthalpy(kelvin(40), 0.0065) == pytest.approx(56.7e3, rel=7e-3)
    assert moist.specific_volume(kelvin(40), 0.0065, ATM) == pytest.approx(0.896, abs=1e-3)


@pytest.mark.parametrize("row", rows("states"))
def test_state_of_real_gas_air(row):
    T, Td, P = kelvin(row["celsius"]), kelvin(row["dew_point"]), row["kilopascal"] * 1e3
    humidity = moist.humidity_ratio(Td, P)
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


# --- volume, transport, atmosphere


@pytest.mark.parametrize("row", rows("dry_air"))
def test_dry_air(row):
    T = kelvin(row["celsius"])
    # Ideal gas: 0.04 % off. Transport: the fits are within 0.06 and 0.04 %, five digits are printed.
    assert 1 / moist.specific_volume(T, 0.0, ATM) == pytest.approx(row["kg_per_cubic_metre"], rel=5e-4)
    assert moist.dynamic_viscosity(T) == pytest.approx(row["pascal_second"], rel=6e-4)
    assert moist.thermal_conductivity(T) == pytest.approx(row["watt_per_metre_kelvin"], rel=4e-4)
    assert moist.heat_capacity(T, 0.0) == pytest.approx(row["joule_per_kg_kelvin"], rel=2e-4)


def test_transport_properties_over_the_whole_range():
    T = np.linspace(173.15, 523.15, 36)
    viscosity, conductivity = (np.array([PropsSI(x, "T", t, "P", ATM, "Air") for t in T]) for x in "VL")
    np.testing.assert_allclose(moist.dynamic_viscosity(T), viscosity, rtol=6e-4)
    np.testing.assert_allclose(moist.thermal_conductivity(T), conductivity, rtol=4e-4)
    hot = np.linspace(523.15, 573.15, 6)  # beyond the fitted range
    viscosity, conductivity = (np.array([PropsSI(x, "T", t, "P", ATM, "Air") for t in hot]) for x in "VL")
    np.testing.assert_allclose(moist.dynamic_viscosity(hot), viscosity, rtol=2e-3)
    np.testing.assert_allclose(moist.thermal_conductivity(hot), conductivity, rtol=1.5e-3)


@pytest.mark.published(
    "ASHRAE Handbook - Fundamentals (2017), ch. 1",
    where="Table 2, dry air, 25 degC",
    quoted="read in the tests of PsychroLib 2.5.0",
)
def test_dry_air_as_printed():
    # Printed 25148 from real gas; the cubic is within 5. Volume is ideal here.
    assert moist.enthalpy(kelvin(25), 0.0) == pytest.approx(25148, abs=5)
    assert moist.specific_volume(kelvin(25), 0.0, ATM) == pytest.approx(0.8443, abs=4e-4)


@pytest.mark.parametrize("row", rows("altitude"))
def test_pressure_at_altitude(row):
    assert moist.pressure_at_altitude(row["metre"]) == pytest.approx(row["pascal"], abs=1.0)


def test_liquid_water_takes_what_iapws_says():
    real = [PropsSI("C", "T", t, "P", ATM, "Water") for t in np.linspace(278.15, 372.15, 48)]
    assert np.mean(real) == pytest.approx(moist.LIQUID_WATER_HEAT_CAPACITY, rel=2e-3)
    assert 4179 <= min(real) < max(real) <= 4215
