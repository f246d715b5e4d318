"""What no meter of the dryers shows of a year's saving, by its name: it is credited as forecast."""

from __future__ import annotations

from energy.reports.rows import joined
from energy.study.compare import OptionResult

NEVER = {"water": "cooling", "maintenance": "upkeep"}
"""Costs of a year that no meter of the plan shows, and their names."""
NAMES = {
    **NEVER,
    "electricity": "peaks and whatever else of electricity is no energy",
    "gas": "whatever else of gas is no energy",
}
"""The same with what of a bill is left beside what falls with the energy alone, where its energy is metered."""


def named(bill: str, base: OptionResult, option: OptionResult) -> str:
    """Who takes what goes by a bill of whose energy nothing is metered, in words.

    Parameters
    ----------
    bill : str
        ``electricity`` or ``gas``.
    base, option : OptionResult
        Present dryers, and those asked for.
    """
    who = ["the dryers"] if base.carrier(bill) + option.carrier(bill) > 0.0 else []
    who += ["the hall"] if base.hall.get(bill, 0.0) or option.hall.get(bill, 0.0) else []
    return f"{bill} of {joined(who)}" if who else bill
