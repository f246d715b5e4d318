"""Sections on the decision, the baseline, the scope and the options."""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import Literal

import numpy as np

from energy.dryers.base import END_USES
from energy.reports import answer, inputs, tables
from energy.reports.document import chance, parts, worth
from energy.reports.document.proposal import Proposal
from energy.reports.document.records import (
    Bars,
    Block,
    Bullets,
    Chart,
    Curve,
    Figures,
    Lines,
    Paragraph,
    Table,
)
from energy.reports.document.words import (
    BESIDE,
    COSTS,
    NOT_STATED,
    amount,
    bought,
    degrees,
    kwh,
    number,
    one_place,
    payback_of,
    percent,
    pretty,
    saving_of,
    specific_of,
    tonnes,
)
from energy.study import predicted_moisture
from energy.study.compare import KWH, OptionResult
from energy.study.cost import before_or_after_tax, replacements
from energy.units import shown_unit, to_unit

NOT_DRY = {"fail": " (fails to dry)", "unlikely": " (unlikely to dry)"}


def decision(p: Proposal, odds: chance.Odds | None) -> Iterator[Block]:
    option, request = p.option, p.request
    if option is None:
        yield Paragraph(text=f"No capital is asked for. {p.why}", style="lead", short=True)
        yield Paragraph(topic="Why now.", text=f"{request.why_now or NOT_STATED}", short=True)
        return
    m, given = option.measures, p.case.model.finance
    assert m is not None
    saving, total = saving_of(p, option), option.capital + p.reserve
    reserve = f", of which {p.money(p.reserve)} is contingency," if p.reserve else ""
    yield Paragraph(
        text=f"Approval is asked for {p.money(total)}{reserve or ''} to replace “{p.base.name}” by “{option.name}”. {p.why}",
        style="lead",
        short=True,
    )
    if answered := parts.answer_to_limit(p, option):
        style: Literal["normal", "warning"] = "normal" if parts.limit_met(p, option) else "warning"
        yield Paragraph(topic="Longest payback accepted.", text=answered, style=style, short=True)
    within = f"; {said}" if odds is not None and (said := odds.payback()) else ""
    saved = bought(p.base) - bought(option)
    less = p.base.emissions - option.emissions
    npv_word = f"over {given.years} years at {percent(given.rate)} {given.rate_basis}, {before_or_after_tax(p.case)}"
    if p.reserve:
        spent = worth.npv_of(p.comparison, worth.flow_of(p.comparison, option, capital=p.reserve))
        npv_word += f"; {p.money(spent)} with the contingency spent"
    if odds is not None:
        npv_word += f"; above zero in {odds.draws(odds.option.npv_positive)}"
    yield Figures(
        items=(
            (
                "Capital",
                p.money(total),
                f"{p.money(option.capital)} and the contingency" if p.reserve else "no contingency stated",
            ),
            ("Net saving a year", p.money(saving), f"of {p.money(p.base.total_cost)} running cost, at today's prices"),
            ("Simple payback", payback_of(option), f"{parts.basis_of_payback(p, option)}{within}"),
            ("Net present value", p.money(m.npv), npv_word),
            ("Energy", f"{kwh(saved)} a year", f"{percent(saved / bought(p.base))} less"),
            ("CO₂", f"{tonnes(less)} a year", "less" if less >= 0 else "a rise"),
        ),
        short=True,
    )
    if counted := parts.counted_out(p, option):
        yield Paragraph(
            topic="Payback counted out.", text=f"{counted} {parts.otherwise(p, option)}".strip(), short=True
        )
    yield parts.made_of(p, option)
    yield parts.made_of_in_words(p, option)
    yield Paragraph(topic="Why now.", text=f"{request.why_now or NOT_STATED}", short=True)
    yield Paragraph(topic="Does it dry?", text=f"{_dries(p, option)}{f' {odds.dries()}' if odds else ''}", short=True)
    yield Paragraph(topic="Main risk.", text=f"{_main_risk(p, option)}", short=True)
    if odds is None:
        yield Paragraph(
            text="No uncertainty simulation was run for this document; what moves the result, one input at a time, stands in the "
            "section on sensitivity of the full document.",
            style="note",
            short=True,
        )


def _in_figures(p: Proposal, option: OptionResult) -> Table:
    """Baseline and proposal side by side."""
    b, cur, unit = p.base, p.currency, shown_unit("specific energy", p.case.model.case.units)
    rows = [
        (f"Running cost {cur}/year", amount(b.total_cost), amount(option.total_cost), amount(option.total_cost - b.total_cost)),
        (f"Life-cycle cost {cur}, {p.case.model.finance.years} years", amount(b.life_cycle_cost), amount(option.life_cycle_cost),
         amount(option.life_cycle_cost - b.life_cycle_cost)),
        ("Energy bought kWh/year", *(amount(v / KWH) for v in (bought(b), bought(option), bought(option) - bought(b)))),
        (f"Energy per resin {unit}", *(number(float(to_unit(v, "specific energy", unit)))
         for v in (b.specific_energy, option.specific_energy, option.specific_energy - b.specific_energy))),
        ("Highest power of 15 minutes kW", number(b.peak / 1e3), number(option.peak / 1e3), number((option.peak - b.peak) / 1e3)),
        ("CO₂ t/year", *(number(v / 1e3) for v in (b.emissions, option.emissions, option.emissions - b.emissions))),
    ]  # fmt: skip
    return Table(
        title="Side by side",
        head=("One year", "Baseline", "Proposal", "Change"),
        rows=tuple(rows),
        weights=(3, 1, 1, 1),
    )


def _dries(p: Proposal, option: OptionResult) -> str:
    word = option.verdict.word
    if word == "pass":
        return f"Yes: “{option.name}” passes every check at every hopper."
    shaky = list(dict.fromkeys(f.hopper or f.check for f in option.verdict.findings if f.verdict != "pass"))
    return (
        f"{'Not expected on the best estimate' if word == 'unlikely' else 'Expected, with caution'}: not every check passes "
        f"({', '.join(shaky)}; reasons in the section on options of the full document). Settle it by a drying trial or the "
        "producer's written guarantee before the order."
    )


def _main_risk(p: Proposal, option: OptionResult) -> str:
    if p.request.risks:
        return p.request.risks[0]
    if option.verdict.overall != "pass":
        return "The resin may not reach its moisture target: not every check of drying passes."
    even = worth.break_evens(p.comparison, option)
    if even.savings < 1.0:
        return f"The saving may be smaller than worked out; down to {percent(even.savings)} of it the money is still earned back."
    return "The saving worked out does not earn the capital back at the discount rate."


def baseline(p: Proposal) -> Iterator[Block]:
    base, given = p.base, p.case.model.finance
    kg = float(np.sum(base.year.resin))
    unit = "t" if p.case.model.case.units == "si" else "short tons"
    mass = kg / (1000.0 if unit == "t" else 907.18474)
    yield Paragraph(
        text=f"The baseline is “{base.name}” ({base.label}). In the year of the study it dries {mass:,.0f} {unit} of pellets "
        f"and takes {kwh(bought(base))}: {specific_of(p, base.specific_energy)} of resin, where warming the resin and "
        f"evaporating its water takes {specific_of(p, base.minimum_energy)}. It costs {p.money(base.total_cost)} a year to run "
        f"and emits {tonnes(base.emissions)} of CO₂.",
        short=True,
    )
    spent = replacements(base.option, given.years)
    coming = "; ".join(f"{amount(float(v))} {p.currency} in year {y}" for y, v in sorted(spent.items()))
    yield Paragraph(
        text=f"Doing nothing costs {p.money(base.life_cycle_cost)} over {given.years} years in present value"
        + (f", replacements included ({coming})." if spent else "; no replacements are foreseen in the case."),
        short=True,
    )
    note = p.case.model.case.note
    if note:
        yield Paragraph(text=f"The case notes: {note}")
    rows = []
    for use in END_USES:
        used = sum(v for (u, c), v in base.energy.items() if u == use and c != "cooling")
        if used > 0 or base.cost_by_end_use.get(use, 0.0) > 0:
            rows.append(
                (
                    use.capitalize(),
                    amount(used / KWH),
                    one_place(used / bought(base)),
                    amount(base.cost_by_end_use.get(use, 0.0)),
                )
            )
    rest = {k: v for k, v in base.cost_by_end_use.items() if k not in END_USES and v}
    rows += [(k.capitalize(), "", "", amount(v)) for k, v in rest.items()]
    rows.append(("Total", amount(bought(base) / KWH), "100.0 %", amount(base.total_cost)))
    yield Table(
        title="Energy and cost of the baseline by end use, one year",
        head=("End use", "Energy kWh", "Share", f"Cost {p.currency}"),
        rows=tuple(rows),
        strong=(len(rows) - 1,),
        weights=(3, 1, 1, 1),
        note="Cost is by how much the bills are higher than without the dryers: fixed charges are left out.",
    )
    yield Paragraph(topic="Data.", text=_data_basis(p))
    yield _heat_chart(p)
    lost = sorted(((v, k) for k, v in base.heat_out.items() if k not in ("resin", "evaporated water")), reverse=True)[
        :3
    ]
    if lost:
        named = ", ".join(f"{k} {kwh(v)}" for v, k in lost)
        yield Paragraph(
            text=f"Largest flows of heat that leave the baseline other than in the resin: {named} a year. No use of "
            "this heat elsewhere is counted unless an option says so."
        )


def _data_basis(p: Proposal) -> str:
    """Where the figures come from: measured, bills, estimates."""
    entries = [e for e in inputs.register(p.case) if not e.path.startswith(BESIDE)]
    counts: dict[str, int] = {}
    for entry in entries:
        counts[entry.basis] = counts.get(entry.basis, 0) + 1
    measured, plated = counts.get("measured", 0), counts.get("nameplate", 0)
    load = p.case.model.plant_load
    bills = "twelve months of the plant's electricity bills" if load and p.case.readings is None else ""
    bills = "interval readings of the plant's electricity" if load and p.case.readings is not None else bills
    return (
        f"The figures are worked out by a model from {len(entries)} inputs: {measured} measured, {plated} from "
        f"nameplates, {counts.get('quoted', 0)} quoted, {counts.get('read', 0)} read from documents; the others are given "
        f"without a basis, assumed or typical values (section “Assumptions”). "
        + (f"The bill is worked out on {bills}. " if bills else "No bills or readings of the whole plant were given. ")
        + "The dryers themselves are not metered unless an input says measured."
    )


def _heat_chart(p: Proposal) -> Chart:
    shown = [p.base, *([p.option] if p.option else [])]
    names = list(dict.fromkeys(k for o in shown for k in o.heat_out))
    small = [n for n in names if all(o.heat_out.get(n, 0.0) < 0.03 * sum(o.heat_out.values()) for o in shown)]
    series = [(n, tuple(o.heat_out.get(n, 0.0) / KWH for o in shown)) for n in names if n not in small]
    if small:
        series.append(("other", tuple(sum(o.heat_out.get(n, 0.0) for n in small) / KWH for o in shown)))
    told = "; ".join(
        f"{o.name}: " + ", ".join(f"{n} {amount(v[i])} kWh" for n, v in series) for i, o in enumerate(shown)
    )
    return Chart(
        title="Where the heat of a year goes",
        alt=f"Stacked bars of heat leaving. {told}.",
        drawing=Bars(labels=tuple(o.name for o in shown), series=tuple(series), axis="kWh a year"),
    )


def scope(p: Proposal) -> Iterator[Block]:
    request, case = p.request, p.case
    hoppers = len(case.model.hoppers)
    scope = f"Drying of the resin at {hoppers} hopper{'s' if hoppers > 1 else ''}, listed below."
    yield Paragraph(topic="Scope.", text=f"{request.scope or scope}")
    air = "the compressors' electricity for the air sent to the dryers, " if case.model.compressed_air else ""
    hall = "hall heating and cooling by the dryers' heat" if case.model.building else ""
    inside = f"Inside: electricity and fuel of the dryers with their hoppers, {air}cooling of the dryers, maintenance"
    outside = "the processing machines, material handling before the hopper" + (
        "" if hall else ", heating and cooling of the hall"
    )
    own = f"{inside}{', ' + hall if hall else ''}. Outside: {outside}."
    yield Paragraph(topic="Boundary.", text=f"{request.boundary or own}")
    calendar_ = case.calendar
    yield Paragraph(
        topic="Time frame.",
        text=f"One year of operation ({case.model.case.year}): {calendar_.production.sum() / 3600:,.0f} h of production, "
        f"{calendar_.standby.sum() / 3600:,.0f} h of standby, {calendar_.starts.sum():,.0f} starts; judged over "
        f"{case.model.finance.years} years. Depth: engineering model checked against stated inputs, before a vendor's detailed design.",
    )
    system = case.model.case.units
    temperature, mass = shown_unit("temperature", system), shown_unit("mass flow", system)
    served = (p.option or p.base).served
    rows = []
    for s in served:
        d = s.duty
        limit = next((f for f in s.verdict.findings if f.check == "dew point"), None)
        m = s.verdict.moisture
        rows.append(
            (
                s.hopper.name,
                s.duty.resin.abbreviation + (" (own values)" if s.hopper.own_resin else ""),
                number(float(to_unit(float(s.hopper.throughput), "mass flow", mass))),
                number(float(to_unit(float(d.drying_temperature[0]), "temperature", temperature)), 0),
                number(float(d.residence_time[0]) / 3600),
                amount(float(to_unit(m.target, "moisture", "ppm"))),
                "" if limit is None or limit.limit is None else f"{number(limit.limit, 0)} {degrees(limit.unit)}",
            )
        )
    head = (
        "Hopper",
        "Resin",
        f"Throughput {mass}",
        f"Drying temperature {degrees(temperature)}",
        "Residence h",
        "Target moisture ppm",
        "Dew point practice asks for",
    )
    yield Table(
        title="Process limits that every option is held to",
        head=head,
        rows=tuple(rows),
        align="llrrrrr",
        note="Moisture on wet basis. Resin values are typical where the case gives none: follow the producer's sheet.",
    )


def options(p: Proposal) -> Iterator[Block]:
    c, cur = p.comparison, p.currency
    options = c.in_order()
    unit = shown_unit("specific energy", p.case.model.case.units)
    yield Paragraph(
        text=f"Every option dries the same resin at the same throughput in the same air; “{p.base.name}” is doing nothing. "
        "Ranked are options that are expected to dry: the surest first, then by life-cycle cost. Of one that fails or is unlikely "
        "to dry no money is held out; why stands below."
    )
    if p.option is not None:
        yield _in_figures(p, p.option)
    money, energy = [], []
    for i, o in enumerate(options):
        m, ranked = o.measures, p.holds_out(o)
        place = str(i + 1) if o.verdict.word in ("pass", "caution") else "–"
        chosen = " (recommended)" if o is p.option else " (baseline)" if m is None else ""
        money.append(
            (
                place,
                o.name + chosen,
                o.verdict.word,
                amount(o.capital),
                amount(o.total_cost),
                amount(o.life_cycle_cost) if ranked else "–",
                "" if m is None else amount(m.npv) if ranked else "–",
                ""
                if m is None
                else (number(m.simple_payback) if math.isfinite(m.simple_payback) else "none")
                if ranked
                else "–",
            )
        )
        energy.append(
            (
                o.name,
                number(float(to_unit(o.specific_energy, "specific energy", unit))),
                amount((o.carrier("electricity") + o.carrier("compressed air")) / KWH),
                amount(o.carrier("gas") / KWH),
                amount(o.carrier("cooling") / KWH),
                number(o.peak / 1e3),
                number(o.emissions / 1e3),
            )
        )
    strong = tuple(i for i, o in enumerate(options) if o is p.option)
    yield Table(
        title="Ranking",
        head=(
            "",
            "Option",
            "Dries",
            f"Capital {cur}",
            f"Running {cur}/year",
            f"Life-cycle cost {cur}",
            f"Net savings {cur}",
            "Payback years",
        ),
        rows=tuple(money),
        align="rllrrrrr",
        weights=(0, 3.2, 1, 1, 1, 1.1, 1, 1),
        strong=strong,
        short=True,
        note="Dries: pass, caution, unlikely (the best estimate misses the target), fail; –: it fails or is unlikely. Net savings: present value "
        "against the baseline.",
    )
    yield Chart(
        title="What a year costs",
        alt="Stacked bars of yearly cost. "
        + "; ".join(f"{o.name} {amount(o.total_cost)} {cur}" for o in options)
        + ".",
        drawing=Bars(
            labels=tuple(o.name + NOT_DRY.get(o.verdict.word, "") for o in options),
            series=tuple(
                (label, tuple(o.annual_cost[key] for o in options))
                for key, label in COSTS.items()
                if any(o.annual_cost[key] for o in options)
            ),
            axis=f"{cur} a year",
        ),
    )
    yield Table(
        title="Energy of a year",
        head=("Option", f"Per resin {unit}", "Electricity kWh", "Gas kWh", "Heat to cooling kWh", "Peak kW", "CO₂ t"),
        rows=tuple(energy),
        weights=(3, 1, 1, 1, 1, 1, 1),
        strong=strong,
        note="Peak: highest 15 minutes of the dryers, starts from cold included.",
    )
    head, rows = tables.sizes(options, p.case.model.case.units)
    yield Table(
        title="How big",
        head=tuple(h[:1].upper() + pretty(h[1:]) for h in head),
        rows=tuple(tuple("–" if cell == "-" else cell for cell in row) for row in rows),
        weights=(3, *[1] * (len(head) - 1)),
        note=pretty(f"{tables.SIZES[0].upper()}{tables.SIZES[1:]}."),
    )
    for o in [
        *([p.option] if p.option else []),
        *[o for o in options if o is not p.option and o.verdict.word in NOT_DRY],
    ]:
        reasons = o.verdict.reasons()
        if not reasons:
            continue
        more = f", the first of {len(reasons)} reasons" if o is not p.option and len(reasons) > 1 else ""
        yield Paragraph(text=f"{o.name}: {o.verdict.word}{more}", style="heading")
        yield Bullets(items=tuple(pretty(reason) for reason in (reasons if o is p.option else reasons[:1])))
    if p.option is not None and (chart := _moisture_chart(p.option)) is not None:
        yield chart


def _moisture_chart(option: OptionResult) -> Chart | None:
    served = answer.worst(option)
    m = served.verdict.moisture
    times = np.linspace(0.02, 2.0, 61) * m.residence
    lines = predicted_moisture.curve(served.duty, served.operation, served.machine.inputs, times)
    if lines is None:
        return None
    hours = times / 3600.0
    ppm = {k: np.asarray(to_unit(v, "moisture", "ppm")) for k, v in lines.items()}
    target = float(to_unit(m.target, "moisture", "ppm"))
    curves = [
        Curve(name="best estimate", x=tuple(hours), y=tuple(ppm["predicted"])),
        Curve(name="target", x=(hours[0], hours[-1]), y=(target, target), dashes="dashed"),
    ]
    if m.floor is not None and m.floor > 0:
        floor = float(to_unit(m.floor, "moisture", "ppm"))
        curves.append(Curve(name="driest this air allows", x=(hours[0], hours[-1]), y=(floor, floor), dashes="dotted"))
    now = float(np.interp(m.residence, times, ppm["predicted"]))
    where = f"{served.duty.resin.abbreviation} at {served.hopper.name}"
    return Chart(
        title=f"Moisture of {where}, the hopper that this option dries worst",
        alt=f"Moisture against hours in the hopper, logarithmic. After {m.residence / 3600:.1f} h the best estimate is {now:,.0f} ppm, "
        f"the target {target:,.0f} ppm.",
        drawing=Lines(
            curves=tuple(curves),
            x_axis="hours in the hopper",
            y_axis="ppm, wet basis",
            log=True,
            band=("range of the diffusion data", tuple(hours), tuple(ppm["low"]), tuple(ppm["high"])),
            verticals=((m.residence / 3600.0, "pellets stay"),),
        ),
    )
