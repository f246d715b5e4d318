"""What a rule looks at when it asks whether the readings speak for a cause, and the cause that it tells."""

from __future__ import annotations

from collections.abc import Collection, Mapping
from dataclasses import dataclass, replace

import numpy as np

from energy.dryers.base import Inputs, Operation
from energy.errors import CaseError, ModelError, OutOfRangeError
from energy.study.at_work import operate
from energy.study.machines import Machine, kept_by
from energy.units import show
from energy.walkthrough.balance import Term
from energy.walkthrough.estimate import Estimate
from energy.walkthrough.found import Found, metered_power, power_of, power_read, regenerated
from energy.walkthrough.gaps import Gap
from energy.walkthrough.money import YearOfDryer, short_of_air

_AIR = ("air_resin_ratio", "airflow_control")
"""Inputs of the dryer as found that rest on the airflow read."""
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
class Saved:
    """What mending one thing saves."""

    power: float
    """On the day. [W]"""
    energy: float
    """A year. [J]"""
    money: float
    """A year."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Evidence:
    """What the rules look at."""

    found: Found
    given: Mapping[str, Estimate]
    gaps: Mapping[str, Gap]
    year: YearOfDryer
    """At the electricity and fuel found."""
    unexplained: Term | None = None
    """Power on the meter that no part takes, where its balance does not hold: what the table of the parts has. [W]"""
    doubted: Collection[str] = ()
    """Quantities whose readings are to be checked first: nothing is concluded from them."""

    def read(self, name: str) -> bool:
        """Was it read, and is that reading no slip?"""
        return name in self.given and self.given[name].origin == "read" and name not in self.doubted

    def size(self, name: str) -> float:
        """Gap over its uncertainty; 0 where it was not read, or is doubted. [-]"""
        return self.gaps[name].size if name in self.gaps and name not in self.doubted else 0.0

    def show(self, value: float, kind: str) -> str:
        return show(value, kind, self.found.case.model.case.units)

    def mended(
        self, *, read: Mapping[str, object] | None = None, asked: float | None = None, **inputs: object
    ) -> Saved | None:
        """What is saved over the dryer as found with other inputs; None where nothing is, or the model has no answer.

        Its beds and its air stay as they are, as in a retrofit: mending a hose shrinks neither. The power is that of the day.
        The year is that of the comparison with either machine in the dryer's place, standby and starts with it, so that a peak
        counts where it falls and only there. Where the throughput read is none of the case, or the dryer as mended would have
        too little air for one of the case, it is the day's saving in all hot hours. Electricity and fuel are brought to what
        was found where that is less than the model's (see `_brought`).

        Parameters
        ----------
        read : mapping of str to object, optional
            Inputs as they were read, where the dryer as found has them otherwise.
        asked : float, optional
            Drying temperature that it comes down to. [K]
        inputs
            Those that it is mended to.
        """
        found, duty = self.found, self.found.duty_found
        there = replace(found.machine, inputs=self._own_inputs.model_copy(update=dict(read or {})))
        [mended] = kept_by(there, (duty,))
        mended = mended if asked is None else replace(mended, drying_temperature=np.array([asked]))
        try:
            there = replace(there, regenerated=self._regenerated(there))
            of_meter = power_read(found.readings)  # as in `money.year_of`
            brought = self._brought(operate(there, (duty,)) if of_meter else found.as_found)
            metered, share = (brought, 1.0) if of_meter else (1.0, brought)
            before = replace(there, metered=metered)
            changed = there.inputs.model_copy(update=inputs)
            after = replace(before, inputs=changed, duties=kept_by(there, there.duties))
            day = operate(before, (duty,)), operate(after, (mended,))
        except (ModelError, OutOfRangeError):
            return None
        power = share * (power_of(day[0]) - power_of(day[1]))
        if power <= 0.0 or short_of_air(*day):  # nobody is told to run it on too little air
            return None
        energy, money = self._of_year(before, after, asked, share) or self.year.apart(*day, share)
        return Saved(power=power, energy=energy, money=money) if min(energy, money) > 0.0 else None

    def _regenerated(self, there: Machine) -> float:
        """Heat of regeneration found over that of the model as it stands there, so that no finding saves more of it than there is. [-]"""
        power = self.found.readings.regeneration_power
        if power is None:
            return self.found.regenerated
        return regenerated(power, operate(there, (self.found.duty_found,)))

    def _of_year(
        self, before: Machine, after: Machine, asked: float | None, share: float
    ) -> tuple[float, float] | None:
        """Energy and money between two machines in a year; None at a throughput that is none of the case, or without an answer. [J], [money]"""
        if abs(self.size("throughput")) > SURE:
            return None
        if asked is not None:
            before, after = _at(before, float(self.found.duty_found.drying_temperature[0])), _at(after, asked)
        try:
            return self.year.mended(before, after, share)
        except (ModelError, OutOfRangeError, CaseError):
            return None

    @property
    def _own_inputs(self) -> Inputs:
        """Those of the dryer as read, with the air of the case where that which was read is doubted."""
        as_read, case = self.found.inputs_found, self.found.machine.inputs
        if "air_flow" not in self.doubted:
            return as_read
        return as_read.model_copy(update={name: getattr(case, name) for name in _AIR if hasattr(case, name)})

    def _brought(self, there: Operation) -> float:
        """Electricity and fuel found over those of the model as it stands there, and never above 1: what is beyond them is not explained. [-]"""
        modelled = metered_power(there)
        if modelled <= 0.0:
            return 1.0
        return min(max(1.0 + (self.year.power - power_of(there)) / modelled, 0.0), 1.0)


def _at(machine: Machine, temperature: float) -> Machine:
    """The machine, as it is built, with another drying temperature in all of its year. [K]"""
    duties = [replace(d, drying_temperature=temperature + 0.0 * d.drying_temperature) for d in machine.duties]
    return replace(machine, duties=tuple(duties))
