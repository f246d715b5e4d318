"""What is wrong stands beside its field, in the reader's words: states and forms without a browser."""

from __future__ import annotations

import datetime

import pytest

from dashboards.bill_state import State as BillState
from dashboards.inputs import Inputs
from dashboards.state import State


@pytest.fixture
def plant():
    """The form of a plant with two shifts and levels, every section folded out."""
    state = State(None, lambda _, work: None)
    shown = Inputs(state)
    state.observe(lambda _: shown.refresh(), ("revision", "system"))
    for section in ("shifts", "more-duty"):
        shown.unfold(section)
    return shown


def problem(form, identity):
    return form.find(identity)["problem"]


# ---------- shifts, levels, holidays ----------


@pytest.mark.parametrize("typed", ["25:00", "22"])
def test_a_shift_end_that_is_no_time_of_day_is_marked_at_its_field(plant, typed):
    plant.form.enter("calendar.shifts[2].end", typed)
    assert problem(plant.form, "calendar.shifts[2].end").startswith(f"'{typed}' is not a time of day")
    assert problem(plant.form, "calendar.shifts[1].end") == ""
    assert problem(plant.form, "calendar.shifts[2].start") == ""
    assert plant.form.find("shifts")["problem"] == "1 problem"


def test_a_shift_without_a_name_is_marked_too(plant):
    plant.form.enter("calendar.shifts[2].name", "")
    plant.form.enter("calendar.shifts[2].end", "25:00")
    assert "is not a time of day" in problem(plant.form, "calendar.shifts[2].end")
    assert problem(plant.form, "calendar.shifts[1].end") == ""


def test_shifts_that_overlap_are_told_below_them(plant):
    plant.form.enter("calendar.shifts[2].start", "13:00")
    assert "overlap; a minute belongs to one shift" in plant.form.find("calendar.shifts:wrong")["label"]


def test_shares_of_levels_that_miss_the_whole_are_told_below_them(plant):
    state = plant.state
    state.hopper = 1
    plant.refresh()
    levels = [{"throughput": "40 kg/h", "share": "50 %"}, {"throughput": "20 kg/h", "share": "40 %"}]
    state.set({"hoppers[2].levels": levels})
    told = plant.form.find("hoppers[2].levels:wrong")
    assert (told["as"], told["label"]) == ("problem", "the shares add up to 90 %; they must make 100 %")


@pytest.mark.parametrize(
    ("field", "typed", "said"),
    [
        ("country", "Germany", "'Germany' is not a country code"),
        ("subdivision", "BQ", "'BQ' is not a part of"),
        ("holidays", "Labour Dax", "'Labour Dax' is not a public holiday"),
    ],
)
def test_what_is_wrong_with_holidays_is_told_where_it_was_typed(plant, field, typed, said):
    for key in ("country", "subdivision", "holidays"):
        plant.form.enter(f"calendar.{key}", {"country": "US"}.get(key, ""))
    plant.form.enter(f"calendar.{field}", typed)
    told = {key: problem(plant.form, f"calendar.{key}") for key in ("country", "subdivision", "holidays")}
    assert told[field].startswith(said)
    assert [key for key in told if told[key]] == [field]


@pytest.mark.parametrize(("typed", "weeks"), [("31-33", [31, 32, 33]), ("2, 31 to 32", [2, 31, 32]), ("52", [52])])
def test_weeks_are_typed_one_by_one_or_as_a_span(plant, typed, weeks):
    plant.form.enter("calendar.shutdown_weeks", typed)
    assert plant.state.document["calendar"]["shutdown_weeks"] == weeks
    assert plant.state.problems == ()


@pytest.mark.parametrize("typed", ["31 32", "33-31"])
def test_weeks_that_cannot_be_read_say_how_to_write_them(plant, typed):
    plant.form.enter("calendar.shutdown_weeks", typed)
    told = problem(plant.form, "calendar.shutdown_weeks")
    assert told == f"'{typed}' is not a whole number; write several one by one, such as 31, 32"


# ---------- readings of the meter ----------


def meter(offset, hour=0):
    """100 kW in every quarter hour of a year from that hour of 1 January 2026 on."""
    start = datetime.datetime(2026, 1, 1, hour)
    stamps = (start + datetime.timedelta(minutes=15 * i) for i in range(35_040))
    return ("time,kW\n" + "".join(f"{at:%Y-%m-%dT%H:%M}{offset},100\n" for at in stamps)).encode()


@pytest.mark.parametrize("offset", ["", "-05:00"])
def test_readings_of_no_known_clock_say_where_it_is_typed_in(plant, offset):
    plant.unfold("plant_load")
    before = plant.state.document
    plant.form.upload("meter", "meter.csv", meter(offset))
    assert problem(plant.form, "meter").endswith(
        "; open the file on Bill and say under Time zone of the stamps: 'UTC', or the zone of the clock they show"
    )
    assert plant.state.document == before


@pytest.mark.parametrize("offset", ["Z", "+00:00"])
def test_stamps_in_utc_are_counted_by_utc(plant, offset):
    plant.unfold("plant_load")
    plant.form.upload("meter", "meter.csv", meter(offset))
    assert problem(plant.form, "meter") == ""
    assert plant.state.document["plant_load"]["zone"] == "UTC"
    assert "876 MWh a year with at most 100 kW now" in plant.state.notice  # 8760 h of 100 kW
    assert "days and months are those of UTC" in plant.state.notice


def test_stamps_in_utc_of_a_year_on_another_clock_say_so(plant):
    plant.unfold("plant_load")
    plant.form.upload("meter", "meter.csv", meter("Z", hour=5))
    told = problem(plant.form, "meter")
    assert "739 of its 744 h are there. The time stamps are in UTC" in told
    assert told.endswith("For another clock open the file on Bill.")


def test_a_file_without_a_unit_says_where_column_and_unit_are_typed_in(plant):
    plant.unfold("plant_load")
    data = b"time,A\n2026-01-01T00:00Z,3\n2026-01-01T00:15Z,3\n"
    plant.form.upload("meter", "meter.csv", data)
    there = "name the column of figures under Column of figures and under Unit of the figures; the columns are"
    assert f"; open the file on Bill and {there}" in problem(plant.form, "meter")
    assert f"; {there}" in BillState().upload_readings("meter.csv", data)
