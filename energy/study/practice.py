"""Is a resin dried as its practice has it? A trade's experience, beside diffusion data that doubt it and where there are none."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from energy.dryers.base import Array, Duty, Operation
from energy.dryers.hopper_sizing import COLDER
from energy.resins.properties import Resin, load_resin

METER = 0.5
"""Accuracy of a dew-point meter. [K]"""
STATES = ("initial_moisture", "target_moisture", "pellet_diameter", "pellet_length")
NEAR = 1e-9


def bearable_dew_point(resin: Resin) -> float:
    """The dampest dew point that practice accepts; infinite where hall air will do. [K]"""
    if resin.dew_point is None:
        return math.inf
    accepted = resin.range_of("dew_point")
    return resin.dew_point if accepted is None else accepted[1]


def practice_kept(duty: Duty, operation: Operation, stay: Array, target: float) -> NDArray[np.bool_]:
    """Is a resin dried with the temperature, time and air that are stored as its practice, from the moisture it speaks of?

    From no more moisture and at no less temperature than usual the short end of its time does; within its ranges, the long end.
    Temperature and time that the user gives of a resin are its practice; a diffusivity of the user's own decides alone. Infrared and
    vacuum are not what practice speaks of.

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
    resin, reached = duty.resin, np.asarray(operation.hopper.resin_outlet_temperature)
    shape = np.shape(reached + duty.throughput)[:-1]
    if (resin.diffusivity is not None and "diffusivity" not in resin.data) or not operation.air_dried:
        return np.zeros(shape, dtype=bool)
    hot, initial = np.asarray(duty.drying_temperature), _over_months(np.max, duty.initial_moisture)
    kept = np.max(hot, axis=-1) - np.min(reached, axis=-1) <= COLDER
    kept = kept & (np.max(operation.delivered_dew_point, axis=-1) <= bearable_dew_point(resin) + METER)
    warmth, time, wet, dry = (
        _usual(resin, key) for key in ("drying_temperature", "residence_time", "initial_moisture", "target_moisture")
    )
    coolest = _over_months(np.min, hot)
    kept = kept & (coolest >= warmth.low) & (initial <= wet.high) & (target >= dry.low)
    for key in ("pellet_diameter", "pellet_length"):
        kept = kept & (_over_months(np.max, getattr(resin, key)) <= _usual(resin, key).high)
    short_end = (coolest >= warmth.least) & (initial <= wet.most) & (target >= dry.least)
    stays = _over_months(np.min, stay)
    return np.broadcast_to(kept & (stays >= np.where(short_end, time.low, time.high * (1.0 - 2.0 * NEAR))), shape)


@dataclass(frozen=True, slots=True)
class _Usual:
    """What is usual of a resin, with its range; all ends a hair wider, against rounding."""

    low: Any
    least: Any
    most: Any
    high: Any


def _usual(resin: Resin, key: str) -> _Usual:
    """A value as it is stored, else the user's own; how wet and how big pellets are is no word of practice, so there the stored one counts."""
    entry = resin.data.get(key)
    if entry is None and resin.data and key in STATES:
        entry = load_resin(resin.abbreviation).data[key]
    value = getattr(resin, key) if entry is None else entry.si
    stored = None if entry is None or entry.si_low is None or entry.si_high is None else (entry.si_low, entry.si_high)
    low, high = (resin.range_of(key) if entry is None else stored) or (value, value)
    return _Usual(low * (1.0 - NEAR), value * (1.0 - NEAR), value * (1.0 + NEAR), high * (1.0 + NEAR))


def _over_months(how: Any, values: Any) -> Array:
    values = np.asarray(values)
    return np.asarray(how(values, axis=-1)) if values.ndim else values
