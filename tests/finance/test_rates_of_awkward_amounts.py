"""Rates of return of amounts many decades apart, of flows that hardly miss a rate, and the whole sentences beside a rate."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.optimize import brentq

from energy.finance import all_rates, irr, irr_note, irr_with_notes
from energy.finance.rate_of_return import irr_notes

multiply = np.polynomial.polynomial.polymul


@pytest.mark.parametrize("share", [1e-16, 1e-18, 1e-30, 1e-100, 1e-250])
@pytest.mark.parametrize("timing", ["end", "mid"])
@pytest.mark.parametrize("place", [0, -1])
@pytest.mark.parametrize("years", [2, 15, 30])
def test_what_rounding_leaves_of_a_sum_takes_no_rate_away(years, place, timing, share):
    """1000 spent and 2000 saved over the years; what is left of a sum is neither an outlay after the last nor a gain before it."""
    flow = np.array([-1000.0, *[2000.0 / years] * years])
    lag = 0.5 if timing == "mid" else 0.0
    expected = brentq(
        lambda r: sum(2000.0 / years / (1 + r) ** (year - lag) for year in range(1, years + 1)) - 1000.0, 0, 9
    )
    left = 1000.0 * share * (1.0 if place == 0 else -1.0)
    with_it = np.array([left, *flow] if place == 0 else [*flow, left])
    if timing == "mid" and place == 0:  # the first amount falls at once, the others in the middle of their years
        expected = brentq(
            lambda r: sum(2000.0 / years / (1 + r) ** year for year in range(1, years + 1)) - 1000.0, 0, 9
        )
    rate, count = irr(with_it, timing=timing)
    assert count == 1
    assert rate == pytest.approx(expected, rel=1e-9)
    assert all_rates(with_it, timing=timing) == pytest.approx([expected], rel=1e-9)
    assert irr_note(with_it, timing=timing) == ""


def test_a_small_amount_that_is_meant_counts():
    # Where x is 70,000.9 the cent of the third year weighs as much as all else: -100 % to five digits.
    near = brentq(lambda x: -1000.0 + 600.0 * x + 700.0 * x**2 - 0.01 * x**3, 0.0, 1.0, xtol=1e-15)
    far = brentq(lambda x: -1000.0 + 600.0 * x + 700.0 * x**2 - 0.01 * x**3, 1.0, 1e5)
    assert irr([-1000.0, 600.0, 700.0, -0.01])[1] == 2
    assert all_rates([-1000.0, 600.0, 700.0, -0.01]) == pytest.approx([1.0 / far - 1.0, 1.0 / near - 1.0], abs=1e-12)
    # One change of sign: however small, it is all that comes back.
    assert irr([-1.0, 0.0, 1e-30])[0] == pytest.approx(1e-15 - 1.0, abs=1e-16)


def test_enormous_rates_over_a_century_overflow_nothing():
    """(1 - 1e5 x)(1 - 1e4 x)(1 + x^88) with x = 1 / (1 + rate): that near -100 % turned round in time."""
    flow = np.zeros(91)
    flow[[0, 1, 2, 88, 89, 90]] = (1.0, -1.1e5, 1e9) * 2
    assert all_rates(flow) == pytest.approx([1e4 - 1.0, 1e5 - 1.0], rel=1e-9)
    assert irr(flow)[1] == 2


def test_rates_are_apart_by_their_share_and_not_by_their_size():
    assert all_rates([-1.0, 1500.0, -500_000.0]) == pytest.approx([499.0, 999.0], rel=1e-9)  # (1 - 500 x)(1 - 1000 x)
    assert all_rates([1e6, -2000.0, 1.0]) == pytest.approx([-0.999], abs=1e-9)  # (x - 1000)^2
    assert all_rates([1.0, -2000.0, 1e6]) == pytest.approx([999.0], rel=1e-6)  # (1 - 1000 x)^2
    assert all_rates([4e6, -6000.0, 2.0]) == pytest.approx([-0.9995, -0.999], abs=1e-9)  # 2 (x - 1000)(x - 2000)


@pytest.mark.parametrize("years", [0, 40])
@pytest.mark.parametrize("x", [0.5, 1.0, 2.0])
def test_a_present_value_that_hardly_misses_zero_has_no_rate(x, years):
    """(1 - x / x0)^2 + 1e-11, with the same again 40 years later: never 0, but 1e-11 of the amounts is all that it misses by."""
    near = np.array([1.0 + 1e-11, -2.0 / x, 1.0 / x**2])
    flow = near if not years else multiply(near, np.eye(1, years + 1)[0] + np.eye(1, years + 1, years)[0])
    rate, count = irr(flow)
    assert (np.isnan(rate), count, all_rates(flow).size) == (True, 0, 0)


def test_rates_are_right_to_the_last_digits_where_amounts_are_decades_apart():
    # (x - 0.04)(x - 0.05)(1 + 1e5 x^2 + 1e-4 x^3), and the like: the last factor is above 0 for every x above 0.
    for roots, rest in (
        ((0.04, 0.05), [1.0, 0.0, 1e5, 1e-4]),
        ((0.1, 2.0), [1.0, 1e-8, 1e6, 1e-6]),
        ((0.0005, 0.5), [1.0, 0.0, 1e4, 1e-3]),
    ):
        flow = multiply(np.polynomial.polynomial.polyfromroots(roots), rest)
        expected = [1.0 / root - 1.0 for root in roots[::-1]]
        assert all_rates(flow) == pytest.approx(expected, rel=1e-10)
        assert irr(flow)[1] == 2


def test_amounts_near_the_end_of_the_number_range_are_those_of_any_other_currency():
    # -1000, 2300, -1320 and the same again after 40 years: 10 % and 20 %; powers of 1 + x^40 are never 0.
    flow = np.zeros(43)
    flow[:3] = flow[40:] = -1000.0, 2300.0, -1320.0
    for scale in (1.0, 1e303, 1e-300):
        assert all_rates(scale * flow) == pytest.approx([0.10, 0.20], abs=1e-9)


def test_flows_that_start_and_end_in_different_years_have_each_their_rate():
    # 10 % in each, and -10 %, read from its end: 0.81 = 0.9 x 0.9.
    flows = [[0.0, 0.0, -100.0, 110.0], [0.0, -100.0, 0.0, 121.0], [-100.0, 110.0, 0.0, 0.0], [0.0, -1.0, 0.0, 0.81]]
    np.testing.assert_allclose(irr(flows)[0], [0.1, 0.1, 0.1, -0.1], rtol=1e-12)


@pytest.mark.parametrize("years", [1, 2, 4, 30, 99, 408])
def test_one_amount_spent_and_one_received_whatever_their_size_and_time(years):
    """(received / spent)^(1 / years) - 1, from 1e-88 to 1e88 times what was spent, also where nothing happens for years before or after."""
    for decades in (*range(-88, 0), *range(1, 89)):
        for before, after in ((0, 0), (3, 0), (0, 80)):
            flow = np.zeros(before + years + 1 + after)
            flow[before], flow[before + years] = -7.434, 7.434 * 10.0**decades
            rate, count = irr(flow)
            assert count == 1
            assert 1.0 + rate == pytest.approx(10.0 ** (decades / years), rel=1e-12, abs=1e-15)


def test_flows_of_any_size_beside_each_other_have_each_their_rate():
    flows = [[-1e200, 1.1e200], [-1e-200, 1.1e-200], [1e-200, -1.2e-200], [-1e-200, 0.9e-200]]
    rates, counts = irr(flows)
    np.testing.assert_allclose(rates, [0.1, 0.1, 0.2, -0.1], rtol=1e-12)
    assert counts.tolist() == [1, 1, 1, 1]


@pytest.mark.parametrize(
    ("flows", "sentence"),
    [
        (
            [1.0, -3.0, 3.0],
            "no rate of return: no discount rate brings the net present value to zero; judge by that value",
        ),
        (
            [-1000.0, 2300.0, -1320.0],
            "2 rates of return (10 %, 20 %), because the cash flow changes sign more than once; "
            "none of them is a measure of merit: use the net present value",
        ),
        (
            [-1.0, 4.0, -4.0],
            "the net present value touches zero at this rate without changing sign; use the net present value",
        ),
    ],
)
def test_whole_sentences_and_amounts_at_the_end_of_the_year_where_nothing_is_said(flows, sentence):
    assert irr_notes([flows]) == irr_with_notes([flows])[1] == [sentence]
    assert irr_note(flows) == sentence


def test_notes_at_mid_year_without_lumps_are_those_of_amounts_spread():
    # By half-years -1000, 2300, 0, -1320: 2300 y = 1000 + 1320 y^3 with y the factor of half a year, 0.51 and 0.99.
    flow = [-1000.0, 2300.0, -1320.0]
    roots = sorted(root.real for root in np.roots([-1320.0, 0.0, 2300.0, -1000.0]) if root.real > 0)
    percent = [f"{100 * (y**-2 - 1):.4g} %" for y in roots[::-1]]
    for note in (irr_notes([flow], timing="mid")[0], irr_with_notes([flow], timing="mid")[1][0]):
        assert note.startswith(f"2 rates of return ({percent[0]}, {percent[1]})")
