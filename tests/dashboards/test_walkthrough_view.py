"""The Walkthrough view: its state without a kernel, its widgets without a browser, and a visitor with a tablet."""

from __future__ import annotations

import re
import tomllib
from urllib.parse import urljoin

import pytest

from dashboards import lists
from dashboards.state import State
from dashboards.walkthrough import GROUPS, View
from dashboards.walkthrough_state import BROKEN, RECORD, WalkState, in_words
from energy.study.case import example_text, load_case
from energy.study.compare import CAUTIONS
from energy.study.readings import QUANTITIES
from energy.walkthrough.baseline import readings_from
from energy.walkthrough.walk import walk


@pytest.fixture
def state():
    return WalkState()


def answer(state):
    return state.result.balance


# ---------- state ----------


def test_the_demo_opens_with_its_readings(state):
    assert state.chosen_hopper.name == "Machine 1"
    assert state.shown("process_temperature") == "121 ± 1.5"
    assert state.shown("power") == ""
    assert answer(state).agrees
    assert not state.changed


def test_a_reading_goes_into_the_case_and_back(state):
    before = answer(state).uncertainty
    state.read("power", "8.2")
    assert tomllib.loads(state.toml().decode())["readings"][0]["power"] == "8.2 kW"
    # 8.2 kW over 57.6 kg/h, the power moved within its 2 %.
    assert answer(state).specific_energy / 3600.0 == pytest.approx(8200.0 / 57.6, rel=0.015)
    assert answer(state).uncertainty < before
    state.undo()
    assert answer(state).uncertainty == before


def test_an_accuracy_behind_a_reading(state):
    state.read("power", "8.2 ± 10 %")
    coarse = answer(state).uncertainty
    assert state.entry["power"] == {"value": "8.2 kW", "accuracy": "10 %"}
    assert state.shown("power") == "8.2 ± 10%" or state.shown("power") == "8.2 ± 10 %"
    state.read("power", "8.2 +/- 0.1")
    assert state.entry["power"]["accuracy"] == "0.1 kW"
    assert answer(state).uncertainty < coarse


def test_units_convert_and_change_no_result(state):
    before = answer(state).specific_energy
    state.system = "us"
    assert state.shown("process_temperature") == "249.8 ± 2.7"  # 121 degC and 1.5 K by hand
    assert state.shown("duct_diameter") == "3.937"
    assert answer(state).specific_energy == before
    state.read("hall_temperature", "73.4")
    assert state.entry["hall_temperature"] == "73.4 degF"


def test_a_reading_that_cannot_be_used_is_left_out_and_the_rest_goes_on(state):
    state.note_down("date", "20.11.2026")
    assert state.entry["date"] == "2026-11-20"
    without = {key: value for key, value in state.entry.items() if key != "return_temperature"}
    alone = walk(state.case, readings_from(without)).balance.specific_energy
    state.read("return_temperature", "<b>hot")
    assert "is not a temperature" in state.problem_of("return_temperature")
    assert state.problem_of("return_temperature").endswith("Left out so far.")
    assert state.shown("return_temperature") == "<b>hot"
    assert not state.stale
    assert answer(state).specific_energy == pytest.approx(alone, rel=1e-12)
    state.read("power", "8.2")
    assert state.problem_of("power") == ""
    assert answer(state).power.value == pytest.approx(8200.0, rel=0.01)
    assert state.waiting == ("Return air out of the hopper",)
    assert "return_temperature" not in tomllib.loads(state.toml().decode())["readings"][0]
    state.undo()
    state.undo()
    assert (state.waiting, state.left_out) == ((), ())


def test_the_one_half_of_a_reading_waits_for_the_other_in_any_order(state):
    state.clear()
    state.note_down("date", "2026-11-20")
    for first, text, second, other in (
        ("weighed_mass", "9,6", "weighing_time", "6.5"),
        ("duct_diameter", "100", "air_velocity", "9,6"),
        ("current", "20", "voltage", "0,4 kV"),
    ):
        before = answer(state).specific_energy
        state.read(first, text)
        told = state.problem_of(first)
        assert f"“{QUANTITIES[second].label}” is missing" in told
        assert "Left out so far" in told
        assert not state.stale
        assert answer(state).specific_energy == before
        state.read(second, other)
        assert (state.problem_of(first), state.problem_of(second), state.left_out) == ("", "", ())
    read = answer(state).found.readings
    assert (read.weighed_mass, read.voltage) == (pytest.approx(9.6), pytest.approx(400.0))
    state.read("power_factor", "80,5")
    assert answer(state).found.readings.power_factor == pytest.approx(0.805)


def test_of_two_that_cannot_both_be_right_the_one_typed_last_is_left_out(state):
    kept = answer(state).quantities["throughput"].value
    state.read("throughput", "90")  # weighed already
    assert "are both given" in state.problem_of("throughput")
    assert state.problem_of("weighed_mass") == ""
    assert answer(state).quantities["throughput"].value == kept
    state.read("throughput", "")
    state.read("return_temperature", "150")
    assert "check which is which" in state.problem_of("return_temperature")
    assert answer(state).found.readings.return_temperature is None
    state.read("power_factor", "90")
    assert "goes with “Current of a phase”" in state.problem_of("power_factor")
    state.read("power", "8.2")
    assert answer(state).found.readings.power == pytest.approx(8200.0)


def test_a_half_that_goes_with_one_left_out_says_so(state):
    state.read("weighed_mass", "nine")
    assert "is not a mass" in state.problem_of("weighed_mass")
    assert state.problem_of("weighing_time") == (
        "“Time of the weighing” goes with “Resin weighed”, which is left out. Left out so far."
    )
    assert answer(state).quantities["throughput"].origin == "case"


def test_what_is_half_typed_comes_back_here_and_troubles_no_other_view(state):
    state.read("current", "20")
    state.read("hall_temperature", "23,4")
    kept = state.kept()
    again, other = WalkState(), State()
    again.take_up(kept)
    assert again.shown("current") == "20"
    assert answer(again).found.readings.hall_temperature == pytest.approx(296.55)
    other.take_up(kept)
    assert other.problems == ()
    assert other.document["readings"][0]["hall_temperature"] == "23,4 degC"
    other.undo()
    assert other.problems == ()


def test_one_undo_after_another_view_takes_back_the_take_over_and_no_reading(state):
    state.read("process_temperature", "118")
    state.read("current", "20")  # cannot be used yet: stays in this view
    before = state.document
    state.adopt()
    compare_view, again = State(), WalkState()
    compare_view.take_up(state.kept())
    again.take_up(state.kept())
    compare_view.undo()
    again.undo()
    for view in (compare_view, again):
        assert view.document["options"] == before["options"]
        assert view.document["readings"][0]["process_temperature"] == "118 degC"
        assert view.undoable


def test_a_saved_case_holds_without_what_is_left_out(tmp_path):
    path = tmp_path / "own.toml"
    path.write_text(example_text("demo"), encoding="utf-8")
    state = WalkState(str(path))
    state.read("current", "20")
    state.save()
    assert "What is left out so far is not in it." in state.notice
    assert load_case(path).model.readings[0].current is None
    assert state.shown("current") == "20"


def test_taking_over_keeps_what_is_half_typed(state):
    state.read("current", "20")
    state.adopt()
    assert state.shown("current") == "20"
    assert state.document["options"] != state.opened["options"]


def test_a_slip_is_told_beside_its_reading_and_at_the_figures(state):
    state.read("weighed_mass", "96")
    view = View(state)
    assert "a slip of ten?" in state.to_check("weighed_mass")
    assert "a slip of ten?" in view._readings["weighed_mass"]._note.value
    assert "Check the weighing" in view._verdict.value
    assert "In no figure until it is checked: throughput" in view._figures.value
    assert "In no figure" in view._figures.value.split('figure">')[0]  # before any of them
    assert "Below what" not in view._figures.value
    assert view._top.value == ""
    assert "check the weighing" in view._gaps.value
    assert "check the weighing" in view._brief.value
    state.read("weighed_mass", "9.6")
    assert state.to_check("weighed_mass") == ""
    assert "In no figure" not in view._figures.value
    assert "Check the" not in view._verdict.value


def test_another_dryer_and_none_of_its_readings(state):
    state.hopper = 2  # hot air
    assert answer(state).found.machine.type == "hot-air"
    assert state.entry == {}
    state.read("return_temperature", "55")
    assert [entry["hopper"] for entry in state.document["readings"]] == ["Machine 1", "Machine 3"]
    state.clear()
    assert [entry["hopper"] for entry in state.document["readings"]] == ["Machine 1"]


def test_a_central_system_is_told(state):
    state.set({"options['Present dryers'].baseline": None, "options['Central wheel, variable speed'].baseline": True})
    assert state.result is None
    assert "central system" in state.trouble
    assert "central system" in View(state)._problems.value


def test_readings_can_become_inputs_and_be_taken_back(state):
    assert state.adoptable
    expected = answer(state).expected
    state.adopt()
    assert answer(state).expected != expected
    assert state.case.model.options[0].machines[0].inputs.regeneration_temperature == pytest.approx(535.15)
    state.undo()
    assert answer(state).expected == expected


def test_a_reading_to_be_checked_first_is_not_taken_over(state):
    state.read("duct_diameter", "1000")  # for 100 mm: a hundred times the air
    assert [doubt.name for doubt in state.result.doubts] == ["air_flow"]
    state.adopt()
    inputs = state.document["options"][0]["machines"][0]["inputs"]
    assert inputs["regeneration_temperature"]["basis"] == "measured"
    assert "air_resin_ratio" not in inputs
    said = state.notice
    assert said.startswith("The present dryer has the inputs that were read and are not in doubt. ")
    # Which one is left out and why, before what is counted with now is told.
    before, behind = said.split(" Every view counts with what was taken over, ")
    assert "Not taken over before it is checked: process air flow. " in before
    assert before.endswith(" A tenth of the diameter, 100 mm, would fit: a slip of ten?")
    assert "the dryer as it was read, but for process air flow (as in the case until checked)" in behind
    assert "at 57.6 kg/h without process air flow, which is to be checked" in behind
    state.adopt()
    assert (
        "Nothing is taken over: what of the other readings is an input of the dryer stands there already."
        in state.notice
    )


def test_a_temperature_in_the_other_unit_is_asked_about_and_waits_with_what_rests_on_it(state):
    state.choose_at("velocity_in", "process duct")
    state.read("power", "9.5")
    state.read("process_temperature", "250")  # degF, on polycarbonate
    asked = "250 °C is above 135 °C, the most that PC stands; 250 °F would be 121 °C: which is it?"
    assert state.to_check("process_temperature") == f"Check the process air into the hopper: {asked}"
    state.adopt()
    option = state.document["options"][0]
    [machine] = [machine for machine in option["machines"] if machine["hopper"] == "Machine 1"]
    assert machine["inputs"]["regeneration_temperature"]["basis"] == "measured"
    assert "air_resin_ratio" not in machine["inputs"]
    assert "metered_over_model" not in machine
    assert "Not taken over before it is checked: process air into the hopper. " in state.notice
    assert (
        "With it waits what rests on it: air velocity in the duct and electrical power, mean over whole cycles."
        in state.notice
    )


def test_an_error_in_the_program_is_kept_inside(state, monkeypatch, caplog):
    def fail(*_):
        raise KeyError("secret")

    monkeypatch.setattr("dashboards.walkthrough_state.walk", fail)
    state.hopper = 1
    assert state.trouble == BROKEN
    assert "secret" in caplog.text


@pytest.fixture
def today(monkeypatch):
    monkeypatch.setattr("dashboards.walkthrough_state._today", lambda: "2026-11-25")
    return "2026-11-25"


def noted(state):
    return {key: state.entry.get(key, "") for key in RECORD}


DEMO = {
    "date": "2026-04-14",
    "by": "a consultant (invented)",
    "note": "Invented. Polycarbonate, one machine, ten minutes at the dryer.",
}


def test_the_record_of_invented_readings_goes_with_the_first_change_and_comes_back_with_undo(state, today):
    assert noted(state) == DEMO
    assert "first thing you change" in state.record_hint()
    state.read("power", "8.2")
    assert noted(state) == {"date": today, "by": "", "note": ""}
    assert state.shown("process_temperature") == "121 ± 1.5"
    assert "Undo takes it back" in state.record_hint()
    assert answer(state).found.readings.date == today
    state.undo()
    assert noted(state) == DEMO
    state.choose_at("regeneration_control", "dew point")
    assert noted(state) == {"date": today, "by": "", "note": ""}
    state.undo()
    state.note_down("by", " R. Eader ")
    assert noted(state) == {"date": today, "by": "R. Eader", "note": ""}


def test_a_record_of_one_s_own_stays(state, today):
    state.note_down("date", "2026-11-20")
    state.note_down("note", "Return filter clogged.")
    state.read("power", "8.2")
    assert noted(state) == {"date": "2026-11-20", "by": "", "note": "Return filter clogged."}
    assert state.open_text("own.toml", state.toml()) == ""
    state.read("power", "8.4")
    assert noted(state) == {"date": "2026-11-20", "by": "", "note": "Return filter clogged."}
    assert "still those of the file" in state.record_hint()
    state.note_down("date", "25.11.")
    assert state.problem_of("date") == "date: '25.11.' is not a day; write it as 2026-11-25. Left out so far."
    assert state.waiting == ("Date",)
    assert not state.stale
    assert state.problem_of("power") == ""


def test_readings_begun_anew_are_of_today_and_leave_nothing_behind(state, today):
    state.clear()
    assert "readings" not in state.document
    state.read("power", "8.2")
    assert state.entry == {"hopper": "Machine 1", "date": today, "power": "8.2 kW"}
    state.read("power", "")
    assert "readings" not in state.document


# ---------- widgets ----------


def test_every_reading_has_its_field():
    assert {name for _, names in GROUPS for name in names} == set(QUANTITIES)


def test_the_view_shows_the_answer(state):
    view = View(state)
    assert "Wh/kg" in view._figures.value
    # What stays in sight says the same: energy, its ± and the cost.
    large, brief = (
        re.findall(r"[\d,]*\d", re.sub("<[^>]*>", " ", html.value)) for html in (view._figures, view._brief)
    )
    assert "Machine 1 " in re.sub("<[^>]*>", "", view._brief.value)
    assert len(brief) == 1 + 3
    assert set(brief[1:]) < set(large)
    assert "Too much air" in view._findings.value
    assert view._next.value.count("<li>") == 2
    view._readings["power"].control.value = "<script>"
    assert "<script>" not in view._readings["power"]._note.value
    assert "Left out so far: Electrical power" in view._problems.value
    assert "stale" not in view._head._dom_classes
    view._readings["power"].control.value = ""
    assert "Left out" not in view._problems.value
    state.set({"calendar.production_hours": "<script>"})
    assert "<script>" not in view._problems.value
    assert "stale" in view._head._dom_classes
    assert "Not up to date" in view._brief.value
    state.undo()
    assert "stale" not in view._head._dom_classes
    view._control.value = None
    assert "regeneration_control" not in state.entry
    view._big.value = True
    assert "big" in view.page._dom_classes
    last = view.page.children[1].children[-2].value
    for caution in CAUTIONS:
        assert caution.replace("'", "&#x27;") in last


def test_day_reader_and_note_are_fields_and_stand_with_the_answer(state, today):
    view = View(state)
    assert "Read on 2026-04-14 by a consultant (invented). Invented." in view._about.value
    view._record["by"].control.value = "<i>Ann</i>"
    assert "Read on 2026-11-25 by &lt;i&gt;Ann&lt;/i&gt;." in view._about.value
    assert view._record["note"].control.value == ""
    view._record["date"].control.value = "soon"
    assert "&#x27;soon&#x27; is not a day" in view._record["date"]._note.value
    state.undo()
    state.undo()
    assert {name: field.control.value for name, field in view._record.items()} == DEMO


# ---------- visitor ----------


IN_SIGHT = """() => {
  const node = document.activeElement, place = node.getBoundingClientRect();
  return [place.top + 3, place.bottom - 3].every((y) => node.contains(document.elementFromPoint(place.left + place.width / 2, y)));
}"""
"""Does nothing cover what has the focus?"""


@pytest.mark.browser
def test_a_visitor_walks_round_a_dryer_with_a_tablet(open_page, server):
    page = open_page(viewport={"width": 820, "height": 1180}, has_touch=True)
    page.goto(urljoin(server.url, "walkthrough"))
    page.locator("#answer").wait_for(timeout=60_000)
    assert page.locator("nav [aria-current]").inner_text() == "Walkthrough"
    before = page.locator("#answer").inner_text()
    field = page.get_by_label("Electrical power, mean over whole cycles (kW)", exact=True)
    field.fill("8.2")
    field.press("Enter")
    page.wait_for_function("before => document.getElementById('answer').innerText !== before", arg=before)
    assert page.evaluate("document.documentElement.scrollWidth") <= 820
    brief = page.locator(".brief")
    figure = page.locator(".figure").first.inner_text()
    assert page.locator("#answer").bounding_box()["y"] < -300  # scrolled away
    assert brief.bounding_box()["y"] == 0
    assert " ".join(figure.split()) in brief.inner_text()
    assert brief.get_attribute("role") == "status"
    for _ in range(16):  # up the page, each field below what stays in sight
        page.keyboard.press("Shift+Tab")
        assert page.evaluate(IN_SIGHT)
    page.emulate_media(media="print")
    assert not brief.is_visible()
    page.emulate_media(media="screen")
    page.get_by_role("button", name="Big figures").tap()
    field.wait_for(state="hidden")
    assert page.locator("#answer").is_visible()
    assert not brief.is_visible()
    page.get_by_role("button", name="Back to the readings").tap()
    field.wait_for(state="visible")


def test_a_day_typed_with_points_stands_as_the_case_keeps_it(state, today):
    view = View(state)
    date = view._record["date"].control
    for typed in ("25.11.2026", "25.11.2026"):
        date.value = typed
        assert (date.value, state.entry["date"]) == ("2026-11-25", "2026-11-25")


def test_names_in_a_message_are_said_once_in_the_words_of_the_page():
    said = in_words("Electrical power, mean over whole cycles must be 0 or more; power or current is needed")
    assert said.startswith("Electrical power, mean over whole cycles must be 0 or more; “Electrical power, mean over")
    assert "Electrical “" not in said


def test_what_an_entry_is_not_keeps_its_own_word(state):
    state.read("power", "8.x")
    assert "'8.x' is not a power; write a number" in state.problem_of("power")


@pytest.mark.parametrize(
    ("system", "typed", "value", "accuracy"),
    [
        ("si", "250 °F ± 3", "250 °F", "3 °F"),
        ("si", "250 ± 3 °F", "250 °F", "3 °F"),
        ("si", "121 ± 3 K", "121 degC", "3 K"),
        ("us", "80 °C ± 2", "80 °C", "2 °C"),
        ("us", "250 ± 2", "250 degF", "2 degF"),
        ("si", "121 ± 2 %", "121 degC", "2 %"),
        ("si", "121 ±", "121 degC", None),
    ],
)
def test_a_unit_behind_a_reading_or_its_accuracy_is_that_of_both(system, typed, value, accuracy):
    state = WalkState()
    state.system = system
    state.read("process_temperature", typed)
    written = state.entry["process_temperature"]
    told = (written["value"], written["accuracy"]) if isinstance(written, dict) else (written, None)
    assert told == (value, accuracy)
    state.read("process_temperature", "±")  # nothing said, nothing taken away
    assert state.entry["process_temperature"] == written


def test_taking_over_what_stands_there_already_says_so():
    state = WalkState()
    state.adopt()
    state.adopt()
    assert state.notice.startswith("Nothing is taken over")


def test_a_dew_point_that_is_no_input_of_the_dryer_is_said_to_be_none():
    state = WalkState()
    state.set(lists.set_type(state.document, "options[1].machines[1]", "hot-air"))
    state.read("dew_point", "9")
    state.adopt()
    assert "The dew point that was read is no input of this dryer" in state.notice
    assert "but for the dew point" not in state.notice
    assert state.case.model.options[0].machines[0].delivered_dew_point is None


def test_what_is_taken_into_the_case_is_named_with_its_value_before_and_now():
    state = WalkState()
    state.adopt()
    # The demo's old tower: 250 degC and a timer's 4 h typed in, air to resin left to the usual of PC, 2.2.
    for said in (
        "Air per resin that it is built for (kg/kg): 2.2 before, 2.5",
        "Regeneration temperature: 250 °C before, 262 °C now",
        "Regeneration control: timer as before",
        "revolution: 4 h as before",
    ):
        assert said in state.notice
    assert re.search(
        r" There the readings say \d+ ± \d+ Wh/kg at 57.6 kg/h, the comparison counts \d+ Wh/kg", state.notice
    )
    assert re.search(r"Dew point of the air into the hopper: -\d\d(\.\d)? °C before, -28 °C now", state.notice)
    assert "as it was read, but for the dew point, which stays the model's." in state.notice
    assert "no input of this dryer" not in state.notice
    assert state.case.model.options[0].machines[0].delivered_dew_point == pytest.approx(245.15)
    assert state.undoable == 1
    state.undo()
    assert state.case.model.options[0].machines[0].delivered_dew_point is None
    state.system = "us"
    state.adopt()
    assert "Regeneration temperature: 482 °F before, 504 °F now" in state.notice


def test_a_day_that_is_still_to_come_is_to_be_checked(state, today):
    year = int(today[:4])
    assert state.to_check("date") == ""
    state.note_down("date", f"{year + 1}{today[4:]}")
    assert state.to_check("date") == "That day is still to come: check it."
    assert state.problem_of("date") == ""
    state.note_down("date", "1.2.")
    assert state.to_check("date") == ""  # what is wrong with it goes first
    state.note_down("date", today)
    assert state.to_check("date") == ""


def test_watts_typed_for_kilowatts_are_told_beside_the_power_and_leave_an_answer(state):
    state.read("power", "3600")  # more than the plant takes
    view = View(state)
    assert state.trouble == ""
    assert "watts taken for kilowatts?" in view._readings["power"]._note.value
    assert "Energy per resin" in view._figures.value
