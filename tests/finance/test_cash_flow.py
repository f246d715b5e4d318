"""The yearly cash flow: who pays what in which year."""

from __future__ import annotations

import numpy as np
import pytest

from energy.errors import OutOfRangeError, UnknownNameError
from energy.finance import cash_flow, life_cycle_cost, npv, residual_value, uniform_present_value


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
    assert npv(0.07, between.flows, timing=timing) == pytest.approx(baseline - option, rel=1e-12)


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
