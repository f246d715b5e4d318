"""A reading that is doubted, and the limits that several rules hold readings against."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace

import numpy as np

from energy.dryers.base import Operation
from energy.study.duty import minimum_energy
from energy.study.readings import Readings
from energy.units import show
from energy.walkthrough.estimate import Estimate
from energy.walkthrough.found import Found

ABOVE_ALL = 2.0
"""Times all heaters and blowers of the model together from which a power is doubted; by judgement. [-]"""


@dataclass(frozen=True, slots=True, kw_only=True)
class Doubt:
    """A reading that is to be checked before its answer is used."""

    name: str
    """Of the quantity, as in `quantities.quantities`."""
    reading: str
    """That it rests on: where it is told."""
    brief: str
    """What is wrong, in a few words."""
    text: str
    """The same in a sentence or two, with the slip that would explain it."""
    cannot_be: bool = False
    """Can no dryer like this one have it, so that it is left out of everything until it is checked?"""
    as_read: Estimate | None = None
    """What it said, where several readings made it."""

    @property
    def readings(self) -> tuple[str, ...]:
        """Readings that the quantity was made of, as they are left out with it."""
        return (self.reading, *MADE_OF.get(self.name, ()))


MADE_OF = {
    "throughput": ("throughput", "weighed_mass", "weighing_time"),
    "power": ("power", "current", "voltage", "power_factor"),
    "air_flow": ("air_flow", "air_velocity", "duct_diameter"),
}
"""Readings that make a quantity; any other is a reading itself."""


def without(readings: Readings, aside: Iterable[Doubt]) -> Readings:
    """The readings without those of the quantities that are set aside."""
    return readings.model_copy(update=dict.fromkeys(name for doubt in aside for name in doubt.readings))


def least_energy(found: Found) -> float:
    """Heat that resin and its water take at the process temperature found, whatever dries them. [J/kg]"""
    hot = found.readings.process_temperature
    duty = found.duty if hot is None else replace(found.duty, drying_temperature=np.array([float(hot)]))
    return float(minimum_energy(duty)[0])


def most_power(operation: Operation) -> float:
    """Electricity and fuel of all heaters and blowers of the dryer at once, or what it takes on its duty where that is more. [W]"""
    built = sum(float(np.ravel(operation.sizing.get(part, 0.0))[0]) for part in _PARTS)
    runs = sum(
        float(np.ravel(v)[0]) for (_, carrier), v in operation.energy.items() if carrier in ("electricity", "gas")
    )
    return max(built, runs)


_PARTS = ("process_heater", "regeneration_heater", "blower")


def by_gas(found: Found) -> bool:
    """Is any of the dryer's heat from gas, which no meter of electricity shows?"""
    return any(carrier == "gas" for _, carrier in found.as_found.energy)


def times(factor: float) -> str:
    return f"{factor:.2g} times" if factor < 9.95 else f"{factor:,.0f} times"


def system_of(found: Found) -> str:
    return found.case.model.case.units


_OF_TEN = {0.1: ("A tenth of it", "a slip of ten"), 10.0: ("Ten times it", "a slip of ten")}
OF_A_THOUSAND = {
    0.001: ("A thousandth of it", "watts taken for kilowatts"),
    1000.0: ("A thousand times it", "kilowatts taken for watts"),
}


def slip_of_ten(
    value: float, low: float, high: float, kind: str, unit: str, more: Mapping[float, tuple[str, str]] | None = None
) -> str:
    """`` Ten times it, 4 h, would fit: a slip of ten?`` where that lies between two, or another of `more`; else empty. To unit or system."""
    for factor, (word, slip) in {**_OF_TEN, **(more or {})}.items():
        if low <= factor * value <= high:
            return f" {word}, {show(factor * value, kind, unit)}, would fit: {slip}?"
    return ""
