"""Air-to-air heat recovery."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

from energy.air._ranges import floats

Array = NDArray[np.float64]


def recovered(
    effectiveness: ArrayLike,
    hot_capacity: ArrayLike,
    hot_temperature: ArrayLike,
    cold_capacity: ArrayLike,
    cold_temperature: ArrayLike,
) -> Array:
    """Heat passed from a hot to a cold stream; none where the hot one is the colder, since a damper then bypasses it.

    Parameters
    ----------
    effectiveness : array_like, shape (...)
        Of the largest possible heat. [-]
    hot_capacity, cold_capacity : array_like, shape (...)
        Heat-capacity flows. [W/K]
    hot_temperature, cold_temperature : array_like, shape (...)
        At the inlets. [K]

    Returns
    -------
    ndarray, shape (...)
        [W]

    Source
    ------
    Definition of effectiveness, Kays and London, Compact Heat Exchangers, 3rd ed. (1984), from memory.
    """
    smaller = np.minimum(floats(hot_capacity), floats(cold_capacity))
    gap = floats(hot_temperature) - floats(cold_temperature)
    return floats(effectiveness) * smaller * np.maximum(gap, 0.0)
