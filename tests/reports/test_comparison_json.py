"""The comparison as JSON: keys that scripts rely on, sums, and what does not exist."""

from __future__ import annotations

import json

import pytest
from cases import AIR, HOT, PRESENT, alone, case, resin

import energy
from energy.reports.comparison_json import to_json
from energy.study.compare import CAUTIONS, compare

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
    "incentive",
    "cash_flow",
    "npv",
    "irr",
    "irr_note",
    "simple_payback_years",
    "capital_over_saving_years",
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
    assert [hopper.pop(key) for key in ("name", "resin", "stored_resin")] == ["Machine 7", "PC", "PC"]
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
    assert worse["simple_payback_years"] is worse["capital_over_saving_years"] is None
    assert "pays back" in worse["payback_note"]


def test_moistures_are_ppm_of_wet_resin(plain):
    for option in plain["options"]:
        assert option["moisture"]["target_ppm"] == pytest.approx(200.0, rel=1e-12)


def test_what_money_is_counted_after_is_named():
    tax = {"rate": "25 %", "depreciation": "own", "table": ["60 %", "40 %"], "incentive": "untaxed"}
    terms = {"tax": tax, "inflation": "2.5 %", "timing": "mid", "delay": "0.5 year", "capital_year": 1}
    changes = {f"finance.{key}": value for key, value in terms.items()}
    found = json.loads(to_json(compare(case(PRESENT, HOT, changes=changes))))["finance"]
    assert found["tax"] == {
        "rate": 0.25,
        "depreciation": "own",
        "life_years": None,
        "table": [0.6, 0.4],
        "incentive": "untaxed",
    }
    assert found["after_tax"] is True
    assert (found["inflation"], found["timing"], found["delay_years"], found["capital_year"]) == (0.025, "mid", 0.5, 1)
    plain = json.loads(to_json(compare(case(PRESENT, HOT))))["finance"]
    assert plain["tax"] is None
    assert plain["after_tax"] is False
