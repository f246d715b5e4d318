"""Costs and cash flows of the options in the workbook, year by year, as formulas on the case's money terms."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field

import numpy as np
from xlsxwriter.utility import xl_col_to_name, xl_rowcol_to_cell  # type: ignore[import-untyped]

from energy import finance
from energy.dryers.base import Array
from energy.finance.cashflow import INVESTMENT, ONE_TIME
from energy.reports.document.book import CARRIERS, LABELS, Book, Cell, Sheet, room_for
from energy.reports.document.proposal import proposal
from energy.reports.document.workbook_terms import (
    DEDUCTED,
    DUE,
    FACTOR,
    FIRST,
    PRICE,
    SERVICE,
    START,
    YEAR,
    YEARLY,
    Terms,
)
from energy.reports.paid_back import AT_ONCE
from energy.study.compare import Comparison, OptionResult
from energy.study.cost import NOTHING
from energy.study.life_cycle import RATCHET, delay_of, escalation, replacements, residual


def widths_of(comparison: Comparison) -> tuple[float, ...]:
    """Widths of the columns of Costs and Cash flow."""
    years = comparison.case.model.finance.years
    rise = 1.0 + max(0.0, *escalation(comparison.case).values())
    most = [amount for o in comparison.options for amount in (o.capital, o.life_cycle_cost, o.total_cost * rise**years)]
    sums = [float(v) for o in comparison.options if o.measures for v in np.cumsum(o.measures.cash_flow)]
    return (31, room_for(most, 0, 14), *[room_for([*most, *sums], 0, 9.8)] * (years + 1))


@dataclass(slots=True)
class Costs:
    rows: dict[str, int]
    values: dict[str, Array]
    life_cycle: Cell


def costs_of(b: Book, bills: Sequence[dict[str, Cell]]) -> list[Costs]:
    """What each option costs, year by year."""
    sheet, how = b.sheets["Costs"], Terms(b)
    how.write(
        sheet, "Shown in whole money; the cells hold all of it. The present value of all costs is the life-cycle cost."
    )
    return [
        _costs(b, how, place, option, bills[place - 1]) for place, option in enumerate(b.comparison.options, start=1)
    ]


def _costs(b: Book, how: Terms, place: int, option: OptionResult, bill: dict[str, Cell]) -> Costs:
    sheet, n, key, case = b.sheets["Costs"], b.years, f"option_{place}", b.comparison.case
    how.block(sheet, option.name)
    flow = finance.cash_flow(
        years=n,
        capital=option.capital,
        savings={k: -option.annual_cost[k] for k in CARRIERS[:3]},
        maintenance=-option.annual_cost["maintenance"],
        replacements=replacements(option.option, n, delay_of(case)),
        residual=residual(option.option, np.asarray(option.capital), n, delay_of(case)),
        incentive=float(option.option.incentive),
        escalation=escalation(case),
        **how.how,
    )
    values = {name: -flow.streams[name] for name in how.rows}
    kept = [i for i, line in enumerate(option.option.capital, start=1) if line.part == "equipment"]
    all_kept = len(kept) == len(option.option.capital)
    equipment = f"{key}_capital" if all_kept else "+".join(f"{key}_capital_{i}*{key}_count_{i}" for i in kept) or "0"
    rows: dict[str, int] = {}
    for name in how.rows:
        b.text(sheet, 0, LABELS[name])
        rows[name] = sheet.row
        for t in how.years:
            text = _cost_formula(how, name, t, rows, key, bill, len(option.option.replacements), equipment)
            if text:  # an empty cell counts as nothing
                b.formula(sheet, FIRST + t, text, values[name][t], "whole")
        how.worth(sheet, name, values[name])
        sheet.row += 1
    b.text(sheet, 0, "Total; life-cycle cost", "strong")
    rows["total"], last = sheet.row, how.rows[-1]
    values["total"] = np.asarray(sum(values[name] for name in how.rows))
    for t in how.years:
        b.formula(sheet, FIRST + t, _added_up(FIRST + t, rows["capital"], rows[last]), values["total"][t], "sum whole")
    cell = b.formula(sheet, 1, _added_up(1, rows["capital"], rows[last]), option.life_cycle_cost, "sum whole")
    sheet.row += 1
    b.gap(sheet)
    return Costs(rows=rows, values=values, life_cycle=cell)


def _added_up(column: int, first: int, last: int) -> str:
    letter = xl_col_to_name(column)
    return f"SUM({letter}{first + 1}:{letter}{last + 1})"


def _cost_formula(
    how: Terms, name: str, t: int, rows: dict[str, int], key: str, bill: dict[str, Cell], replaced: int, equipment: str
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
            f"({_done(f'{key}_replacement_{i}', year, '+')}-IF({year}<1.5,0,{_done(f'{key}_replacement_{i}', year, '-')}))*{key}_replacement_{i}"
            for i in range(1, replaced + 1)
        )
        return f"({'+'.join(due_now)}){how.times(PRICE, t)}" if 0 < t < n and t >= how.start and replaced else ""
    if name == "residual":
        used = f"({year}-{START})" if how.start else year
        return f"-IF({key}_life>0,({equipment})*MAX(0,1-{used}/{key}_life),0){how.times(PRICE, t)}" if t == n else ""
    assert tax is not None
    basis = cell("capital", spent)
    if tax.incentive == "lowers basis":
        basis = f"({basis}+{cell('incentive', spent)})"
    if name == "tax on savings":
        return f"-tax_rate*SUM({cell(CARRIERS[0], t)}:{cell(CARRIERS[-1], t)})" if t > 0 else ""
    if name == "tax on replacements":
        return f"-tax_rate*{cell('replacements', t)}" if 0 < t < n and t >= how.start and replaced else ""
    if name == "depreciation":
        return f"-tax_rate*{basis}{how.times(DEDUCTED, t)}"
    if name == "tax on residual":
        return f"tax_rate*(-{cell('residual', t)}-{basis}*cost_not_deducted)" if t == n else ""
    taxed = min(spent + 1, n)
    return f"-tax_rate*{cell('incentive', spent)}*incentive_worth" if t == taxed else ""


def _done(key: str, year: str, side: str) -> str:
    """How often something was replaced by the middle of the year after, or before."""
    return f"MAX(0,INT(({year}{side}0.5+{key}_every-{key}_next)/{key}_every))"


@dataclass(slots=True)
class Flow:
    """One option's cash flow: the rows by name, the present value of each stream, and the formulas of its measures."""

    book: Book
    sheet: Sheet
    option: OptionResult
    rows: dict[str, int] = field(default_factory=dict)
    values: dict[str, Array] = field(default_factory=dict)
    worths: dict[str, Cell] = field(default_factory=dict)
    owed: dict[str, Cell] = field(default_factory=dict)
    """Last year in which a sum is owed, -1 where none is, by the row that adds up."""
    npv: Cell = field(default_factory=lambda: Cell("0", 0.0))

    @property
    def years(self) -> range:
        return range(self.book.years + 1)

    @property
    def how(self) -> Terms:
        return Terms(self.book)

    def cell(self, name: str, year: int) -> str:
        return xl_rowcol_to_cell(self.rows[name], FIRST + year)

    def span(self, name: str) -> str:
        return self.sheet.span(self.rows[name], FIRST, FIRST + self.book.years)

    def line(self, name: str, label: str, formulas: Sequence[str], series: Array, style: str = "whole") -> None:
        self.rows[name], self.values[name] = self.sheet.row, series
        self.book.text(self.sheet, 0, label, "strong" if style.startswith("sum") else "line")
        for t in self.years:
            self.book.formula(self.sheet, FIRST + t, formulas[t], series[t], style)
        self.sheet.row += 1

    def stream(self, name: str, label: str, formulas: Sequence[str], series: Array) -> None:
        """A row with its present value."""
        self.worths[name] = self.how.worth(self.sheet, name, series)
        self.line(name, label, formulas, series)

    def added(self, name: str, of: str, label: str) -> None:
        """A row that adds another one up, and the last year in which the sum is owed; what rounding leaves is not owed."""
        self.rows[name], series = self.sheet.row, np.cumsum(self.values[of])
        limit = f"-0.000000000001*SUMPRODUCT(ABS({self.span(of)}))"
        when = f"SUMPRODUCT(MAX(({self.span(name)}<{limit})*({self.how.span(self.sheet, YEAR)}+1)))-1"
        late = np.flatnonzero(series < -1e-12 * float(np.abs(self.values[of]).sum()))
        self.owed[name] = self.book.formula(self.sheet, 1, when, float(late[-1]) if late.size else -1.0, "owed")
        later = [f"{self.cell(name, t - 1)}+{self.cell(of, t)}" for t in self.years[1:]]
        self.line(name, label, [self.cell(of, 0), *later], series)

    def present(self, names: Iterable[str]) -> str:
        return "+".join(self.worths[name].ref for name in names)

    def part(self, streams: Iterable[str]) -> Cell | None:
        """Present value of some streams; None where there is none of them."""
        inside = [name for name in streams if name in self.worths]
        return Cell(self.present(inside), sum(self.worths[k].value for k in inside)) if inside else None

    def ratio(self) -> str:
        """Savings-to-investment ratio."""
        invested = f"-({self.present(k for k in self.worths if k in INVESTMENT)})"
        saved = self.present(k for k in self.worths if k not in INVESTMENT)
        return f'IF({invested}>0,({saved})/({invested}),"none")'

    def adjusted(self, ratio: str) -> str:
        """Adjusted internal rate of return, from the ratio's cell."""
        n = self.book.years
        return f'IF(ISNUMBER({ratio}),IF({ratio}>=0,(1+discount_rate)*{ratio}^(1/{n})-1,"none"),"none")'

    def internal(self, guess: float) -> str:
        """Internal rate of return; empty where yearly amounts do not fall at the year's end or there is none."""
        told = math.isfinite(guess) and YEARLY not in self.how.heads()
        return f'IFERROR(IRR({self.span("net")},{guess:.4f}),"none")' if told else ""

    def payback(self, *, discounted: bool) -> str:
        """Interpolated in the year after the last that owes; what is paid once falls at the end of its year."""
        of, added = ("discounted", "discounted added") if discounted else ("returned", "added")
        last = self.owed[added].ref
        lump = f"INDEX({self.span('at once')},1,{last}+2)"
        if discounted:
            lump += f"*INDEX({self.how.span(self.sheet, FACTOR)},1,{last}+2)"
        earned = f"(INDEX({self.span(of)},1,{last}+2)-{lump})"
        before = f"INDEX({self.span(added)},1,{last}+1)"
        within = f"IF({earned}+{before}>=0,{last}-{before}/{earned},{last}+1)"
        free = f'IF(SUMPRODUCT(MAX(ABS({self.span(of)})))>{NOTHING},"{AT_ONCE}","none")'
        return f'IF({last}<0,{free},IF({last}={self.book.years},"none",{within}))'


def flows_of(b: Book, costs: Sequence[Costs]) -> dict[int, Flow]:
    """The cash flow of each option that money is held out for but the baseline, by place."""
    sheet, asked, options = b.sheets["Cash flow"], proposal(b.comparison), b.comparison.options
    against = {place: o for place, o in enumerate(options) if o.measures is not None}
    away = [o for o in against.values() if not asked.holds_out(o)]
    words = "; ".join(f"{o.name} {'fails' if o.verdict.overall == 'fail' else 'is unlikely'} to dry" for o in away)
    said = "Costs of the baseline less those of the option. Shown in whole money; the cells hold all of it."
    if away:
        said = f"{said} No money is held out for these: {words}."
    Terms(b).write(sheet, said if against else "There is no option to set against the baseline.")
    base = next(i for i, o in enumerate(options) if o.option.baseline)
    late = any(np.any(o.measures.streams.get(RATCHET, 0.0)) for o in against.values() if o.measures is not None)
    return {
        place: _flow(b, option, costs[base], costs[place], late=late)
        for place, option in against.items()
        if asked.holds_out(option)
    }


def _flow(b: Book, option: OptionResult, base: Costs, own: Costs, *, late: bool) -> Flow:
    sheet, source, m, n = b.sheets["Cash flow"], b.sheets["Costs"], option.measures, b.years
    assert m is not None
    f, heads = Flow(book=b, sheet=sheet, option=option), Terms(b).heads()
    names = list(f.how.rows)
    f.how.block(sheet, option.name)
    f.rows[RATCHET] = sheet.row + len(names)
    for name in names:
        refs = [f"{source.at(base.rows[name], FIRST + t)}-{source.at(own.rows[name], FIRST + t)}" for t in f.years]
        if name == "tax on savings" and late:
            refs = [f"{ref}-tax_rate*{f.cell(RATCHET, t)}" for t, ref in enumerate(refs)]
        f.stream(name, LABELS[name], refs, np.asarray(m.streams[name]))
    if late:
        b.text(sheet, 0, "Old peaks still billed (engine)", "line")
        f.values[RATCHET] = np.asarray(m.streams.get(RATCHET, np.zeros(n + 1)))
        f.worths[RATCHET] = f.how.worth(sheet, RATCHET, f.values[RATCHET])
        if [k for k, s in option.savings.items() if abs(float(s.first_year - s.steady)) > 0.0] == ["electricity"]:
            factor = b.inputs["electricity_factor"]
            for t in f.years:
                text = f"{float(f.values[RATCHET][t]) / factor.value!r}*{factor.ref}"
                b.formula(sheet, FIRST + t, text, f.values[RATCHET][t], "engine whole")
        else:
            for t in f.years:
                b.value(sheet, FIRST + t, f.values[RATCHET][t], "engine whole")
        sheet.row += 1
        names.append(RATCHET)
    ends = f.rows["capital"], f.rows[names[-1]]
    f.npv = b.formula(sheet, 1, _added_up(1, *ends), m.npv, "sum whole")
    f.line("net", "Net; net savings", [_added_up(FIRST + t, *ends) for t in f.years], m.cash_flow, "sum whole")
    left = [name for name in ("residual", "tax on residual") if name in names]
    once = [name for name in names if name in ONE_TIME and name not in left]
    lumps = np.asarray(sum(f.values[name] for name in once))
    f.line(
        "at once", "of it at once, at the year's end", ["+".join(f.cell(k, t) for k in once) for t in f.years], lumps
    )
    returned = m.cash_flow - sum(f.values[name] for name in left)
    without = [f"{f.cell('net', t)}-{'-'.join(f.cell(k, t) for k in left)}" for t in f.years]
    f.line("returned", "Net without the value left", without, returned)
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
    b.gap(sheet)
    return f
