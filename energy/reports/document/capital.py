"""Section on the capital: its lines, what they rest on, the contingency."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import replace

from energy.reports.document.proposal import Proposal
from energy.reports.document.records import Block, Paragraph, Table
from energy.reports.document.words import amount, percent
from energy.reports.inputs import Input
from energy.study.option_sections import CapitalLine


def capital(p: Proposal) -> Iterator[Block]:
    option, request = p.option, p.request
    assert option is not None
    rows = [
        (
            _item(line),
            str(line.count),
            amount(float(line.amount)),
            amount(float(line.amount) * line.count),
            _basis(p, i),
        )
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
        "The contingency is asked for on top and is in a measure only where it is named there."
        if p.reserve
        else "No contingency is stated."
    )
    yield Paragraph(
        text=f"Estimate class: {request.estimate_class or 'not stated'}. Date of the quotes: {quote}. {reserve}"
    )
    life = option.option.life
    text = (
        f"Service life {life} years{' from the start of service' if p.case.model.finance.delay else ''}; {_left(p)}"
        if life
        else "No service life is stated, so nothing is left in the machines at the end"
    )
    spent = [
        f"{r.item.lower()}, every {r.every:g} years{'' if r.next_due is None else f', the first in {r.next_due:g} years'}, "
        f"{amount(float(r.amount))} {p.currency}"
        for r in option.option.replacements
    ]
    yield Paragraph(
        text=f"{text}. Replacements: {'; '.join(spent) if spent else 'none foreseen'}. Items not listed, such as "
        "training, disposal or production lost, are in the capital only where a line names them."
    )


def _item(line: CapitalLine) -> str:
    return line.item if line.part == "equipment" or line.part in line.item.lower() else f"{line.item} ({line.part})"


def _left(p: Proposal) -> str:
    """What the value left at the end is taken of."""
    assert p.option is not None
    given = p.option.option
    if all(line.part == "equipment" for line in given.capital):
        return (
            "the value left at the end is taken of the whole capital but the contingency, since the case marks no line as installation or "
            "engineering, which have no value on resale"
        )
    kept = float(given.equipment_share) * p.option.capital
    return (
        f"the value left at the end is taken of the equipment alone, {amount(kept)} {p.currency}; installation, engineering and contingency "
        "have none"
    )


def with_quotes(p: Proposal, entries: Iterable[Input]) -> list[Input]:
    """Inputs, the proposal's lines of capital without a basis of their own being quoted where the request dates its quotes."""
    dated = _dated(p)
    if not dated or p.option is None:
        return list(entries)
    lines = f"options['{p.option.name}'].capital["
    return [
        replace(e, basis="quoted", source=", ".join(t for t in (e.source, f"quote of {dated}") if t))
        if e.path.startswith(lines) and e.basis == "given" and e.path.endswith(".amount")
        else e
        for e in entries
    ]


def _dated(p: Proposal) -> str:
    """Date and class of the request's quotes; empty where no date is given."""
    request = p.request
    if request.quote_date is None:
        return ""
    stated = f", {request.estimate_class}" if request.estimate_class else ""
    return f"{request.quote_date.isoformat()}{stated}"


def _basis(p: Proposal, place: int) -> str:
    """What the case says of a line of capital."""
    assert p.option is not None
    raws = next(o for o in p.case.document["options"] if o["name"] == p.option.name).get("capital")
    own, quotation = True, ""
    if isinstance(raws, list) and place < len(raws):
        raw, quotation = raws[place].get("amount"), str(raws[place].get("quotation", ""))
    elif place == 0:
        raw = raws
    else:
        raw, own = p.case.document.get("compressed_air", {}).get("capital_if_larger"), False
    said = [str(raw[key]) for key in ("basis", "note") if raw.get(key)] if isinstance(raw, dict) else []
    if quotation:
        return ", ".join([*(said or ["quoted"]), quotation])
    if said:
        return ", ".join(said)
    dated = _dated(p) if own else ""
    return f"quoted {dated}" if dated else "given, basis not stated"
