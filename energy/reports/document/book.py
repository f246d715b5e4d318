"""Sheets, cells and formats of the workbook."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from typing import Any

from xlsxwriter.utility import xl_rowcol_to_cell  # type: ignore[import-untyped]

from energy.reports.document import paper
from energy.reports.document.looks import INDENT, INDENTED, LINE, WRAPPED, lines_of
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


def safe(text: object) -> str:
    """Text that no program takes for a formula, also after a detour through a file of comma-separated values."""
    plain = "".join(c if c.isprintable() else " " for c in str(text))[:32000]
    return f"'{plain}" if plain.lstrip()[:1] in ("=", "+", "-", "@") and plain.lstrip() else plain


@dataclass(slots=True)
class Sheet:
    """A worksheet with a cursor."""

    sheet: Any
    name: str
    widths: tuple[float, ...]
    row: int = 0
    heights: dict[int, float] = field(default_factory=dict)
    """Of rows of more than one line. [pt]"""
    repeated: int = 0
    """Last row of those that every page repeats."""
    kept: int = 0
    """Columns that stay in sight, and that every page of a sheet of years repeats."""
    starts: list[int] = field(default_factory=list)
    """First rows of blocks that no page should cut."""
    printed: int = 0
    """Last row on paper; 0: all."""

    def high(self, first: int, end: int) -> float:
        """Height of rows. [pt]"""
        return sum(self.heights.get(row, LINE) for row in range(first, end))

    def need(self, row: int, high: float) -> None:
        """Make a row at least so high. [pt]"""
        if high > self.heights.get(row, LINE):
            self.heights[row] = high

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
        made = Sheet(sheet=self.book.add_worksheet(name), name=name, widths=tuple(widths))
        self.sheets[name] = made
        for column, width in enumerate(widths):
            made.sheet.set_column(column, column, width)
        made.sheet.set_default_row(LINE)
        made.sheet.hide_gridlines(2)
        paper.set_up(self, made)
        self.text(made, 0, title, "title")
        made.need(0, 21.0)
        made.row = 2
        return made

    def text(
        self, sheet: Sheet, column: int, text: object, style: str = "text", row: int | None = None, across: int = 1
    ) -> None:
        """Text in a cell, or across several; the row grows with its lines."""
        at, said = sheet.row if row is None else row, safe(text)
        if across > 1:
            sheet.sheet.merge_range(at, column, at, column + across - 1, "", self.formats[style])
        sheet.sheet.write_string(at, column, said, self.formats[style])
        if style in WRAPPED:
            bold = style.startswith(("head", "strong")) and style != "head option"
            width = sum(sheet.widths[column : column + across]) - (INDENT if style in INDENTED else 0.0)
            lines = lines_of(said, width, bold=bold)
            sheet.need(at, (lines - 1) * 12.0 + LINE + (1.0 if lines > 1 else 0.0))

    def value(self, sheet: Sheet, column: int, value: float, style: str, row: int | None = None) -> Cell:
        at = sheet.row if row is None else row
        sheet.sheet.write_number(at, column, float(value), self.formats[style])
        return Cell(sheet.at(at, column), float(value))

    def formula(self, sheet: Sheet, column: int, text: str, value: Any, style: str, row: int | None = None) -> Cell:
        at = sheet.row if row is None else row
        kept = value if isinstance(value, str) else float(value) if math.isfinite(value) else "none"
        sheet.sheet.write_formula(at, column, f"={text}", self.formats[style], kept)
        return Cell(sheet.at(at, column), kept)

    def input(self, key: str, column: int, value: float, style: str) -> Cell:
        """An input in its coloured cell, with a name to use in formulas."""
        cell = self.value(self.sheets["Inputs"], column, value, f"input {style}")
        self.named(key, cell)
        return self.inputs[key]

    def named(self, key: str, cell: Cell) -> None:
        """A name for a cell."""
        self.book.define_name(key, f"={cell.ref}")
        self.inputs[key] = Cell(key, cell.value)

    def headed(self, sheet: Sheet, names: Sequence[str], kinds: str = "") -> None:
        """Heads of columns; kinds has one letter each: l, r for numbers, u for what stands right of a number."""
        for column, name in enumerate(names):
            kind = kinds[column] if column < len(kinds) else "l"
            self.text(sheet, column, name, {"l": "head", "r": "head right", "u": "head unit"}[kind])
        sheet.row += 1

    def gap(self, sheet: Sheet) -> None:
        """A narrow empty row."""
        sheet.sheet.set_row(sheet.row, GAP)
        sheet.heights[sheet.row] = GAP
        sheet.row += 1


GAP = 5.0
"""Height of the empty row between tables. [pt]"""


def room_for(values: Iterable[float], places: int = 0, least: float = 9.5) -> float:
    """Width of a column of numbers that shows the largest of them."""
    most = max((abs(v) for v in values if math.isfinite(v)), default=0.0)
    return max(least, len(f"-{most:,.{places}f}") + 1.5)


def whole(values: Iterable[float]) -> str:
    """Style of money: whole where all of it is."""
    return "whole" if all(float(v).is_integer() for v in values) else "money"


def bands_of(count: int, room: float, width: float) -> list[range]:
    """Places of options that stand side by side in columns so wide: in as few bands as the room allows, alike in number."""
    bands = math.ceil(count / max(1, math.floor(room / width + 1e-9)))
    each = math.ceil(count / bands)
    return [range(first, min(count, first + each)) for first in range(0, count, each)]
