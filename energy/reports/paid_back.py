"""A payback in a cell of a table: years, at once where no extra money is ever owed and some is saved, or none."""

from __future__ import annotations

import math
from collections.abc import Collection
from typing import Protocol

AT_ONCE, NONE = "at once", "none"


class Paybacks(Protocol):
    """What has paybacks by name, and knows which of them are at once."""

    @property
    def at_once(self) -> Collection[str]: ...


def as_kept(of: Paybacks, name: str) -> float | str:
    """A payback as a workbook keeps it: years, NaN where there is none, or that it is at once. [year]"""
    return AT_ONCE if name in of.at_once else float(getattr(of, name))


def paid_back(of: Paybacks, name: str, digits: int = 1, unit: str = "", never: str = NONE) -> str:
    """A payback in years.

    Parameters
    ----------
    of : Measures or the like
    name : str
        Of the payback, ``payback`` or another.
    digits : int
        Decimals of the years.
    unit : str
        Put behind them.
    never : str
        Said where there is none.
    """
    value = float(getattr(of, name))
    if math.isfinite(value):
        return f"{value:,.{digits}f}{unit}"
    return AT_ONCE if name in of.at_once else never


def in_years(payback: float | None) -> str:
    """A payback of the draws; never where there is none, at once where no extra money is ever owed. [year]"""
    return "never" if payback is None else AT_ONCE if payback == 0.0 else f"{payback:.1f}"
