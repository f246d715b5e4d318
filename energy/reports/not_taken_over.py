"""Readings of a walkthrough that a comparison does not count with."""

from __future__ import annotations

import datetime
from collections.abc import Iterator

import numpy as np

from energy.errors import EnergyError
from energy.reports.kept_out_words import said_of
from energy.reports.walkthrough import shown_reading
from energy.study.case import Case
from energy.study.duty import duties_of
from energy.study.readings import QUANTITIES, Readings
from energy.units import Quantity
from energy.walkthrough.balance import Balance, balance
from energy.walkthrough.baseline import POWERS, delivered_dew_point, overrides, replaced
from energy.walkthrough.kept_out import AIR, TEMPERATURE, kept_out
from energy.walkthrough.moisture_read import pellets_read
from energy.walkthrough.slips import doubts
from energy.walkthrough.walls import other_than_counted

SAME = {"temperature": 0.5, "other": 0.005}
"""Difference up to which a reading and what is counted are the same: of temperatures [K], of all else relative [-]."""
OF_INPUTS = {
    "air_resin_ratio": ("air_velocity", "duct_diameter"),
    "regeneration_temperature": ("regeneration_temperature",),
    "cycle_time": ("regeneration_cycle",),
    "insulation_thickness": ("shell_temperature",),
    "delivered_dew_point": ("dew_point",),
}
"""Readings behind an input of the present dryer."""
_WITH = {AIR: ("duct_diameter",)}
"""Readings that say nothing without another."""
OF_DUTY = ("throughput", "weighed_mass", "weighing_time", "process_temperature", "hall_temperature", "hall_dew_point")


def not_taken_over(case: Case, system: str) -> list[str]:
    """What was read at the case's dryers and is not what the comparison counts with, a sentence or two each."""
    told = []
    for readings in case.model.readings:
        try:
            found = balance(case, readings)
        except EnergyError:  # a duty or a system that a walkthrough has no answer for: nothing was read of it
            continue
        when = f" ({readings.occasion})" if readings.occasion else ""
        apart = [
            f"{label[:1].lower()}{label[1:]} ({shown_reading(read, quantity, system)} read, {shown_reading(counted, quantity, system)} counted)"
            for label, read, counted, quantity in (*_of_duty(case, readings, found), *_of_inputs(case, found))
            if not _same(read, counted, quantity)
        ]
        said = (
            f"Read at {readings.hopper}{when} and not taken over into the comparison: {'; '.join(apart)}."
            if apart
            else ""
        )
        checking = _checking(readings, found)
        if checking:
            said += f" The other readings name no input and only check the balance: {', '.join(checking)}."
            said = said if apart else f"At {readings.hopper}{when}:{said}"
        if reasons := [said_of(one, system) for one in kept_out(found.found) if one.reading != TEMPERATURE]:
            said += f"{'' if said else f'At {readings.hopper}{when}:'} {' '.join(reasons)}"
        if doubted := _doubted(found):
            said += (
                f"{'' if said else f'At {readings.hopper}{when}:'} To be checked before any of it counts: {doubted}."
            )
        if said:
            told.append(said.strip())
    return told


_Line = tuple[str, float | str, float | str, Quantity | None]


def _of_duty(case: Case, readings: Readings, found: Balance) -> Iterator[_Line]:
    """Throughput, drying temperature and hall: of the day, and as the comparison has them."""
    duty = duties_of(case)[found.found.place]
    month = datetime.date.fromisoformat(readings.date).month - 1 if readings.date else None

    def counted(name: str) -> float:
        values = np.ravel(getattr(duty, name))
        return float(values[month] if month is not None and values.size == 12 else np.mean(values))

    if readings.throughput is not None or readings.weighed_mass is not None:
        full = float(case.model.hoppers[found.found.place].throughput)
        yield "throughput", float(found.found.duty.throughput[0]), full, QUANTITIES["throughput"]
    for name, of, label in (
        ("process_temperature", "drying_temperature", "process air into the hopper"),
        ("hall_temperature", "hall_temperature", "hall temperature"),
        ("hall_dew_point", "hall_dew_point", "dew point of the hall"),
    ):
        value = getattr(readings, name)
        if value is not None:
            yield label, float(value), counted(of), QUANTITIES[name]


def _of_inputs(case: Case, found: Balance) -> Iterator[_Line]:
    """Inputs of the present dryer that a reading names, and a wall that names none and is not that behind the jacket of the case."""
    for one in replaced(found, case):
        yield one.label, one.now, one.before, one.quantity
    for kept in kept_out(found.found):
        if kept.reading == TEMPERATURE:
            air, set_to = QUANTITIES[TEMPERATURE], float(found.found.machine.inputs.regeneration_temperature)  # type: ignore[attr-defined]
            yield air.label, kept.value, set_to, air
    pellets = pellets_read(found.found, [doubt.name for doubt in doubts(found.found, found.quantities)])
    if pellets is not None and pellets.band is not None:
        moisture, apart = QUANTITIES["outlet_moisture"], abs(pellets.read.value - pellets.band[0])
        if pellets.diffusivity is not None or apart > pellets.read.expanded:
            yield moisture.label, pellets.read.value, pellets.band[0], moisture
    counted = other_than_counted(found.found)
    if counted is not None:
        wall = QUANTITIES["shell_temperature"]
        yield wall.label, float(found.found.readings.shell_temperature or 0.0), counted, wall


def _checking(readings: Readings, found: Balance) -> list[str]:
    """Labels of readings that name no input of the dryer or of its duty."""
    keys = [*overrides(found), *(["delivered_dew_point"] if delivered_dew_point(found) is not None else [])]
    named = [name for key in keys for name in OF_INPUTS.get(key, ())]
    named += [name for one in kept_out(found.found) for name in (one.reading, *_WITH.get(one.reading, ()))]
    rest = [name for name in readings.taken() if name not in (*named, *OF_DUTY, *POWERS, "outlet_moisture")]
    return [f"{QUANTITIES[name].label[:1].lower()}{QUANTITIES[name].label[1:]}" for name in rest]


def _doubted(found: Balance) -> str:
    """What is doubted of the readings, each in a few words."""
    told = []
    for doubt in doubts(found.found, found.quantities):
        label = QUANTITIES[doubt.reading].label if doubt.reading in QUANTITIES else doubt.name.replace("_", " ")
        told.append(f"{label[:1].lower()}{label[1:]}, {doubt.brief}")
    return "; ".join(told)


def _same(read: float | str, counted: float | str, quantity: Quantity | None) -> bool:
    if quantity is None or isinstance(read, str) or isinstance(counted, str):
        return read == counted
    if quantity.kind == "temperature":
        return abs(read - counted) <= SAME["temperature"]
    return abs(read - counted) <= SAME["other"] * abs(counted)
