"""The check afterwards where a meter shows more than the peaks forecast, or clearly more energy than is forecast."""

from __future__ import annotations

from types import SimpleNamespace

import numpy as np
import pytest

from energy.reports import above_forecast
from energy.reports import afterwards as told
from energy.reports.check import Check
from energy.study.afterwards import periods

KWH = 3.6e6
MWH = 1e3 * KWH


def dryers(peak, electricity=0.0, resin=1.0e6):
    """Of an option, its peak in each month [kW], electricity in a year [MWh] and resin in a year [kg]."""
    year = SimpleNamespace(
        most=lambda carriers: {"electricity": 1e3 * np.array(peak) + np.zeros(12)}[carriers[0]],
        resin=np.full(12, resin / 12.0),
    )
    return SimpleNamespace(year=year, carrier=lambda name: {"electricity": electricity * MWH}.get(name, 0.0))


def weeks(*kwh, kg=20000):
    rows = [{"when": "after", "days": 7.0, "resin": f"{kg} kg", "electricity": f"{one} kWh"} for one in kwh]
    return periods(rows, "weeks.csv")


def peaks(rows, before=100.0, after=20.0, credit=8000.0):
    of = {"electricity": ["electricity"]}
    return above_forecast.peaks_above(of, rows, dryers(before), dryers(after), {"electricity": credit})


def test_a_mean_above_the_peak_forecast_leaves_less_of_its_credit():
    # By hand: 10,080 kWh in 168 h are 60 kW; of a fall from 100 to 20 kW, 100 - 60 = 40 kW of 80 are left: half of 8,000.
    [one] = peaks(weeks(10080, 10080)).values()
    assert one.mean == pytest.approx(60e3)
    assert one.forecast == pytest.approx(20e3)
    assert (one.credit, one.left) == (8000.0, pytest.approx(4000.0))
    assert above_forecast.said_of_peaks(one, "USD", 3000.0) == (
        "Electricity after was 60 kW on the mean of all hours, and the request forecasts peaks of 20 kW at the most. No peak is below the mean: they did "
        "not fall as forecast. Of the 8,000 USD a year credited for them 4,000 USD are left at the most. A pass does not rest on that: read the peaks off "
        "the bills after, in kW; it is passed where they save 3,000 USD a year or more."
    )


def test_months_without_work_have_no_peak_that_falls():
    # Eleven months of 100 to 20 kW, one shut down: 11 * 40 of 11 * 80 kW.
    [one] = peaks(weeks(10080), [0.0] + [100.0] * 11, [0.0] + [20.0] * 11).values()
    assert one.left == pytest.approx(4000.0)


def test_nothing_is_left_where_the_mean_is_above_the_peaks_before():
    [one] = peaks(weeks(20160)).values()  # 120 kW
    assert one.left == 0.0


@pytest.mark.parametrize(
    ("kwh", "given"),
    [
        (3360, {}),  # 20 kW, the peak forecast itself
        (3390, {}),  # 20.2 kW: within 1 % that a meter may be off
        (10080, {"credit": 0.0}),
        (10080, {"credit": -500.0}),
        (10080, {"before": 20.0}),  # no peaks fall, so that what is credited is something else
    ],
)
def test_peaks_that_may_be_stay_as_forecast(kwh, given):
    assert peaks(weeks(kwh), **given) == {}


def test_the_mean_is_over_all_weeks():
    # 3,000 and 3,780 kWh in 336 h are 20.18 kW; the second alone is 22.5 kW.
    assert peaks(weeks(3000, 3780)) == {}
    assert peaks(weeks(3000, 3850))  # 20.39 kW


def result(read, left, credit=8000.0, **other):
    """A check whose meters were to show 10,000 of 20,000 a year, with 2,000 for upkeep and the credit for peaks; 15,000 are needed."""
    one = above_forecast.Peaks(carriers=("electricity",), mean=60e3, forecast=20e3, credit=credit, left=left)
    fixed = {"option": "New", "saved": {}, "signed": {}, "days": 14.0, "carried": "", "far": (), "beyond": ()}
    return Check(
        **fixed,
        money={"electricity": read},
        doubt=500.0,
        forecast={"electricity": left, "maintenance": 2000.0},
        needed=15000.0,
        expected=20000.0,
        peaks={"electricity": one},
        **other,
    )


def test_a_pass_does_not_rest_on_peaks_that_are_disproved():
    # By hand: 10,000 - 500 and 2,000 of upkeep are 11,500 of 15,000; 3,500 are left for the peaks to save, and 4,000 may be.
    found = result(10000.0, 4000.0)
    assert found.forecast_read == 10000.0
    assert found.asked == 9000.0  # 15,000 less 6,000, more than three quarters of 10,000
    assert found.enough
    assert found.asked_of_peaks == 3500.0
    assert found.word == "not decided"
    lines = told.sentences(found, "USD")
    assert lines[0].startswith(
        "Not decided by these meters, since the meters disprove the peaks that were forecast, and without them what was needed is not reached: "
    )
    assert "The forecast of what meters show was 10,000 USD, and 9,000 USD were needed." in lines[0]
    assert lines[1].startswith(
        "Not metered, and credited beside it as forecast, less what the meters disprove: 6,000 USD a year."
    )
    assert lines[2].endswith("it is passed where they save 3,500 USD a year or more.")
    assert any(
        "no energy 4,000 USD at the most, of 8,000 USD forecast; upkeep 2,000 USD as forecast" in line for line in lines
    )


def test_what_is_enough_without_them_is_passed():
    # 13,500 - 500 and 2,000 are 15,000.
    assert result(13500.0, 4000.0).word == "passed"
    assert "it is passed where" not in told.sentences(result(13500.0, 4000.0), "USD")[2]


def test_what_falls_short_with_all_that_is_left_has_failed():
    # 8,000 + 500 and 2,000 and 4,000 are 14,500 of 15,000; with the 8,000 forecast they would be more than enough.
    assert result(8000.0, 4000.0).word == "failed"
    assert result(8000.0, 8000.0).word == "not decided"


def above(metered, doubt=0.0, forecast=1.0, kg=20000, of_others=()):
    """Two weeks: metered and its doubt [kWh], forecast in a year of 1,000,000 kg [MWh]."""
    saved = {"electricity": SimpleNamespace(metered=metered * KWH, doubt=doubt * KWH)}
    rows = weeks(0.5 * metered, 0.5 * metered, kg=kg)
    return above_forecast.above(saved, rows, dryers(1.0, electricity=forecast), of_others)


def test_clearly_more_than_forecast_is_told():
    # By hand: 40,000 of 1,000,000 kg are 4 % of 100 MWh: 4,000 kWh; by days, 14 of 365, 3,836.
    [line] = above(8000, doubt=500, forecast=100.0)
    assert line == (
        "Electricity after: 8,000 kWh were metered, where the request forecasts 4,000 kWh at the most for these days and this resin, 2.0 times as much. "
        "Look for what takes it: a heater that runs on it and should not, settings other than in the request, or a machine on the meter that is none of "
        "its dryers?"
    )
    assert above(5600, doubt=500, forecast=100.0)  # 5,100 are more than a quarter above 4,000
    assert not above(5400, doubt=500, forecast=100.0)
    assert not above(8000, doubt=500, forecast=100.0, of_others={"electricity"})


def test_little_resin_takes_as_much_as_its_days():
    # 20,000 kg are 2 %, 2,000 kWh; 14 of 365 days are 3,836 kWh, and 4,700 are less than a quarter above that.
    assert not above(4700, forecast=100.0, kg=10000)
    assert above(4900, forecast=100.0, kg=10000)


def test_none_forecast_is_told_without_a_ratio():
    [line] = above(400, forecast=0.0)
    assert "forecasts 0 kWh at the most for these days and this resin. Look" in line
