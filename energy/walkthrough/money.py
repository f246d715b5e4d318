"""What a dryer's energy costs a year, and what a little less of it would save on the case's tariffs."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from energy.dryers.base import Array, Operation
from energy.errors import CaseError, ModelError, OutOfRangeError
from energy.study import surroundings
from energy.study.duty import duties_of
from energy.study.machines import Machine, machines_of, operate
from energy.study.priced import priced_year
from energy.study.year import Year, run_year, together
from energy.walkthrough.found import Found, metered_power, power_of, power_read

LESS = 0.1
"""Share of a dryer's energy by which the year is made smaller to see what a saving is worth."""


@dataclass(frozen=True, slots=True, kw_only=True)
class YearOfDryer:
    """One dryer's year."""

    energy: float
    """Bought, at the power that was found. [J]"""
    power: float
    """Electricity and fuel that were found. [W]"""
    as_read: float
    """Electricity and fuel that the model expects of the dryer run as it was read, on the duty of the day. [W]"""
    cost: float
    """[money]"""
    price: float
    """What a little less energy saves, demand with it. [money/J]"""
    hot: float
    """Time in production and hot standby. [s]"""
    unbilled: str
    """Why the case cannot bill the dryer with the power that was read, as where its plant takes less than that; empty where
    it can. The year is then the model's, scaled, at what a little less of the model's saves."""

    def worth(self, power: float) -> tuple[float, float]:
        """Energy and money a year of a power saved while the dryer is hot, no more than all that it takes. [J], [money]"""
        energy = min(power * self.hot, self.energy)
        return energy, energy * self.price


def year_of(found: Found, power: float) -> YearOfDryer:
    """The modelled year of the dryer as it was read, brought to the power found over the power of that model at the duty of the day.

    What was read of its airflow and regeneration counts in standby and starts, too, whether or not the case has taken it over.
    Where power was read, it is brought to the meter as the comparison is (`energy.study.machines.operate`): cooling water is on
    no meter of the dryer and stays as modelled. Else all of it is scaled.

    Parameters
    ----------
    found : Found
    power : float
        Electricity and fuel found. [W]
    """
    case, option = found.case, found.option
    years = [run_year(machine, case.calendar)[0] for machine in machines_of(case, option, duties_of(case))]
    machine, operation, own = _as_read(found) or (
        found.machine,
        found.expected,
        run_year(found.machine, case.calendar)[0],
    )
    ratio, on_meter = power / power_of(operation), metered_power(operation)
    fall, unbilled = None, ""
    if power_read(found.readings) and on_meter > 0.0:
        of_meter = 1.0 + (power - power_of(operation)) / on_meter
        metered = run_year(replace(machine, metered=max(of_meter, 0.0)), case.calendar)[0]
        try:
            fall = _fall(found, years, metered)
            ratio, own = 1.0, metered
        except CaseError as error:  # told at the reading; where not even the model can be billed it is the case's fault
            unbilled = error.problems[0].message
    if fall is None:
        fall = _fall(found, years, own)
    modelled = sum(float(np.sum(v)) for (_, carrier), v in own.energy.items() if carrier != "cooling")
    energy = ratio * modelled
    price = fall / (LESS * modelled)
    running = float(case.model.hoppers[found.place].running)
    hot = float(np.sum(case.calendar.production + case.calendar.standby)) * running
    return YearOfDryer(
        energy=energy,
        power=power,
        as_read=power_of(operation),
        cost=energy * price,
        price=price,
        hot=hot,
        unbilled=unbilled,
    )


def _fall(found: Found, years: Sequence[Year], own: Year) -> float:
    """What a little less energy of the dryer read saves beside the years of the others. [money]"""
    case, option = found.case, found.option

    def around(year: Year) -> Year:
        each = [year if place == found.place else other for place, other in enumerate(years)]
        return surroundings.with_cooling_plant(case, together(each, option.units))

    present, changed = around(own), around(_scaled(own, 1.0 - LESS))
    return float(priced_year(case, option, present, present).total - priced_year(case, option, changed, present).total)


def _as_read(found: Found) -> tuple[Machine, Operation, Year] | None:
    """The machine with what was read of it, at the duty of the day and in a year; None where it cannot run so."""
    if found.inputs_found is found.machine.inputs:
        return None
    machine = replace(found.machine, inputs=found.inputs_found)
    try:
        return machine, operate(machine, (found.duty,)), run_year(machine, found.case.calendar)[0]
    except (ModelError, OutOfRangeError):
        return None


def _scaled(year: Year, share: float) -> Year:
    """The same year with a share of its energy and peaks."""

    def times(table: Mapping[Any, Array]) -> Any:
        return {key: share * value for key, value in table.items()}

    names = ("energy", "peak", "energy_in", "peak_in", "states", "heat_in", "heat_out")
    scaled: dict[str, Any] = {name: times(getattr(year, name)) for name in names}
    return replace(year, free_air=share * year.free_air, **scaled)
