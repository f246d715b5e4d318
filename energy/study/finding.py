"""One check of an option: a value against a limit, with its grade and a sentence."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

Grade = Literal["pass", "caution", "fail"]
GRADES: tuple[Grade, ...] = ("pass", "caution", "fail")


@dataclass(frozen=True, slots=True, kw_only=True)
class Finding:
    """One check: a value against a limit, with a sentence."""

    check: str
    value: float | None
    """In ``unit``."""
    limit: float | None
    unit: str
    verdict: Grade
    text: str
    hopper: str = ""
    """Where an option serves several hoppers: the one it is about."""
