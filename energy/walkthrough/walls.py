"""The wall of a hopper behind a jacket: how hot it is by the model, and whether one that was read is hotter than it need be."""

from __future__ import annotations

import numpy as np

from energy.dryers.hopper_sizing import ShellLoss
from energy.sources import load
from energy.units import show
from energy.walkthrough.estimate import COVERAGE
from energy.walkthrough.found import Found, half_width
from energy.walkthrough.jacket_read import off_of_wall, wall


def good_jacket(found: Found) -> float:
    """Thickness usual for this type of dryer, or that of the case where it is more. [m]"""
    typical = float(load(f"dryers/{found.machine.type}")["insulation_thickness"].si)
    return max(typical, float(found.machine.inputs.insulation_thickness))


def wall_of(found: Found, thickness: float) -> ShellLoss:
    """What hopper and duct would lose behind a jacket, at the process air and in the hall found."""
    return wall(found.machine.inputs, found.duty, found.duty_found, thickness)


def good_wall(found: Found) -> float:
    """Temperature of the outside of a wall with a good jacket. [K]"""
    return float(np.ravel(wall_of(found, good_jacket(found)).outer)[0])


def hotter_than_good(found: Found) -> bool:
    """Is the wall that was read hotter than behind a good jacket, beyond what both may be off?"""
    surface = found.readings.shell_temperature
    if found.batch or surface is None:
        return False
    return bool(surface - good_wall(found) >= COVERAGE * off_of_wall(half_width(found.readings, "shell_temperature")))


def other_than_counted(found: Found) -> float | None:
    """The wall that the case's own jacket has, where one was read that is another, beyond what both may be off, and none that fits
    it is known. [K]"""
    surface = found.readings.shell_temperature
    if found.batch or surface is None or found.jacket is not None:
        return None
    own = float(np.ravel(wall_of(found, float(found.machine.inputs.insulation_thickness)).outer)[0])
    off = off_of_wall(half_width(found.readings, "shell_temperature"))
    return own if abs(surface - own) >= COVERAGE * off else None


def wall_not_counted(found: Found, system: str) -> list[str]:
    """That the wall that was read names no jacket and is another than behind that of the case, in a sentence; else nothing."""
    counted = other_than_counted(found)
    if counted is None:
        return []
    read, shown = (
        show(value, "temperature", system) for value in (float(found.readings.shell_temperature or 0.0), counted)
    )
    bare = float(found.machine.inputs.insulation_thickness) == 0.0
    case = "the bare wall of the case" if bare else "the wall behind the jacket of the case"
    return [
        f"The wall that was read, {read}, is not taken over: it is too near to the hall to tell a thickness, or the airflow is not known. "
        f"The comparison goes on with {case}, which would be {shown}: set its insulation by hand."
    ]
