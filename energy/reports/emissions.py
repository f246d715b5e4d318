"""By which grid the carbon dioxide of electricity is counted, and what it is counted of."""

from __future__ import annotations

from energy.reports.amounts import three_digits
from energy.reports.doubts import called
from energy.sources import load
from energy.study.case import Case
from energy.study.compare import Comparison, OptionResult
from energy.units import show


def of_no_grid_stated(case: Case) -> str:
    """Said beside CO2 where the case does not say what its electricity emits; else empty."""
    if case.model.finance.electricity_emission is not None:
        return ""
    mean = show(load("factors")["electricity_emission_factor"].si, "emission factor", "kg/kWh")
    return f"electricity at the mean of the grid of the USA, {mean}: give that of your supply (“Emission factor of electricity” on Compare)"


def of_what(case: Case) -> str:
    """Said beside CO2: that the hall's heating and cooling are in it, and by which grid it is counted; empty where neither is to be said."""
    hall = "hall heating and cooling included" if case.model.building is not None else ""
    return "; ".join(filter(None, (hall, of_no_grid_stated(case))))


MORE = 0.01
"""Share by which an option emits more than another from which that is said, by judgement. [-]"""


def emits_more(comparison: Comparison, option: OptionResult) -> str:
    """Said of an option that emits more CO2 than the present dryers, or than the least of the others that may dry; else empty."""
    base = comparison.baseline
    may_dry = [o for o in comparison.ranked() if o is not base and o.verdict.word in ("pass", "caution")]
    least = min(may_dry, key=lambda o: o.emissions, default=base)
    others = [base] if least is base else [base, least]
    less = [o for o in others if option.emissions > (1.0 + MORE) * o.emissions]
    if not less:
        return ""
    than = " and than ".join(f"{called(o)} ({_tonnes(o.emissions)})" for o in less)
    return f"{called(option, first=True)} emits more CO₂ in a year ({_tonnes(option.emissions)}) than {than}."


def _tonnes(emissions: float) -> str:
    """[kg]"""
    return f"{three_digits(emissions / 1e3)} t"
