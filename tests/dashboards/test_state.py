"""The state of the Compare view, without a widget or a kernel."""

from __future__ import annotations

import pytest

from dashboards import lists
from dashboards.entries import field
from dashboards.input_names import input_names
from dashboards.state import PAUSE, REST, State
from dashboards.walkthrough_state import WalkState
from energy.reports.answer import sentences
from energy.reports.doubts import quoted_for_another
from energy.study.case import build, load_case, read_document
from energy.study.compare import compare
from energy.study.form import entries
from energy.study.paths import walk, written
from energy.study.plant_sections import Hopper
from energy.units import parse


@pytest.fixture
def state():
    return State("one-machine")


def test_opens_on_the_demo_case_computed(state):
    assert state.case.name == load_case("one-machine").name
    assert not state.problems
    assert state.chosen == state.comparison.ranked()[0].name


def test_a_setting_gives_what_the_changed_case_gives(state):
    state.set({"hoppers[1].throughput": "120 kg/h", "tariffs.electricity": "0.25 USD/kWh"})
    expected = compare(load_case("one-machine").with_(throughput="120 kg/h", electricity="0.25 USD/kWh"))
    assert [o.total_cost for o in state.comparison.options] == [o.total_cost for o in expected.options]
    assert not state.stale


@pytest.mark.parametrize(
    ("path", "text", "words"),
    [
        ("hoppers[1].throughput", "-5 kg/h", "more than 0"),
        ("hoppers[1].throughput", "0 kg/h", "more than 0"),
        ("hoppers[1].throughput", "90 kW", "is not a mass flow"),
        ("hoppers[1].throughput", "ninety", "is not a mass flow"),
        (
            "hoppers[1].drying_temperature",
            "200 degC",
            "give “Highest drying temperature” among your own values of the resin",
        ),
        ("site.hall_dew_point", "30 degC", "above the dry bulb"),
        ("compressed_air.pressure", "7 bar", "gauge or absolute"),
        ("tariffs.electricity", "0.12 EUR/kWh", "EUR"),
        ("tariffs.electricity", "flat-electrcity", "did you mean 'flat-electricity'"),
        ("options['Desiccant wheel'].capital", "-1 USD", "at least 0"),
    ],
)
def test_what_is_wrong_is_told_at_its_field_and_the_last_result_stays(state, path, text, words):
    before = state.comparison
    state.set({path: text})
    assert words in state.problem_at(path)
    assert state.stale
    assert state.comparison is before
    state.set({path: {"hoppers[1].throughput": "90 kg/h"}.get(path, _original(path))})
    assert not state.stale


def _original(path):
    demo = load_case("one-machine").document
    section, key = path.rsplit(".", 1)
    if section == "hoppers[1]":
        return demo["hoppers"][0][key]
    if section.startswith("options"):
        return demo["options"][3][key]
    return demo[section][key]


def test_an_airflow_that_cannot_heat_is_told(state):
    state.set({"options['Hot air, gas-fired'].inputs": {"heat_source": "gas", "air_resin_ratio": 1.0}})
    assert "cannot bring PC to 120 °C (248 °F); at least" in state.problem_at("options['Hot air, gas-fired']")


def test_another_resin_brings_its_own_temperature_and_time(state):
    state.set_resin("ABS")
    assert not state.problems
    assert state.resin.abbreviation == "ABS"
    assert state.text_at("hoppers[1].drying_temperature", "temperature", state.resin.drying_temperature) == "80"


def test_what_a_hopper_loses_with_its_resin_is_told_there_and_on_a_walkthrough():
    plant = State("demo")
    plant.set_resin("ABS")
    assert plant.put_aside == (
        0,
        "What the case said for PC went with it: drying temperature 120 °C and residence time 5 h. Undo brings it back.",
    )
    assert plant.notice.startswith("Present dryers: what stands there does not grow with what is asked of it")
    plant.set_resin("PC")
    assert plant.put_aside == (0, "")
    on_foot = WalkState("demo")
    on_foot.hopper = 0
    on_foot.set_resin("ABS")
    assert "drying temperature 120 °C and residence time 5 h" in on_foot.notice
    assert "what stands there does not grow" in on_foot.notice
    on_foot.set({"site.altitude": "200 m"})
    assert on_foot.notice == ""  # it was said of what was done before


def test_units_convert_and_are_not_relabelled(state):
    state.system = "us"
    value = float(state.text_at("hoppers[1].throughput", "mass flow", 0.0))
    assert value == pytest.approx(90 / 0.45359237, rel=5e-4)  # international pound; four digits of a converted value
    assert float(state.text_at("site.hall_temperature", "temperature", 0.0)) == pytest.approx(24 * 1.8 + 32)
    before = state.comparison.options[0].total_cost
    state.set({"hoppers[1].throughput": state.with_unit("198.41603601", "mass flow")})
    assert state.comparison.options[0].total_cost == pytest.approx(before, rel=1e-9)
    assert state.text_at("hoppers[1].throughput", "mass flow", 0.0) == "198.416"  # as typed, to six digits


def test_a_unit_typed_behind_the_number_counts(state):
    state.set({"hoppers[1].throughput": state.with_unit("200 lb/h", "mass flow")})
    assert float(state.case.model.hoppers[0].throughput) == parse("200 lb/h", "mass flow")


def test_a_case_that_cannot_be_used_is_told_and_the_demo_shown(tmp_path):
    bad = tmp_path / "bad.toml"
    bad.write_text("[case]\nname = 3\n")
    state = State(str(bad))
    assert state.problems
    assert state.case.name == load_case("demo").name


def test_the_download_is_the_case_on_screen(state, tmp_path):
    state.set({"hoppers[1].throughput": "77 kg/h"})
    target = tmp_path / "case.toml"
    target.write_bytes(state.toml())
    again = compare(load_case(target))
    assert [o.life_cycle_cost for o in again.options] == [o.life_cycle_cost for o in state.comparison.options]


def test_a_program_error_is_told_in_words(state, monkeypatch):
    def broken(_):
        raise ZeroDivisionError

    monkeypatch.setattr("dashboards.case_state.compare", broken)
    state.set({"hoppers[1].throughput": "91 kg/h"})
    assert state.problems[0].message.startswith("This could not be computed")
    assert state.stale


def test_own_values_of_a_resin_change_the_result_and_go_again(state):
    before = state.comparison.options[1].specific_energy
    state.set_own_resin(True)
    state.set({"hoppers[1].own_resin.specific_heat": "1.6 kJ/(kg K)"})
    assert not state.problems
    assert state.comparison.options[1].specific_energy > before
    state.set_own_resin(False)
    assert state.comparison.options[1].specific_energy == before


def test_a_climate_and_back(state):
    state.set_climate("hot-humid")
    assert not state.problems
    assert state.comparison.duty.hall_dew_point.max() > 290
    state.set_climate(None)
    assert not state.problems


def test_a_shorter_stay_turns_verdict_ranking_and_answer(state):
    assert state.comparison.ranked()[0].verdict.overall == "pass"
    state.set({"hoppers[1].residence_time": "1 h"})
    assert {o.verdict.overall for o in state.comparison.options if o.option.type.startswith("desiccant")} != {"pass"}
    assert state.comparison.ranked()[0].name != "New twin tower"


# ---------- several hoppers ----------


@pytest.fixture
def plant():
    return State()


def test_the_duty_shown_is_that_of_the_hopper_chosen(plant):
    plant.hopper = 3
    assert plant.resin.abbreviation == "PET"
    plant.set({f"{plant.hopper_path}.throughput": "100 kg/h"})
    assert [round(float(h.throughput) * 3600) for h in plant.case.model.hoppers] == [60, 35, 90, 100]
    plant.set_resin("PC")
    assert [r.abbreviation for r in plant.case.resins] == ["PC", "PA66", "ABS", "PC"]
    plant.set({f"{plant.hopper_path}.throughput": "0 kg/h"})
    assert "more than 0" in plant.problem_at("hoppers[4].throughput")
    assert plant.problem_at("hoppers[1].throughput") == ""


def test_levels_follow_a_changed_throughput(plant):
    plant.hopper = 1
    plant.set({f"{plant.hopper_path}.throughput": "70 kg/h"})
    levels = plant.chosen_hopper.levels
    assert [round(float(v.throughput) * 3600, 6) for v in levels] == [70, 40]
    assert [float(v.share) for v in levels] == pytest.approx([0.6, 0.4])


def test_load_of_all_hoppers(plant):
    # By hand: all full but PA66 with 60 % at 35 and 40 % at 20 kg/h, mean 29 of 35.
    assert plant.load == pytest.approx((60 + 29 + 90 + 120) / (60 + 35 + 90 + 120))
    full = plant.comparison.option("Twin towers, new").specific_energy
    plant.set_load(0.4)
    assert plant.load == pytest.approx(0.4)
    assert plant.comparison.option("Twin towers, new").specific_energy > 1.7 * full
    plant.set_load(1.0)
    assert plant.load == 1.0
    assert "levels" not in plant.document["hoppers"][1]


def test_curves_wait_until_nothing_is_changed_and_are_dropped_for_a_newer_case():
    waiting = []
    state = State("one-machine", lambda seconds, work: waiting.append((seconds, work)))
    assert (state.curves, [seconds for seconds, _ in waiting]) == (0, [REST])
    waiting[0][1]()  # the first step
    state.set({"hoppers[1].throughput": "120 kg/h"})
    (_, old), (rest, new) = waiting[1:]
    old()
    assert (state.curves, len(waiting), rest) == (0, 3, REST)
    new()
    steps = 0
    while len(waiting) > 3 + steps:  # one option at a time, so that a change need not wait for all of them
        seconds, work = waiting[3 + steps]
        assert seconds == PAUSE
        work()
        steps += 1
    assert steps == len(state.comparison.ranked()) + len(state.comparison.options)
    assert state.curves == 1
    assert state.loads.energy["Desiccant wheel"][-1] == pytest.approx(
        state.comparison.option("Desiccant wheel").specific_energy, rel=1e-9
    )


def test_hours_typed_in_over_shifts_are_told(plant):
    assert plant.calendar_note == ""
    plant.set({"calendar.production_hours": "3985 h"})
    assert "standby and starts from cold are no longer counted" in plant.calendar_note
    assert State("one-machine").calendar_note == ""


def test_work_in_progress_is_told(plant):
    seen = []
    plant.observe(lambda change: seen.append(change["new"]), "working")
    plant.set({"hoppers[1].throughput": "55 kg/h"})
    plant.set({"hoppers[1].throughput": "wrong"})
    assert seen == [True, False, True, False]


def test_a_value_typed_over_says_what_went_with_it():
    state = State("demo")
    path = "hoppers[1].throughput"
    quantity = entries(Hopper)["throughput"].quantity
    shown = field(state, path, entries(Hopper)["throughput"], compared=state.case.model.hoppers[0])
    assert shown["more"]["low"] == "54"
    state.enter(path, quantity, "value", "62", None)
    typed = field(state, path, entries(Hopper)["throughput"], compared=state.case.model.hoppers[0])
    assert "54 to 66, measured, weighed over one shift" in typed["hint"]
    state.undo()
    assert "went" not in field(state, path, entries(Hopper)["throughput"])["hint"]


@pytest.mark.parametrize("system", ["si", "us"])
def test_a_value_typed_back_has_its_range_and_basis_again(system):
    state = State("demo")
    state.system = system
    path, of = "hoppers[1].throughput", entries(Hopper)["throughput"]
    before = state.document
    shown = field(state, path, of)["value"]
    for text in (shown, "62", "63.5", shown):
        state.enter(path, of.quantity, "value", text, None)
        if text == shown:
            assert state.document == before
            assert not field(state, path, of)["hint"]
        else:
            assert "went" in field(state, path, of)["hint"]
    state.enter(path, of.quantity, "value", "62", None)
    state.enter(path, of.quantity, "basis", "quoted", None)  # this one rests on something of its own
    state.enter(path, of.quantity, "value", shown, None)
    assert written(state.document, path) == f"{shown} {state.unit('mass flow')}"


def test_inputs_of_a_dryer_that_differs_are_called_by_its_hopper():
    model = load_case("demo").model
    names = dict(input_names({path: quantity for path, quantity, value in walk(model) if value is not None}, model))
    assert names["Throughput the machine is built for: Present dryers at Machine 1"] == (
        "options['Present dryers'].machines[1].built_for"
    )
    assert len(names) > 500
    assert not [name for name in names if "machines 1" in name]


def test_capital_keeps_the_throughput_it_was_entered_for_until_it_is_entered_anew(state):
    state.set({"hoppers[1].throughput": "140 kg/h"})
    state.set({"hoppers[1].throughput": "0 kg/h"})  # cannot be, and is no throughput that capital was entered for
    state.set({"hoppers[1].throughput": "150 kg/h"})
    assert state.case.model.options[-1].capital_for * 3600 == pytest.approx(90)
    said = " ".join(sentences(state.comparison))
    assert "Capital is quoted for 90 kg/h, the case asks 150 kg/h: get quotes for that throughput." in said
    kept = build(read_document(state.toml().decode(), "case.toml"), file="case.toml")  # as it is read once it is saved
    assert "Capital is quoted for 90 kg/h, the case asks 150 kg/h" in " ".join(sentences(compare(kept)))
    priced = [i for i, row in enumerate(lists.rows(state.document, "options"), start=1) if row.get("capital")]
    state.set({f"options[{priced[0]}].capital": [{"item": "Dryer", "amount": "31000 USD"}]})
    first = lists.name_of(lists.rows(state.document, "options")[priced[0] - 1])
    (told,) = quoted_for_another(state.comparison)
    assert told.startswith("Capital is quoted for 90 kg/h (")
    assert first not in told
    state.set({f"options[{i}].capital": [{"item": "Dryer", "amount": "31000 USD"}] for i in priced})
    assert quoted_for_another(state.comparison) == []


def test_a_throughput_put_back_leaves_no_trace_in_the_case(state):
    state.set({"hoppers[1].throughput": "140 kg/h"})
    state.set({"hoppers[1].throughput": "90 kg/h"})
    assert "capital_for" not in state.toml().decode()


def test_a_throughput_quoted_that_was_typed_stays(state):
    priced = next(i for i, row in enumerate(lists.rows(state.document, "options"), start=1) if row.get("capital"))
    state.set({f"options[{priced}].capital_for": "120 kg/h"})
    state.set({"hoppers[1].throughput": "140 kg/h"})
    state.set({f"options[{priced}].capital": [{"item": "Dryer", "amount": "31000 USD"}]})
    assert lists.rows(state.document, "options")[priced - 1]["capital_for"] == "120 kg/h"


def test_shifts_come_back_when_the_hours_typed_over_them_are_taken_out():
    plant = State("demo")
    shifts, cost = plant.document["calendar"]["shifts"], plant.comparison.baseline.total_cost
    hours = "calendar.production_hours"
    plant.set({hours: "9000 h"})  # more than a year has: refused, and nothing else changes
    assert [p.key for p in plant.problems] == [hours]
    assert plant.document["calendar"]["shifts"] == shifts
    plant.set({hours: None})
    assert not plant.problems
    plant.set({hours: "4000 h"})
    assert "shifts" not in plant.document["calendar"]
    assert "Empty the field to have them back." in plant.calendar_note
    plant.set({hours: None})
    assert not plant.problems
    assert plant.document["calendar"]["shifts"] == shifts
    assert plant.comparison.baseline.total_cost == cost
    assert plant.calendar_note == ""
