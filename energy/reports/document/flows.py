"""Costs and cash flows of the options in the workbook, year by year, as formulas on the case's money terms."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from typing import Any

import numpy as np
from xlsxwriter.utility import xl_col_to_name, xl_rowcol_to_cell  # type: ignore[import-untyped]

from energy import finance
from energy.dryers.base import Array
from energy.finance.cashflow import INVESTMENT, ONE_TIME
from energy.finance.factors import due
from energy.reports.document.book import CARRIERS, LABELS, Book, Cell, Sheet
from energy.reports.document.parts import PARTS
from energy.reports.document.proposal import proposal
from energy.study.compare import OptionResult
from energy.study.cost import RATCHET, escalation, replacements, residual, terms

HEAD_ROW = 2  # of the years; the discount factors stand below
FIRST = 2  # column of year 0
YEAR, FACTOR, DUE, YEARLY, SERVICE, PRICE, DEDUCTED = "year", "factor", "due", "yearly", "service", "price", "deducted"


@dataclass(frozen=True, slots=True)
class Terms:
    """When money counts, and the heads of the columns that say so; a head that would change nothing is left out."""

    book: Book

    @property
    def how(self) -> dict[str, Any]:
        return terms(self.book.comparison.case)

    @property
    def years(self) -> range:
        return range(self.book.years + 1)

    @property
    def tax(self) -> finance.Tax | None:
        found: finance.Tax | None = self.how["tax"]
        return found

    @property
    def capital_year(self) -> int:
        return int(self.how["capital_year"])

    @property
    def rows(self) -> tuple[str, ...]:
        """Streams of a cash flow in the order of the rows."""
        tax = self.tax
        taxed = () if tax is None else ("tax on savings", "tax on replacements", "depreciation", "tax on residual")
        received = ("tax on incentive",) if tax is not None and tax.incentive == "income" else ()
        return ("capital", "incentive", *CARRIERS, "replacements", "residual", *taxed, *received)

    def heads(self) -> dict[str, tuple[str, Array]]:
        """Label and values by year of each head."""
        how, year, tax = self.how, np.arange(self.book.years + 1), self.tax
        rate = self.book.inputs["discount_rate"].value
        later, inflation, nominal = due(year, how["timing"]), float(how["inflation"]), how["rate_basis"] == "nominal"
        found = {YEAR: ("", 1.0 * year), FACTOR: ("Discount factor", (1.0 + rate) ** -year)}
        if how["timing"] == "mid":
            found[DUE] = ("Yearly amounts fall at, years", later)
            found[YEARLY] = ("Discount factor of yearly amounts", (1.0 + rate) ** -later)
        if how["delay"]:
            found[SERVICE] = ("Share of the year in service", np.clip(year - float(how["delay"]), 0.0, 1.0))
        if nominal and inflation:
            found[PRICE] = ("Price level", (1.0 + inflation) ** year)
        if tax is not None:
            worth = 1.0 if nominal else (1.0 + inflation) ** (self.capital_year - later)
            nth = (year - math.floor(float(how["delay"]))).astype(int)
            shares = np.zeros(year.size)
            inside = (nth >= 1) & (nth <= tax.shares.size)
            shares[inside] = tax.shares[nth[inside] - 1]
            found[DEDUCTED] = ("Share of the cost deducted, in money of the flow", shares * worth)
        return found

    def not_deducted(self) -> float:
        """Share of the cost that is not deducted by the end, in money of the flow."""
        how, tax = self.how, self.tax
        assert tax is not None
        served = self.book.years - math.floor(float(how["delay"]))
        level = (
            1.0
            if how["rate_basis"] == "nominal"
            else (1.0 + float(how["inflation"])) ** (self.capital_year - self.book.years)
        )
        return float(1.0 - tax.shares[:served].sum()) * level

    def incentive_worth(self) -> float:
        """What money of the capital's year is worth when the incentive is taxed, in money of the flow."""
        how, year = self.how, min(self.capital_year + 1, self.book.years)
        late = float(due(year, how["timing"]))
        return (
            1.0
            if how["rate_basis"] == "nominal"
            else float((1.0 + float(how["inflation"])) ** (self.capital_year - late))
        )

    def place(self, head: str) -> int:
        """Row of a head."""
        names = list(self.heads())
        return HEAD_ROW + names.index(head if head in names else {DUE: YEAR, YEARLY: FACTOR}[head])

    def at(self, head: str, year: int) -> str:
        return xl_rowcol_to_cell(self.place(head), FIRST + year, row_abs=True)

    def times(self, head: str, year: int) -> str:
        """A factor of a product, where there is one."""
        return f"*{self.at(head, year)}" if head in self.heads() else ""

    def span(self, sheet: Sheet, head: str) -> str:
        return sheet.span(self.place(head), FIRST, FIRST + self.book.years)

    def factor_of(self, name: str) -> str:
        """The discount factor that a stream takes."""
        return FACTOR if name in ONE_TIME else YEARLY

    def write(self, sheet: Sheet) -> None:
        """The heads, which every row below them refers to."""
        b = self.book
        for name, (label, values) in self.heads().items():
            b.text(sheet, 0, label or f"All amounts in {b.currency}; year", "head" if name == YEAR else "text")
            if name == YEAR:
                b.text(sheet, 1, "", "head")
            for t in self.years:
                column = FIRST + t
                if name in (FACTOR, YEARLY):
                    when = self.at(YEAR if name == FACTOR else DUE, t)
                    b.formula(sheet, column, f"(1+discount_rate)^-{when}", values[t], "factor")
                else:
                    b.value(sheet, column, values[t], "year" if name == YEAR else "engine factor")
            sheet.row += 1
        sheet.row += 1
        sheet.sheet.freeze_panes(sheet.row - 1, FIRST)


@dataclass(slots=True)
class Costs:
    rows: dict[str, int]
    values: dict[str, Array]
    life_cycle: Cell


def costs_of(b: Book, bills: Sequence[dict[str, Cell]]) -> list[Costs]:
    """What each option costs, year by year."""
    sheet, how = b.sheets["Costs"], Terms(b)
    how.write(sheet)
    return [
        _costs(b, how, place, option, bills[place - 1]) for place, option in enumerate(b.comparison.options, start=1)
    ]


def _costs(b: Book, how: Terms, place: int, option: OptionResult, bill: dict[str, Cell]) -> Costs:
    sheet, n, key, case = b.sheets["Costs"], b.years, f"option_{place}", b.comparison.case
    b.text(sheet, 0, option.name, "block")
    sheet.row += 1
    flow = finance.cash_flow(
        years=n,
        capital=option.capital,
        savings={k: -option.annual_cost[k] for k in CARRIERS[:3]},
        maintenance=-option.annual_cost["maintenance"],
        replacements=replacements(option.option, n),
        residual=residual(option.option, np.asarray(option.capital), n),
        incentive=float(option.option.incentive),
        escalation=escalation(case),
        **how.how,
    )
    values = {name: -flow.streams[name] for name in how.rows}
    rows: dict[str, int] = {}
    for name in how.rows:
        b.text(sheet, 0, LABELS[name])
        rows[name] = sheet.row
        for t in how.years:
            text = _cost_formula(how, name, t, rows, key, bill, len(option.option.replacements))
            if text:  # an empty cell counts as nothing
                b.formula(sheet, FIRST + t, text, values[name][t], "money")
        sheet.row += 1
    b.text(sheet, 0, "Total", "strong")
    rows["total"], last = sheet.row, how.rows[-1]
    values["total"] = np.asarray(sum(values[name] for name in how.rows))
    for t in how.years:
        column = xl_col_to_name(FIRST + t)
        span = f"{column}{rows['capital'] + 1}:{column}{rows[last] + 1}"
        b.formula(sheet, FIRST + t, f"SUM({span})", values["total"][t], "sum money")
    sheet.row += 1
    b.text(sheet, 0, "Life-cycle cost (present value)", "strong")
    spans = {name: sheet.span(rows[name], FIRST, FIRST + n) for name in rows}
    alike = how.how["timing"] == "end"
    product = "+".join(
        f"SUMPRODUCT({spans[name]},{how.span(sheet, how.factor_of(name))})"
        for name in (("total",) if alike else how.rows)
    )
    cell = b.formula(sheet, 1, product, option.life_cycle_cost, "sum money")
    sheet.row += 2
    return Costs(rows=rows, values=values, life_cycle=cell)


def _cost_formula(
    how: Terms, name: str, t: int, rows: dict[str, int], key: str, bill: dict[str, Cell], replaced: int
) -> str:
    """The formula of a cost in a year; empty where there is none."""
    n, spent, year, tax = how.book.years, how.capital_year, how.at(YEAR, t), how.tax

    def cell(of: str, at: int) -> str:
        return xl_rowcol_to_cell(rows[of], FIRST + at)

    if name in ("capital", "incentive"):
        sign = "-" if name == "incentive" else ""
        return f"{sign}{key}_{name}{how.times(PRICE, t)}" if t == spent else ""
    if name in CARRIERS:
        return f"{bill[name].ref}*(1+escalation_{name})^{how.at(DUE, t)}{how.times(SERVICE, t)}" if t > 0 else ""
    if name == "replacements":
        due_now = (
            f"(INT(({year}+0.5)/{key}_replacement_{i}_every)-INT(({year}-0.5)/{key}_replacement_{i}_every))*{key}_replacement_{i}"
            for i in range(1, replaced + 1)
        )
        return f"({'+'.join(due_now)}){how.times(PRICE, t)}" if 0 < t < n and replaced else ""
    if name == "residual":
        return f"-IF({key}_life>0,{key}_capital*MAX(0,1-{year}/{key}_life),0){how.times(PRICE, t)}" if t == n else ""
    assert tax is not None
    basis = cell("capital", spent)
    if tax.incentive == "lowers basis":
        basis = f"({basis}+{cell('incentive', spent)})"
    if name == "tax on savings":
        return f"-tax_rate*SUM({cell(CARRIERS[0], t)}:{cell(CARRIERS[-1], t)})" if t > 0 else ""
    if name == "tax on replacements":
        return f"-tax_rate*{cell('replacements', t)}" if 0 < t < n and replaced else ""
    if name == "depreciation":
        return f"-tax_rate*{basis}{how.times(DEDUCTED, t)}"
    if name == "tax on residual":
        return f"tax_rate*(-{cell('residual', t)}-{basis}*cost_not_deducted)" if t == n else ""
    taxed = min(spent + 1, n)
    return f"-tax_rate*{cell('incentive', spent)}*incentive_worth" if t == taxed else ""


@dataclass(slots=True)
class _Flow:
    """The rows of one option's cash flow, by name."""

    book: Book
    sheet: Sheet
    rows: dict[str, int] = field(default_factory=dict)
    values: dict[str, Array] = field(default_factory=dict)
    results: dict[str, Cell] = field(default_factory=dict)

    @property
    def years(self) -> range:
        return range(self.book.years + 1)

    def cell(self, name: str, year: int) -> str:
        return xl_rowcol_to_cell(self.rows[name], FIRST + year)

    def span(self, name: str) -> str:
        return self.sheet.span(self.rows[name], FIRST, FIRST + self.book.years)

    @property
    def how(self) -> Terms:
        return Terms(self.book)

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
        formulas = [f"IF({self.cell(added, t)}<{limit},{self.how.at(YEAR, t)},-1)" for t in self.years]
        self.line(name, label, formulas, np.where(owed, np.arange(len(self.years)), -1.0), "plain")

    def present(self, names: Iterable[str]) -> str:
        return "+".join(
            f"SUMPRODUCT({self.span(name)},{self.how.span(self.sheet, self.how.factor_of(name))})" for name in names
        )

    def payback(self, of: str, added: str, owing: str, *, discounted: bool) -> str:
        """Interpolated in the year after the last that owes; what is paid once falls at the end of its year."""
        last = f"MAX({self.span(owing)})"
        lump = f"INDEX({self.span('at once')},1,{last}+2)"
        if discounted:
            lump += f"*INDEX({self.how.span(self.sheet, FACTOR)},1,{last}+2)"
        earned = f"(INDEX({self.span(of)},1,{last}+2)-{lump})"
        before = f"INDEX({self.span(added)},1,{last}+1)"
        within = f"IF({earned}+{before}>=0,{last}-{before}/{earned},{last}+1)"
        return f'IF({last}<0,"none",IF({last}={self.book.years},"none",{within}))'

    def result(self, key: str, label: str, text: str, value: Any, style: str) -> None:
        self.book.text(self.sheet, 0, label, "strong")
        self.results[key] = self.book.formula(self.sheet, 1, text, value, style)
        self.sheet.row += 1


def flows_of(b: Book, costs: Sequence[Costs]) -> dict[int, dict[str, Cell]]:
    """Measures of each option that money is held out for but the baseline, by place."""
    sheet, asked = b.sheets["Cash flow"], proposal(b.comparison)
    Terms(b).write(sheet)
    base = next(i for i, o in enumerate(b.comparison.options) if o.option.baseline)
    found = {}
    for place, option in enumerate(b.comparison.options):
        if option.measures is None:
            continue
        b.text(sheet, 0, option.name, "block")
        sheet.row += 1
        if not asked.holds_out(option):
            word = "Fails" if option.verdict.overall == "fail" else "Is unlikely"
            b.text(sheet, 0, f"{word} to dry: no money is held out for it.", "line")
        else:
            found[place] = _flow(b, option, costs[base], costs[place])
        sheet.row += 2
    return found


def _flow(b: Book, option: OptionResult, base: Costs, own: Costs) -> dict[str, Cell]:
    sheet, source, m, n = b.sheets["Cash flow"], b.sheets["Costs"], option.measures, b.years
    assert m is not None
    f, heads = _Flow(book=b, sheet=sheet), Terms(b).heads()
    names = list(f.how.rows)
    f.rows[RATCHET], f.values[RATCHET] = sheet.row + len(names), np.asarray(m.streams.get(RATCHET, np.zeros(n + 1)))
    for name in names:
        refs = [f"{source.at(base.rows[name], FIRST + t)}-{source.at(own.rows[name], FIRST + t)}" for t in f.years]
        if name == "tax on savings":
            refs = [f"{ref}-tax_rate*{f.cell(RATCHET, t)}" for t, ref in enumerate(refs)]
        f.line(name, LABELS[name], refs, np.asarray(m.streams[name]))
    b.text(sheet, 0, "First year, old peaks still billed (from the engine)")
    for t in f.years:
        b.value(sheet, FIRST + t, f.values[RATCHET][t], "engine money")
    sheet.row += 1
    names.append(RATCHET)
    net = [f"SUM({f.cell('capital', t)}:{f.cell(RATCHET, t)})" for t in f.years]
    f.line("net", "Net", net, m.cash_flow, "sum money")
    left = [name for name in ("residual", "tax on residual") if name in names]
    once = [name for name in names if name in ONE_TIME and name not in left]
    lumps = np.asarray(sum(f.values[name] for name in once))
    f.line("at once", "of it at once at the year's end", ["+".join(f.cell(k, t) for k in once) for t in f.years], lumps)
    returned = m.cash_flow - sum(f.values[name] for name in left)
    without = [f"{f.cell('net', t)}-{'-'.join(f.cell(k, t) for k in left)}" for t in f.years]
    f.line("returned", "Net without value left at the end", without, returned)
    f.added("added", "returned", "the same, added up")
    if YEARLY in heads:
        discounted = [
            f"({f.cell('returned', t)}-{f.cell('at once', t)})*{f.how.at(YEARLY, t)}+{f.cell('at once', t)}*{f.how.at(FACTOR, t)}"
            for t in f.years
        ]
        present = (returned - lumps) * heads[YEARLY][1] + lumps * heads[FACTOR][1]
    else:
        discounted = [f"{f.cell('returned', t)}*{f.how.at(FACTOR, t)}" for t in f.years]
        present = returned * heads[FACTOR][1]
    f.line("discounted", "the same, discounted", discounted, present)
    f.added("discounted added", "discounted", "the same, discounted and added up")
    f.owing("owing", "returned", "added", "Year if the sum is still owed")
    f.owing("owing discounted", "discounted", "discounted added", "Year if the discounted sum is still owed")
    whole = names if YEARLY in heads else ["net"]
    f.result("npv", f"Net savings (net present value) {b.currency}", f.present(whole), m.npv, "sum money")
    for key, (label, streams) in PARTS.items():
        inside = [name for name in streams if name in f.rows]
        factors = {name: heads.get(f.how.factor_of(name), heads[FACTOR])[1] for name in inside}
        value = sum(float(f.values[name] @ factors[name]) for name in inside)
        if inside:
            f.result(f"part {key}", f"of it: {label.lower()}", f.present(inside), value, "money")
    invested = f"-({f.present(k for k in names if k in INVESTMENT)})"
    saved = f.present(k for k in names if k not in INVESTMENT)
    f.result(
        "sir", "Savings-to-investment ratio", f'IF({invested}>0,({saved})/({invested}),"none")', m.sir, "sum factor"
    )
    ratio = f.results["sir"].ref
    adjusted = f'IF(ISNUMBER({ratio}),IF({ratio}>=0,(1+discount_rate)*{ratio}^(1/{n})-1,"none"),"none")'
    f.result("airr", "Adjusted internal rate of return 1/year", adjusted, m.airr, "sum percent")
    if math.isfinite(m.irr) and YEARLY not in heads:
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
