"""Keeps what was made, for calls with equal values: options of a comparison have much in common."""

from __future__ import annotations

from collections import OrderedDict
from collections.abc import Callable, Hashable, Sequence
from functools import lru_cache, partial, wraps
from typing import Any, Generic, TypeVar

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


class Hashed:
    """A key, or a part of one, whose hash is worked out once: keys here hold many arrays."""

    __slots__ = ("hashed", "key")

    def __init__(self, key: Hashable) -> None:
        self.key = key
        self.hashed = hash(key)

    def __hash__(self) -> int:
        return self.hashed

    def __eq__(self, other: object) -> bool:
        return isinstance(other, Hashed) and self.hashed == other.hashed and self.key == other.key


class Latest(Generic[Made]):
    """What was made of a key, the latest used up to a number."""

    def __init__(self, most: int) -> None:
        self._most = most
        self._kept: OrderedDict[Hashed, Made] = OrderedDict()

    def take(self, key: Hashable, make: Callable[[], Made]) -> Made:
        """What is kept of a key, else what `make` makes now."""
        return self._take(Hashed(key), make)

    def _take(self, key: Hashed, make: Callable[[], Made]) -> Made:
        if key in self._kept:
            self._kept.move_to_end(key)
            return self._kept[key]
        self._kept[key] = made = make()
        if len(self._kept) > self._most:
            self._kept.popitem(last=False)
        return made

    def take_all(self, given: Sequence[Hashable], make: Callable[[list[int]], Sequence[Made]]) -> list[Made]:
        """What is kept of each key; the others are made in one call, of which `make` is given their places."""
        keys = [Hashed(key) for key in given]
        known = {key: self._kept[key] for key in keys if key in self._kept}
        places = {key: place for place, key in enumerate(keys) if key not in known}
        made = {**known, **dict(zip(places, make(list(places.values())) if places else (), strict=True))}
        return [self._take(key, partial(made.__getitem__, key)) for key in keys]
