"""How the workbook's sheets go on paper: landscape, one page wide, nothing smaller than 7 point."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from energy.reports.document.book import Book, Sheet

PAPERS = {"a4": (9, 841.9, 595.3), "letter": (1, 792.0, 612.0)}
"""Number that a workbook has for it, and its size lying. [pt]"""
INCH = 72.0
SIDE, TOP, BOTTOM = 0.4, 0.6, 0.55
"""Margins. [inch]"""
LEAST = 0.70
"""Smallest scale: 7 point of 10."""
LOWEST = 0.66
"""Scale below which a block that is higher than a page is rather cut."""
BROAD = 6.85
"""Width of a digit where a broader type stands in for the one asked for. [pt]"""


def set_up(b: Book, sheet: Sheet) -> None:
    """Paper, margins, header and footer."""
    ws = sheet.sheet
    ws.set_landscape()
    ws.set_paper(PAPERS[b.paper][0])
    ws.set_margins(left=SIDE, right=SIDE, top=TOP, bottom=BOTTOM)
    ws.center_horizontally()
    site = b.document.facts.get("Site", "")
    ws.set_header(f"&L&10 {_said(b.document.title, 90)}&R&10 {_said(site, 60)}", {"margin": 0.3})
    ws.set_footer(
        f"&L&10 {_said(sheet.name, 31)}&C&10 {_said(b.document.foot, 120)}&R&10 Page &P of &N",
        {"margin": 0.3},
    )


def room_of(paper: str) -> float:
    """Units of width of the columns that fit on a paper at the smallest scale in the broader type."""
    return (PAPERS[paper][1] - 2 * SIDE * INCH) / (LEAST * BROAD)


def wide_of(paper: str, widths: Sequence[float], kept: int) -> int:
    """Pages side by side of columns so wide, the first of which each page repeats; one where none is repeated."""
    first = sum(widths[:kept])
    return max(1, math.ceil((sum(widths) - first) / (1.03 * room_of(paper) - first))) if kept else 1


def finish(b: Book, sheet: Sheet) -> None:
    """Row heights, print area and page breaks, once all is written."""
    ws, last = sheet.sheet, sheet.printed or max(sheet.row - 1, 3)
    across, body = PAPERS[b.paper][1] - 2 * SIDE * INCH, PAPERS[b.paper][2] - (TOP + BOTTOM) * INCH
    wide = wide_of(b.paper, sheet.widths, sheet.kept)
    columns = sheet.kept + math.ceil((len(sheet.widths) - sheet.kept) / wide)
    broad = min(1.0, across / (sum(sheet.widths[:columns]) * BROAD))
    if wide == 1 and sheet.high(0, last + 1) * min(LEAST, broad) <= body:
        ws.fit_to_pages(1, 1)
    elif not sheet.starts:
        ws.fit_to_pages(1, 0)
    else:
        head, ends = sheet.high(0, sheet.repeated + 1), [*sheet.starts[1:], last + 1]
        blocks = [sheet.high(first, end) for first, end in zip(sheet.starts, ends, strict=True)]
        blocks[0] += sheet.high(sheet.repeated + 1, sheet.starts[0])
        percent = _scale(blocks, head, body, math.floor(100 * broad))
        ws.set_print_scale(percent)
        ws.set_h_pagebreaks([sheet.starts[i] for i in _breaks(blocks, 100 * body / percent - head)])
    if wide > 1:
        ws.set_v_pagebreaks(range(columns, len(sheet.widths), columns - sheet.kept))
        ws.repeat_columns(0, sheet.kept - 1)
        ws.print_across()
    for row, high in sheet.heights.items():
        ws.set_row(row, high)
    ws.print_area(0, 0, last, len(sheet.widths) - 1)
    ws.repeat_rows(0, sheet.repeated)


def _scale(blocks: Sequence[float], head: float, body: float, most: int) -> int:
    """The largest scale at which the blocks take as few pages as at the smallest one that can be read. [%]"""
    least = min(most, round(100 * (LEAST if head + max(blocks) <= body / LEAST else LOWEST)))
    fewest = len(_filled(blocks, 100 * body / least - head))
    return max(p for p in range(least, most + 1) if len(_filled(blocks, 100 * body / p - head)) == fewest)


def _breaks(blocks: Sequence[float], room: float) -> list[int]:
    """Blocks that begin a page, in as few pages as the room allows, none much fuller than another."""
    pages = len(_filled(blocks, room))
    return next(
        found for part in range(10, 101) if len(found := _filled(blocks, room * part / 100)) == pages or part == 100
    )


def _filled(blocks: Sequence[float], room: float) -> list[int]:
    """Blocks that begin a page, where each page takes as many as it can."""
    found, used = [], 0.0
    for i, block in enumerate(blocks):
        if i and used + block > room:
            found.append(i)
            used = 0.0
        used += block
    return found


def _said(text: str, most: int) -> str:
    """Text of a header, where & begins a command."""
    plain = "".join(c if c.isprintable() else " " for c in text)
    return (plain if len(plain) <= most else f"{plain[: most - 1]}…").replace("&", "&&")
