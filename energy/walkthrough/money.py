"""What a dryer's energy costs a year, and what a little less of it would save on the case's tariffs."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from energy.dryers.base import Array, Operation
from energy.errors import CaseError, ModelError, OutOfRangeError
from energy.study import surroundings
from energy.study.at_work import operate
from energy.study.bills import Bills
from energy.study.duty import duties_of
from energy.study.machines import Machine, machines_of
from energy.study.priced import priced_year
from energy.study.year import PRODUCTION, STANDBY, START, Year, of_option, over_states, run_year
from energy.walkthrough.found import Found, metered_power, power_of, power_read

LESS = 0.1
"""Share of a dryer's energy by which the year is made smaller to see what a saving is worth."""

SAME_AIR = 1e-6
"""Share of an airflow by which another may be less and is the same; a calculation's own inaccuracy. [-]"""


@dataclass(frozen=True, slots=True, kw_only=True)
class Billing:
    """The dryer's year beside those of the others, billed as the comparison bills them: floors, ratchets and the plant's load with it."""

    found: Found
    others: Sequence[tuple[Machine, Year]]
    """Every dryer of the baseline and its year as in the case; that of the dryer itself is not used."""
    own: Year
    """Of the dryer, which the plant's load holds."""
    bills: Bills

    def cost(self, year: Year) -> float:
        """What all dryers cost a year with another year of this one. [money]

        Raises
        ------
        CaseError
            A tariff that cannot bill it, as where the plant takes less than its present dryers.
        """
        return float(
            priced_year(self.found.case, self.found.option, self.around(year), self.bills.present, self.bills).total
        )

    def around(self, year: Year) -> Year:
        """All dryers and their cooling plant with a year of this one."""
        return _around(self.found, self.others, year)

    def saved(self, share: float) -> float:
        """By how much the bill falls with a share less of the dryer's energy and peaks, all of it at 1. [money]"""
        return self.cost(self.own) - self.cost(_scaled(self.own, 1.0 - share))


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
    """By how much the bill is higher than without the dryer. [money]"""
    price: float
    """What a little less energy saves, demand with it. [money/J]"""
    hot: float
    """Time in production and hot standby. [s]"""
    unbilled: str
    """Why the case cannot bill the dryer with the power that was read, as where its plant takes less than that; empty where
    it can. The year is then the model's, as read or else as in the case, and its bill is scaled."""
    billing: Billing
    ratio: float
    """Energy and cost over those of the year that is billed. [-]"""

    def worth(self, power: float) -> tuple[float, float]:
        """Energy and money a year of a power saved while the dryer is hot, no more than all that it takes. [J], [money]"""
        energy = min(power * self.hot, self.energy)
        return energy, self.ratio * self.billing.saved(energy / self.energy) if energy else 0.0

    def mended(self, before: Machine, after: Machine, share: float = 1.0) -> tuple[float, float]:
        """Energy and money a year that a machine saves over another in the dryer's place, standby and starts with it. [J], [money]

        Of all that either takes it is a share, where less was found than modelled. Electricity of the cooling plant is in both, as in the comparison.

        Raises
        ------
        ModelError, OutOfRangeError
            A state of the year that the model has no answer for, or with too little air after it.
        CaseError
            A tariff that cannot bill it.
        """
        calendar = self.billing.found.case.calendar
        (year, top), (mended, top_mended) = (run_year(machine, calendar) for machine in (before, after))
        if short_of_air(top, top_mended):
            raise ModelError("too little air at the highest throughput of the case")
        return self._between(_scaled(year, share), _scaled(mended, share))

    def apart(self, before: Operation, after: Operation, share: float = 1.0) -> tuple[float, float]:
        """Energy and money a year of what an operation takes less than another while the dryer is hot; a peak counts as it falls. [J], [money]"""

        def fall(name: str, state: str, use: str, carrier: str) -> float:
            first, then = (getattr(operation, name).get((use, carrier), 0.0) for operation in (before, after))
            return share * float(np.ravel(first)[0] - np.ravel(then)[0])

        return self._lower(fall)

    def steady(self, power: float) -> tuple[float, float]:
        """Energy and money a year of electricity that flows as long as the dryer is hot, in its peak, too, and goes to no cooler. [J], [money]"""
        own, totals = self.billing.own.energy_in, dict[str, Array]()
        for (state, _, carrier), energy in own.items():
            if carrier == "electricity":
                totals[state] = totals.get(state, 0.0) + energy
        if power * self.hot >= self.ratio * sum(float(np.sum(total)) for total in totals.values()):
            return self.worth(power)

        def fall(name: str, state: str, use: str, carrier: str) -> Array | float:
            of = PRODUCTION if state == START else state  # all but the heater runs at a start as in production
            energy, total = own.get((of, use, carrier)), totals.get(of)
            if carrier != "electricity" or energy is None or total is None:
                return 0.0
            return power / self.ratio * energy / np.where(total > 0.0, total, 1.0)

        return self._lower(fall)

    def _lower(self, fall: Callable[[str, str, str, str], Array | float]) -> tuple[float, float]:
        """Energy and money of powers in all hot hours and of peaks that fall, by what falls, state, end use and carrier. [J], [money]"""
        own, calendar = self.billing.own, self.billing.found.case.calendar
        running = float(self.billing.found.case.model.hoppers[self.billing.found.place].running)
        hours = {PRODUCTION: calendar.production * running, STANDBY: calendar.standby * running}
        energy = {k: np.maximum(v - fall("energy", *k) * hours.get(k[0], 0.0), 0.0) for k, v in own.energy_in.items()}
        peak = {k: np.maximum(v - fall("peak", *k), 0.0) for k, v in own.peak_in.items()}
        less = replace(
            own, energy_in=energy, peak_in=peak, energy=over_states(energy, np.add), peak=over_states(peak, np.maximum)
        )
        bought, money = self._between(own, less)
        return self.ratio * bought, self.ratio * money

    def _between(self, before: Year, after: Year) -> tuple[float, float]:
        """Energy and money that one year takes more than another. [J], [money]"""
        energies = [_bought(self.billing.around(year)) for year in (before, after)]
        costs = [self.billing.cost(year) for year in (before, after)]
        return energies[0] - energies[1], costs[0] - costs[1]


def short_of_air(before: Operation, after: Operation) -> bool:
    """Does a change take air away that the resin needs, or more of it where there is too little already?

    As much air that is drier carries a little less heat: that is no less air, and no reason to leave a leak open.
    """
    less = after.air_flow < before.air_flow * (1.0 - SAME_AIR)
    return bool(np.any(less & (after.hopper.capacity_ratio < np.minimum(before.hopper.capacity_ratio, 1.0))))


def year_of(found: Found, power: float) -> YearOfDryer:
    """The modelled year of the dryer as it was read, brought to the power found over the power of that model at the duty of the day.

    What was read of its airflow and regeneration counts in standby and starts, too, whether or not the case has taken it over.
    Where power was read, it is brought to the meter as the comparison is (`energy.study.at_work.operate`): cooling water is on
    no meter of the dryer and stays as modelled. Else all of it is scaled.

    Parameters
    ----------
    found : Found
    power : float
        Electricity and fuel found. [W]
    """
    case, option = found.case, found.option
    years = [(one, run_year(one, case.calendar)[0]) for one in machines_of(case, option, duties_of(case))]
    machine, operation, own = _as_read(found) or (
        found.machine,
        found.expected,
        run_year(found.machine, case.calendar)[0],
    )
    ratio, on_meter = power / power_of(operation), metered_power(operation)
    metered = power_read(found.readings) and on_meter > 0.0
    if metered:
        of_meter = 1.0 + (power - power_of(operation)) / on_meter
        brought = run_year(replace(machine, metered=max(of_meter, 0.0)), case.calendar)[0]
    else:
        brought = _scaled(own, ratio)
    unbilled = ""
    try:
        billing, cost = _billed(found, years, brought)
        ratio = 1.0
    except CaseError as error:  # told at the reading; where not even the model can be billed it is the case's fault
        unbilled = error.problems[0].message if metered else ""
        try:
            billing, cost = _billed(found, years, own)
        except CaseError:  # as where it was read with more air than all the plant's electricity blows and heats
            ratio = power / power_of(found.expected)
            billing, cost = _billed(found, years, run_year(found.machine, case.calendar)[0])
    energy = ratio * _bought(billing.own)
    running = float(case.model.hoppers[found.place].running)
    hot = float(np.sum(case.calendar.production + case.calendar.standby)) * running
    return YearOfDryer(
        energy=energy,
        power=power,
        as_read=power_of(operation),
        cost=ratio * cost,
        price=ratio * billing.saved(LESS) / (LESS * energy),
        hot=hot,
        unbilled=unbilled,
        billing=billing,
        ratio=ratio,
    )


def _billed(found: Found, years: Sequence[tuple[Machine, Year]], own: Year) -> tuple[Billing, float]:
    """The billing of a year of the dryer, and what that year costs. [money]"""
    bills = Bills(case=found.case, present=_around(found, years, own))
    billing = Billing(found=found, others=years, own=own, bills=bills)
    return billing, billing.saved(1.0)


def _around(found: Found, years: Sequence[tuple[Machine, Year]], own: Year) -> Year:
    each = [own if found.place in machine.places else other for machine, other in years]
    return surroundings.with_cooling_plant(
        found.case, of_option([machine for machine, _ in years], each, found.option.units)
    )


def _bought(year: Year) -> float:
    """Electricity and fuel. [J]"""
    return sum(float(np.sum(v)) for (_, carrier), v in year.energy.items() if carrier != "cooling")


def _as_read(found: Found) -> tuple[Machine, Operation, Year] | None:
    """The machine with what was read of it, at the duty of the day and in a year; None where it cannot run so."""
    if found.inputs_found is found.machine.inputs and found.regenerated == 1.0:
        return None
    machine = replace(found.machine, inputs=found.inputs_found, regenerated=found.regenerated)
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
