"""The last values that are allowed, what holds where nothing is said, and the words for what cannot be."""

from __future__ import annotations

import numpy as np
import pytest

from energy.errors import OutOfRangeError, UnknownNameError
from energy.finance import (
    Tax,
    cash_flow,
    conventions,
    current_money,
    discounted_payback,
    irr_note,
    life_cycle_cost,
    nominal_rate,
    npv,
    payback_note,
    real_rate,
    residual_value,
    simple_payback,
    uniform_present_value,
)


def test_the_shortest_study_and_the_last_year_are_allowed():
    flow = cash_flow(years=1, capital=100.0, savings={"gas": 30.0}, replacements={1: 5.0}, capital_year=1)
    assert flow.flows == pytest.approx([0.0, 30.0 - 5.0 - 100.0])
    # Bought at the very end, nothing of it is used; a life that ends within a year leaves nothing.
    assert residual_value(1000.0, 5.0, 10, installed=10) == 1000.0
    assert residual_value(1000.0, 0.5, 10) == 0.0
    assert residual_value(1000.0, 1.0, 10, installed=10) == 1000.0


@pytest.mark.parametrize("name", ["capital", "residual", "maintenance", "tax on savings"])
def test_a_carrier_is_not_named_like_another_stream(name):
    with pytest.raises(UnknownNameError, match="another stream"):
        cash_flow(years=3, capital=1.0, savings={name: 1.0})


def test_an_incentive_of_the_last_year_is_taxed_in_it():
    given = {"years": 4, "capital": 100.0, "savings": {"gas": 0.0}, "incentive": 10.0}
    tax = Tax(rate=0.3, depreciation="first-year", incentive="income")
    late = cash_flow(**given, capital_year=4, tax=tax).streams["tax on incentive"]
    assert late == pytest.approx([0, 0, 0, 0, -3.0])
    assert cash_flow(**given, tax=tax).streams["tax on incentive"] == pytest.approx([0, -3.0, 0, 0, 0])


def test_where_nothing_is_said_there_is_no_inflation_and_no_lump():
    flows = [-100.0, 30.0, 40.0, 50.0]
    # 10 % on each year's amount, half a year less for what comes over the year.
    grown = [-100.0 * 1.1**-0.0, 30.0 * 1.1**0.5, 40.0 * 1.1**1.5, 50.0 * 1.1**2.5]
    assert current_money(flows, 0.10, timing="mid") == pytest.approx(grown)
    cost = {"rate": 0.05, "capital": 100.0, "annual_costs": {"gas": 10.0}, "years": 3}
    level = 100.0 + 10.0 * (1 / 1.05 + 1 / 1.05**2 + 1 / 1.05**3)
    assert life_cycle_cost(**cost) == pytest.approx(level)
    assert life_cycle_cost(**cost, replacements={2: 8.0}, rate_basis="nominal") == pytest.approx(level + 8.0 / 1.05**2)


def test_life_cycle_cost_takes_the_year_of_the_capital_and_the_basis_of_the_rate():
    cost = {"rate": 0.05, "capital": 100.0, "annual_costs": {"gas": 0.0}, "years": 3}
    assert life_cycle_cost(**cost, capital_year=2) == pytest.approx(100.0 / 1.05**2)
    assert life_cycle_cost(**cost, capital_year=2, rate_basis="nominal", inflation=0.03) == pytest.approx(
        100.0 * 1.03**2 / 1.05**2
    )
    assert life_cycle_cost(**cost, capital_year=2, rate_basis="real", inflation=0.03) == pytest.approx(100.0 / 1.05**2)


@pytest.mark.parametrize(
    ("call", "words"),
    [
        (lambda: real_rate(-1.0, 0.02), "^nominal rate"),
        (lambda: real_rate(0.05, -1.0), "^inflation"),
        (lambda: nominal_rate(-1.0, 0.02), "^real rate"),
        (lambda: nominal_rate(0.05, -1.0), "^inflation"),
        (lambda: current_money([1.0, 1.0], -1.0), "^inflation"),
        (lambda: uniform_present_value(0.05, 5, escalation=-1.0), "^escalation"),
        (lambda: npv(-1.0, [1.0, 1.0]), "^discount rate"),
    ],
)
def test_the_rate_that_cannot_be_is_named(call, words):
    with pytest.raises(OutOfRangeError, match=words):
        call()


def test_shares_of_a_deduction_may_be_nothing_and_a_life_short():
    own = Tax(rate=0.2, depreciation="own", table=[0.0, 0.5, 0.5])
    assert list(own.shares) == [0.0, 0.5, 0.5]
    assert list(Tax(rate=0.2, depreciation="straight-line", life=0.5).shares) == [1.0]
    with pytest.raises(OutOfRangeError):
        Tax(rate=0.2, depreciation="straight-line", life=np.inf)


def test_a_payback_is_the_same_for_one_flow_and_for_a_stack():
    flows = np.array([[-100.0, 60.0, 60.0, -10.0], [-100.0, 10.0, 10.0, 200.0], [-100.0, 50.0, 50.0, 0.0]])
    # 40 are owed after year 1, of 60 in year 2; 80 after year 2, of 200 in year 3; nothing at the end of year 2.
    assert simple_payback(flows) == pytest.approx([1.0 + 40.0 / 60.0, 2.0 + 80.0 / 200.0, 2.0])
    assert discounted_payback(0.0, flows) == pytest.approx(simple_payback(flows))


@pytest.mark.parametrize(
    ("flows", "words"),
    [
        ([-100.0, -1.0, 0.0], "never pays back: the option costs more to run than the baseline"),
        (
            [-100.0, 0.5, 0.5],
            "not within the study period of 2 years: what is saved and spared returns 1 % of the outlays",
        ),
        (
            [-100.0, 5.0, -5.0],
            "not within the study period of 2 years: what is saved and spared returns 5 % of the outlays",
        ),
        (
            [-100.0, 5.0, -6.0],
            "never pays back: over the study the option costs more to run and to keep up than it saves",
        ),
        (
            [-100.0, 50.0, 0.0],
            "not within the study period of 2 years: what is saved and spared returns 50 % of the outlays",
        ),
    ],
)
def test_why_there_is_no_payback(flows, words):
    assert payback_note(flows) == words


@pytest.mark.parametrize(
    ("flows", "words"),
    [
        ([np.nan, 1.0], "no rate of return: an amount of the cash flow is missing or not a number"),
        ([0.0, 0.0], "no rate of return: there is neither an outlay nor a saving"),
        ([0.0, 1.0], "no rate of return: no extra capital is spent, so there is nothing to earn a return on"),
        ([-1.0, 0.0], "no rate of return: the option never saves anything"),
        ([-1.0, 0.5], "the savings do not return the extra capital within the study period, so the rate is negative"),
        ([-1.0, 1.0], ""),
        (
            [1.0, -2.0],
            "money comes in first and is paid back later: the rate is a cost of borrowing, good only when low",
        ),
    ],
)
def test_why_a_rate_of_return_is_missing_or_misleading(flows, words):
    assert irr_note(flows) == words


def said(**settings):
    return " ".join(conventions(**{"rate": 0.05, "years": 10, **settings}))


@pytest.mark.parametrize(
    ("settings", "words"),
    [
        ({}, "over the same 10 years. The discount rate of 5 % is real; all amounts are in constant money of year 0. "),
        ({"inflation": 0.03}, "rate of 5 % is real; all"),
        ({"years": 1}, "over the same 1 year. "),
        ({}, " Yearly amounts fall at the year's end; capital, replacements and residual value fall at the end of "),
        ({"timing": "mid"}, " What is saved or spent over a year counts in its middle; capital, "),
        (
            {"escalation": {"gas": 0.02, "power": 0.01}, "timing": "mid"},
            " above inflation: gas 2 %, power 1 %, other prices stay level; half a year of rise is already in ",
        ),
        (
            {"escalation": {"gas": 0.02}, "rate_basis": "nominal"},
            " a year: gas 2 %, other prices stay level; one rise ",
        ),
        (
            {},
            " Prices of year 0 stay level in constant money of year 0. The residual value is the cost of the equipment times ",
        ),
        ({}, " A payback counts from the base date to the last time the money added up rises to zero; there is none "),
        ({}, " A rate of return is given only where exactly one discount rate "),
        ({}, " The adjusted rate of return puts savings out again at the discount rate; the savings-to-investment "),
        (
            {},
            "ratio counts capital, incentive, replacements and residual value as the investment. All amounts are before",
        ),
    ],
)
def test_conventions_are_sentences_that_fit_together(settings, words):
    assert words in said(**settings)


@pytest.mark.parametrize(
    ("tax", "words"),
    [
        (
            {"depreciation": "macrs-5"},
            "deducted by the half-year table of 5 years in IRS Publication 946, Table A-1, from",
        ),
        (
            {"depreciation": "macrs-7"},
            "deducted by the half-year table of 7 years in IRS Publication 946, Table A-1, from",
        ),
        ({"depreciation": "straight-line", "life": 1.0}, "deducted in equal shares over 1 year, from"),
        ({"depreciation": "first-year"}, "deducted at once in the first year, from"),
        (
            {"incentive": "lowers basis"},
            " An incentive lowers the cost that is deducted and is not taxed. Replacements are",
        ),
        ({"incentive": "income"}, " An incentive is taxed as income a year after it is received and leaves the cost "),
        (
            {"incentive": "untaxed"},
            " An incentive is not taxed and leaves the cost deducted as it is. Replacements are ",
        ),
        ({}, " its year; the tax saved by deductions counts with the investment."),
    ],
)
def test_conventions_of_taxes(tax, words):
    text = said(tax=Tax(**{"rate": 0.25, "depreciation": "first-year", **tax}), inflation=0.02)
    assert words in text
    assert " Deductions are fixed in money and lose worth by 2 % inflation a year. " in text
    nominal = said(tax=Tax(rate=0.25, depreciation="first-year"), inflation=0.02, rate_basis="nominal")
    assert "lose worth" not in nominal
