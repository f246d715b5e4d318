"""By which grid the carbon dioxide of electricity is counted, and what it is counted of."""

from __future__ import annotations

from energy.sources import load
from energy.study.case import Case
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
