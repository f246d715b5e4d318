"""Looks of the workbook's cells: formats by kind of value, and how much room a text takes."""

from __future__ import annotations

import math
import re
from typing import Any

FONT, SIZE = "Liberation Sans", 10
BLUE, PALE, RULE, GREY, YELLOW, RED = "#0B3C5D", "#EEF3F7", "#7E97A9", "#ECECEC", "#FFF2B3", "#B00020"
UNIT = 5.25
"""Width of a digit, which is the unit of a column's width. [pt]"""
LINE = 12.75
"""Height of a row of one line. [pt]"""
NUMBERS = {
    "money": "#,##0.00;[Red]-#,##0.00;–",
    "whole": "#,##0;[Red]-#,##0;–",
    "quantity": "#,##0.0;-#,##0.0;–",
    "price": "#,##0.00####",
    "percent": "0.0%",
    "rate": "0.00%",
    "factor": "0.0000",
    "ratio": "0.00",
    "years": "0.0",
    "apart": "0.0000;[Red]-0.0000;–",
    "plain": "General",
    "owed": '"owed to year "0;"never owed";"owed to year "0',
}
"""What is shown of a number; the cell holds all of it."""
INPUTS = NUMBERS | {"money": "#,##0.00", "whole": "#,##0"}
WRAPPED = (
    "text",
    "item",
    "strong text",
    "long",
    "long item",
    "note",
    "head",
    "head right",
    "head unit",
    "head option",
)
"""Styles whose text goes on in a next line."""
INDENTED, INDENT = ("item", "long item", "head unit"), 1.3
"""Styles whose text begins inside the cell, and how far, in units of width."""


def formats_of(book: Any) -> dict[str, Any]:
    base: dict[str, Any] = {"font_name": FONT, "font_size": SIZE, "valign": "vcenter"}
    head = {**base, "bold": True, "text_wrap": True, "bg_color": PALE, "font_color": BLUE}
    under: dict[str, Any] = {"bottom": 1, "bottom_color": RULE, "valign": "bottom"}
    texts: dict[str, dict[str, Any]] = {
        "text": {"text_wrap": True},
        "item": {"text_wrap": True, "align": "left", "indent": 1},
        "line": {},
        "strong": {"bold": True},
        "strong text": {"bold": True, "text_wrap": True},
        "long": {"text_wrap": True, "valign": "top"},
        "long item": {"text_wrap": True, "valign": "top", "align": "left", "indent": 1},
        "note": {"text_wrap": True, "font_color": "#555555"},
        "name": {"font_color": "#555555", "align": "left", "indent": 1},
        "unit": {"align": "left", "indent": 1},
        "title": {"bold": True, "font_size": 14, "font_color": BLUE},
        "block": {"bold": True, "font_color": BLUE, **under},
        "sign": {"bottom": 1},
        "year": {**head, "align": "right", "num_format": "0", **under},
        "head": {**head, **under},
        "head right": {**head, "align": "right", **under},
        "head unit": {**head, "align": "left", "indent": 1, **under},
        "head option": {**head, "bold": False, "align": "right", **under},
        "check": {"align": "right"},
        "engine check": {"align": "right", "bg_color": GREY},
        "differs": {"bold": True, "font_color": RED, "bg_color": "#FBE3E6"},
    }
    made = {name: book.add_format({**base, **look}) for name, look in texts.items()}
    for name, code in NUMBERS.items():
        number = {**base, "num_format": code, "align": "right"}
        made[name] = book.add_format(number)
        made[f"strong {name}"] = book.add_format({**number, "bold": True})
        made[f"sum {name}"] = book.add_format({**number, "bold": True, "top": 1})
        made[f"engine {name}"] = book.add_format({**number, "bg_color": GREY})
    for name, code in INPUTS.items():
        made[f"input {name}"] = book.add_format(
            {**base, "num_format": code, "align": "right", "bg_color": YELLOW, "font_color": "#0B3C9D", "border": 1}
            | {"border_color": "#C9B458", "locked": False}
        )
    return made


def priced(book: Any, unit: str) -> Any:
    """Format of a price with its unit."""
    safe = unit.replace('"', "")
    return book.add_format(
        {"font_name": FONT, "font_size": SIZE, "valign": "vcenter", "align": "right"}
        | {"num_format": f'#,##0.00####" {safe}"'}
    )


LETTERS = {
    "ijlI|'.,:;/ ft![]": 0.28, "-()r": 0.33, "cksvxyzJ": 0.50, "wCDHNRU&": 0.72, "ABEKPSVXY": 0.67, "FTZ": 0.61, "GOQ": 0.78,
    "mM": 0.83, "W%@–—…": 0.95,
}  # fmt: skip
EM = {letter: em for letters, em in LETTERS.items() for letter in letters}
"""Usual breadth of sans-serif letters over the size of the type; of all others, small letters and digits, 0.56."""


def breadth(text: str, *, bold: bool = False) -> float:
    """Room that a text takes in a line. [pt]"""
    return sum(EM.get(letter, 0.56) for letter in text) * SIZE * (1.07 if bold else 1.0)


def lines_of(text: str, width: float, *, bold: bool = False) -> int:
    """Lines that a text takes in a cell so many units wide."""
    room, lines, used = max(2.0 * SIZE, width * UNIT - 6.0), 1, 0.0
    for word in re.findall(r"[^\s-]+-?|\s+|-", text):
        wide = breadth(word, bold=bold)
        if used + (0.0 if word.isspace() else wide) > room:
            lines, used = lines + max(1, math.ceil(wide / room)), 0.0 if word.isspace() else wide % room
        else:
            used += wide
    return lines
