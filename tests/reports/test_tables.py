"""The comparison as JSON and as text: keys that scripts rely on, words that people read."""

from __future__ import annotations

import json
import re

import pytest
from cases import AIR, HOPPER, HOT, MEMBRANE, NEW, PRESENT, WHEEL, alone, case, resin

import energy
from energy.reports.answer import sentences
from energy.reports.inputs import register
from energy.reports.inputs import to_text as inputs_text
from energy.reports.tables import describe, to_dict, to_json, to_text
from energy.study.case import build, load_case
from energy.study.compare import CAUTIONS, compare
from energy.study.simulate import simulate

TOP = {"case", "version", "duty", "currency", "resins", "answer", "options", "cautions"}
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


def test_the_duty_in_the_json_is_the_cases(plain):
    assert plain["version"] == energy.__version__
    duty = plain["duty"]
    wanted = {
        "throughput_kg_h": 90,
        "hall_temperature_c": 24,
        "hall_dew_point_c": 12,
        "dampest_month_dew_point_c": 12,
        "production_h": 6000,
        "standby_h": 0,
        "starts": 0,
    }
    assert duty == pytest.approx(wanted, rel=1e-9)
    (hopper,) = plain["hoppers"]
    assert (hopper.pop("name"), hopper.pop("resin")) == ("Machine 7", "PC")
    of_hopper = {
        "throughput_kg_h": 90,
        "running": 1,
        "drying_temperature_c": 120,
        "residence_h": 4,
        "initial_moisture_ppm": 2000,
    }
    assert hopper == pytest.approx(of_hopper, rel=1e-9)


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
    paid, alone_ = (float(v) for v in re.fullmatch(r"([\d.]+) \(([\d.]+)\)", cells[-1]).groups())
    assert paid == pytest.approx(option.measures.simple_payback, abs=0.05)
    assert alone_ == pytest.approx(option.measures.payback_on_savings, abs=0.05)
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
    assert table[-2].startswith(HOT)
    assert " fail " in table[-2]
    assert table[-2].endswith(" -")  # no payback is held out
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


def test_sizes_in_us_units_are_the_same_machines(demo):
    def rows(system):
        lines = to_text(demo, system).split("\nHow big")[1].splitlines()
        rule = next(i for i, line in enumerate(lines) if line and set(line) == {"-"})
        table = [re.split(r" {2,}", line) for line in lines[rule + 1 : rule + 1 + len(demo.options)]]
        return lines[1:rule], {name: [float(c.replace(",", "")) if c != "-" else None for c in r] for name, *r in table}

    # hopper m3 -> ft3, air m3/h -> cfm, three powers in kW, desiccant kg -> lb, compressed air m3/min -> cfm
    foot = 0.3048**3
    factors = [1 / foot, 1 / 60 / foot, 1, 1, 1, 1 / 0.45359237, 1 / foot]
    (_, si), (heads, us) = rows("si"), rows("us")
    assert set(us) == {o.name for o in demo.options}
    assert re.findall(r"ft3|acfm|lb|cfm|kW", heads[1]) == ["ft3", "acfm", "kW", "kW", "kW", "lb", "cfm"]
    for name, cells in us.items():
        for here, there, factor in zip(cells, si[name], factors, strict=True):
            assert (here is None) == (there is None)
            if here is not None:  # rounded to 0.5 of the last digit shown, of whole numbers and of hundredths
                assert here == pytest.approx(there * factor, rel=0.006, abs=0.6 if factor != 1 else 0.0)
    assert us[AIR][6] == pytest.approx(demo.option(AIR).operation.sizing["compressed_air"].max() * 60 / foot, abs=0.6)


def test_end_uses_in_us_units(demo):
    row = next(
        x for x in to_text(demo, "us").split("Where the energy goes, Wh/lb")[1].splitlines() if x.startswith(NEW)
    )
    *uses, total, minimum = map(float, re.split(r" {2,}", row)[1:])
    assert sum(uses) == pytest.approx(total, abs=0.05 * (len(uses) + 1))
    assert minimum == pytest.approx(demo.option(NEW).minimum_energy / 3600 * 0.45359237, abs=0.05)


def test_a_tariff_is_described_by_its_prices(demo):
    tariffs = demo.case.tariffs
    assert describe(tariffs["electricity"]) == "90 USD a month fixed + 0.115 USD/kWh + 13 USD/kW/month"
    assert describe(tariffs["gas"]) == "60 USD a month fixed + 8.50 USD/MMBtu"
    assert describe(tariffs["cooling"]) == "0.03 USD/kWh"
    single = case(PRESENT, NEW, changes={"tariffs.electricity": "0.14 USD/kWh", "tariffs.cooling": "2 USD/GJ"}).tariffs
    assert describe(single["electricity"]) == "0.14 USD/kWh"
    assert describe(single["cooling"]) == "0.0072 USD/kWh"  # 2 USD/GJ x 0.0036 GJ/kWh


@pytest.mark.parametrize("failing", [HOT, "Infrared drum"])
def test_no_money_is_held_out_for_what_does_not_dry(demo, failing):
    lines = to_text(demo, "si").splitlines()
    heads = next(line for line in lines if line.startswith("option"))
    row = next(line for line in lines if line.startswith(failing))
    start = heads.index("savings USD")
    new = next(line for line in lines if line.startswith(NEW))
    assert new[start : start + 11].strip() == f"{demo.option(NEW).measures.npv:,.0f}"
    assert row[start : start + 11].strip() == ""
    assert row.endswith(" -")
    assert demo.option(failing).measures.npv != 0.0


def test_the_answer_keeps_the_present_machine_where_nothing_better_passes():
    said = sentences(compare(case(PRESENT, AIR)))
    assert said[0].startswith("Keep the present twin tower: over 10 years it costs least of the options that pass")
    assert len(said) == 1


def test_the_answer_is_the_cheapest_that_passes_and_names_a_cheaper_one_in_doubt():
    comparison = compare(case(PRESENT, NEW, "Vacuum", changes={"options['Vacuum'].capital": "20000 USD"}))
    doubtful, best = comparison.option("Vacuum"), comparison.option(NEW)
    assert doubtful.life_cycle_cost < best.life_cycle_cost
    assert [o.name for o in comparison.ranked()] == [NEW, PRESENT, "Vacuum"]
    first, second = sentences(comparison)
    assert first.startswith(f"Lowest life-cycle cost of the options that pass every check for PC: {NEW}, ")
    less = float(f"{best.life_cycle_cost - doubtful.life_cycle_cost:.3g}")
    stay, surely = (getattr(doubtful.verdict.moisture, key) / 3600 for key in ("residence", "needed_surely"))
    assert second == (
        f"Vacuum would cost {less:,.0f} USD less over 10 years, but may not dry it: "
        f"see its check of predicted moisture. Vacuum is given {stay:.2g} h; about {surely:.2g} h would reach the target "
        "at the slow end of the diffusion data too."
    )


def test_where_none_passes_for_sure_the_answer_says_so():
    changes = {f"options['{MEMBRANE}'].baseline": True}
    comparison = compare(case(AIR, MEMBRANE, changes=changes))
    first, second = sentences(comparison)
    surely = comparison.option(AIR).verdict.moisture.needed_surely / 3600
    assert first.startswith(f"Lowest life-cycle cost of the options that may dry PC, none for sure: {AIR}, ")
    assert second == (
        f"With caution: see its checks of dew point and predicted moisture. {AIR} is given 4 h; about {surely:.2g} h "
        "would reach the target at the slow end of the diffusion data too."
    )


def test_where_every_best_estimate_misses_no_saving_is_held_out():
    comparison = compare(case(NEW, WHEEL, changes={f"options['{NEW}'].baseline": True, **resin("PA66")}))
    first, second = sentences(comparison)
    moisture = comparison.option(NEW).verdict.moisture
    assert moisture.target < moisture.predicted < comparison.option(WHEEL).verdict.moisture.predicted
    left = 1e6 * moisture.predicted / (1 + moisture.predicted)
    assert first == (
        "No option is expected to dry PA66 to 1,500 ppm as the case is set. "
        f"Nearest is {NEW} with about {left:,.0f} ppm."
    )
    assert f"the target takes about {moisture.needed / 3600:.2g} h on the best estimate" in second
    assert "USD" not in first + second
    row = next(line for line in to_text(comparison, "si").splitlines() if line.startswith(NEW))
    assert row.removeprefix(NEW).split()[0] == "unlikely"


def test_payback_is_told_with_and_without_the_replacements_spared(demo):
    """The cash flow of the demo's new twin tower by hand: capital over the first years' running savings."""
    measures = demo.option(NEW).measures
    savings = [a - b for a, b in zip(measures.cash_flow, measures.streams["replacements"], strict=True)]
    owed, years = -savings[0], 0.0
    for saved in savings[1:]:
        years += min(1.0, owed / saved)
        owed = max(0.0, owed - saved)
    assert measures.payback_on_savings == pytest.approx(years, rel=1e-9)
    assert f"with the replacements spared ({years:.1f} years on running cost alone)" in sentences(demo)[0]
    told = to_dict(demo)["options"][1]
    assert told["payback_without_replacements_years"] == pytest.approx(years, rel=1e-9)


def test_own_values_of_a_resin_are_named():
    own = compare(case(PRESENT, NEW, changes={f"{HOPPER}.own_resin": {"target_moisture": "150 ppm"}}))
    assert "options that pass every check for PC (own values)" in sentences(own)[0]
    assert "PC (own values) at 90 kg/h" in to_text(own, "si")


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


def test_the_prices_stand_below(demo):
    text = to_text(demo, "si")
    assert "electricity: Flat electricity (invented): 90 USD a month fixed + 0.115 USD/kWh + 13 USD/kW/month" in text
    assert "load-unload control" in text


def test_where_nothing_pays_back_in_time_the_answer_begins_with_that():
    soon, late = (
        compare(case(PRESENT, NEW, WHEEL, changes={"finance.maximum_payback": t})) for t in ("5 year", "1 year")
    )
    assert sentences(soon)[0].startswith("Lowest life-cycle cost")
    assert sentences(late)[0].startswith("No option pays back within the 1.0 years accepted. Lowest life-cycle cost")
    assert sentences(late)[0].endswith("longer than that.")


def test_the_word_for_a_verdict_is_in_the_json():
    plant = compare(load_case("demo"))
    words = {o["name"]: (o["dries"], o["dries_word"]) for o in to_dict(plant)["options"]}
    assert words["Vacuum"] == ("caution", "unlikely")
    assert words["Hot air, gas-fired"] == ("fail", "fail")
    assert "On the best estimate the target is missed by Vacuum." in sentences(plant)


def test_a_twin_of_the_present_dryer_changes_no_bill():
    document = load_case("one-machine").document
    twin = {**document["options"][0], "name": "Twin", "baseline": False}
    found = compare(build({**document, "options": [document["options"][0], twin]}))
    assert "The bills stay as they are with Twin." in to_text(found, "si")


def test_an_option_without_capital_is_not_ranked_and_one_that_costs_nothing_is():
    name = f"options['{WHEEL}'].capital"
    found = compare(case(PRESENT, NEW, WHEEL, changes={name: None}))
    assert [o.name for o in found.ranked()] == [NEW, PRESENT]
    assert f"Not ranked, since it has no capital yet (0 where it costs nothing): {WHEEL}." in sentences(found)
    row = next(line for line in to_text(found, "si").splitlines() if line.startswith(WHEEL))
    assert "no price" in row
    assert {o["name"]: o["priced"] for o in to_dict(found)["options"]}[WHEEL] is False
    assert [o.name for o in simulate(found.case, 32).options] == [PRESENT, NEW]
    free = compare(case(PRESENT, NEW, WHEEL, changes={name: "0 USD"}))
    assert free.ranked()[0].name == WHEEL


def test_where_minutes_more_would_turn_the_answer_they_stand_in_it():
    """PBT for 3.5 h: the present dryer just reaches 300 ppm, new ones at a dew point a little wetter just miss it."""
    wetter = {f"options['{name}'].inputs.dew_point_approach": "14 K" for name in (NEW, WHEEL)}
    found = compare(case(PRESENT, NEW, WHEEL, changes={**resin("PBT", residence_time="3.5 h"), **wetter}))
    assert {o.name: o.verdict.word for o in found.options} == {PRESENT: "caution", NEW: "unlikely", WHEEL: "unlikely"}
    said = " ".join(sentences(found))
    assert said.startswith(f"Keep the {PRESENT[0].lower()}{PRESENT[1:]}")
    assert f"{NEW} would cost 37,500 USD less over 10 years, but is not expected to dry it" in said
    assert "is given 3.5 h; the target takes about 3.7 h on the best estimate" in said
