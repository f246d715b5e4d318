"""A reading that no dryer like this one can have is in no figure, and what is told rests on the others, or on nothing."""

from __future__ import annotations

import json

import pytest

from dashboards import walkthrough_cards as cards
from energy.reports import walkthrough as report
from energy.reports.beside_model import beside_the_model
from energy.reports.walkthrough_json import to_json
from energy.study.case import load_case
from energy.walkthrough.baseline import readings_from
from energy.walkthrough.walk import walk

CASE = load_case("demo")


def demo(**changes):
    """The demo's first dryer, 57.6 kg/h of PC weighed, with readings changed, or taken out where None is given."""
    taken = {**CASE.document["readings"][0], **changes}
    return walk(CASE, readings_from({name: value for name, value in taken.items() if value is not None}))


def alone(**read):
    return walk(CASE, readings_from({"hopper": "Machine 1", **read}))


def everything(made) -> str:
    told = (report.to_text(made, "si"), cards.figures(made, "si"), cards.brief(made, "si", stale=False))
    return " ".join([*told, cards.power(made), cards.heat(made.balance.hopper), cards.findings(made)])


@pytest.mark.parametrize(
    "power",
    # 5,200 A at 400 V and 1 are 3,600 kW of three phases.
    [{"power": "3600 kW"}, {"current": "5000 A", "voltage": "400 V", "power_factor": "100 %"}],
)
def test_a_power_in_watts_gives_no_result_of_its_own(power):
    made, without = demo(**power), demo()
    assert made.balance.specific_energy == without.balance.specific_energy
    assert made.year.cost == without.year.cost
    assert [cause.name for cause in made.causes] == [cause.name for cause in without.causes]
    said = everything(made)
    # 3,600 kW over 57.6 kg/h are 62,500 Wh/kg.
    assert not any(figure in said for figure in ("62,500", "62,4", "2,420,000", "60,1"))
    assert "In no figure until it is checked: electrical power. The figures rest on what else was read." in said
    [row] = [report.gap_row(gap, "si") for gap in made.gaps if gap.name == "power"]
    assert row[1].startswith("3,")
    assert row[3].endswith("the most it can take: check it")
    kept = json.loads(to_json(made))
    assert kept["specific_energy_Wh_per_kg"] == json.loads(to_json(without))["specific_energy_Wh_per_kg"]
    assert [(one["reading"], one["left_out"]) for one in kept["to_check"]] == [(next(iter(power)), True)]
    assert kept["rests_on_nothing_read"] is False


def test_where_nothing_else_was_read_that_is_said_plainly():
    made = alone(power="3600 kW")
    said = "In no figure until it is checked: electrical power. Nothing else was read: the figures are the model's."
    assert said in report.headline(made, "si")
    assert said.replace("'", "&#x27;") in cards.figures(made, "si")
    assert json.loads(to_json(made))["rests_on_nothing_read"] is True
    assert made.year.cost == alone().year.cost


def test_of_two_that_cannot_be_both_are_left_out():
    made = demo(power="3600 kW", duct_diameter="1000 mm")
    assert {doubt.name for doubt in made.doubts} == {"power", "air_flow"}
    assert {*made.balance.found.aside} == {"power", "air_flow"}
    none = demo(air_velocity=None, duct_diameter=None, velocity_in=None)
    assert made.balance.specific_energy == none.balance.specific_energy


def test_what_it_hid_is_told_once_it_is_left_out():
    # 576 kg/h would need more than 22 kW by themselves: beside them 200 kW are held against nothing.
    made = demo(weighed_mass="96 kg", power="200 kW")
    assert {*made.balance.found.aside} == {"throughput", "power"}


@pytest.mark.parametrize(
    "read",
    [
        {"weighed_mass": "2.4 kg"},  # a quarter of it: a slow day or a slip, which can be
        {"weighed_mass": "19.2 kg"},  # twice of it
        {"power": "14 kW"},  # twice of it, as with a second dryer on the meter
    ],
)
def test_what_can_be_is_in_the_figures(read):
    assert not demo(**read).balance.found.aside


def test_a_meter_that_cannot_be_is_not_beside_the_model_in_a_request():
    document = {**CASE.document["readings"][0], "power": "3600 kW"}
    kept = CASE.with_({"readings": [document]})
    assert beside_the_model(kept, "si") == []
    assert beside_the_model(CASE.with_({"readings": [{**document, "power": "9 kW"}]}), "si") != []
