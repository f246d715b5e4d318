"""Uploaded files: handed to a reader of files, and what is wrong with them in the page's words."""

from __future__ import annotations

import re
import tempfile
from collections.abc import Callable
from pathlib import Path
from typing import TypeVar

from energy.errors import CaseError, EnergyError
from energy.reports.bill_input import flagged

T = TypeVar("T")
_OPTIONS = {
    "value": "under Column of figures:",
    "zone": "under Time zone of the stamps:",
    "unit": "under Unit of the figures:",
}
"""Where the options of a reader of files are typed in on Bill."""
_ASKED = re.compile(r"; (?=(?:say|name|choose)\b[^;]*\bunder (?:Column|Time zone|Unit) of)")
_ON_COMMAND_LINE = {
    "time": "--time-column",
    "stamp": "--stamp",
    "step": "--step",
    "day_first": "--day-first",
    "decimal": "--decimal",
}


def from_file(name: str, data: bytes, read: Callable[[Path], T]) -> T:
    """What a reader of files makes of bytes: they are written to a folder of their own, which goes at once."""
    with tempfile.TemporaryDirectory() as folder:
        ending = Path(name).suffix.lower()
        path = Path(folder) / f"file{ending if ending.isascii() and len(ending) < 8 else ''}"
        path.write_bytes(data)
        return read(path)


def told(error: EnergyError, name: str, *, at_bill: bool = True) -> str:
    """What is wrong with an uploaded file, a line each, by its own name; other views send to Bill for what is typed in there."""
    if not isinstance(error, CaseError):
        return f"{name}: {error}"
    names = _OPTIONS | {key: f"(on the command line) {flag}" for key, flag in _ON_COMMAND_LINE.items()}
    said = [f"{p.key}: {p.message}" if p.key else p.message for p in error.problems[:5]]
    more = [f"and {len(error.problems) - 5} more"] if len(error.problems) > 5 else []
    lines = (re.sub(r"with (?=under )|:(?= and under |;)", "", flagged(line, names)) for line in [*said, *more])
    return "\n".join(
        f"{name}: {line if at_bill else _ASKED.sub('; open the file on Bill and ', line)}" for line in lines
    )
