"""How a case counts money: prices over the tariff, tax, timing, inflation, delay; each against hand arithmetic."""

from __future__ import annotations

import numpy as np
import pytest
from cases import HOT, PRESENT, case
from cases import NEW as TOWER

import energy
from energy.errors import CaseError
from energy.study.case import load_case
from energy.study.compare import compare
from energy.study.life_cycle import (
    Owned,
    before_or_after_tax,
    conventions,
    flow_against,
    life_cycle_parts,
    replacements,
)

NEW = "Central wheel, variable speed"
RATE = 0.08


@pytest.fixture(scope="module")
def plain():
    return compare(energy.load_case("demo"))


def changed(**finance):
    return compare(energy.load_case("demo").with_({f"finance.{k}": v for k, v in finance.items()}))


def test_a_bill_factor_multiplies_bill_lines_and_savings(plain):
    dearer = compare(energy.load_case("demo").with_({"tariffs.electricity_factor": "150 %"}))
    for before, after in zip(plain.options, dearer.options, strict=True):
        assert after.annual_cost["electricity"] == pytest.approx(1.5 * before.annual_cost["electricity"], rel=1e-12)
        assert after.annual_cost["gas"] == before.annual_cost["gas"]
        assert sum(after.cost_by_end_use.values()) == pytest.approx(after.total_cost, rel=1e-12)
    assert dearer.option(NEW).savings["electricity"].steady == pytest.approx(
        1.5 * plain.option(NEW).savings["electricity"].steady, rel=1e-12
    )


def test_water_is_said_to_rise_with_maintenance():
    rising = energy.load_case("demo").with_({"finance.escalation_other": "3 %"})
    assert any("gas 1 %, maintenance, cooling and water 3 %" in sentence for sentence in conventions(rising))


def test_a_capital_factor_multiplies_capital(plain):
    dearer = compare(energy.load_case("demo").with_({f"options['{NEW}'].capital_factor": "110 %"}))
    assert dearer.option(NEW).capital == pytest.approx(1.1 * plain.option(NEW).capital, rel=1e-12)


def test_net_savings_in_nominal_money_are_those_in_real_money_to_a_cent(plain):
    inflation = 0.03

    def nominal(rate):
        return f"{100 * ((1 + rate) * (1 + inflation) - 1):.12f} %"

    found = changed(
        rate_basis="nominal",
        rate=nominal(RATE),
        inflation="3 %",
        escalation_electricity=nominal(0.01),
        escalation_gas=nominal(0.01),
        escalation_other=nominal(0.0),
    )
    for real, money_of_the_day in zip(plain.options, found.options, strict=True):
        assert money_of_the_day.life_cycle_cost == pytest.approx(real.life_cycle_cost, abs=0.01)
        if real.measures is not None:
            assert money_of_the_day.measures.npv == pytest.approx(real.measures.npv, abs=0.01)


def test_tax_with_the_cost_deducted_at_once(plain):
    # Savings, replacements and residual value lose the tax; the cost saves it one year after it was spent.
    tax = 0.25
    found = changed(tax={"rate": "25 %", "depreciation": "first-year"})
    capital, before = plain.option(NEW).capital, plain.option(NEW).measures.npv
    expected = -capital + tax * capital / (1 + RATE) + (1 - tax) * (before + capital)
    assert found.option(NEW).measures.npv == pytest.approx(expected, rel=1e-12)
    assert {"depreciation", "tax on savings"} <= set(found.option(NEW).measures.streams)
    assert any("after tax at 25 %" in sentence for sentence in conventions(found.case))
    assert "All amounts are before tax." in conventions(plain.case)
    assert [before_or_after_tax(of.case) for of in (plain, found)] == ["before tax", "after tax"]


def test_amounts_in_the_middle_of_the_year_count_half_a_year_more(plain):
    streams = plain.option(NEW).measures.streams
    factors = (1 + RATE) ** -np.arange(11.0)
    rises = {"electricity": 0.01, "gas": 0.01, "water": 0.0, "maintenance": 0.0}
    expected = sum(
        float(flow @ factors) * (((1 + RATE) / (1 + rises[name])) ** 0.5 if name in rises else 1.0)
        for name, flow in streams.items()
    )
    assert changed(timing="mid").option(NEW).measures.npv == pytest.approx(expected, rel=1e-12)


def test_a_ratio_of_savings_after_tax_has_depreciation_in_the_middle_of_its_years():
    # Of the investment only what is spent at once keeps to the year's end; tax saved by depreciation comes over the year.
    tax = {"rate": "25 %", "depreciation": "straight-line", "life": 5}
    measures = changed(timing="mid", tax=tax).option(NEW).measures
    worth = {name: float(flow @ (1 + RATE) ** -np.arange(11.0)) for name, flow in measures.streams.items()}
    once = ("capital", "incentive", "replacements", "residual", "tax on replacements", "tax on residual")
    spent = -sum(worth.pop(name, 0.0) for name in once) - worth.pop("depreciation") * (1 + RATE) ** 0.5
    assert "tax on incentive" not in worth  # the rest is what a year saves, and the tax on that
    saved = sum(worth.values()) * (1 + RATE) ** 0.5
    assert measures.sir == pytest.approx(saved / spent, rel=1e-12)
    assert measures.npv == pytest.approx(saved - spent, rel=1e-12)


@pytest.mark.parametrize("name", [TOWER, HOT])
def test_what_a_life_cycle_cost_adds_up_from(name):
    rises = {"electricity": 0.01, "gas": 0.02, "water": 0.005, "maintenance": 0.005}
    given = {"escalation_electricity": "1 %", "escalation_gas": "2 %", "escalation_other": "0.5 %", "rate": "8 %"}
    own = {"incentive": "1500 USD", "replacements": [{"item": "Seals", "every": 4, "amount": "1000 USD"}], "life": 15}
    own["capital"] = [{"item": "Dryer", "amount": "20000 USD"}]
    changes = {f"finance.{k}": v for k, v in given.items()} | {f"options['{name}'].{k}": v for k, v in own.items()}
    of = compare(case(PRESENT, name, changes=changes))
    option = of.option(name)
    found = life_cycle_parts(of.case, option.option, option.annual_cost)
    running = sum(
        cost * sum(((1 + rises[carrier]) / (1 + RATE)) ** year for year in range(1, 11))
        for carrier, cost in option.annual_cost.items()
    )
    assert found == pytest.approx(
        {
            "capital": 20000.0,
            "running": running,
            "replacements": 1000.0 * (1 / (1 + RATE) ** 4 + 1 / (1 + RATE) ** 8),
            "incentive": -1500.0,
            "value left": -20000.0 * (15 - 10) / 15 / (1 + RATE) ** 10,
        },
        rel=1e-12,
    )
    assert sum(found.values()) == pytest.approx(option.life_cycle_cost, rel=1e-12)


def test_a_year_of_delay_leaves_out_the_first_savings(plain):
    streams, late = (c.option(NEW).measures.streams for c in (plain, changed(delay="1 year")))
    for name in ("electricity", "maintenance"):
        np.testing.assert_allclose(late[name], [0.0, 0.0, *streams[name][2:]], rtol=1e-12)


def test_what_the_present_dryers_ask_is_spared_and_what_is_left_of_them_is_lost():
    """By hand: each stream is that of the new less that of the present, whatever its sign."""
    new, now = (
        Owned(
            capital=np.asarray(capital),
            replacements=spent,
            residual=np.asarray(left),
            incentive=np.asarray(given),
            annual=dict(zip(("electricity", "gas", "water", "maintenance"), map(np.asarray, running), strict=True)),
        )
        for capital, spent, left, given, running in (
            (10_000.0, {3: 200.0, 4: 70.0}, 3000.0, 1500.0, (400.0, 30.0, 2.0, 90.0)),
            (4_000.0, {4: 100.0}, 800.0, 600.0, (1000.0, 50.0, 7.0, 40.0)),
        )
    )
    rises = {f"finance.escalation_{name}": "0 %" for name in ("electricity", "gas", "other")}
    streams = flow_against(case(PRESENT, TOWER, changes={**rises, "finance.delay": "0 year"}), new, now).streams
    assert {name: [float(x) for x in flow[[0, 3, 4, 10]]] for name, flow in streams.items()} == {
        "capital": [-6000.0, 0.0, 0.0, 0.0],
        "incentive": [900.0, 0.0, 0.0, 0.0],
        "electricity": [0.0, 600.0, 600.0, 600.0],
        "gas": [0.0, 20.0, 20.0, 20.0],
        "water": [0.0, 5.0, 5.0, 5.0],
        "maintenance": [0.0, -50.0, -50.0, -50.0],
        "replacements": [0.0, -200.0, 30.0, 0.0],
        "residual": [0.0, 0.0, 0.0, 2200.0],
    }


@pytest.mark.parametrize(
    ("delay", "shares"),
    [
        ("0 year", [0, 1, 0, 0]),
        ("0.25 year", [0, 0.75, 0.25, 0]),
        ("1 year", [0, 0, 1, 0]),
        ("1.5 year", [0, 0, 0.5, 0.5]),
    ],
)
def test_old_peaks_count_in_the_first_year_of_service(delay, shares):
    """A start late in a year leaves part of the twelve months under a ratchet to the next."""
    late = {"delay": delay, "tax": {"rate": "25 %", "depreciation": "first-year"}}
    terms = energy.load_case("demo").with_({f"finance.{key}": value for key, value in late.items()})
    none = dict.fromkeys(("electricity", "gas", "water", "maintenance"), np.zeros(()))
    nothing = Owned(capital=np.zeros(()), replacements={}, residual=np.zeros(()), incentive=np.zeros(()), annual=none)
    streams = flow_against(terms, nothing, nothing, {"electricity": np.asarray(-400.0)}).streams
    expected = [-400.0 * share * 1.01**year for year, share in enumerate(shares)]  # dearer by 1 % a year
    np.testing.assert_allclose(streams["ratchet"], expected + [0.0] * 7, rtol=1e-12, atol=1e-9)
    np.testing.assert_allclose(streams["tax on savings"], -0.25 * streams["ratchet"], rtol=1e-12, atol=1e-9)


@pytest.mark.parametrize(
    ("finance", "said"),
    [
        ({"tax": {"rate": "120 %", "depreciation": "macrs-7"}}, "finance.tax.rate"),
        ({"tax": {"rate": "20 %", "depreciation": "straight-line"}}, "finance.tax"),
        ({"tax": {"rate": "20 %", "depreciation": "own", "table": [0.5, 0.4]}}, "90 %"),
        ({"tax": {"rate": "20 %", "depreciation": "slowly"}}, "macrs-5"),
        ({"capital_year": 20}, "finance.capital_year"),
        ({"delay": "10 year"}, "finance.delay"),
        ({"inflation": "-100 %"}, "finance.inflation"),
        ({"timing": "start"}, "finance.timing"),
    ],
)
def test_terms_that_make_no_sense_are_refused(finance, said):
    with pytest.raises(CaseError, match=said):
        energy.load_case("demo").with_({f"finance.{k}": v for k, v in finance.items()})


def overhauls(every, amount=1000.0, years=10):
    base = energy.load_case("demo").model.options[0]
    entry = base.replacements[0].model_copy(update={"every": np.asarray(every), "amount": np.asarray(amount)})
    return replacements(base.model_copy(update={"replacements": (entry,)}), years)


def test_a_replacement_falls_to_the_nearest_end_of_a_year_and_never_to_the_last():
    assert overhauls(3.0) == {3: 1000.0, 6: 1000.0, 9: 1000.0}
    assert list(overhauls(2.5)) == [2, 5, 7]  # 2.5, 5, 7.5 and 10
    assert list(overhauls(2.4)) == [2, 5, 7]  # 2.4, 4.8, 7.2 and 9.6
    assert overhauls(12.0) == {}


def test_replacements_of_one_year_are_added_up():
    """By hand: 100 every second year and 10 every third; year 6 has both."""
    base = energy.load_case("demo").model.options[0]
    entries = tuple(
        base.replacements[0].model_copy(update={"every": np.asarray(every), "amount": np.asarray(amount)})
        for every, amount in ((2.0, 100.0), (3.0, 10.0))
    )
    spent = replacements(base.model_copy(update={"replacements": entries}), 9)
    assert spent == {2: 100.0, 3: 10.0, 4: 100.0, 6: 110.0, 8: 100.0}


def test_drawn_intervals_fall_each_to_their_own_years():
    spent = overhauls([3.0, 4.6, 12.0], [1000.0, 2000.0, 5.0])
    assert {year: list(amount) for year, amount in spent.items()} == {
        3: [1000.0, 0.0, 0.0],
        5: [0.0, 2000.0, 0.0],
        6: [1000.0, 0.0, 0.0],
        9: [1000.0, 2000.0, 0.0],
    }


def test_a_life_that_ends_within_the_study_is_told_where_nothing_is_bought_again():
    demo = load_case("demo")
    path = "options['Central wheel, variable speed']"

    def told(**changes):
        option = compare(demo.with_({f"{path}.{key}": value for key, value in changes.items()})).option(path[9:-2])
        return [note for note in option.notes if note.check == "years of service"]

    assert told() == []
    again = {"item": "another system", "every": 5, "amount": "90000 USD"}
    assert told(life=5, replacements=[again]) == []
    short = told(life=5)  # a new wheel is no new machine
    assert [note.verdict for note in short] == ["caution"]
    assert "5 years of service end within the 10 years of the study" in short[0].text
    assert short[0].text.endswith("the years after count a saving of a machine that is gone.")
    assert [(note.value, note.limit, note.unit) for note in short] == [(5.0, 10.0, "year")]
    price = compare(demo).option(path[9:-2]).capital
    assert (
        told(life=5, replacements=[{**again, "amount": f"{0.5 * price} USD"}]) == []
    )  # half of it is the machine again
    assert len(told(life=5, replacements=[{**again, "amount": f"{0.49 * price} USD"}])) == 1
    assert told(life=10, replacements=[]) == []
