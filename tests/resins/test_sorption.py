"""The sorption floor and the dew point it asks for."""

from __future__ import annotations

import tomllib
from pathlib import Path

import numpy as np
import pytest
from CoolProp.CoolProp import PropsSI
from hypothesis import given
from hypothesis import strategies as st

from energy.errors import OutOfRangeError
from energy.resins.sorption import dew_point_for_moisture, equilibrium_moisture, slope_at

ROWS = tomllib.loads((Path(__file__).parents[1] / "published" / "diffusion.toml").read_text("utf-8"))["floor"]
ZERO = 273.15


@pytest.mark.parametrize(
    "row",
    [
        pytest.param(
            row,
            marks=pytest.mark.published(row["source"], where=row["where"], quoted=row["quoted"]),
            id=row["material"],
        )
        for row in ROWS
    ],
)
def test_printed_floors(row):
    dew_points = np.array(row["dew_points_degc"]) + ZERO
    found = 1e6 * equilibrium_moisture(row["temperature_degc"] + ZERO, dew_points, row["slope"])
    for moisture, printed in zip(found, row["floor_ppm"], strict=True):
        assert moisture == pytest.approx(printed, abs=0.0051 if printed < 0.2 else 0.051 if printed < 10 else 0.51)


@pytest.mark.published(
    "Golovoy & Zinbo, Polym. Eng. Sci. 29 (1989) 1733", where="abstract", quoted="read in the abstract"
)
def test_polycarbonate_at_saturation():
    # 0.59 % at 100 degC and 100 % relative humidity.
    assert equilibrium_moisture(373.15, 373.15, 0.005945) == pytest.approx(0.0059, abs=0.00005)


@pytest.mark.published(
    "Humid aging of polyetherimide I, J. Appl. Polym. Sci. 77 (2000) 1439",
    where="abstract: 1.39 % at 20 degC, 1.50 % at 100 degC, heat of solution -42 to -43 kJ/mol",
    quoted="read in the abstract",
)
def test_slope_of_polyetherimide_hardly_moves():
    # Heat of solution from the vapour plus heat of vaporisation, the mean of 20 and 100 degC, is about zero:
    # so the saturation value moves by a few percent where an error of sign would make it 1e-3 of itself.
    heats = [PropsSI("H", "T", t, "Q", 1, "Water") - PropsSI("H", "T", t, "Q", 0, "Water") for t in (293.15, 373.15)]
    enthalpy = 0.018015 * np.mean(heats) - 42.0e3
    found = equilibrium_moisture(373.15, 373.15, 0.0139, slope_temperature=293.15, enthalpy=enthalpy)
    assert found == pytest.approx(0.0150, rel=0.06)
    assert found > 0.0139


@pytest.mark.common_practice("open-loop hot air dries ABS but not polyamide in humid weather")
def test_hot_air_in_humid_weather():
    humid = 273.15 + 20.0
    abs_floor, polyamide_floor = equilibrium_moisture(353.15, humid, np.array([0.007, 0.05]))
    assert abs_floor < 0.0005
    assert polyamide_floor > 0.0015


temperatures, slopes = st.floats(320.0, 450.0), st.floats(1e-4, 0.1)


@given(temperatures, st.floats(-100.0, 40.0), slopes, st.floats(-2e4, 2e4))
def test_dew_point_is_the_inverse(temperature, celsius, slope, enthalpy):
    kinds = {"slope_temperature": 350.0, "enthalpy": enthalpy}
    floor = equilibrium_moisture(temperature, celsius + ZERO, slope, **kinds)
    assert 0.0 <= floor <= slope_at(temperature, slope, **kinds)
    # 1e-7 K is the accuracy of the inverse saturation; -100 degC is the end of its range.
    if celsius > -99.9:
        assert dew_point_for_moisture(floor, temperature, slope, **kinds) == pytest.approx(celsius + ZERO, abs=1e-6)


@given(temperatures, st.floats(-60.0, 30.0), st.floats(0.1, 10.0), slopes)
def test_floor_falls_with_drier_and_with_hotter_air(temperature, celsius, change, slope):
    dew_point = celsius + ZERO
    floor = equilibrium_moisture(temperature, dew_point, slope)
    assert equilibrium_moisture(temperature, dew_point - change, slope) < floor
    assert equilibrium_moisture(temperature + change, dew_point, slope) < floor


def test_arrays_equal_scalars_and_inputs_stay():
    t, dew = np.array([[353.15], [393.15]]), np.array([233.15, 263.15, 293.15])
    kept = t.copy(), dew.copy()
    floor = equilibrium_moisture(t, dew, 0.006)
    back = dew_point_for_moisture(floor, t, 0.006)
    for i in range(2):
        for j in range(3):
            assert floor[i, j] == pytest.approx(equilibrium_moisture(t[i, 0], dew[j], 0.006), rel=1e-14)
            assert back[i, j] == pytest.approx(dew[j], abs=1e-6)
    np.testing.assert_array_equal(t, kept[0])
    np.testing.assert_array_equal(dew, kept[1])


def test_refused():
    with pytest.raises(
        OutOfRangeError,
        match=r"^relative humidity = 1\.\d+ is outside 0 to 1, the range of air no colder than its dew point",
    ):
        equilibrium_moisture(300.0, 310.0, 0.006)
    with pytest.raises(
        OutOfRangeError,
        match=r"^relative humidity at the target moisture = 2 is outside 0 to 1, the range of air no colder",
    ):
        dew_point_for_moisture(0.012, 353.15, 0.006)
    with pytest.raises(OutOfRangeError, match="vapour pressure"):
        dew_point_for_moisture(1e-12, 353.15, 0.006)
    with pytest.raises(ValueError, match="slope_temperature"):
        slope_at(353.15, 0.006, enthalpy=1e3)
    floors = equilibrium_moisture([300.0, 353.15], 310.0, 0.006, on_range="nan")
    points = dew_point_for_moisture([0.012, 1e-5], 353.15, 0.006, on_range="nan")
    assert np.isnan(floors).tolist() == np.isnan(points).tolist() == [True, False]
