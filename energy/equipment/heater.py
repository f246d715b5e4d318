"""Heaters: what has to be bought for a given heat to the air."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

Array = NDArray[np.float64]


def purchased_power(useful: ArrayLike, efficiency: ArrayLike) -> Array:
    """Power bought for the heat that reaches the air.

    Parameters
    ----------
    useful : array_like, shape (...)
        Heat to the air. [W]
    efficiency : array_like, shape (...)
        Heat to the air over electricity, or over fuel on its higher heating value. [-]

    Returns
    -------
    ndarray, shape (...)
        Electricity or fuel. [W]
    """
    return np.asarray(useful) / np.asarray(efficiency)
