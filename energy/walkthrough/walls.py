"""The wall of a hopper behind a jacket: how hot it is by the model, and whether one that was read is hotter than it need be."""

from __future__ import annotations

import math

import numpy as np

from energy.dryers import hopper_sizing
from energy.dryers.hopper_sizing import ShellLoss
from energy.sources import load
from energy.walkthrough.estimate import COVERAGE
from energy.walkthrough.found import Found, half_width

_MODEL = 5.0  # K, half-width of the temperature of a wall behind a good jacket


def good_jacket(found: Found) -> float:
    """Thickness usual for this type of dryer, or that of the case where it is more. [m]"""
    typical = float(load(f"dryers/{found.machine.type}")["insulation_thickness"].si)
    return max(typical, float(found.machine.inputs.insulation_thickness))


def wall_of(found: Found, thickness: float) -> ShellLoss:
    """What hopper and duct would lose behind a jacket, at the process air and in the hall found."""
    inputs = found.machine.inputs.model_copy(update={"insulation_thickness": thickness})
    built = hopper_sizing.geometry(inputs, found.duty, 1.0)
    return hopper_sizing.shell_loss(inputs, found.duty_found, built, found.duty_found.drying_temperature)


def good_wall(found: Found) -> float:
    """Temperature of the outside of a wall with a good jacket. [K]"""
    return float(np.ravel(wall_of(found, good_jacket(found)).outer)[0])


def hotter_than_good(found: Found) -> bool:
    """Is the wall that was read hotter than behind a good jacket, beyond what both may be off?"""
    surface = found.readings.shell_temperature
    if found.batch or surface is None:
        return False
    off = math.hypot(half_width(found.readings, "shell_temperature"), _MODEL) / math.sqrt(3.0)
    return bool(surface - good_wall(found) >= COVERAGE * off)
