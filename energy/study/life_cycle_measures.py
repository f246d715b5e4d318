"""What replacing the baseline by an option is worth, in figures."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from energy.dryers.base import Array


@dataclass(frozen=True, slots=True, kw_only=True)
class Measures:
    """Life-cycle measures of an option against the baseline; NaN where there is none, with the reason in a note."""

    cash_flow: Array
    streams: Mapping[str, Array]
    """The same cash flow by what it comes from."""
    npv: float
    irr: float
    irr_note: str
    capital_over_saving: float
    """Extra capital less incentive over the net saving of a year at prices of year 0, before tax. [year]"""
    payback: float
    """Until the cash added up is zero for good: replacements, price rises and tax are in it, the value left is not. [year]"""
    payback_on_savings: float
    """The same without the replacements that are spared or added. [year]"""
    discounted_payback: float
    payback_note: str
    discounted_payback_note: str
    sir: float
    airr: float
    at_once: frozenset[str] = frozenset()
    """Which of the paybacks above are none because no extra money is ever owed while some is saved, by name."""

    @property
    def paid_first(self) -> float:
        """Extra capital less incentive in the money of the year in which it is paid; none where an option costs no more than the baseline. [money]"""
        return -float(self.streams["capital"].sum() + self.streams["incentive"].sum())
