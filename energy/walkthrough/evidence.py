"""What a rule looks at when it asks whether the readings speak for a cause, and the cause that it tells."""

from __future__ import annotations

from collections.abc import Collection, Mapping
from dataclasses import dataclass, replace

import numpy as np

from energy.errors import ModelError, OutOfRangeError
from energy.study.machines import operate
from energy.units import show
from energy.walkthrough.estimate import Estimate
from energy.walkthrough.found import Found, metered_power, power_of
from energy.walkthrough.gaps import Gap
from energy.walkthrough.money import YearOfDryer

SURE = 2.0
"""Gaps beyond so many standard uncertainties are no accident."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Cause:
    """One finding. What several are worth together is less than their sum where they touch the same heat."""

    name: str
    text: str
    """What was seen, in a sentence."""
    physics: str
    """Why it costs, and what mends it."""
    power: float
    """Saved while the dryer is hot; 0 where it costs dryness and not energy. [W]"""
    energy: float = 0.0
    """A year, 0 before it is known. [J]"""
    money: float = 0.0
    """A year."""
    settled_by: str = ""
    """What to read to be sure of it, in a sentence, where no reading of the balance tells."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Evidence:
    """What the rules look at."""

    found: Found
    given: Mapping[str, Estimate]
    gaps: Mapping[str, Gap]
    year: YearOfDryer
    """At the electricity and fuel found."""
    doubted: Collection[str] = ()
    """Quantities whose readings are to be checked first: nothing is concluded from them."""

    def read(self, name: str) -> bool:
        """Was it read, and is that reading no slip?"""
        return name in self.given and self.given[name].origin == "read" and name not in self.doubted

    def size(self, name: str) -> float:
        """Gap over its uncertainty; 0 where it was not read. [-]"""
        return self.gaps[name].size if name in self.gaps else 0.0

    def show(self, value: float, kind: str) -> str:
        return show(value, kind, self.found.case.model.case.units)

    def saved(self, temperature: float | None = None, **inputs: object) -> float | None:
        """Power that is saved over the dryer as found with other inputs; None where the model has no answer. [W]

        What the model saves, brought to the power found where that is less than the model's (see `brought`).
        """
        found = self.found
        duty = found.duty_found
        if temperature is not None:
            duty = replace(duty, drying_temperature=np.array([temperature]))
        machine = replace(found.machine, inputs=found.inputs_found.model_copy(update=inputs))
        try:
            operation = operate(machine, (duty,))
        except (ModelError, OutOfRangeError):
            return None
        if np.any(operation.hopper.capacity_ratio < 1.0):  # nobody is told to run it on too little air
            return None
        on_meter = metered_power(found.as_found) - metered_power(operation)
        return power_of(found.as_found) - power_of(operation) - (1.0 - self.brought) * on_meter

    @property
    def brought(self) -> float:
        """Electricity and fuel found over those of the model as found, and never above 1: what is beyond them is not explained. [-]"""
        modelled = metered_power(self.found.as_found)
        if modelled <= 0.0:
            return 1.0
        return min(max(1.0 + (self.year.power - power_of(self.found.as_found)) / modelled, 0.0), 1.0)
