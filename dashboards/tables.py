"""The table of options and the checks of one option as HTML; every text from a case is escaped."""

from __future__ import annotations

import html
import math
from collections.abc import Iterable, Sequence

import numpy as np

from dashboards import where_from
from dashboards.markup import escape
from dashboards.scenarios import Outcome
from energy.reports.amounts import three_digits
from energy.reports.demand_words import demand_words
from energy.reports.labels import labelled
from energy.reports.paid_back import NONE
from energy.reports.print_signs import pretty
from energy.reports.tables import demand_counted, paybacks, peak_note, sizes_note
from energy.reports.tables import sizes as size_rows
from energy.study.compare import CAUTIONS, KWH, Comparison, OptionResult
from energy.study.finding import Finding
from energy.study.life_cycle import before_or_after_tax, conventions
from energy.units import shown_unit, to_unit

GAS_SHOWN = {"si": "MWh", "us": "MMBtu"}
WORDS = {"pass": "dries", "caution": "with caution", "unlikely": "unlikely", "fail": "does not dry"}


def options(comparison: Comparison, system: str) -> str:
    """One row per option, ranked ones first."""
    money = escape(comparison.case.currency)
    unit = shown_unit("specific energy", system)
    head = (
        ("Option", ""),
        ("Dries?", "text"),
        (f"To run<br>{money}/year", ""),
        (f"Capital<br>{money}", ""),
        ("Payback<br>years", ""),
        (f"Net savings<br>{money}", ""),
        (f"Life-cycle<br>cost, {money}", ""),
        (f"Energy<br>{unit}", ""),
        ("Electricity<br>MWh/year", ""),
        (f"Gas<br>{GAS_SHOWN[system]}/year", ""),
        ("Peak<br>kW", ""),
    )
    cells = "".join(f'<th scope="col" class="{css}">{text}</th>' for text, css in head)
    rows = "".join(_row(comparison, o, unit, system) for o in comparison.in_order())
    return (
        '<div class="scroll" tabindex="0" role="region" aria-label="Table of options"><table class="t" id="options">'
        f"<thead><tr>{cells}</tr></thead><tbody>{rows}</tbody></table></div>"
        f'<p class="hint">Those that pass every check first, then those to be taken with caution (first those whose predicted moisture passes), then '
        f"unlikely ones, each by life-cycle cost over "
        f"{comparison.case.model.finance.years} years at {100 * comparison.case.model.finance.rate:.3g} % "
        f"{escape(comparison.case.model.finance.rate_basis)}, {before_or_after_tax(comparison.case)}; options that fail to dry or have no "
        f"capital yet are not ranked. Payback in brackets is on running cost "
        "alone, without the replacements spared or added. Running cost is what the "
        "bills rise by with this dryer. Electricity includes that of the compressor, at what one more cubic metre takes under its control. "
        f"Peak is the {peak_note(comparison.case)}. Demand: {escape(demand_counted(comparison.case))}. "
        "Differences of a few per cent between types lie within the ranges of their inputs.</p>"
    )


def _row(comparison: Comparison, o: OptionResult, unit: str, system: str) -> str:
    m = o.measures
    marks = {"present": o.option.baseline, "upkeep not given": not o.option.upkeep_given}
    beside = "".join(f' <span class="hint">{text}</span>' for text, said in marks.items() if said)
    verdict = o.verdict.overall
    reason = escape(" ".join(o.verdict.reasons()[:1]), quote=True)
    electricity = (o.carrier("electricity") + o.carrier("compressed air")) / KWH

    def why(text: str, column: str) -> str:
        return where_from.button(text, comparison, o, column)

    numbers = (
        why(f"{o.total_cost:,.0f}", "to run"),
        why(f"{o.capital:,.0f}" if o.priced else "no price", "capital"),
        why(payback(o) if o.held_out else "–", "payback"),
        why(signed(m.npv) if m is not None and o.held_out else "–", "net savings"),
        why(f"{o.life_cycle_cost:,.0f}" if o.priced else "–", "life-cycle cost"),
        why(f"{to_unit(o.specific_energy, 'specific energy', unit):.1f}", "energy"),
        why(f"{electricity / 1e3:,.1f}", "electricity"),
        why(f"{gas:,.1f}" if (gas := to_unit(o.carrier("gas"), "energy", GAS_SHOWN[system])) else "–", "gas"),
        why(f"{o.peak / 1e3:.1f}", "peak"),
    )
    cells = "".join(f"<td>{n}</td>" for n in numbers)
    return (
        f'<tr data-option="{html.escape(o.name)}"><th scope="row">{escape(o.name)}{beside}</th>'
        f'<td title="{reason}"><span class="{verdict}">{WORDS[o.verdict.word]}</span></td>{cells}</tr>'
    )


def signed(amount: float) -> str:
    """Whole money with a true minus sign, and none before nought."""
    text = pretty(f"{amount:,.0f}")
    return "0" if text == "−0" else text


def payback(o: OptionResult) -> str:
    """Years, or why there are none."""
    if o.measures is None:
        return "–"
    if math.isfinite(o.measures.payback):
        return escape(paybacks(o.measures))
    note = escape(o.measures.payback_note or "not within the study", quote=True)
    said = paybacks(o.measures) if "payback" in o.measures.at_once else NONE
    return f'<span title="{note}">{escape(said)}</span>'


def sizes(comparison: Comparison, system: str) -> str:
    """How big each machine is."""
    listed = comparison.in_order()
    head, rows = size_rows(listed, system)
    explained = ("hopper", "air", "heater", "regeneration", "blower", "desiccant", "compressed air")

    def cell(option: OptionResult, column: str, text: str) -> str:
        return f"<td>{where_from.button(text.replace('-', '–'), comparison, option, column)}</td>"

    cells = "".join(
        f'<th scope="col">{"<br>".join(_capital(h).replace("3", "³").split(" ", 1)).replace("-", " ")}</th>'
        for h in head
    )
    body = "".join(
        f'<tr><th scope="row">{escape(name)}</th>'
        + "".join(cell(option, column, text) for column, text in zip(explained, figures, strict=True))
        + "</tr>"
        for option, (name, *figures) in zip(listed, rows, strict=True)
    )
    return (
        '<div class="scroll" tabindex="0" role="region" aria-label="Sizes"><table class="t">'
        f"<thead><tr>{cells}</tr></thead><tbody>{body}</tbody></table></div>"
        f'<p class="hint">{escape(_capital(sizes_note(system)))}.</p>'
    )


def _capital(text: str) -> str:
    return text[0].upper() + text[1:]


def states(comparison: Comparison, o: OptionResult) -> str:
    """Energy of one option by operating state, in a sentence."""
    year = comparison.case.calendar
    parts = [f"{escape(k)} {float(np.sum(v)) / KWH:,.0f} kWh" for k, v in o.year.by_state().items()]
    hours = f"{year.production.sum() / 3600:,.0f} h of production"
    if year.standby.any():
        hours += f", {year.standby.sum() / 3600:,.0f} h of hot standby"
    if year.starts.any():
        hours += f", {year.starts.sum():,.0f} start{'' if round(float(year.starts.sum())) == 1 else 's'} from cold"
    return f'<p class="hint">A year of {hours}: {", ".join(parts)}.</p>'


def saving(comparison: Comparison, o: OptionResult) -> str:
    """What the bills fall by line by line, in the first year and in every later one."""
    if not o.savings:
        return '<p class="hint">This is the present machine, against which the others are counted.</p>'
    money = escape(comparison.case.currency)
    rows, first, steady = [], 0.0, 0.0
    for meter in o.savings.values():
        for line in meter.lines:
            if abs(line.first_year) < 0.5 and abs(line.steady) < 0.5:
                continue
            rows.append(
                f'<tr><th scope="row">{escape(line.line)}</th><td class="text prose" style="min-width: 12em">{escape(line.clause)}</td>'
                f"<td>{where_from.line_of_bill(f'why-first-{len(rows)}', signed(line.first_year), line, money, o.name)}</td>"
                f"<td>{where_from.line_of_bill(f'why-later-{len(rows)}', signed(line.steady), line, money, o.name)}</td></tr>"
            )
        first, steady = first + float(meter.first_year), steady + float(meter.steady)
    electricity = o.savings.get("electricity")
    said = "" if electricity is None else demand_words(electricity, lambda amount: f"{amount:,.0f} {money}")
    words = f" {escape(said)}" if said else ""
    return (
        '<div class="scroll" tabindex="0" role="region" aria-label="Saving by line of the bill"><table class="t">'
        f'<thead><tr><th scope="col">Line of the bill</th><th scope="col" class="text">Clause</th><th scope="col">First year<br>{money}</th>'
        f'<th scope="col">Later years<br>{money}</th></tr></thead><tbody>{"".join(rows)}</tbody>'
        f'<tfoot><tr><th scope="row">Together</th><td></td><td>{signed(first)}</td><td>{signed(steady)}</td></tr></tfoot></table></div>'
        f'<p class="hint">Bill with the present dryers less bill with this option, at prices of the base year; minus is what rises.{words}</p>'
    )


def scenarios(comparison: Comparison, found: Sequence[Outcome]) -> str:
    """The best option of every scenario beside that of the case as it is."""
    money = escape(comparison.case.currency)
    rows = _best("The case as it is", comparison)
    for one in found:
        rows += (
            f'<tr><th scope="row">{escape(one.name)}</th><td class="text prose" colspan="6"><span class="problem">{escape(one.problem)}</span></td></tr>'
            if one.comparison is None
            else _best(one.name, one.comparison, one.note)
        )
    heads = (
        ("Scenario", ""),
        ("Best option", "text"),
        ("Dries?", "text"),
        (f"Its running<br>cost, {money}/year", ""),
        (f"Present one<br>{money}/year", ""),
        ("Payback<br>years", ""),
        (f"Net savings<br>{money}", ""),
    )
    head = "".join(f'<th scope="col" class="{css}">{text}</th>' for text, css in heads)
    return (
        '<div class="scroll" tabindex="0" role="region" aria-label="Scenarios"><table class="t" id="scenarios">'
        f"<thead><tr>{head}</tr></thead><tbody>{rows}</tbody></table></div>"
        '<p class="hint">Best: the first in the order of the table of options, each scenario compared anew. Capital stays as quoted, '
        "also where a throughput changes: the quote is for the machine that is bought. Present dryers and retrofits of them stay as big as they are.</p>"
    )


def _best(name: str, comparison: Comparison, note: str = "") -> str:
    ranked = comparison.ranked()
    more = f'<br><span class="hint">{escape(note)}</span>' if note else ""
    head = f'<tr><th scope="row">{escape(name)}{more}</th>'
    present = f"<td>{comparison.baseline.total_cost:,.0f}</td>"
    if not ranked:
        return f'{head}<td class="text">none dries</td><td></td><td></td>{present}<td></td><td></td></tr>'
    best = ranked[0]
    verdict = f'<span class="{best.verdict.overall}">{WORDS[best.verdict.word]}</span>'
    # As in the table of options: no money is said of what is not expected to dry.
    saved = "–" if best.measures is None or not best.held_out else signed(best.measures.npv)
    back = payback(best) if best.held_out else "–"
    return (
        f'{head}<td class="text">{escape(best.name)}</td><td class="text">{verdict}</td><td>{best.total_cost:,.0f}</td>{present}'
        f"<td>{back}</td><td>{saved}</td></tr>"
    )


_STREAMS = {
    "capital": "Capital",
    "incentive": "Incentive",
    "electricity": "Electricity saved",
    "gas": "Gas saved",
    "water": "Cooling saved",
    "maintenance": "Maintenance saved",
    "replacements": "Replacements spared less own",
    "residual": "Value left in the machine",
    "ratchet": "Less in the first year, by a ratchet",
    "tax on savings": "Tax on savings",
    "tax on replacements": "Tax spared by replacements",
    "depreciation": "Tax spared by depreciation",
    "tax on residual": "Tax on the value left",
    "tax on incentive": "Tax on the incentive",
}


def cash(comparison: Comparison, o: OptionResult) -> str:
    """The cash flow of one option against the baseline, year by year."""
    if o.measures is None:
        return '<p class="hint">This is the present machine, against which the others are counted.</p>'
    streams = {k: v for k, v in o.measures.streams.items() if np.any(v != 0.0)}
    years = range(len(o.measures.cash_flow))
    head = "".join(f'<th scope="col">{y}</th>' for y in years)

    def row(label: str, amounts: object) -> str:
        return f'<tr><th scope="row">{escape(label)}</th>' + "".join(f"<td>{signed(a)}</td>" for a in amounts) + "</tr>"  # type: ignore[attr-defined]

    body = "".join(row(_STREAMS[k], v) for k, v in streams.items())
    foot = row("Net", o.measures.cash_flow) + row("Added up", np.cumsum(o.measures.cash_flow))
    said = " ".join(conventions(comparison.case))
    return (
        '<div class="scroll" tabindex="0" role="region" aria-label="Cash by year"><table class="t years">'
        f'<thead><tr><th scope="col">{escape(comparison.case.currency)}, year</th>{head}</tr></thead><tbody>{body}</tbody>'
        f"<tfoot>{foot}</tfoot></table></div>"
        f'<details><summary>How the money is counted</summary><p class="hint">{escape(said)} '
        "Payback is counted without the value left in the machine.</p></details>"
    )


def checks(findings: Iterable[Finding], *, tested: bool = True, missed: bool = False) -> str:
    """Every check of a dryer at one hopper, or of the plant around it: value, limit, verdict, sentence.

    Where the best estimate misses the target, the check of moisture has the word of the options' table.
    """

    def word(f: Finding) -> str:
        if missed and f.check == "predicted moisture" and f.verdict == "caution":
            return WORDS["unlikely"]
        return f.verdict if tested or f.verdict != "pass" else "noted"

    rows = "".join(
        f'<tr><th scope="row">{escape(f.check.capitalize())}</th>'
        f'<td><span class="{f.verdict}">{word(f)}</span></td>'
        f"<td>{_figure(f.value)}</td><td>{_figure(f.limit)}</td><td class='text'>{escape(_unit(f.unit))}</td>"
        f'<td class="text prose">{escape(labelled(f.text))}</td></tr>'
        for f in findings
    )
    return (
        '<div class="scroll" tabindex="0" role="region" aria-label="Checks of the chosen option"><table class="t checks">'
        '<thead><tr><th scope="col">Check</th><th scope="col" class="text">Verdict</th><th scope="col">Value</th>'
        '<th scope="col">Limit</th><th scope="col" class="text">Unit</th><th scope="col" class="text">In words</th></tr></thead>'
        f"<tbody>{rows}</tbody></table></div>"
    )


def _figure(value: float | None) -> str:
    return "–" if value is None else pretty(three_digits(value))


def _unit(unit: str) -> str:
    return {"1": "×", "degC": "°C", "degF": "°F"}.get(unit, unit)


def cautions() -> str:
    """The cautions that stand on every view."""
    return (
        '<aside class="cautions"><h2>Before anyone acts on this</h2><ul>'
        + "".join(f"<li>{escape(c)}</li>" for c in CAUTIONS)
        + "</ul></aside>"
    )
