"""Readings that a type of dryer cannot have are left out and said to be; advice is worded for the type, and the resin named as the case does."""

from __future__ import annotations

import json

import pytest
from hot_air_read import FITTING, NOT_FITTING, case_of, walked

from dashboards import walkthrough_cards as cards
from energy.reports import walkthrough as report
from energy.reports.walkthrough_json import to_json
from energy.walkthrough.of_type import not_of_type

OF_DESICCANT = {
    "regeneration_temperature": "250 degC",
    "regeneration_cycle": "4 h",
    "regeneration_control": "timer",
    "desiccant_inlet_temperature": "45 degC",
}
SAID = (
    "Left out, since a dryer of this type (hot air) has no desiccant: air into the desiccant, regeneration air into the bed, "
    "bed change to bed change, or one turn, beds changed by."
)
CIRCUIT = ("desiccant", "regeneration", "cooler", "return duct", "whole cycles")


def test_hot_air_has_no_desiccant_to_read_and_says_so():
    made, plain = walked(**FITTING, **OF_DESICCANT), walked(**FITTING)
    assert SAID in report.to_text(made, "si").splitlines()
    assert SAID in cards.verdict(made, "si")
    kept = json.loads(to_json(made))
    assert SAID in kept["notes"]
    assert kept["not_of_this_type"] == dict.fromkeys(
        (
            "desiccant_inlet_temperature",
            "regeneration_temperature",
            "regeneration_cycle",
            "regeneration_control",
        ),
        "desiccant",
    )
    assert made.balance.specific_energy == plain.balance.specific_energy
    assert made.doubts == plain.doubts
    assert "Left out" not in report.to_text(plain, "si")
    assert json.loads(to_json(plain))["not_of_this_type"] == {}


def test_a_dryer_with_desiccant_keeps_them():
    made = walked(case_of("desiccant-twin-tower"), process_temperature="80 degC", **OF_DESICCANT)
    assert "Left out" not in report.to_text(made, "si")
    assert {"regeneration_temperature", "regeneration_cycle"} <= {gap.name for gap in made.gaps}


@pytest.mark.parametrize(
    ("kind", "lacks", "has"),
    [
        ("vacuum", {"return_temperature", "air_velocity", "regeneration_power"}, {"power", "current", "weighed_mass"}),
        ("infrared-drum", {"dew_point", "shell_temperature"}, {"throughput", "hall_temperature"}),
        ("compressed-air", {"blower_pressure", "return_dew_point"}, {"return_temperature", "dew_point"}),
        ("hot-air", {"regeneration_power", "return_dew_point"}, {"blower_pressure", "heater_inlet_temperature"}),
        ("desiccant-wheel", set(), {"regeneration_temperature", "blower_pressure", "return_dew_point"}),
    ],
)
def test_what_each_type_cannot_have(kind, lacks, has):
    assert lacks <= {*not_of_type(kind)}
    assert not has & {*not_of_type(kind)}


def test_a_vacuum_dryer_says_so_of_its_air():
    made = walked(case_of("vacuum"), power="1.2 kW", return_temperature="60 degC")
    said = "Left out, since a dryer of this type (vacuum) has no stream of hot air through a hopper: return air out of the hopper."
    assert said in report.to_text(made, "si").splitlines()


@pytest.mark.parametrize("read", [NOT_FITTING, FITTING, {"process_temperature": "79 degC"}])
def test_advice_at_hot_air_names_nothing_of_a_desiccant_circuit(read):
    text = report.to_text(walked(**read), "si").partition("Cautions")[0]
    assert [word for word in CIRCUIT if word in text.lower()] == []
    assert "Controls, fan" in text


def test_advice_is_worded_for_hot_air():
    text = report.to_text(walked(**NOT_FITTING), "si")
    assert "Air before the heater: Thermocouple in the air before the heater." in text
    assert (
        "Electrical power, mean over an hour or more: Read it again. Clamp power meter on the supply, the mean of an hour or more."
        in text
    )
    rows = [report.power_row(part, "hot-air")[0] for part in walked(**NOT_FITTING).balance.parts]
    assert "Controls, fan" in rows
    assert "Controls, fan" in cards.power(walked(**NOT_FITTING))
    air = walked(process_temperature="79 degC", return_temperature="43 degC", throughput="30 kg/h", power="1.4 kW")
    assert "Air velocity in the return duct" not in cards.next_readings(air, "si")


def test_a_dryer_with_desiccant_keeps_its_words():
    made = walked(case_of("desiccant-twin-tower"), process_temperature="80 degC", power="9 kW")
    text = report.to_text(made, "si")
    assert "Electrical power, mean over whole cycles" in text
    assert "Regeneration blower, controls, fan" in text


def test_the_resin_is_named_as_the_case_names_it():
    [cause] = [c for c in walked(**FITTING).causes if "damp" in c.name]
    assert "accepts up to -20 °C for PA66-GF30." in cause.text
    hot = walked(**{**FITTING, "process_temperature": "240 degC", "return_temperature": "43 degC"})
    assert "PA66-GF30 stands" in " ".join(report.to_check(hot))
