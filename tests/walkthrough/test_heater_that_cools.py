"""Air before the heater that was read hotter than the air into the hopper is asked about and left out."""

from __future__ import annotations

import pytest
from dryer_read import shop, there

from energy.reports import walkthrough as report
from energy.study.readings import Readings
from energy.walkthrough.walk import walk

READ = {
    "hopper": "Machine 7",
    "throughput": "90 kg/h",
    "process_temperature": "120 degC",
    "return_temperature": "66 degC",
    "hall_temperature": "24 degC",
    "air_flow": "190 m3/h at 0 degC",
    "power": "12 kW",
}


def walked(**changed: str):
    return walk(shop(), Readings(**{**READ, **changed}))


def part(made, name: str) -> float:
    return next(term.value for term in made.balance.parts if term.name == name)


@pytest.mark.common_practice("a heater cannot cool")
def test_it_is_in_no_figure_and_asked_about():
    hot, without = walked(heater_inlet_temperature="131 degC"), walked()
    assert {*hot.balance.found.aside} == {"heater_inlet_temperature"}
    assert part(hot, "process heat") == part(without, "process heat") > 0.0
    assert part(hot, "process blower") == part(without, "process blower")
    [told] = report.to_check(hot)
    assert told == (
        "Check the air before the heater: 131 °C is hotter than the air into the hopper (120 °C), and no heater cools. Are they the "
        "wrong way round, or was it read elsewhere or at another moment?"
    )
    [row] = [report.gap_row(gap, "si") for gap in hot.gaps if gap.name == "heater_inlet_temperature"]
    assert row[3] == "hotter than behind the heater: check it"
    assert "Return air cooled too far" not in [cause.name for cause in hot.causes]


def test_both_are_left_out_where_they_fit_the_other_way_round():
    # The case asks for 120 degC.
    made = walked(process_temperature="108 degC", heater_inlet_temperature="119 degC")
    assert {*made.balance.found.aside} == {"heater_inlet_temperature", "process_temperature"}
    [told] = report.to_check(made)
    assert "as if they were the wrong way round" in told


def test_beside_the_set_point_it_is_asked_about_alone():
    read = {name: value for name, value in READ.items() if name != "process_temperature"}
    made = walk(shop(), Readings(**read, heater_inlet_temperature="134 degC"))
    assert {*made.balance.found.aside} == {"heater_inlet_temperature"}
    assert "hotter than the air into the hopper that is asked for (120 °C)" in report.to_check(made)[0]


@pytest.mark.parametrize("before", ["90 degC", "119 degC", "122 degC"])
def test_what_instruments_and_the_hot_duct_explain_counts(before):
    # 1.5 K and 2 K are what the thermocouples may be off.
    assert walked(heater_inlet_temperature=before).balance.found.aside == {}


def test_a_dryer_of_the_model_is_not_asked_about():
    truth = there(shop())
    assert walk(shop(), truth.read()).doubts == ()
