"""The sheets Request and Register: what is asked for, why, and what it rests on."""

from __future__ import annotations

from collections.abc import Mapping

from energy.reports.document import worth
from energy.reports.document.after import REGISTER, roles_of
from energy.reports.document.book import Book, Cell
from energy.reports.document.flows import Flow
from energy.reports.document.own_scenarios import NOTE, own_scenarios
from energy.reports.document.paper import room_of
from energy.reports.document.parts import PARTS
from energy.reports.document.proposal import proposal
from energy.reports.document.records import Paragraph, Table
from energy.reports.document.words import amount
from energy.reports.document.workbook_terms import DEDUCTED, FACTOR, FIRST, PRICE, YEARLY, Terms
from energy.reports.paid_back import as_kept, paid_back
from energy.study.compare import OptionResult

REQUEST_WIDTHS = (46, 18, 12, 66)
REGISTER_SHARES = (0.32, 0.185, 0.085, 0.41)
"""Of the width of the columns."""
LABEL, VALUE, UNIT, HOW = range(4)
SCREEN = "The table below is for the screen; it is not printed."

FIXED = "The sentences below are of the case as it was written here; they do not follow cells that are changed."


def request_of(b: Book, measures: Mapping[int, Mapping[str, Cell]], flows: Mapping[int, Flow]) -> None:
    """The first sheet."""
    sheet = b.sheets["Request"]
    sheet.sheet.freeze_panes(1, 0)
    sheet.row = 1
    for name, said in b.document.facts.items():
        b.text(sheet, LABEL, name)
        b.text(sheet, VALUE, said, "line")
        sheet.row += 1
    b.gap(sheet)
    chosen = proposal(b.comparison).option
    place = next((i for i, o in enumerate(b.comparison.options) if o is chosen), None)
    if place is not None and place in flows:
        _recommended(b, place, measures[place], flows[place])
        _made_of(b, flows[place])
    b.text(sheet, LABEL, FIXED, "note", across=len(REQUEST_WIDTHS))
    sheet.row += 1
    for block in b.document.sections[0].blocks:
        if isinstance(block, Paragraph):
            b.text(sheet, LABEL, f"{block.topic} {block.text}".strip(), across=len(REQUEST_WIDTHS))
            sheet.need(sheet.row, sheet.heights.get(sheet.row, 0.0) + 4.0)
            sheet.row += 1
    b.gap(sheet)
    if chosen is not None:
        _scenarios(b, chosen)
    _signed(b)


def _heads(b: Book, title: str, value: str) -> None:
    sheet = b.sheets["Request"]
    for column, (said, style) in enumerate(
        ((title, "head"), (value, "head right"), ("Unit", "head unit"), ("How it is found", "head"))
    ):
        b.text(sheet, column, said, style)
    sheet.row += 1


def _recommended(b: Book, place: int, here: Mapping[str, Cell], flow: Flow) -> None:
    sheet, chosen, cur = b.sheets["Request"], flow.option, b.currency
    m = chosen.measures
    assert m is not None
    share, capital, key = b.inputs["contingency"].value, chosen.capital, f"option_{place + 1}_capital"
    spent = worth.npv_of(b.comparison, worth.flow_of(b.comparison, chosen, reserve=share * capital))
    taxed = " and the tax on it" if Terms(b).tax else ""
    _heads(b, f"Asked for: {chosen.name}", "Value")  # true whatever is put into the sheet of inputs
    for label, text, value, unit, style, how in (
        ("Capital", key, capital, cur, "whole", "sheet Inputs"),
        (
            "Asked for, with contingency",
            f"{key}*(1+contingency)",
            capital * (1 + share),
            cur,
            "strong whole",
            "sheet Inputs",
        ),
        ("Net present value", here["npv"].ref, m.npv, cur, "strong whole", "sheet Measures"),
        (
            "The same with the contingency spent",
            f"{here['npv'].ref}-contingency*{key}*({_worth_of_capital(b)})",
            spent,
            cur,
            "whole",
            f"nothing of it is left at the end{taxed}",
        ),
        ("Savings-to-investment ratio", here["sir"].ref, m.sir, "", "ratio", "sheet Measures"),
        (
            "Capital over a year's saving",
            here["simple"].ref,
            as_kept(m, "capital_over_saving"),
            "years",
            "years",
            "sheet Measures; capital over net saving of a year at today's prices, without contingency",
        ),
        (
            "Simple payback, overhauls counted",
            here["payback"].ref,
            as_kept(m, "payback"),
            "years",
            "years",
            "sheet Measures; overhauls and price rises in it, contingency and value left not",
        ),
        (
            "Discounted payback",
            here["discounted"].ref,
            as_kept(m, "discounted_payback"),
            "years",
            "years",
            "sheet Measures; likewise",
        ),
    ):
        b.text(sheet, LABEL, label)
        b.formula(sheet, VALUE, text, value, style)
        b.text(sheet, UNIT, unit, "unit")
        b.text(sheet, HOW, how)
        sheet.row += 1
    b.gap(sheet)


def _made_of(b: Book, flow: Flow) -> None:
    """The parts of the net present value, and their sum."""
    sheet, first = b.sheets["Request"], b.sheets["Request"].row + 1
    _heads(b, "What the net present value is made of", "Present value")
    for key, (label, streams) in PARTS.items():
        cell = flow.part(streams)
        if cell is None or (not cell.value and key != "capital"):
            continue
        b.text(sheet, LABEL, label)
        b.formula(sheet, VALUE, cell.ref, cell.value, "whole")
        b.text(sheet, UNIT, b.currency, "unit")
        b.text(sheet, HOW, "sheet Cash flow")
        sheet.row += 1
    span = f"{sheet.at(first, VALUE)}:{sheet.at(sheet.row - 1, VALUE).partition('!')[2]}"
    b.text(sheet, LABEL, "Sum: net present value", "strong")
    b.formula(sheet, VALUE, f"SUM({span})", flow.npv.value, "sum whole")
    b.text(sheet, UNIT, b.currency, "unit")
    sheet.row += 1
    b.gap(sheet)


def _scenarios(b: Book, chosen: OptionResult) -> None:
    """The case's own scenarios, worked out by the engine: no formula moves them."""
    sheet, own = b.sheets["Request"], own_scenarios(proposal(b.comparison), chosen)
    if not own:
        return
    _heads(b, "Scenarios of the case", "Net present value")
    for s in own:
        b.text(sheet, LABEL, s.title)
        if s.result is None:
            b.text(sheet, VALUE, "–", "check")
        else:
            b.value(sheet, VALUE, s.result.npv, "whole")
            b.text(sheet, UNIT, b.currency, "unit")
            paid = f"simple payback {paid_back(s.result, 'payback', unit=' years')}, discounted {paid_back(s.result, 'discounted', unit=' years')}"
            b.text(sheet, HOW, f"by the engine; saving {amount(s.result.saving)} {b.currency} a year, {paid}")
        sheet.row += 1
    b.text(sheet, LABEL, NOTE, "note", across=len(REQUEST_WIDTHS))
    sheet.row += 1
    b.gap(sheet)


def _signed(b: Book) -> None:
    """A line to sign for each role, under sentences that no formula moves."""
    sheet = b.sheets["Request"]
    for column, (said, style) in enumerate(
        (("Approval", "head"), ("Date", "head"), ("", "head"), ("Name and signature", "head"))
    ):
        b.text(sheet, column, said, style)
    sheet.row += 1
    for role in roles_of(b.comparison.case.model.request):
        b.text(sheet, LABEL, role, "sign")
        for column in (VALUE, UNIT, HOW):
            b.text(sheet, column, "", "sign")
        sheet.need(sheet.row, 21.0)
        sheet.row += 1


def _worth_of_capital(b: Book) -> str:
    """Present cost of one more unit of money of capital of which nothing is left at the end: its taxes come off."""
    how, sheet, n = Terms(b), b.sheets["Costs"], b.years
    spent = how.capital_year

    def head(name: str, year: int) -> str:
        return sheet.at(how.place(name), FIRST + year)

    level = f"*{head(PRICE, spent)}" if PRICE in how.heads() else ""
    cost = f"{head(FACTOR, spent)}{level}"
    if how.tax is None:
        return cost
    deducted = f"SUMPRODUCT({how.span(sheet, DEDUCTED)},{how.span(sheet, YEARLY)})+cost_not_deducted*{head(FACTOR, n)}"
    return f"{cost}-tax_rate*({deducted}){level}"


def register_widths(paper: str) -> tuple[float, ...]:
    """Widths of the columns of the register: as wide as the paper takes, since texts are long."""
    return tuple(round(share * (room_of(paper) - 1.0), 1) for share in REGISTER_SHARES)


def register_of(b: Book) -> None:
    """The assumptions; on paper those that a page has room for."""
    sheet = b.sheets["Register"]
    sheet.row = 1
    b.headed(sheet, REGISTER, "luuu")
    sheet.sheet.freeze_panes(sheet.row, 1)
    sheet.repeated = 1
    tables = [
        k for s in b.document.sections for k in s.blocks if isinstance(k, Table) and k.head == REGISTER and k.rows
    ]
    for table in sorted(tables, key=lambda k: k.long):
        if table.long and not sheet.printed:
            sheet.printed = sheet.row - 1
            b.text(sheet, 0, SCREEN, "note", across=len(REGISTER_SHARES))
            sheet.row += 1
        if not table.long:
            sheet.starts.append(sheet.row)
        b.text(sheet, 0, table.title, "block")
        for column in range(1, len(REGISTER_SHARES)):
            b.text(sheet, column, "", "block")
        sheet.need(sheet.row, 17.0)
        sheet.row += 1
        for i, row in enumerate(table.rows):
            if i > 0 and not table.long:  # its title stays with the first
                sheet.starts.append(sheet.row)
            for column, text in enumerate(row):
                b.text(sheet, column, text, "long item" if column else "long")
            sheet.row += 1
