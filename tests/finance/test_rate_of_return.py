"""Internal rate of return: published flows, known roots, independent libraries, awkward flows."""

from __future__ import annotations

from fractions import Fraction
from itertools import pairwise

import numpy as np
import numpy_financial as npf
import pytest
import pyxirr
from hypothesis import given, settings
from hypothesis import strategies as st

from energy.finance import all_rates, irr, irr_note, irr_with_notes, npv

NPF = "numpy-financial, tests and docstrings"
MACRS_5 = [0.2000, 0.3200, 0.1920, 0.1152, 0.1152, 0.0576]  # IRS Pub 946, Table A-1, half-year


@pytest.mark.published(NPF, where="irr", quoted="read in reference table")
@pytest.mark.parametrize(
    ("flows", "printed", "digit"),
    [
        ([-250000, 100000, 150000, 200000, 250000, 300000], 0.5672303344358536, 1e-15),
        ([-100, 39, 59, 55, 20], 0.28095, 1e-5),
        ([-150000, 15000, 25000, 35000, 45000, 60000], 0.0524, 1e-4),
        ([-100, 0, 0, 74], -0.0955, 1e-4),
        ([-100, 100, 0, 7], 0.06206, 1e-5),
    ],
)
def test_printed_rates(flows, printed, digit):
    rate, count = irr(flows)
    assert count == 1
    assert rate == pytest.approx(printed, abs=0.6 * digit)


@pytest.mark.published(NPF, where="irr", quoted="read in reference table")
@pytest.mark.parametrize(
    ("flows", "printed", "others"),
    [([-100, 100, 0, -7], -0.0833, 1), ([-5, 10.5, 1, -8, 1], 0.0886, 2)],
)
def test_a_printed_rate_that_is_not_the_only_one(flows, printed, others):
    rate, count = irr(flows)
    assert np.isnan(rate)
    assert count == 1 + others
    assert np.abs(all_rates(flows) - printed).min() < 6e-5


@pytest.mark.published(
    "Engineering economy course note",
    where="-11000, 5 x 3000, salvage 1000",
    quoted="read in reference table",
)
def test_course_note_before_and_after_tax():
    assert irr([-11000, 3000, 3000, 3000, 3000, 4000])[0] == pytest.approx(0.1334, abs=6e-5)
    assert irr([-11000, 3266.52, 3755.80, 2451.64, 2126.04, 2400])[0] == pytest.approx(0.0945, abs=6e-5)


@pytest.mark.published(
    "IRS Pub 946, Table A-1, with two textbook exercises that print no answer",
    where="5-year property",
    quoted="read in reference table; answers computed outside the project",
)
def test_after_tax_exercises():
    shield = np.array([0, *MACRS_5]) * 0.40 * 75_000
    six_years = np.array([-75_000, *[25_000 * 0.6] * 6]) + shield
    assert irr(six_years)[0] == pytest.approx(0.1628123, abs=6e-8)
    ten_years = [-1e6, 299000, 339800, 296280, 270168, 270168, 250584, *[231000] * 4]
    assert irr(ten_years)[0] == pytest.approx(0.25574830, abs=6e-9)


@pytest.mark.published(
    "Published lighting example (225 000, saving 40 700 for 15 years)",
    where="internal rate of return printed as 27.05 %",
    quoted="read in reference table; the printed figure is wrong",
)
def test_a_printed_rate_got_by_linear_interpolation_is_wrong():
    flows = [-225_000, *[40_700] * 15]
    rate, _ = irr(flows)
    assert rate == pytest.approx(0.1618198, abs=6e-8)
    assert npv(0.2705, flows) < -70_000  # at the printed rate the present value is far from zero


@pytest.mark.parametrize(
    ("flows", "rates"),
    [
        ([-1000, 2300, -1320], [0.10, 0.20]),
        ([-4000, 25000, -25000], [0.25, 4.0]),
        ([-1000, 6000, -11000, 6000], [0.0, 1.0, 2.0]),
        ([-1, 4, -4], [1.0]),  # touches zero
        ([1, -3, 3], []),  # positive at every rate
        ([0, -1000, 2300, -1320, 0, 0], [0.10, 0.20]),
    ],
)
def test_awkward_flows_with_known_rates(flows, rates):
    rate, count = irr(flows)
    assert count == len(rates)
    assert all_rates(flows) == pytest.approx(rates, abs=1e-9)
    assert np.isnan(rate) if len(rates) != 1 else rate == pytest.approx(rates[0], abs=1e-7)


@pytest.mark.published("numpy-financial issue 44", where="flow of the report", quoted="read in reference table")
def test_flow_on_which_a_library_returned_a_false_rate():
    flows = [-1678.87, 771.96, 1814.05, 3520.30, 3552.95, 3584.99, 4789.91, -1]
    rate, count = irr(flows)
    assert np.isnan(rate)
    assert count == 2
    assert all_rates(flows) == pytest.approx([-0.99979, 1.00427], abs=6e-6)


def test_rates_near_minus_100_percent_and_enormous_ones():
    assert irr([-1e5, 1.0])[0] == pytest.approx(-0.99999, abs=1e-15)
    assert irr([-1e75, *[0.0] * 14, 1.0])[0] == pytest.approx(-0.99999, abs=1e-15)
    assert irr([-1.0, *[0.0] * 39, 1e-200])[0] == pytest.approx(-0.99999, abs=1e-15)
    assert irr([-1e-3, 1e9])[0] == pytest.approx(1e12 - 1, rel=2e-15)
    assert irr([-1.0, 0.0, 1e12])[0] == pytest.approx(1e6 - 1, rel=1e-15)


def conventional_flows(count, seed):
    random = np.random.default_rng(seed)
    flows = random.lognormal(0.0, 1.0, (count, 16))
    flows[random.random(flows.shape) < 0.2] = 0.0
    flows[:, -1] += 1e-3
    flows[:, 0] = -random.lognormal(2.0, 1.5, count)
    flows[::5, 1] = -random.lognormal(1.0, 1.0, len(flows[::5]))  # paid in two years
    return flows


def test_a_rate_near_minus_100_percent_over_a_century_overflows_nothing():
    """(x - 1e5)(x - 1e4)(x^88 + 1) with x = 1 / (1 + rate): two roots, whose 90th powers are no doubles."""
    flow = np.zeros(91)
    flow[[0, 1, 2, 88, 89, 90]] = (1e9, -1.1e5, 1.0) * 2
    assert all_rates(flow) == pytest.approx([1e-5 - 1.0, 1e-4 - 1.0], abs=1e-12)
    assert irr(flow)[1] == 2


def test_10000_conventional_flows_agree_with_two_libraries():
    flows = conventional_flows(10_000, seed=20)
    rates, counts = irr(flows)
    assert (counts == 1).all()
    # 1e-6 is where the first library stops; both agree far better on most flows.
    assert rates == pytest.approx(np.array([pyxirr.irr(flow, silent=True) for flow in flows]), abs=1e-6, rel=1e-6)
    assert rates == pytest.approx(np.array([npf.irr(flow) for flow in flows]), abs=1e-8, rel=1e-8)


def test_present_value_at_the_rate_is_zero_to_the_last_digits():
    flows = conventional_flows(20_000, seed=21)
    rates, _ = irr(flows)
    amounts = npv(rates, np.abs(flows))
    assert (np.abs(npv(rates, flows)) <= 1e-12 * amounts).all()


def test_flows_with_a_replacement_agree_with_a_library_where_the_rate_is_the_only_one():
    flows = conventional_flows(2500, seed=22)
    flows[:, 8] -= 2.0
    flows[::10, -1] = -0.5  # to be disposed of at a cost: a second rate near -100 %
    rates, counts = irr(flows)
    single = np.flatnonzero(counts == 1)
    assert 2000 < len(single) < 2500
    for row in single:
        assert rates[row] == pytest.approx(npf.irr(flows[row]), abs=1e-7, rel=1e-7)
    assert np.isnan(rates[counts != 1]).all()


def exact_number_of_rates(flow):
    """Different positive roots by Sturm's theorem in exact fractions."""
    chain = [[Fraction(int(amount)) for amount in np.trim_zeros(flow)]]
    chain.append([i * c for i, c in enumerate(chain[0])][1:])
    while chain[-1]:
        rest, divisor = chain[-2][:], chain[-1]
        while len(rest) >= len(divisor):
            quotient, shift = rest[-1] / divisor[-1], len(rest) - len(divisor)
            for i, c in enumerate(divisor):
                rest[shift + i] -= quotient * c
            rest.pop()
        while rest and rest[-1] == 0:
            rest.pop()
        chain.append([-c for c in rest])
    changes = [sum(a * b < 0 for a, b in pairwise(p[at] for p in chain if p and p[at] != 0)) for at in (0, -1)]
    return changes[0] - changes[1]


@pytest.mark.published("Sturm's theorem", where="number of positive roots", quoted="textbook algebra")
@pytest.mark.parametrize("years", [3, 5, 10, 20])
def test_number_of_rates_is_exact_on_awkward_flows(years):
    random = np.random.default_rng(years)
    wild = random.integers(-9, 10, (80, years + 1))
    wild[:, 0] = -random.integers(1, 10, 80)
    wild[:, -1] = random.integers(1, 10, 80) * random.choice([-1, 1], 80)
    project = random.integers(50, 900, (80, years + 1))  # with a replacement and a disposal at a cost
    project[:, 0] = -random.integers(100, 5000, 80)
    project[np.arange(80), random.integers(1, years + 1, 80)] -= random.integers(0, 3000, 80)
    project[:, -1] = -random.integers(1, 1500, 80)
    flows = np.concatenate([wild, project])
    rates, counts = irr(flows)
    expected = np.array([exact_number_of_rates(flow) for flow in flows])
    assert set(expected) >= {0, 1, 2}
    assert counts.tolist() == expected.tolist()
    assert (np.isnan(rates) == (expected != 1)).all()


@given(
    flows=st.lists(st.integers(-900, 900), min_size=2, max_size=12),
    share=st.floats(0.0, 1.0),
)
def test_mid_year_rates_bring_the_mid_year_present_value_to_zero(flows, share):
    lumps = share * np.array(flows)
    rates = all_rates(flows, timing="mid", at_year_end=lumps)
    rate, count = irr(flows, timing="mid", at_year_end=lumps)
    assert count == len(rates)
    assert np.isnan(rate) == (count != 1)
    assert bool(irr_note(flows, timing="mid", at_year_end=lumps)) or count == 1
    for found in rates:
        amounts = npv(found, np.abs(flows), timing="mid", at_year_end=np.abs(lumps))
        assert abs(npv(found, flows, timing="mid", at_year_end=lumps)) <= 1e-9 * amounts


@pytest.mark.parametrize("trifle", [5e-324, 2e-311, 1e-290])
def test_amounts_at_the_end_of_the_number_range_are_no_trouble(trifle):
    assert all_rates([0, trifle, 1]).size == 0
    assert all_rates([-1, trifle, 1]) == pytest.approx([0.0], abs=1e-15)
    assert all_rates([-1000, 2300, -1320, trifle]) == pytest.approx([0.10, 0.20])
    rate, count = irr([-1e300, 2.3e300, -1.32e300])
    assert np.isnan(rate)
    assert count == 2


def test_mid_year_rates_by_hand():
    # 100 grow to 121 in half a year: 1.21^2 - 1; the same at the end of the year: 21 %.
    assert irr([-100, 121], timing="mid")[0] == pytest.approx(0.4641, rel=1e-12)
    assert irr([-100, 121], timing="mid", at_year_end=[0, 121])[0] == pytest.approx(0.21, rel=1e-12)
    rates, counts = irr([[-100, 121], [-100, 110], [5, 5]], timing="mid", at_year_end=[0, 0])
    assert rates == pytest.approx([0.4641, 0.21, np.nan], nan_ok=True)
    assert counts.tolist() == [1, 1, 0]
    # By half-years -1000, 2300, -1320: 10 % and 20 % a half-year.
    note = irr_note([-1000, 980], timing="mid", at_year_end=[0, -1320])
    assert note.startswith("2 rates of return (21 %, 44 %)")


@settings(max_examples=300)
@given(
    factors=st.lists(st.floats(0.2, 4.0), min_size=1, max_size=5),
    extra=st.floats(0.1, 3.0),
    sign=st.sampled_from([-1.0, 1.0]),
)
def test_flows_built_from_known_rates_give_just_these_rates(factors, extra, sign):
    # x = 1/(1 + rate) at least 3 % apart; the quadratic x^2 + extra has no real root.
    factors = sorted(factors)
    factors = [x for i, x in enumerate(factors) if i == 0 or x > 1.03 * factors[i - 1]]
    flows = sign * np.polynomial.polynomial.polymul(np.polynomial.polynomial.polyfromroots(factors), [extra, 0, 1])
    rate, count = irr(flows)
    expected = np.sort(1 / np.array(factors) - 1)
    assert count == len(factors)
    assert all_rates(flows) == pytest.approx(expected, abs=1e-6)
    if count == 1:
        assert rate == pytest.approx(expected[0], abs=1e-12)


@pytest.mark.parametrize("many", [1, 3000])
def test_rates_by_hand_are_found_in_few_flows_and_in_many(many):
    # 10 %: 121 = 100 x 1.1^2, and 7 a year before are 7.7 of it; none where less comes back between than is paid in the end.
    flows = np.array([[-100.0, 0.0, 121.0], [-100.0, 7.0, 113.3], [-100.0, 10.0, -80.0], [-100.0, -5.0, -5.0]])
    rates, counts = irr(np.tile(flows, (many, 1)))
    np.testing.assert_allclose(rates.reshape(many, 4), [[0.1, 0.1, np.nan, np.nan]] * many, rtol=1e-12)
    assert counts.reshape(many, 4).tolist() == [[1, 1, 0, 0]] * many


def test_many_flows_at_once_equal_one_at_a_time():
    flows = np.concatenate([conventional_flows(40, seed=23), np.zeros((1, 16)), -np.ones((1, 16))])
    flows[3, 5] = np.nan
    flows[10:20, 6] -= 30.0
    stacked = flows.reshape(2, 3, 7, 16)
    rates, counts = irr(stacked)
    assert rates.shape == counts.shape == (2, 3, 7)
    for at in np.ndindex(rates.shape):
        rate, count = irr(stacked[at])
        assert count == counts[at]
        assert rate == pytest.approx(rates[at], abs=1e-14, nan_ok=True)


@pytest.mark.parametrize("timing", ["end", "mid"])
def test_rates_and_notes_of_many_flows_are_those_of_each(timing):
    flows = np.concatenate([conventional_flows(20, seed=25), np.zeros((1, 16)), -np.ones((1, 16))])
    flows[3, 5] = np.nan
    flows[5:12, 6] -= 30.0
    rates, notes = irr_with_notes(flows, timing=timing)
    assert notes == [irr_note(flow, timing=timing) for flow in flows]
    assert rates == pytest.approx(np.array([irr(flow, timing=timing)[0] for flow in flows]), abs=1e-14, nan_ok=True)


def test_the_flows_given_are_not_changed():
    flows = conventional_flows(10, seed=24)
    before = flows.copy()
    irr(flows)
    assert (flows == before).all()


@pytest.mark.parametrize(
    ("flows", "words"),
    [
        ([-100, 60, 60], ""),
        ([0, 0, 0], "neither an outlay nor a saving"),
        ([0, 10, 10], "no extra capital is spent"),
        ([50, 10, 10], "no extra capital is spent"),
        ([-100, -5, 0], "never saves anything"),
        ([-100, 10, 10], "the rate is negative"),
        ([100, -60, -60], "cost of borrowing"),
        ([-1000, 2300, -1320], "2 rates of return (10 %, 20 %)"),
        ([-1, 4, -4], "touches zero"),
        ([1, -3, 3], "no discount rate brings"),
        ([-100, np.nan, 60], "missing or not a number"),
        ([-100, np.inf, 60], "missing or not a number"),
    ],
)
def test_notes(flows, words):
    assert irr_note(flows).count(words) == (1 if words else len(irr_note(flows)) + 1)
    if not words:
        assert irr_note(flows) == ""


@pytest.mark.parametrize("flows", [[0, 0, 0], [0, 10, 10], [-100, -5, 0], [-100, np.nan, 60], [-100, np.inf, 60]])
def test_no_rate_without_a_change_of_sign(flows):
    rate, count = irr(flows)
    assert np.isnan(rate)
    assert count == 0
    assert all_rates(flows).size == 0


def test_notes_are_about_one_flow():
    with pytest.raises(ValueError, match="one cash flow"):
        irr_note(np.zeros((2, 3)))


def test_at_mid_year_all_amounts_are_spread_unless_they_are_said_to_fall_at_its_end():
    """-100 at once and 60 in the middle of each of two years: 60 x + 60 x^3 = 100 with x the root of one year's factor."""
    flows = [-100.0, 60.0, 60.0]
    (x,) = (root.real for root in np.roots([60.0, 0.0, 60.0, -100.0]) if abs(root.imag) < 1e-9)
    assert all_rates(flows, timing="mid") == pytest.approx([x**-2 - 1.0], abs=1e-9)
    assert irr_note(flows, timing="mid") == ""
    assert irr_note([-100.0, 230.0, -132.0], timing="mid") == irr_note(
        [-100.0, 230.0, -132.0], timing="mid", at_year_end=[0.0, 0.0, 0.0]
    )
