"""Readings crossed with operating states once give what walking through every interval gives."""

from __future__ import annotations

import numpy as np
import pytest

from energy.errors import OutOfRangeError
from energy.tariffs import around, load_from_series, load_tariff
from energy.tariffs.readers import Series

RANDOM = np.random.default_rng(3)


def readings(step):
    start = int(np.datetime64("2026-01-01T05:00", "s").astype(int))  # midnight in New York
    times = start + step * np.arange(365 * 86400 // step)
    return Series(start=times, step=step, amount=RANDOM.uniform(2e5, 5e5, times.size) * step, zone="America/New_York")


@pytest.mark.parametrize("name", ["time-of-use-electricity", "flat-electricity"])
@pytest.mark.parametrize(("step", "window"), [(900, 900), (300, 900), (900, 3600)])
def test_what_runs_beside_readings_is_added_interval_by_interval(name, step, window):
    given = load_tariff(name).on_clock("America/New_York")
    tariff = given.model_copy(update={"demand_window": float(window)})
    series = readings(step)
    quarter = np.repeat(RANDOM.integers(0, 3, series.start.size * step // 900), 900 // step)
    states = quarter[: series.start.size]
    crossed = around(series, states, tariff, 3)
    power = RANDOM.uniform(0.0, 5e4, (2, 12, 3))  # two draws
    energy, nothing = crossed.load.cell_energy + crossed.energy_of(power), np.zeros((12, 3))
    _, peak = crossed.peaks_with(nothing, power)
    month = series.local().astype("datetime64[M]").astype(int) % 12
    for draw in range(2):
        walked = series.power + power[draw][month, states]
        made = load_from_series(series.start, walked, tariff, step=float(step))
        np.testing.assert_allclose(energy[draw], made.cell_energy, rtol=1e-12)
        np.testing.assert_allclose(peak[draw], made.cell_peak, rtol=1e-12)


@pytest.mark.parametrize("name", ["time-of-use-electricity", "flat-electricity"])
def test_at_a_peak_what_takes_the_place_of_present_dryers_is_put_in_interval_by_interval(name):
    """Some readings are below what the present dryers are taken to draw: they draw what is read then, and another as large a part of its own."""
    tariff = load_tariff(name).on_clock("America/New_York")
    series = readings(900)
    states = RANDOM.integers(0, 3, series.start.size)
    present, own = RANDOM.uniform(3e5, 6e5, (12, 3)), RANDOM.uniform(0.0, 9e5, (2, 12, 3))
    without, beside = around(series, states, tariff, 3).peaks_with(present, own)
    month = series.local().astype("datetime64[M]").astype(int) % 12
    there = present[month, states]
    left = np.where(series.power > there, series.power - there, 0.0)
    made = load_from_series(series.start, left, tariff, step=900.0)
    np.testing.assert_allclose(without, made.cell_peak, rtol=1e-12, atol=1e-6)
    for draw in range(2):
        part = np.where(series.power > there, 1.0, series.power / there)
        made = load_from_series(series.start, left + part * own[draw][month, states], tariff, step=900.0)
        np.testing.assert_allclose(beside[draw], made.cell_peak, rtol=1e-12)
    np.testing.assert_allclose(around(series, states, tariff, 3).peaks_with(present, present)[1],
                               load_from_series(series.start, series.power, tariff, step=900.0).cell_peak, rtol=1e-12)  # fmt: skip


def test_every_reading_needs_its_state():
    series = readings(900)
    with pytest.raises(OutOfRangeError, match="one of each is needed"):
        around(series, np.zeros(3, dtype=np.int64), load_tariff("flat-electricity"), 1)
