"""Discount factors against interest tables, published examples and an independent library."""

from __future__ import annotations

import numpy as np
import numpy_financial as npf
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from energy.errors import OutOfRangeError, UnknownNameError
from energy.finance import (
    capital_recovery_factor,
    nominal_rate,
    real_rate,
    single_present_value,
    uniform_present_value,
)

RATES = st.floats(-0.5, 3.0)


@pytest.mark.common_practice("compound interest tables, to 6 decimals; computed from the defining sums")
@pytest.mark.parametrize(
    ("rate", "single", "uniform", "recovery"),
    [
        (
            0.03,
            [0.970874, 0.862609, 0.744094, 0.641862, 0.553676],
            [4.579707, 8.530203, 11.937935, 14.877475],
            [0.218355, 0.117231, 0.083767, 0.067216],
        ),
        (
            0.07,
            [0.934579, 0.712986, 0.508349, 0.362446, 0.258419],
            [4.100197, 7.023582, 9.107914, 10.594014],
            [0.243891, 0.142378, 0.109795, 0.094393],
        ),
        (
            0.08,
            [0.925926, 0.680583, 0.463193, 0.315242, 0.214548],
            [3.992710, 6.710081, 8.559479, 9.818147],
            [0.250456, 0.149029, 0.116830, 0.101852],
        ),
        (
            0.10,
            [0.909091, 0.620921, 0.385543, 0.239392, 0.148644],
            [3.790787, 6.144567, 7.606080, 8.513564],
            [0.263797, 0.162745, 0.131474, 0.117460],
        ),
        (
            0.12,
            [0.892857, 0.567427, 0.321973, 0.182696, 0.103667],
            [3.604776, 5.650223, 6.810864, 7.469444],
            [0.277410, 0.176984, 0.146824, 0.133879],
        ),
    ],
)
def test_factors_of_the_interest_tables(rate, single, uniform, recovery):
    assert single_present_value(rate, [1, 5, 10, 15, 20]) == pytest.approx(single, abs=6e-7)
    assert uniform_present_value(rate, [5, 10, 15, 20]) == pytest.approx(uniform, abs=6e-7)
    assert capital_recovery_factor(rate, [5, 10, 15, 20]) == pytest.approx(recovery, abs=6e-7)


@pytest.mark.common_practice("UPV* from its defining sum, computed outside the project")
@pytest.mark.parametrize(
    ("rate", "escalation", "years", "expected"),
    [
        (0.08, 0.03, 10, 7.776638),
        (0.08, 0.03, 15, 10.482592),
        (0.05, 0.05, 12, 12.0),
        (0.03, -0.01, 20, 13.541833),
    ],
)
def test_escalating_amounts(rate, escalation, years, expected):
    assert uniform_present_value(rate, years, escalation) == pytest.approx(expected, abs=6e-7)


@pytest.mark.published(
    "MIL-HDBK-1003/13A", where="10 %, 25 years, differential inflation", quoted="read in reference table"
)
@pytest.mark.parametrize(("inflation", "printed"), [(0.07, 18.049), (0.08, 20.050), (0.10, 25.000)])
def test_mid_year_factors_of_the_handbook(inflation, printed):
    # The handbook does not state its formula; the mid-year one is 0.001 below its first value.
    assert uniform_present_value(0.10, 25, inflation, timing="mid") == pytest.approx(printed, abs=1.1e-3)
    # End of year gives 17.80 and 19.87: the convention matters by 1.4 %.
    if inflation < 0.10:
        assert uniform_present_value(0.10, 25, inflation) < printed - 0.18


@pytest.mark.published(
    "R package EngrEcon 1.0.0 (CRAN)", where="worked examples in its manual", quoted="read in reference table"
)
def test_examples_of_an_engineering_economy_package():
    assert 200_000 * capital_recovery_factor(0.08, 30) == pytest.approx(17765.49, abs=0.006)
    assert 30_000 * uniform_present_value(0.08, 30) == pytest.approx(337733.5, abs=0.06)
    # 1000 every third year of 50 years
    assert 1000 * single_present_value(0.03, np.arange(3, 51, 3)).sum() == pytest.approx(8174.547, abs=6e-4)


@pytest.mark.published("numpy-financial 1.0.0", where="docstrings of pmt and pv", quoted="read in reference table")
def test_examples_of_a_finance_library():
    assert 15_000 * capital_recovery_factor(0.08 / 12, 60) == pytest.approx(304.145914, abs=6e-7)
    assert 12_000 * uniform_present_value(0.07, 20) == pytest.approx(127128.1709, abs=6e-5)


@given(rate=RATES, years=st.integers(1, 60))
def test_uniform_present_value_agrees_with_a_finance_library(rate, years):
    assume(abs(rate) > 1e-6)  # the library's own formula loses digits next to zero and warns at it
    assert uniform_present_value(rate, years) == pytest.approx(-npf.pv(rate, years, 1.0), rel=1e-9)


@given(rate=RATES, escalation=RATES, years=st.integers(0, 60), timing=st.sampled_from(["end", "mid"]))
def test_uniform_present_value_is_its_defining_sum(rate, escalation, years, timing):
    when = np.arange(1, years + 1) - (0.5 if timing == "mid" else 0.0)
    expected = sum(((1 + escalation) / (1 + rate)) ** t for t in when)
    assert uniform_present_value(rate, years, escalation, timing=timing) == pytest.approx(expected, rel=1e-11)


def test_no_digits_are_lost_where_the_two_rates_are_nearly_equal():
    # To first order n + n (n + 1) / 2 x (escalation - rate) / (1 + rate).
    expected = 10 + 55 * 1e-9 / 1.05
    assert uniform_present_value(0.05, 10, 0.05 + 1e-9) == pytest.approx(expected, abs=1e-13)


@pytest.mark.common_practice("Fisher's equation, computed outside the project")
def test_real_and_nominal_rates():
    assert nominal_rate(0.05, 0.023) == pytest.approx(0.07415, abs=1e-15)
    assert real_rate(0.08, 0.025) == pytest.approx(0.05365854, abs=6e-9)


@given(rate=RATES, inflation=RATES)
def test_nominal_and_real_rate_undo_each_other(rate, inflation):
    assert real_rate(nominal_rate(rate, inflation), inflation) == pytest.approx(rate, abs=1e-13)


def test_arrays_equal_their_scalars():
    rate, years, rise = np.meshgrid([0.0, 0.03, 0.1], [1, 7, 20], [-0.02, 0.0, 0.03], indexing="ij")
    whole = uniform_present_value(rate, years, rise)
    assert whole.shape == (3, 3, 3)
    for at in np.ndindex(whole.shape):
        assert whole[at] == uniform_present_value(rate[at], years[at], rise[at])


@pytest.mark.parametrize(
    "call",
    [
        lambda: single_present_value([0.05, -1.0], 3),
        lambda: uniform_present_value(0.05, 3, -1.5),
        lambda: uniform_present_value(0.05, -1),
        lambda: capital_recovery_factor(0.05, 0),
        lambda: real_rate(0.05, -1.0),
        lambda: nominal_rate(-2.0, 0.02),
    ],
)
def test_rates_and_years_without_a_present_value_are_refused(call):
    with pytest.raises(OutOfRangeError, match="must be"):
        call()


def test_a_refused_rate_is_named():
    with pytest.raises(OutOfRangeError, match="discount rate = -150 % must be above -100 %"):
        single_present_value([0.05, np.nan, -1.5], 3)


def test_misspelt_timing_is_refused_with_the_nearest():
    with pytest.raises(UnknownNameError, match="did you mean 'mid'"):
        uniform_present_value(0.05, 3, timing="midd")  # type: ignore[arg-type]
