"""Readings that this dryer cannot have: beyond limits that the case and the model have anyhow, most often a slip of ten or of sign."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace

import numpy as np

from energy.dryers.base import Operation
from energy.units import parse, show
from energy.units.degrees import unit_typed
from energy.walkthrough.colder_than_coolant import colder_than_coolant
from energy.walkthrough.cycle_read import slip_of_cycle
from energy.walkthrough.doubt import (
    ABOVE_ALL,
    OF_A_THOUSAND,
    Doubt,
    by_gas,
    least_energy,
    most_power,
    slip_of_ten,
    system_of,
    times,
)
from energy.walkthrough.estimate import Estimate
from energy.walkthrough.found import Found, colder_than_hall, usual
from energy.walkthrough.heater_that_cools import heater_that_cools
from energy.walkthrough.leak import does_not_fit
from energy.walkthrough.moisture_read import slip_of_moisture
from energy.walkthrough.other_unit import would_be
from energy.walkthrough.slips_of_air import too_little_air, too_much_air
from energy.walkthrough.slips_of_dew_point import slip_of_dew_point

OFF_THE_CASE = 3.0
"""Times what the case counts, or less than it, from which a throughput is doubted; by judgement. [-]"""
OVERLOADED = 2.0
"""Times what the dryer is built for from which a throughput is doubted; by judgement. [-]"""


@dataclass(frozen=True, slots=True, kw_only=True)
class Throughputs:
    """What is known of a hopper's throughput without reading it. [kg/s]"""

    low: float
    high: float
    """Ends of what the case counts; equal where it states neither levels nor a range."""
    built_for: float
    """The dryer."""

    def counted(self, unit: str) -> str:
        """``80 to 100 kg/h``, to unit or system."""
        high = show(self.high, "mass flow", unit)
        low = show(self.low, "mass flow", unit)
        return high if low == high else f"{low.rpartition(' ')[0]} to {high}"


def throughputs(found: Found) -> Throughputs:
    """Levels and stated range of the hopper that was read, and what its dryer is built for."""
    hopper = found.case.model.hoppers[found.place]
    known = [float(hopper.throughput), *(float(level.throughput) for level in hopper.levels)]
    stated = found.case.document["hoppers"][found.place].get("throughput")
    if isinstance(stated, Mapping):
        known += [parse(stated[end], "mass flow") for end in ("low", "high") if stated.get(end) is not None]
    built_for = float(np.ravel(found.duty.built_for.design_throughput)[0])
    return Throughputs(low=min(known), high=max(known), built_for=built_for)


def doubts(found: Found, given: Mapping[str, Estimate], *, unbilled: str = "") -> tuple[Doubt, ...]:
    """Readings that are to be checked before the answer is used, alone or beside another; none in an ordinary walkthrough."""
    leak = does_not_fit(found, given)
    return (*_each(found, given, unbilled=unbilled), *([] if leak is None else [leak]))


def _each(found: Found, given: Mapping[str, Estimate], *, unbilled: str = "") -> tuple[Doubt, ...]:
    """Readings that such a dryer cannot have.

    Parameters
    ----------
    found : Found
    given : mapping of str to Estimate
        The quantities as read or taken.
    unbilled : str
        Why the case cannot bill the dryer with the power that was read.
    """
    flow = _throughput(found, given)
    air = too_little_air(found, given) if flow is None else None
    # With too little air the most that the dryer can take would be too little, too.
    power = _power(found, given, flow is not None, unbilled, found.as_found if air is None else found.expected)
    if air is None and power is None:
        air = too_much_air(found, given)
    cold = [_colder_than_hall(found, name) for name in ("return_temperature", "shell_temperature")]
    heater = heater_that_cools(found, given)
    rest = (
        *(flow, power, air, slip_of_cycle(found, given), *cold, slip_of_dew_point(found), slip_of_moisture(found)),
        *(*heater, colder_than_coolant(found)),
    )
    return (*found.aside.values(), *(doubt for doubt in rest if doubt is not None and doubt.name not in found.aside))


def cannot_be(found: Found, given: Mapping[str, Estimate]) -> dict[str, Doubt]:
    """Of the doubts those of readings that no dryer like this one can have, by the name of the quantity."""
    doubted = doubts(replace(found, aside={}), given)
    return {doubt.name: doubt for doubt in doubted if doubt.cannot_be}


def _throughput(found: Found, given: Mapping[str, Estimate]) -> Doubt | None:
    flow = given["throughput"]
    if flow.origin != "read":
        return None
    known, unit = throughputs(found), system_of(found)
    least, most = flow.value - flow.expanded, flow.value + flow.expanded
    much = least > OFF_THE_CASE * known.high or least > OVERLOADED * known.built_for
    if not much and most >= known.low / OFF_THE_CASE:
        return None
    counted, built = known.counted(unit), show(known.built_for, "mass flow", unit)
    weighed = found.readings.weighed_mass is not None
    if much:
        apart = f"{times(flow.value / known.high)} what the case counts ({counted})"
        over = flow.value / known.built_for
        apart += f" and {times(over)} what this dryer is built for ({built})" if over > 1.0 else ""
        brief = f"{times(flow.value / known.high)} the case"
    else:
        apart = f"{times(known.low / flow.value)} less than the case counts ({counted})"
        brief = f"{times(known.low / flow.value)} less than the case"
    margin = usual("case_throughput")
    slip = slip_of_ten(flow.value, (1.0 - margin) * known.low, (1.0 + margin) * known.high, "mass flow", unit)
    what = "weighing" if weighed else "throughput"
    right = "" if much or not slip else " If it is right, write it into the case."
    return Doubt(
        name="throughput",
        reading="weighed_mass" if weighed else "throughput",
        brief=f"{brief}: check the {what}",
        text=f"Check the {what}: {show(flow.value, 'mass flow', unit)} is {apart}.{slip}{right}",
        # What nothing there could warm, and what a slip of ten explains; any other may be a slow day.
        cannot_be=bool(slip) or least_energy(found) * least > ABOVE_ALL * most_power(found.expected),
        as_read=flow,
    )


def _power(
    found: Found, given: Mapping[str, Estimate], flow_doubted: bool, unbilled: str, operation: Operation
) -> Doubt | None:
    power = given.get("power")
    if power is None or (flow_doubted and not unbilled):  # what a power may be hangs on the throughput
        return None
    unit, most, flow = system_of(found), most_power(operation), given["throughput"]
    least = 0.0 if by_gas(found) else least_energy(found) * (flow.value - flow.expanded)
    shown, built = show(power.value, "power", unit), show(most, "power", unit)
    typed = found.readings.power is not None
    too_much, too_little = power.value - power.expanded > ABOVE_ALL * most, power.value + power.expanded < least
    if too_much:
        apart = f"{times(power.value / most)} what heaters and blowers of this dryer take together at most ({built})"
        brief = f"{times(power.value / most)} the most it can take"
    elif flow_doubted:
        return None
    elif too_little:
        apart = f"less than warming and drying the resin takes alone ({show(least, 'power', unit)})"
        brief = "less than the resin takes"
    elif unbilled:
        apart = f"more than the case can bill ({unbilled}); heaters and blowers take {built} together at most"
        brief = "more than the case can bill"
    else:
        return None
    return Doubt(
        name="power",
        reading="power" if typed else "current",
        brief=f"{brief}: check it",
        text=f"Check the electrical power: {shown} is {apart}."
        f"{slip_of_ten(power.value, least, ABOVE_ALL * most, 'power', unit, OF_A_THOUSAND if typed else {})}",
        cannot_be=too_much or too_little,
        as_read=power,
    )


def _colder_than_hall(found: Found, name: str) -> Doubt | None:
    """A temperature below the hall's beside hot process air."""
    if found.batch or not colder_than_hall(found.readings, found.duty, name):
        return None
    hall, unit = float(found.duty.hall_temperature[0]), unit_typed(getattr(found.readings, name), system_of(found))
    words = would_be(found, name, hall, float(found.duty_found.drying_temperature[0]))
    what = {"return_temperature": "return air out of the hopper", "shell_temperature": "outside of the hopper's wall"}
    return Doubt(
        name=name,
        reading=name,
        brief="colder than the hall: check it",
        text=f"Check the {what[name]}: {show(getattr(found.readings, name), 'temperature', unit)} is colder than the hall "
        f"({show(hall, 'temperature', unit)}), which cannot be beside hot process air{words}",
        cannot_be=True,
    )
