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
    power = RANDOM.uniform(-5e4, 5e4, (2, 12, 3))  # two draws
    energy, peak = crossed.beside(power)
    month = series.local().astype("datetime64[M]").astype(int) % 12
    for draw in range(2):
        walked = series.power + power[draw][month, states]
        made = load_from_series(series.start, walked, tariff, step=float(step))
        np.testing.assert_allclose(energy[draw], made.cell_energy, rtol=1e-12)
        np.testing.assert_allclose(peak[draw], made.cell_peak, rtol=1e-12)


def test_every_reading_needs_its_state():
    series = readings(900)
    with pytest.raises(OutOfRangeError, match="one of each is needed"):
        around(series, np.zeros(3, dtype=np.int64), load_tariff("flat-electricity"), 1)
