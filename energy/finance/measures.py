"""Life-cycle measures of a cash flow: present value, payback, savings-to-investment ratio, life-cycle cost.

Flows have the years 0 to n on their last axis and draws or options on the axes before;
`energy.finance.cashflow` states the conventions. A measure that has no meaning is NaN, and a note says why in
plain words.
"""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np
from numpy.typing import ArrayLike, NDArray

from energy.finance.cashflow import cash_flow
from energy.finance.factors import (
    Array,
    RateBasis,
    Timing,
    as_rate,
    capital_recovery_factor,
    discount_factors,
    discounted,
    is_mid,
)
from energy.finance.tax import Tax

_ROUND_OFF = 1e-12  # a cumulative amount below this share of all amounts is zero


def npv(rate: ArrayLike, flows: ArrayLike, *, timing: Timing = "end", at_year_end: ArrayLike = 0.0) -> Array:
    r"""Net present value; against the baseline these are the net savings.

    .. math:: flow_0 + \sum_{t=1}^{n} flow_t / (1 + rate)^t

    Parameters
    ----------
    rate : array_like, shape (...)
        Discount rate, above -1. [1/year]
    flows : array_like, shape (..., n + 1)
        Net cash flow of years 0 to n; year 0 is not discounted. [money]
    timing : {"end", "mid"}
        "mid" discounts year t by t - 1/2 years, except for what is named `at_year_end`.
    at_year_end : array_like, shape (..., n + 1)
        The part of the flow that falls at once at the end of its year, `CashFlow.one_time`; it matters only with
        "mid". [money]

    Returns
    -------
    ndarray, shape (...)
        Net present value. [money]

    Raises
    ------
    OutOfRangeError
        A rate of -100 % or less.

    Source
    ------
    10 CFR 436.20; ASTM E1074.
    """
    flows = np.asarray(flows, dtype=float)
    if is_mid(timing):
        flows, _ = discounted(rate, flows, timing=timing, at_year_end=at_year_end)
        rate = 0.0
    return np.asarray(np.einsum("...t,...t->...", flows, discount_factors(rate, flows.shape[-1])))


def capital_over_saving(capital: ArrayLike, saving: ArrayLike) -> Array:
    """Extra capital over the net saving of one year: what is asked first of a proposal, and the roughest answer.

    Parameters
    ----------
    capital : array_like, shape (...)
        Extra capital less incentives. [money]
    saving : array_like, shape (...)
        Net saving of a year: energy, water and upkeep. Replacements and overhauls are not in it. [money/year]

    Returns
    -------
    ndarray, shape (...)
        [year] NaN where nothing is saved or there is nothing to pay back.

    Source
    ------
    10 CFR 436.23 where the saving is the same every year and no later cost falls due.
    """
    capital, saving = np.asarray(capital, dtype=float), np.asarray(saving, dtype=float)
    there = (capital > 0.0) & (saving > 0.0)
    return np.where(there, capital / np.where(there, saving, 1.0), np.nan)


def simple_payback(flows: ArrayLike, *, at_year_end: ArrayLike = 0.0) -> Array:
    """Years until the savings have returned the extra capital for good, without discounting.

    Parameters
    ----------
    flows : array_like, shape (..., n + 1)
        Net cash flow of years 0 to n, outlays negative. [money]
    at_year_end : array_like, shape (..., n + 1)
        The part of the flow that falls due at once at the end of its year, such as a replacement spared; the rest is
        earned evenly over the year. [money]

    Returns
    -------
    ndarray, shape (...)
        Years, interpolated within the year of the final crossing of the cumulative flow from below to zero.
        NaN when there is none within the study period or nothing to pay back; `payback_note` says which.

    Source
    ------
    10 CFR 436.23; the final crossing, because a later replacement reopens what was paid back.
    """
    flows = np.asarray(flows, dtype=float)
    cumulative = np.cumsum(flows, axis=-1)
    years = flows.shape[-1] - 1
    owed = cumulative < -_ROUND_OFF * np.abs(flows).sum(axis=-1, keepdims=True)
    last = years - np.argmax(owed[..., ::-1], axis=-1)  # last year still owing
    paid = owed.any(axis=-1) & ~owed[..., -1] & np.isfinite(cumulative[..., -1])
    before = np.take_along_axis(cumulative, last[..., None], axis=-1)[..., 0]
    evenly = np.broadcast_to(flows - np.asarray(at_year_end, dtype=float), flows.shape)
    earned = np.take_along_axis(evenly, np.minimum(last + 1, years)[..., None], axis=-1)[..., 0]
    within = earned + before >= 0.0
    return np.where(paid, np.where(within, last - before / np.where(paid & within, earned, 1.0), last + 1.0), np.nan)


def discounted_payback(
    rate: ArrayLike, flows: ArrayLike, *, timing: Timing = "end", at_year_end: ArrayLike = 0.0
) -> Array:
    """Years until the discounted savings have returned the extra capital for good.

    Parameters
    ----------
    rate : array_like, shape (...)
        Discount rate, above -1. [1/year]
    flows : array_like, shape (..., n + 1)
        Net cash flow of years 0 to n, outlays negative. [money]
    timing : {"end", "mid"}
        As for `npv`.
    at_year_end : array_like, shape (..., n + 1)
        As for `simple_payback`. [money]

    Returns
    -------
    ndarray, shape (...)
        Years, as `simple_payback` of the discounted flow.

    Raises
    ------
    OutOfRangeError
        A rate of -100 % or less.

    Source
    ------
    ASTM E1121.
    """
    present, lumps = discounted(rate, flows, timing=timing, at_year_end=at_year_end)
    return simple_payback(present, at_year_end=lumps)


def nothing_to_pay_back(flows: ArrayLike) -> NDArray[np.bool_]:
    """Where a payback is missing because no extra money is ever owed, which is success and not failure.

    Parameters
    ----------
    flows : array_like, shape (..., n + 1)
        Net cash flow of years 0 to n, outlays negative. [money]

    Returns
    -------
    ndarray of bool, shape (...)
        True where the cumulative flow is never below zero.
    """
    flows = np.asarray(flows, dtype=float)
    owed_at_most = -_ROUND_OFF * np.abs(flows).sum(axis=-1, keepdims=True)
    return np.asarray((np.cumsum(flows, axis=-1) >= owed_at_most).all(axis=-1))


def payback_note(flows: ArrayLike, *, rate: float = 0.0, timing: Timing = "end", at_year_end: ArrayLike = 0.0) -> str:
    """Why one flow has no payback, in plain words.

    Parameters
    ----------
    flows : array_like, shape (n + 1,)
        Net cash flow of years 0 to n, outlays negative. [money]
    rate : float
        Discount rate for the note on the discounted payback. [1/year]
    timing, at_year_end
        As for `discounted_payback`.

    Returns
    -------
    str
        The reason; empty when there is a payback.
    """
    flows = np.asarray(flows, dtype=float)
    if flows.ndim != 1:
        raise ValueError(f"one cash flow wanted, shape (years + 1,); got shape {flows.shape}")
    present, lumps = discounted(rate, flows, timing=timing, at_year_end=at_year_end) if rate else (flows, at_year_end)
    payback = simple_payback(present, at_year_end=lumps)
    return payback_notes(flows[None], payback[None], present[None], rate=rate)[0]


def payback_notes(flows: Array, payback: Array, present: Array, *, rate: float = 0.0) -> list[str]:
    """The notes of `payback_note` on many flows, shape (flows, n + 1), whose payback is known.

    Parameters
    ----------
    flows : ndarray, shape (flows, n + 1)
        [money]
    payback : ndarray, shape (flows,)
        NaN where there is none. [years]
    present : ndarray, shape (flows, n + 1)
        The flows as the payback counts them: `discounted`, or as they are. [money]
    rate : float
        Discount rate of a discounted payback. [1/year]
    """
    notes = [""] * len(flows)
    for i in np.flatnonzero(~np.isfinite(payback)).tolist():
        notes[i] = _why_no_payback(flows[i], present[i], rate)
    return notes


def _why_no_payback(flows: Array, present: Array, rate: float) -> str:
    if not np.isfinite(flows).all():
        return "no payback: an amount of the cash flow is missing or not a number"
    if nothing_to_pay_back(present):
        return "no extra capital: there is nothing to pay back"
    later = flows[1:]
    if not later.any():
        return "never pays back: the option saves nothing over the baseline"
    if (later <= 0).all():
        dear = "" if flows[0] < 0 else "it costs no more to buy, but "
        return f"never pays back: {dear}the option costs more to run than the baseline"
    if later.sum() < 0:
        return "never pays back: over the study the option costs more to run and to keep up than it saves"
    returned = present[present > 0].sum() / -present[present < 0].sum()
    at_rate = f" at a discount rate of {100 * rate:g} %" if rate else ""
    return (
        f"not within the study period of {len(later)} years{at_rate}: "
        f"what is saved and spared returns {100 * returned:.0f} % of the outlays"
    )


def sir(savings: ArrayLike, investment: ArrayLike) -> Array:
    """Savings-to-investment ratio.

    Parameters
    ----------
    savings : array_like, shape (...)
        Present value of the yearly savings of energy, water, operation and maintenance: `npv` of
        `CashFlow.savings`. [money]
    investment : array_like, shape (...)
        Present value of the extra capital and replacements less residual value: minus `npv` of
        `CashFlow.investment`. [money]

    Returns
    -------
    ndarray, shape (...)
        Ratio, NaN where there is no extra investment. [-]

    Source
    ------
    10 CFR 436.21; ASTM E964.
    """
    savings, investment = np.asarray(savings, dtype=float), np.asarray(investment, dtype=float)
    extra = investment > 0
    return np.where(extra, savings / np.where(extra, investment, 1.0), np.nan)


def airr(rate: ArrayLike, ratio: ArrayLike, years: ArrayLike) -> Array:
    r"""Adjusted internal rate of return: the yield when savings are put out again at the discount rate.

    .. math:: (1 + rate) \, SIR^{1/n} - 1

    Parameters
    ----------
    rate : array_like, shape (...)
        Discount rate, above -1. [1/year]
    ratio : array_like, shape (...)
        Savings-to-investment ratio, see `sir`. [-]
    years : array_like, shape (...)
        Study period n.

    Returns
    -------
    ndarray, shape (...)
        Rate, NaN where the ratio is NaN or negative. [1/year]

    Raises
    ------
    OutOfRangeError
        A rate of -100 % or less.

    Source
    ------
    10 CFR 436.22; ASTM E1057.
    """
    ratio = np.asarray(ratio, dtype=float)
    root = np.where(ratio >= 0, ratio, np.nan) ** (1.0 / np.asarray(years, dtype=float))
    return np.asarray((1.0 + as_rate(rate)) * root - 1.0)


def life_cycle_cost(
    rate: ArrayLike,
    capital: ArrayLike,
    annual_costs: Mapping[str, ArrayLike],
    *,
    years: int,
    escalation: Mapping[str, ArrayLike] | None = None,
    maintenance: ArrayLike = 0.0,
    replacements: Mapping[int, ArrayLike] | None = None,
    residual: ArrayLike = 0.0,
    incentive: ArrayLike = 0.0,
    timing: Timing = "end",
    rate_basis: RateBasis = "real",
    inflation: ArrayLike = 0.0,
    delay: ArrayLike = 0.0,
    capital_year: int = 0,
    tax: Tax | None = None,
) -> Array:
    """Present value of all that one option costs; two options differ by the `npv` between them.

    Parameters
    ----------
    rate : array_like, shape (...)
        Discount rate, above -1. [1/year]
    capital : array_like, shape (...)
        Capital in `capital_year`. [money]
    annual_costs : mapping of array_like, shape (...)
        Yearly cost by carrier at prices of year 0. [money/year]
    maintenance : array_like, shape (...)
        Yearly maintenance cost at prices of year 0. [money/year]
    years, escalation, replacements, residual, incentive, timing, rate_basis, inflation, delay, capital_year, tax
        As for `cash_flow`; replacements are costs, residual and incentive are receipts; costs save tax.

    Returns
    -------
    ndarray, shape (...)
        Life-cycle cost. [money]

    Raises
    ------
    OutOfRangeError, UnknownNameError
        As `cash_flow`.

    Source
    ------
    10 CFR 436.19; ASTM E917.
    """
    costs = cash_flow(
        years=years,
        capital=capital,
        savings={name: -np.asarray(cost, dtype=float) for name, cost in annual_costs.items()},
        escalation=escalation,
        maintenance=-np.asarray(maintenance, dtype=float),
        replacements=replacements,
        residual=residual,
        incentive=incentive,
        timing=timing,
        rate_basis=rate_basis,
        inflation=inflation,
        delay=delay,
        capital_year=capital_year,
        tax=tax,
    )
    return -npv(rate, costs.flows, timing=timing, at_year_end=costs.one_time)


def equivalent_annual_cost(rate: ArrayLike, present_cost: ArrayLike, years: ArrayLike) -> Array:
    """Level yearly amount, end of year, worth a present cost; compares options of unequal life.

    Parameters
    ----------
    rate : array_like, shape (...)
        Discount rate, above -1. [1/year]
    present_cost : array_like, shape (...)
        Life-cycle cost, see `life_cycle_cost`. [money]
    years : array_like, shape (...)
        Years it covers, above 0.

    Returns
    -------
    ndarray, shape (...)
        Yearly cost. [money/year]

    Raises
    ------
    OutOfRangeError
        A rate of -100 % or less, or no years.

    Notes
    -----
    Comparing unequal lives supposes that each option is bought again at the same price in the money of the rate: use
    the real rate with costs in constant money.
    """
    return np.asarray(present_cost, dtype=float) * capital_recovery_factor(rate, years)
