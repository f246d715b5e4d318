"""Price calendars: daylight saving, holidays, seasons, and what is refused."""

from __future__ import annotations

import re
from datetime import date, datetime
from zoneinfo import ZoneInfo

import numpy as np
import pytest
from pydantic import ValidationError
from tariff_samples import CALENDAR, WORKDAYS

from energy.errors import OutOfRangeError, UnknownNameError
from energy.tariffs import PriceCalendar, clock_at, quarter_hours
from energy.tariffs.clock import holidays_kept

NERC = (
    "New Year's Day",
    "Memorial Day",
    "Independence Day",
    "Labor Day",
    "Thanksgiving Day",
    "Christmas Day",
)


def month_hours(year, zone):
    return PriceCalendar(time_zone=zone, rest="all").time(year).sum(-1) / 3600


@pytest.mark.published(
    "IANA time zone database",
    where="2026: US March 743 h, November 721 h; EU October 745 h; 8760 h; 2024 8784 h",
    quoted="computed with zoneinfo in reference table",
)
def test_hours_of_months_with_daylight_saving():
    us, eu, plain = (month_hours(2026, z) for z in ("America/New_York", "Europe/Berlin", None))
    assert (us[2], us[10], us.sum()) == (743, 721, 8760)
    assert (eu[2], eu[9], eu.sum()) == (743, 745, 8760)
    assert (plain[2], plain[10], plain.sum()) == (744, 720, 8760)
    assert month_hours(2024, "America/New_York").sum() == 8784
    assert quarter_hours(2026, "America/New_York").time.size == quarter_hours(2026).time.size == 35_040
    assert quarter_hours(2024, "Europe/Berlin").time.size == 35_136


@pytest.mark.published(
    "IANA time zone database", where="Lord Howe moves its clock by 30 min", quoted="read in reference table"
)
def test_half_an_hour_of_daylight_saving():
    hours = month_hours(2026, "Australia/Lord_Howe")
    assert (hours[3], hours[9], hours.sum()) == (720.5, 743.5, 8760)


@pytest.mark.published(
    "NERC additional off-peak days",
    where="six holidays; one on a Sunday is kept on Monday, one on a Saturday is not moved",
    quoted="read in reference table",
)
@pytest.mark.parametrize(
    ("year", "days"),
    [
        (2026, ["01-01", "05-25", "07-04", "09-07", "11-26", "12-25"]),  # 4 July is a Saturday
        (2027, ["01-01", "05-31", "07-05", "09-06", "11-25", "12-25"]),  # 4 July a Sunday, Christmas a Saturday
        (2023, ["01-02", "05-29", "07-04", "09-04", "11-23", "12-25"]),  # New Year a Sunday
    ],
)
def test_holidays_move_by_the_rule_of_the_tariff(year, days):
    kept = holidays_kept(year, "US", None, NERC, (), "sunday to monday")
    assert [str(day)[5:] for day in kept.astype("datetime64[D]")] == days


def test_further_dates_stand_as_they_are():
    kept = holidays_kept(2026, None, None, (), (date(2026, 7, 5), date(2025, 7, 5)), "sunday to monday")
    assert [str(day) for day in kept.astype("datetime64[D]")] == ["2026-07-05"]


def cell(calendar, text):
    """Cell at an instant given in UTC."""
    time = np.array([np.datetime64(text, "s").astype(np.int64)])
    return calendar.cells[int(calendar.cell_at(clock_at(time, calendar.time_zone))[0])]


@pytest.mark.parametrize(
    ("instant", "name"),
    [
        ("2026-07-01T17:00", "summer on-peak"),  # Wednesday, 12:00 in Chicago, 5 h behind
        ("2026-07-01T16:45", "summer off-peak"),
        ("2026-07-01T22:45", "summer on-peak"),
        ("2026-07-01T23:00", "summer off-peak"),
        ("2026-07-04T18:00", "summer off-peak"),  # a Saturday
        ("2026-07-03T18:00", "summer on-peak"),  # not a holiday: Saturday does not move
        ("2027-07-05T18:00", "summer off-peak"),  # a Monday on which Sunday's holiday is kept
        ("2026-10-01T04:45", "summer off-peak"),  # 30 September, 23:45
        ("2026-10-01T05:00", "winter off-peak"),
        ("2026-01-15T12:00", "winter shoulder"),  # 06:00, 6 h behind
        ("2026-03-09T11:00", "winter shoulder"),  # 06:00, the day after the clock moved
        ("2026-03-09T10:45", "winter off-peak"),
        ("2026-11-01T06:30", "winter off-peak"),  # 01:30 for the first time, a Sunday
    ],
)
def test_the_cell_at_an_instant(instant, name):
    assert cell(PriceCalendar.model_validate(CALENDAR), instant) == name


def test_on_peak_hours_of_a_summer_by_hand():
    calendar = PriceCalendar.model_validate(CALENDAR)
    # 2026: 22, 23, 21, 22 working days in June to September, less Labor Day; 6 h each.
    on_peak = calendar.time(2026)[:, calendar.cells.index("summer on-peak")] / 3600
    assert on_peak.tolist() == [0] * 5 + [132, 138, 126, 126, 0, 0, 0]


def test_a_span_over_midnight_stays_on_its_date():
    calendar = PriceCalendar.model_validate(
        {"windows": [{"period": "night", "days": ["mon"], "hours": ["22:00-06:00"]}], "rest": "other"}
    )
    names = [
        cell(calendar, f"2026-06-{day}T{hour}") for day, hour in (("15", "05:45"), ("15", "22:00"), ("16", "05:45"))
    ]
    assert names == ["night", "night", "other"]


def test_cells_are_chosen_by_season_period_or_both():
    calendar = PriceCalendar.model_validate(CALENDAR)
    assert calendar.select(["summer"]) == (0, 1)
    assert calendar.select(["off-peak"]) == (1, 3)
    assert calendar.select(["winter shoulder", "on-peak"]) == (0, 2)
    assert calendar.select([]) == (0, 1, 2, 3)


GOOD = {"windows": [{"period": "day", "hours": ["06:00-22:00"]}, {"period": "night", "hours": ["22:00-06:00"]}]}


@pytest.mark.parametrize(
    ("changes", "said"),
    [
        ({"windows": []}, "windows: there is none"),
        (
            {"windows": [GOOD["windows"][0], {"period": "night", "hours": ["21:30-06:00"]}]},
            "windows, number 2 (night) and number 1 (day) overlap on mon at 21:30; shorten the hours of one, or give them other days",
        ),
        (
            {"windows": [GOOD["windows"][0], {"period": "night", "hours": ["22:15-06:00"]}]},
            "windows: no window holds on mon at 22:00; add one, or write rest",
        ),
        (
            {"windows": [*GOOD["windows"], {"period": "peak", "days": ["sat"], "hours": ["06:00-07:00"]}]},
            "windows, number 3 (peak) and number 1 (day) overlap on sat at 06:00",
        ),
        (
            {"windows": [{"period": "all", "days": [*WORKDAYS, "sat", "sun"]}], "holidays": {"country": "US"}},
            "windows: no window holds on holiday at 00:00",
        ),
        (
            {"windows": [{"period": "all", "days": ["holiday"]}], "rest": "other"},
            "windows, number 1.days: holiday is named, but the calendar has no",
        ),
        ({"seasons": {"summer": ["06-01 to 09-30"]}}, "seasons: 01-01 lies in no season (244 days do)"),
        (
            {"seasons": {"summer": ["06-01 to 09-30"], "winter": ["09-30 to 05-31"]}},
            "seasons.winter: 09-30 lies in summer and winter; let one end the day before the other begins",
        ),
        ({"seasons": {"summer": ["06-31 to 09-30"]}}, "seasons.summer: '06-31 to 09-30' is not a span of dates"),
        (
            {"windows": [{"period": "a", "hours": ["06:10-22:00"]}], "rest": "b"},
            "'06:10-22:00' is not a span of the clock",
        ),
        ({"windows": [{"period": "a", "hours": ["6-22"]}], "rest": "b"}, "'6-22' is not a span of the clock"),
        (
            {
                "windows": [{"period": "a", "seasons": ["sumer"]}],
                "rest": "b",
                "seasons": {"summer": ["01-01 to 12-31"]},
            },
            "windows, number 1.seasons: 'sumer' is not a season; did you mean 'summer'?",
        ),
        ({"time_zone": "America/Chicgo"}, "'America/Chicgo' is not a time zone; did you mean 'America/Chicago'?"),
        ({"time_zone": "../etc"}, "'../etc' is not a time zone"),
        ({"rest": "summer", "windows": [{"period": "summer"}], "seasons": {"summer": ["01-01 to 12-31"]}}, "two names"),
    ],
)
def test_what_is_wrong_in_a_calendar_is_said_with_its_place(changes, said):
    PriceCalendar.model_validate(GOOD)
    with pytest.raises(ValidationError, match=re.escape(said)):
        PriceCalendar.model_validate(GOOD | changes)


def test_unknown_holidays_and_years_are_refused():
    with pytest.raises(UnknownNameError, match="'Labour Day' is not a public holiday of US; did you mean 'Labor Day'"):
        holidays_kept(2026, "US", None, ("Labour Day",), (), "none")
    with pytest.raises(UnknownNameError, match=r"^' ' is not a public holiday"):
        holidays_kept(2026, "US", None, ("\n",), (), "none")  # told on one line
    with pytest.raises(UnknownNameError, match="'USX' is not a country code"):
        holidays_kept(2026, "USX", None, (), (), "none")
    with pytest.raises(UnknownNameError, match=r"^' ' is not a country code .*"):
        holidays_kept(2026, "\n", None, (), (), "none")
    with pytest.raises(OutOfRangeError, match="year = 1850 is outside 1901 to 2100"):
        quarter_hours(1850)


@pytest.mark.parametrize("name", ["America/New_York", "Africa/Casablanca", "Australia/Lord_Howe", "Asia/Kathmandu"])
def test_clock_is_that_of_every_instant_asked_alone(name):
    # Twenty days around each change of 2026 in one of them; Lord Howe moves its clock by half an hour.
    starts = np.array(["2026-02-10", "2026-03-20", "2026-10-01", "2026-10-30"], dtype="datetime64[s]").astype(np.int64)
    time = np.concatenate([start + 900 * np.arange(20 * 96) for start in starts])
    alone = [datetime.fromtimestamp(int(at), ZoneInfo(name)).utcoffset().total_seconds() for at in time]
    np.testing.assert_array_equal(clock_at(time, name).offset, alone)
