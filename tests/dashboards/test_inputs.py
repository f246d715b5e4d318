"""The inputs of the Compare view: lists of a case edited as documents, the form without a browser, a visitor with a keyboard."""

from __future__ import annotations

import json
import re
from types import SimpleNamespace
from urllib.parse import urljoin

import pytest

from dashboards import lists, tables, where_from
from dashboards.inputs import Inputs
from dashboards.state import State
from energy import dryers
from energy.cli import main
from energy.errors import CaseError
from energy.reports.answer import sentences
from energy.reports.labels import labelled
from energy.sources import load
from energy.study import machines_alike
from energy.study.case import build, example_text, load_case, read_document
from energy.study.compare import compare
from energy.study.form import entries
from energy.study.option_sections import Option
from energy.study.paths import changed
from energy.study.plant_sections import Hopper
from energy.study.schema import CaseFile
from energy.study.section import BASES

ROWS = ("hoppers", "options")


@pytest.fixture(scope="module")
def demo():
    return read_document(example_text("demo"), "demo")


@pytest.fixture(scope="module")
def opened():
    return State("one-machine", lambda _, work: None)  # without the curves, which take their time


@pytest.fixture
def inputs(opened):
    """Of a case as it was opened; what a test has changed is taken back."""
    shown = Inputs(opened)
    shown.refresh()

    def follow(_):
        shown.refresh()

    opened.observe(follow, ("revision", "system"))
    yield shown
    opened.unobserve(follow, ("revision", "system"))
    opened.system = "si"
    opened.reset()


# ---------- the schema as a form ----------


def test_every_input_of_every_type_is_in_the_form_with_its_typical_value():
    for kind, module in dryers.TYPES.items():
        found = entries(module.Inputs)
        assert set(found) == set(module.Inputs.model_fields) - {"kind"}
        assert set(load(f"dryers/{kind}")) <= set(found)


def test_labels_and_limits_are_those_of_the_schema():
    throughput = entries(Hopper)["throughput"]
    assert throughput.label == "Throughput"
    # 10 kg/s are 36,000 kg/h by 3600 s to the hour.
    assert throughput.allowed("kg/h") == "more than 0 kg/h and at most 36,000 kg/h"
    assert entries(Option)["arrangement"].choices == ("at the machine", "portable", "central")
    assert entries(Hopper)["campaigns"].entry == "whole number"
    assert "levels" not in entries(Hopper)  # a list of its own


# ---------- lists of a document ----------


def put(document, changes):
    return build(changed(document, changes)).model


def test_a_hopper_is_added_copied_and_removed(demo):
    with pytest.raises(CaseError, match="at least 4 are needed"):  # three portable dryers are busy all the time
        put(demo, lists.add_hopper(demo))
    more = changed(demo, {"options[5].units": 4})
    names = [h.name for h in put(more, lists.add_hopper(more)).hoppers]
    assert names == ["Machine 1", "Machine 2", "Machine 3", "Machine 4", "Hopper 5"]
    names = [h.name for h in put(more, lists.copy_named(more, "hoppers", 1)).hoppers]
    assert names == ["Machine 1", "Machine 2", "Machine 2, copy", "Machine 3", "Machine 4"]
    without = put(demo, lists.remove_hopper(demo, 0))
    assert [h.name for h in without.hoppers] == ["Machine 2", "Machine 3", "Machine 4"]
    assert [m.hopper for m in without.options[0].machines] == ["Machine 3"]
    assert without.readings == ()


def test_portable_dryers_are_as_many_as_the_hoppers_need(demo):
    # By hand: 60 + 100 + 40 + 100 % of the time are three dryers, a fifth hopper makes it four.
    assert lists.fit_portables(demo) == {}
    more = changed(demo, lists.add_hopper(demo))
    assert lists.fit_portables(more) == {"options[5].units": ("Portable wheels", 3, 4)}
    assert lists.fit_portables(changed(more, {"hoppers[5].running": "0.4 %"})) != {}
    two = demo
    for _ in range(2):
        two = changed(two, lists.remove_hopper(two, 0))
    assert lists.fit_portables(two) == {"options[5].units": ("Portable wheels", 3, 2)}
    # A hopper more and taken away again: as many as at first, where there were just enough before.
    fitted = changed(more, {"options[5].units": 4})
    less = changed(fitted, lists.remove_hopper(fitted, 4))
    assert lists.fit_portables(less, fitted) == {"options[5].units": ("Portable wheels", 4, 3)}
    spare = changed(fitted, {"options[5].units": 5})
    assert lists.fit_portables(changed(spare, lists.remove_hopper(spare, 4)), spare) == {
        "options[5].units": ("Portable wheels", 5, 4)
    }  # no more than hoppers


def test_a_hopper_more_keeps_the_case_right_and_says_so():
    state = State("demo", lambda _, work: None)
    shown = Inputs(state)
    state.observe(lambda _: shown.refresh(), "revision")
    shown.refresh()
    form = shown.form
    form.enter("hoppers", "yes", "open")
    form.enter("hoppers:add", "", "press")
    assert not state.problems
    assert state.document["options"][4]["units"] == 4
    assert "Portable wheels now has 4 portable dryers, not 3" in form.find("hoppers:fitted")["label"]
    state.undo()
    assert (len(state.document["hoppers"]), state.document["options"][4]["units"]) == (4, 3)
    state.set({"hoppers[1].running": "100 %"})  # by another way: mended where it is said
    wrong = form.find("duty:options[5].units:wrong")["label"]
    assert "Portable wheels" in wrong
    assert "at least 4 are needed" in wrong
    form.enter("duty:options[5].units:mend", "", "press")
    assert not state.problems
    assert state.document["options"][4]["units"] == 4


def test_a_renamed_hopper_takes_its_machines_readings_and_scenarios_along(demo):
    document = changed(
        demo, {"scenarios": [{"name": "more", "changes": {"hoppers['Machine 1'].throughput": "70 kg/h"}}]}
    )
    model = put(document, lists.rename_hopper(document, 0, "Lens press"))
    assert model.options[0].machines[0].hopper == model.readings[0].hopper == "Lens press"
    assert list(model.scenarios[0].changes) == ["hoppers['Lens press'].throughput"]
    gone = put(document, lists.remove_hopper(document, 0))
    assert gone.scenarios == ()


def test_options_are_added_by_type_and_one_is_the_baseline(demo):
    for kind in dryers.TYPES:
        assert put(demo, lists.add_option(demo, kind)).options[-1].type == kind
    twin = put(demo, lists.copy_named(demo, "options", 0))
    assert twin.options[1].name == "Present dryers, copy"
    assert [o.baseline for o in twin.options].count(True) == 1
    marked = put(demo, lists.mark_baseline(demo, 2))
    assert [o.name for o in marked.options if o.baseline] == ["Rotating beds"]
    assert len(put(demo, lists.remove_option(demo, 3)).options) == len(demo["options"]) - 1


def test_what_a_meter_said_stays_with_the_present_dryers(demo):
    own = {"hopper": "Machine 2", "type": "hot-air", "metered_over_model": "90 %"}
    metered = changed(demo, {"options[1].metered_over_model": "120 %", "options[1].machines": [own]})
    assert put(metered, {}).options[0].machines[0].metered_over_model == 0.9
    twin = put(metered, lists.copy_named(metered, "options", 0)).options
    assert [(o.metered_over_model, o.machines[0].metered_over_model) for o in twin[:2]] == [(1.2, 0.9), (1.0, 1.0)]
    marked = put(metered, lists.mark_baseline(metered, 2)).options
    assert [o.name for o in marked if o.baseline] == ["Rotating beds"]
    assert marked[0].metered_over_model == marked[0].machines[0].metered_over_model == 1.0
    assert marked[0].machines[0].type == "hot-air"
    other = put(metered, lists.set_type(metered, "options[1]", "hot-air")).options[0]
    assert (other.metered_over_model, other.machines[0].metered_over_model) == (1.0, 0.9)


def test_a_dew_point_that_was_read_stays_with_the_dryer_that_stands_there(demo):
    own = {"hopper": "Machine 2", "type": "compressed-air", "delivered_dew_point": "-18 degC"}
    read = changed(demo, {"options[1].delivered_dew_point": "-8 degC", "options[1].machines": [own]})

    def told(document, changes, place=0):
        option = put(document, changes).options[place]
        given = option.delivered_dew_point, *(m.delivered_dew_point for m in option.machines)
        return tuple(None if dew_point is None else round(dew_point, 9) for dew_point in given)

    assert told(read, {}) == (265.15, 255.15)
    assert told(read, lists.copy_named(read, "options", 0), 1) == (None, None)
    assert told(read, lists.mark_baseline(read, 2)) == (None, None)
    assert told(read, lists.set_type(read, "options[1]", "vacuum")) == (None, 255.15)
    assert told(read, lists.set_type(read, "options[1].machines[1]", "hot-air")) == (265.15, None)
    assert told(read, lists.add_machine(read, "options[1]")) == (265.15, 255.15, 265.15)
    assert told(read, lists.arrange(read, 0, "central")) == (265.15,)


def test_the_form_asks_for_it_where_a_dryer_can_have_one(demo):
    own = [{"hopper": "Machine 1", "type": "vacuum"}, {"hopper": "Machine 2", "type": "desiccant-wheel"}]
    state = State("demo", lambda _, work: None)
    state.set({"options[1].machines": own})
    shown = Inputs(state)
    state.observe(lambda _: shown.refresh(), "revision")
    shown.refresh()
    form = shown.form
    for fold in ("options", "options[1]", "options[1].machines", "options[2]"):
        form.enter(fold, "yes", "open")
    there = {part["id"] for part in form.walk() if part["id"].endswith(".delivered_dew_point")}
    assert there == {f"options[1].{key}delivered_dew_point" for key in ("", "machines[2].")}
    form.enter("options[1].delivered_dew_point", "-5", "value")
    assert state.case.model.options[0].delivered_dew_point == pytest.approx(268.15)
    assert state.comparison.baseline.served[-1].operation.delivered_dew_point.max() == pytest.approx(268.15)
    assert "at least −100 °C and at most 25 °C" in form.find("options[1].delivered_dew_point")["more"]["words"]


def test_another_type_or_arrangement_keeps_what_still_belongs(demo):
    other = put(demo, lists.set_type(demo, "options[2]", "hot-air"))
    assert other.options[1].type == "hot-air"  # regeneration_control is gone
    portable = put(demo, lists.arrange(demo, 3, "portable"))
    assert portable.options[3].units == 4
    central = put(demo, lists.arrange(demo, 0, "central"))
    assert central.options[0].machines == ()


def test_a_sum_of_capital_becomes_its_first_line(demo):
    document = changed(demo, {"options[3].capital": "50000 USD"})
    changes = lists.add_capital_line(document, "options[3].capital", "USD")
    assert [(c.item, float(c.amount)) for c in put(document, changes).options[2].capital] == [
        ("Capital", 50000.0),
        ("Line 2", 0.0),
    ]


def test_a_new_level_takes_the_time_that_is_missing(demo):
    document = changed(demo, lists.add_level(demo, "hoppers[1]"))
    document = changed(document, {"hoppers[1].levels[1].share": "70 %"})
    document = changed(document, lists.add_level(document, "hoppers[1]"))
    assert [row["share"] for row in lists.rows(document, "hoppers[1].levels")] == ["70 %", "30 %"]
    document = changed(document, lists.add_level(document, "hoppers[1]"))  # nothing is missing: half of the last
    assert [row["share"] for row in lists.rows(document, "hoppers[1].levels")] == ["70 %", "15 %", "15 %"]
    build(document)


def test_levels_always_make_the_whole_time(demo):
    document = dict(demo)
    for _ in range(3):
        document = changed(document, lists.add_level(document, "hoppers[1]"))
    # By hand: 100; 50 + 50; 50 + 25 + 25.
    assert [row["share"] for row in lists.rows(document, "hoppers[1].levels")] == ["50 %", "25 %", "25 %"]
    document = changed(document, lists.remove_level(document, "hoppers[1]", 0))
    assert [row["share"] for row in lists.rows(document, "hoppers[1].levels")] == ["75 %", "25 %"]
    build(document)
    document = changed(document, lists.remove_level(document, "hoppers[1]", 0))
    document = changed(document, lists.remove_level(document, "hoppers[1]", 0))
    assert "levels" not in document["hoppers"][0]


def test_shifts_follow_each_other_and_hours_take_their_place(demo):
    document = changed(demo, lists.add_shift(demo))
    assert [(r["start"], r["end"]) for r in document["calendar"]["shifts"]][-1] == ("22:00", "06:00")
    # Three shifts of eight hours on every working day but the shutdown weeks' are half as much again as two.
    two, three = (build(d).calendar.production.sum() for d in (demo, document))
    assert three == pytest.approx(1.5 * two, rel=5e-3)  # the first and last night of the year lie outside it
    none = {"calendar.shifts": None, "calendar.production_hours": "3984 h"}
    for _ in range(2):
        document = changed(document, lists.remove_shift(document, 0, 3984.0))
    assert lists.remove_shift(document, 0, 3984.0) == none
    build(changed(document, none))


@pytest.mark.parametrize("hoppers", [None, "many", [1, 2], [{"name": 3}], {"a": 1}])
def test_lists_of_a_document_that_is_no_case_are_empty_or_read(hoppers):
    found = lists.rows({"hoppers": hoppers}, "hoppers")
    assert found in ([], [{"name": 3}])
    assert isinstance(lists.lengths({"hoppers": hoppers}), str)


# ---------- the form without a browser ----------


def test_the_panel_opens_with_the_most_used_and_folds_the_rest(inputs):
    kinds = [part["kind"] for part in inputs.form.parts]
    assert kinds.count("field") == 12  # with the type of a new option
    assert kinds.count("fold") > 10
    assert all(part["parts"] == [] for part in inputs.form.parts if part["kind"] == "fold")


def test_every_section_can_be_unfolded_and_drawn_as_json(inputs):
    inputs._panel._open = SimpleNamespace(get=lambda *_: True)
    inputs.refresh()
    shown = json.dumps(inputs.form.parts, allow_nan=False)
    for key in ("options[4].inputs.regeneration_temperature", "compressed_air.purge_share", "finance.timing"):
        assert f'"{key}"' in shown
    ids = [part["id"] for part in _all(inputs.form.parts)]
    assert len(ids) == len(set(ids))
    assert not [i for i in ids if " " in i or '"' in i]  # they become ids of the page


def _all(parts):
    for part in parts:
        yield part
        yield from _all(part.get("parts", ()))


def test_a_value_left_out_shows_the_typical_one_and_its_source(inputs):
    form = inputs.form
    for fold in ("options[4]", "options[4].inputs"):
        form.enter(fold, "yes", "open")
    path = "options[4].inputs.leak_share"
    stored = load("dryers/desiccant-wheel")["leak_share"]
    field = form.find(path)
    assert field["left"]
    assert float(field["value"]) == pytest.approx(100.0 * stored.value)  # shown in per cent
    assert stored.note in field["more"]["words"]
    assert field["more"]["summary"] == f"typical, {stored.basis}"
    form.enter(path, "3")
    assert inputs.state.document["options"][3]["inputs"] == {"leak_share": "3 %"}
    form.enter(path, "")
    assert form.find(path)["left"]


def test_a_range_with_basis_and_note_goes_into_the_case(inputs):
    form, state = inputs.form, inputs.state
    path = "hoppers[1].residence_time"
    form.enter(path, "3", "low")
    assert "needs both low and high" in form.find(path)["problem"]
    form.enter(path, "5", "high")
    form.enter(path, "quoted", "basis")
    form.enter(path, "sheet of the resin", "note")
    assert not state.problems
    assert state.document["hoppers"][0]["residence_time"] == {
        "value": "4 h",
        "low": "3 h",
        "high": "5 h",
        "basis": "quoted",
        "note": "sheet of the resin",
    }
    assert form.find(path)["more"]["summary"] == "3 to 5, quoted"
    form.enter(path, "6", "low")
    assert "not in this order" in form.find(path)["problem"]
    for part in ("low", "high", "basis", "note"):
        form.enter(path, "", part)
    assert state.document["hoppers"][0]["residence_time"] == {"value": "4 h"}
    state.undo()
    assert "note" in state.document["hoppers"][0]["residence_time"]


def test_a_range_of_a_typical_value_makes_it_the_cases_own(inputs):
    inputs.form.enter("more-duty", "yes", "open")
    path = "hoppers[1].initial_moisture"
    typical = inputs.form.find(path)["value"]
    inputs.form.enter(path, "measured", "basis")
    assert inputs.state.document["hoppers"][0]["initial_moisture"] == {
        "value": f"{typical} % wet basis",
        "basis": "measured",
    }


def test_units_of_the_form_follow_the_case_and_convert(inputs):
    inputs.form.enter("hall", "yes", "open")
    inputs.state.system = "us"
    field = inputs.form.find("site.altitude")
    assert field["label"] == "Altitude (ft)"
    assert float(field["value"]) == pytest.approx(150 / 0.3048, abs=0.05)  # four digits of a converted value
    inputs.form.enter("site.altitude", "1000")
    assert float(inputs.state.case.model.site.altitude) == pytest.approx(304.8)


def test_problems_stand_at_the_field_and_at_the_fold_over_it(inputs):
    form = inputs.form
    for fold in ("options[4]", "options[4].inputs"):
        form.enter(fold, "yes", "open")
    form.enter("options[4].inputs.leak_share", "150")
    assert "must be at most 20 %" in form.find("options[4].inputs.leak_share")["problem"]
    assert form.find("options[4]")["problem"] == "1 problem"
    assert form.find("options[3]")["problem"] == ""
    assert inputs.labels()["options['Desiccant wheel'].inputs.leak_share"] == "Hall air leaking in"


def test_a_renamed_option_stays_the_one_in_detail(inputs):
    state = inputs.state
    state.chosen = "Rotating beds"
    inputs.form.enter("options[3]", "yes", "open")
    inputs.form.enter("options[3].name", "Turning beds")
    assert state.chosen == "Turning beds"
    inputs.form.enter("options[3].name", "Vacuum")
    assert "two options have this name" in inputs.form.find("options[3].name")["problem"]


HOSTILE = ("'].x", "<img src=x onerror=alert(1)>", "a\"b'c", "${x}", "🙂" * 40)


@pytest.mark.parametrize("text", HOSTILE)
def test_hostile_names_are_kept_as_text(inputs, text):
    form, state = inputs.form, inputs.state
    form.enter("hoppers", "yes", "open")
    form.enter("hoppers[1].name", text)
    assert state.document["hoppers"][0]["name"] == text
    assert not state.problems
    form.enter("hoppers[1].throughput", "-3")
    assert "more than 0" in form.find("hoppers[1].throughput")["problem"]


@pytest.mark.parametrize(
    "message",
    [
        None,
        "throughput",
        {},
        {"id": "hoppers[1].throughput", "part": "value", "text": 5},
        {"id": "hoppers[1].throughput", "part": "__class__", "text": "x"},
        {"id": "hoppers[9].throughput", "part": "value", "text": "5"},
        {"id": "case.name", "part": "value", "text": "other"},
        {"id": ["hoppers"], "part": "value", "text": "5"},
        {"id": "hoppers[1].throughput", "part": "value", "text": "9" * 1000},
        {"id": "load", "part": "value", "text": "100000"},
        {"id": "load", "part": "value", "text": "-5"},
        {"id": "options:kind", "part": "value", "text": "no such type"},
    ],
)
def test_what_the_form_does_not_offer_is_refused(inputs, message):
    before = inputs.state.document
    if isinstance(message, dict):
        message = {"shape": inputs.form.shape, **message}
    inputs.form._take(None, message, None)
    assert inputs.state.document == before


def test_limits_of_choices_and_lengths_are_checked_again(inputs):
    form, state = inputs.form, inputs.state
    form.enter("hoppers[1].throughput", "guess", "basis")
    assert "is not one of measured" in form.find("hoppers[1].throughput")["problem"]
    assert "guess" not in BASES
    state.undo()
    form.enter("more-money", "yes", "open")
    form.enter("finance.years", "9" * 30)
    assert form.find("finance.years")["problem"]
    form.enter("finance.years", "0")
    assert form.find("finance.years")["problem"].endswith("it must be at least 1")
    assert state.document["finance"]["years"] == 0
    form.enter("finance.years", "ten")
    assert "whole number" in form.find("finance.years")["problem"]


def test_an_entry_made_on_another_list_is_dropped(inputs):
    form, state = inputs.form, inputs.state
    form.enter("options[2]", "yes", "open")
    message = {"id": "options[2]:remove", "part": "press", "text": "", "shape": form.shape}
    form._take(None, message, None)
    count = len(state.document["options"])
    form._take(None, message, None)  # pressed twice before the page had changed
    assert len(state.document["options"]) == count == len(CaseFile.model_validate(state.document).options)


def test_months_of_a_climate_are_typed_in_and_pasted(inputs):
    form, state = inputs.form, inputs.state
    form.enter("site.climate", "hot-dry")
    named = state.comparison
    form.enter("site.climate", ":months")
    assert "climate" not in state.document["site"]
    rows = state.document["site"]["months"]
    assert [set(row) for row in rows] == [{"month", "outdoor_temperature", "outdoor_dew_point"}] * 12
    # Typed in to a tenth of a degree, they mean what the name meant.
    assert state.case.climate.hall_temperature == pytest.approx(named.case.climate.hall_temperature, abs=0.06)
    form.enter("months", "yes", "open")
    hall = form.find("site.months[7].hall_temperature")
    assert hall["left"]
    assert float(hall["value"]) == pytest.approx(state.case.climate.hall_temperature[6] - 273.15, abs=0.06)
    form.enter("site.months[7].hall_temperature", "35")
    assert state.case.climate.hall_temperature[6] == pytest.approx(308.15)
    form.enter("site.months[7].outdoor_temperature", "hot")
    assert "July, outdoor temperature" in form.find("site.months")["problems"][0]
    assert form.find("months")["problem"] == "1 problem"
    sheet = {"row": 6, "column": 0, "cells": [["31", "12"], ["30.5", "11.5"], ["29", "11", "30", "12", "more"]]}
    form.enter("site.months", json.dumps(sheet), "paste")
    assert not state.problems
    assert (
        rows[6] | {"outdoor_temperature": "31 degC", "outdoor_dew_point": "12 degC", "hall_temperature": "35 degC"}
        == (state.document["site"]["months"][6])
    )
    assert state.document["site"]["months"][8]["hall_dew_point"] == "12 degC"
    state.undo()  # a sheet is one change
    assert state.document["site"]["months"][8] == rows[8]
    for nonsense in ("", "{}", '{"row": 12, "column": 0, "cells": [["1"]]}', '{"row": 0, "column": 0, "cells": 5}'):
        before = state.document
        form.enter("site.months", nonsense, "paste")
        assert state.document == before
    state.undo()
    form.enter("site.climate", "")
    assert "months" not in state.document["site"]
    assert not state.problems


def test_the_months_of_one_air_begin_with_what_they_replace(inputs):
    form, state = inputs.form, inputs.state
    before = state.comparison.baseline.specific_energy
    form.enter("site.climate", ":months")
    assert state.document["site"]["months"][0]["hall_temperature"] == "24.0 degC"
    assert state.comparison.baseline.specific_energy == pytest.approx(before, rel=2e-3)  # a dew point to 0.1 degC
    assert "temperate" in state.notice


def test_the_plants_months_begin_neutral_and_carry_their_bills(inputs):
    form, state = inputs.form, inputs.state
    state.set({"plant_load": None, "tariffs.electricity": "0.12 USD/kWh"})
    before = state.comparison.baseline.total_cost
    form.enter("plant_load", "yes", "open")
    form.enter("plant_load:kind", "months")
    assert state.comparison.baseline.total_cost == pytest.approx(before, rel=1e-6)
    form.enter("plant_load.months", json.dumps({"row": 0, "column": 0, "cells": [["171,000", "520"]]}), "paste")
    assert state.document["plant_load"]["months"][0] == {"month": 1, "energy": "171,000 kWh", "peak": "520 kW"}
    assert float(state.case.plant_months[0][0]) == pytest.approx(171e3 * 3.6e6)
    form.enter("plant_load.months[1].peak", "100")
    # 31 days of 24 h at 100 kW are 74,400 kWh.
    assert "744 h" in form.find("plant_load.months")["problems"][0]
    form.enter("plant_load.months[1].peak", "")
    assert form.find("plant_load.months")["problems"] == [
        "January, billed peak of the month: is missing; write a number and its unit, such as kW"
    ]
    form.enter("plant_load:kind", "")
    assert "plant_load" not in state.document
    assert not state.problems


def test_tax_asks_for_what_its_depreciation_needs_and_goes_as_a_whole(inputs):
    form, state = inputs.form, inputs.state
    before = state.comparison.option("Desiccant wheel").measures.npv
    form.enter("finance.tax", "yes", "open")
    assert form.find("finance.tax")["state"] == "left out"
    form.enter("finance.tax.rate", "25")
    assert state.problem_at("finance.tax.depreciation")  # asked for beside its field
    form.enter("finance.tax.depreciation", "straight-line")
    assert "life" in form.find("finance.tax:wrong")["label"]
    form.enter("finance.tax.life", "10")
    assert not state.problems
    assert state.comparison.option("Desiccant wheel").measures.npv < before
    form.enter("finance.tax.depreciation", "own")
    with pytest.raises(KeyError):
        form.find("finance.tax.life")
    form.enter("finance.tax.table", "60 %, 40")
    assert "add up to 100 %" in form.find("finance.tax:wrong")["label"]
    form.enter("finance.tax.table", "60 %, 0.4")
    assert state.document["finance"]["tax"] == {"rate": "25 %", "depreciation": "own", "table": [0.6, 0.4]}
    assert not state.problems
    form.enter("finance.tax:out", "", "press")
    assert state.comparison.option("Desiccant wheel").measures.npv == pytest.approx(before)


def test_a_converted_value_of_a_scenario_has_four_digits(opened, inputs):
    # 250 kg/h are 551.1557 lb/h (1 lb = 0.45359237 kg).
    form, state = inputs.form, inputs.state
    state.set({"hoppers[1].throughput": "250 kg/h"})
    state.system = "us"
    path = f"hoppers['{state.case.model.hoppers[0].name}'].throughput"
    state.set({"scenarios": [{"name": "More", "changes": {path: "560 lb/h"}}]})
    form.enter("scenarios", "yes", "open")
    assert form.find("scenarios[1].changes:1:value")["hint"] == "Now 551.2 lb/h."
    state.set({"hoppers[1].throughput": "551.156 lb/h"})
    inputs.refresh()
    assert form.find("scenarios[1].changes:1:value")["hint"] == "Now 551.156 lb/h."  # as it was typed


def test_a_scenario_is_typed_in_and_told_beside_the_case(opened, inputs, monkeypatch):
    form, state = inputs.form, inputs.state
    monkeypatch.setattr(state, "_later", lambda _, work: work())
    monkeypatch.setattr("dashboards.state.sweep_in_steps", lambda _: iter(()))
    monkeypatch.setattr("dashboards.state.load_curve_in_steps", lambda _: iter(()))
    form.enter("scenarios", "yes", "open")
    form.enter("scenarios:add", "", "press")
    assert state.document["scenarios"] == [{"name": "Scenario 1", "changes": {"tariffs.electricity_factor": "120 %"}}]
    (told,) = state.outcomes
    # A fifth more of the electricity bill, and of nothing else.
    now, then = state.comparison.baseline.annual_cost, told.comparison.baseline.annual_cost
    assert then["electricity"] == pytest.approx(1.2 * now["electricity"])
    form.enter("scenarios[1].name", "Dear power, cold hall")
    form.enter("scenarios[1]:add", "", "press")
    form.enter("scenarios[1].changes:2", "site.hall_temperature")
    form.enter("scenarios[1].changes:2:value", "15")
    changes = {"tariffs.electricity_factor": "120 %", "site.hall_temperature": "15 degC"}
    assert state.document["scenarios"] == [{"name": "Dear power, cold hall", "changes": changes}]
    assert "24 °C" in form.find("scenarios[1].changes:2:value")["hint"]
    assert ["Hall temperature: site", "site.hall_temperature"] in form.lists["inputs"]
    form.enter("scenarios[1].changes:2:value", "warm")
    inputs.refresh()
    assert "warm" in form.find("scenarios[1]:wrong")["label"]
    assert "warm" in tables.scenarios(state.comparison, state.outcomes)
    form.enter("scenarios[1].changes:2:remove", "", "press")
    form.enter("scenarios[1].changes:1:value", "100")
    inputs.refresh()
    assert "No change entered" in tables.scenarios(state.comparison, state.outcomes)
    assert list(state.document["scenarios"][0]["changes"]) == ["tariffs.electricity_factor"]
    form.enter("scenarios:add", "", "press")
    form.enter("scenarios[2].name", "Dear power, cold hall")
    assert "two scenarios have this name" in form.find("scenarios[2].name")["problem"]
    form.enter("scenarios[2]:remove", "", "press")
    form.enter("scenarios[1].changes:1:remove", "", "press")
    assert "scenarios" not in state.document
    assert state.outcomes == ()


# ---------- a visitor with a keyboard ----------


@pytest.mark.thorough
@pytest.mark.browser
def test_a_hopper_an_option_and_a_range_by_keyboard(browser_page, server, tmp_path, capsys):
    page = browser_page
    page.goto(urljoin(server.url, "compare"))
    page.locator("#answer").wait_for(timeout=60_000)

    def press(locator):
        locator.focus()
        page.keyboard.press("Enter")

    press(page.locator("summary", has_text="All hoppers"))
    press(page.get_by_role("button", name="Add a hopper"))
    group = page.get_by_role("group", name="Hopper 5", exact=True)
    group.wait_for()
    page.get_by_text("Portable wheels now has 4 portable dryers, not 3").wait_for()
    page.wait_for_function("() => document.activeElement?.value === 'Hopper 5'")
    page.keyboard.press("Tab")
    page.keyboard.press("Tab")  # name, resin, throughput
    page.keyboard.press("Control+A")
    page.keyboard.type("42")
    page.keyboard.press("Tab")  # leaving the field is enough
    page.wait_for_function("() => document.activeElement?.classList.contains('more')")
    page.keyboard.press("Enter")
    for text in ("40", "45"):
        page.keyboard.press("Tab")
        page.keyboard.type(text)
    page.keyboard.press("Tab")
    page.keyboard.type("quo")  # the list of bases: quoted
    page.keyboard.press("Tab")
    page.keyboard.type("offer of May")
    page.keyboard.press("Tab")
    group.get_by_role("button", name="Throughput: 40 to 45, quoted").wait_for()

    page.get_by_label("Dryer type of a new option").select_option("vacuum")
    press(page.get_by_role("button", name="Add an option"))
    page.wait_for_function("() => document.activeElement?.value === 'Vacuum 2'")
    page.locator("#options tr[data-option='Vacuum 2']").wait_for()

    press(page.locator("summary", has_text="Electricity of the whole plant"))
    energy = page.get_by_label("January, energy of the month")
    energy.fill("170000")
    energy.press("Enter")
    page.wait_for_function("() => document.activeElement?.ariaLabel === 'February, energy of the month'")
    page.evaluate(
        """() => {
            const cells = new DataTransfer();
            cells.setData("text", "175000\\t524\\n190000\\t529");
            const paste = { clipboardData: cells, bubbles: true, cancelable: true };
            document.activeElement.dispatchEvent(new ClipboardEvent("paste", paste));
        }"""
    )
    page.wait_for_function(
        "() => document.querySelector('[aria-label=\"March, billed peak of the month\"]').value === '529'"
    )

    press(page.locator("summary", has_text="Scenarios"))
    press(page.get_by_role("button", name="Add a scenario"))
    page.wait_for_function("() => document.activeElement?.value === 'Scenario 1'")
    page.get_by_label("Search: Input 1").fill("bill gas")
    offered = page.get_by_label("Input 1", exact=True).locator("option")
    assert offered.all_inner_texts() == [
        "Electricity bill over that of the tariff: tariffs",  # what is chosen stays
        "Gas bill over that of the tariff: tariffs",
    ]
    page.locator("#scenarios tbody tr", has_text="Scenario 1").wait_for()
    press(page.get_by_role("button", name="Remove Scenario 1"))

    why = page.locator("#options tr[data-option='Vacuum 2'] td button").first
    page.locator(f"#{why.get_attribute('popovertarget')}").wait_for(state="attached")
    press(why)
    panel = page.locator(f"#{why.get_attribute('popovertarget')}")
    panel.wait_for()
    assert "Bill with this dryer" in panel.inner_text()
    page.keyboard.press("Escape")
    panel.wait_for(state="hidden")

    with page.expect_download() as waiting:
        page.get_by_role("button", name="Download the case").click()
    target = tmp_path / "case.toml"
    waiting.value.save_as(target)
    months = load_case(target).document["plant_load"]["months"]
    assert [row["energy"] for row in months][:4] == ["170000 kWh", "175000 kWh", "190000 kWh", "187 MWh"]
    hopper = load_case(target).document["hoppers"][4]
    assert hopper["throughput"] == {
        "value": "42 kg/h",
        "low": "40 kg/h",
        "high": "45 kg/h",
        "basis": "quoted",
        "note": "offer of May",
    }
    rows = page.locator("#options tbody tr")
    shown = {
        rows.nth(i).get_attribute("data-option"): rows.nth(i).locator("td").nth(1).inner_text()
        for i in range(rows.count())
    }
    assert main(["compare", str(target), "--json"]) == 0
    options = json.loads(capsys.readouterr().out)["options"]
    assert shown == {o["name"]: f"{o['annual_cost']['total']:,.0f}" for o in options}
    unnamed = page.evaluate(
        "[...document.querySelectorAll('.form :is(input, select, button)')]"
        ".filter(x => !(x.getAttribute('aria-label') || x.textContent.trim() && x.tagName === 'BUTTON' || x.labels?.length)).length"
    )
    assert unnamed == 0


def test_a_dryer_of_its_own_begins_like_the_others(demo):
    document = changed(demo, lists.add_machine(demo, "options[1]"))
    assert [m["hopper"] for m in document["options"][0]["machines"]] == ["Machine 1", "Machine 3", "Machine 2"]
    before, after = compare(build(demo)).baseline, compare(build(document)).baseline
    assert after.total_cost == pytest.approx(before.total_cost, rel=1e-12)


def test_a_message_speaks_of_inputs_by_the_label_on_the_page():
    said = (
        "none is given; one of specific_power (nameplate), cost (known cost of air) and isentropic_efficiency is needed"
    )
    assert labelled(said) == (
        "none is given; one of “Specific power of the compressor” (nameplate), cost (known cost of air) and “Isentropic "
        "efficiency of the compressor package” is needed"
    )
    assert labelled("'hall_temprature' is no key") == "'hall_temprature' is no key"  # as it was written
    assert labelled("options['a_b'].capital_for") == "options['a_b'].capital_for"


def test_the_slider_says_what_the_hoppers_run_at():
    state = State("demo", lambda _, work: None)
    inputs = Inputs(state)
    inputs.refresh()
    hint = "Moving it puts every hopper at one load."
    assert inputs.form.find("load")["hint"] == f"{hint} Now the levels of the case; their mean is shown."
    state.set_load(0.6)
    inputs.refresh()
    assert inputs.form.find("load")["hint"] == f"{hint} Now every hopper has this one."
    state.set_load(1.0)
    inputs.refresh()
    assert inputs.form.find("load")["hint"] == hint


def test_what_stands_there_has_its_capital_behind_it_and_undo_is_one_step():
    state = State("one-machine", lambda _, work: None)
    path, scenario = "options['Desiccant wheel']", {"name": "Cheaper wheel", "changes": {}}
    state.set(
        {
            f"{path}.incentive": "2000 USD",
            f"{path}.capital_factor": "110 %",
            f"{path}.capital_for": "90 kg/h",
            "scenarios": [
                {
                    **scenario,
                    "changes": {f"{path}.capital[1].amount": "20000 USD", f"{path}.maintenance": "1000 USD/year"},
                }
            ],
        }
    )
    assert not state.problems
    before, owed = state.document, state.case.model.options[3].capital_total
    shown = Inputs(state)
    state.observe(lambda _: shown.refresh(), "revision")
    shown.refresh()
    form = shown.form
    form.enter("options", "yes", "open")
    form.enter("options[4]", "yes", "open")
    form.enter("options[4]:mark", "", "press")
    assert not state.problems
    base = state.comparison.baseline
    assert (base.name, base.capital, float(base.option.incentive)) == ("Desiccant wheel", 0.0, 0.0)
    assert "capital_for" not in state.document["options"][3]
    assert state.document["scenarios"] == [{**scenario, "changes": {f"{path}.maintenance": "1000 USD/year"}}]
    assert f"Its capital of {owed:,.0f} USD is spent" in state.notice
    # The new twin tower's extra capital is now all of its own.
    other = state.comparison.option("New twin tower")
    assert other.measures.cash_flow[0] == pytest.approx(-other.capital)
    assert form.find("options[4].capital")["hint"] == "None: it stands there."
    state.undo()
    assert state.document == before


def test_a_new_option_has_neither_price_nor_upkeep_and_the_form_says_what_the_answer_says():
    state = State("one-machine", lambda _, work: None)
    shown = Inputs(state)
    state.observe(lambda _: shown.refresh(), "revision")
    shown.refresh()
    form = shown.form
    form.enter("options", "yes", "open")
    form.enter("options:kind", "desiccant-rotating-beds", "value")
    form.enter("options:add", "", "press")
    new = f"options[{len(state.document['options'])}]"
    assert form.find(f"{new}.capital")["hint"].startswith("None given: not ranked")
    assert form.find(f"{new}.maintenance")["hint"].startswith("None given: counted as 0")
    name = state.document["options"][-1]["name"]
    assert name not in [o.name for o in state.comparison.ranked()]
    assert f"Upkeep is not given for {name} and counts as 0" in " ".join(sentences(state.comparison))
    form.enter(f"{new}.maintenance", "0", "value")
    assert form.find(f"{new}.maintenance")["hint"] == ""


def test_a_load_about_to_be_chosen_is_worked_out_ahead_and_changes_nothing(monkeypatch):
    state = State("demo", lambda _, work: None)
    inputs = Inputs(state)
    inputs.refresh()
    before = state.document, state.comparison, state.revision, state.undoable, state.notice
    inputs.form.enter("load", "57", "ahead")
    inputs.form.enter("load", "570", "ahead")
    assert (state.document, state.comparison, state.revision, state.undoable, state.notice) == before
    run = []

    def counted(machines, calendar):
        run.extend(machines)
        return machines_alike.run_years(machines, calendar)

    monkeypatch.setattr("energy.study.run.run_years", counted)
    inputs.form.enter("load", "57")
    assert state.load == pytest.approx(0.57, rel=1e-5)
    assert not run
    told = {o.name: o.specific_energy for o in state.comparison.options}
    inputs.form.enter("load", "56")
    assert len(run) == 41
    assert {o.name: o.specific_energy for o in state.comparison.options} != told


def test_a_retrofit_is_added_of_the_present_dryers_and_follows_their_type(demo):
    added = changed(demo, lists.add_retrofit(demo))
    retrofit = put(added, {}).options[-1]
    assert (retrofit.name, retrofit.retrofit, retrofit.capital) == ("Present dryers, changed", True, ())
    assert [m.type for m in retrofit.machines] == [m.type for m in put(demo, {}).options[0].machines]
    place = len(added["options"])
    filled = changed(
        added, {f"options[{place}].inputs": {"insulation_thickness": "60 mm", "regeneration_temperature": "260 degC"}}
    )
    other = put(filled, lists.set_type(filled, "options[1]", "hot-air"))  # of all but those with dryers of their own
    assert other.options[-1].type == "hot-air"
    assert other.options[-1].inputs.insulation_thickness == 0.06
    assert (
        put(filled, lists.arrange(filled, 0, "central") | lists.set_type(filled, "options[1]", "desiccant-wheel"))
        .options[-1]
        .arrangement
        == "central"
    )


def test_a_hopper_with_its_own_dryer_needs_no_portable_one(demo):
    """Four hoppers, of which one has a dryer of its own: three portable dryers at most."""
    own = {"hopper": "Machine 4", "type": "desiccant-wheel"}
    place = next(i for i, row in enumerate(lists.rows(demo, "options"), start=1) if row["name"] == "Portable wheels")
    some = changed(demo, {f"options[{place}].machines": [own], f"options[{place}].units": 4})
    assert lists.fit_portables(some) == {f"options[{place}].units": ("Portable wheels", 4, 3)}
    assert lists.fit_portables(changed(demo, {f"options[{place}].units": 4})) == {}


def test_dryers_beside_a_central_system_are_told_with_its_sizes(demo):
    own = {"hopper": "Machine 4", "type": "desiccant-wheel"}
    names = ("Central wheel, variable speed", "Portable wheels")
    found = compare(build(changed(demo, {f"options['{name}'].machines": [own] for name in names}), file="demo"))
    system, portable = (where_from._of_machines(found.option(name), "blower", "si") for name in names)
    assert re.fullmatch(r"Machine 1, Machine 2, Machine 3 [\d.]+ kW \+ Machine 4 [\d.]+ kW = [\d.]+ kW", system)
    assert re.fullmatch(r"3 dryers of the largest size, [\d.]+ kW \+ Machine 4 [\d.]+ kW = [\d.]+ kW", portable)
    parts = [float(number) for number in re.findall(r"([\d.]+) kW", portable)]
    assert 3 * parts[0] + parts[1] == pytest.approx(parts[2], rel=0.01)
