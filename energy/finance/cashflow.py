"""The yearly cash flow of an option against the baseline.

Conventions of the whole package: year 0 is the base date; capital is spent there and is not discounted.
Yearly amounts fall at the end of their year unless ``timing="mid"``. A price of year 0 that escalates at e is
(1 + e) times as high in year 1: the first yearly amount is already escalated once. Rates are fractions, real
rates with flows in constant money or nominal rates with flows in current money, never mixed. No tax.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from energy.errors import OutOfRangeError, UnknownNameError, nearest
from energy.finance.factors import Array, Timing, as_rate, is_mid

INVESTMENT = ("capital", "incentive", "replacements", "residual")
"""The streams of a `CashFlow` that belong to the investment; all others are yearly savings."""


def residual_value(cost: ArrayLike, service_life: ArrayLike, years: int, *, installed: int = 0) -> Array:
    """Value left in a thing at the end of the study: its cost times the unused share of its service life.

    Parameters
    ----------
    cost : array_like, shape (...)
        What it costs, in money of the base date. [money]
    service_life : array_like, shape (...)
        Service life, above 0. [years]
    years : int
        Study period.
    installed : int
        Year in which it is put in, 0 to `years`.

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
    if not 0 <= installed <= years:
        raise OutOfRangeError(f"year installed = {installed} is outside the study period, 0 to {years}")
    return np.asarray(cost, dtype=float) * np.maximum(1.0 - (years - installed) / life, 0.0)


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
        """Capital, incentive, replacements and residual value, shape (..., n + 1). [money]"""
        return np.asarray(sum(self.streams[name] for name in INVESTMENT))

    @property
    def savings(self) -> Array:
        """All other streams, shape (..., n + 1). [money]"""
        return np.asarray(sum(flow for name, flow in self.streams.items() if name not in INVESTMENT))


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
) -> CashFlow:
    """Cash flow of years 0 to n from first-year prices; every amount is the difference to the baseline.

    Parameters
    ----------
    years : int
        Study period n, 1 or more.
    capital : array_like, shape (...)
        Extra capital, spent in year 0. Money already spent does not belong here (10 CFR 436.12). [money]
    savings : mapping of array_like, shape (...)
        Yearly saving by carrier at prices of year 0; negative where the option costs more. [money/year]
    escalation : mapping of array_like, shape (...), optional
        Yearly price increase by carrier, or of "maintenance"; 0 where not named. [1/year]
    maintenance : array_like, shape (...)
        Yearly maintenance saving at prices of year 0. [money/year]
    replacements : mapping of year to array_like, shape (...), optional
        Extra cost of replacements by year; negative where the option spares the baseline's. [money]
    residual : array_like, shape (...)
        Extra residual value at the end of year n, see `residual_value`. [money]
    incentive : array_like, shape (...)
        Grant or rebate received in year 0. [money]
    timing : {"end", "mid"}
        "mid" escalates half a year less; measures with the same timing then discount half a year less.

    Returns
    -------
    CashFlow
        Streams capital, incentive, one per carrier, maintenance, replacements, residual.

    Raises
    ------
    OutOfRangeError
        Fewer years than 1, a replacement outside the study, or a rate of -100 % or less.
    UnknownNameError
        An escalation for a carrier without a saving, or a carrier named like another stream.
    """
    if years < 1:
        raise OutOfRangeError(f"study period = {years} years; at least 1 is needed")
    yearly = {**savings, "maintenance": maintenance}
    for name in savings:
        if name in (*INVESTMENT, "maintenance"):
            raise UnknownNameError(f"'{name}' is not a carrier; it is another stream of the cash flow")
    for name in escalation or {}:
        if name not in yearly:
            raise UnknownNameError(
                f"escalation of '{name}': there is no such carrier; "
                f"known are {', '.join(yearly)}{nearest(name, list(yearly))}"
            )
    year = np.arange(1, years + 1) - (0.5 if is_mid(timing) else 0.0)
    streams = {
        "capital": _at(0, -np.asarray(capital, dtype=float), years),
        "incentive": _at(0, incentive, years),
    }
    for name, amount in yearly.items():
        rise = as_rate((escalation or {}).get(name, 0.0), f"escalation of {name}")
        amounts = np.asarray(amount, dtype=float)[..., None] * (1.0 + rise)[..., None] ** year
        streams[name] = np.concatenate([np.zeros_like(amounts[..., :1]), amounts], axis=-1)
    streams["replacements"] = np.zeros(years + 1)
    for when, amount in (replacements or {}).items():
        if not 1 <= when <= years:
            raise OutOfRangeError(f"replacement in year {when} is outside the study period, 1 to {years}")
        streams["replacements"] = streams["replacements"] - _at(when, amount, years)
    streams["residual"] = _at(years, residual, years)
    return CashFlow(streams=streams)


def _at(year: int, amount: ArrayLike, years: int) -> Array:
    """An amount of a single year, shape (..., years + 1)."""
    return np.asarray(amount, dtype=float)[..., None] * (np.arange(years + 1) == year)
