"""Sections on what stands today: the baseline, and the scope and limits that every option is held to."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from energy.dryers.base import END_USES
from energy.reports import inputs, left_over
from energy.reports.beside_model import beside_the_model
from energy.reports.document.proposal import Proposal
from energy.reports.document.records import Bars, Block, Chart, Paragraph, Table
from energy.reports.document.register import used
from energy.reports.document.words import (
    BESIDE,
    amount,
    bought,
    degrees,
    kwh,
    number,
    one_place,
    specific_of,
    tonnes,
)
from energy.reports.doubts import COLD
from energy.reports.not_taken_over import not_taken_over
from energy.reports.print_signs import pretty
from energy.reports.resins import in_full
from energy.study import surroundings, written_for
from energy.study.compare import KWH
from energy.study.life_cycle import delay_of, replacements
from energy.study.plant_clock import of_another_year
from energy.units import shown_unit, to_unit


def baseline(p: Proposal) -> Iterator[Block]:
    base, given = p.base, p.case.model.finance
    kg = float(np.sum(base.year.resin))
    unit = "t" if p.case.model.case.units == "si" else "short tons"
    mass = kg / (1000.0 if unit == "t" else 907.18474)
    less = f" “{base.name}” {COLD}." if base.cold else ""
    yield Paragraph(
        text=f"The baseline is “{base.name}” ({base.label}). In the year of the study it dries {mass:,.0f} {unit} of pellets "
        f"and takes {kwh(bought(base))}: {specific_of(p, base.specific_energy)} of resin, where warming the resin and "
        f"evaporating its water takes {specific_of(p, base.minimum_energy)}. It costs {p.money(base.total_cost)} a year to run "
        f"and emits {tonnes(base.emissions)} of CO₂{', hall heating and cooling included' if base.hall else ''}.{less}",
        short=True,
    )
    spent = replacements(base.option, given.years, delay_of(p.case))
    coming = "; ".join(f"{amount(float(v))} {p.currency} in year {y}" for y, v in sorted(spent.items()))
    still = f", its capital of {p.money(base.capital)} in it as still to be spent" if base.capital else ""
    yield Paragraph(
        text=f"Doing nothing costs {p.money(base.life_cycle_cost)} over {given.years} years in present value{still}"
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
    read = beside_the_model(p.case, p.case.model.case.units)
    yield Paragraph(topic="Data.", text=_data_basis(p, metered=bool(read)))
    if told := [*read, *not_taken_over(p.case, p.case.model.case.units)]:
        topic = "Metered at the dryers." if read else "Read at the dryers."
        yield Paragraph(topic=topic, text=pretty(" ".join(told)))
    if example := left_over.warning(p.case.document):
        yield Paragraph(text=example, style="warning", short=True)
    if old := _of_another(p):
        yield Paragraph(text=old, style="warning", short=True)
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


def _of_another(p: Proposal) -> str:
    """Texts of the request that tell of another option than the one asked for; empty where none does."""
    asked = written_for.asked_for(p.comparison)
    found = written_for.of_another(p.case.document, asked)
    said = [
        f"Written for {option}: {', '.join(key.replace('_', ' ') for key, of in found.items() if of == option)}."
        for option in dict.fromkeys(found.values())
    ]
    return f"{' '.join(said)} Asked for now is {asked}: read them again before anything is signed." if said else ""


def _data_basis(p: Proposal, *, metered: bool) -> str:
    """Where the figures come from: measured, bills, estimates."""
    entries = [e for e in used(p, inputs.register(p.case)) if not e.path.startswith(BESIDE)]
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
        + ("" if metered else "The dryers themselves are not metered unless an input says measured.")
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
    if any(surroundings.blows_out(case, o.year) for o in (p.base, *([p.option] if p.option else []))):
        hall += " and by the outdoor air that replaces hall air blown out"
    inside = f"Inside: electricity and fuel of the dryers with their hoppers, {air}cooling of the dryers, maintenance"
    outside = "the processing machines, material handling before the hopper" + (
        "" if hall else ", heating and cooling of the hall"
    )
    own = f"{inside}{', ' + hall if hall else ''}. Outside: {outside}."
    yield Paragraph(topic="Boundary.", text=f"{request.boundary or own}")
    calendar_ = case.calendar
    cold = float(calendar_.starts.sum())
    yield Paragraph(
        topic="Time frame.",
        text=f"One year of operation ({case.model.case.year}): {calendar_.production.sum() / 3600:,.0f} h of production, "
        f"{calendar_.standby.sum() / 3600:,.0f} h of standby, {cold:,.0f} start{'' if round(cold) == 1 else 's'} from cold; judged over "
        f"{case.model.finance.years} years. Depth: engineering model checked against stated inputs, before a vendor's detailed design."
        f"{f' {said}' if (said := of_another_year(case.readings, case.model.case.year)) else ''}",
    )
    system = case.model.case.units
    temperature, mass = shown_unit("temperature", system), shown_unit("mass flow", system)
    served = (p.option or p.base).served
    rows = []
    asked = {h.name: duty for h, duty in zip(case.model.hoppers, p.comparison.duties, strict=True)}
    for s in served:
        d = asked[s.hopper.name]
        limit = next((f for f in s.verdict.findings if f.check == "dew point"), None)
        m = s.verdict.moisture
        rows.append(
            (
                s.hopper.name,
                in_full(s.hopper, s.duty.resin),
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
