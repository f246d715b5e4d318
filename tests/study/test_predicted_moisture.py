"""Moisture of the pellets leaving: floor, prediction and hours needed against published numbers and cases of their own."""

from __future__ import annotations

import dataclasses
import tomllib
from pathlib import Path

import numpy as np
import pytest
from cases import HOT, NEW, PRESENT, alone, case, resin
from hypothesis import given, settings
from hypothesis import strategies as st
from one_dryer import desiccant, finding, hot_air

from energy.dryers.way_through_hopper import Pellet, Way, in_bed_for, left_in_months, moisture_left, table_of
from energy.study import predicted_moisture
from energy.study.compare import compare
from energy.study.hours_needed import _guessed, most_left, times_to
from energy.study.predicted_moisture import curve, floor_moisture, moisture_at, remaining_moisture, residence_needed

PUBLISHED = tomllib.loads((Path(__file__).parents[1] / "published" / "diffusion.toml").read_text("utf-8"))


def published(row):
    return pytest.mark.published(row["source"], where=row["where"], quoted=row["quoted"])


@pytest.mark.parametrize(
    ("row", "name"),
    [
        pytest.param(row, name, marks=published(row), id=name)
        for row in PUBLISHED["floor"]
        for name in row["material"].split(", ")
    ],
)
def test_hot_air_leaves_the_floor_of_its_dew_point(row, name):
    for dew_point, printed in list(zip(row["dew_points_degc"], row["floor_ppm"], strict=True))[1:]:
        of = hot_air(name, f"{dew_point} degC", drying_temperature=f"{row['temperature_degc']} degC")
        # Printed to two digits below 100 ppm, else to 1 ppm.
        assert of.moisture.floor * 1e6 == pytest.approx(printed, abs=0.051 if printed < 10 else 0.51)


def warm_at_once(result):
    """The operation of the baseline, but pellets are at drying temperature as soon as they are fed."""
    operation = result.baseline.operation
    hopper = dataclasses.replace(
        operation.hopper,
        heating_rate=np.full(12, 1e6),
        resin_outlet_temperature=result.duty.drying_temperature,
    )
    return dataclasses.replace(operation, hoppers=(hopper,))


@pytest.fixture(scope="module")
def pc_at_100():
    """PC at 100 degC, where its diffusivity was measured."""
    return desiccant("PC", drying_temperature="100 degC")


@pytest.mark.parametrize(
    "row", [pytest.param(row, marks=published(row), id=str(row["fourier"])) for row in PUBLISHED["remaining"]]
)
def test_plug_flow_of_warm_pellets_is_the_published_series(pc_at_100, row):
    stay, radius = 4 * 3600.0, 1.5e-3
    diffusivity = row["fourier"] * radius**2 / stay
    left = remaining_moisture(pc_at_100.duty, warm_at_once(pc_at_100), diffusivity, 1e9)
    floor = pc_at_100.baseline.verdict.moisture.floor
    start = 0.002 / 0.998
    # Only the first of the 33 points down the bed is cold: 1e-3 of the stay, 2e-4 of the moisture at most.
    assert (left - floor) / (start - floor) == pytest.approx(row["short_cylinder"], abs=2e-4)


def test_the_warming_of_the_bed_and_the_spread_of_stays_only_delay(pc_at_100):
    of = pc_at_100.baseline
    limit = remaining_moisture(pc_at_100.duty, warm_at_once(pc_at_100), 8.7e-11, 1e9)
    assert of.verdict.moisture.predicted > 1.5 * limit.max()


def test_the_curve_ends_at_the_prediction():
    result = desiccant("PC")
    of, moisture = result.baseline, result.baseline.verdict.moisture
    stay = moisture.residence / 3600.0
    lines = curve(of.duty, of.operation, of.option.inputs, np.array([1e-6, 0.5 * stay, stay]) * 3600)
    # 3.6 ms on a way through the bed: the root of the time leaves 0.1 % to be dried.
    assert lines["predicted"][0] == pytest.approx(0.002 / 0.998, rel=1.5e-3)
    for key in ("predicted", "low", "high"):
        assert lines[key][-1] == pytest.approx(getattr(moisture, key), rel=1e-6)
        assert lines[key][0] > lines[key][1] > lines[key][2]


@pytest.mark.parametrize("climate", ["cold", "temperate", "hot-dry", "hot-humid"])
def test_on_a_climate_too_the_curve_ends_at_the_prediction_of_the_worst_month(climate):
    """Worst may be the coldest month, whose pellets warm up later, and not the dampest."""
    hall = {"site.climate": climate, "site.hall_temperature": None, "site.hall_dew_point": None}
    for name in ("PC", "ABS"):
        for of in compare(case(PRESENT, NEW, HOT, changes={**resin(name), **hall})).options:
            moisture = of.verdict.moisture
            lines = curve(of.duty, of.operation, of.option.inputs, np.array([moisture.residence]))
            for key in ("predicted", "low", "high"):
                assert lines[key][0] == pytest.approx(getattr(moisture, key), rel=1e-9)


@pytest.mark.parametrize("hours", [1.0, 2.0, 3.0, 5.0, 8.0, 12.0])
def test_each_residence_time_is_a_hopper_of_its_own_size(hours):
    """A hopper built for that time, by a case of its own: pellets that warm as fast and leave as warm."""
    of = desiccant("PC", residence_time="4 h").baseline
    other = desiccant("PC", residence_time=f"{hours} h").baseline
    built, state = other.verdict.moisture, other.operation.hopper
    read_off = curve(of.duty, of.operation, of.option.inputs, np.array([hours * 3600.0]))
    for key in ("predicted", "low", "high"):
        assert read_off[key][0] == pytest.approx(getattr(built, key), rel=0.03)
    now = predicted_moisture._way_to_change(
        of.duty, of.operation, floor_moisture(of.duty, of.operation), of.option.inputs
    )
    way = in_bed_for(now, np.array(hours * 3600.0))
    np.testing.assert_allclose(way.warming, state.heating_rate, rtol=0.015)
    np.testing.assert_allclose(way.out, state.resin_outlet_temperature, atol=0.07)
    np.testing.assert_allclose(way.asked, 1.0 / state.capacity_ratio, rtol=0.005)


def test_hours_needed_for_what_it_leaves_with_are_the_hours_it_stays():
    for of in compare(case()).options:
        moisture = of.verdict.moisture
        time = residence_needed(of.duty, of.operation, of.option.inputs, moisture.predicted, of.duty.resin.diffusivity)
        assert time == pytest.approx(moisture.residence, rel=2e-3)  # between points 15 min apart


@pytest.mark.parametrize("share", [0.03, 0.1, 0.3, 0.6, 0.999])
def test_hours_needed_are_those_of_every_quarter_hour(share):
    of = desiccant("PA66").baseline
    diffusivity = of.duty.resin.diffusivity
    times = 3600.0 * np.linspace(0.25, 24.0, 96)
    left = moisture_at(of.duty, of.operation, of.option.inputs, diffusivity, times)
    target = left[-1] + share * (left[0] - left[-1])
    found = residence_needed(of.duty, of.operation, of.option.inputs, target, diffusivity)
    assert found == pytest.approx(np.interp(-target, -left, times), rel=1e-12)


def test_the_worst_month_is_found_whatever_makes_it_the_worst():
    """Of months that each are worst in something, or alike, the wettest pellets are those of one month taken by itself."""
    drawn = np.random.default_rng(5)
    low, high = [1800, 0.3, 0.001, 1e-5, 285, 350], [14400, 9, 0.003, 8e-4, 305, 390]
    for shape, steps in (((300, 12), 1000), ((300, 3), 3)):  # in coarse steps many are alike
        ways = Way(*(a + (b - a) * drawn.integers(0, steps, shape) / steps for a, b in zip(low, high, strict=True)))
        pellets = Pellet(*(np.full(shape[0], value) for value in (1.5e-3, 3e-3, 373.15, 4e4)))
        diffusivity = 10 ** drawn.uniform(-11.5, -9.5, (shape[0], 1))
        each = moisture_left(ways, Pellet(*(part[:, None] for part in pellets)), diffusivity, 8.0)
        row, _, found = left_in_months(ways, pellets, diffusivity, 8.0)
        worst = np.maximum.reduceat(found[:, 0], np.flatnonzero(np.diff(row, prepend=-1)))
        np.testing.assert_allclose(worst, each.max(axis=1), rtol=1e-12)
        stays = drawn.uniform(900, 20000, (shape[0], 2))
        for i, stay in enumerate(stays.T):
            higher = ways.warming * (stay[:, None] / ways.stay) ** (1 / 3)  # as the root of the volume
            other = ways._replace(stay=np.broadcast_to(stay[:, None], shape), warming=higher)
            each = moisture_left(other, Pellet(*(part[:, None] for part in pellets)), diffusivity, 8.0)
            found = most_left(table_of(ways), np.array(pellets), diffusivity, 8.0, stays)
            np.testing.assert_allclose(found[:, i], each.max(axis=1), rtol=1e-12)


@pytest.mark.parametrize("target", [1.1e-3, 6e-4, 3e-4, 1.6e-4, 1.2e-4])
def test_hours_needed_whichever_month_is_taken_for_the_worst(target):
    """Damp air leaves most after a day, cold pellets after an hour: every quarter hour of every month says when."""
    months = {"stay": [4 * 3600.0] * 3, "initial": [2e-3] * 3, "fed": [293.15, 273.15, 293.15]}
    months |= {"warming": [20.0, 3.0, 20.0], "floor": [1e-4, 2e-5, 3e-5], "out": [393.15, 383.15, 393.15]}
    ways = Way(**{key: np.array([value]) for key, value in months.items()})
    pellet = Pellet(*(np.array([part]) for part in (1.5e-3, 3e-3, 393.15, 6e4)))
    diffusivity, every = np.array([[4e-10]]), 900.0 * np.arange(1.0, 97.0)
    each = [
        most_left(table_of(Way(*(part[:, [i]] for part in ways[:6]))), np.array(pellet), diffusivity, 6.0, every[None])[
            0
        ]
        for i in range(3)
    ]
    left = np.max(each, axis=0)
    assert set(np.argmax(each, axis=0)) == {0, 1}
    for month in range(3):  # taken for the worst
        (found,) = times_to(np.array([target]), ways, pellet, diffusivity, 6.0, np.array([month]))
        assert found == pytest.approx(np.interp(-target, -left, every), rel=1e-12)


def drawn_ways(diffusivities, seed, count=300):
    """Ways of one month with their pellets and diffusivities, and what each leaves at every quarter hour of two days."""
    drawn = np.random.default_rng(seed)
    low, high = [1800, 0.3, 0.001, 1e-5, 285, 350], [14400, 9, 0.003, 8e-4, 305, 390]
    ways = Way(*(drawn.uniform(a, b, (count, 1)) for a, b in zip(low, high, strict=True)))
    pellets = Pellet(*(np.full(count, value) for value in (1.5e-3, 3e-3, 373.15, 4e4)))
    diffusivity = 10 ** drawn.uniform(*diffusivities, (count, 1))
    stays = 900.0 * np.arange(1.0, 193.0)
    # In a bed for each stay pellets warm as the root of the volume says.
    longer = ways._replace(stay=stays, warming=ways.warming * np.cbrt(stays / ways.stay))
    left = moisture_left(longer, Pellet(*(part[:, None] for part in pellets)), diffusivity, 8.0)
    return ways, pellets, diffusivity, left


def test_the_quarter_hour_is_guessed_to_one_so_that_few_calls_find_the_time():
    ways, pellets, diffusivity, left = drawn_ways((-11.5, -9.5), 31)
    drawn = np.random.default_rng(32)
    target = left[:, 95] + (ways.initial[:, 0] - left[:, 95]) * drawn.uniform(-0.1, 1.0, 300) ** 3
    true = np.minimum(
        np.sum(left > target[:, None], axis=1), 96
    )  # the last that leaves too much; a day where that does not do
    assert {0, 1, 2, 50, 95, 96} <= set(true.tolist())
    found = _guessed(target, table_of(ways), np.array(pellets), diffusivity, 8.0)
    assert np.abs(found - true).max() <= 1.0
    assert np.all((found == 96.0) == (true == 96))


def test_what_is_reached_in_the_first_quarter_hour_after_a_day_is_not_reached_in_a_day():
    ways, pellets, diffusivity, left = drawn_ways((-11.5, -10.5), 33)
    target, day = 0.5 * (left[:, 95] + left[:, 96]), np.zeros(300, dtype=np.int64)
    assert times_to(target, ways, pellets, diffusivity, 8.0, day) == [None] * 300
    just = times_to(left[:, 95] * (1.0 + 1e-9), ways, pellets, diffusivity, 8.0, day)
    np.testing.assert_allclose(np.array(just, dtype=float), 86400.0, rtol=1e-4)


def test_no_time_does_where_the_air_of_another_month_is_too_damp():
    """Nothing dries below its floor; the month taken for the worst would reach the target within hours."""
    months = {"stay": [4 * 3600.0] * 2, "initial": [2e-3] * 2, "fed": [293.15] * 2}
    months |= {"warming": [20.0] * 2, "floor": [3e-5, 2e-4], "out": [393.15] * 2}
    ways = Way(**{key: np.array([value]) for key, value in months.items()})
    pellet = Pellet(*(np.array([part]) for part in (1.5e-3, 3e-3, 393.15, 6e4)))
    for month in (0, 1):
        assert times_to(np.array([1.5e-4]), ways, pellet, np.array([[4e-10]]), 6.0, np.array([month])) == [None]


def test_hours_needed_where_there_are_none():
    of = desiccant("PA66", initial_moisture="1 %").baseline
    floor = of.verdict.moisture.floor
    assert residence_needed(of.duty, of.operation, of.option.inputs, floor * 0.99, of.duty.resin.diffusivity) is None
    surface = compare(alone(HOT, resin("PP"))).baseline.verdict.moisture
    assert surface.needed is None
    assert surface.needed_surely is None


CLOCKS = {
    "PC": "PC",
    "PC wet (0.30%)": "PC",
    "PMMA": "PMMA",
    "PBT": "PBT",
    "ABS 80C (calibrated trade)": "ABS",
    "TPU": "TPU",
}


@pytest.mark.parametrize(
    "row",
    [
        pytest.param(row, marks=published(row), id=row["material"])
        for row in PUBLISHED["drying"]
        if row["material"] in CLOCKS
    ],
)
def test_diffusion_clock(row):
    of = desiccant(
        CLOCKS[row["material"]],
        drying_temperature=f"{row['temperature_degc']} degC",
        initial_moisture=f"{row['initial_percent']} %",
        target_moisture=f"{row['target_percent']} %",
    )
    hours = of.baseline.verdict.moisture.diffusion_time / 3600
    # Printed to 0.01 h and a diffusivity to three digits; the floor of -45 degC air and wet against dry basis: 0.5 %.
    assert hours == pytest.approx(row["short_cylinder_hours"], abs=0.006, rel=0.008)


@pytest.mark.common_practice("about four hours are usual, and most of the water leaves within the first hour")
@pytest.mark.parametrize("name", ["PC", "PET", "PBT", "PEI"])
def test_four_hours_are_usual_and_the_first_warm_hour_takes_most(name):
    result = desiccant(name)
    of, moisture = result.baseline, result.baseline.verdict.moisture
    assert result.case.resins[0].residence_time == 4 * 3600
    assert finding(of.verdict, "residence time").verdict == "pass"
    assert moisture.diffusion_time < 4 * 3600
    start = result.duty.initial_moisture[0]
    first = curve(of.duty, warm_at_once(result), of.option.inputs, np.array([3600.0]))["predicted"][0]
    assert first - moisture.floor < 0.3 * (start - moisture.floor)


@settings(max_examples=15)
@given(st.sampled_from(["PC", "ABS", "PMMA", "PA66", "PET"]), st.floats(0.3, 12), st.floats(1.05, 4))
def test_a_shorter_stay_is_never_drier(name, hours, longer):
    # In its own hopper each: a larger one loses more heat, so its air is set to warm the pellets alike.
    short, long = (hot_air(name, residence_time=f"{h} h") for h in (hours, hours * longer))
    assert short.moisture.predicted >= long.moisture.predicted * (1 - 1e-9)


@settings(max_examples=15)
@given(
    st.sampled_from(["PC", "ABS", "PMMA", "PA66", "PET", "PLA", "TPU"]),
    st.floats(-35, 30),
    st.floats(0.2, 30),
    st.floats(0.02, 0.4),
)
def test_the_prediction_lies_between_floor_and_start_within_its_band(name, dew_point, hours, percent):
    of = hot_air(name, f"{dew_point} degC", residence_time=f"{hours} h", initial_moisture=f"{percent} %").moisture
    start = percent / 100 / (1 - percent / 100)
    assert min(of.floor, start) * (1 - 1e-12) <= of.low <= of.predicted <= of.high <= start * (1 + 1e-12)
