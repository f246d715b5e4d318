"""The yearly cash flow of an option against the baseline.

Conventions of the whole package: year 0 is the base date; what is spent there is not discounted. Yearly amounts fall at
the end of their year unless ``timing="mid"``; what is paid once, such as a replacement or the residual value, falls at
the end of its year with either timing. A price of year 0 that escalates at e is (1 + e) times as high in year 1: the
first yearly amount is already escalated once. Rates are fractions, real rates with flows in constant money or nominal
rates with flows in current money, never mixed. Before tax unless a `Tax` is given. `energy.finance.conventions` writes
these down for the settings of a study.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from energy.errors import OutOfRangeError, UnknownNameError, nearest
from energy.finance.factors import Array, RateBasis, Timing, as_rate, due, is_nominal
from energy.finance.tax import Tax

ONE_TIME = ("capital", "incentive", "replacements", "residual", "tax on replacements", "tax on residual")
"""The streams of a `CashFlow` that fall at once at the end of their year; all others come over the year."""

INVESTMENT = (*ONE_TIME, "depreciation", "tax on incentive")
"""The streams of a `CashFlow` that belong to the investment; all others are yearly savings."""


def residual_value(cost: ArrayLike, service_life: ArrayLike, years: int, *, installed: ArrayLike = 0.0) -> Array:
    """Value left in a thing at the end of the study: its cost times the unused share of its service life.

    Parameters
    ----------
    cost : array_like, shape (...)
        What it costs, in money of the base date. [money]
    service_life : array_like, shape (...)
        Service life, above 0. [years]
    years : int
        Study period.
    installed : array_like, shape (...)
        When its service begins, counted from the base date, 0 to `years`. [years]

    Returns
    -------
    ndarray, shape (...)
        Value in the last year. [money]; nothing when it has outlived its service life.

    Raises
    ------
    OutOfRangeError
        A service life of 0 or less, or a year outside the study.

    Source
    ------
    Remaining-life method, NIST Handbook 135 (2022), sec. 4.5.3.
    """
    life = np.asarray(service_life, dtype=float)
    if (life <= 0).any():
        raise OutOfRangeError("service life must be above 0 years")
    began = np.asarray(installed, dtype=float)
    if not ((began >= 0) & (began <= years)).all():
        raise OutOfRangeError(f"year installed = {began} is outside the study period, 0 to {years}")
    return np.asarray(cost, dtype=float) * np.maximum(1.0 - (years - began) / life, 0.0)


@dataclass(frozen=True, slots=True, kw_only=True)
class CashFlow:
    """An option's yearly cash flow against the baseline, stream by stream; outlays are negative."""

    streams: Mapping[str, Array]
    """Name of the stream to its amounts, shape (..., n + 1), years 0 to n. [money]"""

    @property
    def flows(self) -> Array:
        """Sum of all streams, shape (..., n + 1). [money]"""
        return np.asarray(sum(self.streams.values()))

    @property
    def investment(self) -> Array:
        """Capital, incentive, replacements, residual value and their taxes, shape (..., n + 1). [money]"""
        return np.asarray(sum(flow for name, flow in self.streams.items() if name in INVESTMENT))

    @property
    def savings(self) -> Array:
        """All other streams, shape (..., n + 1). [money]"""
        return np.asarray(sum(flow for name, flow in self.streams.items() if name not in INVESTMENT))

    @property
    def one_time(self) -> Array:
        """What falls at once at the end of its year, the ``at_year_end`` of the measures, shape (..., n + 1). [money]"""
        return np.asarray(sum(flow for name, flow in self.streams.items() if name in ONE_TIME))

    def without(self, *names: str) -> CashFlow:
        """The cash flow without some streams and the tax on them, such as a payback without the residual value."""
        for name in names:
            if name not in self.streams:
                raise UnknownNameError(
                    f"'{name}' is not a stream of the cash flow; known are {', '.join(self.streams)}"
                    f"{nearest(name, list(self.streams))}"
                )
        left_out = {*names, *(f"tax on {name}" for name in names)}
        return CashFlow(streams={name: flow for name, flow in self.streams.items() if name not in left_out})


def cash_flow(
    *,
    years: int,
    capital: ArrayLike,
    savings: Mapping[str, ArrayLike],
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
) -> CashFlow:
    """Cash flow of years 0 to n from prices of year 0; every amount is the difference to the baseline.

    Parameters
    ----------
    years : int
        Study period n, 1 or more.
    capital : array_like, shape (...)
        Extra capital, spent in `capital_year`. Money already spent does not belong here (10 CFR 436.12). [money]
    savings : mapping of array_like, shape (...)
        Yearly saving by carrier at prices of year 0; negative where the option costs more. [money/year]
    escalation : mapping of array_like, shape (...), optional
        Yearly price increase by carrier, or of "maintenance", over inflation where `rate_basis` is "real" and with it
        where "nominal"; 0 where not named. [1/year]
    maintenance : array_like, shape (...)
        Yearly maintenance saving at prices of year 0. [money/year]
    replacements : mapping of year to array_like, shape (...), optional
        Extra cost of replacements by year; negative where the option spares the baseline's. [money]
    residual : array_like, shape (...)
        Extra residual value at the end of year n, see `residual_value`. [money]
    incentive : array_like, shape (...)
        Grant or rebate received in `capital_year`. [money]
    timing : {"end", "mid"}
        "mid" escalates yearly amounts half a year less; measures with the same timing then discount them half a
        year less.
    rate_basis : {"real", "nominal"}
        Whether the flow, its escalations and the rate that will discount it are in constant money of year 0 or in
        current money.
    inflation : array_like, shape (...)
        General inflation. In current money capital after year 0, replacements and residual value rise with it; in
        constant money what is deducted for depreciation loses worth by it, and nothing else changes. [1/year]
    delay : array_like, shape (...)
        Years from the base date to the start of service, 0 to below n. Savings and maintenance before it are left
        out; a year begun counts by its share. Depreciation starts in the year of service begun. [years]
    capital_year : int
        Year at whose end the capital is spent and the incentive received, 0 to n; 0 is the base date.
    tax : Tax, optional
        Taxes savings and residual value and deducts replacements and depreciation in their years; before tax when
        left out. A loss saves tax in its year.

    Returns
    -------
    CashFlow
        Streams capital, incentive, one per carrier, maintenance, replacements, residual; with tax also tax on
        savings, tax on replacements, depreciation (the tax saved by it), tax on residual (on what it brings above the
        cost not yet deducted) and, where it is income, tax on incentive.

    Raises
    ------
    OutOfRangeError
        Fewer years than 1, a replacement or a start outside the study, or a rate of -100 % or less.
    UnknownNameError
        An escalation for a carrier without a saving, or a carrier named like another stream.

    Source
    ------
    Delayed start: 10 CFR 436.16(c), 436.17(b). After tax: textbook engineering economy.
    """
    if years < 1:
        raise OutOfRangeError(f"study period = {years} years; at least 1 is needed")
    if not 0 <= capital_year <= years:
        raise OutOfRangeError(f"year of the capital = {capital_year} is outside the study period, 0 to {years}")
    delay, inflation = np.asarray(delay, dtype=float), as_rate(inflation, "inflation")
    if not ((delay >= 0) & (delay < years)).all():
        raise OutOfRangeError(f"delay must be from 0 to below the study period of {years} years")
    yearly = {**savings, "maintenance": maintenance}
    for name in savings:
        if name in (*INVESTMENT, "maintenance", "tax on savings"):
            raise UnknownNameError(f"'{name}' is not a carrier; it is another stream of the cash flow")
    for name in escalation or {}:
        if name not in yearly:
            raise UnknownNameError(
                f"escalation of '{name}': there is no such carrier; "
                f"known are {', '.join(yearly)}{nearest(name, list(yearly))}"
            )
    year = np.arange(years + 1)
    when = due(year, timing)
    in_service = np.clip(year - delay[..., None], 0.0, 1.0)
    price = (1.0 + inflation)[..., None] ** (year if is_nominal(rate_basis) else 0 * year)
    streams = {
        "capital": -_at(capital_year, capital, years) * price,
        "incentive": _at(capital_year, incentive, years) * price,
    }
    for name, amount in yearly.items():
        rise = as_rate((escalation or {}).get(name, 0.0), f"escalation of {name}")
        streams[name] = np.asarray(amount, dtype=float)[..., None] * (in_service * (1.0 + rise)[..., None] ** when)
    streams["replacements"] = np.zeros(years + 1)
    for replaced, amount in (replacements or {}).items():
        if not 1 <= replaced <= years:
            raise OutOfRangeError(f"replacement in year {replaced} is outside the study period, 1 to {years}")
        streams["replacements"] = streams["replacements"] - _at(replaced, amount, years) * price
    streams["residual"] = _at(years, residual, years) * price
    if tax is not None:
        # What a sum fixed in money of the capital's year is worth later, in the money of the flow.
        worth = (1.0 + inflation)[..., None] ** (0 * year if is_nominal(rate_basis) else capital_year - year)
        mid_worth = (1.0 + inflation)[..., None] ** (0 * when if is_nominal(rate_basis) else capital_year - when)
        streams |= _taxes(streams, tuple(yearly), tax, capital_year, np.floor(delay), worth, mid_worth)
    return CashFlow(streams=streams)


def _taxes(
    streams: Mapping[str, Array],
    yearly: tuple[str, ...],
    tax: Tax,
    capital_year: int,
    start: Array,
    worth: Array,
    worth_when_due: Array,
) -> dict[str, Array]:
    """Tax paid (negative) or saved by the other streams, each of shape (..., n + 1).

    `start` is the last year before the first deduction; the two worths turn money of the capital's year into that of
    the flow, at the end of each year and when its yearly amounts are due.
    """
    rate = np.asarray(tax.rate, dtype=float)[..., None]
    incentive = streams["incentive"][..., capital_year, None]
    cost = -streams["capital"][..., capital_year, None] - (incentive if tax.incentive == "lowers basis" else 0.0)
    year = np.arange(worth.shape[-1])
    shares = tax.shares
    nth = (year - start[..., None]).astype(int)  # year of service
    share = np.where((nth >= 1) & (nth <= len(shares)), shares[np.clip(nth - 1, 0, len(shares) - 1)], 0.0)
    not_deducted = cost * (1.0 - share.sum(axis=-1, keepdims=True)) * worth
    last = year == year[-1]
    found = {
        "tax on savings": -rate * sum(streams[name] for name in yearly),
        "tax on replacements": -rate * streams["replacements"],
        "depreciation": rate * cost * share * worth_when_due,
        "tax on residual": -rate * (streams["residual"] - not_deducted * last),
    }
    if tax.incentive == "income":
        due = year == min(capital_year + 1, year[-1])  # with the other taxes of the year that begins then
        found["tax on incentive"] = -rate * incentive * due * worth_when_due
    return found


def _at(year: int, amount: ArrayLike, years: int) -> Array:
    """An amount of a single year, shape (..., years + 1)."""
    return np.asarray(amount, dtype=float)[..., None] * (np.arange(years + 1) == year)
