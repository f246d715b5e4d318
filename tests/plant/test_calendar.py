"""Production, standby and off in a year of shifts, against counts made by hand and hour by hour."""

from __future__ import annotations

import calendar as standard_calendar
import time
from dataclasses import replace
from datetime import date, timedelta

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from energy.errors import CaseError, EnergyError, OutOfRangeError, UnknownNameError
from energy.plant.calendar import (
    OperatingYear,
    from_hours,
    month_lengths,
    operating_year,
    public_holidays,
)
from energy.plant.shifts import WEEKDAYS, Shift, Shifts

HOUR = 3600.0
WORKDAYS = WEEKDAYS[:5]
EARLY = Shift(weekdays=WORKDAYS, start="06:00", end="14:00", name="early")
LATE = Shift(weekdays=WORKDAYS, start="14:00", end="22:00", name="late")
NIGHT = Shift(weekdays=WORKDAYS, start="22:00", end="06:00", name="night")
TWO = Shifts(shifts=(EARLY, LATE), standby_up_to=8 * HOUR)
ROUND_THE_CLOCK = Shifts(shifts=tuple(replace(shift, weekdays=WEEKDAYS) for shift in (EARLY, LATE, NIGHT)))
NERC = ("New Year's Day", "Memorial Day", "Independence Day", "Labor Day", "Thanksgiving Day", "Christmas Day")


def hours(states: np.ndarray) -> float:
    return float(states.sum()) / HOUR


def total(year: OperatingYear) -> np.ndarray:
    return year.production + year.standby + year.off


# ------------------------------------------------------------------------------------------ length of the year


@pytest.mark.published(
    "IANA time zone database (tzdata)", where="hours of 2026 and 2024", quoted="computed with zoneinfo"
)
@pytest.mark.parametrize(("year", "length"), [(2026, 8760), (2024, 8784)])
def test_hours_of_a_year(year, length):
    assert hours(month_lengths(year)) == length
    assert hours(total(operating_year(year, TWO))) == length
    assert hours(operating_year(year, ROUND_THE_CLOCK).production) == length


@pytest.mark.common_practice("leap years of the Gregorian calendar")
@pytest.mark.parametrize(("year", "days"), [(1900, 365), (2000, 366), (2023, 365), (2028, 366), (2100, 365)])
def test_leap_years(year, days):
    assert hours(total(operating_year(year, TWO))) == 24 * days


@pytest.mark.common_practice("days of the months")
@pytest.mark.parametrize("year", [2023, 2024])
def test_hours_of_the_months(year):
    expected = [24 * standard_calendar.monthrange(year, month)[1] for month in range(1, 13)]
    assert list(month_lengths(year) / HOUR) == expected
    assert expected[1] == (696 if year == 2024 else 672)
    assert expected[2] == 744  # 743 h on a clock with daylight saving
    assert list(operating_year(year, ROUND_THE_CLOCK).production / HOUR) == expected


# --------------------------------------------------------------------------------------------- counts by hand


@pytest.mark.common_practice("counted by hand on a calendar of 2026: 1 January is a Thursday, 261 weekdays")
def test_two_shifts_on_five_days():
    year = operating_year(2026, TWO)
    weekdays = [22, 20, 22, 22, 21, 22, 23, 21, 22, 22, 21, 23]
    assert list(year.production / HOUR) == [16 * days for days in weekdays]
    assert hours(year.production) == 261 * 16 == 4176
    # Nights after Monday to Thursday: 209 of 8 h; of that of 31 December 2 h, and 6 h of the one before 1 January.
    assert hours(year.standby) == 208 * 8 + 6 + 2 == 1672
    assert hours(year.off) == 52 * 56 == 2912  # Friday 22:00 to Monday 06:00
    mondays = [4, 4, 5, 4, 4, 5, 4, 5, 4, 4, 5, 4]
    assert list(year.starts) == mondays
    assert list(year.mean_stop / HOUR) == [56.0] * 12
    # Mornings of Tuesday to Friday; Friday 2 January comes after Thursday's night, and Thursday the 1st after Wednesday's.
    mornings = [days - begun for days, begun in zip(weekdays, mondays, strict=True)]
    assert list(year.pauses) == mornings
    assert sum(mornings) == 209
    assert year.mean_pause[1:11] == pytest.approx([8 * HOUR] * 10, rel=0.03)  # a night may begin in the month before


@pytest.mark.common_practice("counted by hand: the same year without standby")
def test_without_standby_every_morning_is_a_start():
    year = operating_year(2026, replace(TWO, standby_up_to=8 * HOUR - 60))
    assert year.standby.sum() == 0
    assert year.starts.sum() == 261
    # January: 18 stops of 8 h (Tuesday to Friday, and Thursday the 1st) and 4 weekends of 56 h.
    assert year.starts[0] == 22
    assert year.mean_stop[0] / HOUR == pytest.approx((18 * 8 + 4 * 56) / 22)


@pytest.mark.common_practice("counted by hand: a shift belongs to the day it starts on")
def test_shift_across_midnight_across_months_and_years():
    friday_night = Shifts(shifts=(Shift(weekdays=("fri",), start="22:00", end="06:00"),))
    year = operating_year(2021, friday_night)  # begins on a Friday; 31 December is a Friday too
    assert hours(year.production) == 52 * 8 + 2
    assert year.production[0] / HOUR == 5 * 8
    assert year.production[3] / HOUR == 5 * 8 - 6  # 30 April 22:00 to 1 May
    assert year.starts.sum() == 53
    thursday = replace(friday_night, shifts=(replace(friday_night.shifts[0], weekdays=("thu",)),))
    assert operating_year(2021, thursday).production[0] / HOUR == 6 + 4 * 8  # from 31 December of the year before


@pytest.mark.common_practice("counted by hand")
def test_shutdown_by_week_and_by_dates_is_one_long_stop():
    by_week = operating_year(2026, replace(TWO, shutdown_weeks=(31, 32)))
    by_dates = operating_year(2026, replace(TWO, shutdown_ranges=((date(2026, 7, 27), date(2026, 8, 9)),)))
    for year in (by_week, by_dates):
        assert hours(year.production) == 4176 - 10 * 16
        assert year.starts[7] == 4  # Mondays 10, 17, 24 and 31 August; the 3rd is shut
        assert year.mean_stop[7] / HOUR == pytest.approx(((2 * 168 + 56) + 3 * 56) / 4)
        assert year.starts[6] == 3


@pytest.mark.common_practice("ISO 8601: week 1 holds the first Thursday; 2026 has 53 weeks, 2025 has 52")
def test_iso_weeks():
    first = operating_year(2026, replace(TWO, shutdown_weeks=(1,)))
    assert first.production[0] == operating_year(2026, TWO).production[0] - 2 * 16 * HOUR  # Thursday and Friday
    assert hours(operating_year(2026, replace(TWO, shutdown_weeks=(53,))).production) == 4176 - 4 * 16
    with pytest.raises(CaseError, match="week 53 is not in 2025; it has weeks 1 to 52"):
        operating_year(2025, replace(TWO, shutdown_weeks=(53,)))


@pytest.mark.common_practice("counted by hand: Wednesday 23 December 22:00 to Monday 4 January 06:00")
def test_stop_across_the_end_of_the_year_is_counted_whole():
    closed = (date(2026, 12, 24), date(2027, 1, 3))
    before = operating_year(2026, replace(TWO, shutdown_ranges=(closed,)))
    after = operating_year(2027, replace(TWO, shutdown_ranges=(closed,)))
    assert before.starts[11] == 3  # 7, 14 and 21 December
    assert after.starts[0] == 4
    assert after.mean_stop[0] / HOUR == pytest.approx((11 * 24 + 8 + 3 * 56) / 4)


# ---------------------------------------------------------------------------------------------------- holidays


@pytest.mark.published(
    "NERC, Additional Off-peak Days",
    where="six holidays; Sunday to Monday, Saturday not moved",
    quoted="read in reference table",
)
def test_nerc_holidays():
    kept = public_holidays(2026, "US", names=NERC, rule="sunday to monday")
    assert [*kept] == [date(2026, *day) for day in ((1, 1), (5, 25), (7, 4), (9, 7), (11, 26), (12, 25))]
    assert date(2026, 7, 4).weekday() == 5  # a Saturday, not moved
    assert date(2027, 7, 5) in public_holidays(2027, "US", names=NERC, rule="sunday to monday")
    assert date(2023, 1, 2) in public_holidays(2023, "US", names=NERC, rule="sunday to monday")
    assert date(2022, 12, 26) in public_holidays(2022, "US", names=NERC, rule="sunday to monday")


@pytest.mark.common_practice("counted by hand on a calendar of 2026")
@pytest.mark.parametrize(("rule", "lost"), [("none", 5), ("sunday to monday", 5), ("nearest weekday", 6)])
def test_days_lost_to_nerc_holidays(rule, lost):
    year = operating_year(2026, replace(TWO, country="US", holiday_names=NERC, holiday_rule=rule))
    assert hours(year.production) == (261 - lost) * 16
    assert year.production[6] / HOUR == (22 if rule == "nearest weekday" else 23) * 16  # Friday 3 July


def test_holiday_moved_into_the_year_before():
    # 1 January 2028 is a Saturday.
    assert public_holidays(2027, "US", names=NERC, rule="nearest weekday")[date(2027, 12, 31)] == "New Year's Day"
    assert date(2028, 1, 1) not in public_holidays(2028, "US", names=NERC, rule="nearest weekday")
    december = replace(TWO, country="US", holiday_names=NERC, holiday_rule="nearest weekday")
    assert operating_year(2027, december).production[11] / HOUR == (23 - 2) * 16  # the 24th for Christmas, the 31st


@pytest.mark.common_practice("Easter Monday 2026 is 6 April; Corpus Christi, 4 June, is kept in Bavaria only")
def test_country_and_subdivision():
    assert date(2026, 4, 6) in public_holidays(2026, "DE")
    assert date(2026, 6, 4) not in public_holidays(2026, "DE")
    assert public_holidays(2026, "DE", "BY")[date(2026, 6, 4)] == "Corpus Christi"


def test_dates_of_ones_own_are_not_moved():
    year = operating_year(2026, replace(TWO, holiday_dates=(date(2026, 7, 3),), holiday_rule="nearest weekday"))
    assert hours(year.production) == 260 * 16
    assert year.off.sum() - operating_year(2026, TWO).off.sum() == (16 + 8) * HOUR  # from Thursday 22:00 on


# ------------------------------------------------------------------------------ against a walk hour by hour


def walked(year: int, shifts: Shifts) -> dict[str, list[float]]:
    """The same by walking every hour; full hours only, no country."""
    first, last = date(year, 1, 1) - timedelta(days=60), date(year, 12, 31) + timedelta(days=60)
    closed = {*shifts.holiday_dates}
    for start, end in shifts.shutdown_ranges:
        closed |= {start + timedelta(days=n) for n in range((end - start).days + 1)}
    days = [first + timedelta(days=n) for n in range((last - first).days + 1)]
    running = [False] * (24 * len(days) + 24)
    for number, day in enumerate(days):
        week = day.isocalendar()
        if day in closed or (week.year == year and week.week in shifts.shutdown_weeks):
            continue
        for shift in shifts.shifts:
            if WEEKDAYS[day.weekday()] in shift.weekdays:
                start, end = int(shift.start[:2]), int(shift.end[:2])
                for hour in range(start, end if end > start else end + 24):
                    running[24 * number + hour] = True
    states: dict[str, list[float]] = {name: [0.0] * 12 for name in ("production", "standby", "off", "starts")}
    hour = 0
    while hour < 24 * len(days):
        until = hour
        while until < len(running) and running[until] == running[hour]:
            until += 1
        name = "production" if running[hour] else "off" if (until - hour) * HOUR > shifts.standby_up_to else "standby"
        for each in range(hour, min(until, 24 * len(days))):
            if days[each // 24].year == year:
                states[name][days[each // 24].month - 1] += HOUR
        if name == "off" and until < 24 * len(days) and days[until // 24].year == year:
            states["starts"][days[until // 24].month - 1] += 1
        hour = until
    return states


def clock(hour: int) -> str:
    return f"{hour % 24:02d}:00"


@st.composite
def plants(draw):
    edges = draw(st.lists(st.integers(0, 23), min_size=2, max_size=4, unique=True).map(sorted))
    spans = list(zip(edges, [*edges[1:], edges[0] + 24], strict=True))  # of the clock, the last over midnight
    chosen = draw(st.lists(st.sampled_from(spans), min_size=1, unique=True))
    every = st.lists(st.sampled_from(WEEKDAYS), min_size=1, unique=True)
    shifts = tuple(Shift(weekdays=tuple(draw(every)), start=clock(a), end=clock(b)) for a, b in chosen)
    begin = draw(st.dates(date(2027, 12, 10), date(2028, 12, 31)))
    end = max(begin + timedelta(days=draw(st.integers(0, 20))), date(2028, 1, 1))
    return Shifts(
        shifts=shifts,
        shutdown_weeks=tuple(draw(st.sets(st.integers(1, 52), max_size=3))),
        shutdown_ranges=((begin, end),) if draw(st.booleans()) else (),
        holiday_dates=tuple(draw(st.sets(st.dates(date(2028, 1, 1), date(2028, 12, 31)), max_size=4))),
        standby_up_to=draw(st.sampled_from([0.0, 2.0, 8.0, 16.0, 60.0, 400.0])) * HOUR,
    )


@given(plants())
def test_agrees_with_a_walk_through_every_hour(shifts):
    year = operating_year(2028, shifts)
    for name, expected in walked(2028, shifts).items():
        assert list(getattr(year, name)) == expected, name


@given(plants())
def test_states_add_up_to_the_months(shifts):
    year = operating_year(2028, shifts)
    assert list(total(year)) == list(month_lengths(2028))
    assert all((getattr(year, name) >= 0).all() for name in ("production", "standby", "off", "starts", "mean_stop"))
    assert (year.mean_stop[year.starts > 0] > shifts.standby_up_to).all()


@given(plants(), st.floats(0, 500))
def test_more_shifts_longer_standby_and_fewer_closures_are_monotone(shifts, longer):
    year = operating_year(2028, shifts)
    fewer = operating_year(2028, replace(shifts, shifts=shifts.shifts[:1]))
    assert (year.production >= fewer.production).all()
    hot = operating_year(2028, replace(shifts, standby_up_to=shifts.standby_up_to + longer * HOUR))
    assert (hot.standby >= year.standby).all()
    assert (hot.production == year.production).all()
    assert hot.starts.sum() <= year.starts.sum()
    never_shut = operating_year(2028, replace(shifts, shutdown_weeks=(), shutdown_ranges=(), holiday_dates=()))
    assert (never_shut.production >= year.production).all()


@given(st.permutations([EARLY, LATE, NIGHT]))
def test_order_of_the_shifts_does_not_matter(order):
    one, two = (operating_year(2026, Shifts(shifts=tuple(shifts))) for shifts in (order, [EARLY, LATE, NIGHT]))
    assert list(one.production) == list(two.production)
    assert list(one.starts) == list(two.starts)


def test_a_year_takes_less_than_20_ms():
    def once() -> float:
        begin = time.perf_counter()
        operating_year(2026, replace(TWO, country="US", holiday_names=NERC))
        return time.perf_counter() - begin

    once()  # loads the holidays
    assert min(once() for _ in range(5)) < 0.02


# -------------------------------------------------------------------------------------------------- bad input


@pytest.mark.parametrize(
    ("change", "message"),
    [
        ({"shifts": ()}, "there is none"),
        ({"shifts": (replace(EARLY, start="6 am"),)}, r"shifts\['early'\].start: '6 am' is not a time of day"),
        ({"shifts": (replace(EARLY, start="24:00"),)}, "'24:00' is not a time of day.*00:00 to 23:59"),
        ({"shifts": (replace(EARLY, end="24:30"),)}, "'24:30' is not a time of day"),
        ({"shifts": (replace(EARLY, end="6:00"),)}, "start and end are both 6:00; write 00:00 to 24:00"),
        ({"shifts": (replace(EARLY, weekdays=()),)}, "there is none; write some of mon"),
        ({"shifts": (replace(EARLY, name="", weekdays=("mno",)),)}, r"shifts\[1\].weekdays: 'mno'.*did you mean 'mon'"),
        ({"shifts": (replace(EARLY, weekdays=("mon", "mon")),)}, "'mon' stands there twice"),
        ({"shutdown_weeks": (0,)}, "week 0 is not in 2026; it has weeks 1 to 53"),
        ({"shutdown_weeks": (54,)}, "week 54 is not in 2026"),
        ({"shutdown_ranges": ((date(2027, 1, 1), date(2027, 1, 9)),)}, "does not touch 2026"),
        ({"shutdown_ranges": ((date(2026, 8, 9), date(2026, 8, 1)),)}, "ends before it starts"),
        ({"shutdown_ranges": ((date(2020, 8, 9), date(2026, 8, 1)),)}, "reaches beyond"),
        ({"holiday_dates": (date(2025, 12, 24),)}, "2025-12-24 is not in 2026"),
        ({"holiday_rule": "sunday"}, "'sunday' is not a holiday rule; write one of none, sunday to monday"),
        ({"holiday_rule": "moved", "country": "US"}, "'moved' is not a holiday rule"),
        ({"holiday_names": ("Christmas Day",)}, "country: is missing"),
        ({"country": "USS"}, "country: 'USS' is not a country code.*did you mean 'US'"),
        ({"country": "Utopia"}, "'Utopia' is not a country code.*two or three letters"),
        ({"country": "DE", "subdivision": "BQ"}, "subdivision: 'BQ' is not a part of DE.*BW, BY"),
        (
            {"country": "US", "holiday_names": ("Labour Day",)},
            "holidays: 'Labour Day' is not.*did you mean 'Labor Day'",
        ),
        ({"standby_up_to": -1.0}, "must be 0 or more"),
        ({"standby_up_to": float("nan")}, "must be 0 or more"),
    ],
)
def test_refused_by_name(change, message):
    with pytest.raises(CaseError, match=message):
        operating_year(2026, replace(TWO, **change))


def test_overlapping_shifts_are_both_named():
    longer = replace(EARLY, end="14:01")
    with pytest.raises(CaseError, match=r"'early' \(mon 06:00 to 14:01\) and 'late' \(mon 14:00 to 22:00\) overlap"):
        operating_year(2026, Shifts(shifts=(longer, LATE)))
    sunday = Shift(weekdays=("sun",), start="22:00", end="06:30")
    with pytest.raises(CaseError, match=r"number 3 \(sun 22:00 to 06:30\) and 'early' \(mon 06:00 to 14:00\) overlap"):
        operating_year(2026, Shifts(shifts=(EARLY, LATE, sunday)))
    with pytest.raises(CaseError, match="overlap"):
        operating_year(2026, Shifts(shifts=(EARLY, EARLY)))


def test_every_problem_is_reported_at_once():
    with pytest.raises(CaseError) as found:
        operating_year(2026, replace(TWO, shutdown_weeks=(99,), country="XX", standby_up_to=-1.0))
    assert len(found.value.problems) == 3


@pytest.mark.parametrize("year", [1899, 2101])
def test_years_without_calendar(year):
    for attempt in (
        lambda: operating_year(year, TWO),
        lambda: from_hours(year, 1.0),
        lambda: public_holidays(year, "US"),
    ):
        with pytest.raises(OutOfRangeError, match="1900 to 2100"):
            attempt()
    with pytest.raises(UnknownNameError, match="is not a holiday rule"):
        public_holidays(2026, "US", rule="moved")


# ------------------------------------------------------------------------------------------- hours of a year


@pytest.mark.common_practice("by proportion: 6000 h over 365 days are 16.4384 h a day")
def test_hours_spread_by_days():
    year = from_hours(2026, 6000.0, starts_per_week=1.0, standby_share=0.25)
    assert year.production[1] / HOUR == pytest.approx(6000 * 28 / 365, rel=1e-14)
    assert hours(year.production) == pytest.approx(6000, rel=1e-14)
    assert hours(year.standby) == pytest.approx(2760 / 4, rel=1e-14)
    assert list(total(year)) == pytest.approx(list(month_lengths(2026)), rel=1e-14)
    assert year.starts.sum() == pytest.approx(365 / 7)
    assert list(year.mean_stop / HOUR) == pytest.approx([2070 / (365 / 7)] * 12)


def test_hours_alone_leave_the_rest_off():
    year = from_hours(2024, 8784.0)
    assert list(year.production) == list(month_lengths(2024))
    assert year.standby.sum() == year.off.sum() == year.starts.sum() == year.mean_stop.sum() == 0
    assert hours(from_hours(2024, 0.0).off) == 8784


@given(st.integers(1900, 2100), st.floats(0, 1), st.floats(0, 1))
def test_spread_hours_add_up(year, share, standby_share):
    length = month_lengths(year)
    spread = from_hours(year, share * length.sum() / HOUR, standby_share=standby_share)
    assert total(spread) == pytest.approx(length, rel=1e-14)
    assert min(spread.production.min(), spread.standby.min(), spread.off.min()) >= 0


@pytest.mark.parametrize(
    ("given_values", "message"),
    [
        ({"production_hours": 8784.0}, "production hours = 8784 h is outside 0 to 8760 h"),
        ({"production_hours": -1.0}, "outside 0 to 8760"),
        ({"production_hours": float("nan")}, "outside 0 to 8760"),
        ({"production_hours": 100.0, "standby_share": 1.5}, "standby share = 1.5"),
        ({"production_hours": 100.0, "starts_per_week": -1.0}, "starts per week = -1"),
        ({"production_hours": 8760.0, "starts_per_week": 5.0}, "needs time off"),
        ({"production_hours": 100.0, "starts_per_week": 5.0, "standby_share": 1.0}, "needs time off"),
    ],
)
def test_hours_refused(given_values, message):
    with pytest.raises(EnergyError, match=message):
        from_hours(2026, **given_values)
