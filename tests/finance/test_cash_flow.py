"""The yearly cash flow: who pays what in which year."""

from __future__ import annotations

import numpy as np
import pytest

from energy.errors import OutOfRangeError, UnknownNameError
from energy.finance import (
    Tax,
    cash_flow,
    current_money,
    life_cycle_cost,
    nominal_rate,
    npv,
    residual_value,
    uniform_present_value,
)


def example(**changes):
    given = {
        "years": 4,
        "capital": 1000.0,
        "savings": {"electricity": 300.0, "gas": -50.0},
        "escalation": {"electricity": 0.10, "maintenance": 0.02},
        "maintenance": 20.0,
        "replacements": {3: 80.0},
        "residual": 70.0,
        "incentive": 150.0,
    }
    return cash_flow(**(given | changes))


@pytest.mark.common_practice("written out by hand; year 1 already escalated once")
def test_each_stream_year_by_year():
    streams = {name: list(amounts) for name, amounts in example().streams.items()}
    assert streams["capital"] == [-1000, 0, 0, 0, 0]
    assert streams["incentive"] == [150, 0, 0, 0, 0]
    assert streams["electricity"] == pytest.approx([0, 330, 363, 399.3, 439.23])
    assert streams["gas"] == [0, -50, -50, -50, -50]
    assert streams["maintenance"] == pytest.approx([0, 20.4, 20.808, 21.22416, 21.6486432])
    assert streams["replacements"] == [0, 0, 0, -80, 0]
    assert streams["residual"] == [0, 0, 0, 0, 70]


def test_sums_of_streams():
    flow = example()
    assert flow.flows == pytest.approx([-850, 300.4, 333.808, 290.52416, 480.8786432])
    assert flow.investment == pytest.approx([-850, 0, 0, -80, 70])
    assert flow.flows == pytest.approx(flow.investment + flow.savings)


@pytest.mark.parametrize("timing", ["end", "mid"])
def test_present_value_of_the_flow_is_the_sum_of_factors(timing):
    flow = example(replacements={}, residual=0.0, timing=timing)

    def factor(rise):
        return uniform_present_value(0.06, 4, rise, timing=timing)

    expected = -850 + 300 * factor(0.10) - 50 * factor(0.0) + 20 * factor(0.02)
    assert npv(0.06, flow.flows, timing=timing) == pytest.approx(expected, rel=1e-12)


@pytest.mark.parametrize("timing", ["end", "mid"])
def test_two_life_cycle_costs_differ_by_the_present_value_between_them(timing):
    common = {"years": 12, "escalation": {"electricity": 0.03, "gas": -0.01}, "timing": timing}
    one = {"maintenance": 900.0, "replacements": {5: 400.0, 10: 400.0}, "residual": 100.0}
    two = {"maintenance": 700.0, "replacements": {10: 2500.0}, "residual": 650.0}
    baseline = life_cycle_cost(0.07, 5_000, {"electricity": 9_000, "gas": 100}, **one, **common)
    option = life_cycle_cost(0.07, 21_000, {"electricity": 4_000, "gas": 2_300}, **two, incentive=1_500, **common)
    between = cash_flow(
        capital=16_000,
        savings={"electricity": 5_000, "gas": -2_200},
        maintenance=200.0,
        replacements={5: -400.0, 10: 2_100.0},
        residual=550.0,
        incentive=1_500,
        **common,
    )
    value = npv(0.07, between.flows, timing=timing, at_year_end=between.one_time)
    assert value == pytest.approx(baseline - option, rel=1e-12)


def test_draws_stand_on_the_leading_axes():
    capital, saving = np.array([900.0, 1000.0, 1100.0]), np.array([[300.0], [400.0]])
    flow = example(capital=capital, savings={"electricity": saving}, escalation={"electricity": capital / 1e4})
    assert flow.flows.shape == (2, 3, 5)
    for i, j in np.ndindex(2, 3):
        one = example(
            capital=capital[j],
            savings={"electricity": saving[i, 0]},
            escalation={"electricity": capital[j] / 1e4},
        )
        assert flow.flows[i, j] == pytest.approx(one.flows, rel=1e-14)


@pytest.mark.common_practice("written out by hand, in money of each year at 5 % inflation")
def test_current_money_year_by_year():
    streams = example(rate_basis="nominal", inflation=0.05, capital_year=1).streams
    assert streams["capital"] == pytest.approx([0, -1050, 0, 0, 0])
    assert streams["incentive"] == pytest.approx([0, 157.5, 0, 0, 0])
    assert streams["electricity"] == pytest.approx([0, 330, 363, 399.3, 439.23])  # its rise holds inflation already
    assert streams["replacements"] == pytest.approx([0, 0, 0, -80 * 1.157625, 0])
    assert streams["residual"] == pytest.approx([0, 0, 0, 0, 70 * 1.21550625])


@pytest.mark.published(
    "10 CFR 436.14(a)",
    where="constant money with a real rate or current money with a nominal rate",
    quoted="read in reference table",
)
@pytest.mark.parametrize("timing", ["end", "mid"])
@pytest.mark.parametrize("incentive", [None, "lowers basis", "income", "untaxed"])
def test_present_value_in_real_terms_is_the_nominal_one_to_a_cent(timing, incentive):
    real, inflation = np.array([0.03, 0.08, 0.05]), np.array([0.023, -0.01, 0.0])
    tax = incentive and Tax(rate=0.25, depreciation="macrs-7", incentive=incentive)
    rises = {"electricity": 0.01, "gas": -0.005, "maintenance": 0.0}
    common = {
        "years": 6,
        "capital": 120_000.0,
        "savings": {"electricity": 31_000.0, "gas": -2_000.0},
        "maintenance": 900.0,
        "replacements": {3: 7_000.0, 5: -4_000.0},
        "residual": 20_000.0,
        "incentive": 15_000.0,
        "timing": timing,
        "inflation": inflation,
        "delay": 1.25,
        "capital_year": 1,
        "tax": tax,
    }
    constant = cash_flow(escalation=rises, rate_basis="real", **common)
    with_inflation = {name: nominal_rate(rise, inflation) for name, rise in rises.items()}
    current = cash_flow(escalation=with_inflation, rate_basis="nominal", **common)
    values = [
        npv(rate, flow.flows, timing=timing, at_year_end=flow.one_time)
        for rate, flow in [(real, constant), (nominal_rate(real, inflation), current)]
    ]
    assert values[0] == pytest.approx(values[1], abs=0.005)
    written = current_money(constant.flows, inflation, timing=timing, at_year_end=constant.one_time)
    assert current.flows == pytest.approx(written, abs=0.005)


def test_current_money_by_hand_and_back():
    assert current_money([-100, 10, 10], 0.1) == pytest.approx([-100, 11, 12.1])
    halves = current_money([-100, 10, 10], 0.21, timing="mid", at_year_end=[0, 0, 4])
    assert halves == pytest.approx([-100, 11, 6 * 1.331 + 4 * 1.4641])
    assert current_money(current_money([-9, 5, 7], 0.04), -0.04 / 1.04) == pytest.approx([-9, 5, 7], rel=1e-14)


@pytest.mark.published(
    "10 CFR 436.16(c), 436.17(b)", where="present value over the study less that over the delay", quoted="read in table"
)
@pytest.mark.parametrize("timing", ["end", "mid"])
def test_a_delayed_start_leaves_out_the_years_before_it(timing):
    flow = example(replacements={}, residual=0.0, incentive=0.0, delay=2, timing=timing)

    def factor(rise):
        whole, before = (uniform_present_value(0.06, n, rise, timing=timing) for n in (4, 2))
        return whole - before

    expected = -1000 + 300 * factor(0.10) - 50 * factor(0.0) + 20 * factor(0.02)
    assert npv(0.06, flow.flows, timing=timing) == pytest.approx(expected, rel=1e-12)


def test_a_year_begun_counts_by_its_share():
    flow = example(delay=[0.0, 1.5], capital_year=1)
    assert flow.streams["gas"] == pytest.approx(np.array([[0, -50, -50, -50, -50], [0, 0, -25, -50, -50]]))
    assert flow.streams["capital"] == pytest.approx([0, -1000, 0, 0, 0])


def test_what_falls_at_once_and_what_is_left_out():
    flow = example(tax=Tax(rate=0.5, depreciation="first-year"))
    assert flow.one_time == pytest.approx([-850, 0, 0, -80 * 0.5, 70 * 0.5])
    kept = flow.without("residual", "replacements")
    assert set(flow.streams) - set(kept.streams) == {
        "residual",
        "tax on residual",
        "replacements",
        "tax on replacements",
    }
    assert kept.flows == pytest.approx(flow.flows - [0, 0, 0, -40, 35])
    with pytest.raises(UnknownNameError, match="did you mean 'residual'"):
        flow.without("residul")


@pytest.mark.published(
    "NIST Handbook 135 (2022), sec. 4.5.3", where="remaining-life method", quoted="read in reference table"
)
def test_residual_value_is_the_unused_share_of_the_service_life():
    assert residual_value(12_000, 15, 10) == pytest.approx(4_000)
    assert residual_value(12_000, 15, 20, installed=15) == pytest.approx(8_000)
    assert residual_value(12_000, [10, 5], 10) == pytest.approx([0, 0])


@pytest.mark.parametrize(
    ("change", "error", "words"),
    [
        ({"years": 0}, OutOfRangeError, "at least 1"),
        ({"replacements": {5: 1.0}}, OutOfRangeError, "year 5 is outside the study period, 1 to 4"),
        ({"replacements": {0: 1.0}}, OutOfRangeError, "year 0 is outside"),
        ({"escalation": {"electrcity": 0.1}}, UnknownNameError, "did you mean 'electricity'"),
        ({"escalation": {"gas": -1.0}}, OutOfRangeError, "escalation of gas"),
        ({"savings": {"capital": 1.0}}, UnknownNameError, "'capital' is not a carrier"),
        ({"savings": {"tax on savings": 1.0}}, UnknownNameError, "is not a carrier"),
        ({"inflation": -1.0}, OutOfRangeError, "inflation = -100 %"),
        ({"delay": [1.0, 4.0]}, OutOfRangeError, "delay must be from 0 to below the study period of 4 years"),
        ({"delay": np.nan}, OutOfRangeError, "delay must be"),
        ({"capital_year": 5}, OutOfRangeError, "year of the capital = 5 is outside the study period, 0 to 4"),
        ({"rate_basis": "nomnal"}, UnknownNameError, "did you mean 'nominal'"),
    ],
)
def test_what_cannot_be_meant_is_refused(change, error, words):
    with pytest.raises(error, match=words):
        example(**change)


@pytest.mark.parametrize("arguments", [(1.0, 0, 10, 0), (1.0, 5, 10, 11), (1.0, 5, 10, -1)])
def test_residual_value_refuses_impossible_years(arguments):
    *first, installed = arguments
    with pytest.raises(OutOfRangeError):
        residual_value(*first, installed=installed)
