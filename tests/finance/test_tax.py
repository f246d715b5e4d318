"""Depreciation tables and cash flows after tax against published tables, worked examples and hand arithmetic."""

from __future__ import annotations

import numpy as np
import pytest

from energy.errors import OutOfRangeError, UnknownNameError
from energy.finance import (
    Tax,
    cash_flow,
    depreciation_shares,
    discounted_payback,
    irr,
    life_cycle_cost,
    npv,
    simple_payback,
)

PUB_946 = "IRS Publication 946, Table A-1"
MACRS_3 = [0.3333, 0.4445, 0.1481, 0.0741]


def after_tax(**changes):
    given = {"years": 3, "capital": 1000.0, "savings": {"electricity": 400.0}}
    return cash_flow(**(given | changes))


@pytest.mark.published(PUB_946, where="half-year convention, 5 and 7 years", quoted="read in reference table")
def test_printed_tables_add_up_to_the_whole_cost():
    assert depreciation_shares("macrs-5") * 100 == pytest.approx([20, 32, 19.2, 11.52, 11.52, 5.76])
    assert depreciation_shares("macrs-7") * 100 == pytest.approx([14.29, 24.49, 17.49, 12.49, 8.93, 8.92, 8.93, 4.46])
    for method in ("macrs-5", "macrs-7"):
        assert depreciation_shares(method).sum() == pytest.approx(1.0, abs=1e-15)


@pytest.mark.published(
    PUB_946, where="by its rule: 200 % declining balance, half a year first, then straight line", quoted="from memory"
)
@pytest.mark.parametrize(("method", "life"), [("macrs-5", 5), ("macrs-7", 7)])
def test_printed_tables_follow_from_the_rule_they_state(method, life):
    left, shares = 1.0, []
    for year in range(life + 1):
        remaining = life - max(year - 0.5, 0)  # years of recovery left at the start of the year
        share = max(left * 2 / life, left / remaining) * (0.5 if year == 0 else 1.0)
        shares.append(min(share, left))
        left -= shares[-1]
    # The table rounds to 0.01 % and shares out the round-off: 8.92 and 8.93 for 8.925.
    assert depreciation_shares(method) == pytest.approx(shares, abs=1e-4)


@pytest.mark.published(
    PUB_946, where="present value per 1 of cost", quoted="read in reference table; values computed outside the project"
)
@pytest.mark.parametrize(
    ("method", "values"),
    [
        ("macrs-5", [0.811326, 0.773260, 0.738096]),
        ("macrs-7", [0.766112, 0.721450, 0.680959]),
        ("first-year", [0.925926, 0.909091, 0.892857]),
    ],
)
def test_present_value_of_the_deductions(method, values):
    assert npv([0.08, 0.10, 0.12], [0, *depreciation_shares(method)]) == pytest.approx(values, abs=6e-7)


def test_straight_line_and_own_table():
    assert depreciation_shares("straight-line", life=4) == pytest.approx([0.25] * 4)
    assert depreciation_shares("straight-line", life=2.5) == pytest.approx([0.4, 0.4, 0.2])
    assert depreciation_shares("own", table=MACRS_3) == pytest.approx(MACRS_3)


@pytest.mark.published(
    "Engineering economy course note",
    where="-11000, 5 x 3000, salvage 1000, MACRS 3 years, 40 %",
    quoted="read in reference table",
)
def test_course_note_after_tax():
    tax = Tax(rate=0.40, depreciation="own", table=MACRS_3)
    flow = after_tax(years=5, capital=11_000, savings={"all": 3000}, residual=1000, tax=tax).flows
    assert flow == pytest.approx([-11_000, 3266.52, 3755.80, 2451.64, 2126.04, 2400], abs=0.006)
    assert npv(0.09, flow) == pytest.approx(117, abs=0.6)
    assert irr(flow)[0] == pytest.approx(0.0945, abs=6e-5)


@pytest.mark.published(
    "IRS Pub 946, Table A-1, with two textbook exercises that print no answer",
    where="75 000 at 40 % and 1 000 000 at 34 %, 5-year property",
    quoted="read in reference table; answers computed outside the project",
)
def test_after_tax_exercises():
    tax = Tax(rate=0.40, depreciation="macrs-5")
    flow = after_tax(years=6, capital=75_000, savings={"all": 25_000}, tax=tax).flows
    assert npv(0.12, flow) == pytest.approx(8814.00, abs=0.006)
    assert irr(flow)[0] == pytest.approx(0.1628123, abs=6e-8)
    tax = Tax(rate=0.34, depreciation="macrs-5")
    flow = after_tax(years=10, capital=1e6, savings={"all": 450_000}, maintenance=-100_000, tax=tax).flows
    assert flow == pytest.approx([-1e6, 299_000, 339_800, 296_280, 270_168, 270_168, 250_584, *[231_000] * 4])
    assert irr(flow)[0] == pytest.approx(0.25574830, abs=6e-9)
    assert simple_payback(flow) == pytest.approx(3.240295, abs=6e-7)
    assert discounted_payback(0.05, flow) == pytest.approx(3.679773, abs=6e-7)
    assert npv(0.05, flow) == pytest.approx(1_081_085.45, abs=0.006)


def test_tax_is_off_by_default():
    assert set(after_tax().streams) == {
        "capital",
        "incentive",
        "electricity",
        "maintenance",
        "replacements",
        "residual",
    }
    assert after_tax().flows == pytest.approx([-1000, 400, 400, 400])


@pytest.mark.common_practice("written out by hand: cost 1000, incentive 200, 30 %, two equal years")
@pytest.mark.parametrize(
    ("incentive", "flows"),
    [
        ("lowers basis", [-800, 280 + 120, 280 + 120, 280]),
        ("income", [-800, 280 + 150 - 60, 280 + 150, 280]),
        ("untaxed", [-800, 280 + 150, 280 + 150, 280]),
    ],
)
def test_incentive_lowers_the_basis_or_not(incentive, flows):
    tax = Tax(rate=0.30, depreciation="straight-line", life=2, incentive=incentive)
    assert after_tax(incentive=200.0, tax=tax).flows == pytest.approx(flows)


@pytest.mark.common_practice("written out by hand: tax 50 %, four equal years, sold after two")
def test_residual_value_is_taxed_above_the_cost_not_yet_deducted():
    tax = Tax(rate=0.5, depreciation="straight-line", life=4)
    sold = after_tax(years=2, residual=700.0, replacements={1: 60.0}, tax=tax)
    # 500 of 1000 are not yet deducted: 200 of the 700 are a gain.
    assert sold.streams["tax on residual"] == pytest.approx([0, 0, -100])
    assert sold.streams["tax on replacements"] == pytest.approx([0, 30, 0])
    assert sold.flows == pytest.approx([-1000, 200 + 125 - 30, 200 + 125 + 600])
    # Worthless: the 500 are a loss.
    assert after_tax(years=2, tax=tax).streams["tax on residual"] == pytest.approx([0, 0, 250])


@pytest.mark.common_practice("written out by hand: 10 % inflation makes 275 of money of year 1 worth 250")
def test_deductions_lose_worth_by_inflation_only_in_constant_money():
    tax = Tax(rate=0.5, depreciation="straight-line", life=2)
    given = {"capital": 1100.0, "inflation": 0.10, "tax": tax}
    real, nominal = after_tax(**given), after_tax(rate_basis="nominal", **given)
    assert real.streams["depreciation"] == pytest.approx([0, 250, 275 / 1.21, 0])
    assert nominal.streams["depreciation"] == pytest.approx([0, 275, 275, 0])


@pytest.mark.parametrize(("delay", "first"), [(0.0, 1), (0.5, 1), (1.0, 2), (1.75, 2)])
def test_depreciation_starts_in_the_year_of_service_begun(delay, first):
    relief = after_tax(delay=delay, tax=Tax(rate=0.2, depreciation="first-year")).streams["depreciation"]
    assert relief == pytest.approx([200.0 * (year == first) for year in range(4)])


@pytest.mark.parametrize("depreciation", ["macrs-5", "macrs-7", "first-year"])
@pytest.mark.parametrize("delay", [0.0, 2.0])
def test_without_discount_all_that_is_gained_is_taxed_once(depreciation, delay):
    flow = {"years": 7, "capital": 900.0, "savings": {"gas": 300.0}, "replacements": {4: 50.0}, "residual": 120.0}
    before = cash_flow(**flow, delay=delay).flows.sum()
    after = cash_flow(**flow, delay=delay, tax=Tax(rate=0.3, depreciation=depreciation)).flows.sum()
    assert after == pytest.approx(0.7 * before, rel=1e-12)


@pytest.mark.parametrize("timing", ["end", "mid"])
@pytest.mark.parametrize("incentive", ["lowers basis", "income", "untaxed"])
def test_two_life_cycle_costs_after_tax_differ_by_the_present_value_between_them(timing, incentive):
    common = {"years": 6, "timing": timing, "inflation": 0.02, "delay": 0.5}
    common["tax"] = Tax(rate=0.25, depreciation="macrs-5", incentive=incentive)
    present = life_cycle_cost(0.07, 5e3, {"gas": 9e3}, replacements={2: 400.0}, residual=100.0, **common)
    new = life_cycle_cost(0.07, 25e3, {"gas": 4e3}, residual=3e3, incentive=2e3, **common)
    between = cash_flow(
        capital=20e3, savings={"gas": 5e3}, replacements={2: -400.0}, residual=2.9e3, incentive=2e3, **common
    )
    value = npv(0.07, between.flows, timing=timing, at_year_end=between.one_time)
    assert value == pytest.approx(present - new, rel=1e-12)
    assert between.flows == pytest.approx(between.savings + between.investment)


def test_draws_equal_their_scalars():
    capital, rate, delay = np.array([900.0, 1100.0]), np.array([[0.0], [0.21], [0.3]]), np.array([0.0, 1.5])
    tax = Tax(rate=rate, depreciation="macrs-5")
    whole = after_tax(years=4, capital=capital, incentive=90.0, delay=delay, inflation=0.03, tax=tax).flows
    assert whole.shape == (3, 2, 5)
    for i, j in np.ndindex(3, 2):
        tax = Tax(rate=rate[i, 0], depreciation="macrs-5")
        one = after_tax(years=4, capital=capital[j], incentive=90.0, delay=delay[j], inflation=0.03, tax=tax).flows
        assert whole[i, j] == pytest.approx(one, rel=1e-14)


@pytest.mark.parametrize(
    ("arguments", "error", "words"),
    [
        ({"depreciation": "macrs-6"}, UnknownNameError, "did you mean 'macrs-"),
        ({"depreciation": "straight-line"}, OutOfRangeError, "needs a life"),
        ({"depreciation": "macrs-5", "life": 5}, OutOfRangeError, "a life belongs to 'straight-line' and only there"),
        ({"depreciation": "own"}, OutOfRangeError, "needs a table"),
        ({"depreciation": "straight-line", "life": 0}, OutOfRangeError, "must be above 0"),
        ({"depreciation": "straight-line", "life": np.nan}, OutOfRangeError, "must be above 0"),
        ({"depreciation": "own", "table": [0.5, 0.4]}, OutOfRangeError, "these add up to 90 %"),
        ({"depreciation": "own", "table": [1.5, -0.5]}, OutOfRangeError, "none below 0"),
        ({"depreciation": "own", "table": [0.5, np.nan]}, OutOfRangeError, "add up to nan"),
        ({"depreciation": "own", "table": []}, OutOfRangeError, "add up to 0 %"),
        ({"rate": 1.0}, OutOfRangeError, "tax rate must be from 0 to below 100 %"),
        ({"rate": [0.2, -0.1]}, OutOfRangeError, "tax rate must be"),
        ({"incentive": "lower basis"}, UnknownNameError, "did you mean 'lowers basis'"),
    ],
)
def test_what_cannot_be_meant_is_refused(arguments, error, words):
    with pytest.raises(error, match=words):
        Tax(**({"rate": 0.25, "depreciation": "macrs-7"} | arguments))
