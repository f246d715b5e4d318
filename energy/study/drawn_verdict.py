"""Does it dry? The verdict of many draws at once, without its sentences."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Any

import numpy as np
from numpy.typing import NDArray

from energy.dryers.base import Array, Duty, Inputs, Operation
from energy.dryers.way_through_hopper import tanks_of
from energy.study.drying_checks import MUCH_COLDER
from energy.study.practice import METER, bearable_dew_point, practice_kept
from energy.study.predicted_moisture import floor_moisture, remaining_moisture, residence_time, surface_time


@dataclass(frozen=True, slots=True)
class Dried:
    """Of each draw: does it dry, shape (...)?"""

    either: NDArray[np.bool_]
    """By the diffusion data, or as practice has it."""
    by_data: NDArray[np.bool_]
    """By the data alone; no where there are none."""


def dries(duty: Duty, operation: Operation, inputs: Inputs, target: float, asked: Dried | None = None) -> Dried:
    """Does it dry with the values as they are, the diffusivity's too, or as practice has it? What ``verdict.judge`` would fail, or call unlikely, is no.

    Parameters
    ----------
    duty : Duty
        At the highest level of production; arrays of shape (..., 12).
    operation : Operation
        Of that hopper.
    inputs : Inputs
    target : float
        Moisture asked for. [kg/kg dry]
    asked : Dried, optional
        Where it matters; elsewhere the answer is no.
    """
    resin, state = duty.resin, operation.hopper
    hot, reached = np.asarray(duty.drying_temperature), np.asarray(state.resin_outlet_temperature)
    shape = np.shape(reached + duty.throughput)[:-1]
    good = np.broadcast_to(hot.max(-1) - reached.min(-1) <= MUCH_COLDER, shape)
    good = good if asked is None else good & asked.either
    good = good & (np.min(state.capacity_ratio, axis=-1) >= 1.0)
    if resin.dew_point is not None and operation.air_dried:
        good = good & (np.max(operation.delivered_dew_point, axis=-1) <= bearable_dew_point(resin) + METER)
    if "desiccant_load" in operation.details:
        good = good & (np.max(operation.details["desiccant_load"], axis=-1) <= 1.0)
    floor, initial = floor_moisture(duty, operation), np.max(duty.initial_moisture, axis=-1)
    if floor is not None and not resin.of_another("sorption_slope"):
        good = good & ((np.max(floor, axis=-1) < target) | (initial <= target))
    by_data = good if asked is None else good & asked.by_data
    if not resin.hygroscopic:
        enough = np.max(surface_time(duty, operation, initial[..., None]), axis=-1)
        enough = (enough <= np.min(residence_time(duty, operation), axis=-1)) | (initial <= target)
        return Dried(np.asarray(good & enough), np.asarray(by_data & enough))
    if not good.any():
        return Dried(np.asarray(good), np.asarray(by_data))
    dry_already = initial <= target
    kept = practice_kept(duty, operation, residence_time(duty, operation), target) | dry_already
    if resin.diffusivity is None:
        return Dried(np.asarray(good & kept), np.asarray(by_data & dry_already))
    enough = _left_is_enough(duty, operation, inputs, target, floor, (good & ~kept) | (by_data & ~dry_already))
    return Dried(np.asarray(good & (kept | enough)), np.asarray(by_data & (dry_already | enough)))


def _left_is_enough(
    duty: Duty, operation: Operation, inputs: Inputs, target: float, floor: Array | None, asked: NDArray[np.bool_]
) -> NDArray[np.bool_]:
    """Does diffusion reach the target, where that is asked? No elsewhere; the series is worked out only there."""
    answer = np.zeros(np.shape(asked), dtype=bool)
    if not np.any(asked):
        return answer
    open_ = np.flatnonzero(asked) if asked.ndim == 1 else None
    if open_ is not None and open_.size < asked.size:
        duty, operation = (_some(record, open_, 0, asked.size) for record in (duty, operation))
        floor = _of_axis(floor, open_, 0, asked.size)
        answer[open_] = np.asarray(_worst_moisture(duty, operation, floor, tanks_of(inputs.hopper_flow))) <= target
        return answer
    return np.asarray(
        asked & (np.asarray(_worst_moisture(duty, operation, floor, tanks_of(inputs.hopper_flow))) <= target)
    )


def _worst_moisture(duty: Duty, operation: Operation, floor: Array | None, tanks: float) -> Array:
    """Remaining moisture of the worst month, worked out for months that no other beats in every respect."""
    state, months = operation.hopper, np.shape(operation.hopper.resin_outlet_temperature)[-1]
    worse = (
        *(0.0 if floor is None else floor, duty.initial_moisture, -np.asarray(duty.resin_temperature)),
        *(-state.resin_outlet_temperature, -state.heating_rate, -residence_time(duty, operation)),
    )
    bad = np.stack(np.broadcast_arrays(*worse, state.resin_outlet_temperature)[:-1]).reshape(len(worse), -1, months)
    keep: list[int] = []
    for month in range(months):
        here = bad[..., month]
        if not any(np.all(bad[..., other] >= here) for other in keep):
            keep = [other for other in keep if not np.all(here >= bad[..., other])] + [month]
    if len(keep) < months:
        duty, operation = (_some(record, keep, -1, months) for record in (duty, operation))
    assert duty.resin.diffusivity is not None
    return np.asarray(np.max(remaining_moisture(duty, operation, duty.resin.diffusivity, tanks), axis=-1))


def _of_axis(value: Any, keep: Any, axis: int, length: int, least: int = 2) -> Any:
    """An array at some places of its first or last axis, where that is so long; all else as it is."""
    if np.ndim(value) < (least if axis == 0 else 1) or np.shape(value)[axis] != length:
        return value
    return value[keep] if axis == 0 else value[..., keep]


def _some(given: Any, keep: Any, axis: int, length: int) -> Any:
    """Duty or operation with some of its months or draws only, as far as remaining moisture asks."""

    def some(value: Any) -> Any:
        return _of_axis(value, keep, axis, length)

    if isinstance(given, Duty):
        names = ("throughput", "design_throughput", "drying_temperature", "residence_time", "resin_temperature")
        changed = {name: some(getattr(given, name)) for name in (*names, "initial_moisture")}
        if axis == 0:
            of = {key: getattr(given.resin, key) for key in type(given.resin).__slots__}
            numbers = {key: some(value) for key, value in of.items() if isinstance(value, np.ndarray)}
            changed["resin"] = replace(given.resin, **numbers)
        return replace(given, **changed)
    state = given.hopper
    return replace(
        given,
        hoppers=(
            replace(
                state, **{name: some(getattr(state, name)) for name in ("resin_outlet_temperature", "heating_rate")}
            ),
        ),
        delivered_dew_point=some(given.delivered_dew_point),
        residence_time=some(given.residence_time),
    )
