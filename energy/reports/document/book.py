"""Sheets, cells and formats of the workbook."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import Any

from xlsxwriter.utility import xl_rowcol_to_cell  # type: ignore[import-untyped]

from energy.reports.document.records import Document
from energy.study.compare import Comparison

MONTHS = ("Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec")
CARRIERS = ("electricity", "gas", "water", "maintenance")
LABELS = {
    "capital": "Capital", "incentive": "Incentive", "electricity": "Electricity", "gas": "Gas", "water": "Cooling and water",
    "maintenance": "Maintenance", "replacements": "Replacements", "residual": "Value left at the end",
    "tax on savings": "Tax on savings", "tax on replacements": "Tax on replacements", "depreciation": "Tax saved by deduction",
    "tax on residual": "Tax on the value left", "tax on incentive": "Tax on the incentive",
}  # fmt: skip
PAPERS = {"a4": 9, "letter": 1}


def safe(text: object) -> str:
    """Text that no program takes for a formula, also after a detour through a file of comma-separated values."""
    plain = "".join(c if c.isprintable() else " " for c in str(text))[:32000]
    return f"'{plain}" if plain.lstrip()[:1] in ("=", "+", "-", "@") and plain.lstrip() else plain


@dataclass(slots=True)
class Sheet:
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
class Cell:
    """What a formula may refer to: its reference and its value now."""

    ref: str
    value: Any


@dataclass(slots=True)
class Book:
    comparison: Comparison
    document: Document
    paper: str
    book: Any
    formats: dict[str, Any] = field(default_factory=dict)
    sheets: dict[str, Sheet] = field(default_factory=dict)
    inputs: dict[str, Cell] = field(default_factory=dict)

    @property
    def currency(self) -> str:
        return self.comparison.case.currency

    @property
    def years(self) -> int:
        return self.comparison.case.model.finance.years

    def add(self, name: str, widths: Sequence[float], title: str) -> Sheet:
        made = Sheet(sheet=self.book.add_worksheet(name), name=name)
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

    def text(self, sheet: Sheet, column: int, text: object, style: str = "text", row: int | None = None) -> None:
        sheet.sheet.write_string(sheet.row if row is None else row, column, safe(text), self.formats[style])

    def value(self, sheet: Sheet, column: int, value: float, style: str, row: int | None = None) -> Cell:
        at = sheet.row if row is None else row
        sheet.sheet.write_number(at, column, float(value), self.formats[style])
        return Cell(sheet.at(at, column), float(value))

    def formula(self, sheet: Sheet, column: int, text: str, value: Any, style: str, row: int | None = None) -> Cell:
        at = sheet.row if row is None else row
        kept = value if isinstance(value, str) else float(value) if math.isfinite(value) else "none"
        sheet.sheet.write_formula(at, column, f"={text}", self.formats[style], kept)
        return Cell(sheet.at(at, column), kept)

    def input(self, key: str, label: str, value: float, unit: str, source: str = "", style: str = "money") -> Cell:
        """An input in its coloured cell, with a name to use in formulas."""
        sheet = self.sheets["Inputs"]
        self.text(sheet, 0, label)
        cell = self.value(sheet, 1, value, f"input {style}")
        self.text(sheet, 2, unit, "unit")
        self.text(sheet, 3, key)
        self.text(sheet, 4, source)
        self.book.define_name(key, f"={cell.ref}")
        sheet.row += 1
        self.inputs[key] = Cell(key, cell.value)
        return self.inputs[key]

    def headed(self, sheet: Sheet, names: Sequence[str], kinds: str = "") -> None:
        """Heads of columns; kinds has one letter each: l, r for numbers, u for what stands right of a number."""
        for column, name in enumerate(names):
            kind = kinds[column] if column < len(kinds) else "l"
            self.text(sheet, column, name, {"l": "head", "r": "head right", "u": "head unit"}[kind])
        sheet.row += 1


def formats_of(book: Any) -> dict[str, Any]:
    base = {"font_name": "Liberation Sans", "font_size": 10, "valign": "vcenter"}
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
        "unit": book.add_format({**base, "text_wrap": True, "align": "left", "indent": 1}),
        "line": book.add_format(base),
        "strong": book.add_format({**base, "bold": True}),
        "title": book.add_format({**base, "bold": True, "font_size": 14, "font_color": "#0B3C5D"}),
        "block": book.add_format({**base, "bold": True, "font_color": "#0B3C5D", "top": 1}),
        "head": book.add_format({**base, "bold": True, "text_wrap": True, "bottom": 1, "bg_color": "#EEF3F7"}),
        "head right": book.add_format(
            {**base, "bold": True, "text_wrap": True, "bottom": 1, "bg_color": "#EEF3F7", "align": "right"}
        ),
        "head unit": book.add_format(
            {**base, "bold": True, "text_wrap": True, "bottom": 1, "bg_color": "#EEF3F7", "align": "left", "indent": 1}
        ),
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
