"""The register of inputs: value, unit, basis and source of each, and what is starred."""

from __future__ import annotations

import re

import pytest
from cases import NEW, PRESENT, case

from energy.reports.inputs import register
from energy.reports.inputs import to_text as inputs_text
from energy.study.case import load_case
from energy.study.compare import compare


@pytest.fixture(scope="module")
def demo():
    return compare(case())


@pytest.fixture(scope="module")
def entries(demo):
    return {e.path: e for e in register(demo.case)}


def test_every_input_has_a_value_a_basis_and_what_is_stored_a_source(entries):
    for entry in entries.values():
        assert entry.value
        assert entry.basis
        if entry.basis not in ("given", "default", "measured", "nameplate", "quoted"):
            assert entry.source, entry.path


def test_values_are_shown_as_written_with_their_range(entries):
    throughput = entries["hoppers['Machine 7'].throughput"]
    assert throughput.value == "90 kg/h (80 kg/h to 100 kg/h)"
    assert (throughput.basis, throughput.source, throughput.assumed) == ("measured", "weighed over one shift", False)
    assert entries["options['Present twin tower'].maintenance"].value.startswith("3600 USD/year")
    assert entries["options['Present twin tower'].inputs.motor_class"].value == "IE1"


def test_what_was_read_at_a_present_dryer_stands_there_with_its_range():
    path = f"options['{PRESENT}'].delivered_dew_point"
    value = {"value": "-5 degC", "low": "-7.3 degC", "high": "-2.7 degC", "basis": "measured", "note": "at the lid"}
    plain, read = ({e.path: e for e in register(case(PRESENT, changes=of))} for of in ({}, {path: value}))
    assert path not in plain
    entry = read[path]
    assert (entry.label, entry.value) == ("Dew point of the air into the hopper", "-5 degC (-7.3 degC to -2.7 degC)")
    assert (entry.basis, entry.source, entry.assumed) == ("measured", "at the lid", False)


def test_what_nobody_measured_is_starred(entries):
    assert entries["site.hall_dew_point"].assumed
    assert entries["compressed_air.line_leak_share"].assumed
    stored = entries["options['New twin tower'].inputs.insulation_thickness"]
    assert stored.assumed
    assert stored.basis == "common practice"
    assert "mineral-wool" in stored.source
    assert entries["resin PC.bulk_density"].assumed
    diffusivity = entries["resin PC.diffusivity"]
    assert (diffusivity.basis, diffusivity.assumed) == ("read", False)
    assert "polycarbonates" in diffusivity.source


def test_prices_are_inputs_too(entries):
    price = entries["tariff electricity.energy.price"]
    assert (price.value, price.basis, price.assumed) == ("0.115 USD/kWh", "invented", True)
    assert price.source == "Flat electricity (invented): Monthly rate, item 2"
    assert entries["tariffs.gas"].value == "flat-gas"
    single = {e.path: e for e in register(case(PRESENT, NEW, changes={"tariffs.electricity": "0.14 USD/kWh"}))}
    assert single["tariffs.electricity"].value == "0.14 USD/kWh"
    assert not [path for path in single if path.startswith("tariff electricity")]
    water = case(
        PRESENT,
        NEW,
        changes={"tariffs.water": "5 USD/m3", "cooling": {"medium": "tower water"}, "tariffs.cooling": None},
    )
    assert not [e.path for e in register(water) if e.path.startswith("tariff water")]


def test_a_value_of_the_hopper_takes_the_place_of_the_resins(entries):
    assert entries["hoppers['Machine 7'].residence_time"].value == "4 h"
    assert "resin PC.residence_time" not in entries
    assert "resin PC.initial_moisture" in entries


def test_a_sum_in_place_of_capital_lines_is_given_not_assumed():
    of = case(
        PRESENT, NEW, changes={f"options['{NEW}'].capital": {"value": "9 USD", "basis": "quoted", "note": "offer 3"}}
    )
    entry = next(e for e in register(of) if e.path == f"options['{NEW}'].capital[1].amount")
    assert (entry.value, entry.basis, entry.source, entry.assumed) == ("9 USD", "quoted", "offer 3", False)


def test_the_printed_register_stars_exactly_what_is_assumed(demo, entries):
    text = inputs_text(demo.case)
    lines = text.splitlines()
    assert lines[0] == "case.toml: valid. Example moulding shop, machine 7 (invented)"
    for entry in entries.values():
        mark = "*" if entry.assumed else " "
        assert any(line.startswith(f"{mark} {entry.path} ") and entry.value in line for line in lines)
    starred = sum(line.startswith("* ") for line in lines)
    assert starred == sum(e.assumed for e in entries.values())
    assert f"{len(entries)} inputs, {starred} of them assumed or taken from stored typical values" in text


def test_a_us_case_is_listed_in_us_units():
    text = inputs_text(case(PRESENT, NEW, changes={"case.units": "us"}))
    assert "120 degC = 248 °F" in text
    assert "90 kg/h = 198.4 lb/h" in text


def test_the_register_has_emission_factors_and_names_what_money_is_for(entries):
    gas, power = entries["factors.gas_emission_factor"], entries["factors.electricity_emission_factor"]
    assert (gas.value, gas.assumed) == ("53.06 kg/MMBtu", True)  # 40 CFR 98, Table C-1
    assert (power.value, power.assumed) == ("0.373 kg/kWh", True)  # eGRID2022
    assert "eGRID2022" in power.source
    own = {e.path: e for e in register(case(PRESENT, NEW, changes={"finance.electricity_emission": "0.1 kg/kWh"}))}
    assert "factors.electricity_emission_factor" not in own
    assert own["finance.electricity_emission"].value == "0.1 kg/kWh"
    assert entries[f"options['{NEW}'].capital[1].amount"].source == "Dryer and hopper"
    assert entries[f"options['{NEW}'].capital[2].amount"].source == "Installation"
    assert entries[f"options['{PRESENT}'].replacements[1].amount"].source == "Overhaul: valves, desiccant, heater"


def test_a_dryer_that_differs_keeps_its_path_and_names_its_hopper():
    of = {e.path: e for e in register(load_case("demo"))}
    first, second = (of[f"options['Present dryers'].machines[{i}].built_for"] for i in (1, 2))
    assert (first.hopper, second.hopper) == ("Machine 1", "Machine 3")
    assert of["options['Present dryers'].machines[2].inputs.motor_class"].hopper == "Machine 3"
    assert of["options['Present dryers'].maintenance"].hopper == ""
    assert "options['Present dryers'].machines[2].built_for " in inputs_text(load_case("demo"))


def test_the_part_of_a_line_of_capital_says_what_it_is_for():
    of = {e.path: e for e in register(load_case("demo"))}
    part = of["options['Twin towers, new'].capital[2].part"]
    assert (part.label, part.value, part.source) == ("what it pays for", "installation", "Installation")


def test_stored_values_of_a_resin_are_in_the_readers_units():
    """By hand: 120 degC are 248 degF, 2.5 mm are 0.09843 in."""
    told = {
        system: {e.path: e.value for e in register(case(changes={"case.units": system}))} for system in ("si", "us")
    }
    limit, diameter = "resin PC.drying_temperature_limit", "resin PC.pellet_diameter"
    celsius = float(told["si"][limit].split(" ")[0])
    assert told["us"][limit] == f"{celsius * 1.8 + 32:.4g} °F"
    length, low, high = (float(part) for part in re.findall(r"[\d.]+", told["si"][diameter]))
    assert told["us"][diameter] == f"{length / 25.4:.4g} ({low / 25.4:.4g} to {high / 25.4:.4g}) in"
