"""What saving the approval needs, and whether measurement can show it."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np

from energy import finance
from energy.reports.document import parts, worth
from energy.reports.document.proposal import Proposal
from energy.reports.document.words import bought, kwh, percent, saving_of
from energy.study.compare import OptionResult

MOST = 10.0
"""Saving up to which the payback limit is looked for, over the forecast. [-]"""


@dataclass(frozen=True, slots=True, kw_only=True)
class Needed:
    """Saving of a year over the forecast; on the whole sum asked for, the contingency in it. NaN where there is none. [-]"""

    worth: float
    """At which the net present value is zero."""
    limit: float
    """At which the longest payback accepted is met; infinite where ten times the forecast do not do, NaN where the case names none."""

    @property
    def share(self) -> float:
        """The greater of the two, but the whole forecast where that does not reach it."""
        return min(1.0, float(np.nanmax([self.worth, self.limit, 0.0])))


def needed(p: Proposal, option: OptionResult) -> Needed:
    """What the approval rests on; all yearly savings are scaled alike."""
    none = dict.fromkeys(worth.SAVINGS, 0.0)
    whole = worth.flow_of(p.comparison, option, reserve=p.reserve)
    without = worth.flow_of(p.comparison, option, reserve=p.reserve, saved=none)
    npv = worth.npv_of(p.comparison, whole)
    saved = npv - worth.npv_of(p.comparison, without)
    limit = parts.limit_of(p)
    start, end = without.without("residual"), whole.without("residual")

    def payback(share: float) -> float:
        flows = start.flows + share * (end.flows - start.flows)
        if finance.nothing_to_pay_back(flows):
            return 0.0
        years = float(finance.simple_payback(flows, at_year_end=start.one_time))
        return years if math.isfinite(years) else math.inf

    return Needed(
        worth=1.0 - npv / saved if saved > 0.0 else math.nan,
        limit=math.nan if limit is None else _least(payback, limit),
    )


def _least(payback: Callable[[float], float], longest: float) -> float:
    """Least share of the saving with which the payback is no longer than that; infinite where ten times it do not do."""
    low, high = 0.0, MOST
    if payback(low) <= longest:
        return low
    if payback(high) > longest:
        return math.inf
    while high - low > 1e-6:
        middle = 0.5 * (low + high)
        low, high = (low, middle) if payback(middle) <= longest else (middle, high)
    return high


def in_words(p: Proposal, option: OptionResult, error: float) -> str:
    """The threshold of success, why it stands there, and whether it can be measured.

    Parameters
    ----------
    p : Proposal
    option : OptionResult
    error : float
        Of the metered saving of energy, both ways; NaN where none can be stated. [-]
    """
    found, forecast = needed(p, option), saving_of(p, option)
    at, limit = found.share * forecast, parts.limit_of(p)
    if not forecast > 0.0:
        less = bought(p.base) - bought(option)
        energy = f" Of energy it saves {kwh(less)} a year, which meters can show." if less > 0.0 else ""
        return f"By the forecast no money is saved in a year, so there is no saving of money to show.{energy}"
    wants, missed = [], []
    if math.isfinite(found.worth):
        wants.append(f"{_saving(p, found.worth, forecast)} for a net present value of zero")
        missed.append(_over(found.worth))
    if limit is not None:
        wants.append(f"{_saving(p, found.limit, forecast)} for a payback of {limit:.{parts.digits(p, option)}f} years")
        missed.append(_over(found.limit))
    if any(missed):
        text = f"Passed if the adjusted saving is at least the {p.money(forecast)} a year of the forecast"
    else:
        text = f"Passed if the adjusted saving is at least {p.money(at)} a year, of {p.money(forecast)} forecast"
    needs = f"the {'whole sum' if p.reserve else 'capital'} asked for needs"
    text += f"; {needs} {' and '.join(wants)}{_reached(missed)}." if wants else "."
    upkeep = p.base.annual_cost["maintenance"] - option.annual_cost["maintenance"]
    if abs(upkeep) >= 0.5:
        side = "less" if upkeep > 0.0 else "more"
        text += f" In the forecast stands {p.money(abs(upkeep))} of {side} upkeep: that is shown by work orders and invoices, by no meter."
    text += " The meters by themselves have to show at least their share of it, with nothing credited."
    return f"{text}{_measurable(p, option, at, error)}"


def _saving(p: Proposal, share: float, forecast: float) -> str:
    """A saving that something needs, as a share of the forecast, in words; infinite where none was found."""
    if not math.isfinite(share):
        return f"more than {MOST:.0f} times the forecast"
    share = share if _over(share) else min(share, 1.0)
    return f"{p.money(share * forecast)} a year" if share > 0.0 else "no saving"


def _reached(missed: Sequence[bool]) -> str:
    """Which of one or two wants the forecast reaches, where it does not reach all."""
    if not any(missed):
        return ""
    if all(missed):
        return f", and the forecast reaches {'neither' if len(missed) == 2 else 'less'}"
    return f", and the forecast reaches the {'second' if missed[0] else 'first'} alone"


def _over(share: float) -> bool:
    """Is a share of the forecast more than all of it, as closely as paybacks are told? NaN is not."""
    return share >= 1.005


def out_of_reach(p: Proposal, option: OptionResult, error: float) -> bool:
    """Does the forecast lie so near the least that passes that meters of that error cannot tell success as forecast?"""
    forecast = saving_of(p, option)
    return forecast > 0.0 and forecast * (1.0 - needed(p, option).share) < _doubt(p, option, error)


def _doubt(p: Proposal, option: OptionResult, error: float) -> float:
    """What the meters leave open of the saving, both ways. [money/year]"""
    metered = saving_of(p, option) - (p.base.annual_cost["maintenance"] - option.annual_cost["maintenance"])
    return error * abs(metered)


def _measurable(p: Proposal, option: OptionResult, at: float, error: float) -> str:
    """Can a meter tell success from failure?"""
    if not math.isfinite(error):
        return ""
    forecast, doubt = saving_of(p, option), _doubt(p, option, error)
    said = f" A result within ±{p.money(doubt)} of the least that passes, the error of the meters alone, shows neither success nor failure"
    if forecast - at < doubt:
        return f"{said}; the forecast lies that near, so success as forecast cannot be verified by these meters: agree now who bears the doubt."
    return f"{said}; that least lies {percent((forecast - at) / forecast)} below the forecast."
