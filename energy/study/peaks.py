"""The highest power of an operating state in which a machine has several levels of throughput."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from functools import reduce

import numpy as np
from numpy.typing import NDArray

from energy.dryers import circuit_inputs
from energy.dryers.base import Array, Inputs

ELECTRIC = ("electricity", "compressed air")
"""Carriers whose highest powers one meter may see together."""


def highest(
    powers: Mapping[tuple[str, str], Array], levels: Sequence[tuple[slice, NDArray[np.bool_]]], inputs: Inputs
) -> dict[tuple[str, str], Array]:
    """What each end use takes at the highest power of some levels together in each month; they stand on the second last axis.

    The levels follow each other, so that what goes by the pellets and the air of now is that of one of them: of the one that takes
    most. Beds are regenerated later: the bed that was loaded at one level is heated, half an hour or two, while the next has begun.
    So each end use of a dryer with beds is taken at its highest, which is its regeneration beside the heat of another level; what else
    differs between levels is little. A wheel is regenerated as it is loaded.

    Parameters
    ----------
    powers : mapping
        (end use, carrier) -> highest 15-minute mean. [W]
    levels : sequence of (slice, ndarray of bool)
        Places of levels on the axis of states, and in which months each occurs, shape (..., levels, 12).
    inputs : Inputs
        Of the machine.
    """
    occurs = np.concatenate([some for _, some in levels], axis=-2)
    always = bool(occurs.all())
    if occurs.shape[-2] == 1:
        place = levels[0][0]
        return {
            key: _level(power[..., place, :] if _by_level(power) else power, occurs, always)
            for key, power in powers.items()
        }
    places = np.concatenate([np.arange(some.start, some.stop) for some, _ in levels])
    each = {
        key: np.where(occurs, power[..., places, :] if _by_level(power) else power, 0.0)
        for key, power in powers.items()
    }
    beds = np.asarray(inputs.beds if isinstance(inputs, circuit_inputs.Inputs) else 1.0) > 1.0
    beds = beds if beds.ndim < 2 else beds[..., 0, :]
    found = {}
    for carriers in (
        ELECTRIC,
        *((carrier,) for carrier in dict.fromkeys(key[1] for key in each) if carrier not in ELECTRIC),
    ):
        keys = [key for key in each if key[1] in carriers]
        total = reduce(np.add, [each[key] for key in keys], np.zeros(occurs.shape))
        most = total.argmax(axis=-2)[..., None, :]
        for key in keys:
            power = np.broadcast_to(each[key], total.shape)
            found[key] = np.where(beds, power.max(axis=-2), np.take_along_axis(power, most, axis=-2)[..., 0, :])
    return found


def _by_level(power: Array) -> bool:
    return power.ndim > 1 and power.shape[-2] > 1


def _level(power: Array, occurs: NDArray[np.bool_], always: bool) -> Array:
    """That of the only level; 0 in months without it."""
    here = power if power.ndim < 2 else power[..., 0, :]
    return np.asarray(here if always else np.where(occurs[..., 0, :], here, 0.0))
