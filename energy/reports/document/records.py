"""What a document is made of. Texts are plain text; each renderer escapes them in its own way."""

from __future__ import annotations

import datetime
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Literal, TypeAlias


@dataclass(frozen=True, slots=True, kw_only=True)
class Paragraph:
    text: str
    topic: str = ""
    """First words, in bold."""
    style: Literal["normal", "lead", "note", "warning", "heading"] = "normal"
    short: bool = False
    """Stands in the short form too; so for every block."""
    only_short: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Bullets:
    items: tuple[str, ...]
    short: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Figures:
    """Key figures: label, value, a word on it."""

    items: tuple[tuple[str, str, str], ...]
    short: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Table:
    """Cells are text; a column's weight is its share of the width, 0 for as narrow as it gets."""

    title: str
    head: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]
    align: str = ""
    """One letter per column, l or r; by default the first left and the others right."""
    weights: tuple[float, ...] = ()
    strong: tuple[int, ...] = ()
    """Rows in bold, such as totals."""
    note: str = ""
    long: bool = False
    """Only where a page may be as long as it likes: web page and workbook."""
    short: bool = False

    def alignment(self, column: int) -> str:
        """l or r."""
        return self.align[column] if self.align else "l" if column == 0 else "r"


@dataclass(frozen=True, slots=True, kw_only=True)
class Bars:
    """Horizontal stacked bars; each series has a value per label."""

    labels: tuple[str, ...]
    series: tuple[tuple[str, tuple[float, ...]], ...]
    axis: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Curve:
    name: str
    x: Sequence[float]
    y: Sequence[float]
    dashes: str = "solid"
    marker: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Lines:
    curves: tuple[Curve, ...]
    x_axis: str
    y_axis: str
    band: tuple[str, Sequence[float], Sequence[float], Sequence[float]] | None = None
    """Name, x, low, high."""
    verticals: tuple[tuple[float, str], ...] = ()
    log: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Swings:
    """Tornado: each label from the value with its low input to that with its high one."""

    labels: tuple[str, ...]
    low: tuple[float, ...]
    high: tuple[float, ...]
    middle: float
    axis: str


Drawing: TypeAlias = Bars | Lines | Swings


@dataclass(frozen=True, slots=True, kw_only=True)
class Chart:
    title: str
    alt: str
    """What it shows, in words with figures, for those who do not see it."""
    drawing: Drawing
    short: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Signatures:
    """One line to sign per role."""

    roles: tuple[str, ...]
    short: bool = False


Block: TypeAlias = Paragraph | Bullets | Figures | Table | Chart | Signatures


@dataclass(frozen=True, slots=True, kw_only=True)
class Section:
    title: str
    blocks: tuple[Block, ...]
    page: bool = False
    """Begins on a page of its own."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Document:
    title: str
    facts: Mapping[str, str]
    """Prepared by, department, date."""
    sections: tuple[Section, ...]
    date: datetime.date
    """For the files' own records, which must have one: the request's, or the first day of the year of the study."""
    compact: bool
    """Smaller type, for the short form."""
    foot: str
    """Version and mark of the case, on every page."""
