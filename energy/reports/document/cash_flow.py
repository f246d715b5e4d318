"""Sections on the cash flow and the measures of worth taken from it."""

from __future__ import annotations

import math
from collections.abc import Iterator

import numpy as np

from energy import finance
from energy.finance import CashFlow
from energy.finance.factors import due
from energy.reports.document import parts
from energy.reports.document.proposal import Proposal
from energy.reports.document.records import Block, Bullets, Chart, Curve, Lines, Paragraph, Table
from energy.reports.document.words import (
    BELOW_ZERO,
    COSTS,
    OVERHAULS,
    amount,
    number,
    one_place,
    payback_of,
    percent,
)
from energy.reports.doubts import OLD_PEAKS
from energy.reports.paid_back import paid_back
from energy.study.compare import OptionResult
from energy.study.life_cycle import before_or_after_tax, conventions, late_saving, terms

STREAMS = {
    "capital": "Capital",
    "incentive": "Incentive",
    **COSTS,
    "ratchet": "First year, old peaks",
    "replacements": "Replacements",
    "residual": "Residual value",
    "depreciation": "Tax saved by deduction",
}
ON = {"savings": "savings", "replacements": "replacements", "residual": "residual value", "incentive": "incentive"}
STREAMS |= {f"tax on {key}": f"Tax on {words}" for key, words in ON.items()}


def cash_flow(p: Proposal, option: OptionResult) -> Iterator[Block]:
    m, rate = option.measures, p.case.model.finance.rate
    assert m is not None
    shown = [k for k in STREAMS if k in m.streams and np.any(m.streams[k] != 0.0)]
    flow, timing = CashFlow(streams=m.streams), terms(p.case)["timing"]
    year = np.arange(m.cash_flow.size)
    present = flow.one_time * (1.0 + rate) ** -year
    present = present + (m.cash_flow - flow.one_time) * (1.0 + rate) ** -due(year, timing)
    rows = [
        (
            str(t),
            *(amount(float(m.streams[k][t])) for k in shown),
            amount(float(m.cash_flow[t])),
            amount(float(m.cash_flow[: t + 1].sum())),
            amount(float(present[: t + 1].sum())),
        )
        for t in year
    ]
    total = (
        "Sum",
        *(amount(float(m.streams[k].sum())) for k in shown),
        amount(float(m.cash_flow.sum())),
        "",
        amount(float(present.sum())),
    )
    yield Table(
        title=f"Cash flow against the baseline, {p.currency} of year 0"
        if p.case.model.finance.rate_basis == "real"
        else f"Cash flow against the baseline, {p.currency}",
        head=("Year", *(STREAMS[k] for k in shown), "Net", "Added up", "Added up, discounted"),
        rows=(*rows, total),
        align="r" * (len(shown) + 4),
        strong=(len(rows),),
        note="Money in is positive. Year 0 is the base date; yearly amounts fall "
        f"{'in the middle' if timing == 'mid' else 'at the end'} of their year. {before_or_after_tax(p.case).capitalize()}.",
    )
    cumulative = np.cumsum(flow.without("residual").flows)
    discounted = np.cumsum(present)
    yield Chart(
        title="Cash added up",
        alt=f"Cumulative cash over {year[-1]} years: starts at {amount(float(cumulative[0]))}, ends at {amount(float(cumulative[-1]))} "
        f"undiscounted without residual value and {amount(float(discounted[-1]))} discounted with it, {p.currency}.",
        drawing=Lines(
            curves=(
                Curve(name="undiscounted, without residual value", x=tuple(year), y=tuple(cumulative), marker="o"),
                Curve(
                    name="discounted, with residual value",
                    x=tuple(year),
                    y=tuple(discounted),
                    dashes="dashed",
                    marker="s",
                ),
            ),
            x_axis="year",
            y_axis=p.currency,
        ),
    )


def measures(p: Proposal, option: OptionResult) -> Iterator[Block]:
    m, given, base = option.measures, p.case.model.finance, p.base
    assert m is not None

    def annual(cost: float) -> str:
        return amount(float(finance.equivalent_annual_cost(given.rate, cost, given.years)))

    late = late_saving(p.case, m)
    words = OLD_PEAKS[late > 0.0].removeprefix("for ")
    rows = [
        (
            "Life-cycle cost, baseline",
            f"{amount(base.life_cycle_cost)} {p.currency}",
            "capital, running and replacements less what is left, in present value",
        ),
        (f"Life-cycle cost, {option.name}", f"{amount(option.life_cycle_cost)} {p.currency}", "the same"),
        *(
            [
                (
                    f"{words[:1].upper()}{words[1:]}",
                    f"{amount(late)} {p.currency}",
                    "a ratchet bills them; in present value",
                )
            ]
            if round(late)
            else []
        ),
        ("Net savings (net present value)", f"{amount(m.npv)} {p.currency}", "worth it above zero"),
        ("Savings-to-investment ratio", number(m.sir, 2), "worth it above 1"),
        (
            "Adjusted internal rate of return",
            one_place(m.airr),
            f"worth it above the discount rate, {percent(given.rate)}",
        ),
        (
            "Internal rate of return",
            one_place(m.irr) if math.isfinite(m.irr) else "none",
            m.irr_note or "accept or reject only; not for ranking",
        ),
        (
            "Equivalent annual cost, baseline",
            f"{annual(base.life_cycle_cost)} {p.currency}/year",
            "life-cycle cost as a level yearly sum",
        ),
        (f"Equivalent annual cost, {option.name}", f"{annual(option.life_cycle_cost)} {p.currency}/year", "the same"),
        (
            "Capital over a year's saving",
            paid_back(m, "capital_over_saving", unit=" years"),
            "extra capital less incentive, without contingency, over the net saving of a year at today's prices, before tax; no overhaul in it",
        ),
        (
            OVERHAULS,
            payback_of(option, parts.digits(p, option)),
            m.payback_note or parts.basis_of_payback(p, option),
        ),
        (
            "Payback on running cost alone",
            paid_back(m, "payback_on_savings", unit=" years"),
            "the same, without replacements spared or added",
        ),
        *(
            [("Payback on the whole sum asked for", spent, "overhauls counted, and the contingency spent")]
            if p.reserve and (spent := parts.years(parts.with_capital(p, option, p.reserve)))
            else []
        ),
        (
            "Discounted payback",
            paid_back(m, "discounted_payback", unit=" years"),
            m.discounted_payback_note or "without residual value",
        ),
    ]
    yield Table(
        title="Life-cycle measures and payback",
        head=("Measure", "Value", "How to read it"),
        rows=tuple(rows),
        align="lrl",
        weights=(2, 0.9, 3.1),
        short=True,
    )
    if given.rate < 0.0:
        yield Paragraph(text=BELOW_ZERO, style="warning", short=True)
    yield Paragraph(text="Conventions", style="heading")
    yield Bullets(items=tuple(conventions(p.case)))
