"""Is a resin dried as its practice has it? A trade's experience, beside diffusion data that doubt it and where there are none."""

from __future__ import annotations

import math
from typing import Any, NamedTuple

import numpy as np
from numpy.typing import NDArray

from energy.dryers.base import Array, Duty, Operation
from energy.dryers.hopper_sizing import COLDER
from energy.resins.properties import Resin, load_resin

METER = 0.5
"""Accuracy of a dew-point meter. [K]"""
PELLETS = ("pellet_diameter", "pellet_length")
NEAR = 1e-9
LONG = 3.0
"""Times the longest that practice accepts, from which a stay is told to be too long; by judgement: producers warn of days, not of hours. [-]"""


def too_long(resin: Resin, operation: Operation, stay: float) -> float | None:
    """The longest stay that practice accepts where another is so far beyond it that it is told to be too long; else None. [s]"""
    accepted = resin.range_of("residence_time") if operation.air_dried else None
    return accepted[1] if accepted is not None and stay > LONG * accepted[1] * (1.0 + NEAR) else None


def bearable_dew_point(resin: Resin) -> float:
    """The dampest dew point that practice accepts; infinite where hall air will do. [K]"""
    if resin.dew_point is None:
        return math.inf
    accepted = resin.range_of("dew_point")
    return resin.dew_point if accepted is None else accepted[1]


class Condition(NamedTuple):
    """What practice asks of one quantity and what there is of it, both in SI."""

    key: str
    """A property of the resin, or `WARM`."""
    kept: NDArray[np.bool_]
    value: Array
    limit: Array
    """To rounding; the dew point's without the meter's accuracy."""


class LeastTime(NamedTuple):
    """The least time that practice accepts, and what of the duty asks for more than the short end of its range."""

    time: Array
    """[s]"""
    cooler: NDArray[np.bool_]
    """Is it dried cooler than usual?"""
    drier: NDArray[np.bool_]
    """Is it dried further than usual?"""


WARM = "warm"
"""Key of the condition that pellets get as warm as is asked."""


def speaks(resin: Resin, operation: Operation) -> bool:
    """Has practice a word on this dryer? A diffusivity of the user's own decides alone; infrared and vacuum are not what practice speaks of."""
    return operation.air_dried and (resin.diffusivity is None or "diffusivity" in resin.data)


def practice_kept(duty: Duty, operation: Operation, stay: Array, target: float) -> NDArray[np.bool_]:
    """Is a resin dried with the temperature, time and air of its practice, from the moisture it speaks of?

    Parameters
    ----------
    duty : Duty
        At the highest level of production; arrays of shape (..., months).
    operation : Operation
        Of that hopper.
    stay : ndarray, shape (..., months)
        Of a pellet. [s]
    target : float
        Moisture asked for. [kg/kg dry]

    Returns
    -------
    ndarray of bool, shape (...)
    """
    shape = np.shape(np.asarray(operation.hopper.resin_outlet_temperature) + duty.throughput)[:-1]
    if not speaks(duty.resin, operation):
        return np.zeros(shape, dtype=bool)
    kept = np.ones(shape, dtype=bool)
    for condition in conditions(duty, operation, stay, target):
        kept = kept & condition.kept
    return kept


def conditions(duty: Duty, operation: Operation, stay: Array, target: float) -> tuple[Condition, ...]:
    """All that practice asks, with what there is; arguments are those of :func:`practice_kept`.

    Values that the user gives of a resin are its practice, with their ranges; so are those of the stored sheet where none are given.
    """
    resin, hot = duty.resin, np.asarray(duty.drying_temperature)
    coolest, asked = _over_months(np.min, hot), np.max(hot, axis=-1) - COLDER
    warm, dew = (
        np.min(operation.hopper.resin_outlet_temperature, axis=-1),
        np.max(operation.delivered_dew_point, axis=-1),
    )
    initial, stays = _over_months(np.max, duty.initial_moisture), _over_months(np.min, stay)
    bearable, most = bearable_dew_point(resin), _usual(resin, "initial_moisture")[2]
    least_warm, least_left = (_usual(resin, key)[0] for key in ("drying_temperature", "target_moisture"))
    time = least_time(duty, target).time
    return (
        Condition(WARM, warm >= asked, warm, asked),
        Condition("dew_point", dew <= bearable + METER, dew, np.asarray(bearable)),
        Condition("drying_temperature", coolest >= least_warm * (1.0 - NEAR), coolest, np.asarray(least_warm)),
        Condition("initial_moisture", initial <= most * (1.0 + NEAR), initial, np.asarray(most)),
        Condition(
            "target_moisture",
            np.asarray(target >= least_left * (1.0 - NEAR)),
            np.asarray(target),
            np.asarray(least_left),
        ),
        *(_size(resin, key) for key in PELLETS),
        Condition("residence_time", stays >= time * (1.0 - NEAR), stays, time),
    )


def least_time(duty: Duty, target: float) -> LeastTime:
    """The short end of practice's time; dried cooler or further than usual, its long end.

    Parameters
    ----------
    duty : Duty
    target : float
        Moisture asked for. [kg/kg dry]
    """
    short, _, long = _usual(duty.resin, "residence_time")
    usual_warmth, usual_left = (_usual(duty.resin, key)[1] for key in ("drying_temperature", "target_moisture"))
    cooler = _over_months(np.min, duty.drying_temperature) < usual_warmth * (1.0 - NEAR)
    drier = np.asarray(target < usual_left * (1.0 - NEAR))
    return LeastTime(np.where(cooler | drier, long, short), cooler, drier)


def _size(resin: Resin, key: str) -> Condition:
    value, most = _over_months(np.max, getattr(resin, key)), _usual(resin, key)[2]
    return Condition(key, np.asarray(value <= most * (1.0 + NEAR)), value, np.asarray(most))


def _usual(resin: Resin, key: str) -> tuple[Any, Any, Any]:
    """What is usual of a resin, low, value and high: the user's own, else as it is stored; in SI.

    How big pellets are can be said nowhere but of the resin, so their size is no word of practice, and the stored one counts, unless
    the time is the user's own as well: that is for the user's pellets.
    """
    entry = resin.data.get(key)
    if entry is None and key in PELLETS and "residence_time" in resin.data:
        entry = load_resin(resin.abbreviation).data[key]
    value = getattr(resin, key) if entry is None else entry.si
    stored = None if entry is None or entry.si_low is None or entry.si_high is None else (entry.si_low, entry.si_high)
    low, high = (resin.range_of(key) if entry is None else stored) or (value, value)
    return low, value, high


def _over_months(how: Any, values: Any) -> Array:
    values = np.asarray(values)
    return np.asarray(how(values, axis=-1)) if values.ndim else values
