"""What is wrong stands beside its field, in the reader's words: states and forms without a browser."""

from __future__ import annotations

import pytest

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
