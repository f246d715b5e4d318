"""All that is to be said of an option beside its verdict on drying."""

from __future__ import annotations

from energy.study import set_back
from energy.study.compare import Comparison, OptionResult
from energy.study.finding import Finding


def plant_notes(comparison: Comparison, option: OptionResult) -> tuple[Finding, ...]:
    """Of the compressor house, the bill, the hall and a set-back in standby."""
    return (*option.notes, *set_back.notes(comparison, option))
