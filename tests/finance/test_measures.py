"""Present value, payback, ratios and life-cycle cost against published examples and independent libraries."""

from __future__ import annotations

import numpy as np
import numpy_financial as npf
import pytest
import pyxirr
from hypothesis import example, given
from hypothesis import strategies as st

from energy.errors import OutOfRangeError
from energy.finance import (
    airr,
    capital_over_saving,
    cash_flow,
    discounted_payback,
    equivalent_annual_cost,
    irr,
    life_cycle_cost,
    nothing_to_pay_back,
    npv,
    payback_note,
    payback_notes,
    simple_payback,
    sir,
)

NPF = "numpy-financial, tests and docstrings"
HB_135 = "NIST Handbook 135 (1995), example of two air-conditioning systems"
FLOWS = st.lists(st.floats(-1e6, 1e6).map(lambda x: round(x, 2)), min_size=2, max_size=25)


@pytest.mark.published(NPF, where="npv", quoted="read in reference table")
def test_printed_present_values():
    assert npv(0.05, [-15000, 1500, 2500, 3500, 4500, 6000]) == pytest.approx(122.89, abs=0.006)
    flows = [-40000, 5000, 8000, 12000, 30000]
    assert npv(0.08, flows) == pytest.approx(3065.2226681795255, rel=1e-14)
    # A spreadsheet's NPV discounts the first amount too.
    assert npv(0.08, [0, *flows]) == pytest.approx(2838.1691372, abs=6e-8)


@pytest.mark.published(
    "Engineering economy course note",
    where="-11000, 5 x 3000, salvage 1000",
    quoted="read in reference table",
)
def test_course_note_before_and_after_tax():
    assert npv(0.09, [-11000, 3000, 3000, 3000, 3000, 4000]) == pytest.approx(1319, abs=0.6)
    assert npv(0.09, [-11000, 3266.52, 3755.80, 2451.64, 2126.04, 2400]) == pytest.approx(117, abs=0.6)


@pytest.mark.published(
    "IRS Pub 946, Table A-1, with a textbook exercise that prints no answer",
    where="1 000 000, 5-year property, 34 %, 10 years",
    quoted="read in reference table; answers computed outside the project",
)
def test_after_tax_exercise():
    flows = [-1e6, 299000, 339800, 296280, 270168, 270168, 250584, *[231000] * 4]
    assert simple_payback(flows) == pytest.approx(3.240295, abs=6e-7)
    assert discounted_payback(0.05, flows) == pytest.approx(3.679773, abs=6e-7)
    assert npv(0.05, flows) == pytest.approx(1_081_085.45, abs=0.006)


@pytest.mark.published(
    "Published lighting example (225 000, saving 40 700 for 15 years)",
    where="simple payback",
    quoted="read in reference table",
)
def test_printed_simple_payback():
    assert capital_over_saving(225_000, 40_700) == pytest.approx(5.528, abs=6e-4)
    assert simple_payback([-225_000, *[40_700] * 15]) == pytest.approx(5.528, abs=6e-4)


def test_simple_payback_is_none_where_nothing_is_saved_or_spent():
    found = capital_over_saving([100.0, 100.0, 100.0, 0.0, -5.0], [40.0, 0.0, -4.0, 40.0, 40.0])
    np.testing.assert_array_equal(found, [2.5, np.nan, np.nan, np.nan, np.nan])


@pytest.mark.published(HB_135, where="SIR and AIRR, from its rounded factors", quoted="from memory")
def test_ratios_of_the_handbook_example():
    savings = (20_000 - 13_000) * 15.13 + (7_000 - 8_000) * 14.88
    investment = 7_000 + 500 * 0.701 - 200 * 0.554
    assert sir(savings, investment) == pytest.approx(12.6, abs=0.06)
    assert airr(0.03, sir(savings, investment), 20) == pytest.approx(0.169, abs=6e-4)
    # Net savings printed: 83 790
    assert savings - investment == pytest.approx(83_790, abs=0.6)


@pytest.mark.published(
    HB_135, where="its inputs with exact factors and level prices", quoted="computed outside the project"
)
def test_handbook_example_with_exact_factors():
    def cost(capital, fan, residual, electricity, maintenance):
        return life_cycle_cost(
            0.03,
            capital,
            {"electricity": electricity},
            years=20,
            maintenance=maintenance,
            replacements={12: fan},
            residual=residual,
        )

    present, efficient = (
        cost(103_000, 12_000, 3_500, 20_000, 7_000),
        cost(110_000, 12_500, 3_700, 13_000, 8_000),
    )
    assert present == pytest.approx(511_170.51, abs=0.006)
    assert efficient == pytest.approx(429_145.62, abs=0.006)

    flow = cash_flow(
        years=20,
        capital=7_000,
        savings={"electricity": 7_000},
        maintenance=-1_000,
        replacements={12: 500},
        residual=200,
    )
    net_savings = npv(0.03, flow.flows)
    assert net_savings == pytest.approx(82_024.89, abs=0.006)
    assert net_savings == pytest.approx(present - efficient, abs=1e-9)
    ratio = sir(npv(0.03, flow.savings), -npv(0.03, flow.investment))
    assert ratio == pytest.approx(12.329476, abs=6e-7)
    assert airr(0.03, ratio, 20) == pytest.approx(0.16784298, abs=6e-9)
    assert irr(flow.flows)[0] == pytest.approx(0.8571030, abs=6e-8)
    assert simple_payback(flow.flows) == pytest.approx(1.166667, abs=6e-7)
    assert capital_over_saving(7_000, 7_000 - 1_000) == pytest.approx(1.166667, abs=6e-7)


@given(flows=FLOWS, rate=st.floats(-0.3, 1.0))
def test_present_value_agrees_with_two_libraries(flows, rate):
    scale = 1e-12 * sum(abs(x) * (1 + rate) ** -t for t, x in enumerate(flows)) + 1e-9
    assert npv(rate, flows) == pytest.approx(npf.npv(rate, flows), abs=scale)
    assert npv(rate, flows) == pytest.approx(pyxirr.npv(rate, flows), abs=scale)


@given(flows=FLOWS, rate=st.floats(-0.3, 1.0))
def test_mid_year_present_value_is_the_year_end_one_half_a_year_earlier(flows, rate):
    later = npv(rate, [0.0, *flows[1:]])
    tolerance = 1e-12 * npv(rate, np.abs(flows)) + 1e-9
    assert npv(rate, flows, timing="mid") == pytest.approx(flows[0] + later * (1 + rate) ** 0.5, abs=tolerance)


def test_what_is_paid_once_is_discounted_to_the_end_of_its_year_with_mid_year_amounts():
    # At 21 % a year, 10 % a half-year: 110 / 1.1, 133.1 / 1.331 and a lump of 146.41 / 1.4641.
    flows, lumps = [-100, 110, 133.1 + 146.41], [0, 0, 146.41]
    assert npv(0.21, flows, timing="mid", at_year_end=lumps) == pytest.approx(200.0, rel=1e-12)
    assert npv(0.21, flows, at_year_end=lumps) == pytest.approx(npv(0.21, flows), rel=1e-15)
    # 150 are owed after an outlay of 150 + 100 and 100 in year 1; year 2 brings 100 evenly and 100 at its end.
    late = discounted_payback(0.21, [-250, *flows[1:]], timing="mid", at_year_end=lumps)
    assert late == pytest.approx(2.0, rel=1e-12)
    assert payback_note([-250, 110, 279.0], rate=0.21, timing="mid", at_year_end=lumps) == ""
    # 300 are owed, 300 less a trifle come: at mid-year discount the lump would have covered it.
    note = payback_note([-300, 110, 279.0], rate=0.21, timing="mid", at_year_end=lumps)
    assert note.startswith("not within the study period of 2 years at a discount rate of 21 %")
    assert payback_note([-300, 110, 279.0], rate=0.21, timing="mid") == ""


@pytest.mark.common_practice("level payments by printed recovery factors at 10 %, 5 and 10 years")
def test_unequal_lives_are_compared_by_the_equivalent_annual_cost():
    short = life_cycle_cost(0.10, 10_000, {"electricity": 700}, years=5)
    long = life_cycle_cost(0.10, 15_000, {"electricity": 800}, years=10)
    found = equivalent_annual_cost(0.10, [short, long], [5, 10])
    assert found == pytest.approx([10_000 * 0.263797 + 700, 15_000 * 0.162745 + 800], abs=0.01)
    # The short-lived one bought again for the second five years costs the same a year.
    chain = life_cycle_cost(0.10, 10_000, {"electricity": 700}, years=10, replacements={5: 10_000})
    assert equivalent_annual_cost(0.10, chain, 10) == pytest.approx(found[0], rel=1e-12)


@example(flows=[784071.0, -784143.0, 79533.0])  # below zero for a few hours only
@given(flows=FLOWS)
def test_payback_is_the_last_time_the_broken_line_of_the_cumulative_flow_rises_to_zero(flows):
    payback = simple_payback(flows)
    cumulative, years = np.cumsum(flows), np.arange(len(flows))
    tiny = 1e-9 * np.abs(flows).sum() + 1e-12
    if np.isfinite(payback):
        assert np.interp(payback, years, cumulative) == pytest.approx(0.0, abs=tiny)
        assert (cumulative[years >= payback] >= -tiny).all()
        assert cumulative[int(payback)] < tiny  # at the end of the year before, from which it rises
    else:
        assert cumulative[-1] < 0 or (cumulative >= -tiny).all()


@given(flows=FLOWS, rate=st.floats(0.0, 0.5))
def test_discounted_payback_exists_only_with_a_present_value_of_zero_or_more(flows, rate):
    value, tolerance = npv(rate, flows), 1e-9 * np.abs(flows).sum()
    if np.isfinite(discounted_payback(rate, flows)):
        assert value >= -tolerance
    elif flows[0] < 0:
        assert value <= tolerance


@pytest.mark.parametrize("rate", [0.05, 0.12])
def test_discounted_payback_of_a_level_saving_solves_the_annuity(rate):
    # At a whole number of years: capital = saving x UPV(4 years), printed factors 3.545951 and 3.037349.
    printed = {0.05: 3.545951, 0.12: 3.037349}[rate]
    assert discounted_payback(rate, [-printed, 1, 1, 1, 1, 1]) == pytest.approx(4.0, abs=2e-6)


def test_a_replacement_that_reopens_the_debt_counts():
    flows = [-100, 60, 60, -80, 30, 30, 40]  # cumulative -100, -40, 20, -60, -30, 0, 40
    assert simple_payback(flows) == pytest.approx(5.0, abs=1e-12)


def test_paid_back_to_the_day_at_the_end_of_the_study_despite_round_off():
    flows = [-1.0, *[0.1] * 10]
    assert np.cumsum(flows)[-1] != 0.0  # the sum in floating point is not quite zero
    assert simple_payback(flows) == pytest.approx(10.0, abs=1e-12)


@pytest.mark.parametrize(
    ("flows", "lumps", "years"),
    [
        # Owed 5500 after year 5; the even 2000 of year 6 do not return it, the 6500 at its end do.
        ([-22000, 2000, 2000, 8500, 2000, 2000, 8500, 2000], {3: 6500, 6: 6500}, 6.0),
        # Owed 2000 after year 2; the even 4000 of year 3 return it by its middle, whatever falls due at its end.
        ([-10000, 4000, 4000, 10500], {3: 6500}, 2.5),
        # Owed 3500 after the lump of year 3: an even 4000 a year returns it in 7/8 of the fourth.
        ([-22000, 4000, 4000, 10500, 4000], {3: 6500}, 3.875),
        # An outlay of 40 at the end of year 2 takes back what its 60 had returned: 20 are left for year 3.
        ([-100, 60, 20, 60], {2: -40}, 2 + 20 / 60),
        # Nothing but the lump: it costs no less to run.
        ([-100, 0, 0, 100], {3: 100}, 3.0),
        ([-100, 0, 0, 99], {3: 99}, np.nan),
    ],
)
def test_what_falls_due_at_a_years_end_is_not_back_before_it(flows, lumps, years):
    at_year_end = [float(lumps.get(t, 0)) for t in range(len(flows))]
    assert simple_payback(flows, at_year_end=at_year_end) == pytest.approx(years, rel=1e-12, nan_ok=True)


@pytest.mark.parametrize(
    ("flows", "lump", "years"),
    [
        # At 10 %: 110 - 11 / 1.1 = 100 owed after year 1; in year 2 11 / 1.21 come evenly, 121 / 1.21 = 100 at its end.
        ([-110, 11, 132], 121, 2.0),
        # 121 in the even part alone: 100 of the 121 / 1.21 + 0 are owed, all of them come by the end.
        ([-110, 11, 121], 0, 2.0),
        # 242 evenly, 200 discounted: half a year returns the 100.
        ([-110, 11, 363], 121, 1.5),
    ],
)
def test_discounted_payback_discounts_what_falls_due_at_a_years_end(flows, lump, years):
    assert discounted_payback(0.1, flows, at_year_end=[0, 0, lump]) == pytest.approx(years, rel=1e-12)


@given(flows=FLOWS, share=st.floats(0.0, 1.0), rate=st.floats(0.0, 0.3))
def test_waiting_for_a_years_end_never_pays_back_sooner_nor_in_another_year(flows, share, rate):
    lumps = share * np.maximum(flows, 0.0)
    even, late = discounted_payback(rate, flows), discounted_payback(rate, flows, at_year_end=lumps)
    assert np.isnan(even) == np.isnan(late)
    if np.isfinite(even):
        assert even - 1e-6 <= late <= np.ceil(even - 1e-9) + 1e-6  # amounts are whole cents of at most 1e6


def test_lumps_of_many_draws_equal_their_scalars():
    flows = np.array([[-22000.0, 2000, 2000, 8500, 2000, 2000, 8500], [-10000.0, 4000, 4000, 10500, 0, 0, 0]])
    lumps = np.array([0.0, 0, 0, 6500, 0, 0, 6500])
    assert simple_payback(flows, at_year_end=np.minimum(lumps, np.maximum(flows, 0))) == pytest.approx([6.0, 2.5])


@pytest.mark.parametrize(
    ("flows", "rate", "words"),
    [
        ([-100, 60, 60], 0.0, ""),
        ([-100, -5, -5], 0.0, "never pays back: the option costs more to run than the baseline"),
        ([-100, 0, 0], 0.0, "never pays back: the option saves nothing over the baseline"),
        (
            [-100, 10, -80],
            0.0,
            "never pays back: over the study the option costs more to run and to keep up than it saves",
        ),
        ([0, 10, 10], 0.0, "no extra capital: there is nothing to pay back"),
        ([0, 0, 0], 0.0, "no extra capital: there is nothing to pay back"),
        ([50, -10, -10], 0.0, "no extra capital: there is nothing to pay back"),
        (
            [0, -10, -10],
            0.0,
            "never pays back: it costs no more to buy, but the option costs more to run than the baseline",
        ),
        (
            [-100, 30, 30],
            0.0,
            "not within the study period of 2 years: what is saved and spared returns 60 % of the outlays",
        ),
        (
            [-100, 60, 50],
            0.1,
            "not within the study period of 2 years at a discount rate of 10 %: what is saved and spared returns 96 % of the outlays",
        ),
        ([-100, np.nan, 60], 0.0, "no payback: an amount of the cash flow is missing or not a number"),
    ],
)
def test_payback_is_blank_exactly_when_there_is_a_reason(flows, rate, words):
    assert payback_note(flows, rate=rate) == words
    assert np.isnan(discounted_payback(rate, flows)) == bool(words)


@given(flows=FLOWS, rate=st.floats(0.0, 0.5))
def test_every_blank_payback_has_its_reason(flows, rate):
    assert bool(payback_note(flows, rate=rate)) == bool(np.isnan(discounted_payback(rate, flows)))


def test_draws_with_nothing_to_pay_back_are_told_from_those_that_never_pay():
    flows = np.array([[0, 10, 10], [5, -5, 1], [-100, 60, 60], [-100, 10, 10], [0, -1, 5], [np.nan, 1, 1]])
    assert nothing_to_pay_back(flows).tolist() == [True, True, False, False, False, False]
    assert np.isnan(simple_payback(flows)).tolist() == [True, True, False, True, False, True]


@given(flows=FLOWS)
def test_a_payback_and_nothing_to_pay_back_exclude_each_other(flows):
    assert not (nothing_to_pay_back(flows) and np.isfinite(simple_payback(flows)))
    assert nothing_to_pay_back(flows) == payback_note(flows).startswith("no extra capital")


def test_notes_of_many_flows_go_by_the_paybacks_given():
    flows = np.array([[-100.0, 60.0, 60.0], [-100.0, -5.0, -5.0], [-100.0, 60.0, 30.0]])
    assert payback_notes(flows, np.array([1.7, np.nan, np.nan]), flows) == [
        "",
        "never pays back: the option costs more to run than the baseline",
        "not within the study period of 2 years: what is saved and spared returns 90 % of the outlays",
    ]
    # At 100 % a year 60 and 60 are worth 30 and 15 today.
    present = np.array([[-100.0, 30.0, 15.0]])
    (note,) = payback_notes(flows[:1], np.array([np.nan]), present, rate=1.0)
    assert note.endswith("at a discount rate of 100 %: what is saved and spared returns 45 % of the outlays")


def test_notes_are_about_one_flow():
    with pytest.raises(ValueError, match="one cash flow"):
        payback_note(np.zeros((2, 3)))


def test_no_ratio_without_extra_investment():
    assert np.isnan(sir([10.0, 10.0, -10.0], [0.0, -5.0, 0.0])).all()
    assert np.isnan(airr(0.05, [np.nan, -0.5], 10)).all()
    assert airr(0.05, 0.0, 10) == -1.0
    assert airr(0.05, 1.0, 10) == pytest.approx(0.05, abs=1e-15)


@given(
    capital=st.floats(1.0, 1e6),
    saving=st.floats(1.0, 1e5),
    rate=st.floats(0.01, 0.3),
    years=st.integers(1, 30),
)
def test_adjusted_rate_is_the_yield_of_savings_put_out_again_at_the_discount_rate(capital, saving, rate, years):
    terminal = npf.fv(rate, years, -saving, 0)
    expected = (terminal / capital) ** (1 / years) - 1
    ratio = sir(npv(rate, [0, *[saving] * years]), capital)
    assert airr(rate, ratio, years) == pytest.approx(expected, rel=1e-9, abs=1e-9)
    modified = npf.mirr([-capital, *[saving] * years], rate, rate)
    assert airr(rate, ratio, years) == pytest.approx(modified, rel=1e-9, abs=1e-9)


@given(cost=st.floats(1.0, 1e6), rate=st.floats(0.001, 0.5), years=st.integers(1, 40))
def test_equivalent_annual_cost_is_a_level_loan_payment(cost, rate, years):
    assert equivalent_annual_cost(rate, cost, years) == pytest.approx(-npf.pmt(rate, years, cost), rel=1e-9)


def test_arrays_equal_their_scalars():
    random = np.random.default_rng(5)
    flows = random.normal(20.0, 40.0, (4, 5, 11))
    flows[..., 0] = -100
    rate = random.uniform(0.0, 0.2, (4, 1))
    whole = npv(rate, flows), simple_payback(flows), discounted_payback(rate, flows, timing="mid")
    assert [x.shape for x in whole] == [(4, 5)] * 3
    for i, j in np.ndindex(4, 5):
        assert whole[0][i, j] == pytest.approx(npv(rate[i, 0], flows[i, j]), rel=1e-13)
        assert whole[1][i, j] == pytest.approx(simple_payback(flows[i, j]), rel=1e-13, nan_ok=True)
        one = discounted_payback(rate[i, 0], flows[i, j], timing="mid")
        assert whole[2][i, j] == pytest.approx(one, rel=1e-13, nan_ok=True)


def test_a_rate_of_minus_100_percent_is_refused():
    with pytest.raises(OutOfRangeError, match="-100 %"):
        npv(-1.0, [-1, 2])


def test_small_amounts_count_as_large_ones_do():
    """Half a unit of money for half a unit a year is a year."""
    assert capital_over_saving(0.5, 0.5) == pytest.approx(1.0)
    assert simple_payback([-0.5, 0.25, 0.25, 0.25]) == pytest.approx(2.0)
