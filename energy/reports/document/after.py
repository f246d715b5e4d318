"""Sections on risk, work, verification, assumptions and method."""

from __future__ import annotations

import calendar
import datetime
import math
import re
from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING

from energy import __version__
from energy.reports import inputs, tables
from energy.reports.amounts import three_digits
from energy.reports.document import chance, parts, success
from energy.reports.document.proposal import Proposal, case_hash
from energy.reports.document.records import (
    Block,
    Bullets,
    Paragraph,
    Signatures,
    Table,
)
from energy.reports.document.register import left_out, month_of, register
from energy.reports.document.words import (
    NOT_STATED,
    amount,
    bought,
    percent,
)
from energy.reports.labels import labelled
from energy.reports.plant_notes import plant_notes
from energy.reports.print_signs import pretty
from energy.study.afterwards import METER
from energy.study.case import Case
from energy.study.compare import KWH, OptionResult
from energy.study.paths import written
from energy.study.schema import Request
from energy.units import shown_unit, to_unit

if TYPE_CHECKING:
    from energy.study.simulate import Simulation


def risks(p: Proposal) -> Iterator[Block]:
    given = p.request.risks
    yield Bullets(items=given) if given else Paragraph(text=f"Risks as the requester sees them: {NOT_STATED.lower()}")
    if p.option is None:
        return
    found = []
    if p.option.verdict.overall != "pass":
        found.append(
            "Drying: not every check passes. A trial with the plant's own resin, or a guarantee of moisture at the stated throughput, settles it."
        )
    if invented := list(dict.fromkeys(t.name for t in p.case.tariffs.values() if t.invented)):
        found.append(f"Prices: no decision can rest on tariffs that are invented: {', '.join(invented)}.")
    if not math.isfinite(p.option.savings["electricity"].steady if "electricity" in p.option.savings else 0.0):
        found.append("Bill: the saving of electricity could not be worked out.")
    yield Paragraph(text="From the model", style="heading")
    notes = [pretty(labelled(n.text)) for n in plant_notes(p.comparison, p.option)]
    yield Bullets(items=(*found, *(f"Interaction: {n}" for n in notes)) or ("None found.",))
    yield Paragraph(
        text="Interaction with other measures (insulation, shifts, compressed air, heat recovery, other tariffs) is not in "
        "these figures: measures that lower the same load lower this saving.",
        style="note",
    )


def non_energy(p: Proposal) -> Iterator[Block]:
    items = p.request.non_energy
    if items:
        yield Bullets(items=items)
    counted = "They are in no figure of this request"
    met = None if p.option is None else parts.limit_met(p, p.option)
    if p.option is None or p.option.measures is None:
        needed = "."
    elif p.option.measures.npv <= 0.0:
        needed = "; without them its net present value is not above zero."
    elif met is False:
        needed = "; without them its net present value is above zero, and the longest payback accepted is not met."
    else:
        needed = f", and its net present value is above zero{' and the payback limit met' if met else ''} without them."
    yield Paragraph(text=f"{counted}{needed}" if items else f"{NOT_STATED} None is counted.")


def incentives(p: Proposal, option: OptionResult) -> Iterator[Block]:
    money = float(option.option.incentive)
    counted = (
        f"An incentive of {amount(money)} {p.currency} is counted in year 0." if money else "No incentive is counted."
    )
    yield Paragraph(text=f"{counted} Status: {p.request.incentive_status or 'not stated'}.".replace("..", "."))


def schedule(p: Proposal) -> Iterator[Block]:
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


def error_of_meters(p: Proposal, option: OptionResult) -> float:
    """Of the metered saving of energy, both ways; NaN where none is saved. [-]"""
    before, after = bought(p.base), bought(option)
    return METER * math.hypot(before, after) / (before - after) if before > after else math.nan


def verification(p: Proposal, option: OptionResult) -> Iterator[Block]:
    own, b = p.request.verification, p.base
    several = len(p.case.model.hoppers) > 1
    gas = b.carrier("gas") + option.carrier("gas") > 0
    air = b.carrier("compressed air") + option.carrier("compressed air") > 0
    meters = [
        "An active-energy meter of class 1 (IEC 62053-21) or better, reading every 15 minutes, on the supply of the dryers"
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
    error = error_of_meters(p, option)
    passed = success.in_words(p, option, error)
    weeks = sum(step.weeks for step in p.request.schedule)
    if p.request.date and weeks:
        ready = p.request.date + datetime.timedelta(weeks=weeks)
        review = f"Twelve months after handover: by this schedule {_months_later(ready, 12).isoformat()}."
    else:
        review = "Twelve months after handover, when a full year of readings is there."
    unit = shown_unit("specific energy", p.case.model.case.units)
    per = [float(to_unit(o.specific_energy, "specific energy", unit)) for o in (b, option)]
    plan = {
        "Boundary": own.boundary
        or "The dryers with their hoppers, metered apart from the machines they feed; what other meters show (compressed air, "
        "cooling, hall) is reported beside.",
        "Meters": own.meters or f"{'; '.join(meters)}.",
        "Baseline period": own.baseline_period
        or f"At least four weeks of the present dryers before they are {'changed' if option.option.retrofit else 'taken out'}, with every resin "
        "and shift pattern in it; twelve months where season matters. What is not metered before can never be verified.",
        "Relevant variables": own.variables
        or "Throughput and resin, drying temperature, moisture in and out, hall temperature and dew point. Static: hopper sizes, "
        "shifts, tariff; a change of these is noted and adjusted for.",
        "Method": "Energy of a week against kilograms dried (a base load and a slope per kilogram), fitted to the baseline period, "
        f"carried to the throughput of the reporting period. Forecast at the case's duty: {three_digits(per[0])} {unit} before, "
        f"{three_digits(per[1])} {unit} after. Money by the bill, worked out twice on the same tariff. The program that wrote "
        "this request works it out from a table of metered weeks.",
        "Expected accuracy": own.accuracy
        or (
            f"Class 1 meters in both periods leave ±{percent(error)} of the saving; the fit on throughput comes on top and is to be "
            "reported with the result."
            if math.isfinite(error)
            else "No energy is saved, so no accuracy of a saving can be stated."
        ),
        "Success": f"{own.success} {passed}".strip()
        + " Every hopper must reach its moisture target at the same throughput.",
        "Responsible": own.responsible or p.request.department or NOT_STATED,
        "Review": own.review or review,
    }
    yield Table(
        title="How the saving will be shown",
        head=("Point", "Plan"),
        rows=tuple(plan.items()),
        align="ll",
        weights=(1, 5),
    )
    yield Paragraph(
        text="Words and order follow published practice for measuring savings: the retrofit-isolation idea of the International Performance "
        "Measurement and Verification Protocol, ISO 50015 on measurement and verification, ISO 50046 on predicting savings. "
        "Compliance with none of them is claimed.",
        style="note",
    )
    yield Paragraph(
        topic="In short.",
        text=f"Meter the dryers at least four weeks before and twelve months after. {plan['Success']} Review: {plan['Review']}",
        short=True,
        only_short=True,
    )


def _months_later(day: datetime.date, months: int) -> datetime.date:
    year, month = divmod(day.year * 12 + day.month - 1 + months, 12)
    return datetime.date(year, month + 1, min(day.day, calendar.monthrange(year, month + 1)[1]))


REGISTER = ("Input", "Value and range", "Basis", "Source or note")


_DULL = ("month", "every", "next_due", "count", "units", "hopper", "type", "arrangement", "name")
"""Keys that a table of the document shows already or that only number a row."""


def assumptions(p: Proposal) -> Iterator[Block]:
    case = p.case
    entries = register(p)
    given = [e for e in entries if written(case.document, e.path) is not None]
    stored = [e for e in entries if written(case.document, e.path) is None]
    based = [e for e in given if e.basis != "given"]
    plain = [e for e in given if e.basis == "given" and e.path.rpartition(".")[2] not in _DULL]
    prices = [e for e in stored if e.path.startswith("tariff ")]
    shaky = [e for e in stored if e.basis == "assumption"]
    rest = [e for e in stored if e not in prices and e not in shaky]
    away = left_out(p)
    gone = f"Left out, since neither uses it: what belongs to {' and '.join(away)}. " if away else ""
    yield Paragraph(
        text=f"Inputs of the plant, the baseline and the option asked for. {gone}{len(given)} stand in the case; {len(stored)} are prices of "
        "the tariffs and typical values that the case does not change. Web page and workbook list all of them. "
        f"Date of the register: {p.request.date.isoformat() if p.request.date else 'not stated'}."
    )
    yield _register(case, "Stated with a basis", based)
    yield _register(case, "Prices", prices)
    yield _register(case, "Given in the case without a basis", plain)
    if case.model.plant_load is not None and (months := case.model.plant_load.months):
        energy, peaks = sum(float(m.energy) for m in months), [float(m.peak) / 1e3 for m in months]
        yield Paragraph(
            text=f"Electricity of the whole plant: {amount(energy / KWH)} kWh in twelve months, billed peaks of "
            f"{min(peaks):,.0f} to {max(peaks):,.0f} kW.",
            style="note",
        )
    yield _register(case, "Typical values that are assumptions", shaky)
    yield _register(case, "Other typical values", rest, long=True)


def _register(case: Case, title: str, entries: Sequence[inputs.Input], *, long: bool = False) -> Table:
    """Alike inputs of several machines stand once, those of a month of the climate on one line."""
    rows: dict[tuple[str, str, str, str], None] = {}
    months: dict[tuple[str, str, str], tuple[str, str, str, str]] = {}
    for e in entries:
        label, value, basis, source = e.label, _value(e), e.basis, pretty(e.source.removeprefix(f"{e.basis}: "))
        if month := month_of(case, e):
            key = month, basis, source
            if key in months:
                before = months[key]
                del rows[before]
                label = f"{before[0]}, {label.removeprefix(f'{month}: ')}"
                value = f"{before[1]}, {value}"
            months[key] = label, value, basis, source
        rows[label, value, basis, source] = None
    return Table(title=title, head=REGISTER, rows=tuple(rows), align="llll", weights=(2.7, 2.3, 0.95, 2.6), long=long)


def _value(entry: inputs.Input) -> str:
    """The value as print has it: said once where the case says it as it is shown, thousands apart."""
    text = pretty(entry.value)
    asked, _, shown = text.partition(" = ")
    text = shown if shown.startswith(asked) else text
    return re.sub(r"(?<![\w.,-])\d{4,}(?=(?:\.\d+)? [^\W\d])", lambda whole: f"{int(whole[0]):,}", text)


def approvals(p: Proposal) -> Iterator[Block]:
    yield Signatures(roles=roles_of(p.request), short=True)


def roles_of(request: Request) -> tuple[str, ...]:
    """Who signs: as the case says, or the usual ones."""
    return request.approvals or ("Requested by", "Production", "Finance", "Plant management")


def method(p: Proposal, simulation: Simulation | None) -> Iterator[Block]:
    yield Paragraph(
        text="Each option is run through the states of the plant's year (production, standby, starts) by a heat and mass balance of its type; "
        "drying is checked before any cost is ranked; energy and peaks are billed on the tariffs as two bills, with the dryers and without; "
        "cash flows, life-cycle cost, net savings, savings-to-investment ratio and paybacks follow 10 CFR 436 and the definitions of ASTM E917, "
        "E964, E1057, E1074 and E1121. The contents follow what ISO 50002, EN 16247, ISO 11011, EN 17463 and ISO 50015 ask of such a report; "
        "compliance with none of them is claimed."
    )
    yield Paragraph(
        text=" ".join(
            pretty(f"{name.capitalize()}: {t.name}, {tables.describe(t)}; source: {t.source}.")
            for name, t in p.case.tariffs.items()
        )
    )
    yield Paragraph(
        text=f"Made with pellet-dryer-energy {__version__}. Case file {p.case.file.rpartition('/')[2]}; SHA-256 of the case with its tariffs: "
        f"{case_hash(p.case)}. Chances: {chance.drawn(simulation)}. "
        "The same case, version, draws and seed give the same document, byte for byte. The case file and the workbook hold all data for later tracking. "
        "Figures in sentences are rounded to three digits; tables are not rounded further than printed.",
        short=True,
    )
