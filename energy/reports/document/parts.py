"""What the net present value is made of, and how a payback is counted out."""

from __future__ import annotations

import math

import numpy as np

from energy.dryers.base import Array
from energy.finance import CashFlow
from energy.finance.cashflow import ONE_TIME
from energy.finance.factors import due
from energy.reports.amounts import YEAR
from energy.reports.document import worth
from energy.reports.document.proposal import Proposal
from energy.reports.document.records import Paragraph, Table
from energy.reports.document.words import amount
from energy.reports.in_time import decimals, in_time
from energy.reports.paid_back import paid_back
from energy.reports.paid_later import grown_by_then
from energy.reports.tables import in_whole
from energy.study.compare import OptionResult
from energy.study.life_cycle import RATCHET, escalation, measures_of
from energy.study.life_cycle_measures import Measures

PARTS = {
    "energy": ("Energy, cooling and compressed air", ("electricity", "gas", "water", RATCHET)),
    "maintenance": ("Maintenance", ("maintenance",)),
    "replacements": ("Replacements and overhauls, spared less added", ("replacements",)),
    "residual": ("Value left at the end", ("residual",)),
    "incentive": ("Incentive", ("incentive",)),
    "tax": (
        "Tax",
        ("tax on savings", "tax on replacements", "depreciation", "tax on residual", "tax on incentive"),
    ),
    "capital": ("Capital", ("capital",)),
}
"""Words of each part of the net present value, and the streams of the cash flow in it."""

ON_SAVINGS = "payback_on_savings"
"""Name of the payback without replacements spared or added."""


def present_values(p: Proposal, option: OptionResult) -> dict[str, float]:
    """Present value of each part that is not nothing; they add up to the net present value. [money]"""
    m, given = option.measures, p.case.model.finance
    assert m is not None
    year = np.arange(m.cash_flow.size)
    at_once, over_year = ((1.0 + given.rate) ** -when for when in (1.0 * year, due(year, given.timing)))
    found = {
        key: sum(
            float(m.streams[name] @ (at_once if name in ONE_TIME else over_year)) for name in names if name in m.streams
        )
        for key, (_, names) in PARTS.items()
    }
    return {key: value for key, value in found.items() if value != 0.0 or key == "capital"}


def made_of(p: Proposal, option: OptionResult) -> Table:
    """The parts of the net present value."""
    assert option.measures is not None
    values, npv = present_values(p, option), option.measures.npv
    rows = [(PARTS[key][0], amount(v)) for key, v in zip(values, in_whole([*values.values()], npv), strict=True)]
    return Table(
        title=f"What the net present value is made of, over {p.case.model.finance.years} years",
        head=("Part", f"Present value {p.currency}"),
        rows=(*rows, ("Net present value", amount(npv))),
        weights=(3, 1),
        strong=(len(rows),),
    )


def made_of_in_words(p: Proposal, option: OptionResult) -> Paragraph:
    """The same in a sentence, for the short form."""
    table = made_of(p, option)
    *rows, (capital, spent), (_, npv) = table.rows
    listed = ", ".join(f"{value} of {label[:1].lower()}{label[1:]}" for label, value in rows)
    return Paragraph(
        text=f"In present value the {npv} {p.currency} are made of {listed}, less {spent.removeprefix('−')} of {capital.lower()}.",
        short=True,
        only_short=True,
    )


def with_capital(p: Proposal, option: OptionResult, capital: float) -> Measures:
    """Its measures with more capital than the option's."""
    return measures_of(p.case, worth.flow_of(p.comparison, option, reserve=capital))


def limit_met(p: Proposal, option: OptionResult) -> bool | None:
    """Is the capital back within the longest payback that the case accepts? None where it names none."""
    m = option.measures
    assert m is not None
    nothing_to_pay_back = m.paid_first <= 0.0 and m.npv > 0.0
    return True if nothing_to_pay_back and limit_of(p) is not None else _within(p, m.payback)


def _within(p: Proposal, payback: float) -> bool | None:
    limit = limit_of(p)
    return None if limit is None else in_time(payback, limit)


def limit_of(p: Proposal) -> float | None:
    """The longest payback accepted. [year]"""
    given = p.case.model.finance.maximum_payback
    return None if given is None else float(given) / YEAR


def answer_to_limit(p: Proposal, option: OptionResult) -> str:
    """Whether the limit of the plant is met, without and with the contingency; empty where the case names none."""
    m, limit = option.measures, limit_of(p)
    assert m is not None
    if limit is None:
        return ""
    met = limit_met(p, option)
    if met and not math.isfinite(m.payback):
        return f"Met: {m.payback_note or 'there is nothing to pay back'}."
    counted = " with overhauls counted" if np.any(m.streams["replacements"] != 0.0) else ""
    spent = with_capital(p, option, p.reserve) if p.reserve else m
    d = decimals(limit, m.payback, spent.payback, m.payback_on_savings)
    said = f"{'Met' if met else 'Not met'}: payback {years(m, d)}{counted}, {limit:.{d}f} years accepted"
    if p.reserve:
        turned = {(True, False): " and then not met", (False, True): " and then met"}
        said += f"; {years(spent, d)} on the whole sum asked for{turned.get((bool(met), bool(_within(p, spent.payback))), '')}"
    if met and not _within(p, m.payback_on_savings) and ON_SAVINGS not in m.at_once:
        alone = paid_back(m, ON_SAVINGS, d, " years", never="never")
        said += f"; met by the replacements spared alone: on running cost it is {alone}, so their dates decide"
    above = "above" if m.npv > 0 else "below"
    return f"{said}. The net present value of {p.money(m.npv)} is {above} zero."


def basis_of_simple(p: Proposal, option: OptionResult) -> str:
    """In a few words, what the simple payback counts, and how many years of saving the capital is."""
    m = option.measures
    assert m is not None
    if not math.isfinite(m.capital_over_saving):
        return basis_of_payback(p, option)
    inside = ["overhauls"] if np.any(m.streams["replacements"] != 0.0) else []
    inside += ["price rises"] if any(escalation(p.case).values()) else []
    said = f"{' and '.join(inside) or 'running cost'} counted" if math.isfinite(m.payback) else m.payback_note
    paid = "capital less incentive" if np.any(m.streams["incentive"]) else "capital"
    said += f"; {paid} is {m.capital_over_saving:.1f} years of saving"
    return f"{said}, {_over_saving_with(p, option, p.reserve):.1f} with contingency" if p.reserve else said


def _over_saving_with(p: Proposal, option: OptionResult, capital: float) -> float:
    """Capital over a year's saving with more capital than the option's. [year]"""
    flow = worth.flow_of(p.comparison, option, reserve=capital)
    return measures_of(p.case, flow, p.base.total_cost - option.total_cost).capital_over_saving


def basis_of_worth(p: Proposal, option: OptionResult) -> str:
    """In a few words, what is in the net present value."""
    m = option.measures
    assert m is not None
    named = {"replacements": "overhauls", "residual": "value left at the end", "incentive": "the incentive"}
    inside = [words for key, words in named.items() if np.any(m.streams[key] != 0.0)]
    return f"with {', '.join(inside)}" if inside else "no overhaul and no value left in it"


def basis_of_payback(p: Proposal, option: OptionResult) -> str:
    """In a few words, what is in the payback of the key figures."""
    m = option.measures
    assert m is not None
    if not math.isfinite(m.payback):
        return m.payback_note
    inside = ["overhauls spared or added"] if np.any(m.streams["replacements"] != 0.0) else []
    inside += ["price rises"] if any(escalation(p.case).values()) else []
    without = ", the contingency not" if p.reserve else ""
    return f"{' and '.join(inside) or 'only running cost'} counted in{without}"


def counted_out(p: Proposal, option: OptionResult) -> str:
    """The sum behind the payback with overhauls counted, which a reader can add up; empty where there is nothing to pay back."""
    m = option.measures
    assert m is not None
    returned = CashFlow(streams=m.streams).without("residual")
    evenly = returned.flows - returned.one_time
    first = returned.streams["capital"] + returned.streams["incentive"]
    lumps = returned.one_time - first
    end = evenly.size - 1
    ends = math.isfinite(m.payback)
    if not first.sum() < 0 or not (ends or np.cumsum(returned.flows)[-1] < 0):
        return ""
    last = min(end, max(1, math.ceil(round(m.payback, 9)))) - 1 if ends else end
    upto = slice(0, last + 1)
    sums = [-float(x[upto].sum()) for x in (first, evenly, lumps)]
    whole = in_whole(sums, sum(sums))
    reserve = ", the contingency not in it" if p.reserve else ""
    less = " less the incentive" if returned.streams["incentive"].any() else ""
    grown = ""
    if (by := grown_by_then(p.comparison)) != 1.0:
        now = amount(float(-first.sum()) / by)
        grown = f" ({now} of today, risen with inflation until it is paid at the end of year {p.case.model.finance.capital_year})"
    said = f"{amount(whole[0])} {p.currency} of capital{less}{grown}{reserve}"
    if last:
        served = int(np.flatnonzero(evenly)[0]) if evenly.any() else 0
        rise = ", with the price rises of the case" if any(escalation(p.case).values()) else ""
        tax = " after tax" if p.case.model.finance.tax is not None else ""
        said += (
            f", {_sign(whole[1])} {amount(abs(whole[1]))} of running cost {'saved' if whole[1] <= 0 else 'added'}{tax} in years 1 to {last} "
            f"({amount(float(evenly[served]))} in year {served}{rise})"
        )
    if lumps[upto].any():
        said += f", {_sign(whole[2])} {amount(abs(whole[2]))} for {_overhauls(lumps[upto])}"
    if not ends:
        return f"{said}: {amount(sum(whole))} is still to come back after {last} years."
    brought, lump = float(evenly[last + 1]), float(lumps[last + 1])
    at_end = f", and {amount(lump)} at its end for {_overhauls(lumps[last + 1 : last + 2])}" if lump else ""
    return (
        f"{said}: {amount(sum(whole))} is still to come back after year {last}. Year {last + 1} brings {amount(brought)}{at_end}: "
        f"{years(m, digits(p, option))}."
    )


def _sign(value: float) -> str:
    return "less" if value <= 0 else "plus"


def _overhauls(lumps: Array) -> str:
    """Words for what is paid once, by what it comes to."""
    return f"overhauls and replacements {'spared' if lumps.sum() >= 0 else 'added'}"


def otherwise(p: Proposal, option: OptionResult) -> str:
    """The payback counted in other ways."""
    m = option.measures
    assert m is not None
    said = []
    if p.reserve:
        said.append(
            f"{years(with_capital(p, option, p.reserve))} with the contingency spent ({p.asked(option.capital + p.reserve)})"
        )
    if any(escalation(p.case).values()):
        level = worth.with_finance(p.case, **{f"escalation_{k}": 0.0 for k in ("electricity", "gas", "other")})
        still = measures_of(level, worth.flow_of(p.comparison, option, case=level))
        said.append(f"{years(still)} at level prices")
    if np.any(m.streams["replacements"] != 0.0):
        said.append(f"{years(m, name=ON_SAVINGS)} on running cost alone, no overhaul or replacement spared or added")
    return f"Counted otherwise: {'; '.join(said)}." if said else ""


def digits(p: Proposal, option: OptionResult) -> int:
    """Decimals with which an option's payback is told, so that it does not look like the limit where it is another."""
    return 1 if option.measures is None else decimals(limit_of(p), option.measures.payback)


def years(m: Measures, digits: int = 1, name: str = "payback") -> str:
    """A payback in words."""
    return paid_back(m, name, digits, " years", never="none within the study")
