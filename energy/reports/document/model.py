"""The content of a capital request, from a comparison: the order in which finance reads."""

from __future__ import annotations

import calendar
import datetime
import hashlib
import json
import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from energy import __version__, finance
from energy.dryers.base import END_USES
from energy.errors import CaseError, Problem
from energy.finance.conventions import conventions
from energy.reports import answer, inputs, tables
from energy.reports.answer import YEAR
from energy.reports.document import chance, worth
from energy.reports.document.records import (
    Bars,
    Block,
    Bullets,
    Chart,
    Curve,
    Document,
    Figures,
    Lines,
    Paragraph,
    Section,
    Signatures,
    Swings,
    Table,
)
from energy.study import meter, verdict
from energy.study.case import Case
from energy.study.compare import CAUTIONS, KWH, Comparison, OptionResult
from energy.study.cost import escalation, replacements
from energy.study.paths import written
from energy.study.schema import Request
from energy.units import show, shown_unit, to_unit

NOT_STATED = "Not stated in the case."
COSTS = {"electricity": "Electricity", "gas": "Gas", "water": "Cooling and water", "maintenance": "Maintenance"}
STREAMS = {
    "capital": "Capital",
    "incentive": "Incentive",
    **COSTS,
    "ratchet": "First year, old peaks",
    "replacements": "Replacements",
    "residual": "Residual value",
}
METER_CLASS = 0.01
"""Error of a class 1 meter for active energy, IEC 62053-21. [-]"""


@dataclass(frozen=True, slots=True, kw_only=True)
class Proposal:
    """What is asked for, if anything."""

    comparison: Comparison
    option: OptionResult | None
    """None: nothing is asked for."""
    why: str
    """Why this option, or why none."""

    @property
    def case(self) -> Case:
        return self.comparison.case

    @property
    def request(self) -> Request:
        return self.case.model.request

    @property
    def currency(self) -> str:
        return self.case.currency

    @property
    def base(self) -> OptionResult:
        return self.comparison.baseline

    @property
    def reserve(self) -> float:
        """Contingency. [money]"""
        return 0.0 if self.option is None else float(self.request.contingency) * self.option.capital

    def money(self, amount: float) -> str:
        """To three digits, for prose."""
        return answer.money(amount, self.currency)


def proposal(comparison: Comparison) -> Proposal:
    """The option that the case names, or the one of lowest life-cycle cost among the surest.

    Raises
    ------
    CaseError
        The case names one that fails to dry.
    """
    wanted, case = comparison.case.model.request.recommended, comparison.case
    ranked = comparison.ranked()
    if wanted:
        option = comparison.option(wanted)
        if option.verdict.overall == "fail":
            message = f"'{wanted}' does not dry {answer.resin_name(comparison)}; name an option that does"
            raise CaseError([Problem("request.recommended", message)], file=case.file)
        best = ranked[0]
        why = "The requester recommends it."
        if option is not best:
            why += (
                f" On life-cycle cost among the surest to dry, {best.name} comes first: "
                f"{answer.money(option.life_cycle_cost - best.life_cycle_cost, case.currency)} over "
                f"{case.model.finance.years} years lies between the two."
            )
        return Proposal(comparison=comparison, option=None if option is comparison.baseline else option, why=why)
    if not ranked:
        why = f"None of the options dries {answer.resin_name(comparison)} to its target; no money is asked for."
    elif ranked[0].verdict.word == "unlikely":
        why = " ".join(answer.sentences(comparison))
    elif ranked[0] is comparison.baseline:
        why = answer.sentences(comparison)[0]
    else:
        best = ranked[0]
        sure = best.verdict.overall == "pass"
        among = "pass every check of drying" if sure else "may dry every hopper, none of them for sure"
        return Proposal(
            comparison=comparison, option=best, why=f"It has the lowest life-cycle cost of the options that {among}."
        )
    return Proposal(comparison=comparison, option=None, why=why)


def document(comparison: Comparison, simulation: Any = None, *, short: bool = False) -> Document:
    """All sections; of the short form only what it needs.

    Raises
    ------
    CaseError
        As `proposal`.
    """
    p = proposal(comparison)
    odds = chance.of(simulation, p.option)
    request = p.request
    title = request.title or (
        f"Capital request: {p.option.name}" if p.option else "Dryer comparison: no capital asked for"
    )
    facts = {
        "Site": p.case.name,
        "Prepared by": request.prepared_by or "not stated",
        "Department": request.department or "not stated",
        "Date": request.date.isoformat() if request.date else "not stated",
    }
    sections = []
    for name, blocks in _sections(p, odds, short):
        kept = tuple(b for b in blocks if (b.short if short else not getattr(b, "only_short", False)))
        if kept:
            sections.append(Section(title=name, blocks=kept, page=len(sections) == 1 and not short))
    return Document(
        title=title,
        subtitle=p.case.name,
        facts=facts,
        sections=tuple(sections),
        compact=short,
        date=request.date or datetime.date(p.case.model.case.year, 1, 1),
        foot=f"pellet-dryer-energy {__version__} · case {case_hash(p.case)[:12]}",
    )


def case_hash(case: Case) -> str:
    """SHA-256 of the case and its tariffs: the same figures have the same mark."""
    said = {"case": dict(case.document), "tariffs": {k: t.model_dump(mode="json") for k, t in case.tariffs.items()}}
    text = json.dumps(said, sort_keys=True, default=str, ensure_ascii=False)
    return hashlib.sha256(text.encode("utf-8", "replace")).hexdigest()


def _sections(p: Proposal, odds: chance.Odds | None, short: bool) -> Iterator[tuple[str, Sequence[Block]]]:
    yield "Decision", [*_decision(p, odds)]
    yield "Baseline, and the cost of doing nothing", [*_baseline(p)]
    yield "Scope, boundary and process limits", [*_scope(p)]
    yield "Options at equal duty", [*_options(p)]
    if p.option is not None:
        yield "Capital", [*_capital(p)]
        yield "Savings, bill line by bill line", [*_savings(p, p.option)]
        yield "Cash flow", [*_cash(p, p.option, odds)]
        yield "Measures of worth", [*_measures(p, p.option)]
        if not short:  # takes the engine through every range
            yield "Sensitivity, break-evens, scenarios and chance", [*_sensitivity(p, p.option, odds)]
    yield "Risks and interactions", [*_risks(p)]
    yield "Effects other than energy", [*_non_energy(p)]
    if p.option is not None:
        yield "Incentives", [*_incentives(p, p.option)]
        yield "Schedule and downtime", [*_schedule(p)]
        yield "Verification plan", [*_verification(p, p.option)]
    yield "Assumptions", [*_assumptions(p)]
    yield "Cautions", [Bullets(items=CAUTIONS)]
    yield "Approvals", [*_approvals(p)]
    yield "Method, version and mark of the case", [*_method(p)]


# ------------------------------------------------------------------------------------------------ numbers as text


def amount(value: float) -> str:
    """Whole money or energy with thousands separated; a true minus sign, no negative zero."""
    if not math.isfinite(value):
        return "–"
    text = f"{value:,.0f}"
    return "0" if text == "-0" else text.replace("-", "−")


def percent(share: float) -> str:
    return f"{100 * share:.3g} %".replace("-", "−") if math.isfinite(share) else "–"


def one_place(share: float) -> str:
    return f"{100 * share:.1f} %".replace("-", "−") if math.isfinite(share) else "–"


def number(value: float, digits: int = 1) -> str:
    return f"{value:,.{digits}f}".replace("-", "−") if math.isfinite(value) else "–"


def _kwh(joule: float) -> str:
    return f"{amount(float(f'{joule / KWH:.3g}'))} kWh"


def _tonnes(kg: float) -> str:
    return f"{kg / 1000:.3g} t"


def _bought(option: OptionResult) -> float:
    """Electricity and fuel of a year. [J]"""
    return option.specific_energy * float(np.sum(option.year.resin))


def _specific(p: Proposal, value: float) -> str:
    unit = shown_unit("specific energy", p.case.model.case.units)
    return f"{float(to_unit(value, 'specific energy', unit)):.3g} {unit}"


def _payback(option: OptionResult) -> str:
    m = option.measures
    assert m is not None
    return f"{m.simple_payback:.1f} years" if math.isfinite(m.simple_payback) else "none"


def _saving(p: Proposal, option: OptionResult) -> float:
    """At prices of year 0. [money/year]"""
    return p.base.total_cost - option.total_cost


# ------------------------------------------------------------------------------------------------ sections


def _decision(p: Proposal, odds: chance.Odds | None) -> Iterator[Block]:
    option, request = p.option, p.request
    if option is None:
        yield Paragraph(text=f"No capital is asked for. {p.why}", style="lead", short=True)
        yield Paragraph(topic="Why now.", text=f"{request.why_now or NOT_STATED}", short=True)
        return
    m, given = option.measures, p.case.model.finance
    assert m is not None
    saving, total = _saving(p, option), option.capital + p.reserve
    reserve = f", of which {p.money(p.reserve)} is contingency," if p.reserve else ""
    yield Paragraph(
        text=f"Approval is asked for {p.money(total)}{reserve or ''} to replace “{p.base.name}” by “{option.name}”. {p.why}",
        style="lead",
        short=True,
    )
    limit = None if given.maximum_payback is None else given.maximum_payback / YEAR
    word = "the capital back" if math.isfinite(m.simple_payback) else m.payback_note
    if limit is not None and math.isfinite(m.simple_payback):
        late = round(m.simple_payback, 1) > round(limit, 1)
        word = f"{'longer than' if late else 'within'} the {limit:.1f} years accepted"
    if odds is not None and (said := odds.payback(limit)):
        word = f"{word}; {said}"
    saved = _bought(p.base) - _bought(option)
    less = p.base.emissions - option.emissions
    npv_word = f"over {given.years} years at {percent(given.rate)} {given.rate_basis}, before tax"
    if p.reserve:
        npv_word += f"; {p.money(m.npv - p.reserve)} with the contingency spent"
    if odds is not None:
        npv_word += f"; above zero in {odds.share(odds.npv_positive)} draws"
    yield Figures(
        items=(
            ("Capital", p.money(total), "with contingency" if p.reserve else "no contingency stated"),
            ("Net saving a year", p.money(saving), f"of {p.money(p.base.total_cost)} running cost, at today's prices"),
            ("Simple payback", _payback(option), word),
            ("Net present value", p.money(m.npv), npv_word),
            ("Energy", f"{_kwh(saved)} a year", f"{percent(saved / _bought(p.base))} less"),
            ("CO₂", f"{_tonnes(less)} a year", "less" if less >= 0 else "a rise"),
        ),
        short=True,
    )
    if np.any(m.streams["replacements"] != 0.0):
        alone = m.payback_on_savings
        text = f"{alone:.1f} years" if math.isfinite(alone) else "not within the study period"
        yield Paragraph(
            text=f"The payback counts replacements that are spared or added; on running cost alone it is {text}. No tax, "
            "grant or benefit other than energy, cooling and maintenance is needed to reach these figures."
            if not option.option.incentive
            else f"The payback counts replacements that are spared or added; on running cost alone it is {text}.",
            short=True,
        )
    if limit is not None and math.isfinite(m.simple_payback) and round(m.simple_payback, 1) > round(limit, 1):
        passes = "it passes on life-cycle cost" if m.npv > 0 else "nor does it pass on life-cycle cost"
        yield Paragraph(
            text=f"By the longest payback accepted, {limit:.1f} years, this request does not pass; {passes} "
            f"(net present value {p.money(m.npv)}). Life-cycle cost is the measure to decide by; payback counts nothing after it.",
            style="warning",
            short=True,
        )
    yield Paragraph(topic="Why now.", text=f"{request.why_now or NOT_STATED}", short=True)
    yield Paragraph(topic="Does it dry?", text=f"{_dries(p, option)}", short=True)
    yield Paragraph(topic="Main risk.", text=f"{_main_risk(p, option)}", short=True)
    yield _in_figures(p, option)
    if odds is None:
        yield Paragraph(
            text="No uncertainty simulation was run for this document; section “Sensitivity” shows what moves "
            "the result.",
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
        ("Energy bought kWh/year", *(amount(v / KWH) for v in (_bought(b), _bought(option), _bought(option) - _bought(b)))),
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
        f"{'Not expected on the best estimate' if word == 'unlikely' else 'Expected, with caution'}: see section “Options "
        f"at equal duty” for {', '.join(shaky)}. Settle it by a drying trial or the producer's written guarantee before "
        "the order."
    )


def _main_risk(p: Proposal, option: OptionResult) -> str:
    if p.request.risks:
        return p.request.risks[0]
    if option.verdict.overall != "pass":
        return "The resin may not reach its moisture target; section “Options at equal duty” says where."
    even = worth.break_evens(p.comparison, option)
    if even.savings < 1.0:
        return f"The saving may be smaller than worked out; down to {percent(even.savings)} of it the money is still earned back."
    return "The saving worked out does not earn the capital back at the discount rate."


def _baseline(p: Proposal) -> Iterator[Block]:
    base, given = p.base, p.case.model.finance
    kg = float(np.sum(base.year.resin))
    unit = "t" if p.case.model.case.units == "si" else "short tons"
    mass = kg / (1000.0 if unit == "t" else 907.18474)
    yield Paragraph(
        text=f"The baseline is “{base.name}” ({base.label}). In the year of the study it dries {mass:,.0f} {unit} of pellets "
        f"and takes {_kwh(_bought(base))}: {_specific(p, base.specific_energy)} of resin, where warming the resin and "
        f"evaporating its water takes {_specific(p, base.minimum_energy)}. It costs {p.money(base.total_cost)} a year to run "
        f"and emits {_tonnes(base.emissions)} of CO₂.",
        short=True,
    )
    spent = replacements(base.option, given.years)
    coming = "; ".join(f"{amount(v)} {p.currency} in year {y}" for y, v in sorted(spent.items()))
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
                    percent(used / _bought(base)),
                    amount(base.cost_by_end_use.get(use, 0.0)),
                )
            )
    rest = {k: v for k, v in base.cost_by_end_use.items() if k not in END_USES and v}
    rows += [(k.capitalize(), "", "", amount(v)) for k, v in rest.items()]
    rows.append(("Total", amount(_bought(base) / KWH), "100 %", amount(base.total_cost)))
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
        named = ", ".join(f"{k} {_kwh(v)}" for v, k in lost)
        yield Paragraph(
            text=f"Largest flows of heat that leave the baseline other than in the resin: {named} a year. No use of "
            "this heat elsewhere is counted unless an option says so."
        )


def _data_basis(p: Proposal) -> str:
    """Where the figures come from: measured, bills, estimates."""
    entries = inputs.register(p.case)
    counts: dict[str, int] = {}
    for entry in entries:
        counts[entry.basis] = counts.get(entry.basis, 0) + 1
    measured, plated = counts.get("measured", 0), counts.get("nameplate", 0)
    load = p.case.model.plant_load
    bills = "twelve months of the plant's electricity bills" if load and not load.file else ""
    bills = "interval readings of the plant's electricity" if load and load.file else bills
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


def _scope(p: Proposal) -> Iterator[Block]:
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
        limit = next((f for f in s.verdict.findings if f.check == "process air dew point"), None)
        m = s.verdict.moisture
        rows.append(
            (
                s.hopper.name,
                s.duty.resin.abbreviation + (" (own values)" if s.hopper.own_resin else ""),
                number(float(to_unit(float(s.hopper.throughput), "mass flow", mass))),
                number(float(to_unit(float(d.drying_temperature[0]), "temperature", temperature)), 0),
                number(float(d.residence_time[0]) / 3600),
                amount(float(to_unit(m.target, "moisture", "ppm"))),
                "" if limit is None or limit.limit is None else f"{limit.limit:.0f} {limit.unit}",
            )
        )
    dew = any(row[-1] for row in rows)
    head = (
        "Hopper",
        "Resin",
        f"Throughput {mass}",
        f"Drying temperature {_degrees(temperature)}",
        "Residence h",
        "Target moisture ppm",
        "Dew point accepted up to",
    )
    keep = slice(None) if dew else slice(-1)
    yield Table(
        title="Process limits that every option is held to",
        head=head[keep],
        rows=tuple(row[keep] for row in rows),
        align="llrrrrr"[keep],
        note="Moisture on wet basis. Resin values are typical where the case gives none: follow the producer's sheet.",
    )


def _degrees(unit: str) -> str:
    return {"degC": "°C", "degF": "°F"}.get(unit, unit)


def _options(p: Proposal) -> Iterator[Block]:
    c, cur = p.comparison, p.currency
    options = c.in_order()
    unit = shown_unit("specific energy", p.case.model.case.units)
    yield Paragraph(
        text=f"Every option dries the same resin at the same throughput in the same air; “{p.base.name}” is doing nothing. "
        "Ranked are options that do not fail to dry: the surest to dry first, then by life-cycle cost. Money is held out "
        "for none that fails."
    )
    money, energy = [], []
    for i, o in enumerate(options):
        m, ranked = o.measures, o.verdict.overall != "fail"
        place = str(i + 1) if ranked else "–"
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
        note="Dries: pass, caution, unlikely (the best estimate misses the target), fail. Net savings: present value against the baseline.",
    )
    yield Chart(
        title="What a year costs",
        alt="Stacked bars of yearly cost. "
        + "; ".join(f"{o.name} {amount(o.total_cost)} {cur}" for o in options)
        + ".",
        drawing=Bars(
            labels=tuple(o.name + ("" if o.verdict.overall != "fail" else " (fails to dry)") for o in options),
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
        head=tuple(h.capitalize() if h == "option" else _sign(h) for h in head),
        rows=tuple(tuple(row) for row in rows),
        weights=(3, *[1] * (len(head) - 1)),
        note=f"{tables.SIZES[0].upper()}{tables.SIZES[1:]}.".replace("degC", "°C"),
    )
    for o in [
        *([p.option] if p.option else []),
        *[o for o in options if o is not p.option and o.verdict.overall == "fail"],
    ]:
        reasons = o.verdict.reasons()
        if not reasons:
            continue
        more = f"; {len(reasons) - 1} more" if o is not p.option and len(reasons) > 1 else ""
        yield Paragraph(text=f"{o.name}: {o.verdict.word}{more}", style="heading")
        yield Bullets(items=tuple(reasons if o is p.option else reasons[:1]))
    if p.option is not None and (chart := _moisture_chart(p.option)) is not None:
        yield chart


def _sign(head: str) -> str:
    return head.replace("m3", "m³").replace("ft3", "ft³")


def _moisture_chart(option: OptionResult) -> Chart | None:
    served = answer.worst(option)
    m = served.verdict.moisture
    times = np.linspace(0.02, 2.0, 61) * m.residence
    lines = verdict.curve(served.duty, served.operation, served.machine.inputs, times)
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


def _capital(p: Proposal) -> Iterator[Block]:
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
        f"{r.item.lower()}, every {r.every} years, {amount(float(r.amount))} {p.currency}"
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
        for line in o.bill:
            if (line.line, line.clause) not in on_bills:
                others.setdefault((line.line, line.clause), [0.0, 0.0])[i] += line.amount
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


def _savings(p: Proposal, option: OptionResult) -> Iterator[Block]:
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


def _cash(p: Proposal, option: OptionResult, odds: chance.Odds | None) -> Iterator[Block]:
    m, rate = option.measures, p.case.model.finance.rate
    assert m is not None
    shown = [k for k in STREAMS if k in m.streams and np.any(m.streams[k] != 0.0)]
    year = np.arange(m.cash_flow.size)
    present = m.cash_flow * (1.0 + rate) ** -year
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
        note="Money in is positive. Year 0 is the base date; yearly amounts fall at the end of their year. Before tax.",
    )
    cumulative = np.cumsum(m.cash_flow - m.streams["residual"])
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
            band=None if odds is None else odds.cash_band(year),
        ),
    )


def _measures(p: Proposal, option: OptionResult) -> Iterator[Block]:
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
        ("Simple payback", _payback(option), m.payback_note or "no discounting, without residual value"),
        (
            "Simple payback on running cost alone",
            f"{m.payback_on_savings:.1f} years" if math.isfinite(m.payback_on_savings) else "none",
            "without replacements spared or added",
        ),
        (
            "Discounted payback",
            f"{m.discounted_payback:.1f} years" if math.isfinite(m.discounted_payback) else "none",
            m.discounted_payback_note or "without residual value",
        ),
    ]
    yield Table(
        title="Life-cycle measures first, payback second",
        head=("Measure", "Value", "How to read it"),
        rows=tuple(rows),
        align="lrl",
        weights=(2.2, 1.2, 2.6),
        short=True,
    )
    yield Paragraph(text="Conventions", style="heading")
    yield Bullets(
        items=tuple(
            conventions(rate=given.rate, years=given.years, escalation=escalation(p.case), rate_basis=given.rate_basis)
        )
    )


def _sensitivity(p: Proposal, option: OptionResult, odds: chance.Odds | None) -> Iterator[Block]:
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
    even = worth.break_evens(p.comparison, option)
    said = [
        f"The net present value is zero at a capital of {p.money(even.capital)} ({percent(even.capital / option.capital - 1.0)} against the estimate)."
        if option.capital
        else "No extra capital is needed."
    ]
    if even.savings < 1.0:
        said.append(
            f"All yearly savings may fall to {percent(max(even.savings, 0.0))} of those worked out before it is zero."
        )
    elif math.isfinite(even.savings):
        said.append(
            f"All yearly savings would have to be {even.savings:.2f} times those worked out to bring it to zero."
        )
    if math.isfinite(even.energy):
        said.append(
            "The saving on energy and water alone could vanish without bringing it below zero."
            if even.energy <= 0
            else f"For energy and water alone that point lies at {percent(even.energy)} of the saving worked out."
        )
    yield Paragraph(text="Break-evens", style="heading")
    yield Bullets(items=tuple(said))
    scenarios = worth.scenarios(p.comparison, option)
    yield Table(
        title="Scenarios",
        head=(
            "If",
            f"Saving in year 1 {p.currency}",
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
            for s in scenarios
        ),
        weights=(3, 1, 1, 1, 1),
        strong=(0,),
    )
    yield Paragraph(text="Chance", style="heading")
    if odds is None:
        yield Paragraph(
            text="No simulation was run for this document: the ranges above are taken one at a time and say nothing of how likely they are."
        )
    else:
        yield Bullets(items=tuple(odds.sentences(p.currency)))


def _risks(p: Proposal) -> Iterator[Block]:
    given = p.request.risks
    yield Bullets(items=given) if given else Paragraph(text=f"Risks as the requester sees them: {NOT_STATED.lower()}")
    if p.option is None:
        return
    found = []
    if p.option.verdict.overall != "pass":
        found.append(
            "Drying: not every check passes. A trial with the plant's own resin, or a guarantee of moisture at the stated throughput, settles it."
        )
    if any(t.invented for t in p.case.tariffs.values()):
        found.append("Prices: at least one tariff of this case is invented; no decision can rest on it.")
    if not math.isfinite(p.option.savings["electricity"].steady if "electricity" in p.option.savings else 0.0):
        found.append("Bill: the saving of electricity could not be worked out.")
    yield Paragraph(text="From the model", style="heading")
    notes = [n.text for n in p.option.notes]
    yield Bullets(items=tuple([*found, *(f"Interaction: {n}" for n in notes)]) or ("None found.",))
    yield Paragraph(
        text="Interaction with other measures (insulation, shifts, compressed air, heat recovery, other tariffs) is not in "
        "these figures: measures that lower the same load lower this saving.",
        style="note",
    )


def _non_energy(p: Proposal) -> Iterator[Block]:
    items = p.request.non_energy
    if items:
        yield Bullets(items=items)
    yield Paragraph(
        text="They are in no figure of this request, and none of them is needed for it to pass."
        if items
        else f"{NOT_STATED} None is counted or needed."
    )


def _incentives(p: Proposal, option: OptionResult) -> Iterator[Block]:
    money = float(option.option.incentive)
    counted = (
        f"An incentive of {amount(money)} {p.currency} is counted in year 0." if money else "No incentive is counted."
    )
    yield Paragraph(text=f"{counted} Status: {p.request.incentive_status or 'not stated'}.".replace("..", "."))


def _schedule(p: Proposal) -> Iterator[Block]:
    steps = p.request.schedule
    if steps:
        done, rows = 0.0, []
        for step in steps:
            start, done = done, done + step.weeks
            rows.append((step.step, f"{step.weeks:g}", f"{start:g} to {done:g}"))
        yield Table(
            title="Steps, one after the other from approval",
            head=("Step", "Weeks", "From week"),
            rows=tuple(rows),
            align="lrr",
            weights=(4, 1, 1),
        )
    else:
        yield Paragraph(text=f"Schedule: {NOT_STATED.lower()}")
    yield Paragraph(
        topic="Downtime.",
        text=f"{p.request.downtime or NOT_STATED} The cost of production lost is in the figures only where a line of capital names it.",
    )


def _verification(p: Proposal, option: OptionResult) -> Iterator[Block]:
    own, b = p.request.verification, p.base
    before, after = _bought(b), _bought(option)
    saved = before - after
    several = len(p.case.model.hoppers) > 1
    gas = b.carrier("gas") + option.carrier("gas") > 0
    air = b.carrier("compressed air") + option.carrier("compressed air") > 0
    meters = [
        "an active-energy meter of class 1 (IEC 62053-21) or better, reading every 15 minutes, on the supply of the dryers"
    ]
    meters += ["a gas meter with temperature and pressure correction at the burners"] if gas else []
    meters += (
        ["a flow meter for compressed air at the dryers, with its reference condition written down"] if air else []
    )
    meters += [
        f"kilograms dried, weighed or counted from shots, {'per hopper' if several else 'at the hopper'}",
        "hall temperature and dew point",
        "moisture of pellets leaving, by a method such as ISO 15512, before and after",
    ]
    error = METER_CLASS * math.hypot(before, after) / saved if saved > 0 else math.nan
    even = worth.break_evens(p.comparison, option)
    saving = _saving(p, option)
    needed = even.savings * saving if 0 < even.savings < 1 else saving
    weeks = sum(step.weeks for step in p.request.schedule)
    if p.request.date and weeks:
        ready = p.request.date + datetime.timedelta(weeks=weeks)
        review = f"Twelve months after handover: by this schedule {_months_later(ready, 12).isoformat()}."
    else:
        review = "Twelve months after handover, when a full year of readings is there."
    unit = shown_unit("specific energy", p.case.model.case.units)
    per = [float(to_unit(o.specific_energy, "specific energy", unit)) for o in (b, option)]
    rows = (
        (
            "Boundary",
            own.boundary
            or "The dryers with their hoppers, metered apart from the machines they feed; what other meters show (compressed air, cooling, hall) is reported beside.",
        ),
        ("Meters", own.meters or "; ".join(meters).capitalize()[:1] + "; ".join(meters)[1:] + "."),
        (
            "Baseline period",
            own.baseline_period
            or "At least four weeks of the present dryers before they are taken out, with every resin and shift pattern in it; twelve months where season matters. What is not metered before it is gone can never be verified.",
        ),
        (
            "Relevant variables",
            own.variables
            or "Throughput and resin, drying temperature, moisture in and out, hall temperature and dew point. Static: hopper sizes, shifts, tariff; a change of these is noted and adjusted for.",
        ),
        (
            "Method",
            f"Energy of a week against kilograms dried (a base load and a slope per kilogram), fitted to the baseline period, carried to the throughput of the reporting period. Forecast at the case's duty: {per[0]:.3g} {unit} before, {per[1]:.3g} {unit} after. Money by the bill, worked out twice on the same tariff.",
        ),
        (
            "Expected accuracy",
            own.accuracy
            or (
                f"Class 1 meters in both periods leave ±{percent(error)} of the saving; the fit on throughput comes on top and is to be reported with the result."
                if math.isfinite(error)
                else "No energy is saved, so no accuracy of a saving can be stated."
            ),
        ),
        (
            "Success",
            own.success
            or (
                f"Passed if the adjusted saving is at least {p.money(needed)} a year, at which the net present value is zero; forecast {p.money(saving)}."
                if 0 < even.savings < 1
                else f"Passed if the adjusted saving reaches the forecast of {p.money(saving)} a year."
            )
            + " Every hopper must reach its moisture target at the same throughput.",
        ),
        ("Responsible", own.responsible or p.request.department or "Not stated."),
        ("Review", own.review or review),
    )
    yield Table(title="How the saving will be shown", head=("Point", "Plan"), rows=rows, align="ll", weights=(1, 5))
    yield Paragraph(
        text="Words and order follow published practice for measuring savings: the retrofit-isolation idea of the International Performance "
        "Measurement and Verification Protocol, ISO 50015 on measurement and verification, ISO 50046 on predicting savings. "
        "Compliance with none of them is claimed.",
        style="note",
    )
    yield Paragraph(
        topic="Verification.",
        text=f"Meter the dryers at least four weeks before and twelve months after; {rows[6][1][0].lower()}{rows[6][1][1:]} Review: {rows[8][1][0].lower()}{rows[8][1][1:]}",
        style="normal",
        short=True,
        only_short=True,
    )


def _months_later(day: datetime.date, months: int) -> datetime.date:
    year, month = divmod(day.year * 12 + day.month - 1 + months, 12)
    return datetime.date(year, month + 1, min(day.day, calendar.monthrange(year, month + 1)[1]))


REGISTER = ("Input", "Value and range", "Basis", "Source or note")
_DULL = ("month", "every", "count", "units", "hopper", "type", "arrangement", "name")
"""Keys that a table of the document shows already or that only number a row."""


def _assumptions(p: Proposal) -> Iterator[Block]:
    case = p.case
    entries = register(p)
    given = [e for e in entries if written(case.document, e.path) is not None]
    stored = [e for e in entries if written(case.document, e.path) is None]
    based = [e for e in given if e.basis != "given"]
    plain = [e for e in given if e.basis == "given" and e.path.rpartition(".")[2] not in _DULL]
    prices = [e for e in stored if e.path.startswith("tariff ")]
    shaky = [e for e in stored if e.basis == "assumption"]
    rest = [e for e in stored if e not in prices and e not in shaky]
    yield Paragraph(
        text=f"Inputs of the plant, the baseline and the recommended option. {len(given)} stand in the case; {len(stored)} are prices of "
        "the tariffs and typical values that the case does not change. Web page and workbook list all of them. "
        f"Date of the register: {p.request.date.isoformat() if p.request.date else 'not stated'}."
    )
    yield _register("Stated with a basis", based)
    yield _register("Prices", prices)
    yield _register("Given in the case without a basis", plain)
    if case.model.plant_load is not None and (months := case.model.plant_load.months):
        energy, peaks = sum(float(m.energy) for m in months), [float(m.peak) / 1e3 for m in months]
        yield Paragraph(
            text=f"Electricity of the whole plant: {amount(energy / KWH)} kWh in twelve months, billed peaks of "
            f"{min(peaks):,.0f} to {max(peaks):,.0f} kW.",
            style="note",
        )
    yield _register("Typical values that are assumptions", shaky)
    yield _register("Other typical values", rest, long=True)


def _register(title: str, entries: Sequence[inputs.Input], *, long: bool = False) -> Table:
    """Alike inputs of several machines stand once."""
    rows = dict.fromkeys((e.label, _pretty(e.value), e.basis, _pretty(e.source)) for e in entries)
    return Table(title=title, head=REGISTER, rows=tuple(rows), align="llll", weights=(2.3, 1.8, 1, 3.2), long=long)


def register(p: Proposal) -> list[inputs.Input]:
    """Inputs of the case but for those of options that are not compared here; labels name hopper or resin."""
    others = {o.name for o in p.comparison.options} - {p.base.name, *([p.option.name] if p.option else [])}
    away = (*(f"options['{name}']" for name in others), "plant_load.months", "request")
    found = [e for e in inputs.register(p.case) if not e.path.startswith(away)]
    return [replace(e, label=_label(p.case, e)) for e in found]


def _label(case: Case, entry: inputs.Input) -> str:
    """The label with the hopper, option or resin it belongs to; a typical value belongs to none."""
    label = entry.label[:1].upper() + entry.label[1:]
    if entry.path.startswith("resin "):
        return f"{entry.path.removeprefix('resin ').partition('.')[0]}: {label.lower()}"
    owner = entry.path.partition("['")[2].partition("']")[0]
    if not owner or written(case.document, entry.path) is None:
        return label
    if "machines[" in entry.path:
        owner += f", machine {entry.path.partition('machines[')[2].partition(']')[0]}"
    return f"{owner}: {label.lower()}"


def _pretty(text: str) -> str:
    return text.replace("degC", "°C").replace("degF", "°F").replace("m3", "m³").replace("m2", "m²")


def _approvals(p: Proposal) -> Iterator[Block]:
    roles = p.request.approvals or ("Requested by", "Production", "Finance", "Plant management")
    yield Signatures(roles=roles, short=True)


def _method(p: Proposal) -> Iterator[Block]:
    yield Paragraph(
        text="Each option is run through the states of the plant's year (production, standby, starts) by a heat and mass balance of its type; "
        "drying is checked before any cost is ranked; energy and peaks are billed on the tariffs as two bills, with the dryers and without; "
        "cash flows, life-cycle cost, net savings, savings-to-investment ratio and paybacks follow 10 CFR 436 and the definitions of ASTM E917, "
        "E964, E1057, E1074 and E1121. The contents follow what ISO 50002, EN 16247, ISO 11011, EN 17463 and ISO 50015 ask of such a report; "
        "compliance with none of them is claimed."
    )
    yield Paragraph(
        text=" ".join(
            f"{name.capitalize()}: {t.name}, {tables.describe(t)}; source: {t.source}."
            for name, t in p.case.tariffs.items()
        )
    )
    yield Paragraph(
        text=f"Made with pellet-dryer-energy {__version__}. Case file {p.case.file.rpartition('/')[2]}; SHA-256 of the case with its tariffs: {case_hash(p.case)}. "
        "The same case and version give the same document, byte for byte. The case file and the workbook hold all data for later tracking. "
        "Figures in sentences are rounded to three digits; tables are not rounded further than printed.",
        short=True,
    )


def shown(value: float, kind: str, system: str) -> str:
    """A quantity in the reader's units."""
    return show(value, kind, system)
