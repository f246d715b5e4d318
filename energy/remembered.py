"""Keeps what a function made of arrays, for calls with equal ones: options of a comparison have much in common."""

from __future__ import annotations

from collections.abc import Callable
from functools import lru_cache, wraps
from typing import Any, TypeVar

import numpy as np

Made = TypeVar("Made")


def remembered(most: int) -> Callable[[Callable[..., Made]], Callable[..., Made]]:
    """Decorator for a function of floats and arrays alone that returns an array or a tuple of arrays.

    Parameters
    ----------
    most : int
        Answers kept, the latest used; they cannot be written to.
    """

    def decorate(function: Callable[..., Made]) -> Callable[..., Made]:
        @lru_cache(maxsize=most)
        def kept(*packed: tuple[tuple[int, ...], bytes]) -> Made:
            made: Any = function(*(np.frombuffer(data).reshape(shape) for shape, data in packed))
            for array in made if isinstance(made, tuple) else (made,):
                if isinstance(array, np.ndarray):
                    array.flags.writeable = False
            return made

        @wraps(function)
        def call(*arguments: Any) -> Made:
            return kept(*((np.shape(a), np.asarray(a, dtype=np.float64).tobytes()) for a in arguments))

        return call

    return decorate
