"""The sheet Measures: the options side by side by the workbook's formulas, by the engine, and the difference."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass

from xlsxwriter.utility import xl_rowcol_to_cell  # type: ignore[import-untyped]

from energy import finance
from energy.reports.document.book import CARRIERS, LABELS, Book, Cell, bands_of, room_for
from energy.reports.document.flows import Costs, Flow
from energy.reports.document.paper import room_of
from energy.reports.document.proposal import proposal
from energy.reports.doubts import old_peaks
from energy.reports.paid_back import AT_ONCE, as_kept
from energy.study.compare import Comparison, OptionResult
from energy.study.cost import NOTHING

SAID = (
    "Check: “agrees” where every formula gives the engine's figure, to half a cent or 0.000005; after a change of an input "
    "“differs” is as it should be. Empty: the baseline, and options that fail or are unlikely to dry, have no savings told."
)
FIRST = 1
"""Column of the first option of a band."""


@dataclass(frozen=True, slots=True, kw_only=True)
class _Measure:
    key: str
    label: str
    unit: str
    style: str
    engine: Callable[[OptionResult], float | str | None]
    """None where nothing is told, a word where it is no number."""

    @property
    def named(self) -> str:
        """Label with its unit."""
        return f"{self.label}, {self.unit}" if self.unit else self.label


def widths_of(comparison: Comparison, paper: str) -> tuple[float, ...]:
    """Widths of the columns."""
    money = room_for((o.life_cycle_cost for o in comparison.options), 0, 12)
    return (33, *[money] * len(bands_of(len(comparison.options), room_of(paper) - 33, money)[0]))


def _measures(b: Book) -> list[_Measure]:
    cur, given, asked = b.currency, b.comparison.case.model.finance, proposal(b.comparison)

    def cost(carrier: str) -> Callable[[OptionResult], float]:
        return lambda o: o.annual_cost[carrier]

    def annual(o: OptionResult) -> float:
        return float(finance.equivalent_annual_cost(given.rate, o.life_cycle_cost, given.years))

    def of(name: str) -> Callable[[OptionResult], float | None]:
        return lambda o: None if o.measures is None or not asked.holds_out(o) else float(getattr(o.measures, name))

    def back(name: str) -> Callable[[OptionResult], float | str | None]:
        return lambda o: None if o.measures is None or not asked.holds_out(o) else as_kept(o.measures, name)

    rows: list[tuple[str, str, str, str, Callable[[OptionResult], float | str | None]]] = [
        *((c, LABELS[c], f"{cur}/year", "whole", cost(c)) for c in CARRIERS),
        ("total", "Running cost", f"{cur}/year", "whole", lambda o: o.total_cost),
        ("cost", "Life-cycle cost", cur, "whole", lambda o: o.life_cycle_cost),
        ("annual", "Equivalent annual cost", f"{cur}/year", "whole", annual),
        ("npv", "Net savings", cur, "whole", of("npv")),
        ("sir", "Savings-to-investment ratio", "", "ratio", of("sir")),
        ("airr", "Adjusted internal rate of return", "", "percent", of("airr")),
        ("irr", "Internal rate of return", "", "percent", of("irr")),
        ("simple", "Capital over a year's saving", "years", "years", back("capital_over_saving")),
        ("payback", "Simple payback, overhauls counted", "years", "years", back("payback")),
        ("discounted", "Discounted payback", "years", "years", back("discounted_payback")),
    ]
    return [_Measure(key=k, label=n, unit=u, style=s, engine=e) for k, n, u, s, e in rows]


def measures_of(
    b: Book, bills: Sequence[Mapping[str, Cell]], costs: Sequence[Costs], flows: Mapping[int, Flow]
) -> dict[int, dict[str, Cell]]:
    """Fill the sheet; the cells by place of the option and measure."""
    sheet, options, kinds = b.sheets["Measures"], b.comparison.options, _measures(b)
    sheet.row = 1
    b.text(sheet, 0, SAID, "note", across=len(sheet.widths))
    sheet.row += 1
    if late := old_peaks(b.comparison):
        b.text(sheet, 0, f"{late} Its present value stands on the sheet “Cash flow”.", "note", across=len(sheet.widths))
        sheet.row += 1
    sheet.sheet.freeze_panes(1, FIRST)
    found: dict[int, dict[str, Cell]] = {place: {} for place in range(len(options))}
    base = next(place for place, o in enumerate(options) if o.option.baseline)
    for places in bands_of(len(options), sum(sheet.widths[FIRST:]), sheet.widths[FIRST]):
        sheet.starts.append(sheet.row)
        here, engine = sheet.row + 2, sheet.row + len(kinds) + 5
        _heads(b, "By the formulas here", places)
        b.text(sheet, 0, "Dries?")
        for column, place in enumerate(places, start=FIRST):
            b.text(sheet, column, options[place].verdict.word, "check")
        sheet.row += 1
        for kind in kinds:
            b.text(sheet, 0, kind.named)
            for column, place in enumerate(places, start=FIRST):
                value, flow = kind.engine(options[place]), flows.get(place)
                text = _formula(kind, value, found[place], bills[place], costs[place], flow, b.years)
                if kind.key == "simple" and flow is not None:
                    text = _capital_over_saving(base, place, bills)
                if text and value is not None:
                    found[place][kind.key] = b.formula(sheet, column, text, value, kind.style)
            sheet.row += 1
        _checks(b, kinds, places, engine + len(kinds) + 2)
        _heads(b, "By the engine", places)
        for kind in kinds:
            b.text(sheet, 0, kind.named)
            for column, place in enumerate(places, start=FIRST):
                value = kind.engine(options[place]) if kind.key in found[place] else None
                if isinstance(value, str):
                    b.text(sheet, column, value, "engine check")
                elif value is not None and math.isfinite(value):
                    b.value(sheet, column, value, f"engine {kind.style}")
                elif value is not None:
                    b.text(sheet, column, "none", "engine check")
            sheet.row += 1
        b.gap(sheet)
        _heads(b, "Difference", places, named=False)
        for i, kind in enumerate(kinds):
            b.text(sheet, 0, kind.named)
            for column, place in enumerate(places, start=FIRST):
                if kind.key in found[place]:
                    one, two = (xl_rowcol_to_cell(first + i, column) for first in (here, engine))
                    text = f'IF(AND(ISNUMBER({one}),ISNUMBER({two})),{one}-{two},IF({one}={two},0,"differs"))'
                    b.formula(sheet, column, text, 0.0, "money" if kind.style == "whole" else "apart")
            sheet.row += 1
        b.gap(sheet)
    return found


def _heads(b: Book, title: str, places: range, *, named: bool = True) -> None:
    sheet = b.sheets["Measures"]
    b.text(sheet, 0, title, "head")
    for column, place in enumerate(places, start=FIRST):
        b.text(sheet, column, b.comparison.options[place].name if named else "", "head option")
    sheet.row += 1


def _formula(
    kind: _Measure,
    value: float | str | None,
    made: Mapping[str, Cell],
    bill: Mapping[str, Cell],
    cost: Costs,
    flow: Flow | None,
    years: int,
) -> str:
    """The formula of a measure; empty where there is nothing to tell."""
    if kind.key in bill:
        return bill[kind.key].ref
    if kind.key == "cost":
        return cost.life_cycle.ref
    if kind.key == "annual":
        whole = made["cost"].ref
        return f"IF(discount_rate=0,{whole}/{years},{whole}*discount_rate/(1-(1+discount_rate)^-{years}))"
    if flow is None or value is None:
        return ""
    if isinstance(value, str):
        return flow.payback(discounted=kind.key == "discounted")
    if kind.key in ("npv", "sir"):
        return flow.npv.ref if kind.key == "npv" else flow.ratio()
    if kind.key in ("airr", "irr"):
        return flow.adjusted(made["sir"].ref) if kind.key == "airr" else flow.internal(value)
    return flow.payback(discounted=kind.key == "discounted")


def _capital_over_saving(base: int, place: int, bills: Sequence[Mapping[str, Cell]]) -> str:
    """Extra capital less incentive over the net saving of a year."""
    mine, theirs = (f"(option_{i + 1}_capital-option_{i + 1}_incentive)" for i in (place, base))
    paid, saved = f"({mine}-{theirs})", f"({bills[base]['total'].ref}-{bills[place]['total'].ref})"
    free = f'IF({saved}>{NOTHING},"{AT_ONCE}","none")'
    return f'IF({paid}>0,IF({saved}>0,{paid}/{saved},"none"),{free})'


def _checks(b: Book, kinds: Sequence[_Measure], places: range, top: int) -> None:
    """Whether the differences of each option, which begin in row `top`, are nothing."""
    sheet, last, money = b.sheets["Measures"], top + len(kinds) - 1, sum(kind.style == "whole" for kind in kinds)
    b.text(sheet, 0, "Check", "strong")
    for column, _ in enumerate(places, start=FIRST):
        amounts, others, whole = (
            f"{xl_rowcol_to_cell(first, column)}:{xl_rowcol_to_cell(end, column)}"
            for first, end in ((top, top + money - 1), (top + money, last), (top, last))
        )
        near = ",".join(
            f"MAX({cells})<{limit},MIN({cells})>-{limit}" for cells, limit in ((amounts, "0.005"), (others, "0.000005"))
        )
        text = f'IF(AND({near},COUNTIF({whole},"differs")=0),"agrees","differs")'
        b.formula(sheet, column, text, "agrees", "check")
    differs = {"type": "cell", "criteria": "==", "value": '"differs"', "format": b.formats["differs"]}
    sheet.sheet.conditional_format(sheet.row, FIRST, sheet.row, FIRST + len(places) - 1, differs)
    sheet.row += 1
    b.gap(sheet)
