"""All that is to be said of an option beside its verdict on drying."""

from __future__ import annotations

from energy.study import air_at_site, set_back
from energy.study.compare import Comparison, OptionResult
from energy.study.finding import Finding


def plant_notes(comparison: Comparison, option: OptionResult) -> tuple[Finding, ...]:
    """Of the compressor house, the bill, the hall, an airflow and the site's air, and a set-back in standby."""
    of_air = air_at_site.notes(comparison.case, option.option)
    return (*option.notes, *of_air, *set_back.notes(comparison, option))
