"""Blower work and motor efficiencies."""

from __future__ import annotations

import tomllib
from pathlib import Path

import fluids
import numpy as np
import pytest
from CoolProp.CoolProp import PropsSI
from hypothesis import given
from hypothesis import strategies as st

from energy.equipment import blower
from energy.equipment.heater import purchased_power
from energy.errors import OutOfRangeError, UnknownNameError

TABLES = tomllib.loads((Path(__file__).parents[1] / "published" / "equipment.toml").read_text("utf-8"))


def rows(table):
    return [
        pytest.param(r, id=r["where"], marks=pytest.mark.published(r["source"], where=r["where"], quoted=r["quoted"]))
        for r in TABLES[table]
    ]


ATM = 101325.0


@pytest.mark.parametrize("row", rows("blower"))
def test_work_and_warming(row):
    work = blower.shaft_power(1.0, row["kilopascal"] * 1e3, ATM, 1.0)
    assert work / 1e3 == pytest.approx(row["kilojoule_per_cubic_metre"], abs=6e-3)
    # Half of the work is loss, and all of it warms the air; a diatomic ideal gas holds 3.5 p / T per volume.
    warming = blower.shaft_power(1.0, row["kilopascal"] * 1e3, ATM, 0.5) / (3.5 * ATM / 293.15)
    assert warming == pytest.approx(row["kelvin"], abs=0.06)


@pytest.mark.published(
    "Blower power, flow times pressure rise",
    where="500 m3/h, 5 kPa, 0.55, 0.90: 1.403 kW",
    quoted="computed in reference table",
)
def test_power_of_a_small_blower():
    electric = blower.shaft_power(500 / 3600, 5e3, ATM, 0.55) / 0.90
    assert electric / 1e3 == pytest.approx(1.403 * 4.91 / 5.0, rel=1e-3)  # compressible: 4.91 kJ instead of 5


@given(st.floats(0.01, 5), st.floats(5e4, 1.1e5), st.floats(1e3, 3e4), st.floats(0.2, 1))
def test_real_air_and_the_incompressible_limit(flow, inlet, rise, efficiency):
    entropy, start = PropsSI("S", "T", 300, "P", inlet, "Air"), PropsSI("H", "T", 300, "P", inlet, "Air")
    real = (PropsSI("H", "S", entropy, "P", inlet + rise, "Air") - start) * PropsSI("D", "T", 300, "P", inlet, "Air")
    # Real air has a heat-capacity ratio of 1.40 and a compressibility of 0.9997.
    assert blower.shaft_power(flow, rise, inlet, efficiency) == pytest.approx(flow * real / efficiency, rel=1e-3)
    # Half the pressure ratio over the heat-capacity ratio is what the rise itself saves, to first order.
    small = blower.shaft_power(flow, 10.0, inlet, efficiency)
    assert small == pytest.approx(flow * 10.0 / efficiency, rel=10.0 / inlet)
    assert blower.shaft_power(flow, 0.0, inlet, efficiency) == 0.0


@pytest.mark.parametrize("row", rows("motors"))
def test_motor_limits(row):
    for name in ("IE1", "IE2", "IE3", "IE4"):
        assert 100 * blower.motor_efficiency(row["kilowatt"] * 1e3, name) == pytest.approx(row[name], abs=1e-9)


def test_between_and_beyond_the_rows():
    # Halfway in the logarithm between 1.5 and 2.2 kW; the standard rises steadily from row to row.
    middle = blower.motor_efficiency(np.sqrt(1.5 * 2.2) * 1e3, "IE3")
    assert middle == pytest.approx((0.853 + 0.867) / 2, rel=1e-12)
    assert blower.motor_efficiency([2e5, 9.99e5], "IE2").tolist() == pytest.approx([0.951, 0.951])
    power = np.geomspace(120, 1e6, 400)
    for better, worse in (("IE4", "IE3"), ("IE3", "IE2"), ("IE2", "IE1")):
        assert np.all(blower.motor_efficiency(power, better) > blower.motor_efficiency(power, worse))
        assert np.all(np.diff(blower.motor_efficiency(power, better)) >= 0)
    # No smaller motor is built in than the smallest of the table.
    assert blower.motor_efficiency([0.0, 1.0], "IE1").tolist() == [blower.motor_efficiency(120.0, "IE1")] * 2


def test_motors_of_several_classes_at_once():
    power, classes = np.array([[1.5e3], [90e3], [4e3]]), np.array([["IE3"], ["IE1"], ["IE3"]])
    alone = [[blower.motor_efficiency(p, name)] for (p,), (name,) in zip(power, classes.tolist(), strict=True)]
    assert blower.motor_efficiency(power, classes).tolist() == alone


@pytest.mark.published(
    "fluids 1.3.1, VFD_efficiency", where="10 hp at shares of its load", quoted="computed with the library in the test"
)
@pytest.mark.parametrize("share", [0.016, 0.125, 0.25, 0.42, 0.5, 0.75, 1.0])
def test_drive_efficiency(share):
    expected = fluids.VFD_efficiency(10 * 745.7, load=share)
    assert blower.drive_efficiency(share) == pytest.approx(expected, abs=1e-3)


def test_drive_beyond_and_between_the_rows():
    # Held beyond the ends of the table, and straight between its rows: 0.93 and 0.94 at 0.42 and 0.5.
    assert blower.drive_efficiency([0.0, 2.0, 0.46]).tolist() == pytest.approx([0.41, 0.96, 0.935])


def test_refusals():
    with pytest.raises(OutOfRangeError, match="1200 kW is above 1000 kW"):
        blower.motor_efficiency([1e3, 1.2e6], "IE3")
    with pytest.raises(UnknownNameError, match="'IE5' is not one of IE1, IE2, IE3, IE4"):
        blower.motor_efficiency(1e3, "IE5")
    assert blower.motor_classes() == ("IE1", "IE2", "IE3", "IE4")


def test_heaters_buy_what_reaches_the_air_over_their_efficiency():
    assert purchased_power([980.0, 0.0], 0.98).tolist() == pytest.approx([1000.0, 0.0])


@pytest.mark.published(
    "Heat of natural gas",
    where="1 GJ useful at 80 % of the higher heating value: 347.2 kWh",
    quoted="computed in reference table",
)
def test_gas_for_a_gigajoule():
    assert purchased_power(1e9, 0.80) / 3.6e6 == pytest.approx(347.2, abs=0.06)
