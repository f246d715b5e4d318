"""A tariff and its bills as HTML; every text from a file or a visitor is escaped."""

from __future__ import annotations

from calendar import month_name
from collections.abc import Mapping, Sequence
from typing import Any

import numpy as np

from dashboards.markup import escape
from energy.reports.bill import Compared, by_line, figure, quantity_text, rate_text
from energy.reports.bill import money as plain_money
from energy.reports.print_signs import pretty
from energy.reports.rows import joined
from energy.study.compare import CAUTIONS
from energy.tariffs import Bill, Tariff
from energy.units import to_unit
from energy.units.currencies import decimals, least


def money(amount: Any, currency: str) -> str:
    """An amount to the cent, with a true minus sign."""
    return pretty(plain_money(amount, currency))


def about(tariff: Tariff) -> str:
    """Name, what it is for and where it comes from."""
    window = f"; demand is a mean over {tariff.demand_window / 60:g} min" if tariff.commodity == "electricity" else ""
    zone = tariff.price_calendar.time_zone
    clock = f"; clock of {zone}" if zone else ""
    parts = [
        f"<p>{escape(f'{tariff.commodity.capitalize()} in {tariff.currency}{window}{clock}. Source: {tariff.source}.')}"
    ]
    if tariff.invented:
        parts.append(' <span class="caution">invented</span>')
    note = f"<p class='hint'>{escape(tariff.note)}</p>" if tariff.note else ""
    return f"<h2>{escape(tariff.name)}</h2>{''.join(parts)}</p>{note}"


def charges(tariff: Tariff) -> str:
    """Every charge in words, with what it demands and its clause."""
    rows = "".join(
        f'<tr><th scope="row">{escape(charge.label)}</th>'
        f'<td class="text prose" style="min-width: 17em">{escape(words + _of(tariff, charge))}'
        f'<div class="hint">{escape(charge.type.replace("-", " "))}</div></td>'
        f'<td class="text prose" style="min-width: 17em">{escape(charge.clause)}</td></tr>'
        for charge, words in zip(tariff.charges, tariff.describe(), strict=True)
    )
    return table(
        "Charges",
        (("Charge", ""), ("In words", "text"), ("Clause", "text")),
        rows,
        identity="charges",
    )


def _of(tariff: Tariff, charge: object) -> str:
    """Labels of the charges that a charge counts on, and when it holds."""
    labels = {c.id: c.label for c in tariff.charges}
    of = [labels[name] for name in getattr(charge, "of", ())]
    months = [month_name[m] for m in getattr(charge, "months", ())]
    floor = getattr(charge, "floor", None)
    least = [month_name[m] for m in floor.months] if floor else []
    words = f" of {joined(of)}" if of else ""
    words += f"; the least holds in {joined(least)}" if least else ""
    words += f"; in {joined(months)}" if months else ""
    for word, day in (("from", getattr(charge, "valid_from", None)), ("up to", getattr(charge, "valid_to", None))):
        words += f"; {word} {day}" if day else ""
    return words


def cells(tariff: Tariff, prices: np.ndarray, unit: str) -> str:
    """Price of one more unit in each price cell, as a sentence each."""
    by_unit = prices / float(to_unit(1.0, "energy", unit))
    priced = f"{escape(tariff.currency)}/{escape(unit)}"

    def shown(values: np.ndarray) -> str:
        low, high = float(np.nanmin(values)), float(np.nanmax(values))
        text = f"{low:.4g}" if high - low < 5e-5 * max(abs(high), 1e-9) else f"{low:.4g} to {high:.4g}"
        return pretty(text)

    names = tariff.price_calendar.cells
    if len(names) == 1:
        return f"<p>At all hours <b>{shown(by_unit)} {priced}</b>.</p>"
    rows = [f"{escape(name)} <b>{shown(by_unit[:, i])}</b>" for i, name in enumerate(names)]
    return f"<p>{'; '.join(rows)} {priced}.</p>"


def reconciled(
    rows: Sequence[Compared],
    total: float,
    printed_total: float | None,
    currency: str,
    unread: Mapping[str, str] | None = None,
) -> str:
    """Last month's bill line by line beside the printed one; `unread` has what was typed in and is no amount, by line."""
    wrong = unread or {}

    def amount(line: str, value: float | None) -> str:
        if line in wrong:
            return f'<span class="fail">{escape(wrong[line])}</span>'
        return "–" if value is None else money(value, currency)

    def why(row: Compared) -> str:
        return "not an amount of money; write a number" if row.line in wrong else _why(row)

    body = "".join(
        f'<tr{_off(row.off)}><th scope="row">{escape(row.line)}</th>'
        f"<td>{escape(quantity_text(row))}<div class='hint'>at {escape(rate_text(row, currency))}</div></td>"
        f"<td>{money(row.computed, currency)}</td><td>{amount(row.line, row.printed)}</td>"
        f"<td>{_difference(row.difference, row.off, currency)}</td><td class='text prose' style='min-width: 12em'>{why(row)}"
        f"<div class='hint'>{escape(row.clause)}</div></td></tr>"
        for row in rows
    )
    whole = Compared(
        line="", clause="", quantity=1, unit="", rate=0, computed=total, printed=printed_total, currency=currency
    )
    foot = (
        f'<tr{_off(whole.off)}><th scope="row">Total</th><td></td><td>{money(total, currency)}</td>'
        f"<td>{amount('', printed_total)}</td>"
        f"<td>{_difference(whole.difference, whole.off, currency)}</td><td class='text'>{why(whole)}</td></tr>"
    )
    head = (
        ("Line", ""),
        ("Quantity<br>at rate", ""),
        (f"Computed<br>{escape(currency)}", ""),
        (f"Printed<br>{escape(currency)}", ""),
        ("Difference", ""),
        ("In words, and the clause", "text"),
    )
    return table("Last month's bill", head, body, foot, identity="reconciled")


def _off(off: bool) -> str:
    return ' data-off="yes"' if off else ""


def _difference(gap: float | None, off: bool, currency: str) -> str:
    if gap is None:
        return "–"
    gap = round(gap, decimals(currency))
    text = f"{'+' if gap > 0 else ''}{money(gap, currency)}"
    return f'<span class="caution">{text}</span>' if off else text


def _why(row: Compared) -> str:
    if row.printed is None:
        return ""
    if not row.off:
        return "agrees" if abs(row.difference or 0.0) < 1.5 * least(row.currency) else "agrees within 1 %"
    if row.meant is None:
        return "more than 1 % apart"
    return escape(
        f"at this rate the printed amount means {figure(row.meant)} {row.unit} instead of {figure(row.quantity)}"
    )


def sentence(
    made: Bill,
    when: str,
    rows: Sequence[Compared],
    printed_total: float | None,
    unread: Mapping[str, str] | None = None,
    example: bool = False,
) -> str:
    """How the bill agrees, in a sentence; of the bill worked out in a tariff's file that it is no more than an example."""
    off = [row.line for row in rows if row.off]
    total = float(made.total)
    text = f"{when}: <b>{money(total, made.currency)} {escape(made.currency)}</b> by this tariff"
    if printed_total is not None:
        gap = printed_total - total
        if abs(gap) < 1.5 * least(made.currency):
            text += (
                ", as worked out by hand in its file: an example. Type in your own bill."
                if example
                else ", as printed."
            )
        else:
            share = f" ({100.0 * abs(gap / printed_total):.1f} %)" if printed_total else ""
            text += (
                f"; the printed total is {money(abs(gap), made.currency)} {'higher' if gap > 0 else 'lower'}{share}."
            )
    else:
        text += "." if "" in (unread or {}) else "; type in the printed amounts to compare."
    if unread:
        names = [line or "the total" for line in unread]
        text += f" Not compared, since no amount was typed in: {escape(joined(names))}."
    if off:
        text += f" More than 1 % apart: {escape(joined(off))}."
    known = [row.printed for row in rows if row.printed is not None]
    if (
        printed_total is not None
        and len(known) == len(rows)
        and abs(sum(known) - printed_total) > 1.5 * least(made.currency)
    ):
        text += f" The printed lines add up to {money(sum(known), made.currency)}, not to the printed total."
    return f'<p class="answer" id="answer">{text}</p>'


def year(made: Bill) -> str:
    """A year's bill by line with the share of each."""
    total = float(made.total)
    body = "".join(
        f'<tr><th scope="row">{escape(label)}</th><td>{money(amount, made.currency)}</td>'
        f"<td>{f'{100.0 * float(amount) / total:.1f} %' if total else '–'}</td><td class='text prose'>{escape(clause)}</td></tr>"
        for label, clause, amount in by_line(made)
    )
    foot = f'<tr><th scope="row">Total</th><td>{money(total, made.currency)}</td><td></td><td></td></tr>'
    head = (("Line", ""), (escape(made.currency), ""), ("Share", ""), ("Clause", "text"))
    return table("A year's bill by line", head, body, foot, identity="year")


def month(made: Bill) -> str:
    """One month of a year's bill, line by line."""
    body = "".join(
        f'<tr><th scope="row">{escape(line.line)}</th><td>{escape(quantity_text(line))}</td>'
        f"<td>{escape(rate_text(line, made.currency))}</td><td>{money(line.amount, made.currency)}</td>"
        f"<td class='text prose'>{escape(line.clause)}</td></tr>"
        for line in made.lines
    )
    foot = f'<tr><th scope="row">Total</th><td></td><td></td><td>{money(made.total, made.currency)}</td><td></td></tr>'
    head = (("Line", ""), ("Quantity", ""), ("Rate", ""), (escape(made.currency), ""), ("Clause", "text"))
    return table("A month's bill by line", head, body, foot, identity="month")


def notes(sentences: Sequence[str]) -> str:
    """What to know with a bill."""
    if not sentences:
        return ""
    return "<ul class='hint'>" + "".join(f"<li>{escape(text)}</li>" for text in sentences) + "</ul>"


def problem(text: str) -> str:
    """What is wrong, a paragraph a line."""
    return "".join(f'<p class="problem" role="status">{escape(line)}</p>' for line in text.splitlines())


def standing_cautions() -> str:
    """The cautions that stand on this view, those of every view among them."""
    own = (
        "A tariff file is somebody's reading of a contract: check every clause and price against the paper before acting.",
        "A saving is worth the difference of two bills, never an average price per kWh.",
    )
    return (
        '<aside class="cautions"><h2>Before anyone acts on this</h2><ul>'
        + "".join(f"<li>{escape(c)}</li>" for c in (*own, *CAUTIONS))
        + "</ul></aside>"
    )


def table(name: str, head: Sequence[tuple[str, str]], body: str, foot: str = "", identity: str = "") -> str:
    """A table that scrolls sideways where it must; the first column stays."""
    top = "".join(f'<th scope="col" class="{css}">{text}</th>' for text, css in head)
    return (
        f'<div class="scroll" tabindex="0" role="region" aria-label="{escape(name, quote=True)}"><table class="t" id="{identity}">'
        f"<thead><tr>{top}</tr></thead><tbody>{body}</tbody>{f'<tfoot>{foot}</tfoot>' if foot else ''}</table></div>"
    )
