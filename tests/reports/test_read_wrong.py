"""What is said with an answer where its figures would be read wrong: level prices, a present dryer that runs cold, what it misses."""

from __future__ import annotations

import pytest
from cases import HOT, NEW, PA, PC, PRESENT, case, plant

from energy.reports.answer import answer, sentences
from energy.reports.comparison_text import to_text
from energy.reports.doubts import present_fails, prices_left_level
from energy.reports.simulation import to_text as simulated
from energy.study.case import load_case
from energy.study.compare import compare
from energy.study.simulate import simulate

NOMINAL = {"finance.rate": "9 %", "finance.rate_basis": "nominal", "finance.inflation": "2 %"}


@pytest.mark.parametrize(
    ("stated", "told"),
    [
        ({}, "no rise is stated for electricity, gas, maintenance, cooling and water:"),
        (
            {"finance.escalation_electricity": "2 %", "finance.escalation_gas": "0 %"},
            "is stated for maintenance, cooling and water:",
        ),
        ({"finance.escalation_other": "0 %"}, "no rise is stated for electricity and gas:"),
    ],
)
def test_prices_that_stay_level_while_money_loses_value_are_told(stated, told):
    rises = dict.fromkeys(("finance.escalation_electricity", "finance.escalation_gas", "finance.escalation_other"))
    made = compare(load_case("one-machine").with_({**rises, **NOMINAL, **stated}))
    (said,) = prices_left_level(made)
    assert told in said
    assert said in sentences(made)
    stated_all = dict.fromkeys(rises, "2 %")
    assert prices_left_level(compare(load_case("one-machine").with_({**NOMINAL, **stated_all}))) == []
    real = {**NOMINAL, **rises, "finance.rate_basis": "real", "finance.inflation": "0 %"}
    assert prices_left_level(compare(load_case("one-machine").with_(real))) == []


ALL = ("electricity", "gas", "other")


@pytest.mark.parametrize(
    ("left", "keys", "fields"),
    [
        ({"other"}, "finance.escalation_other", "“Escalation of maintenance, cooling and water”"),
        (
            {"electricity", "gas"},
            "finance.escalation_electricity and finance.escalation_gas",
            "“Escalation of electricity” and “Escalation of gas”",
        ),
        (
            set(ALL),
            "finance.escalation_electricity, finance.escalation_gas and finance.escalation_other",
            "“Escalation of electricity”, “Escalation of gas” and “Escalation of maintenance, cooling and water”",
        ),
    ],
)
def test_where_to_state_a_price_rise_is_told_by_key_and_on_a_page_by_field(left, keys, fields):
    rises = {f"finance.escalation_{key}": None if key in left else "2 %" for key in ALL}
    made = compare(load_case("one-machine").with_({**rises, **NOMINAL}))
    rest = "(inflation where nothing else is known)."
    assert prices_left_level(made)[0].endswith(f" State it in {keys} {rest}")
    assert f"State it in {fields} under More on money {rest}" in answer(made, page=True)
    assert "finance." not in answer(made, page=True)


def test_a_dryer_that_runs_cold_is_told_beside_its_energy():
    small = f"options['{PRESENT}'].built_for"
    cold = compare(case(changes={small: "30 kg/h"}))
    assert cold.baseline.specific_energy < cold.baseline.minimum_energy
    said = f"{PRESENT} does not warm its resin through: what it takes is less than drying takes"
    assert said in to_text(cold, "si").splitlines()
    assert "does not warm" not in to_text(compare(case()), "si")


def test_every_hopper_that_present_dryers_miss_is_named_once_one_of_them_fails():
    own = {"hopper": "Machine 7", "type": "desiccant-twin-tower"}
    big, small = (
        compare(
            plant(
                PRESENT,
                hoppers=(PC, {**PA, "residence_time": "3.5 h"}),
                **{f"options['{PRESENT}'].machines": [{**own, "built_for": built}]},
            )
        )
        for built in ("90 kg/h", "30 kg/h")
    )
    assert [one.verdict.word for one in big.baseline.served] == ["pass", "unlikely"]
    assert present_fails(big) == []
    assert present_fails(small) == [
        "Not passed today by the present twin tower, whatever is saved: drying temperature, air flow, predicted moisture at Machine 7; "
        "predicted moisture (best estimate) at Machine 8."
    ]


def test_no_money_is_said_of_options_that_are_not_expected_to_dry():
    made = simulate(load_case("one-machine"), draws=32)
    rows = {line[:32].strip(): line[32:].split() for line in simulated(made).splitlines()}
    held_out = {o.name for o in made.comparison.options if o.held_out}
    assert HOT not in held_out
    assert NEW in held_out
    assert rows[HOT][1:] == ["%", *["-"] * 7]  # after the share in which it dries
    assert "-" not in rows[NEW]
