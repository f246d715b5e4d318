"""Texts of the engine as they stand on a page."""

from __future__ import annotations

import html

from energy.reports.print_signs import pretty


def escape(text: str, quote: bool = True) -> str:
    """HTML of a text, with the signs of print. What is looked up by its name is escaped as it is instead."""
    return html.escape(pretty(text), quote)
