"""What replacing the baseline is worth over the study period."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from energy import finance
from energy.dryers.base import Array
from energy.finance import CashFlow
from energy.finance.factors import due
from energy.study.case import Case
from energy.study.cost import NOTHING, RunningCost
from energy.study.finding import Finding
from energy.study.life_cycle_measures import Measures
from energy.study.option_sections import Option

YEAR = 8760.0 * 3600.0  # s
NEARLY_ALL = 0.5
"""Share of an option's capital from which a replacement counts as the machine bought again, by judgement. [-]"""
RATCHET = "ratchet"
"""Stream of the cash flow: what the first year saves less, since the old peaks still count."""


def delay_of(case: Case) -> Any:
    """Years from the base date until what is bought begins its service, and its savings with it. [year]"""
    return case.model.finance.delay / YEAR


def in_service_from(option: Option, delay: Any) -> Any:
    """Where an option's replacements are counted from: the present dryers, and what a retrofit keeps of them, run already. [year]"""
    stands = option.baseline and not option.capital
    return 0.0 if stands or option.retrofit else delay


def replacements(option: Option, years: int, delay: Any = 0.0) -> dict[int, Array]:
    """Money spent on replacements by year, within the study and not in its last year.

    The first when it is due, or an interval from the beginning of service; the others an interval apart. Each falls to the
    nearest end of a year, the earlier one of two, and none before that of year 1; where the interval is drawn, to that of each
    draw. What falls before the service of what is bought begins is left out, as savings are: the present dryers go on until then.

    Parameters
    ----------
    option : Option
    years : int
        Study period.
    delay : array_like, shape (...)
        From the base date to the beginning of service of what is bought. [year]
    """
    spent: dict[int, Array] = {}
    if not option.replacements:
        return spent
    start = np.asarray(in_service_from(option, delay), float)[..., None]
    served = np.arange(1, years) >= np.asarray(delay, float)[..., None]
    for entry in option.replacements:
        every = np.asarray(entry.every, float)[..., None]
        ahead = -start if entry.next_due is None else every - np.asarray(entry.next_due, float)[..., None]
        done = np.maximum(0.0, np.floor((np.arange(years) + 0.5 + ahead) / every))  # by the middle of the year after
        done[..., 0] = 0.0
        times = np.diff(done, axis=-1) * served
        for i in np.flatnonzero(times.any(tuple(range(times.ndim - 1)))).tolist():
            spent[i + 1] = spent.get(i + 1, 0.0) + entry.amount * times[..., i]
    return spent


def residual(option: Option, capital: Array, years: int, delay: Any = 0.0) -> Array:
    """Value left at the end of the study by remaining life; nothing where no life is stated. [money]

    Only equipment can be used on or sold: what installation and engineering cost is gone. Its life begins with its service,
    `delay` years after the base date, whenever it is paid.
    """
    if option.life is None:
        return np.asarray(0.0 * capital)
    return finance.residual_value(capital * option.equipment_share, option.life, years, installed=delay)


@dataclass(frozen=True, slots=True, kw_only=True)
class Owned:
    """What it takes to own and run an option; of several options with an axis of them in front. [money]"""

    capital: Array
    replacements: Mapping[int, Array]
    """By year."""
    residual: Array
    incentive: Array
    annual: Mapping[str, Array]
    """Running cost of a year."""


def owned(case: Case, option: Option, cost: RunningCost, capital: Array | None = None) -> Owned:
    """An option with its running cost; with another capital than its own where one is given. [money]"""
    years = case.model.finance.years
    paid = np.asarray(option.capital_total if capital is None else capital)
    return Owned(
        capital=paid,
        replacements=replacements(option, years, delay_of(case)),
        residual=residual(option, paid, years, delay_of(case)),
        incentive=np.asarray(option.incentive),
        annual=cost.annual,
    )


def side_by_side(case: Case, options: Sequence[Option], costs: Sequence[RunningCost]) -> Owned:
    """Several options without draws as one, with an axis of them in front; as `owned` of each."""
    years, delay = case.model.finance.years, delay_of(case)
    capital = np.array([float(option.capital_total) for option in options])
    replaced = [replacements(option, years, delay) for option in options]
    of_year = sorted({year for spent in replaced for year in spent})
    # Without a life stated nothing is left of it.
    lasting = np.array([0.0 if option.life is None else float(option.equipment_share) for option in options])
    lives = [years if option.life is None else option.life for option in options]
    return Owned(
        capital=capital,
        replacements={y: np.array([spent.get(y, 0.0) for spent in replaced]) for y in of_year},
        residual=finance.residual_value(capital * lasting, lives, years, installed=delay),
        incentive=np.array([float(option.incentive) for option in options]),
        annual={name: np.array([cost.annual[name] for cost in costs]) for name in costs[0].annual},
    )


def life_notes(case: Case, option: Option) -> tuple[Finding, ...]:
    """Said where a machine's life ends within the study and no replacement comes near what it cost."""
    years, life = case.model.finance.years, option.life
    if life is None or float(delay_of(case)) + life >= years:
        return ()
    again = NEARLY_ALL * float(option.capital_total)
    if any(entry.amount >= again for entry in option.replacements):
        return ()
    text = (
        f"Its {life} years of service end within the {years} years of the study, and no other is bought: add a replacement, or "
        "the years after count a saving of a machine that is gone."
    )
    return (
        Finding(
            check="years of service", value=float(life), limit=float(years), unit="year", verdict="caution", text=text
        ),
    )


def escalation(case: Case) -> dict[str, float]:
    """Yearly price increase by carrier."""
    given = case.model.finance
    return {
        "electricity": given.escalation_electricity,
        "gas": given.escalation_gas,
        "water": given.escalation_other,
        "maintenance": given.escalation_other,
    }


def terms(case: Case) -> dict[str, Any]:
    """How the case counts money, as `finance.cash_flow` takes it."""
    given = case.model.finance
    tax = given.tax
    return {
        "timing": given.timing,
        "rate_basis": given.rate_basis,
        "inflation": given.inflation,
        "delay": delay_of(case),
        "capital_year": given.capital_year,
        "tax": None
        if tax is None
        else finance.Tax(
            rate=tax.rate, depreciation=tax.depreciation, life=tax.life, table=tax.table, incentive=tax.incentive
        ),
    }


def conventions(case: Case) -> list[str]:
    """What the money of a case takes for granted, one sentence each."""
    given = case.model.finance
    rises = {
        "maintenance, cooling and water" if k == "maintenance" else k: v
        for k, v in escalation(case).items()
        if k != "water"
    }
    return finance.conventions(rate=float(given.rate), years=given.years, escalation=rises, **terms(case))


def before_or_after_tax(case: Case) -> str:
    """Two words for beside a table."""
    return "before tax" if case.model.finance.tax is None else "after tax"


def against_baseline(
    case: Case,
    option: Option,
    cost: RunningCost,
    base: Option,
    base_cost: RunningCost,
    first_year: Mapping[str, Array] | None = None,
) -> CashFlow:
    """Cash flow of replacing the baseline by the option.

    Parameters
    ----------
    first_year : mapping of array_like, optional
        By carrier, what the saving of the first year is more than that of every later year: less where a ratchet still
        holds the old peaks. [money]
    """
    return flow_against(case, owned(case, option, cost), owned(case, base, base_cost), first_year)


def flow_against(case: Case, mine: Owned, theirs: Owned, first_year: Mapping[str, Array] | None = None) -> CashFlow:
    """Cash flow of replacing what is theirs by what is mine; `first_year` as for `against_baseline`."""
    years = case.model.finance.years
    before, after = theirs.replacements, mine.replacements
    flow = finance.cash_flow(
        years=years,
        capital=mine.capital - theirs.capital,
        savings={k: theirs.annual[k] - mine.annual[k] for k in ("electricity", "gas", "water")},
        escalation=escalation(case),
        maintenance=theirs.annual["maintenance"] - mine.annual["maintenance"],
        replacements={y: after.get(y, 0.0) - before.get(y, 0.0) for y in sorted({*after, *before})},
        residual=mine.residual - theirs.residual,
        incentive=mine.incentive - theirs.incentive,
        **terms(case),
    )
    return _with_first_year(case, flow, first_year or {})


def flow_of(case: Case, mine: Owned) -> CashFlow:
    """What it takes to own and run it, year by year; costs are negative."""
    return finance.cash_flow(
        years=case.model.finance.years,
        capital=mine.capital,
        savings={k: -mine.annual[k] for k in ("electricity", "gas", "water")},
        escalation=escalation(case),
        maintenance=-mine.annual["maintenance"],
        replacements=mine.replacements,
        residual=mine.residual,
        incentive=mine.incentive,
        **terms(case),
    )


def flows_against(
    case: Case, flow: CashFlow, others: Sequence[int], base: int, first_year: Mapping[str, Array]
) -> CashFlow:
    """Cash flow of replacing one of several options, at the place `base`, by each of the others, from the `flow_of` all of them.

    `first_year` as for `against_baseline`, of the others.
    """
    streams = {
        name: amounts[others] - amounts[base] if amounts.ndim > 1 else 0.0 * amounts  # the same of all
        for name, amounts in flow.streams.items()
    }
    return _with_first_year(case, CashFlow(streams=streams), first_year)


def _with_first_year(case: Case, flow: CashFlow, first_year: Mapping[str, Array]) -> CashFlow:
    years = case.model.finance.years
    late = {name: amount for name, amount in first_year.items() if np.any(np.abs(amount) > NOTHING)}
    if not late:
        return flow
    how, year = terms(case), np.arange(years + 1)
    served = [np.clip(year - shift - np.asarray(how["delay"])[..., None], 0.0, 1.0) for shift in (0.0, 1.0)]
    first = served[0] - served[1]  # share of the first year of service in each year
    rises, when = escalation(case), due(year, how["timing"])
    ratchet = first * np.asarray(
        sum(np.asarray(v)[..., None] * (1.0 + np.asarray(rises[k])[..., None]) ** when for k, v in late.items())
    )
    streams = {**flow.streams, RATCHET: ratchet}
    if how["tax"] is not None:
        streams["tax on savings"] = flow.streams["tax on savings"] - np.asarray(how["tax"].rate)[..., None] * ratchet
    return CashFlow(streams=streams)


def life_cycle_cost(case: Case, mine: Owned) -> Array:
    """Present value of owning and running it over the study period."""
    return present_cost(case, flow_of(case, mine))


def present_cost(case: Case, flow: CashFlow) -> Array:
    """Present value of the costs of a `flow_of`."""
    given = case.model.finance
    return -finance.npv(given.rate, flow.flows, timing=given.timing, at_year_end=flow.one_time)


def life_cycle_parts(case: Case, option: Option, annual: Mapping[str, float]) -> dict[str, float]:
    """What the life-cycle cost adds up from, each in present value, taxes on it included. [money]

    Parameters
    ----------
    case : Case
    option : Option
    annual : mapping of float
        Running cost of a year by carrier, maintenance with it. [money]
    """
    cost = RunningCost(annual={k: np.asarray(v) for k, v in annual.items()}, by_end_use={}, lines=())
    whole, zero = owned(case, option, cost), np.zeros(())
    nothing = Owned(
        capital=zero, replacements={}, residual=zero, incentive=zero, annual=dict.fromkeys(whole.annual, zero)
    )
    parts = {"capital": "capital", "running": "annual", "replacements": "replacements", "incentive": "incentive"}
    parts["value left"] = "residual"
    return {
        name: float(life_cycle_cost(case, replace(nothing, **{key: getattr(whole, key)})))
        for name, key in parts.items()
    }


def late_saving(case: Case, measures: Measures) -> float:
    """What the first year saves more than later ones, in present value, tax on it counted: below zero where old peaks are still billed. [money]

    By so much net savings differ from the difference of the two life-cycle costs.
    """
    given, how, late = case.model.finance, terms(case), measures.streams.get(RATCHET)
    if late is None:
        return 0.0
    kept = 1.0 if how["tax"] is None else 1.0 - float(how["tax"].rate)
    return kept * float(late @ (1.0 + float(given.rate)) ** -due(np.arange(late.size), how["timing"]))


def measures_of(case: Case, flow: CashFlow, saving: float = np.nan) -> Measures:
    """The measures of a cash flow on the case's terms; `saving` as for `measures_of_all`."""
    flow = CashFlow(streams={name: amounts[None] for name, amounts in flow.streams.items()})
    return measures_of_all(case, flow, np.asarray([saving]))[0]


def measures_of_all(case: Case, flow: CashFlow, saving: Array) -> list[Measures]:
    """The measures of the cash flows of several options, shape (options, years + 1), worked out together.

    Parameters
    ----------
    case : Case
    flow : CashFlow
    saving : ndarray, shape (options,)
        Net saving of a year at prices of year 0, for the capital over it; NaN where that is not asked for. [money/year]
    """
    rate, years, timing = case.model.finance.rate, case.model.finance.years, terms(case)["timing"]
    flows = flow.flows
    whole: dict[str, Any] = {"timing": timing, "at_year_end": flow.one_time}
    streams = {
        name: amounts if amounts.shape == flows.shape else np.broadcast_to(amounts, flows.shape)
        for name, amounts in flow.streams.items()
    }
    # What is left at the end is no money returned: payback is counted without it.
    returned = flow.without("residual")
    alone = returned.without("replacements")
    back, at_once = returned.flows, returned.one_time
    ratio = finance.sir(finance.npv(rate, flow.savings, timing=timing), -finance.npv(rate, flow.investment, **whole))
    npv = finance.npv(rate, flows, **whole)
    rates, notes = finance.irr_with_notes(flows, **whole)
    paid_first = -(streams["capital"] + streams["incentive"]).sum(-1)
    simple = finance.capital_over_saving(paid_first, saving)
    present, present_at_once = finance.discounted(rate, back, timing=timing, at_year_end=at_once)
    counted = np.array([back, alone.flows, present])
    payback, on_savings, discounted = finance.simple_payback(
        counted, at_year_end=np.array([at_once, alone.one_time, present_at_once])
    )
    free = dict(zip(("payback", "payback_on_savings", "discounted_payback"), finance.at_once(counted), strict=True))
    free["capital_over_saving"] = (paid_first <= 0.0) & (saving > NOTHING)
    payback_notes = finance.payback_notes(back, payback, back)
    discounted_notes = finance.payback_notes(back, discounted, present, rate=rate)
    yields = finance.airr(rate, ratio, years)
    return [
        Measures(
            cash_flow=flows[i],
            streams={name: amounts[i] for name, amounts in streams.items() if name != RATCHET or amounts[i].any()},
            npv=float(npv[i]),
            irr=float(rates[i]),
            irr_note=notes[i],
            capital_over_saving=float(simple[i]),
            payback=float(payback[i]),
            payback_on_savings=float(on_savings[i]),
            discounted_payback=float(discounted[i]),
            payback_note=payback_notes[i],
            discounted_payback_note=discounted_notes[i],
            sir=float(ratio[i]),
            airr=float(yields[i]),
            at_once=frozenset(name for name, there in free.items() if there[i]),
        )
        for i in range(len(flows))
    ]
