"""Real and nominal rates, and the discount factors of yearly and single amounts.

Rates are fractions. Yearly amounts fall at the end of their year unless ``timing="mid"``; year 0 is the base
date. A price of year 0 that escalates at e is (1 + e) times as high in year 1: the first yearly amount is
already escalated once.
"""

from __future__ import annotations

from typing import Literal, TypeAlias

import numpy as np
from numpy.typing import ArrayLike, NDArray

from energy.errors import OutOfRangeError, UnknownNameError, nearest

Array: TypeAlias = NDArray[np.float64]
Timing: TypeAlias = Literal["end", "mid"]
RateBasis: TypeAlias = Literal["real", "nominal"]


def real_rate(nominal: ArrayLike, inflation: ArrayLike) -> Array:
    r"""Real rate from a nominal one, (1 + nominal) / (1 + inflation) - 1.

    Parameters
    ----------
    nominal, inflation : array_like, shape (...)
        Rates above -1. [1/year]

    Returns
    -------
    ndarray, shape (...)
        Real rate. [1/year]

    Raises
    ------
    OutOfRangeError
        A rate of -100 % or less.

    Source
    ------
    Fisher's equation.
    """
    nominal, inflation = as_rate(nominal, "nominal rate"), as_rate(inflation, "inflation")
    return np.asarray((nominal - inflation) / (1.0 + inflation))


def nominal_rate(real: ArrayLike, inflation: ArrayLike) -> Array:
    r"""Nominal rate from a real one, (1 + real) (1 + inflation) - 1; the inverse of `real_rate`.

    Parameters
    ----------
    real, inflation : array_like, shape (...)
        Rates above -1. [1/year]

    Returns
    -------
    ndarray, shape (...)
        Nominal rate. [1/year]

    Raises
    ------
    OutOfRangeError
        A rate of -100 % or less.

    Source
    ------
    Fisher's equation.
    """
    real, inflation = as_rate(real, "real rate"), as_rate(inflation, "inflation")
    return np.asarray(real + inflation + real * inflation)


def current_money(
    flows: ArrayLike, inflation: ArrayLike, *, timing: Timing = "end", at_year_end: ArrayLike = 0.0
) -> Array:
    r"""A cash flow in constant money of year 0 written in current money, flow_t (1 + inflation)^t.

    Parameters
    ----------
    flows : array_like, shape (..., n + 1)
        Cash flow of years 0 to n in constant money. [money]
    inflation : array_like, shape (...)
        General inflation, above -1; minus inflation / (1 + inflation) leads back. [1/year]
    timing : {"end", "mid"}
        "mid" counts half a year less for yearly amounts.
    at_year_end : array_like, shape (..., n + 1)
        The part of the flow that falls at once at the end of its year whatever the timing. [money]

    Returns
    -------
    ndarray, shape (..., n + 1)
        Cash flow in current money. [money]; its present value at `nominal_rate` is that of `flows` at the real rate.

    Raises
    ------
    OutOfRangeError
        Inflation of -100 % or less.

    Source
    ------
    10 CFR 436.14(a): constant money with a real rate or current money with a nominal rate.
    """
    flows, lumps = np.asarray(flows, dtype=float), np.asarray(at_year_end, dtype=float)
    growth = (1.0 + as_rate(inflation, "inflation"))[..., None]
    year = np.arange(flows.shape[-1])
    return np.asarray((flows - lumps) * growth ** due(year, timing) + lumps * growth**year)


def single_present_value(rate: ArrayLike, year: ArrayLike) -> Array:
    """Present value of one unit of money paid at the end of a year, (1 + rate)^-year.

    Parameters
    ----------
    rate : array_like, shape (...)
        Discount rate, above -1. [1/year]
    year : array_like, shape (...)
        Years from the base date.

    Returns
    -------
    ndarray, shape (...)
        Factor. [-]

    Raises
    ------
    OutOfRangeError
        A rate of -100 % or less.
    """
    return np.asarray((1.0 + as_rate(rate)) ** -np.asarray(year, dtype=float))


def uniform_present_value(
    rate: ArrayLike, years: ArrayLike, escalation: ArrayLike = 0.0, *, timing: Timing = "end"
) -> Array:
    r"""Present value of one unit of money a year, at prices of year 0, that escalates.

    .. math:: \sum_{t=1}^{n} r^t = r \frac{1 - r^n}{1 - r}, \quad r = \frac{1 + escalation}{1 + rate}

    Parameters
    ----------
    rate : array_like, shape (...)
        Discount rate, above -1. [1/year]
    years : array_like, shape (...)
        Number of years n, 0 or more.
    escalation : array_like, shape (...)
        Yearly price increase, above -1. [1/year]
    timing : {"end", "mid"}
        When in each year the amount falls; "mid" counts half a year less of discount and of escalation.

    Returns
    -------
    ndarray, shape (...)
        Factor. [years]; n where the two rates are equal.

    Raises
    ------
    OutOfRangeError
        A rate of -100 % or less, or fewer than no years.

    Source
    ------
    UPV and UPV* of the life-cycle costing literature (ASTM E917; NIST Handbook 135); "mid" reproduces
    MIL-HDBK-1003/13A.
    """
    rate, escalation = as_rate(rate), as_rate(escalation, "escalation")
    years = np.asarray(years, dtype=float)
    if (years < 0).any():
        raise OutOfRangeError("years must be 0 or more")
    log_ratio = np.log1p(escalation) - np.log1p(rate)
    level = log_ratio == 0.0
    safe = np.where(level, 1.0, log_ratio)
    factor = np.where(level, years, np.exp(safe) * np.expm1(years * safe) / np.expm1(safe))
    return factor * np.exp(-0.5 * log_ratio) if is_mid(timing) else factor


def capital_recovery_factor(rate: ArrayLike, years: ArrayLike) -> Array:
    """Level yearly amount, end of year, that pays back one unit of money with interest: 1 / UPV.

    Parameters
    ----------
    rate : array_like, shape (...)
        Discount rate, above -1. [1/year]
    years : array_like, shape (...)
        Number of years, above 0.

    Returns
    -------
    ndarray, shape (...)
        Factor. [1/year]

    Raises
    ------
    OutOfRangeError
        A rate of -100 % or less, or no years.
    """
    if (np.asarray(years) <= 0).any():
        raise OutOfRangeError("years must be above 0")
    return 1.0 / uniform_present_value(rate, years)


def discount_factors(rate: ArrayLike, length: int, timing: Timing = "end") -> Array:
    """Discount factors of years 0 to length - 1, shape (..., length). [-]"""
    return np.asarray((1.0 + as_rate(rate))[..., None] ** -due(np.arange(length), timing))


def discounted(
    rate: ArrayLike, flows: ArrayLike, *, timing: Timing = "end", at_year_end: ArrayLike = 0.0
) -> tuple[Array, Array]:
    """Present value of each amount.

    Parameters
    ----------
    rate : array_like, shape (...)
        Discount rate, above -1. [1/year]
    flows : array_like, shape (..., n + 1)
        Net cash flow of years 0 to n. [money]
    timing, at_year_end
        "mid" discounts year t by t - 1/2 years, except for what is named `at_year_end`, shape (..., n + 1).

    Returns
    -------
    present, at_year_end : ndarray, shape (..., n + 1)
        All of each year, and the part of it that falls at once at the end of its year. [money]

    Raises
    ------
    OutOfRangeError
        A rate of -100 % or less.
    """
    flows, lumps = np.asarray(flows, dtype=float), np.asarray(at_year_end, dtype=float)
    at_end = discount_factors(rate, flows.shape[-1])
    lumps = lumps * at_end
    over_year = discount_factors(rate, flows.shape[-1], timing) if is_mid(timing) else at_end
    return (flows - at_year_end) * over_year + lumps, lumps


def as_rate(rate: ArrayLike, name: str = "discount rate") -> Array:
    """The rate as an array; refuses -100 % or less, where no present value exists. NaN passes."""
    rate = np.asarray(rate, dtype=float)
    if (rate <= -1.0).any():
        raise OutOfRangeError(f"{name} = {100 * rate[rate <= -1.0].min():g} % must be above -100 %")
    return rate


def is_mid(timing: str) -> bool:
    """Whether yearly amounts fall in the middle of the year; refuses anything but "end" or "mid"."""
    if timing not in ("end", "mid"):
        raise UnknownNameError(f"timing = '{timing}' is not known; write end or mid{nearest(timing, ['end', 'mid'])}")
    return timing == "mid"


def is_nominal(basis: str) -> bool:
    """Whether money is current money; refuses anything but "real" or "nominal"."""
    if basis not in ("real", "nominal"):
        known = ["real", "nominal"]
        raise UnknownNameError(f"rate basis = '{basis}' is not known; write real or nominal{nearest(basis, known)}")
    return basis == "nominal"


def due(year: ArrayLike, timing: Timing) -> Array:
    """When the yearly amounts of years 0, 1, ... fall: at their end, or half a year earlier but never before 0."""
    return np.maximum(np.asarray(year, dtype=float) - (0.5 if is_mid(timing) else 0.0), 0.0)
