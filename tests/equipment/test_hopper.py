"""The hopper: printed values, independent libraries, and the first law."""

from __future__ import annotations

import tomllib
from decimal import Context, Decimal
from pathlib import Path

import fluids
import ht
import numpy as np
import pytest
from CoolProp.CoolProp import HAPropsSI, PropsSI
from hypothesis import example, given
from hypothesis import strategies as st
from scipy.integrate import quad, solve_bvp
from scipy.optimize import brentq

from energy.equipment import hopper, wall

TABLES = tomllib.loads((Path(__file__).parents[1] / "published" / "equipment.toml").read_text("utf-8"))


def rows(table):
    return [
        pytest.param(r, id=r["where"], marks=pytest.mark.published(r["source"], where=r["where"], quoted=r["quoted"]))
        for r in TABLES[table]
    ]


def air(letter, celsius):
    return PropsSI(letter, "T", celsius + 273.15, "P", 101325.0, "Air")


# ------------------------------------------------------------------------------------------------ size, pressure drop


def test_size():
    # 100 kg/h for 4 h at 800 kg/m3 are half a cubic metre; nine tenths of the hopper move.
    volume = hopper.bed_volume(100 / 3600, 4 * 3600.0, 800.0, 0.9)
    assert volume == pytest.approx(0.5 / 0.9, rel=1e-12)
    diameter = hopper.bed_diameter(volume, 2.0)
    assert np.pi / 4 * diameter**2 * 2.0 * diameter == pytest.approx(volume, rel=1e-12)


@pytest.mark.parametrize("row", rows("ergun"))
def test_pressure_drop(row):
    density, viscosity = air("D", row["celsius"]), air("V", row["celsius"])
    bed = row["metre_per_second"], row["millimetre"] * 1e-3, row["voidage"]
    # Two decimals.
    assert hopper.ergun_gradient(*bed, density, viscosity) == pytest.approx(row["pascal_per_metre"], abs=6e-3)


@pytest.mark.published("fluids 1.3.1, tests of Ergun", where="dp 0.8 mm, voidage 0.4, 1 mm/s, water", quoted="read")
def test_pressure_drop_of_a_liquid():
    assert hopper.ergun_gradient(1e-3, 8e-4, 0.4, 1e3, 1e-3) == pytest.approx(1338.8672, abs=6e-5)


@given(st.floats(0.01, 3), st.floats(5e-4, 1e-2), st.floats(0.3, 0.6), st.floats(0.5, 1.5), st.floats(1e-5, 4e-5))
def test_pressure_drop_agrees_with_an_independent_library(v, d, voidage, rho, mu):
    expected = fluids.Ergun(dp=d, voidage=voidage, vs=v, rho=rho, mu=mu, L=1.0)
    assert hopper.ergun_gradient(v, d, voidage, rho, mu) == pytest.approx(expected, rel=1e-12)


# ------------------------------------------------------------------------------------------------ heat transfer


WAKAO = "Wakao and Kaguei, Heat and Mass Transfer in Packed Beds (1982)"


@pytest.mark.parametrize(
    ("reynolds", "prandtl", "nusselt"),
    [
        pytest.param(*v, marks=pytest.mark.published(WAKAO, where=f"Re {v[0]}, Pr {v[1]}", quoted=q))
        for v, q in (
            ((2000.0, 0.7, 95.40641328041248), "read in the tests of ht"),
            ((28.545, 0.70165, 9.30167), "computed in reference table with ht 1.2.0"),
            ((25.003, 0.69804, 8.73203), "computed in reference table with ht 1.2.0"),
        )
    ],
)
def test_heat_transfer_to_pellets(reynolds, prandtl, nusselt):
    # Reynolds numbers are printed with five digits: 1e-5 of the Nusselt number.
    assert hopper.pellet_nusselt(reynolds, prandtl) == pytest.approx(nusselt, rel=1.5e-5)
    assert hopper.pellet_nusselt(reynolds, prandtl) == pytest.approx(
        ht.Nu_Wakao_Kagei(Re=reynolds, Pr=prandtl), rel=1e-12
    )


@pytest.mark.parametrize("row", rows("effectiveness"))
def test_counterflow(row):
    assert hopper.counterflow_effectiveness(row["ntu"], row["ratio"]) == pytest.approx(row["effectiveness"], abs=6e-6)


@given(st.floats(0.01, 700), st.one_of(st.floats(0.0, 0.999), st.just(1.0)))
def test_counterflow_agrees_with_an_independent_library(ntu, ratio):
    expected = ht.effectiveness_from_NTU(NTU=ntu, Cr=ratio, subtype="counterflow")
    assert hopper.counterflow_effectiveness(ntu, ratio) == pytest.approx(expected, rel=1e-12)


@pytest.mark.parametrize("gap", [1e-15, 1e-12, 1e-9, 1e-7, 1e-5])
@pytest.mark.parametrize("ntu", [0.1, 1.5, 40.0])
def test_counterflow_keeps_its_digits_as_the_flows_become_equal(ntu, gap):
    ratio = 1.0 - gap
    left = Decimal(1) - Decimal(ratio)
    spread = (-Decimal(ntu) * left).exp(Context(prec=50))
    expected = (Decimal(1) - spread) / (
        Decimal(1) - Decimal(ratio) * spread
    )  # 28 digits; doubles and the library fail here
    assert hopper.counterflow_effectiveness(ntu, ratio) == pytest.approx(float(expected), rel=1e-12)


@pytest.mark.parametrize("ntu", [0.8, 2.0, 5.0, 12.0, 60.0])
@pytest.mark.parametrize("wanted", [0.3, 0.7, 0.9, 0.95, 0.99])
def test_the_flow_for_an_effectiveness_is_the_root_that_an_independent_library_has(ntu, wanted):
    def missed(ratio):
        return ht.effectiveness_from_NTU(NTU=ntu, Cr=ratio, subtype="counterflow") - wanted

    expected = (
        3.0
        if missed(1.0 / 3.0) < 0.0
        else 1.0
        if missed(1.0) > 0.0
        else 1.0 / brentq(missed, 1.0 / 3.0, 1.0, xtol=1e-14)
    )
    assert hopper.capacity_ratio_for(ntu, wanted, 3.0) == pytest.approx(expected, rel=1e-6)


@pytest.mark.published(
    "Churchill and Chu, Int. J. Heat Mass Transfer 18 (1975) 1323-1329",
    where="Ra 1e9, Pr 0.7",
    quoted="computed in reference table with ht 1.2.0",
)
def test_free_convection():
    assert wall.vertical_plate_nusselt(1e9, 0.7) == pytest.approx(122.615, abs=6e-4)
    for rayleigh in (1e3, 1e6, 1e9, 1e11):
        expected = ht.Nu_vertical_plate_Churchill(Pr=0.7, Gr=rayleigh / 0.7)
        assert wall.vertical_plate_nusselt(rayleigh, 0.7) == pytest.approx(expected, rel=1e-12)
    # By hand, (0.825 + 0.387 x 0.1 / 1.19417)^2; and 0.825^2 without any difference of temperature.
    assert wall.vertical_plate_nusselt([1e-6, 0.0], 0.7) == pytest.approx([0.735148, 0.680625], rel=1e-6)


# ------------------------------------------------------------------------------------------------ loss of the shell


@pytest.mark.parametrize("row", rows("wall"))
def test_loss_of_a_hopper_wall(row):
    loss, outside = wall.wall_loss(
        row["celsius"] + 273.15,
        298.15,
        np.pi * 0.8 * 1.5,
        1.5,
        row["millimetre"] * 1e-3,
        0.045,
        row["emissivity"],
        1 / 0.4,
    )
    # Whole watts; the fits of air properties are 0.06 % off, which is 1 W of the largest.
    assert loss == pytest.approx(row["watt"], abs=0.6, rel=1e-4)
    if "outside" in row:
        assert outside == pytest.approx(row["outside"] + 273.15, abs=0.06)
    if row["millimetre"] == 0:
        assert outside == row["celsius"] + 273.15


walls = st.tuples(
    st.floats(260, 500),
    st.floats(260, 315),
    st.floats(0.2, 4),
    st.floats(1e-4, 0.3),
    st.floats(0.02, 0.5),
    st.floats(0, 1),
)


@example((415.6875, 287.6875, 1.7421875, 0.259765625, 0.48285833737490164, 0.830527066979611), 0.0)  # was 4e-8 K off
@given(walls, st.one_of(st.just(0.0), st.floats(0.3, 40)))
def test_conduction_equals_what_the_surface_gives_off(built, curvature):
    inside, ambient, height, thickness, conductivity, emissivity = built
    loss, outside = wall.wall_loss(inside, ambient, 1.0, height, thickness, conductivity, emissivity, curvature)
    # Resistance of the insulation by integration over its depth, per area of the inner face.
    resistance = quad(lambda depth: 1.0 / (conductivity * (1.0 + curvature * depth)), 0.0, thickness)[0]
    growth = 1.0 + curvature * thickness

    def surplus(t):
        return growth * wall.surface_heat_flux(t, ambient, height, emissivity) - (inside - t) / resistance

    low, high = sorted((inside, ambient))
    assert outside == pytest.approx(brentq(surplus, low - 1e-9, high + 1e-9, xtol=1e-12), abs=1e-8)
    # The difference of two temperatures, 1e-10 K each, over the smallest resistance here.
    assert loss == pytest.approx((inside - outside) / resistance, rel=1e-9, abs=1e-6)


def test_flat_is_the_limit_of_a_large_cylinder():
    arguments = 430.0, 295.0, 2.0, 1.5, 0.05, 0.045, 0.9
    flat, large = wall.wall_loss(*arguments), wall.wall_loss(*arguments, 1e-9)
    assert large == (pytest.approx(flat[0], rel=1e-9), pytest.approx(flat[1], rel=1e-9))
    assert wall.wall_loss(*arguments, 5.0)[0] > flat[0]
    assert wall.wall_loss(295.0, *arguments[1:]) == (0.0, 295.0)


def test_no_digit_of_a_wall_hangs_on_the_walls_beside_it():
    """A wall is done before others are; what it lost then is what it loses beside as many walls that are all like it."""
    drawn = np.random.default_rng(29)
    low, high = [300, 280, 1.0, 0.5, 0.001, 0.02, 0.1, 0.3], [480, 310, 1.0, 3.0, 0.2, 0.3, 1.0, 20.0]
    built = drawn.uniform(low, high, (40, 8)).T
    beside = np.array(wall.wall_loss(*built))
    for place in range(40):
        alike = np.array(wall.wall_loss(*np.repeat(built[:, [place]], 40, axis=1)))
        np.testing.assert_array_equal(beside[:, place], alike[:, place])


# ------------------------------------------------------------------------------------------------ heat balance


GIVEN = {
    "air_flow": 0.07,
    "air_temperature": 393.15,
    "air_humidity": 1e-4,
    "resin_flow": 0.028,
    "resin_specific_heat": 1400.0,
    "resin_temperature": 293.15,
    "initial_moisture": 0.002,
    "final_moisture": 0.0002,
    "shell_loss": 250.0,
    "transfer": 1e5,
    "flow_transfer_units": 10.0,
}


def balance(**changes):
    return hopper.heat_balance(**(GIVEN | changes))


flows = st.fixed_dictionaries(
    {
        "air_flow": st.floats(0.06, 0.5),
        "air_temperature": st.floats(335, 455),
        "air_humidity": st.floats(1e-6, 0.02),
        "resin_temperature": st.floats(275, 310),
        "initial_moisture": st.floats(2e-4, 0.03),
        "shell_loss": st.floats(0, 500),
        "flow_transfer_units": st.floats(1, 50),
    }
)


@given(flows)
def test_first_law_against_real_moist_air(changes):
    given_, state = GIVEN | changes, balance(**changes)

    def enthalpy(temperature, humidity):
        return HAPropsSI("H", "T", temperature, "W", humidity, "P", 101325.0)

    water = given_["resin_flow"] * (given_["initial_moisture"] - given_["final_moisture"])
    assert state.water_removed == pytest.approx(water, rel=1e-12)
    assert state.return_humidity == pytest.approx(given_["air_humidity"] + water / given_["air_flow"], rel=1e-12)
    lost = enthalpy(given_["air_temperature"], given_["air_humidity"]) - enthalpy(
        float(state.return_temperature), float(state.return_humidity)
    )
    liquid = 4186.0 * (given_["resin_temperature"] - 273.15)
    gained = state.resin_heat + given_["shell_loss"] - water * liquid
    # Moist-air enthalpy is within 0.15 kJ/kg of dry and 0.4 of humid real air over such a drop.
    assert given_["air_flow"] * lost == pytest.approx(gained, abs=400.0 * given_["air_flow"], rel=3e-3)


def test_ideal_hopper_returns_air_at_what_the_resin_left():
    # Even flow, no water, no loss: pellets leave at air temperature and take cp (T_dry - T_in) out of the air.
    state = balance(
        flow_transfer_units=1e9,
        transfer=1e12,
        shell_loss=0.0,
        initial_moisture=0.0,
        final_moisture=0.0,
        air_humidity=0.0,
    )
    assert state.resin_outlet_temperature == pytest.approx(393.15, abs=1e-6)
    drop = (air("H", 120.0) - PropsSI("H", "T", float(state.return_temperature), "P", 101325.0, "Air")) * 0.07
    assert drop == pytest.approx(0.028 * 1400.0 * 100.0, rel=3e-4)  # fit of the enthalpy of air: 5 J/kg of 100 kJ/kg


def test_nothing_flows_through_a_hopper_in_standby():
    """What stands in it has the temperature of the air, which gives off the loss of the shell alone."""
    state = balance(resin_flow=np.array([0.0, 0.028]), air_temperature=np.array([293.15, 393.15]), air_humidity=0.0)
    assert state.capacity_ratio[0] == np.inf
    assert 0.0 < state.capacity_ratio[1] < np.inf
    assert state.resin_outlet_temperature[0] == 293.15
    assert state.resin_heat[0] == state.water_removed[0] == 0.0
    # Air half a kelvin warmer: the shell takes 500 W/K beside the 39.2 W/K of the dry resin.
    hardly = balance(air_temperature=293.65, initial_moisture=0.0, final_moisture=0.0, air_humidity=0.0)
    assert hardly.capacity_ratio == pytest.approx(0.07 * 1006.0 / (500.0 + 39.2), rel=1e-3)
    # 250 W out of 0.07 kg/s of 1.006 kJ/(kg K).
    assert 293.15 - state.return_temperature[0] == pytest.approx(250.0 / 0.07 / 1006.0, rel=1e-3)


@pytest.mark.published(
    "First law of a hopper",
    where="PET, 4.46 kg/kg: air returns at 115 to 120 degC",
    quoted="airflow read, resin producer; temperature computed in reference table",
)
def test_return_temperature_of_pet():
    # 165 degC, 1.40 kJ/(kg K), 20 degC in; 5 % of the heat lost through the shell.
    state = balance(
        air_flow=4.46,
        air_temperature=438.15,
        resin_flow=1.0,
        shell_loss=0.05 * 203e3,
        transfer=1e7,
        initial_moisture=0.0025,
        final_moisture=5e-5,
    )
    assert 115 < state.return_temperature - 273.15 < 120


@pytest.mark.parametrize("air_flow", [0.07, 0.028])
def test_temperatures_down_the_bed(air_flow):
    """The profile that `heating_rate` stands for solves the equations of two counterflowing streams, of enough air or too little."""
    state = balance(air_flow=air_flow, shell_loss=0.0, initial_moisture=2e-4, air_humidity=0.0)
    c_r = 0.028 * (1400.0 + 2e-4 * 4186.0)
    c_a = c_r * float(state.capacity_ratio)
    units = min(c_a, c_r) / c_r / (min(c_a, c_r) / 1e5 + 0.1)  # on the pellets' side

    def slopes(z, t):  # resin downwards along z, air upwards
        return np.stack([units * (t[1] - t[0]), units * c_r / c_a * (t[1] - t[0])])

    solved = solve_bvp(
        slopes,
        lambda a, b: np.array([a[0] - 293.15, b[1] - 393.15]),
        np.linspace(0, 1, 50),
        np.full((2, 50), 340.0),
        tol=1e-8,
    )
    z, k = np.linspace(0, 1, 11), float(state.heating_rate)
    profile = 293.15 + (float(state.resin_outlet_temperature) - 293.15) * np.expm1(-k * z) / np.expm1(-k)
    np.testing.assert_allclose(solved.sol(z)[0], profile, atol=1e-4)


def test_capacity_ratio_is_one_at_the_airflow_needed():
    water = 0.028 * 0.0018
    # Latent heat at 70 degC and the warming of the liquid from 20 degC, steam tables.
    evaporation = water * (PropsSI("H", "T", 343.15, "Q", 1, "Water") - PropsSI("H", "T", 293.15, "Q", 0, "Water"))
    specific_heat = 1400.0 + 2e-4 * 4186.0
    least = hopper.airflow_needed(0.028 * specific_heat * 100.0 + evaporation + 250.0, 100.0, 343.15)
    even = balance(air_humidity=0.0, air_flow=least)
    assert even.capacity_ratio == pytest.approx(1.0, rel=2e-4)  # vapour 0.2 %
    assert even.heating_rate < 0.01  # a straight line down the bed
    assert balance(air_humidity=0.0).capacity_ratio == pytest.approx(0.07 / least, rel=2e-4)


@pytest.mark.published(
    "First law of a hopper",
    where="resin of 1.4 to 1.75 kJ/(kg K): least airflow 1.4 to 1.75 kg/kg",
    quoted="computed in reference table",
)
def test_least_airflow():
    assert hopper.airflow_needed(np.array([1400.0, 1750.0]) * 60.0, 60.0, 323.15) == pytest.approx(
        [1.4, 1.75], rel=0.01
    )


def test_array_equals_each_scalar():
    flows_, losses = np.array([0.06, 0.07, 0.2]), np.array([[0.0], [300.0]])
    state = balance(air_flow=flows_, shell_loss=losses)
    for i, j in np.ndindex(2, 3):
        one = balance(air_flow=flows_[j], shell_loss=losses[i, 0])
        for name in ("resin_outlet_temperature", "return_temperature", "resin_heat", "capacity_ratio", "heating_rate"):
            assert getattr(state, name)[i, j] == pytest.approx(getattr(one, name), rel=1e-12)
    t, s = np.array([[350.0], [440.0]]), np.array([0.0, 0.025, 0.1])
    loss, outside = wall.wall_loss(t, 295.0, 2.0, 1.5, s, 0.045, 0.9, 2.5)
    for i, j in np.ndindex(2, 3):
        one = wall.wall_loss(t[i, 0], 295.0, 2.0, 1.5, s[j], 0.045, 0.9, 2.5)
        assert (loss[i, j], outside[i, j]) == (pytest.approx(one[0], rel=1e-12), pytest.approx(one[1], rel=1e-12))
