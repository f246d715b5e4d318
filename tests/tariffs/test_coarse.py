"""Readings longer than the demand window: billed, with the demand said to be a lower bound."""

from __future__ import annotations

import numpy as np
import pytest
from tariff_samples import tariff_of

from energy.errors import CaseError
from energy.tariffs import fitted
from energy.tariffs.known_load import read_load
from energy.tariffs.readers import Series

ENERGY = {
    "type": "energy-time-of-use",
    "id": "energy",
    "prices": [{"periods": ["day"], "price": "0.2 USD/kWh"}, {"periods": ["night"], "price": "0.1 USD/kWh"}],
}
DEMAND = {"type": "demand-flat", "id": "demand", "price": "10 USD/kW"}
HALF_PAST = {"windows": [{"period": "day", "hours": ["06:30-22:00"]}], "rest": "night"}


def hours(power, **fields):
    return Series(start=3600 * np.arange(len(power)), step=3600, amount=3600.0 * np.array(power, dtype=float), **fields)


@pytest.mark.parametrize("minutes", [15, 30])
def test_hours_are_cut_into_windows_of_the_same_power(minutes):
    rate = tariff_of(DEMAND, demand_window=f"{minutes} min")
    cut, remarks = fitted(hours([100e3, 250e3]), rate)
    assert cut.power.tolist() == [100e3] * (60 // minutes) + [250e3] * (60 // minutes)
    assert np.diff(cut.start).tolist() == [60 * minutes] * (120 // minutes - 1)
    assert cut.total == pytest.approx(350 * 3.6e6, rel=1e-12)
    assert [f"highest {minutes} minutes, the readings show only 60" in r and "lower bound" in r for r in remarks] == [
        True
    ]


def test_readings_as_fine_as_the_window_stay_as_they_are():
    given = hours([1.0])
    assert fitted(given, tariff_of(DEMAND, demand_window="60 min")) == (given, ())


def test_no_word_of_demand_where_none_is_billed():
    assert fitted(hours([1.0]), tariff_of({"type": "energy-flat", "id": "e", "price": "0.1 USD/kWh"}))[1] == ()


def test_hours_across_a_price_period(tmp_path):
    """80 kW from 6 to 7 and 20 kW else, all year: of the 80 kWh a day half lies before 6:30.

    January by hand: day 40 + 15 x 20 = 340 kWh, night 8 x 20 + 40 = 200 kWh, each 31 times.
    """
    stamps = np.arange("2026-01-01T00", "2027-01-01T00", dtype="datetime64[h]")
    rows = "".join(f"{t}:00Z,{80 if t.astype(int) % 24 == 6 else 20}\n" for t in stamps)
    (tmp_path / "meter.csv").write_text("time,kW\n" + rows)
    rate = tariff_of(ENERGY, DEMAND, calendar=HALF_PAST | {"time_zone": "UTC"})
    read = read_load(tmp_path / "meter.csv", rate, 2026)
    by_cell = dict(zip(read.load.cells, read.load.cell_energy[0] / 3.6e6, strict=True))
    assert by_cell == pytest.approx({"day": 31 * 340, "night": 31 * 200})
    assert read.load.peak[0] == pytest.approx(80e3)
    assert ["lower bound" in c for c in read.cautions] == [True, False]
    assert "Price periods begin within readings of 60 minutes" in read.cautions[1]


@pytest.mark.parametrize(("commodity", "most"), [("electricity", "an hour"), ("gas", "a day")])
def test_longer_ones_are_refused(commodity, most):
    rate = tariff_of({"type": "energy-flat", "id": "e", "price": "0.1 USD/kWh"}, commodity=commodity)
    days = Series(start=np.array([0]), step=7 * 86400, amount=np.array([1.0]), source="meter.csv")
    with pytest.raises(
        CaseError, match=rf"meter.csv: readings of 10080 min are too long.*give readings of {most} or less"
    ):
        fitted(days, rate)


def test_days_of_gas():
    rate = tariff_of({"type": "energy-flat", "id": "e", "price": "0.1 USD/kWh"}, commodity="gas")
    lengths = np.array([86400, 82800, 90000])  # with the days on which the clock is moved
    start = np.cumsum(lengths) - lengths
    cut, remarks = fitted(Series(start=start, step=lengths, amount=np.array([24.0, 23.0, 25.0])), rate)
    assert (cut.amount.sum(), remarks) == (pytest.approx(72.0), ())
    assert np.ptp(cut.power) == pytest.approx(0.0, abs=1e-15)


def test_a_length_without_whole_minutes_is_refused():
    # 40 min 29 s and 15 min have nothing in common but seconds: a year of them would be 31 million readings.
    start = np.datetime64("2026-01-01T06:00", "s").astype(int) + 2429 * np.arange(3)
    with pytest.raises(CaseError, match=r"readings of 40.48 min cannot be cut to the 15 min .* give readings of whole"):
        fitted(Series(start=start, step=2429, amount=np.ones(3)), tariff_of(DEMAND, demand_window="15 min"))
    even = fitted(Series(start=start, step=2400, amount=np.ones(3)), tariff_of(DEMAND, demand_window="15 min"))[0]
    assert even.length.tolist() == [300] * 24
