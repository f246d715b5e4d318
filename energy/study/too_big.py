"""A dryer too big to be worked out: what is said where one for a tenth of its throughput has an answer."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from energy.dryers import hopper_sizing
from energy.dryers.base import BlowerInputs, Duty
from energy.errors import EnergyError, ModelError
from energy.plant.calendar import OperatingYear
from energy.study.duty import sized_for
from energy.study.machines import Machine
from energy.study.machines_alike import run_years
from energy.study.option_sections import Machine as OwnMachine
from energy.study.option_sections import Option
from energy.units import show

TENTH = 0.1


def told(
    machine: Machine, dryer: Option | OwnMachine, place: str, error: EnergyError, calendar: OperatingYear, system: str
) -> str | None:
    """Why there is no answer, and what to do, where the size of a dryer is the reason; else None.

    Parameters
    ----------
    machine : Machine
        That has no answer.
    dryer : Option or Machine of an option
        That the machine is of.
    place : str
        Path of `dryer` in the case.
    error : EnergyError
        That the model ends with.
    calendar : OperatingYear
    system : {"si", "us"}
    """
    try:
        run_years([replace(machine, duties=tuple(_tenth(duty) for duty in machine.duties))], calendar)
    except EnergyError:
        return None
    flows = [float(np.max(duty.built_for.design_throughput)) for duty in machine.duties]
    most = int(np.argmax(flows))
    duty, hopper = machine.duties[most], machine.hoppers[most]
    stated = dryer.built_for is not None
    key = f"{place}.built_for" if stated else f"hoppers['{hopper.name}'].throughput"
    why = ""
    if isinstance(machine.inputs, BlowerInputs):
        height = show(float(np.max(hopper_sizing.bed_height(machine.inputs, duty))), "length", system, digits=2)
        why = f": its bed would be {height} high, and no blower pushes the air through that without making it too hot"
    # A range of the properties of air tells nobody what is wrong.
    first = "" if not _telling(error) else f" ({error})"
    return (
        f"one dryer for {show(flows[most], 'mass flow', system)} is too big to be worked out{why}{first}. One for a tenth of that has an answer: a slip of "
        f"ten in {key}, or a comma that parts thousands? Else share the resin among several hoppers, each with its dryer"
    )


def _tenth(duty: Duty) -> Duty:
    """The duty of a machine a tenth as big."""
    built = TENTH * duty.built_for.design_throughput
    less = replace(
        duty,
        throughput=TENTH * duty.throughput,
        bed_mass=None if duty.bed_mass is None else TENTH * np.asarray(duty.bed_mass),
    )
    return sized_for(less, built)


def _telling(error: EnergyError) -> bool:
    return isinstance(error, ModelError) or "motor power" in str(error)
