"""When money counts in the workbook: the heads of its columns of years, as formulas on the case's money terms."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any

import numpy as np
from xlsxwriter.utility import xl_rowcol_to_cell  # type: ignore[import-untyped]

from energy import finance
from energy.dryers.base import Array
from energy.finance.cashflow import ONE_TIME
from energy.finance.factors import due
from energy.reports.document.book import CARRIERS, Book, Cell, Sheet
from energy.reports.document.paper import wide_of
from energy.study.life_cycle import terms

HEAD_ROW = 2  # of the years; the discount factors stand below
FIRST = 2  # column of year 0
FIRST_PAGE = 9  # years that are sure to stand on the first of several pages side by side
YEAR, FACTOR, DUE, YEARLY, SERVICE, PRICE, DEDUCTED = "year", "factor", "due", "yearly", "service", "price", "deducted"
START = "service_start"
"""Name of the years from the base date until what is bought begins its service."""

ROUNDING = 1e-12
"""What is left of shares that add up to the whole. [-]"""


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
    def start(self) -> float:
        """Years from the base date until what is bought begins its service."""
        return float(self.how["delay"])

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
        left = float(1.0 - tax.shares[:served].sum())
        return left * level if abs(left) > ROUNDING else 0.0

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

    def worth(self, sheet: Sheet, name: str, series: Array) -> Cell:
        """The present value of the stream in the row at hand, left of its years."""
        factors = self.heads()[self.factor_of(name) if self.factor_of(name) in self.heads() else FACTOR][1]
        span = sheet.span(sheet.row, FIRST, FIRST + self.book.years)
        text = f"SUMPRODUCT({span},{self.span(sheet, self.factor_of(name))})"
        return self.book.formula(sheet, 1, text, float(series @ factors), "whole")

    def write(self, sheet: Sheet, said: str) -> None:
        """A note, and the heads, which every row below them refers to."""
        b = self.book
        column = 0 if wide_of(b.paper, sheet.widths, FIRST) == 1 else FIRST  # what each page repeats would cut it
        b.text(sheet, column, said, "note", row=HEAD_ROW - 1, across=FIRST + FIRST_PAGE - column)
        for name, (label, values) in self.heads().items():
            b.text(sheet, 0, label or f"{b.currency}; year", "head" if name == YEAR else "text")
            if name == YEAR:
                b.text(sheet, 1, "Present value", "head right")
            for t in self.years:
                column = FIRST + t
                if name in (FACTOR, YEARLY):
                    when = self.at(YEAR if name == FACTOR else DUE, t)
                    b.formula(sheet, column, f"(1+discount_rate)^-{when}", values[t], "factor")
                else:
                    style = {YEAR: "year", DUE: "engine years"}.get(name, "engine factor")
                    b.value(sheet, column, values[t], style)
            sheet.row += 1
        b.gap(sheet)
        sheet.repeated, sheet.kept = sheet.row - 1, FIRST
        sheet.sheet.freeze_panes(sheet.row, FIRST)

    def block(self, sheet: Sheet, name: str) -> None:
        """The name of an option, across."""
        sheet.starts.append(sheet.row)
        self.book.text(sheet, 0, name, "block")
        for column in range(1, len(sheet.widths)):
            self.book.text(sheet, column, "", "block")
        sheet.row += 1
