"""The jacket that fits the wall that was read: what its thickness is by the model, and how well that is known."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from energy.dryers import base, hopper_sizing
from energy.dryers.base import Duty
from energy.dryers.hopper_sizing import ShellLoss
from energy.walkthrough.estimate import COVERAGE

THICKEST = 0.3  # m
_MODEL = 5.0  # K, half-width of the temperature of a wall behind a jacket
_TIMES, _THIN = 3.0, 0.005  # m
"""A thickness is well known up to so many times what fits, or up to so thin a jacket; by judgement."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Jacket:
    """Thickness that fits a wall, and that of a wall hotter and colder by what both may be off. [m]"""

    value: float
    low: float
    high: float


def wall(inputs: base.Inputs, duty: Duty, hot: Duty, thickness: float) -> ShellLoss:
    """What hopper and duct would lose behind a jacket.

    Parameters
    ----------
    inputs : Inputs
    duty : Duty
        That the dryer is built for.
    hot : Duty
        With process air and hall as found.
    thickness : float
        [m]
    """
    own = inputs.model_copy(update={"insulation_thickness": thickness})
    return hopper_sizing.shell_loss(own, hot, hopper_sizing.geometry(own, duty, 1.0), hot.drying_temperature)


def off_of_wall(reading: float) -> float:
    """Standard uncertainty of a wall that was read beside one of the model; `reading`: half-width of the reading. [K]"""
    return math.hypot(reading, _MODEL) / math.sqrt(3.0)


def thickness_where(too_hot: Callable[[float], float]) -> float:
    """Where a function that falls with the thickness of the jacket is zero; 0 where it is below that for a bare wall. [m]"""
    low, high = 0.0, THICKEST
    if too_hot(low) <= 0.0:
        return low
    for _ in range(30):
        middle = 0.5 * (low + high)
        low, high = (middle, high) if too_hot(middle) > 0.0 else (low, middle)
    return 0.5 * (low + high)


def fitting(inputs: base.Inputs, duty: Duty, hot: Duty, surface: float, reading: float) -> Jacket | None:
    """The jacket that fits a wall; None where the wall is too near to the hall to tell.

    Parameters
    ----------
    inputs, duty, hot
        As of `wall`.
    surface : float
        Temperature of the wall. [K]
    reading : float
        Half-width of it. [K]
    """
    off = COVERAGE * off_of_wall(reading)
    value, low, high = (
        thickness_where(lambda t, at=at: float(np.ravel(wall(inputs, duty, hot, t).outer)[0]) - at)  # type: ignore[misc]
        for at in (surface, surface + off, surface - off)
    )
    return Jacket(value=value, low=low, high=high) if high <= max(_TIMES * value, _THIN) else None


def air_stays(inputs: base.Inputs, velocity_read: bool) -> bool:
    """Is the airflow known, so that another jacket makes of the dryer none with another blower?"""
    if getattr(inputs, "airflow_control", "") != "fixed":
        return False
    return velocity_read or inputs.air_resin_ratio is not None
