"""Sections on capital, savings, cash flow, measures and what moves them."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from energy import finance
from energy.finance import CashFlow
from energy.finance.factors import due
from energy.reports.document import chance, parts, worth
from energy.reports.document.proposal import Proposal
from energy.reports.document.records import (
    Block,
    Bullets,
    Chart,
    Curve,
    Lines,
    Paragraph,
    Swings,
    Table,
)
from energy.reports.document.words import (
    BELOW_ZERO,
    COSTS,
    amount,
    number,
    one_place,
    payback_of,
    percent,
)
from energy.study import meter
from energy.study.compare import KWH, Comparison, OptionResult
from energy.study.cost import before_or_after_tax, conventions, terms

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


def capital(p: Proposal) -> Iterator[Block]:
    option, request = p.option, p.request
    assert option is not None
    rows = [
        (line.item, str(line.count), amount(float(line.amount)), amount(float(line.amount) * line.count), _basis(p, i))
        for i, line in enumerate(option.option.capital)
    ]
    rows.append(("Capital", "", "", amount(option.capital), ""))
    strong = [len(rows) - 1]
    if p.reserve:
        rows.append(
            (
                f"Contingency, {percent(float(request.contingency))}",
                "",
                "",
                amount(p.reserve),
                "assumption of the requester",
            )
        )
        rows.append(("Asked for", "", "", amount(option.capital + p.reserve), ""))
        strong.append(len(rows) - 1)
    yield Table(
        title=f"Capital of “{option.name}”, {p.currency}",
        head=("Item", "Number", "Each", "Amount", "Basis"),
        rows=tuple(rows),
        align="lrrrl",
        weights=(3.5, 0.8, 1, 1, 2),
        strong=tuple(strong),
    )
    quote = request.quote_date.isoformat() if request.quote_date else "not stated"
    reserve = (
        "The contingency is asked for on top and is in none of the measures but the scenario that spends it."
        if p.reserve
        else "No contingency is stated."
    )
    yield Paragraph(
        text=f"Estimate class: {request.estimate_class or 'not stated'}. Date of the quotes: {quote}. {reserve}"
    )
    life = option.option.life
    text = (
        f"Service life {life} years"
        if life
        else "No service life is stated, so nothing is left in the machines at the end"
    )
    spent = [
        f"{r.item.lower()}, every {r.every:g} years, {amount(float(r.amount))} {p.currency}"
        for r in option.option.replacements
    ]
    yield Paragraph(
        text=f"{text}. Replacements: {'; '.join(spent) if spent else 'none foreseen'}. Items not listed, such as "
        "training, disposal or production lost, are in the capital only where a line names them."
    )


def _basis(p: Proposal, place: int) -> str:
    """What the case says of a line of capital."""
    assert p.option is not None
    raws = next(o for o in p.case.document["options"] if o["name"] == p.option.name).get("capital")
    if isinstance(raws, list) and place < len(raws):
        raw = raws[place].get("amount")
    else:
        raw = raws if place == 0 else p.case.document.get("compressed_air", {}).get("capital_if_larger")
    if isinstance(raw, dict):
        return ", ".join(str(raw[key]) for key in ("basis", "note") if raw.get(key))
    return "given, basis not stated"


@dataclass(frozen=True, slots=True, kw_only=True)
class BeforeAfter:
    """One line of a year's cost before and after. [money]"""

    line: str
    clause: str
    before: float
    after: float


def before_after(comparison: Comparison, option: OptionResult) -> list[BeforeAfter]:
    """The plant's bills line by line, then what is no line of a bill; the falls add up to the saving."""
    case, base = comparison.case, comparison.baseline
    found: list[BeforeAfter] = []
    on_bills = set()
    for name, tariff, carriers in meter.meters(case):
        if tariff is None or not any(k[1] in carriers for k in (*base.year.energy, *option.year.energy)):
            continue
        sums: list[dict[tuple[str, str], float]] = []
        for year in (base.year, option.year):
            made: dict[tuple[str, str], float] = {}
            for line in meter.billed(tariff, meter.loads(case, tariff, year, base.year, carriers)[0]).lines:
                made[line.line, line.clause] = made.get((line.line, line.clause), 0.0) + float(line.amount)
            sums.append(made)
        on_bills |= {*sums[0], *sums[1]}
        for key in dict.fromkeys([*sums[0], *sums[1]]):
            found.append(
                BeforeAfter(
                    line=f"{name.capitalize()}: {key[0]}" if name != "water" else f"Cooling: {key[0]}",
                    clause=key[1],
                    before=sums[0].get(key, 0.0),
                    after=sums[1].get(key, 0.0),
                )
            )
    others: dict[tuple[str, str], list[float]] = {}
    for i, o in enumerate((base, option)):
        for entry in o.bill:
            if (entry.line, entry.clause) not in on_bills:
                others.setdefault((entry.line, entry.clause), [0.0, 0.0])[i] += entry.amount
    found += [BeforeAfter(line=key[0], clause=key[1], before=v[0], after=v[1]) for key, v in others.items()]
    found.append(
        BeforeAfter(
            line="Maintenance",
            clause="",
            before=base.annual_cost["maintenance"],
            after=option.annual_cost["maintenance"],
        )
    )
    return found


def savings(p: Proposal, option: OptionResult) -> Iterator[Block]:
    lines = before_after(p.comparison, option)
    rows = [(b.line, b.clause, amount(b.before), amount(b.after), amount(b.before - b.after)) for b in lines]
    before, after = sum(b.before for b in lines), sum(b.after for b in lines)
    rows.append(("Total", "", amount(before), amount(after), amount(before - after)))
    whole = p.case.model.plant_load is not None
    yield Table(
        title=f"Bills and upkeep of a year before and after, {p.currency}",
        head=("Line", "Clause", "Before", "After", "Saving"),
        rows=tuple(rows),
        align="llrrr",
        weights=(3, 3, 1, 1, 1),
        strong=(len(rows) - 1,),
        short=True,
        note="Electricity is the bill of the whole plant; the other lines are of the dryers alone."
        if whole
        else "Bills of the dryers alone: the case has no load of the whole plant.",
    )
    saved = option.savings.get("electricity")
    said = []
    if saved is not None:
        realised = float(saved.demand_realised())
        if math.isfinite(realised):
            said.append(
                f"Of the demand saving that the fall of power would be worth at the full rate, the bill gives back {percent(realised)}."
            )
        if abs(float(saved.first_year) - float(saved.steady)) > 1.0:
            said.append(
                f"In the first year the electricity bill falls by {p.money(float(saved.first_year))} only: a ratchet still bills old peaks."
            )
        if math.isfinite(float(saved.average_error)):
            said.append(
                f"Energy saved times the average price of the bill would say {p.money(float(saved.average_estimate))} a year for "
                f"electricity; the two bills differ by {p.money(float(saved.steady))}, and that is what counts here."
            )
    if said:
        yield Paragraph(text=" ".join(said))
    b, kwh = p.base, KWH
    energy = [
        (
            "Electricity kWh",
            (b.carrier("electricity") + b.carrier("compressed air")) / kwh,
            (option.carrier("electricity") + option.carrier("compressed air")) / kwh,
        )
    ]
    energy += [
        ("Gas kWh", b.carrier("gas") / kwh, option.carrier("gas") / kwh),
        ("Heat to cooling kWh", b.carrier("cooling") / kwh, option.carrier("cooling") / kwh),
        ("Water m³", float(np.sum(b.year.water)), float(np.sum(option.year.water))),
        ("Peak kW", b.peak / 1e3, option.peak / 1e3),
        ("CO₂ t", b.emissions / 1e3, option.emissions / 1e3),
    ]
    yield Table(
        title="Quantities of a year before and after",
        head=("Quantity", "Before", "After", "Saving"),
        rows=tuple(
            (
                n,
                amount(x) if x > 100 or y > 100 else number(x),
                amount(y) if x > 100 or y > 100 else number(y),
                amount(x - y) if x > 100 or y > 100 else number(x - y),
            )
            for n, x, y in energy
            if x or y
        ),
        weights=(3, 1, 1, 1),
    )


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

    rows = [
        (
            "Life-cycle cost, baseline",
            f"{amount(base.life_cycle_cost)} {p.currency}",
            "capital, energy, upkeep, replacements less what is left, in present value",
        ),
        (f"Life-cycle cost, {option.name}", f"{amount(option.life_cycle_cost)} {p.currency}", "the same"),
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
            "Simple payback",
            payback_of(option),
            m.payback_note or f"no discounting, no value left; {parts.basis_of_payback(p, option)}",
        ),
        (
            "Simple payback on running cost alone",
            f"{m.payback_on_savings:.1f} years" if math.isfinite(m.payback_on_savings) else "none",
            "without replacements spared or added",
        ),
        *(
            [("Simple payback on the whole sum asked for", spent, "the same, with the contingency in it")]
            if p.reserve and (spent := parts.years(parts.payback_with(p, option, p.reserve)))
            else []
        ),
        (
            "Discounted payback",
            f"{m.discounted_payback:.1f} years" if math.isfinite(m.discounted_payback) else "none",
            m.discounted_payback_note or "without residual value",
        ),
    ]
    yield Table(
        title="Life-cycle measures and payback",
        head=("Measure", "Value", "How to read it"),
        rows=tuple(rows),
        align="lrl",
        weights=(2.2, 1.2, 2.6),
        short=True,
    )
    if given.rate < 0.0:
        yield Paragraph(text=BELOW_ZERO, style="warning", short=True)
    yield Paragraph(text="Conventions", style="heading")
    yield Bullets(items=tuple(conventions(p.case)))


def sensitivity(p: Proposal, option: OptionResult, odds: chance.Odds | None) -> Iterator[Block]:
    m = option.measures
    assert m is not None
    found, left_out = worth.swings(p.comparison, option)
    shown = found[:12]
    yield Chart(
        title="What moves the net present value, one input at a time",
        alt="Tornado chart. "
        + "; ".join(f"{s.label}: {amount(s.low)} to {amount(s.high)} {p.currency}" for s in shown)
        + ".",
        drawing=Swings(
            labels=tuple(s.label for s in shown),
            low=tuple(s.low for s in shown),
            high=tuple(s.high for s in shown),
            middle=m.npv,
            axis=f"Net present value, {p.currency}",
        ),
    )
    yield Paragraph(
        text="Ranges in words are those of the case, each run through the whole model with everything else held; ±20 % and ±2 points "
        "are common tests, not known ranges." + (f" Not varied: {'; '.join(left_out)}." if left_out else ""),
        style="note",
    )
    yield Paragraph(text="Break-evens", style="heading")
    yield Bullets(items=tuple(_break_evens(p, option)))
    yield Table(
        title="Scenarios",
        head=(
            "If",
            f"Saving a year {p.currency}",
            f"Net present value {p.currency}",
            "Simple payback years",
            "Discounted payback years",
        ),
        rows=tuple(
            (
                s.name,
                amount(s.saving),
                amount(s.npv),
                number(s.payback) if math.isfinite(s.payback) else "none",
                number(s.discounted) if math.isfinite(s.discounted) else "none",
            )
            for s in worth.scenarios(p.comparison, option)
        ),
        weights=(3, 1, 1, 1, 1),
        strong=(0,),
        note="A dearer machine leaves more at the end of the study and, after tax, has more deducted.",
    )
    yield Paragraph(text="Chance", style="heading")
    if odds is None:
        yield Paragraph(
            text="No simulation was run for this document: the ranges above are taken one at a time and say nothing of how likely they are."
        )
    else:
        yield from odds.blocks()


def _break_evens(p: Proposal, option: OptionResult) -> Iterator[str]:
    even = worth.break_evens(p.comparison, option)
    if option.capital:
        gap = even.capital / option.capital - 1.0
        side = "above" if gap >= 0 else "below"
        yield f"The net present value is zero at a capital of {p.money(even.capital)}, {percent(abs(gap))} {side} the estimate."
    else:
        yield "No extra capital is needed."
    if even.savings < 1.0:
        yield f"All yearly savings may fall to {percent(max(even.savings, 0.0))} of those worked out before it is zero."
    elif math.isfinite(even.savings):
        yield f"All yearly savings would have to be {even.savings:.2f} times those worked out to bring it to zero."
    if math.isfinite(even.energy):
        yield (
            "The saving on energy and water alone could vanish without bringing it below zero."
            if even.energy <= 0
            else f"For energy and water alone that point lies at {percent(even.energy)} of the saving worked out."
        )
    least = worth.least_throughput(p.comparison, option)
    if math.isfinite(least):
        half = float(worth.npv_at(p.comparison, option, np.array([0.5]))[0])
        point = (
            f"stays above zero down to {percent(worth.LEAST)} of the throughput"
            if least == 0.0
            else f"is zero at {percent(least)} of the throughput"
        )
        yield (
            f"If all hoppers run slower in the machines as they are built, present and new, the net present value {point}; "
            f"at half the throughput it is {p.money(half)}."
        )
