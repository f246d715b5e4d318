"""The capital request as a workbook: from the energy of each month on, everything is a formula that can be traced.

Each formula carries the value worked out here, for readers that do not recalculate. There is no macro.
"""

from __future__ import annotations

import datetime
import io
import math
from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import Any

import numpy as np
import xlsxwriter  # type: ignore[import-untyped]
from xlsxwriter.utility import xl_col_to_name, xl_rowcol_to_cell  # type: ignore[import-untyped]

from energy import finance
from energy.dryers.base import Array
from energy.reports.document.after import REGISTER
from energy.reports.document.bills import Meter, meters_of
from energy.reports.document.proposal import proposal
from energy.reports.document.records import Document, Paragraph, Table
from energy.study.compare import Comparison, OptionResult
from energy.study.cost import RATCHET, escalation, replacements, residual

MONTHS = ("Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec")
CARRIERS = ("electricity", "gas", "water", "maintenance")
ROWS = ("capital", "incentive", *CARRIERS, "replacements", "residual")
LABELS = {
    "capital": "Capital", "incentive": "Incentive", "electricity": "Electricity", "gas": "Gas", "water": "Cooling and water",
    "maintenance": "Maintenance", "replacements": "Replacements", "residual": "Value left at the end",
}  # fmt: skip
FIRST = 2  # column of year 0
PAPERS = {"a4": 9, "letter": 1}


def safe(text: object) -> str:
    """Text that no program takes for a formula, also after a detour through a file of comma-separated values."""
    plain = "".join(c if c.isprintable() else " " for c in str(text))[:32000]
    return f"'{plain}" if plain.lstrip()[:1] in ("=", "+", "-", "@") and plain.lstrip() else plain


@dataclass(slots=True)
class _Sheet:
    """A worksheet with a cursor."""

    sheet: Any
    name: str
    row: int = 0
    widest: int = 1

    def at(self, row: int, column: int, *, absolute: bool = True) -> str:
        """Reference from any sheet."""
        return f"'{self.name}'!{xl_rowcol_to_cell(row, column, row_abs=absolute, col_abs=absolute)}"

    def span(self, row: int, first: int, last: int) -> str:
        """Reference to part of a row."""
        return f"'{self.name}'!{xl_rowcol_to_cell(row, first, True, True)}:{xl_rowcol_to_cell(row, last, True, True)}"


@dataclass(slots=True)
class _Cell:
    """What a formula may refer to: its reference and its value now."""

    ref: str
    value: Any


@dataclass(slots=True)
class _Book:
    comparison: Comparison
    document: Document
    paper: str
    book: Any
    formats: dict[str, Any] = field(default_factory=dict)
    sheets: dict[str, _Sheet] = field(default_factory=dict)
    inputs: dict[str, _Cell] = field(default_factory=dict)

    @property
    def currency(self) -> str:
        return self.comparison.case.currency

    @property
    def years(self) -> int:
        return self.comparison.case.model.finance.years

    def add(self, name: str, widths: Sequence[float], title: str) -> _Sheet:
        made = _Sheet(sheet=self.book.add_worksheet(name), name=name)
        self.sheets[name] = made
        for column, width in enumerate(widths):
            made.sheet.set_column(column, column, width)
        made.sheet.set_landscape()
        made.sheet.set_paper(PAPERS[self.paper])
        made.sheet.fit_to_pages(1, 0)
        made.sheet.set_footer("&L&8&A&R&8&P / &N")
        made.sheet.hide_gridlines(2)
        self.text(made, 0, title, "title")
        made.row, made.widest = 2, max(1, len(widths))
        return made

    def text(self, sheet: _Sheet, column: int, text: object, style: str = "text", row: int | None = None) -> None:
        sheet.sheet.write_string(sheet.row if row is None else row, column, safe(text), self.formats[style])

    def value(self, sheet: _Sheet, column: int, value: float, style: str, row: int | None = None) -> _Cell:
        at = sheet.row if row is None else row
        sheet.sheet.write_number(at, column, float(value), self.formats[style])
        return _Cell(sheet.at(at, column), float(value))

    def formula(self, sheet: _Sheet, column: int, text: str, value: Any, style: str, row: int | None = None) -> _Cell:
        at = sheet.row if row is None else row
        kept = value if isinstance(value, str) else float(value) if math.isfinite(value) else "none"
        sheet.sheet.write_formula(at, column, f"={text}", self.formats[style], kept)
        return _Cell(sheet.at(at, column), kept)

    def input(self, key: str, label: str, value: float, unit: str, source: str = "", style: str = "money") -> _Cell:
        """An input in its coloured cell, with a name to use in formulas."""
        sheet = self.sheets["Inputs"]
        self.text(sheet, 0, label)
        cell = self.value(sheet, 1, value, f"input {style}")
        self.text(sheet, 2, unit)
        self.text(sheet, 3, key)
        self.text(sheet, 4, source)
        self.book.define_name(key, f"={cell.ref}")
        sheet.row += 1
        self.inputs[key] = _Cell(key, cell.value)
        return self.inputs[key]

    def headed(self, sheet: _Sheet, names: Sequence[str], style: str = "head") -> None:
        for column, name in enumerate(names):
            self.text(sheet, column, name, style)
        sheet.row += 1


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
    made = _Book(comparison=comparison, document=document, paper=paper, book=book, formats=_formats(book))
    request = made.add("Request", (34, 22, 60), document.title)
    for name, widths, title in (
        ("Inputs", (46, 16, 18, 34, 60), "Inputs: change a yellow cell and everything follows"),
        ("Energy", (34, 30, *[11] * 12, 13), "Energy of each month, from the engine"),
        ("Bills", (44, 40, 16, 14, 18, 16), "What the dryers add to the bills of a year"),
        ("Costs", (40, 18, *[13] * (made.years + 1)), "Costs of each option, year by year"),
        ("Cash flow", (44, 18, *[13] * (made.years + 1)), "Cash flow of each option against the baseline"),
        ("Measures", (34, 34, 20, 20, 14, 14), "Measures, and the engine's figures beside them"),
        ("Register", (52, 34, 18, 70), "Assumptions"),
    ):
        made.add(name, widths, title)
    _finance(made)
    meters = meters_of(comparison)
    _prices(made, meters)
    for place, option in enumerate(comparison.options, start=1):
        _option_inputs(made, place, option)
    bills = _bills(made, meters)
    costs = _costs(made, bills)
    flows = _flows(made, costs)
    _measures(made, bills, costs, flows)
    _register(made)
    _request(made, request, costs, flows)
    for sheet in made.sheets.values():
        last = max(sheet.row, 3)
        sheet.sheet.print_area(0, 0, last, sheet.widest - 1)
        sheet.sheet.repeat_rows(0, HEAD_ROW + 1 if sheet.name in ("Costs", "Cash flow") else 0)
    book.close()
    return out.getvalue()


def _formats(book: Any) -> dict[str, Any]:
    base = {"font_name": "Liberation Sans", "font_size": 10, "valign": "top"}
    numbers = {
        "money": "#,##0.00;[Red]-#,##0.00",
        "whole": "#,##0",
        "percent": "0.00%",
        "factor": "0.000000",
        "plain": "General",
        "years": "0.00",
    }
    made = {
        "text": book.add_format({**base, "text_wrap": True}),
        "strong": book.add_format({**base, "bold": True}),
        "title": book.add_format({**base, "bold": True, "font_size": 14, "font_color": "#0B3C5D"}),
        "block": book.add_format({**base, "bold": True, "font_color": "#0B3C5D", "top": 1}),
        "head": book.add_format({**base, "bold": True, "text_wrap": True, "bottom": 1, "bg_color": "#EEF3F7"}),
        "year": book.add_format({**base, "bold": True, "bottom": 1, "bg_color": "#EEF3F7", "align": "right"}),
        "check": book.add_format({**base, "align": "right"}),
    }
    for name, code in numbers.items():
        made[name] = book.add_format({**base, "num_format": code})
        made[f"sum {name}"] = book.add_format({**base, "num_format": code, "bold": True, "top": 1})
        made[f"engine {name}"] = book.add_format({**base, "num_format": code, "bg_color": "#ECECEC"})
        made[f"input {name}"] = book.add_format(
            {**base, "num_format": code, "bg_color": "#FFF2B3", "font_color": "#0B3C9D", "border": 1, "locked": False}
        )
    return made


def _finance(b: _Book) -> None:
    given, sheet = b.comparison.case.model.finance, b.sheets["Inputs"]
    b.text(sheet, 0, "Yellow with a border: input, with the name that formulas use. Grey: value from the engine. Plain: formula. "
           "The number of years, the machines and the energy are the engine's: to change them, change the case.")  # fmt: skip
    sheet.row += 2
    b.headed(sheet, ("Finance", "Value", "Unit", "Name", "Basis"))
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
    b.text(sheet, 0, "Years of the study (fixed)")
    b.value(sheet, 1, b.years, "engine plain")
    b.text(sheet, 2, "years")
    sheet.row += 2


def _prices(b: _Book, meters: Sequence[Meter]) -> None:
    sheet = b.sheets["Inputs"]
    b.headed(sheet, ("Prices", "Value", "Unit", "Name", "Clause"))
    for meter in meters:
        for charge in meter.charges:
            unit = f"{b.currency}/{charge.unit}" if charge.unit else "1"
            style = "percent" if not charge.unit else "factor"
            b.input(charge.key, f"{meter.title}: {charge.label}", charge.price, unit, charge.clause, style)
        if not meter.charges:
            b.text(sheet, 0, f"{meter.title}: {meter.note}")
            sheet.row += 1
    sheet.row += 1


def _option_inputs(b: _Book, place: int, option: OptionResult) -> None:
    sheet, key = b.sheets["Inputs"], f"option_{place}"
    b.headed(sheet, (option.name, "Value", "Unit", "Name", "Note"))
    parts = []
    for i, line in enumerate(option.option.capital, start=1):
        cell = b.input(f"{key}_capital_{i}", f"{line.item}, each", float(line.amount), b.currency)
        count = b.input(f"{key}_count_{i}", f"{line.item}, number", line.count, "1", style="plain")
        parts.append(f"{cell.ref}*{count.ref}")
    b.text(sheet, 0, "Capital", "strong")
    total = b.formula(sheet, 1, "+".join(parts) or "0", option.capital, "sum money")
    b.book.define_name(f"{key}_capital", f"={total.ref}")
    b.inputs[f"{key}_capital"] = _Cell(f"{key}_capital", option.capital)
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
        b.input(f"{key}_replacement_{i}_every", f"{entry.item}, every", entry.every, "years", style="plain")
    sheet.row += 1


def _bills(b: _Book, meters: Sequence[Meter]) -> list[dict[str, _Cell]]:
    """Yearly cost by carrier of each option."""
    energy, bills = b.sheets["Energy"], b.sheets["Bills"]
    b.headed(energy, ("Option", "Quantity", *MONTHS, "Year"))
    energy.sheet.freeze_panes(energy.row, 2)
    found = []
    for place, option in enumerate(b.comparison.options, start=1):
        costs: dict[str, _Cell] = {}
        b.headed(bills, (option.name, "Clause", "Quantity", "Unit", "Price", f"Amount {b.currency}"))
        for carrier in CARRIERS[:3]:
            amounts: list[_Cell] = []
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
                mine: dict[str, _Cell] = {}
                for charge in meter.charges:
                    b.text(bills, 0, f"{meter.title}: {charge.label}")
                    b.text(bills, 1, charge.clause)
                    price = b.inputs[charge.key]
                    b.formula(bills, 4, price.ref, price.value, "factor" if charge.unit else "percent")
                    if charge.of is not None:
                        bases = [mine[i] for i in charge.of if i in mine]
                        base = sum(c.value for c in bases)
                        counted = b.formula(bills, 2, "+".join(c.ref for c in bases) or "0", base, "money")
                        b.text(bills, 3, b.currency)
                    else:
                        whole = sums[charge.quantity]
                        counted = b.formula(
                            bills, 2, f"{whole.ref}*{charge.factor!r}", whole.value * charge.factor, "money"
                        )
                        b.text(bills, 3, charge.unit)
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


@dataclass(slots=True)
class _Costs:
    rows: dict[str, int]
    values: dict[str, Array]
    life_cycle: _Cell


def _year_heads(b: _Book, sheet: _Sheet) -> None:
    """Years and discount factors, which every row below them refers to."""
    b.text(sheet, 0, f"All amounts in {b.currency}; year", "head")
    b.text(sheet, 1, "", "head")
    for t in range(b.years + 1):
        b.value(sheet, FIRST + t, t, "year")
    sheet.row += 1
    b.text(sheet, 0, "Discount factor")
    rate = b.inputs["discount_rate"].value
    for t in range(b.years + 1):
        year = xl_rowcol_to_cell(sheet.row - 1, FIRST + t, row_abs=True)
        b.formula(sheet, FIRST + t, f"(1+discount_rate)^-{year}", (1.0 + rate) ** -t, "factor")
    sheet.row += 2
    sheet.sheet.freeze_panes(sheet.row - 1, FIRST)


HEAD_ROW = 2  # of the years; the discount factors stand below


def _costs(b: _Book, bills: Sequence[dict[str, _Cell]]) -> list[_Costs]:
    sheet, n = b.sheets["Costs"], b.years
    _year_heads(b, sheet)
    found = []
    for place, option in enumerate(b.comparison.options, start=1):
        rises, values, rows = escalation(b.comparison.case), {}, {}
        key = f"option_{place}"
        b.text(sheet, 0, option.name, "block")
        sheet.row += 1
        spent = replacements(option.option, n)
        left = float(residual(option.option, np.asarray(option.capital), n))
        for name in ROWS:
            series = np.zeros(n + 1)
            b.text(sheet, 0, LABELS[name])
            rows[name] = sheet.row
            for t in range(n + 1):
                year = xl_rowcol_to_cell(HEAD_ROW, FIRST + t, row_abs=True)
                text = "0"
                if name == "capital" and t == 0:
                    text, series[t] = f"{key}_capital", option.capital
                elif name == "incentive" and t == 0:
                    text, series[t] = f"-{key}_incentive", -float(option.option.incentive)
                elif name in CARRIERS and t > 0:
                    text = f"{bills[place - 1][name].ref}*(1+escalation_{name})^{year}"
                    series[t] = option.annual_cost[name] * (1.0 + rises[name]) ** t
                elif name == "replacements" and 0 < t < n and option.option.replacements:
                    text = "+".join(
                        f"IF(MOD({year},{key}_replacement_{i}_every)=0,{key}_replacement_{i},0)"
                        for i in range(1, len(option.option.replacements) + 1)
                    )
                    series[t] = spent.get(t, 0.0)
                elif name == "residual" and t == n:
                    text = f"-IF({key}_life>0,{key}_capital*MAX(0,1-{year}/{key}_life),0)"
                    series[t] = -left
                if text == "0":
                    continue  # an empty cell counts as nothing
                b.formula(sheet, FIRST + t, text, series[t], "money")
            values[name] = series
            sheet.row += 1
        b.text(sheet, 0, "Total", "strong")
        rows["total"] = sheet.row
        values["total"] = np.asarray(sum(values.values()))
        for t in range(n + 1):
            column = xl_col_to_name(FIRST + t)
            span = f"{column}{rows['capital'] + 1}:{column}{rows['residual'] + 1}"
            b.formula(sheet, FIRST + t, f"SUM({span})", values["total"][t], "sum money")
        sheet.row += 1
        b.text(sheet, 0, "Life-cycle cost (present value)", "strong")
        product = (
            f"SUMPRODUCT({sheet.span(rows['total'], FIRST, FIRST + n)},{sheet.span(HEAD_ROW + 1, FIRST, FIRST + n)})"
        )
        cell = b.formula(sheet, 1, product, option.life_cycle_cost, "sum money")
        sheet.row += 2
        found.append(_Costs(rows=rows, values=values, life_cycle=cell))
    return found


@dataclass(slots=True)
class _Flow:
    """The rows of one option's cash flow, by name."""

    book: _Book
    sheet: _Sheet
    rows: dict[str, int] = field(default_factory=dict)
    values: dict[str, Array] = field(default_factory=dict)
    results: dict[str, _Cell] = field(default_factory=dict)

    @property
    def years(self) -> range:
        return range(self.book.years + 1)

    def cell(self, name: str, year: int) -> str:
        return xl_rowcol_to_cell(self.rows[name], FIRST + year)

    def span(self, name: str) -> str:
        return self.sheet.span(self.rows[name], FIRST, FIRST + self.book.years)

    def head(self, year: int, *, factor: bool) -> str:
        """Year, or its discount factor."""
        return xl_rowcol_to_cell(HEAD_ROW + factor, FIRST + year, row_abs=True)

    @property
    def factors(self) -> str:
        return self.sheet.span(HEAD_ROW + 1, FIRST, FIRST + self.book.years)

    def line(self, name: str, label: str, formulas: Sequence[str], series: Array, style: str = "money") -> None:
        self.rows[name], self.values[name] = self.sheet.row, series
        self.book.text(self.sheet, 0, label, "strong" if style.startswith("sum") else "text")
        for t in self.years:
            self.book.formula(self.sheet, FIRST + t, formulas[t], series[t], style)
        self.sheet.row += 1

    def added(self, name: str, of: str, label: str) -> None:
        """A row that adds another one up."""
        self.rows[name] = self.sheet.row
        later = [f"{self.cell(name, t - 1)}+{self.cell(of, t)}" for t in self.years[1:]]
        self.line(name, label, [self.cell(of, 0), *later], np.cumsum(self.values[of]))

    def owing(self, name: str, of: str, added: str, label: str) -> None:
        """The year where the sum is still owed, else -1; what is left by rounding is not owed."""
        limit = f"-0.000000000001*SUMPRODUCT(ABS({self.span(of)}))"
        owed = self.values[added] < -1e-12 * float(np.abs(self.values[of]).sum())
        formulas = [f"IF({self.cell(added, t)}<{limit},{self.head(t, factor=False)},-1)" for t in self.years]
        self.line(name, label, formulas, np.where(owed, np.arange(len(self.years)), -1.0), "plain")

    def present(self, *names: str) -> str:
        return "+".join(f"SUMPRODUCT({self.span(name)},{self.factors})" for name in names)

    def payback(self, of: str, added: str, owing: str, *, discounted: bool) -> str:
        """Interpolated in the year after the last that owes; what is paid once falls at the end of its year."""
        last = f"MAX({self.span(owing)})"
        lump = f"INDEX({self.span('replacements')},1,{last}+2)"
        if discounted:
            lump += f"*INDEX({self.factors},1,{last}+2)"
        earned = f"(INDEX({self.span(of)},1,{last}+2)-{lump})"
        before = f"INDEX({self.span(added)},1,{last}+1)"
        within = f"IF({earned}+{before}>=0,{last}-{before}/{earned},{last}+1)"
        return f'IF({last}<0,"none",IF({last}={self.book.years},"none",{within}))'

    def result(self, key: str, label: str, text: str, value: Any, style: str) -> None:
        self.book.text(self.sheet, 0, label, "strong")
        self.results[key] = self.book.formula(self.sheet, 1, text, value, style)
        self.sheet.row += 1


def _flows(b: _Book, costs: Sequence[_Costs]) -> dict[int, dict[str, _Cell]]:
    """Measures of each option but the baseline and those that fail to dry, by place."""
    sheet = b.sheets["Cash flow"]
    _year_heads(b, sheet)
    base = next(i for i, o in enumerate(b.comparison.options) if o.option.baseline)
    found = {}
    for place, option in enumerate(b.comparison.options):
        if option.measures is None:
            continue
        b.text(sheet, 0, option.name, "block")
        sheet.row += 1
        if option.verdict.overall == "fail":
            b.text(sheet, 0, "Fails to dry: no money is held out for it.")
        else:
            found[place] = _flow(b, option, costs[base], costs[place])
        sheet.row += 2
    return found


def _flow(b: _Book, option: OptionResult, base: _Costs, own: _Costs) -> dict[str, _Cell]:
    sheet, source, m, n = b.sheets["Cash flow"], b.sheets["Costs"], option.measures, b.years
    assert m is not None
    factors = (1.0 + b.inputs["discount_rate"].value) ** -np.arange(n + 1)
    f = _Flow(book=b, sheet=sheet)
    for name in ROWS:
        refs = [f"{source.at(base.rows[name], FIRST + t)}-{source.at(own.rows[name], FIRST + t)}" for t in f.years]
        f.line(name, LABELS[name], refs, base.values[name] - own.values[name])
    f.rows[RATCHET], f.values[RATCHET] = sheet.row, np.asarray(m.streams.get(RATCHET, np.zeros(n + 1)))
    b.text(sheet, 0, "First year, old peaks still billed (from the engine)")
    for t in f.years:
        b.value(sheet, FIRST + t, f.values[RATCHET][t], "engine money")
    sheet.row += 1
    net = [f"SUM({f.cell('capital', t)}:{f.cell(RATCHET, t)})" for t in f.years]
    f.line("net", "Net", net, m.cash_flow, "sum money")
    returned = m.cash_flow - f.values["residual"]
    f.line(
        "returned", "Net without value left at the end",
        [f"{f.cell('net', t)}-{f.cell('residual', t)}" for t in f.years], returned,
    )  # fmt: skip
    f.added("added", "returned", "the same, added up")
    discounted = [f"{f.cell('returned', t)}*{f.head(t, factor=True)}" for t in f.years]
    f.line("discounted", "the same, discounted", discounted, returned * factors)
    f.added("discounted added", "discounted", "the same, discounted and added up")
    f.owing("owing", "returned", "added", "Year if the sum is still owed")
    f.owing("owing discounted", "discounted", "discounted added", "Year if the discounted sum is still owed")
    f.result("npv", f"Net savings (net present value) {b.currency}", f.present("net"), m.npv, "sum money")
    invested = f"-({f.present('capital', 'incentive', 'replacements', 'residual')})"
    saved = f.present(*CARRIERS, RATCHET)
    f.result(
        "sir", "Savings-to-investment ratio", f'IF({invested}>0,({saved})/({invested}),"none")', m.sir, "sum factor"
    )
    ratio = f.results["sir"].ref
    adjusted = f'IF(ISNUMBER({ratio}),IF({ratio}>=0,(1+discount_rate)*{ratio}^(1/{n})-1,"none"),"none")'
    f.result("airr", "Adjusted internal rate of return 1/year", adjusted, m.airr, "sum percent")
    if math.isfinite(m.irr):
        f.result(
            "irr",
            "Internal rate of return 1/year",
            f'IFERROR(IRR({f.span("net")},{m.irr:.4f}),"none")',
            m.irr,
            "sum percent",
        )
    simple = f.payback("returned", "added", "owing", discounted=False)
    f.result("simple", "Simple payback years", simple, m.simple_payback, "sum years")
    later = f.payback("discounted", "discounted added", "owing discounted", discounted=True)
    f.result("discounted", "Discounted payback years", later, m.discounted_payback, "sum years")
    return f.results


def _measures(
    b: _Book, bills: Sequence[dict[str, _Cell]], costs: Sequence[_Costs], flows: dict[int, dict[str, _Cell]]
) -> None:
    sheet, given = b.sheets["Measures"], b.comparison.case.model.finance
    b.text(
        sheet,
        0,
        "“Agrees”: the formula gives the engine's figure. After a change of an input “differs” is as it should be.",
    )
    sheet.row += 2
    b.headed(sheet, ("Option", "Measure", "Here", "Engine", "Difference", "Check"))
    sheet.sheet.freeze_panes(sheet.row, 2)

    def row(option: OptionResult, label: str, cell: _Cell, engine: float, style: str = "money") -> _Cell:
        b.text(sheet, 0, option.name)
        b.text(sheet, 1, label)
        here = b.formula(sheet, 2, cell.ref, cell.value, style)
        if math.isfinite(engine):
            b.value(sheet, 3, engine, f"engine {style}")
        else:
            b.text(sheet, 3, "none")
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
        row(option, f"Equivalent annual cost {cur}/year", _Cell(recovery, annual), annual)
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


def _register(b: _Book) -> None:
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
                    sheet.row += 1
                sheet.row += 1


def _request(b: _Book, sheet: _Sheet, costs: Sequence[_Costs], flows: dict[int, dict[str, _Cell]]) -> None:
    for name, said in b.document.facts.items():
        b.text(sheet, 0, name)
        b.text(sheet, 1, said)
        sheet.row += 1
    sheet.row += 1
    chosen = proposal(b.comparison).option
    place = next((i for i, o in enumerate(b.comparison.options) if o is chosen), None)
    if place is not None and chosen is not None and place in flows:
        m = chosen.measures
        assert m is not None
        share, capital = b.inputs["contingency"].value, chosen.capital
        b.headed(sheet, ("Recommended", chosen.name, "How it is found"))
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
                f"{cells['npv'].ref}-contingency*{key}",
                m.npv - share * capital,
                "money",
                "",
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
            b.text(sheet, 2, how)
            sheet.row += 1
        sheet.row += 1
    for block in b.document.sections[0].blocks:
        if isinstance(block, Paragraph):
            said = f"{block.topic} {block.text}".strip()
            sheet.sheet.merge_range(sheet.row, 0, sheet.row, 2, "", b.formats["text"])
            sheet.sheet.set_row(sheet.row, 15 * (1 + len(said) // 115))
            b.text(sheet, 0, said)
            sheet.row += 1
    sheet.row += 1
    b.text(sheet, 0, b.document.foot)
