"""A day as it is written in several countries."""

from __future__ import annotations

import datetime
import re

_DOTTED = re.compile(r"(\d{1,2})\.\s*(\d{1,2})\.\s*(\d{4})")


def iso_day(text: str) -> str:
    """A day written with points, day first, as ISO 8601 writes it: ``28.11.2026`` is ``2026-11-28``.

    What is no such day is given back as it is. Slashes stay as they are, too: 3/4/2026 is March in one country and April
    in another.
    """
    written = _DOTTED.fullmatch(text.strip())
    if not written:
        return text
    day, month, year = map(int, written.groups())
    try:
        return datetime.date(year, month, day).isoformat()
    except ValueError:
        return text
