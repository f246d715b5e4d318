"""The answer of a walkthrough as HTML: big figures, findings, bars of power; every text is escaped."""

from __future__ import annotations

import re
from collections.abc import Sequence

from dashboards import palette
from dashboards.markup import escape
from energy.reports import walkthrough as report
from energy.reports import walkthrough_words as wording
from energy.reports.amounts import money
from energy.reports.beside_model import counted_energy
from energy.reports.moisture_words import of_pellets
from energy.units import show
from energy.walkthrough.balance import Term
from energy.walkthrough.causes import Cause
from energy.walkthrough.estimate import COVERAGE
from energy.walkthrough.found import power_read
from energy.walkthrough.walk import Walkthrough
from energy.walkthrough.with_meter import beside_the_meter


def figures(made: Walkthrough, system: str) -> str:
    """Energy per resin and cost a year, large enough to be read from two metres."""
    told, currency = made.balance, made.case.currency
    value, cost = (
        wording.per_resin(told, system),
        money(made.year.cost, "").strip(),
    )
    main, rest = value.split(" ", maxsplit=1)
    low, high = (money(end, "").strip() for end in made.cost_range)
    modelled = ", with demand and cooling as modelled" if power_read(told.found.readings) else ""
    expected = f"The model of the dryer as in the case, at the throughput found here: {show(told.expected, 'specific energy', system)}."
    expected = f"{wording.stands_for(told, system)} {expected}"
    beside = f"The model of this dryer: {show(told.expected, 'specific energy', system)}"
    if told.found.metered != 1.0:
        counted = show(counted_energy(told), "specific energy", system)
        beside += f"; counted in the comparison: {counted}"
        expected += f" The comparison counts {counted} at this throughput, brought to the meter."
    least, takes = "", f'<p class="hint when-small">{escape(report.at_the_least(made, system))}</p>'
    resin = "" if made.impossible else f"Least that the resin takes: {show(made.least, 'specific energy', system)}"
    if made.impossible:
        said = report.below_least(made, system)
        takes = ""
        least = f'<p class="apart"><span class="caution">{escape(said[:1].upper() + said[1:])}</span></p>'
    why = report.wider(made)
    apart = f'<p class="hint when-small">{escape(why)}</p>' if why else ""
    resting = [
        report.label(doubt.name).partition(",")[0].lower()
        for doubt in made.doubts
        if doubt.name in report.figures_rest_on(made) & report.doubtful(made)
    ]
    marked, first = "figures", ""
    if resting:
        marked = "figures doubted"
        first = f'<p class="first apart"><span class="caution">Not to be used before it is checked: {escape(" and ".join(resting))}</span></p>'
    if words := report.left_out(made):
        first += f'<p class="first apart"><span class="caution">{escape(words)}</span></p>'
    return (
        f'<div class="{marked}" id="answer">{first}<div><p class="hint">Energy per resin</p><p class="figure" {_wide(main)}>{main}'
        f'<span class="unit"> {escape(rest)}</span></p>{least}{apart}'
        f'<p class="hint when-small">{escape(expected)}</p>{takes}<p class="beside when-big">{escape(resin)}</p>'
        f'<p class="beside when-big">{escape(beside)}</p></div>'
        f'<div><p class="hint">Energy cost a year</p><p class="figure" {_wide(cost, currency)}>{escape(cost)}'
        f'<span class="unit"> {escape(currency)}</span></p><p class="hint">{low} to {high}{modelled}{wording.cut(told)}</p></div></div>'
    )


def _wide(figure: str, unit: str = "") -> str:
    """How wide a figure is with the unit beside it, so that the page can make it fit. [ems of the figure's own letters]"""
    narrow = sum(sign in ",." for sign in figure)
    return f'style="--wide: {0.72 * (len(figure) - narrow) + 0.42 * narrow + 0.12:.2f}; --unit: {0.75 * len(unit) + 0.3 * bool(unit):.2f}"'


def brief(made: Walkthrough, system: str, *, stale: bool) -> str:
    """Energy per resin, cost a year and verdict in two lines, for where the figures are scrolled out of sight."""
    told = made.balance
    figures = (
        wording.per_resin(told, system),
        f"{money(made.year.cost, made.case.currency)}/year",
    )
    words = report.verdict(made, system) if told.agrees else "Readings disagree: see above."
    words = f"{report.label(made.doubts[0].name)} {made.doubts[0].brief}." if made.doubts else words
    words = "Not up to date: see what is wrong beside the reading." if stale else words
    said = " ".join(f"<b>{escape(figure)}</b>" for figure in figures)
    return f'<p>{escape(told.found.readings.hopper)} {said}</p><p class="hint">{escape(words)}</p>'


def verdict(made: Walkthrough, system: str) -> str:
    """Is it what the model expects, and do the readings agree?"""
    told = made.balance
    apart, settle = report.contradicted(made), report.would_settle(made)
    said = [f'<p class="apart"><span class="caution">{escape(words)}</span></p>' for words in report.to_check(made)]
    if words := report.verdict(made, system):
        said.append(f'<p class="answer">{_kept_together(words)}</p>')
    if apart:
        said.append(f'<p class="apart"><span class="caution">{escape(apart[0])}</span></p>')
    said += [f'<p class="when-small">{escape(words)}</p>' for words in apart[1:]]
    if settle:
        rows = "".join(f"<li><b>{escape(name)}</b>: {escape(how)}</li>" for name, how in settle)
        said.append(
            f'<div class="when-small"><p class="hint">What would settle it</p><ul class="settle">{rows}</ul></div>'
        )
    return "".join([*said, *(f'<p class="hint when-small">{escape(note)}</p>' for note in told.notes)])


def top_finding(made: Walkthrough) -> str:
    """The dearest finding and the sum of the others, a line each, for the big figures; empty where something is to be checked first."""
    dear, currency = [cause for cause in made.causes if cause.power > 0.0], made.case.currency
    if not dear or report.until_checked(made):
        return ""
    first, *rest = dear
    rows = [
        f'<p class="finding"><b>{escape(first.name)}</b><span>{escape(money(first.money, currency))} a year</span></p>'
    ]
    if rest:
        count = "1 other finding" if len(rest) == 1 else f"{len(rest)} other findings, together"
        most = money(sum(cause.money for cause in rest), currency)
        rows.append(f'<p class="finding"><b>{count}</b><span>at most {escape(most)} a year</span></p>')
    return "".join(rows)


def findings(made: Walkthrough) -> str:
    """Every finding as a card: what, how much a year, why."""
    if not made.causes:
        return '<p class="hint">Nothing that these readings speak for.</p>'
    first = "".join(f'<p class="hint">{words}</p>' for words in report.until_checked(made))
    several = sum(cause.power > 0.0 for cause in made.causes) > 1
    more = '<p class="hint">Mending several saves less than their sum.</p>' if several else ""
    more += "".join(f'<p class="hint">{escape(words)}</p>' for words in beside_the_meter(made))
    return f'{first}<ol class="findings">{"".join(_finding(c, made.case.currency) for c in made.causes)}</ol>{more}'


def _finding(cause: Cause, currency: str) -> str:
    worth = f"{money(cause.money, currency)} a year" if cause.power > 0.0 else report.costs_no_energy(cause)
    return (
        f'<li><p class="finding"><b>{escape(cause.name)}</b><span>{escape(worth)}</span></p>'
        f'<p>{escape(cause.text)}</p><p class="hint">{escape(cause.physics)}</p></li>'
    )


def next_readings(made: Walkthrough, system: str) -> str:
    """What to read to be sure of a finding, and the readings that would narrow the answer most."""
    rows = [
        f'<li><p class="finding"><b>{escape(name)}</b></p><p>{escape(how)}</p></li>'
        for name, how in (*report.settled_by(made), *report.would_locate(made))
    ]
    if not made.next_readings and not rows:
        return '<p class="hint">No single reading would narrow it noticeably.</p>'
    for reading in made.next_readings:
        half = show(COVERAGE * reading.uncertainty, "specific energy", system, digits=2)
        name = report.label(reading.name, made.balance.found.machine.type)
        rows.append(
            f'<li><p class="finding"><b>{escape(name)}</b><span>± {escape(half)}</span></p>'
            f"<p>{escape(reading.how)}</p></li>"
        )
    return f'<ol class="findings">{"".join(rows)}</ol>'


def power(made: Walkthrough) -> str:
    """What the power goes to, as bars in the colours of the end uses."""
    told = made.balance
    most = max(term.value + COVERAGE * term.uncertainty for term in told.parts)
    rows = []
    for term in sorted(told.parts, key=lambda t: -t.value):
        colour = palette.END_USE_COLOURS.get(term.name, palette.GREY)
        wide = max(0.0, 100.0 * term.value / most)
        name, figure, origin = report.power_row(term, told.found.machine.type)
        rows.append(
            f'<tr><th scope="row">{escape(name)} <span class="hint">{escape(origin)}</span>'
            f'<div class="power"><i style="width:{wide:.1f}%;background:{colour}"></i></div></th><td>{escape(figure)}</td></tr>'
        )
    name, figure, origin = report.power_row(told.power, told.found.machine.type)
    foot = f'<tfoot><tr><th scope="row">{name} <span class="hint">{origin}</span></th><td>{figure}</td></tr></tfoot>'
    return _table("Power", ("Power to", "Power"), "".join(rows), foot)


def heat(terms: Sequence[Term]) -> str:
    """The balance of the hopper and what return air and cooler carry, from the readings as they are."""
    if not terms:
        return '<p class="hint">This type has no stream of hot air to balance; its power tells.</p>'
    rows = "".join(
        f'<tr><th scope="row">{escape(name)} <span class="hint">{escape(origin)}</span></th><td>{escape(figure)}</td></tr>'
        for name, figure, origin in map(report.power_row, terms)
    )
    return _table("Heat in the hopper", ("Heat", "Power"), rows)


def gaps(made: Walkthrough, system: str) -> str:
    """Read beside expected, marked where the difference is no accident."""
    found = made.balance.found
    pellets = "".join(f"<p>{escape(words)}</p>" for words in of_pellets(found, made.pellets, system))
    if not made.gaps:
        return pellets or '<p class="hint">Nothing was read yet.</p>'
    rows = []
    for gap in made.gaps:
        name, read, expected, word = report.gap_row(gap, system, found.machine.type)
        mark = "pass" if word == "as expected" else "hint" if "range" in word else "caution"
        rows.append(
            f'<tr><th scope="row">{escape(name)}</th><td>{escape(read)}</td><td><span>{escape(expected)}</span></td>'
            f'<td><span class="{mark}">{word}</span></td></tr>'
        )
    return _table("Read beside the model", ("Quantity", "Read", "Expected", ""), "".join(rows)) + pellets


def missing(made: Walkthrough) -> str:
    """What was not read and so widens the answer."""
    names = ", ".join(report.label(name).lower() for name in made.balance.missing)
    return f'<p class="hint">Not read: {escape(names)}. {report.MODELLED}</p>' if names else ""


def _kept_together(words: str) -> str:
    """A sentence whose figures stay on a line with their units."""
    return re.sub(r"(?<=\d) (?=%|Wh|Btu|kWh)", "&nbsp;", escape(words))


def _table(label: str, heads: Sequence[str], rows: str, foot: str = "") -> str:
    cells = "".join(f'<th scope="col">{head}</th>' if head else "<td></td>" for head in heads)
    return (
        f'<div class="scroll" tabindex="0" role="region" aria-label="{label}"><table class="t"><thead><tr>{cells}</tr></thead>'
        f"<tbody>{rows}</tbody>{foot}</table></div>"
    )
