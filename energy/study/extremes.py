"""The highest and the lowest of a few values: found sooner by their place than by reducing the array."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike


def highest(values: ArrayLike) -> float:
    """The highest; NaN where one is no number."""
    array = np.asarray(values, dtype=float)
    return float(array.item(array.argmax()))


def lowest(values: ArrayLike) -> float:
    """The lowest; NaN where one is no number."""
    array = np.asarray(values, dtype=float)
    return float(array.item(array.argmin()))
