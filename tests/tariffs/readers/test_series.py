"""Interval readings on the local clock: windows, months, the hours that a clock skips or repeats."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from zoneinfo import ZoneInfo

import numpy as np
import pandas as pd
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from energy.errors import CaseError, OutOfRangeError
from energy.tariffs.readers import Series
from energy.tariffs.readers.series import changes, from_local, month_edges, offsets

FACTS = {"where": "B3, time facts", "quoted": "computed with zoneinfo in the reference table"}
ZONES = ("America/Chicago", "Europe/Berlin", "Australia/Lord_Howe", "Asia/Kolkata", "America/Havana", "UTC")


def at(text: str) -> int:
    return int(datetime.fromisoformat(text).timestamp())


def readings(start: str, power: object, step: int = 900, **options: object) -> Series:
    watts = np.asarray(power, dtype=float)
    start_at = at(start) + step * np.arange(watts.size)
    return Series(start=start_at, step=step, amount=watts * step, **{"zone": "America/Chicago"} | options)


def year_of(zone: str, year: int, step: int = 3600, power: float = 400e3) -> Series:
    first, last = (int(datetime(y, 1, 1, tzinfo=ZoneInfo(zone)).timestamp()) for y in (year, year + 1))
    start = np.arange(first, last, step)
    return Series(start=start, step=step, amount=np.full(start.size, power * step), zone=zone)


# ------------------------------------------------------------------------------------------------------- the calendar


@pytest.mark.published("IANA time zone database", **FACTS)
def test_hours_of_months():
    for zone, short, long in (("America/New_York", 3, 11), ("Europe/Berlin", 3, 10)):
        hours = np.diff(month_edges(zone, 2026)) / 3600
        assert hours.sum() == 8760
        assert hours[short - 1] == 743
        assert hours[long - 1] == {11: 721, 10: 745}[long]
    assert np.diff(month_edges("America/New_York", 2024)).sum() / 900 == 35136
    assert np.diff(month_edges("America/New_York", 2026)).sum() / 900 == 35040
    assert month_edges("UTC", 2024)[-1] - month_edges("UTC", 2024)[0] == 8784 * 3600


@pytest.mark.published("IANA time zone database", **FACTS)
def test_lord_howe_moves_its_clock_by_half_an_hour():
    _, values = changes("Australia/Lord_Howe", at("2026-01-01T00:00Z"), at("2026-12-31T00:00Z"))
    assert np.abs(np.diff(values)).tolist() == [1800, 1800]
    assert np.diff(month_edges("Australia/Lord_Howe", 2026))[[3, 9]].tolist() == [720 * 3600 + 1800, 744 * 3600 - 1800]


@pytest.mark.parametrize("zone", ZONES)
@pytest.mark.parametrize("year", [1985, 2026])
def test_clock_is_that_of_the_standard_library(zone, year):
    moments = at(f"{year}-01-01T00:00Z") + 1787 * np.arange(17_600)  # a step that divides nothing
    expected = [ZoneInfo(zone).utcoffset(datetime.fromtimestamp(t, ZoneInfo(zone))).total_seconds() for t in moments]
    assert offsets(zone, moments).tolist() == expected
    first, last = from_local(zone, moments + offsets(zone, moments))
    assert ((first == moments) | (last == moments)).all()
    edges = [datetime(year + m // 12, m % 12 + 1, 1, tzinfo=ZoneInfo(zone)).timestamp() for m in range(13)]
    assert month_edges(zone, year).tolist() == edges


def test_a_month_that_starts_at_a_midnight_the_clock_skips():
    # Paraguay moved its clock at 2023-10-01 00:00, 04:00 UTC, to 01:00.
    assert month_edges("America/Asuncion", 2023)[9] == at("2023-10-01T04:00Z")
    assert from_local("America/Asuncion", np.array([at("2023-10-01T00:30Z")]))[0] == -1


def test_twice_shown_and_never_shown():
    local = np.array([at(f"2026-{day}Z") for day in ("11-01T01:30", "03-08T02:30", "07-01T00:00")])
    first, last = from_local("America/New_York", local)
    assert first.tolist() == [at("2026-11-01T05:30Z"), -1, at("2026-07-01T04:00Z")]
    assert last.tolist() == [at("2026-11-01T06:30Z"), -1, at("2026-07-01T04:00Z")]


# --------------------------------------------------------------------------------------------------------- the record


def test_totals_power_and_gaps():
    series = Series(start=[0, 900, 3600], step=900, amount=[900.0, 1800.0, 2700.0])
    assert series.total == 5400
    assert series.power.tolist() == [1, 2, 3]
    assert series.gaps == ((1800, 3600),)
    assert series.show(1800) == "1970-01-01T00:30Z"
    with pytest.raises(ValueError, match="read-only"):
        series.start[0] = 5


def test_local_clock():
    series = readings("2026-11-01T05:30:00Z", [1, 1, 1], step=3600, zone="America/New_York")
    assert series.local().astype(str).tolist() == ["2026-11-01T01:30:00", "2026-11-01T01:30:00", "2026-11-01T02:30:00"]
    with pytest.raises(CaseError, match="say zone="):
        readings("2026-11-01T05:30:00Z", [1], zone=None).local()


@pytest.mark.parametrize(
    ("start", "step", "amount", "message"),
    [
        ([], 900, [], "n > 0"),
        ([0, 900], 900, [1.0], "shapes"),
        ([0, 900], 901, [1.0, 1.0], "overlap"),
        ([900, 0], 900, [1.0, 1.0], "ascending"),
        ([0], 0, [1.0], "a second or longer"),
        ([-1], 900, [1.0], "1970"),
        ([5_000_000_000], 900, [1.0], "2099"),
        ([0], 900, [float("nan")], "finite"),
    ],
)
def test_what_a_series_refuses(start, step, amount, message):
    with pytest.raises(OutOfRangeError, match=message):
        Series(start=start, step=step, amount=amount)


@pytest.mark.parametrize("zone", ["Mars/Base", "America/New_Yrok", "../etc/passwd", "America", "", "x" * 5000])
def test_a_zone_that_is_none(zone):
    with pytest.raises(CaseError, match="is not a time zone; write an IANA name"):
        readings("2026-01-01T00:00Z", [1], zone=zone)


# -------------------------------------------------------------------------------------------------------- the windows


def test_windows_by_hand():
    series = readings("2026-01-01T06:00Z", [100, 300, 200, 400], zone="America/Chicago")
    assert series.windows(15).power.tolist() == [100, 300, 200, 400]
    assert series.windows(30).power.tolist() == [200, 300]
    assert series.windows(60).power.tolist() == [250]
    assert series.windows(60).total == series.total


def test_windows_never_straddle_a_gap():
    start = at("2026-01-01T06:00Z") + 900 * np.array([0, 1, 2, 4, 5, 6, 7, 8])
    series = Series(start=start, step=900, amount=900.0 * np.array([9, 9, 9, 1, 1, 1, 1, 9]), zone="America/Chicago")
    hour = series.windows(60)
    assert hour.power.tolist() == [1]
    assert hour.start.tolist() == [at("2026-01-01T07:00Z")]
    assert hour.notes == ("2 of 3 windows of 60 min are incomplete and left out",)


def test_windows_follow_the_local_clock():
    series = readings("2026-01-01T00:00Z", [1, 1, 3, 3, 3, 3], zone="Asia/Kolkata")  # 05:30 on the clock
    assert series.windows(60).start.tolist() == [at("2026-01-01T00:30Z")]
    # The hour that occurs twice gives two windows; the half hour that a clock drops gives none.
    autumn = readings("2026-11-01T05:00Z", range(12), zone="America/New_York")
    assert autumn.windows(60).power.tolist() == [1.5, 5.5, 9.5]
    lord_howe = readings("2026-04-04T14:00Z", range(8), zone="Australia/Lord_Howe")  # 01:00, and back at 02:00
    assert lord_howe.windows(60).power.tolist() == [1.5]
    assert lord_howe.windows(30).power.tolist() == [0.5, 2.5, 4.5, 6.5]


def test_windows_that_cannot_be():
    with pytest.raises(OutOfRangeError, match="write one of 15, 30, 60"):
        readings("2026-01-01T06:00Z", [1]).windows(20)
    with pytest.raises(CaseError, match="lasts 60 min and does not fit into one window of 15 min"):
        readings("2026-01-01T06:00Z", [1], step=3600).windows(15)
    with pytest.raises(CaseError, match="does not fit"):
        readings("2026-01-01T06:10Z", [1]).windows(15)
    with pytest.raises(CaseError, match="no window of 60 min is covered"):
        readings("2026-01-01T06:00Z", [1]).windows(60)


@given(st.sampled_from(ZONES), st.sampled_from([15, 30, 60]), st.lists(st.integers(0, 2000), max_size=40), st.data())
@settings(max_examples=40)
def test_windows_and_months_are_those_of_pandas(zone, minutes, dropped, data):
    watts = np.array(data.draw(st.lists(st.integers(0, 1000), min_size=48, max_size=48)), dtype=float)
    first = at(data.draw(st.sampled_from(["2026-03-07T12:00Z", "2026-10-24T12:00Z", "2026-10-31T12:00Z"])))
    keep = np.setdiff1d(np.arange(2016), dropped)
    start = (first + 300 * np.arange(2016))[keep]  # a week of five minutes
    amount = 300 * np.resize(watts, 2016)[keep]
    series = Series(start=start, step=300, amount=amount, zone=zone)
    frame = pd.DataFrame({"J": amount, "n": 1.0}, index=pd.to_datetime(start, unit="s", utc=True).tz_convert(zone))
    clock = frame.index.tz_localize(None)
    keys = [clock.floor(f"{minutes}min"), (clock - frame.index.tz_convert(None)) // pd.Timedelta("1s")]
    expected = frame.groupby(keys).sum()
    full = expected[expected["n"] == minutes / 5]
    utc = (full.index.get_level_values(0) - pd.Timestamp(0)) // pd.Timedelta("1s") - full.index.get_level_values(1)
    full = full.set_axis(utc).sort_index()
    windows = series.windows(minutes)
    assert windows.start.tolist() == full.index.tolist()
    np.testing.assert_allclose(windows.amount, full["J"])
    by_month = frame["J"].groupby(clock.month).sum().reindex(range(1, 13))
    np.testing.assert_allclose(series.monthly(2026, with_gaps=True), by_month)
    peaks = (full["J"] / (60 * minutes)).groupby(pd.to_datetime(full.index, unit="s", utc=True).tz_convert(zone).month)
    np.testing.assert_allclose(
        series.monthly_peak(2026, minutes, with_gaps=True), peaks.max().reindex(range(1, 13)), rtol=1e-12
    )


# --------------------------------------------------------------------------------------------------------- the months


def test_a_constant_load():
    # 400 kW: 743 h in March and 721 h in November of 2026.
    series = year_of("America/Los_Angeles", 2026)
    kilowatthours = series.monthly(2026) / 3.6e6
    assert kilowatthours[[0, 2, 10]] == pytest.approx([400 * 744, 400 * 743, 400 * 721], rel=1e-12)
    assert kilowatthours.sum() == pytest.approx(400 * 8760, rel=1e-12)
    assert series.monthly_peak(2026, 60).tolist() == [400e3] * 12


def test_a_peak_counts_in_the_month_of_the_local_clock():
    series = year_of("America/Chicago", 2026, step=900)
    amount = series.amount.copy()
    amount[series.start == at("2026-07-01T04:45Z")] *= 3  # 23:45 on 30 June
    peak = Series(start=series.start, step=900, amount=amount, zone=series.zone).monthly_peak(2026)
    assert peak.tolist() == [400e3] * 5 + [1200e3] + [400e3] * 6


def without(series: Series, *gaps: tuple[str, str]) -> Series:
    keep = np.ones(series.start.size, dtype=bool)
    for begin, end in gaps:
        keep &= (series.start < at(begin)) | (series.start >= at(end))
    return Series(start=series.start[keep], step=3600, amount=series.amount[keep], zone=series.zone, source="plant.csv")


def test_months_with_gaps_are_refused_unless_asked_for():
    gaps = ("2026-02-09T00:00Z", "2026-02-09T08:00Z"), ("2026-11-01T06:00Z", "2026-11-01T07:00Z")
    series = without(year_of("America/New_York", 2026), *gaps, ("2026-12-01T05:00Z", "2027-01-01T05:00Z"))
    with pytest.raises(CaseError) as error:
        series.monthly(2026)
    assert str(error.value).splitlines() == [
        "plant.csv: 2026-02: lacks 8 h of readings: 2026-02-08T19:00-05:00 to 2026-02-09T03:00-05:00; nothing is filled in",
        "plant.csv: 2026-11: lacks 1 h of readings: 2026-11-01T01:00-05:00 to 2026-11-01T02:00-05:00; nothing is filled in",
        "plant.csv: 2026-12: has no readings; the month cannot be billed",
    ]
    with pytest.raises(CaseError, match="2026-12: has no readings"):
        series.monthly_peak(2026, 60)
    held = series.monthly(2026, with_gaps=True) / 3.6e6
    assert held[[1, 10]] == pytest.approx([400 * (672 - 8), 400 * (721 - 1)])
    assert np.isnan(held[11])
    assert np.isnan(series.monthly_peak(2026, 60, with_gaps=True)[11])


def test_many_gaps_are_counted():
    day = timedelta(days=1)
    first = datetime(2026, 1, 2, tzinfo=UTC)
    gaps = [((first + i * day).isoformat(), (first + i * day + day / 24).isoformat()) for i in range(5)]
    with pytest.raises(CaseError, match=r"2026-01: lacks 5 h of readings: .* and 2 more"):
        without(year_of("UTC", 2026), *gaps).monthly(2026)


def test_a_reading_across_the_end_of_a_month():
    with pytest.raises(CaseError, match="runs across the end of a month"):
        readings("2026-01-15T00:00Z", [1], step=30 * 86400).monthly(2026)
    with pytest.raises(OutOfRangeError, match="1970 to 2099"):
        readings("2026-01-15T00:00Z", [1]).monthly(1492)
