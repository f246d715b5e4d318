"""The comparison as JSON and as text: keys that scripts rely on, words that people read."""

from __future__ import annotations

import json
import re

import pytest
from cases import AIR, HOT, NEW, PRESENT, WHEEL, alone, case, resin

from energy.reports.inputs import register
from energy.reports.inputs import to_text as inputs_text
from energy.reports.tables import to_json, to_text
from energy.study.compare import CAUTIONS, compare

TOP = {"case", "currency", "resins", "options", "cautions"}
OPTION = {
    "name",
    "type",
    "arrangement",
    "baseline",
    "dries",
    "findings",
    "moisture",
    "sizing",
    "energy_kwh",
    "carriers",
    "specific_energy_wh_per_kg",
    "minimum_wh_per_kg",
    "peak_kw",
    "co2_kg",
    "heat_balance_kwh",
    "bill",
    "annual_cost",
    "capital",
    "cash_flow",
    "npv",
    "irr",
    "irr_note",
    "simple_payback_years",
    "discounted_payback_years",
    "sir",
    "airr",
    "life_cycle_cost",
}
WITHIN = {
    "moisture": {"target_ppm", "predicted_ppm", "low_ppm", "high_ppm", "residence_h", "diffusion_h"},
    "sizing": {
        "hopper_m3",
        "airflow_m3_h",
        "process_heater_kw",
        "regeneration_heater_kw",
        "blower_kw",
        "compressed_air_m3_min",
    },
    "carriers": {"electricity_kwh", "gas_kwh", "compressed_air_kwh", "cooling_kwh"},
    "heat_balance_kwh": {"in", "out", "residual"},
    "annual_cost": {"electricity", "gas", "water", "maintenance", "total"},
}


@pytest.fixture(scope="module")
def demo():
    return compare(case())


def loads(text):
    def refuse(constant):
        raise AssertionError(f"{constant} is no JSON")

    return json.loads(text, parse_constant=refuse)


@pytest.fixture(scope="module")
def plain(demo):
    return loads(to_json(demo))


def test_keys_that_scripts_rely_on(plain):
    assert set(plain) >= TOP
    assert plain["resins"] == ["PC"]
    assert plain["currency"] == "USD"
    assert plain["cautions"] == list(CAUTIONS)
    for option in plain["options"]:
        assert set(option) >= OPTION
        for key, keys in WITHIN.items():
            assert set(option[key]) >= keys
        assert option["dries"] in ("pass", "caution", "fail")
        for finding in option["findings"]:
            assert set(finding) == {"check", "value", "limit", "unit", "verdict", "text"}
        for line in option["bill"]:
            assert set(line) == {"line", "clause", "amount"}


def test_sums_in_the_json(plain):
    for option in plain["options"]:
        uses = option["energy_kwh"]
        assert uses["total"] == pytest.approx(sum(v for k, v in uses.items() if k != "total"), rel=1e-12)
        carriers = option["carriers"]
        bought = carriers["electricity_kwh"] + carriers["gas_kwh"] + carriers["compressed_air_kwh"]
        assert bought == pytest.approx(uses["total"], rel=1e-12)
        assert option["specific_energy_wh_per_kg"] == pytest.approx(1000 * bought / (90 * 6000), rel=1e-12)
        balance = option["heat_balance_kwh"]
        assert abs(balance["residual"]) <= 1e-9 * sum(balance["in"].values())
        cost = option["annual_cost"]
        assert cost["total"] == pytest.approx(sum(v for k, v in cost.items() if k != "total"), rel=1e-12)
        assert sum(option["cost_by_end_use"].values()) == pytest.approx(cost["total"], rel=1e-12)


def test_the_baseline_has_no_measures_and_says_why(plain):
    for option in plain["options"]:
        for key in ("cash_flow", "npv", "irr", "simple_payback_years", "discounted_payback_years", "sir", "airr"):
            if option["baseline"]:
                assert option[key] is None
                assert option["irr_note"] == option["payback_note"] == "the baseline itself"
        if not option["baseline"]:
            assert len(option["cash_flow"]) == 11
            assert (option["irr"] is None) == bool(option["irr_note"])
            assert (option["simple_payback_years"] is None) == bool(option["payback_note"])


def test_what_does_not_exist_is_null_never_nan():
    of = loads(to_json(compare(alone(HOT, resin("PP")))))["options"][0]
    assert of["moisture"]["predicted_ppm"] is None
    assert of["moisture"]["diffusion_h"] is None
    worse = loads(to_json(compare(case(PRESENT, AIR))))["options"][1]
    assert worse["simple_payback_years"] is None
    assert "pays back" in worse["payback_note"]


def test_moistures_are_ppm_of_wet_resin(plain):
    for option in plain["options"]:
        assert option["moisture"]["target_ppm"] == pytest.approx(200.0, rel=1e-12)


# ---------------------------------------------------------------- text


def test_the_table_shows_every_option_ranked_and_in_columns(demo):
    text = to_text(demo, "si").splitlines()
    rule = next(i for i, line in enumerate(text) if set(line) == {"-"})
    heads, rows = text[rule - 2 : rule], text[rule + 1 : rule + 10]
    shown = [re.split(r" {2,}", row)[0] for row in rows]
    assert shown[: len(demo.ranked())] == [o.name for o in demo.ranked()]
    assert set(shown[len(demo.ranked()) :]) == {HOT, "Infrared drum"}  # those that do not dry, last
    for word in ("electricity", "gas", "cooling", "peak", "running", "capital", "life-cycle", "savings", "payback"):
        assert any(word in head for head in heads)
    assert "Wh/kg" in heads[1]
    assert all(len(line) <= len(text[rule]) for line in (*heads, *rows))
    new = next(row for row in rows if row.startswith(NEW))
    cells = re.split(r" {2,}", new)
    option = demo.option(NEW)
    assert cells[1] == "pass"
    assert float(cells[2]) == pytest.approx(option.specific_energy / 3600, abs=0.05)
    assert float(cells[7].replace(",", "")) == pytest.approx(option.total_cost, abs=0.5)
    assert float(cells[-1]) == pytest.approx(option.measures.simple_payback, abs=0.05)
    assert next(row for row in rows if row.startswith(PRESENT)).endswith("baseline")


def test_annual_cost_by_line_stands_below(demo):
    text = to_text(demo, "si")
    assert "What a year costs, USD" in text
    row = next(line for line in text.split("What a year costs")[1].splitlines() if line.startswith(HOT))
    numbers = [float(cell.replace(",", "")) for cell in re.split(r" {2,}", row)[1:]]
    cost = demo.option(HOT).annual_cost
    wanted = [cost["electricity"], cost["gas"], cost["water"], cost["maintenance"], demo.option(HOT).total_cost]
    assert numbers == pytest.approx(wanted, abs=0.5)


def test_us_units(demo):
    text = to_text(demo, "us")
    assert "PC at 198.4 lb/h" in text
    assert "Wh/lb" in text
    assert "Wh/kg" not in text
    shown = float(re.split(r" {2,}", next(line for line in text.splitlines() if line.startswith(NEW)))[2])
    assert shown == pytest.approx(demo.option(NEW).specific_energy / 3600 * 0.45359237, abs=0.05)


def test_what_is_in_doubt_is_told_and_cautions_end_the_page(demo):
    text = to_text(demo, "si")
    doubts = text.split("Does it dry?")[1].split("Cautions")[0]
    for option in demo.options:
        assert (f"  {option.name}: {option.verdict.overall}" in doubts) == (option.verdict.overall != "pass")
        for reason in option.verdict.reasons():
            assert f"    - {reason}" in doubts
    assert text.endswith("\n".join(f"  - {c}" for c in CAUTIONS))


def test_an_option_that_fails_stays_in_the_table_last_and_is_not_the_answer():
    humid = {**resin("PA66"), "site.hall_temperature": "28 degC", "site.hall_dew_point": "20 degC"}
    comparison = compare(case(PRESENT, NEW, HOT, changes=humid))
    text = to_text(comparison, "si")
    table = text.split("\n\n")[1].splitlines()
    assert table[-1].startswith(HOT)
    assert " fail " in table[-1]
    assert table[-1].endswith(" -")  # no payback is held out
    told = text.split("\n\n")[2]
    assert told.split(". ")[-1] == f"Not ranked, since it does not dry PA66: {HOT}."
    assert told.count(HOT) == 1
    assert comparison.ranked()[0].name.lower() in told.lower()
    only = compare(alone(HOT, humid))
    assert "None of the options dries PA66 to its target" in to_text(only, "si")


def test_the_answer_names_the_cheapest_its_saving_and_its_payback():
    comparison = compare(case(PRESENT, NEW, WHEEL))
    told = to_text(comparison, "si").split("\n\n")[2]
    best = min((comparison.option(n) for n in (PRESENT, NEW, WHEEL)), key=lambda o: o.life_cycle_cost)
    saving = comparison.baseline.total_cost - best.total_cost
    assert best.name.lower() in told.lower()
    three = f"{float(f'{saving:.3g}'):,.0f} USD"
    assert three in told
    assert f"{best.measures.simple_payback:.1f} years" in told


# ---------------------------------------------------------------- the register of inputs


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


def test_end_uses_add_up_to_the_total(demo):
    lines = to_text(demo, "si").splitlines()
    title = next(i for i, line in enumerate(lines) if line.startswith("Where the energy goes, Wh/kg"))
    rule = next(i for i in range(title, len(lines)) if set(lines[i]) == {"-"})
    for row in lines[rule + 1 : rule + 1 + len(demo.options)]:
        name, *numbers = re.split(r" {2,}", row)
        *uses, total, minimum = map(float, numbers)
        assert sum(uses) == pytest.approx(total, abs=0.05 * (len(uses) + 1))
        assert total == pytest.approx(demo.option(name).specific_energy / 3600, abs=0.05)
        assert minimum < total


def test_sizes_convert(demo):
    def hopper(system, heading):
        lines = to_text(demo, system).splitlines()
        title = next(i for i, line in enumerate(lines) if line.startswith("How big"))
        assert heading in lines[title + 2]
        return float(re.split(r" {2,}", next(line for line in lines[title:] if line.startswith(NEW)))[1])

    # By hand: 90 kg/h for 4 h at 690 kg/m3, a tenth of the hopper not used.
    assert hopper("si", "m3") == pytest.approx(90 * 4 / 690 / 0.9, abs=5e-3)
    assert hopper("us", "ft3") == pytest.approx(90 * 4 / 690 / 0.9 / 0.3048**3, abs=0.05)


def test_the_prices_stand_below(demo):
    text = to_text(demo, "si")
    assert "electricity: Flat electricity (invented): 90 USD a month fixed + 0.115 USD/kWh + 13 USD/kW/month" in text
    assert "load-unload control" in text
