"""What a first year under old peaks is worth, what nothing is left of, and when the discounted money is back: by hand."""

from __future__ import annotations

import numpy as np
import pytest
from cases import NEW, PRESENT, WHEEL, case

from energy.finance import CashFlow
from energy.study.compare import compare
from energy.study.cost import RunningCost
from energy.study.life_cycle import against_baseline, late_saving, measures_of, owned, residual

PEAKS = [{"month": m, "energy": "200 MWh", "peak": "900 kW" if m == 7 else "450 kW"} for m in range(1, 13)]
WEEKDAYS = ["mon", "tue", "wed", "thu", "fri"]
HELD = {  # 80 % of July's peak is billed in the other months
    "calendar.production_hours": None,
    "calendar.shifts": [{"name": "day", "days": WEEKDAYS, "start": "06:00", "end": "22:00"}],
    "tariffs.electricity": "time-of-use-electricity",
    "tariffs.power_factor": "90 %",
    "plant_load": {"months": PEAKS},
    "finance.rate": "8 %",
}


@pytest.mark.parametrize(
    ("finance", "kept", "years"),
    [
        ({}, 1.0, 1.0),
        ({"finance.timing": "mid"}, 1.0, 0.5),
        ({"finance.tax": {"rate": "25 %", "depreciation": "first-year"}}, 0.75, 1.0),
    ],
)
def test_a_late_saving_is_what_net_savings_miss_of_two_life_cycle_costs(finance, kept, years):
    of = compare(case(PRESENT, NEW, changes={**HELD, **finance}))
    option = of.option(NEW)
    late = late_saving(of.case, option.measures)
    saving = option.savings["electricity"]
    first = float(saving.first_year - saving.steady) * 1.01**years  # electricity rises by 1 % a year in the example
    assert first < -1.0
    assert late == pytest.approx(kept * first / 1.08**years, rel=1e-9)
    assert option.measures.npv - late == pytest.approx(of.baseline.life_cycle_cost - option.life_cycle_cost, rel=1e-9)


def test_without_a_ratchet_no_saving_is_late():
    of = compare(case(PRESENT, NEW))
    assert late_saving(of.case, of.option(NEW).measures) == 0.0


def test_nothing_is_left_of_what_has_no_life_stated():
    """By hand: 15 years of life leave a third of the equipment after ten; without a life nothing is left."""
    changes = {f"options['{NEW}'].capital": [{"item": "Dryer", "amount": "20000 USD"}], f"options['{NEW}'].life": 15}
    option = case(PRESENT, NEW, changes=changes).model.options[1]
    assert float(residual(option, np.asarray(20000.0), 10)) == pytest.approx(20000.0 / 3.0)
    assert float(residual(option.model_copy(update={"life": None}), np.asarray(20000.0), 10)) == 0.0


@pytest.mark.parametrize("rate", [0.0, 0.08, 0.15])
def test_discounted_money_is_back_when_its_sum_is(rate):
    changes = {
        f"options['{NEW}'].capital": "9000 USD",
        f"options['{NEW}'].replacements": [],
        "finance.rate": f"{100 * rate} %",
    }
    changes[f"options['{PRESENT}'].replacements"] = []
    measures = compare(case(PRESENT, NEW, changes=changes)).option(NEW).measures
    flow = measures.cash_flow - measures.streams["residual"]
    back = np.cumsum(flow * (1.0 + rate) ** -np.arange(flow.size))
    assert 1.0 < measures.discounted_payback < 10.0
    before, after = int(np.floor(measures.discounted_payback)), int(np.ceil(measures.discounted_payback))
    assert back[before] <= 0.0 < back[after]
    if rate == 0.0:
        assert measures.discounted_payback == pytest.approx(measures.payback)
    else:
        assert measures.discounted_payback > measures.payback


def test_only_what_is_paid_more_than_for_the_present_dryers_is_invested():
    """By hand: 12,000 for the new beside 5,000 that the present ones ask anyway."""
    capital = {f"options['{NEW}'].capital": "12000 USD", f"options['{PRESENT}'].capital": "5000 USD"}
    of = compare(case(PRESENT, NEW, changes=capital))
    measures = of.option(NEW).measures
    assert measures.streams["capital"][0] == pytest.approx(-7000.0)
    saving = of.baseline.total_cost - of.option(NEW).total_cost
    assert measures.capital_over_saving == pytest.approx(7000.0 / saving, rel=1e-9)
    flow = CashFlow(streams=measures.streams)
    assert measures_of(of.case, flow, 1400.0).capital_over_saving == pytest.approx(5.0)
    assert np.isnan(measures_of(of.case, flow).capital_over_saving)


@pytest.mark.published(
    "ASTM E1057, adjusted internal rate of return", where="(1 + r) SIR^(1/N) - 1", quoted="from memory"
)
def test_the_adjusted_rate_of_return_follows_from_the_ratio_of_savings():
    measures = compare(case(PRESENT, NEW, changes={"finance.rate": "8 %"})).option(NEW).measures
    assert measures.airr == pytest.approx(1.08 * measures.sir ** (1.0 / 10.0) - 1.0, rel=1e-9)


def test_another_capital_than_an_options_own_is_paid_and_left():
    """By hand: 30,000 in place of what is stated; of 15 years of life a third is left after ten."""
    changes = {f"options['{NEW}'].capital": [{"item": "Dryer", "amount": "20000 USD"}], f"options['{NEW}'].life": 15}
    of = case(PRESENT, NEW, changes=changes)
    cost = RunningCost(annual={}, by_end_use={}, lines=())
    own, other = (owned(of, of.model.options[1], cost, capital) for capital in (None, np.asarray(30000.0)))
    assert (float(own.capital), float(other.capital)) == (20000.0, 30000.0)
    assert (float(own.residual), float(other.residual)) == pytest.approx((20000.0 / 3.0, 10000.0))


def test_a_table_of_ones_own_for_depreciation_is_taken():
    """By hand: all of the cost in the first year is what is called first-year; half and half comes a year later in part."""
    tax = {"rate": "25 %", "depreciation": "own", "table": [0.5, 0.5]}
    changes = {f"options['{NEW}'].capital": "12000 USD", "finance.tax": tax}
    streams = compare(case(PRESENT, NEW, changes=changes)).option(NEW).measures.streams
    relief = streams["depreciation"]
    assert relief[relief != 0.0] == pytest.approx([0.25 * 6000.0] * 2)


def test_each_option_has_its_own_capital_over_saving_with_what_is_given_to_it():
    """By hand: 14,000 less 2,000 and 10,000 less nothing beside 4,000 of the present ones, over what each saves."""
    costs = {NEW: ("14000 USD", "2000 USD", 8000.0), WHEEL: ("10000 USD", "0 USD", 6000.0)}
    changes = {f"options['{PRESENT}'].capital": "4000 USD"}
    for name, (capital, given, _) in costs.items():
        changes |= {f"options['{name}'].capital": capital, f"options['{name}'].incentive": given}
    of = compare(case(PRESENT, NEW, WHEEL, changes=changes))
    for name, (*_, paid) in costs.items():
        saving = of.baseline.total_cost - of.option(name).total_cost
        assert of.option(name).measures.capital_over_saving == pytest.approx(paid / saving, rel=1e-9)


def bought_for(capital, saving):
    """A cash flow of ten years of one saving, without tax, replacements or anything left."""
    first, none = np.arange(11) == 0, np.zeros(11)
    streams = {"capital": -capital * first, "electricity": saving * ~first}
    return CashFlow(streams={**streams, "incentive": none, "replacements": none, "residual": none})


def test_why_discounted_money_is_not_back_names_the_rate():
    """By hand: 1,000 a year for ten years are worth 4,192 at 20 % a year, 42 % of 10,000; without interest all is back."""
    of = case(PRESENT, NEW, changes={"finance.rate": "20 %", "finance.years": 10})
    measures = measures_of(of, bought_for(10_000.0, 1000.0))
    assert measures.payback == pytest.approx(10.0)
    assert measures.payback_note == ""
    assert np.isnan(measures.discounted_payback)
    assert measures.discounted_payback_note == (
        "not within the study period of 10 years at a discount rate of 20 %: what is saved and spared returns 42 % of the outlays"
    )


def test_where_more_is_paid_for_less_nothing_is_at_once():
    """By hand: 5,000 less to buy and 900 less a year is at once; 5,000 more to buy is not, nor is what costs more to run."""
    of = case(PRESENT, NEW, changes={"finance.rate": "8 %", "finance.years": 10})

    def at_once(capital, saving):
        return measures_of(of, bought_for(capital, saving), saving).at_once

    assert at_once(-5000.0, 900.0) == {"payback", "payback_on_savings", "discounted_payback", "capital_over_saving"}
    assert at_once(5000.0, 900.0) == set()
    assert "capital_over_saving" not in at_once(-5000.0, -100.0)


def test_over_the_year_savings_come_half_a_year_sooner_and_what_is_bought_does_not():
    """By hand, 1,000 a year in the middle of each: the rate of return and the discounted payback of the sum they are worth at 10 %."""
    of = case(PRESENT, NEW, changes={"finance.rate": "10 %", "finance.years": 10, "finance.timing": "mid"})
    in_ten, in_four = (sum(1000.0 * 1.1 ** -(year - 0.5) for year in range(1, n + 1)) for n in (10, 4))
    assert measures_of(of, bought_for(in_ten, 1000.0)).irr == pytest.approx(0.10, abs=1e-9)
    assert measures_of(of, bought_for(in_four, 1000.0)).discounted_payback == pytest.approx(4.0, abs=1e-6)
    # 1,500 are back in the middle of the second year, at whose end 300 are spent: 200 of the money stay.
    spent = np.zeros(11)
    spent[2] = -300.0
    flow = CashFlow(streams={**bought_for(1500.0, 1000.0).streams, "replacements": spent})
    assert measures_of(of, flow).payback == pytest.approx(1.5)


def test_why_there_is_no_rate_of_return_is_told():
    """5,000 spent and nothing saved has none; 5,000 that come back twice have one and no remark."""
    of = case(PRESENT, NEW, changes={"finance.rate": "10 %", "finance.years": 10})
    never, twice = (measures_of(of, bought_for(5000.0, saving)) for saving in (0.0, 1000.0))
    assert np.isnan(never.irr)
    assert never.irr_note.startswith("no ")
    assert np.isfinite(twice.irr)
    assert twice.irr_note == ""


def test_an_incentive_is_taxed_as_the_case_says():
    """By hand: a quarter of 2,000 as income; where it lowers the basis instead no stream taxes it."""
    changes = {f"options['{NEW}'].capital": "12000 USD", f"options['{NEW}'].incentive": "2000 USD"}
    taxed = {"rate": "25 %", "depreciation": "first-year"}

    def tax(**more):
        of = compare(case(PRESENT, NEW, changes={**changes, "finance.tax": {**taxed, **more}}))
        return of.option(NEW).measures.streams.get("tax on incentive", np.zeros(11)).sum()

    assert tax(incentive="income") == pytest.approx(-500.0)
    assert tax(incentive="untaxed") == 0.0
    assert tax() == 0.0


def test_a_first_year_under_old_peaks_is_in_the_flow_of_one_option_against_another():
    """By hand: 400 less in the first year, at prices 1 % up."""
    of = case(PRESENT, NEW, changes={"finance.escalation_electricity": "1 %", "finance.delay": "0 year"})
    present, new = of.model.options
    none = RunningCost(
        annual=dict.fromkeys(("electricity", "gas", "water", "maintenance"), np.zeros(())), by_end_use={}, lines=()
    )
    flow = against_baseline(of, new, none, present, none, {"electricity": np.asarray(-400.0)})
    assert flow.streams["ratchet"] == pytest.approx([0.0, -404.0, *[0.0] * 9])
