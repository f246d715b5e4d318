"""What a file changed of the case, before and now, for the notice that it was taken. No widget in here."""

from __future__ import annotations

from energy.errors import EnergyError
from energy.reports.amounts import before_and_now
from energy.study.compare import Comparison
from energy.study.meter import plant_load
from energy.units import show


def of_tariff(before: Comparison, now: Comparison, commodity: str) -> str:
    """The tariff of a commodity, and what the baseline costs a year with it."""
    tariffs = (made.case.tariffs.get(commodity) for made in (before, now))
    names = (tariff.name if tariff else "none" for tariff in tariffs)
    return f"{before_and_now('Tariff', *names)}; {_cost(before, now)}."


def of_plant_load(before: Comparison, now: Comparison) -> str:
    """Energy a year and highest power of the plant, and what the baseline costs a year beside it."""
    return f"{before_and_now('Plant', _load(before), _load(now))}; {_cost(before, now)}."


def of_air(before: Comparison, now: Comparison, system: str) -> str:
    """Mean temperature and dew point of the hall over the year."""
    duties = (before.duty, now.duty)
    temperatures = (show(float(duty.hall_temperature.mean()), "temperature", system) for duty in duties)
    dew_points = (show(float(duty.hall_dew_point.mean()), "temperature", system) for duty in duties)
    return f"{before_and_now('Hall, mean of the year', *temperatures)}; {before_and_now('dew point', *dew_points)}."


def _cost(before: Comparison, now: Comparison) -> str:
    costs = (f"{made.baseline.total_cost:,.0f} {made.case.currency} a year" for made in (before, now))
    return before_and_now(now.baseline.name, *costs)


def _load(made: Comparison) -> str:
    if made.case.model.plant_load is None:
        return "left out"
    try:
        load, _ = plant_load(made.case, made.case.tariffs["electricity"])
    except EnergyError:  # told where the load is billed
        return "not known on this tariff"
    assert load.energy is not None
    assert load.peak is not None
    energy, peak = float(load.energy.sum()), float(load.peak.max())
    return f"{show(energy, 'energy', 'MWh', digits=4)} a year with at most {show(peak, 'power', 'kW', digits=4)}"
