"""Expansion and compression of air against real gas, hand formulas and the rules of the trade."""

from __future__ import annotations

import inspect
import tomllib
from pathlib import Path

import numpy as np
import pytest
from CoolProp.CoolProp import HAPropsSI, PropsSI
from fluids import isentropic_work_compression, isothermal_work_compression, polytropic_exponent
from hypothesis import given
from hypothesis import strategies as st

from energy.air import compression, saturation
from energy.errors import OutOfRangeError

TABLES = tomllib.loads((Path(__file__).parents[1] / "published" / "compressed_air.toml").read_text("utf-8"))
ATM, PSI = 101325.0, 6894.757


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


def fahrenheit(T):
    return (T - 273.15) * 1.8 + 32


P_IN, P_OUT = np.array([1e5, 9e4, 1.2e5]), np.array([8e5, 9e4, 1e6])
DEW, SUPPLY = np.array([253.15, 276.15, 203.15]), np.array([8e5, 7e5, 1.1e6])
EXPONENT = np.array([1.2, 1.4, 1.3])
CASES = {
    "expanded_humidity_ratio": ([DEW, SUPPLY], [100.0, 2e6]),
    "expanded_frost_point": ([DEW, SUPPLY, P_IN], [100.0, 2e6, 5e3]),
    "isothermal_work": ([P_IN, P_OUT], [9.9e4, 8e4]),
    "isentropic_work": ([P_IN, P_OUT, EXPONENT], [9.9e4, 8e4, 1.0]),
    "polytropic_work": ([P_IN, P_OUT, EXPONENT], [9.9e4, 8e4, 1.7]),
    "staged_work": ([P_IN, P_OUT, np.array([1.0, 2.0, 3.0]), EXPONENT], [9.9e4, 8e4, 0.0, 1.0]),
    "isentropic_outlet_temperature": ([DEW, P_IN, P_OUT, EXPONENT], [600.0, 9.9e4, 8e4, 1.0]),
}


def test_every_public_function_is_in_the_cases_below():
    public = {
        name
        for name, value in inspect.getmembers(compression, inspect.isfunction)
        if value.__module__ == compression.__name__ and not name.startswith("_")
    }
    assert public == set(CASES)


@pytest.mark.parametrize("name", CASES)
def test_array_equals_each_scalar_and_leaves_its_inputs_alone(name):
    function, arguments = getattr(compression, name), CASES[name][0]
    before = [a.copy() for a in arguments]
    for a in arguments:
        a.setflags(write=False)
    one_by_one = [function(*map(float, row)) for row in zip(*arguments, strict=True)]
    # Vectorised and scalar exp and log may differ in the last digit.
    np.testing.assert_allclose(function(*arguments), one_by_one, rtol=1e-12)
    for a, b in zip(arguments, before, strict=True):
        np.testing.assert_array_equal(a, b)


@pytest.mark.parametrize(("name", "position"), [(n, i) for n, (a, _) in CASES.items() for i in range(len(a))])
def test_out_of_range_is_an_error_or_nan(name, position):
    function, (arguments, outside) = getattr(compression, name), CASES[name]
    for bad in (outside[position], np.nan):
        changed = [a.copy() for a in arguments]
        changed[position][1] = bad
        with pytest.raises(OutOfRangeError, match="is outside"):
            function(*changed)
        result, kept = function(*changed, on_range="nan"), function(*arguments)
        assert np.isnan(result[1])
        np.testing.assert_allclose(result[[0, 2]], kept[[0, 2]], rtol=1e-12)


# --- expansion


@pytest.mark.parametrize("row", rows("expansion") + rows("expansion_at_altitude"))
def test_frost_point_after_expansion(row):
    dew, supply = kelvin(row["pressure_dew_point"]), row["kilopascal"] * 1e3
    atmosphere = row.get("atmosphere", 101.325) * 1e3
    frost = compression.expanded_frost_point(dew, supply, atmosphere)
    # Two decimals; 0.1 % of vapour (fit of the enhancement factor, either side) is 0.01 K.
    assert frost == pytest.approx(kelvin(row["frost_point"]), abs=0.02)
    # Without enhancement factors the frost point comes out 0.2 to 0.35 K lower.
    ideal = saturation.saturation_temperature(saturation.saturation_pressure(dew) * atmosphere / supply)
    assert ideal == pytest.approx(kelvin(row["frost_point_ideal"]), abs=6e-3)
    assert 0.19 < frost - ideal < 0.36
    if "gram_per_kg" in row:
        # Four decimals.
        gram = compression.expanded_humidity_ratio(dew, supply) * 1e3
        assert gram == pytest.approx(row["gram_per_kg"], rel=1e-3, abs=6e-5)


@given(st.floats(-60, 20), st.floats(2e5, 1.3e6))
def test_expansion_of_real_gas(dew, supply):
    W = HAPropsSI("W", "T", kelvin(dew), "D", kelvin(dew), "P", supply)
    real = HAPropsSI("D", "T", kelvin(60), "W", W, "P", ATM)
    # 0.1 % of vapour is 0.02 K at +20 and 0.01 K at -60 degC.
    assert compression.expanded_frost_point(kelvin(dew), supply, ATM) == pytest.approx(real, abs=0.02)


@given(st.floats(200.0, 300.0), st.floats(1e5, 1.6e6))
def test_no_expansion_changes_nothing_and_more_pressure_dries(dew, pressure):
    assert compression.expanded_frost_point(dew, pressure, pressure) == pytest.approx(dew, abs=1e-5)
    assert compression.expanded_frost_point(dew, pressure, 9e4) < dew


@pytest.mark.common_practice("+40 degF at 80 to 100 psig becomes about 0 degF at atmospheric pressure")
def test_refrigerated_air_expands_to_about_zero_fahrenheit():
    frost = compression.expanded_frost_point(kelvin(40 / 9), ATM + np.array([80, 100]) * PSI, ATM)
    assert fahrenheit(frost) == pytest.approx([0, 0], abs=3)


@pytest.mark.common_practice("0 degF at 80 to 100 psig becomes about -40 degF at atmospheric pressure")
def test_membrane_dried_air_expands_to_about_minus_forty():
    frost = compression.expanded_frost_point(kelvin(-160 / 9), ATM + np.array([80, 100]) * PSI, ATM)
    # The rule is optimistic: -33 degF at 80 psig and -36 degF at 100 psig; -40 takes 130 psig and more.
    assert fahrenheit(frost) == pytest.approx([-40, -40], abs=8)
    assert (fahrenheit(frost) > -40).all()


# --- work


@pytest.mark.parametrize("row", rows("work"))
def test_work_of_compression(row):
    p_1, p_2 = 1e5, 1e5 + row["psig"] * PSI  # gauge over the inlet pressure
    assert p_2 / p_1 == pytest.approx(row["ratio"], abs=1e-4)
    kilowatt = 1 / 60e3  # of 1 J/m3 at 1 m3/min
    # Three decimals are printed.
    assert compression.isothermal_work(p_1, p_2) * kilowatt == pytest.approx(row["isothermal"], abs=6e-4)
    assert compression.isentropic_work(p_1, p_2) * kilowatt == pytest.approx(row["isentropic"], abs=6e-4)
    assert compression.polytropic_work(p_1, p_2, 1.3) * kilowatt == pytest.approx(row["polytropic"], abs=6e-4)
    assert compression.staged_work(p_1, p_2, 2) * kilowatt == pytest.approx(row["two_stage"], abs=6e-4)


@pytest.mark.parametrize("row", rows("work_si"))
def test_isentropic_work_per_volume(row):
    # Four digits; gauge pressure over the inlet pressure.
    work = compression.isentropic_work(1e5, 1e5 + row["bar_gauge"] * 1e5)
    assert work / 1e3 == pytest.approx(row["kilojoule_per_cubic_metre"], abs=0.06)


@pytest.mark.parametrize("row", rows("outlet_temperature"))
def test_isentropic_outlet_temperature(row):
    outlet = compression.isentropic_outlet_temperature(293.15, 1e5, 1e5 + row["psig"] * PSI)
    assert outlet == pytest.approx(kelvin(row["celsius"]), abs=0.06)


@pytest.mark.parametrize("row", rows("work_real_gas"))
def test_ideal_gas_is_close_to_real_air(row):
    p_2 = 1e5 + row["psig"] * PSI
    # Ideal gas is within 0.06 % in work and 4 K in temperature: real heat capacity rises with temperature.
    assert compression.isentropic_work(1e5, p_2) / 60e3 == pytest.approx(row["kilowatt"], rel=7e-4)
    assert compression.isentropic_outlet_temperature(293.15, 1e5, p_2) == pytest.approx(kelvin(row["celsius"]), abs=4)


@pytest.mark.parametrize("p_2", [1.5e5, 4e5, 8e5, 1.2e6])
def test_work_agrees_with_an_independent_library(p_2):
    # Molar work of an ideal gas over its molar volume at the inlet; R of both libraries agrees to 1e-5.
    volume = 8.31446 * 300.0 / 1e5
    assert compression.isothermal_work(1e5, p_2) == pytest.approx(
        isothermal_work_compression(P1=1e5, P2=p_2, T=300.0) / volume, rel=1e-5
    )
    assert compression.isentropic_work(1e5, p_2) == pytest.approx(
        isentropic_work_compression(T1=300.0, k=1.4, P1=1e5, P2=p_2, eta=1.0) / volume, rel=1e-5
    )
    n = polytropic_exponent(k=1.4, eta_p=0.8)
    polytropic = isentropic_work_compression(T1=300.0, k=n, P1=1e5, P2=p_2, eta=1.0) / volume
    assert compression.polytropic_work(1e5, p_2, n) == pytest.approx(polytropic, rel=1e-5)


def test_isentropic_work_of_real_air():
    for p_2 in (2e5, 5e5, 8e5):
        s = PropsSI("S", "T", 293.15, "P", 1e5, "Air")
        h_1, h_2 = PropsSI("H", "T", 293.15, "P", 1e5, "Air"), PropsSI("H", "S", s, "P", p_2, "Air")
        real = (h_2 - h_1) * PropsSI("D", "T", 293.15, "P", 1e5, "Air")
        assert compression.isentropic_work(1e5, p_2) == pytest.approx(real, rel=1.5e-3)


@given(st.floats(1e4, 2e5), st.floats(1.0, 20.0), st.floats(1.01, 1.39), st.integers(1, 9))
def test_works_stand_in_order(p_1, r, n, stages):
    p_2 = p_1 * r
    isothermal, isentropic = compression.isothermal_work(p_1, p_2), compression.isentropic_work(p_1, p_2)
    assert isothermal <= compression.polytropic_work(p_1, p_2, n) * (1 + 1e-12)
    assert compression.polytropic_work(p_1, p_2, n) <= isentropic * (1 + 1e-12)
    more, fewer = (compression.staged_work(p_1, p_2, k) for k in (stages + 1, stages))
    assert isothermal <= more * (1 + 1e-12)
    assert more <= fewer * (1 + 1e-12)


def test_limits():
    assert compression.isentropic_work(1e5, 1e5) == 0
    # First order in exponent - 1.
    assert compression.polytropic_work(1e5, 8e5, 1.001) == pytest.approx(
        compression.isothermal_work(1e5, 8e5), rel=1.1e-3
    )
    # A small rise costs rise times volume: 1 Pa in 1e5, half of it lost to second order.
    assert compression.isentropic_work(1e5, 1e5 + 1) == pytest.approx(1.0, rel=1e-5)
