"""A case counts in another currency: nothing is converted, every amount is marked, and what is to be done is said."""

from __future__ import annotations

import re
import tomllib

import pytest

from dashboards.bill_state import State as BillState
from dashboards.compare import View
from dashboards.currency import MARK, change_currency, still
from dashboards.inputs import Inputs
from dashboards.state import State
from energy.errors import EnergyError
from energy.study.case import build
from energy.tariffs import tariff_from

FLAT = """
name = "Verde"
commodity = "electricity"
currency = "BRL"
source = "contract"

[[charges]]
type = "energy-flat"
id = "energy"
label = "Energy"
clause = "1"
source = "contract"
price = "0.55 BRL/kWh"
"""


@pytest.fixture
def state():
    return State("one-machine")


def test_amounts_keep_their_numbers_and_are_marked(state):
    state.set({"tariffs.electricity": "0.12 USD/kWh"})
    change_currency(state, "brl")
    assert state.problems == ()
    assert state.case.currency == "BRL"
    document = tomllib.loads(state.toml().decode())
    assert re.findall(r'= "[^"]*\d USD[^"]*"', state.toml().decode()) == []
    old, new = document["options"][0]["maintenance"], document["options"][1]["capital"][0]
    # The example has 3600 USD/year, low 3000 and high 5000, read from work orders; and 19500 USD for dryer and hopper.
    assert (old["value"], old["low"], old["high"]) == ("3600 BRL/year", "3000 BRL/year", "5000 BRL/year")
    assert old["basis"] == "assumption"
    assert old["note"] == f"{MARK}: the number stood in USD; work orders of the last two years"
    assert (new["amount"]["value"], new["amount"]["note"]) == ("19500 BRL", f"{MARK}: the number stood in USD")
    prices = {row["name"]: row["charges"][0]["price"] for row in document["own_tariffs"]}
    assert prices[f"Electricity, {MARK}"] == "0.12 BRL/kWh"
    assert document["tariffs"]["electricity"] == f"Electricity, {MARK}"
    assert set(prices) == {f"{name}, {MARK}" for name in ("Electricity", "Gas", "Cooling")}
    build(document)


def test_the_mean_price_has_the_demand_charge_in_it(state):
    state.set({"tariffs.electricity": "0.12 USD/kWh"})
    state.set({"tariffs.electricity_demand": "7.3 USD/kW/month"})
    change_currency(state, "EUR")
    # 7.3 a month over 8760/12 = 730 h: 0.01 per kWh more
    assert state.document["own_tariffs"][0]["charges"][0]["price"] == "0.13 EUR/kWh"
    assert "electricity_demand" not in state.document["tariffs"]


def test_the_notice_says_that_nothing_is_converted_and_undo_takes_it_back(state):
    before, total = state.document, state.comparison.options[0].total_cost
    change_currency(state, "R$")
    assert "Nothing was converted" in state.notice
    assert "Until then no sum of money here is right" in state.notice
    assert "the price of electricity, gas and cooling" in still(state.document)
    state.undo()
    assert state.document == before
    assert state.comparison.options[0].total_cost == total
    assert still(state.document) == ""


def test_what_was_put_in_is_no_longer_asked_for(state):
    change_currency(state, "BRL")
    count = int(re.search(r"(\d+) amounts", still(state.document))[1])
    state.set({"options[1].maintenance": "18000 BRL/year"})
    assert f"{count - 1} amounts" in still(state.document)
    state.set({"tariffs.electricity": "0.55 BRL/kWh"})
    assert "the price of gas and cooling" in still(state.document)
    # Once more: what is known by now is of the new currency, what is not still of the first.
    change_currency(state, "EUR")
    document = state.document
    assert document["options"][0]["maintenance"]["note"] == f"{MARK}: the number stood in BRL"
    assert document["options"][1]["capital"][0]["amount"]["note"] == f"{MARK}: the number stood in USD"


def test_scenarios_tell_it_in_their_names(state):
    scenario = {"name": "dear power", "changes": {"tariffs.electricity": "0.20 USD/kWh"}}
    state.set({"scenarios": [scenario, {"name": "warm", "changes": {"hoppers[1].throughput": "50 kg/h"}}]})
    change_currency(state, "BRL")
    assert state.document["scenarios"][0] == {
        "name": f"dear power, {MARK}",
        "changes": {"tariffs.electricity": "0.20 BRL/kWh"},
    }
    assert state.document["scenarios"][1]["name"] == "warm"


def test_what_cannot_be_changed_stays_as_it_is(state):
    before = state.document
    for typed in ("", "Reais of Brazil", "12"):
        with pytest.raises(EnergyError, match="is not a currency"):
            change_currency(state, typed)
    state.set({"hoppers[1].throughput": "ninety"})
    with pytest.raises(EnergyError, match="cannot be computed as it is now"):
        change_currency(state, "BRL")
    state.undo()
    assert state.document == before
    change_currency(state, "usd")
    assert state.document == before


def test_the_panel_has_a_field_for_it_and_marks_what_is_to_be_put_in(state):
    inputs = Inputs(state)
    inputs.unfold("more-prices")
    assert inputs.form.find("case.currency")["value"] == "USD"
    inputs.form.enter("case.currency", "money")
    assert "is not a currency" in inputs.form.find("case.currency")["problem"]
    inputs.form.enter("case.currency", "BRL")
    assert inputs.form.find("case.currency")["problem"] == ""
    assert state.case.currency == "BRL"
    for fold in [part["id"] for part in inputs.form.walk() if part["kind"] == "fold"]:
        inputs.unfold(fold)
    hints = [part.get("hint", "") for part in inputs.form.walk()]
    assert [hint for hint in hints if hint.startswith("Still to be put in: the number stood in USD")]
    view = View(state)
    assert "Still to be put in, in BRL" in view._other.value


def test_a_tariff_in_another_currency_is_refused_with_what_to_do(state):
    bill = BillState("one-machine")
    assert bill.upload_tariff("verde.toml", FLAT.encode()) == ""
    bill.use_tariff()
    said = bill.problems["tariff"]
    assert said.startswith(
        "'Verde' is in BRL, the case in USD, and nothing is converted. First change Currency on Compare"
    )
    assert 'write currency = "BRL" under [case]' in said
    bill.swap.choose(bill.swap.options()[0])
    bill.swap.ask(bill.tariff)
    assert bill.swap.problem == said
    assert not bill.swap.waiting
    inputs = Inputs(state)
    inputs.unfold("more-prices")
    inputs.form.upload("own-tariff", "verde.toml", FLAT.encode())
    part = next(part for part in inputs.form.walk() if part["id"] == "own-tariff")
    assert part["problem"] == said


def test_after_the_change_the_tariff_is_taken():
    bill = BillState("one-machine")
    change_currency(bill.behind, "BRL")
    assert bill.upload_tariff("verde.toml", FLAT.encode()) == ""
    bill.use_tariff()
    assert "tariff" not in bill.problems
    assert bill.case.tariffs["electricity"] == tariff_from(tomllib.loads(FLAT))
    bill.swap.choose(bill.swap.options()[0])
    bill.swap.ask(bill.tariff)
    assert bill.swap.problem == ""
    assert bill.swap.made is not None
