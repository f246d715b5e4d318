"""Humidity of air against printed tables, real-gas moist air and itself backwards."""

from __future__ import annotations

import numpy as np
import pytest
from air_states import ATM, T_ANY, kelvin, rows
from CoolProp.CoolProp import HAPropsSI, PropsSI
from hypothesis import assume, given
from hypothesis import strategies as st

from energy.air import saturation, water_vapour
from energy.errors import OutOfRangeError


@pytest.mark.parametrize("row", rows("enhancement"))
def test_enhancement_factor_of_compressed_air(row):
    # True f steps down by 0.07 % from ice to water at 8 bar; the fit runs through the middle.
    f = water_vapour.enhancement_factor(kelvin(row["celsius"]), row["bar"] * 1e5)
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
    np.testing.assert_allclose(water_vapour.humidity_ratio(T, P)[kept], W[kept], rtol=within)


def test_no_least_squares_fit_of_the_enhancement_factor_of_the_same_shape_does_better():
    T, P, W = saturated_air(np.linspace(-100, 180, 57), [1e4, 2e4, 5e4, ATM, 3e5, 8e5, 1.3e6, 1.6e6])
    p_sat, share = saturation.saturation_pressure(T), W / (0.621945 + W)
    log_f = np.log(share * P / p_sat)
    u, rest = 273.15 / T - 1, (P - p_sat) / 1e5
    near = [rest * p_sat / P * u**i for i in range(3)]
    columns = np.stack([rest * u**i for i in range(4)] + near + [rest * P / 1e5], axis=1)
    weight = 1 / (1 - share)  # relative error of W over that of f
    fitted = np.linalg.lstsq(columns * weight[:, None], log_f * weight)[0]
    best = np.abs((columns @ fitted - log_f) * weight).max()
    ours = np.abs((np.log(water_vapour.enhancement_factor(T, P)) - log_f) * weight).max()
    assert ours <= best


@pytest.mark.parametrize("pressure", [ATM, 84555.93], ids=["sea level", "1500 m"])
def test_humidity_ratio_for_dryers_within_a_five_hundredth_of_real_gas(pressure):
    for dew in range(-60, 31, 10):
        # The dry bulb, from the dew point to 180 degC, makes no difference.
        for t in (dew, 60, 180):
            W = HAPropsSI("W", "T", kelvin(t), "D", kelvin(dew), "P", pressure)
            assert water_vapour.humidity_ratio(kelvin(dew), pressure) == pytest.approx(W, rel=2e-3)
            # 0.04 % of humidity is 0.007 K of dew point.
            assert water_vapour.dew_point(W, pressure) == pytest.approx(kelvin(dew), abs=0.01)


def test_enhancement_fades_where_vapour_fills_the_air():
    f = water_vapour.enhancement_factor(saturation.saturation_temperature(np.array([0.5, 0.9, 0.99, 1.0]) * ATM), ATM)
    assert (np.diff(f) < 0).all()
    assert f[-1] == pytest.approx(1.0, abs=1e-12)
    with pytest.raises(OutOfRangeError, match="saturation pressure / pressure"):
        water_vapour.enhancement_factor(380.0, ATM)


@given(st.floats(173.15, 453.15), st.floats(1e4, 1.6e6))
def test_dew_point_is_the_inverse_of_humidity_ratio(T, P):
    W = water_vapour.humidity_ratio(T, P, on_range="nan")
    assume(np.isfinite(W))
    assert water_vapour.dew_point(W, P) == pytest.approx(T, abs=1e-5)


def test_dew_point_is_the_inverse_on_a_fine_grid():
    T, P = np.linspace(173.15, 453.15, 5601)[:, None], np.geomspace(1e4, 1.6e6, 12)
    W = water_vapour.humidity_ratio(T, P, on_range="nan")
    back = water_vapour.dew_point(W, P, on_range="nan")
    assert np.isnan(back).sum() == np.isnan(W).sum() < W.size / 2
    assert np.nanmax(np.abs(back - T)) < 1e-5
    assert (np.diff(W, axis=0)[np.isfinite(np.diff(W, axis=0))] > 0).all()


def test_air_without_room_for_the_vapour_or_without_vapour_is_refused():
    with pytest.raises(OutOfRangeError, match="humidity ratio at this dew point and pressure"):
        water_vapour.humidity_ratio(380.0, ATM)
    with pytest.raises(OutOfRangeError, match="dew point at this humidity ratio and pressure"):
        water_vapour.dew_point(0.0, ATM)


@given(st.floats(1e-7, 10.0), st.floats(1e4, 1.6e6))
def test_vapour_pressure_gives_the_humidity_ratio_back(W, P):
    p = water_vapour.vapour_pressure(W, P)
    assert 0.621945 * p / (P - p) == pytest.approx(W, rel=1e-13)


def test_relative_humidity_is_one_at_the_dew_point_and_tiny_in_hot_dry_air():
    assert water_vapour.relative_humidity(T_ANY, T_ANY) == pytest.approx(1.0, abs=1e-15)
    # Table of states: 180 degC, frost point -40 degC: 1.288e-5 of real gas, with its factors f.
    assert water_vapour.relative_humidity(kelvin(180), kelvin(-40)) == pytest.approx(1.288e-5, rel=0.01)
