"""Period tables against a walk through every quarter hour, written apart from the code under test."""

from __future__ import annotations

import re
from collections import defaultdict
from datetime import UTC, datetime, timedelta
from zoneinfo import ZoneInfo

import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from tariff_samples import CALENDAR, KWH, WORKDAYS, tariff_of

from energy.errors import EnergyError, OutOfRangeError
from energy.tariffs import Load, bill, cross, cross_time, load_from_periods, load_from_series, quarter_hours

ENERGY = {
    "type": "energy-time-of-use",
    "id": "energy",
    "prices": [
        {"periods": ["summer on-peak"], "price": "0.21 USD/kWh"},
        {"periods": ["winter on-peak"], "price": "0.15 USD/kWh"},
        {"periods": ["off-peak"], "price": "0.08 USD/kWh"},
    ],
}
DEMANDS = [
    {
        "type": "demand-time-of-use",
        "id": "on-peak",
        "prices": [
            {"periods": ["summer on-peak"], "price": "16 USD/kW"},
            {"periods": ["winter on-peak"], "price": "9 USD/kW"},
        ],
    },
    {"type": "demand-flat", "id": "any-time", "price": "6 USD/kW", "ratchet": {"share": "80 %"}},
]


def two_seasons(zone, begin, end, first, length, days):
    """Calendar of two seasons with an on-peak span of the clock each weekday, times in minutes."""
    last = (first + length) % 1440
    hours = f"{first // 60:02d}:{first % 60:02d}-{last // 60:02d}:{last % 60:02d}".replace("-00:00", "-24:00")
    day_before, day_after = (np.datetime64(f"2025-{end}") + shift for shift in (0, 1))
    before_begin = np.datetime64(f"2025-{begin}") - 1
    return {
        "time_zone": zone,
        "seasons": {
            "summer": [f"{begin} to {str(day_before)[5:]}"],
            "winter": [f"{str(day_after)[5:]} to {str(before_begin)[5:]}"],
        },
        "windows": [{"period": "on-peak", "days": days, "hours": [hours]}],
        "rest": "off-peak",
    }


def walk(calendar, window, powers, year):
    """Total of the tariff above by plain date and time arithmetic, one quarter hour after the other."""
    zone = ZoneInfo(calendar["time_zone"]) if calendar["time_zone"] else UTC
    begin, end = (part.strip() for part in calendar["seasons"]["summer"][0].split("to"))
    span = calendar["windows"][0]["hours"][0]
    first, last = (int(t[:2]) * 60 + int(t[3:]) for t in span.split("-"))
    days = [["mon", "tue", "wed", "thu", "fri", "sat", "sun"].index(d) for d in calendar["windows"][0]["days"]]
    energy, sums = defaultdict(float), defaultdict(list)
    at = datetime(year, 1, 1, tzinfo=zone).astimezone(UTC)
    for power in powers.tolist():
        local = at.astimezone(zone)
        minute = 60 * local.hour + local.minute
        inside = first <= minute < last if first < last else minute >= first or minute < last
        season = "summer" if begin <= local.strftime("%m-%d") <= end else "winter"
        peak = local.weekday() in days and inside
        energy[season if peak else "off"] += power * 0.25e-3
        sums[local.month, local.date(), minute * 60 // window, local.utcoffset(), season, peak].append(power)
        at += timedelta(minutes=15)
    assert at.astimezone(zone) == datetime(year + 1, 1, 1, tzinfo=zone)
    total = 0.21 * energy["summer"] + 0.15 * energy["winter"] + 0.08 * energy["off"]
    any_time, on_peak = defaultdict(float), defaultdict(float)
    for (month, _, _, _, season, peak), values in sums.items():
        mean = sum(values) / len(values) / 1e3
        any_time[month] = max(any_time[month], mean)
        if peak:
            on_peak[month, season] = max(on_peak[month, season], mean)
    total += sum({"summer": 16, "winter": 9}[season] * demand for (_, season), demand in on_peak.items())
    highest = max(any_time.values())
    for month in range(1, 13):  # eleven months before and this one: the year, which repeats itself
        total += 6 * max(any_time[month], 0.8 * max([d for m, d in any_time.items() if m != month], default=highest))
    return total


ZONES = ["America/Chicago", "Europe/Berlin", "Australia/Sydney", "Asia/Kolkata", "Australia/Lord_Howe", None]


@settings(max_examples=12, deadline=None, derandomize=True, suppress_health_check=[HealthCheck.too_slow])
@given(
    zone=st.sampled_from(ZONES),
    year=st.sampled_from([2024, 2026, 2027]),
    begin=st.sampled_from(["04-01", "05-16", "06-01"]),
    end=st.sampled_from(["09-30", "10-14", "10-31"]),
    window=st.sampled_from([900, 1800, 3600]),
    first=st.integers(0, 23),
    length=st.integers(1, 20),
    days=st.lists(st.sampled_from([*WORKDAYS, "sat", "sun"]), min_size=1, unique=True),
    pattern=st.lists(st.integers(0, 3), min_size=5, max_size=40),
    powers=st.lists(st.floats(0, 5e5), min_size=4, max_size=4),
)
def test_period_table_bill_is_the_walk_through_quarter_hours(
    zone, year, begin, end, window, first, length, days, pattern, powers
):
    step = window // 60
    calendar = two_seasons(zone, begin, end, first * 60 // step * step, length * 60, days)
    rate = tariff_of(ENERGY, *DEMANDS, calendar=calendar, demand_window=f"{step} min")
    clock = quarter_hours(year, zone)
    state = np.resize(np.array(pattern), clock.time.size)
    power = np.array(powers)
    expected = walk(calendar, window, power[state], year)
    periods = bill(rate, load_from_periods(power, cross(state, rate, year, count=4)), "steady")
    series = bill(rate, load_from_series(clock.time, power[state], rate), "steady")
    assert periods.total == pytest.approx(expected, rel=1e-10)
    assert series.total == pytest.approx(expected, rel=1e-10)


RATE = tariff_of(
    {
        "type": "energy-time-of-use",
        "id": "energy",
        "prices": [
            {"periods": ["on-peak"], "price": "0.2 USD/kWh"},
            {"periods": ["shoulder", "off-peak"], "price": "0.1 USD/kWh"},
        ],
    },
    calendar=CALENDAR,
)
GAS = tariff_of({"type": "capacity", "id": "capacity", "price": "1 USD/kWh"}, commodity="gas")


def test_crossing_is_made_once_and_kept():
    state = np.zeros(35_040, dtype=int)
    assert cross(state, RATE, 2026) is cross(state.copy(), RATE, 2026)
    assert cross(state, RATE, 2025) is not cross(state, RATE, 2026)


def test_hours_of_states_and_cells_add_up():
    state = np.arange(35_040) // 96 % 2  # every other day
    crossing = cross(state, RATE, 2026)
    assert crossing.cells == RATE.price_calendar.cells
    assert crossing.time.sum(1) == pytest.approx(RATE.price_calendar.time(2026))
    assert crossing.time.sum() == 8760 * 3600


def test_states_of_which_only_hours_are_known_are_spread_over_the_clock():
    hours = np.column_stack([np.full(12, 400.0), np.full(12, 100.0)]) * 3600
    load = load_from_periods(np.array([100e3, 20e3]), cross_time(hours, RATE, 2026))
    assert load.energy == pytest.approx(np.full(12, (400 * 100 + 100 * 20) * KWH))
    calendar = RATE.price_calendar
    share = calendar.time(2026) / calendar.time(2026).sum(-1, keepdims=True)
    assert load.cell_energy == pytest.approx(load.energy[:, None] * share)
    assert load.cell_peak == pytest.approx(np.where(share > 0, 100e3, 0.0))
    spread = Load(energy=load.energy, peak=load.peak, year=2026, spread="clock hours")
    assert bill(RATE, spread).total == pytest.approx(bill(RATE, load).total, rel=1e-12)


def test_a_demand_window_of_an_hour_holds_the_mean_of_its_states():
    hourly = tariff_of({"type": "demand-flat", "id": "demand", "price": "1 USD/kW"}, demand_window="60 min")
    state = np.zeros(35_040, dtype=int)
    state[::8] = 1  # one quarter hour in two hours
    load = load_from_periods([0.0, 100e3], cross(state, hourly, 2026))
    assert load.peak == pytest.approx(np.full(12, 25e3))


def test_peaks_of_states_and_states_that_never_occur():
    state = np.zeros(35_040, dtype=int)
    load = load_from_periods([10e3, np.nan], cross(state, RATE, 2026, count=2), peak=[30e3, np.nan])
    assert load.peak == pytest.approx(np.full(12, 30e3))
    assert load.energy.sum() == pytest.approx(10 * 8760 * KWH)


def test_the_highest_day_of_gas():
    state = np.zeros(35_040, dtype=int)
    state[96 * 31 : 96 * 31 + 40] = 1  # ten hours on 1 February
    load = load_from_periods([10e3, 70e3], cross(state, GAS, 2026))
    by_hand = np.full(12, 240.0)
    by_hand[1] = 14 * 10 + 10 * 70
    assert load.daily_peak == pytest.approx(by_hand * KWH)
    clock = quarter_hours(2026)
    series = load_from_series(clock.time, np.array([10e3, 70e3])[state], GAS)
    assert series.daily_peak == pytest.approx(by_hand * KWH)


def test_draws_stand_on_leading_axes():
    state = np.arange(35_040) % 3
    crossing = cross(state, RATE, 2026)
    power = np.random.default_rng(1).uniform(0, 1e5, (5, 3))
    whole = load_from_periods(power, crossing)
    assert whole.cell_energy.shape == (5, 12, 4)
    totals = bill(RATE, whole).total
    assert totals == pytest.approx([bill(RATE, load_from_periods(row, crossing)).total for row in power], rel=1e-13)


def test_a_series_need_not_begin_in_january_and_may_be_finer():
    first, second = (quarter_hours(y, "America/Chicago") for y in (2025, 2026))
    quarters = np.concatenate([first.time[first.month >= 6], second.time[second.month < 6]])
    time = (quarters[:, None] + np.arange(0, 900, 300)).ravel()
    power = np.tile([0.0, 30e3, 60e3], quarters.size)
    load = load_from_series(time, power, RATE)
    assert load.year == 2026
    assert load.peak == pytest.approx(np.full(12, 30e3))
    assert load.energy[6] == pytest.approx(744 * 30 * KWH)
    assert load.energy[10] == pytest.approx(721 * 30 * KWH)


@pytest.mark.parametrize("seed", [3, 4])
def test_peaks_of_readings_from_july_on_stand_in_their_months_the_second_time_too(seed):
    first, second = (quarter_hours(y, "America/Chicago") for y in (2025, 2026))
    late, early = first.month >= 6, second.month < 6
    time, month = (np.concatenate([getattr(first, n)[late], getattr(second, n)[early]]) for n in ("time", "month"))
    day = np.concatenate([first.day[late], second.day[early]])
    power = np.random.default_rng(seed).uniform(1e4, 1e5, (2, time.size))
    load = load_from_series(time, power, RATE)
    for draw in range(2):
        assert load.peak[draw] == pytest.approx([power[draw][month == m].max() for m in range(12)], rel=1e-15)
        of_day = defaultdict(float)
        for at, m, watts in zip(day.tolist(), month.tolist(), power[draw].tolist(), strict=True):
            of_day[at, m] += 900.0 * watts
        most = [max(amount for (_, n), amount in of_day.items() if n == m) for m in range(12)]
        assert load.daily_peak[draw] == pytest.approx(most, rel=1e-12)


TIME = quarter_hours(2026, "America/Chicago").time


def test_the_same_readings_are_laid_out_anew_for_another_window_calendar_or_year():
    power = np.random.default_rng(2).uniform(1e4, 1e5, TIME.size)
    before = load_from_series(TIME, power, RATE)
    flat = {"type": "demand-flat", "id": "demand", "price": "1 USD/kW"}
    chicago = {"time_zone": "America/Chicago", "rest": "all hours"}
    hourly = load_from_series(TIME, power, tariff_of(flat, demand_window="60 min", calendar=chicago))
    month = quarter_hours(2026, "America/Chicago").month
    means = power.reshape(-1, 4).mean(-1)
    assert hourly.peak == pytest.approx([means[month[::4] == m].max() for m in range(12)])
    assert hourly.energy == pytest.approx([900.0 * power[month == m].sum() for m in range(12)])
    assert before.peak == pytest.approx([power[month == m].max() for m in range(12)])
    assert before.energy == pytest.approx(hourly.energy)
    later = quarter_hours(2027, "America/Chicago")
    assert load_from_series(later.time, power, RATE).year == 2027
    assert load_from_series(TIME, 2.0 * power, RATE).peak == pytest.approx(2.0 * before.peak)


@pytest.mark.parametrize(
    ("time", "said"),
    [
        (np.delete(TIME, 100), "the interval that starts at 2026-01-02T06:45:00Z is followed by a gap (1 such places)"),
        (np.insert(TIME, 100, TIME[100]), "the interval that starts at 2026-01-02T07:00:00Z overlaps the next"),
        (TIME[4:], "2026-01 is not whole: 743 of its 744 h are there"),
        (TIME[: 31 * 96], "the intervals span 1 months, 2026-01 to 2026-01; twelve are needed"),
        (TIME[::4], "intervals of 3600 s cannot show the demand over 15 min"),
        (TIME[:1], "do not fit"),
    ],
)
def test_series_that_cannot_be_billed(time, said):
    with pytest.raises(EnergyError, match=re.escape(said)):
        load_from_series(time, np.ones(time.size), RATE)


@pytest.mark.parametrize(
    ("state", "said"),
    [
        (np.zeros(35_136, dtype=int), "write one whole number from 0 up for each of its 35040 quarter hours"),
        (np.zeros(35_040), "type float64"),
        (np.full(35_040, -1), "from 0 up"),
        (np.full(35_040, 2), "operating state 2 is not one of the 2 states"),
    ],
)
def test_states_that_cannot_be_crossed(state, said):
    with pytest.raises(OutOfRangeError, match=said):
        cross(state, RATE, 2026, count=2)


def test_other_shapes_are_refused():
    with pytest.raises(OutOfRangeError, match="the last axis must be 1 operating states"):
        load_from_periods([1.0, 2.0], cross(np.zeros(35_040, dtype=int), RATE, 2026))
    with pytest.raises(OutOfRangeError, match="write 12 rows"):
        cross_time(np.ones((11, 2)), RATE, 2026)
    with pytest.raises(OutOfRangeError, match="operating states of month 2 last"):
        cross_time(np.full((12, 1), 744 * 3600.0), RATE, 2026)
