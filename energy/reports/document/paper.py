"""How the workbook's sheets go on paper: landscape, one page wide, nothing smaller than 7 point."""

from __future__ import annotations

import math
from collections.abc import Sequence
from itertools import pairwise
from typing import TYPE_CHECKING

from energy.reports.document.looks import LINE, UNIT

if TYPE_CHECKING:
    from energy.reports.document.book import Book, Sheet

PAPERS = {"a4": (9, 841.9, 595.3), "letter": (1, 792.0, 612.0)}
"""Number that a workbook has for it, and its size lying. [pt]"""
INCH = 72.0
SIDE, TOP, BOTTOM = 0.4, 0.6, 0.55
"""Margins. [inch]"""
LEAST = 0.70
"""Smallest scale: 7 point of 10."""
BROAD = 6.8
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
    body, units = PAPERS[b.paper][2] - (TOP + BOTTOM) * INCH, sum(sheet.widths)
    across = PAPERS[b.paper][1] - 2 * SIDE * INCH
    narrow, broad = (min(1.0, across / (units * unit)) for unit in (UNIT, BROAD))
    head, whole = sheet.high(0, sheet.repeated + 1), sheet.high(0, last + 1)
    least = min(LEAST, broad)
    if (wide := wide_of(b.paper, sheet.widths, sheet.kept)) > 1:
        _side_by_side(sheet, wide, head, body, across)
    else:
        tall = max(1, math.ceil(whole * least / body - 0.001))
        if sheet.starts and tall > 1:
            tall, last = _whole_blocks(sheet, last, head, body / narrow, body / broad, body / least)
        elif tall > 1:
            tall = math.ceil((whole - head) / (body / least - head) - 0.001)
        ws.fit_to_pages(1, tall)
    for row, high in sheet.heights.items():
        ws.set_row(row, high)
    ws.print_area(0, 0, last, len(sheet.widths) - 1)
    ws.repeat_rows(0, sheet.repeated)


def _side_by_side(sheet: Sheet, wide: int, head: float, body: float, across: float) -> None:
    """Columns of years on several pages beside each other, at a scale that holds them, each block on one of them."""
    ws, columns = sheet.sheet, len(sheet.widths) - sheet.kept
    each = math.ceil(columns / wide)
    units = sum(sheet.widths[: sheet.kept + each])
    scale = math.floor(100 * min(1.0, across / (units * BROAD)))
    ws.set_print_scale(max(10, scale))
    ws.set_v_pagebreaks([sheet.kept + each * i for i in range(1, wide)])
    ws.repeat_columns(0, sheet.kept - 1)
    ws.print_across()
    if sheet.starts:
        block = max(sheet.high(first, end) for first, end in pairwise([*sheet.starts, sheet.row]))
        most = max(1, math.floor((100 * body / scale - head) / block))
        ws.set_h_pagebreaks(sheet.starts[most::most])


def _whole_blocks(sheet: Sheet, last: int, head: float, narrow: float, broad: float, least: float) -> tuple[int, int]:
    """Pages that break between blocks: their number down (0: as the breaks have it) and the last row.

    A program that fits a sheet to a number of pages leaves breaks aside, so pages are then filled to their end: rows are
    made a little higher, and the last page is as long as the others. The rooms are heights of a page at the scales that
    a narrow type, a broad one and the smallest size give. [pt]
    """
    blocks = [sheet.high(first, end) for first, end in pairwise([*sheet.starts, last + 1])]
    most, block, first = len(blocks), max(blocks), sheet.high(sheet.repeated + 1, sheet.starts[0])
    alike, free = block - min(blocks) < 0.1 * block, narrow - head - first
    pages = math.ceil(most / max(1, math.floor((least - head - first) / block)))
    each = math.ceil(most / pages)
    if each * block <= free or not alike:
        each = each if alike else max(1, math.floor(free / block))
        sheet.sheet.set_h_pagebreaks(sheet.starts[each::each])
        return 0, last
    more = max(1.0, (broad - head - first) / (each * block))
    for row in range(sheet.starts[0], last + 1):
        sheet.heights[row] = sheet.heights.get(row, LINE) * more
    return pages, last + math.floor((pages * each - most) * block * more / LINE)


def _said(text: str, most: int) -> str:
    """Text of a header, where & begins a command."""
    plain = "".join(c if c.isprintable() else " " for c in text)
    return (plain if len(plain) <= most else f"{plain[: most - 1]}…").replace("&", "&&")
