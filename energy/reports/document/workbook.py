"""The capital request as a workbook: from the energy of each month on, everything is a formula that can be traced.

Each formula carries the value worked out here, for readers that do not recalculate. There is no macro.
"""

from __future__ import annotations

import datetime
import io
import math
from collections.abc import Sequence

import numpy as np
import xlsxwriter  # type: ignore[import-untyped]
from xlsxwriter.utility import xl_rowcol_to_cell  # type: ignore[import-untyped]

from energy import finance
from energy.reports.document import worth
from energy.reports.document.after import REGISTER
from energy.reports.document.bills import Meter, meters_of
from energy.reports.document.book import CARRIERS, LABELS, MONTHS, Book, Cell, Sheet, formats_of, safe
from energy.reports.document.flows import (
    DEDUCTED,
    FACTOR,
    FIRST,
    HEAD_ROW,
    PRICE,
    YEARLY,
    Costs,
    Terms,
    costs_of,
    flows_of,
)
from energy.reports.document.parts import PARTS
from energy.reports.document.proposal import proposal
from energy.reports.document.records import Document, Paragraph, Table
from energy.study.compare import Comparison, OptionResult
from energy.study.cost import escalation

REGISTER_WIDTHS = (52, 34, 18, 70)


def render(comparison: Comparison, document: Document, paper: str) -> bytes:
    """The workbook as the bytes of a file."""
    out = io.BytesIO()
    book = xlsxwriter.Workbook(out, {"in_memory": True, "strings_to_formulas": False, "strings_to_urls": False})
    day = document.date
    book.set_properties(
        {
            "title": safe(document.title),
            "author": safe(document.facts.get("Prepared by", "")),
            "comments": safe(document.foot),
            "created": datetime.datetime(day.year, day.month, day.day),
        }
    )
    book.set_calc_mode("auto")
    made = Book(comparison=comparison, document=document, paper=paper, book=book, formats=formats_of(book))
    request = made.add("Request", (34, 22, 60), document.title)
    for name, widths, title in (
        ("Inputs", (46, 16, 18, 34, 60), "Inputs: change a yellow cell and everything follows"),
        ("Energy", (34, 30, *[11] * 12, 13), "Energy of each month, from the engine"),
        ("Bills", (44, 40, 16, 14, 18, 16), "What the dryers add to the bills of a year"),
        ("Costs", (40, 18, *[13] * (made.years + 1)), "Costs of each option, year by year"),
        ("Cash flow", (44, 18, *[13] * (made.years + 1)), "Cash flow of each option against the baseline"),
        ("Measures", (34, 34, 20, 20, 14, 14), "Measures, and the engine's figures beside them"),
        ("Register", REGISTER_WIDTHS, "Assumptions"),
    ):
        made.add(name, widths, title)
    _finance(made)
    meters = meters_of(comparison)
    _prices(made, meters)
    for place, option in enumerate(comparison.options, start=1):
        _option_inputs(made, place, option)
    bills = _bills(made, meters)
    costs = costs_of(made, bills)
    flows = flows_of(made, costs)
    _measures(made, bills, costs, flows)
    _register(made)
    _request(made, request, costs, flows)
    for sheet in made.sheets.values():
        last = max(sheet.row, 3)
        sheet.sheet.print_area(0, 0, last, sheet.widest - 1)
        sheet.sheet.repeat_rows(
            0, HEAD_ROW + len(Terms(made).heads()) - 1 if sheet.name in ("Costs", "Cash flow") else 0
        )
    book.close()
    return out.getvalue()


def _finance(b: Book) -> None:
    given, sheet = b.comparison.case.model.finance, b.sheets["Inputs"]
    for said in (
        "Yellow with a border: input, with the name that formulas use. Grey: value from the engine. Plain: formula.",
        "Years, machines, energy and when money counts are the engine's: to change them, change the case.",
    ):
        b.text(sheet, 0, said, "line")
        sheet.row += 1
    sheet.row += 1
    b.headed(sheet, ("Finance", "Value", "Unit", "Name", "Basis"), "lru")
    b.input("discount_rate", f"Discount rate, {given.rate_basis}", given.rate, "1/year", style="percent")
    for carrier, rise in escalation(b.comparison.case).items():
        b.input(f"escalation_{carrier}", f"Price rise, {LABELS[carrier].lower()}", rise, "1/year", style="percent")
    b.input(
        "contingency",
        "Contingency over the capital",
        float(b.comparison.case.model.request.contingency),
        "1",
        style="percent",
    )
    how, fixed = Terms(b), [("Years of the study (fixed)", "", float(b.years), "years")]
    if how.tax is not None:
        b.input("tax_rate", "Tax rate", float(np.asarray(how.tax.rate)), "1", style="percent")
        fixed.append(("Share of the cost not deducted by then (fixed)", "cost_not_deducted", how.not_deducted(), "1"))
        if how.tax.incentive == "income":
            fixed.append(
                ("Worth of the year when the incentive is taxed (fixed)", "incentive_worth", how.incentive_worth(), "1")
            )
    for label, name, value, unit in fixed:
        b.text(sheet, 0, label)
        cell = b.value(sheet, 1, value, "engine plain")
        b.text(sheet, 2, unit, "unit")
        if name:
            b.text(sheet, 3, name)
            b.book.define_name(name, f"={cell.ref}")
        sheet.row += 1
    sheet.row += 1


def _prices(b: Book, meters: Sequence[Meter]) -> None:
    sheet = b.sheets["Inputs"]
    b.headed(sheet, ("Prices", "Value", "Unit", "Name", "Clause"), "lru")
    for meter in meters:
        for charge in meter.charges:
            unit = f"{b.currency}/{charge.unit}" if charge.unit else "1"
            style = "percent" if not charge.unit else "factor"
            b.input(charge.key, f"{meter.title}: {charge.label}", charge.price, unit, charge.clause, style)
        if not meter.charges:
            b.text(sheet, 0, f"{meter.title}: {meter.note}")
            sheet.row += 1
    sheet.row += 1


def _option_inputs(b: Book, place: int, option: OptionResult) -> None:
    sheet, key = b.sheets["Inputs"], f"option_{place}"
    b.headed(sheet, (option.name, "Value", "Unit", "Name", "Note"), "lru")
    parts = []
    for i, line in enumerate(option.option.capital, start=1):
        cell = b.input(f"{key}_capital_{i}", f"{line.item}, each", float(line.amount), b.currency)
        count = b.input(f"{key}_count_{i}", f"{line.item}, number", line.count, "1", style="plain")
        parts.append(f"{cell.ref}*{count.ref}")
    b.text(sheet, 0, "Capital", "strong")
    total = b.formula(sheet, 1, "+".join(parts) or "0", option.capital, "sum money")
    b.book.define_name(f"{key}_capital", f"={total.ref}")
    b.inputs[f"{key}_capital"] = Cell(f"{key}_capital", option.capital)
    b.text(sheet, 2, b.currency)
    b.text(sheet, 3, f"{key}_capital")
    sheet.row += 1
    b.input(f"{key}_incentive", "Incentive", float(option.option.incentive), b.currency)
    b.input(f"{key}_maintenance", "Maintenance", float(option.option.maintenance), f"{b.currency}/year")
    b.input(
        f"{key}_life", "Service life; 0: nothing is left at the end", option.option.life or 0, "years", style="plain"
    )
    for i, entry in enumerate(option.option.replacements, start=1):
        b.input(f"{key}_replacement_{i}", entry.item, float(entry.amount), b.currency)
        b.input(f"{key}_replacement_{i}_every", f"{entry.item}, every", float(entry.every), "years", style="plain")
    sheet.row += 1


def _bills(b: Book, meters: Sequence[Meter]) -> list[dict[str, Cell]]:
    """Yearly cost by carrier of each option."""
    energy, bills = b.sheets["Energy"], b.sheets["Bills"]
    b.headed(energy, ("Option", "Quantity", *MONTHS, "Year"), "ll" + 13 * "r")
    energy.sheet.freeze_panes(energy.row, 2)
    found = []
    for place, option in enumerate(b.comparison.options, start=1):
        costs: dict[str, Cell] = {}
        b.headed(bills, (option.name, "Clause", "Quantity", "Unit", "Price", f"Amount {b.currency}"), "llrurr")
        for carrier in CARRIERS[:3]:
            amounts: list[Cell] = []
            told = 0.0
            for meter in (m for m in meters if m.carrier == carrier):
                sums = {}
                for name, months in meter.quantities[place - 1].items():
                    b.text(energy, 0, option.name)
                    b.text(energy, 1, f"{meter.title}, {name}")
                    for m, value in enumerate(months):
                        b.value(
                            energy, 2 + m, value, "engine whole" if "kW" in name and "kWh" in name else "engine money"
                        )
                    span = energy.span(energy.row, 2, 13)
                    sums[name] = b.formula(energy, 14, f"SUM({span})", float(np.sum(months)), "sum money")
                    energy.row += 1
                mine: dict[str, Cell] = {}
                for charge in meter.charges:
                    b.text(bills, 0, f"{meter.title}: {charge.label}")
                    b.text(bills, 1, charge.clause)
                    price = b.inputs[charge.key]
                    b.formula(bills, 4, price.ref, price.value, "factor" if charge.unit else "percent")
                    if charge.of is not None:
                        bases = [mine[i] for i in charge.of if i in mine]
                        base = sum(c.value for c in bases)
                        counted = b.formula(bills, 2, "+".join(c.ref for c in bases) or "0", base, "money")
                        b.text(bills, 3, b.currency, "unit")
                    else:
                        whole = sums[charge.quantity]
                        counted = b.formula(
                            bills, 2, f"{whole.ref}*{charge.factor!r}", whole.value * charge.factor, "money"
                        )
                        b.text(bills, 3, charge.unit, "unit")
                    sign = -1.0 if charge.taken_off else 1.0
                    product = f"{'-' if charge.taken_off else ''}{xl_rowcol_to_cell(bills.row, 2)}*{xl_rowcol_to_cell(bills.row, 4)}"
                    cell = b.formula(bills, 5, product, sign * counted.value * price.value, "money")
                    mine[charge.id] = cell
                    amounts.append(cell)
                    told += cell.value
                    bills.row += 1
                for line, clause, amount in meter.values[place - 1]:
                    b.text(bills, 0, f"{meter.title}: {line}")
                    b.text(bills, 1, f"{clause} (from the engine: {meter.note})")
                    amounts.append(b.value(bills, 5, amount, "engine money"))
                    told += amount
                    bills.row += 1
            other = option.annual_cost[carrier] - told
            if abs(other) > 5e-7:
                b.text(bills, 0, f"{LABELS[carrier]}: other, from the engine (air at a known cost, hall, tower water)")
                amounts.append(b.value(bills, 5, other, "engine money"))
                bills.row += 1
            b.text(bills, 0, f"{LABELS[carrier]}, a year", "strong")
            costs[carrier] = b.formula(
                bills, 5, "+".join(c.ref for c in amounts) or "0", option.annual_cost[carrier], "sum money"
            )
            bills.row += 1
        own = b.inputs[f"option_{place}_maintenance"]
        b.text(bills, 0, "Upkeep of the compressors, from the engine")
        air = b.value(bills, 5, option.annual_cost["maintenance"] - own.value, "engine money")
        bills.row += 1
        b.text(bills, 0, "Maintenance, a year", "strong")
        costs["maintenance"] = b.formula(
            bills, 5, f"{own.ref}+{air.ref}", option.annual_cost["maintenance"], "sum money"
        )
        bills.row += 1
        b.text(bills, 0, "Running cost, a year", "strong")
        costs["total"] = b.formula(bills, 5, "+".join(costs[c].ref for c in CARRIERS), option.total_cost, "sum money")
        bills.row += 2
        found.append(costs)
    return found


def _measures(
    b: Book, bills: Sequence[dict[str, Cell]], costs: Sequence[Costs], flows: dict[int, dict[str, Cell]]
) -> None:
    sheet, given = b.sheets["Measures"], b.comparison.case.model.finance
    b.text(
        sheet,
        0,
        "“Agrees”: the formula gives the engine's figure. After a change of an input “differs” is as it should be.",
        "line",
    )
    sheet.row += 2
    b.headed(sheet, ("Option", "Measure", "Here", "Engine", "Difference", "Check"), "llrrrr")
    sheet.sheet.freeze_panes(sheet.row, 2)

    def row(option: OptionResult, label: str, cell: Cell, engine: float, style: str = "money") -> Cell:
        b.text(sheet, 0, option.name)
        b.text(sheet, 1, label)
        here = b.formula(sheet, 2, cell.ref, cell.value, style)
        if math.isfinite(engine):
            b.value(sheet, 3, engine, f"engine {style}")
        else:
            b.text(sheet, 3, "none", "check")
        one, two = xl_rowcol_to_cell(sheet.row, 2), xl_rowcol_to_cell(sheet.row, 3)
        number = f"AND(ISNUMBER({one}),ISNUMBER({two}))"
        b.formula(sheet, 4, f'IF({number},{one}-{two},"")', 0.0 if math.isfinite(engine) else "", style)
        near = "0.005" if style == "money" else "0.000005"
        b.formula(
            sheet,
            5,
            f'IF({number},IF(ABS({one}-{two})<{near},"agrees","differs"),IF({one}={two},"agrees","differs"))',
            "agrees",
            "check",
        )
        sheet.row += 1
        return here

    cur, n = b.currency, given.years
    for place, option in enumerate(b.comparison.options):
        m = option.measures
        for carrier in CARRIERS:
            row(option, f"{LABELS[carrier]} {cur}/year", bills[place][carrier], option.annual_cost[carrier])
        row(option, f"Running cost {cur}/year", bills[place]["total"], option.total_cost)
        here = row(option, f"Life-cycle cost {cur}", costs[place].life_cycle, option.life_cycle_cost)
        annual = float(finance.equivalent_annual_cost(given.rate, option.life_cycle_cost, n))
        recovery = f"IF(discount_rate=0,{here.ref}/{n},{here.ref}*discount_rate/(1-(1+discount_rate)^-{n}))"
        row(option, f"Equivalent annual cost {cur}/year", Cell(recovery, annual), annual)
        if m is None or place not in flows:
            continue
        cells = flows[place]
        row(option, f"Net savings {cur}", cells["npv"], m.npv)
        row(option, "Savings-to-investment ratio 1", cells["sir"], m.sir, "factor")
        row(option, "Adjusted internal rate of return 1/year", cells["airr"], m.airr, "percent")
        if "irr" in cells:
            row(option, "Internal rate of return 1/year", cells["irr"], m.irr, "percent")
        row(option, "Simple payback years", cells["simple"], m.simple_payback, "years")
        row(option, "Discounted payback years", cells["discounted"], m.discounted_payback, "years")


def _register(b: Book) -> None:
    sheet = b.sheets["Register"]
    for section in b.document.sections:
        for block in section.blocks:
            if isinstance(block, Table) and block.head == REGISTER and block.rows:
                b.text(sheet, 0, block.title, "block")
                sheet.row += 1
                b.headed(sheet, block.head)
                for row in block.rows:
                    for column, text in enumerate(row):
                        b.text(sheet, column, text)
                    lines = max(
                        math.ceil(len(text) / (1.2 * width)) for text, width in zip(row, REGISTER_WIDTHS, strict=True)
                    )
                    sheet.sheet.set_row(sheet.row, 14 * max(1, lines))
                    sheet.row += 1
                sheet.row += 1


def _request(b: Book, sheet: Sheet, costs: Sequence[Costs], flows: dict[int, dict[str, Cell]]) -> None:
    for name, said in b.document.facts.items():
        b.text(sheet, 0, name)
        b.text(sheet, 1, said, "line")
        sheet.row += 1
    sheet.row += 1
    chosen = proposal(b.comparison).option
    place = next((i for i, o in enumerate(b.comparison.options) if o is chosen), None)
    if place is not None and chosen is not None and place in flows:
        m = chosen.measures
        assert m is not None
        share, capital = b.inputs["contingency"].value, chosen.capital
        b.headed(sheet, ("Recommended", chosen.name, "How it is found"), "lru")
        key, cells = f"option_{place + 1}_capital", flows[place]
        for label, text, value, style, how in (
            (f"Capital {b.currency}", key, capital, "money", "sheet Inputs"),
            (
                f"Asked for, with contingency {b.currency}",
                f"{key}*(1+contingency)",
                capital * (1 + share),
                "money",
                "sheet Inputs",
            ),
            (f"Net present value {b.currency}", cells["npv"].ref, m.npv, "money", "sheet Cash flow"),
            (
                f"The same with the contingency spent {b.currency}",
                f"{cells['npv'].ref}-contingency*{key}*({_worth_of_capital(b, place + 1)})",
                worth.npv_of(b.comparison, worth.flow_of(b.comparison, chosen, capital=share * capital)),
                "money",
                "capital, less what is left of it at the end" + (" and the tax on it" if Terms(b).tax else ""),
            ),
            ("Savings-to-investment ratio", cells["sir"].ref, m.sir, "factor", "sheet Cash flow"),
            (
                "Simple payback years",
                cells["simple"].ref,
                m.simple_payback,
                "years",
                "sheet Cash flow; without value left at the end",
            ),
            ("Discounted payback years", cells["discounted"].ref, m.discounted_payback, "years", "sheet Cash flow"),
        ):
            b.text(sheet, 0, label)
            b.formula(sheet, 1, text, value, style)
            b.text(sheet, 2, how, "unit")
            sheet.row += 1
        sheet.row += 1
        _made_of(b, sheet, flows[place], m.npv)
    for block in b.document.sections[0].blocks:
        if isinstance(block, Paragraph):
            said = f"{block.topic} {block.text}".strip()
            sheet.sheet.merge_range(sheet.row, 0, sheet.row, 2, "", b.formats["text"])
            sheet.sheet.set_row(sheet.row, 15 * (1 + len(said) // 115))
            b.text(sheet, 0, said)
            sheet.row += 1
    sheet.row += 1
    b.text(sheet, 0, b.document.foot)


def _made_of(b: Book, sheet: Sheet, cells: dict[str, Cell], npv: float) -> None:
    """The parts of the net present value, and their sum."""
    b.headed(sheet, ("What the net present value is made of", f"Present value {b.currency}", "How it is found"), "lru")
    refs = []
    for key, (label, _) in PARTS.items():
        cell = cells.get(f"part {key}")
        if cell is None or (not cell.value and key != "capital"):
            continue
        b.text(sheet, 0, label)
        refs.append(b.formula(sheet, 1, cell.ref, cell.value, "money").ref)
        b.text(sheet, 2, "sheet Cash flow, discounted", "unit")
        sheet.row += 1
    b.text(sheet, 0, "Sum: net present value", "strong")
    b.formula(sheet, 1, "+".join(refs), npv, "sum money")
    sheet.row += 2


def _worth_of_capital(b: Book, place: int) -> str:
    """Present cost of one more unit of money of capital: what is left at the end and its taxes come off."""
    how, sheet, n = Terms(b), b.sheets["Costs"], b.years
    spent, life = how.capital_year, f"option_{place}_life"

    def head(name: str, year: int) -> str:
        return sheet.at(how.place(name), FIRST + year)

    level = [f"*{head(PRICE, t)}" if PRICE in how.heads() else "" for t in (spent, n)]
    left = f"IF({life}>0,MAX(0,1-{n}/{life}),0){level[1]}*{head(FACTOR, n)}"
    cost = f"{head(FACTOR, spent)}{level[0]}"
    if how.tax is None:
        return f"{cost}-{left}"
    deducted = f"SUMPRODUCT({how.span(sheet, DEDUCTED)},{how.span(sheet, YEARLY)})+cost_not_deducted*{head(FACTOR, n)}"
    return f"{cost}-{left}*(1-tax_rate)-tax_rate*({deducted}){level[0]}"
