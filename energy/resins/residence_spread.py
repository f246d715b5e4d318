"""Pellets that do not all stay equally long: the spread of their residence times, as tanks in series."""

from __future__ import annotations

import math
from collections.abc import Callable
from functools import lru_cache

import numpy as np
from numpy.typing import ArrayLike

from energy.air._ranges import FloatArray as Array
from energy.air._ranges import OnRange, check


@lru_cache(maxsize=8)
def _spread_alike(tanks: float) -> tuple[Array, Array]:
    """As `_residence_spread` of one number of tanks."""
    times, shares = _residence_spread(np.asarray(tanks))
    times.flags.writeable = shares.flags.writeable = False
    return times, shares


def _residence_spread(tanks: Array) -> tuple[Array, Array]:
    """Residence times over their mean and their shares, of equal stirred tanks in series; shape (nodes, ...).

    Trapezoidal rule in the logarithm x of the residence time, where the density is exp(-n (e^x - 1 - x)) up
    to a factor, between the points where that has fallen to about e^-14. The shares are made to sum to one.
    """
    drop = 14.0 / tanks
    width = np.sqrt(2.0 * drop)
    right, left = np.log1p(drop + width), drop - np.expm1(-drop - width)
    count = 12 + math.ceil(20.0 / np.fmin.reduce(tanks, axis=None, initial=1e9))
    x = np.linspace(0.0, 1.0, count).reshape(count, *(1,) * tanks.ndim) * (left + right) - left
    density = np.exp(-tanks * (np.expm1(x) - x))
    return np.exp(x), density / density.sum(axis=0)


def tanks_in_series(
    remaining: Callable[..., Array],
    mean: ArrayLike,
    tanks: ArrayLike,
    *geometry: ArrayLike,
    on_range: OnRange = "raise",
) -> Array:
    r"""Mean remaining fraction of pellets that do not all stay equally long.

    .. math:: \int_0^\infty \frac{n^n u^{n-1} e^{-n u}}{\Gamma(n)}\, M(u\,\overline{Dt})\,du

    Parameters
    ----------
    remaining : callable
        ``short_cylinder``, ``sphere``, ``cylinder`` or ``plane_sheet``.
    mean : array_like, shape (...)
        First argument of that function at the mean residence time: diffusion time [m2] or Fourier number [-].
    tanks : array_like, shape (...)
        Number n of equal stirred tanks; need not be whole. [-], 1 (stirred) to 1e9 (plug flow). The variance
        of the residence time is its mean squared over n.
    *geometry : array_like, shape (...)
        Further arguments of that function: radius and length [m] of a short cylinder, none for the others.
    on_range : {"raise", "nan"}
        What to do outside these ranges.

    Returns
    -------
    ndarray, shape (...)
        Flow-weighted remaining fraction. [-], error below 1e-6.

    Raises
    ------
    OutOfRangeError
        Any value out of range or NaN, and ``on_range="raise"``.

    Notes
    -----
    A pellet that stays u times the mean is taken to have u times the mean diffusion time.

    Source
    ------
    Levenspiel, O.: Chemical Reaction Engineering, 3rd ed. (1999), ch. 14 (from memory).
    """
    n = check("tanks in series", tanks, 1.0, 1e9, "", "tanks_in_series", on_range)
    shape = np.broadcast(np.asarray(mean), n, *map(np.asarray, geometry)).shape
    spread = _spread_alike(float(n)) if n.ndim == 0 else _residence_spread(n)
    times, shares = (part.reshape(len(part), *(1,) * (len(shape) - n.ndim), *n.shape) for part in spread)
    total = np.zeros(shape)
    chunk = max(1, 2**18 // max(1, total.size))  # nodes at a time: bounds the memory
    for start in range(0, len(times), chunk):
        part = slice(start, start + chunk)
        fraction = remaining(np.asarray(mean) * times[part], *geometry, on_range=on_range)
        total += (shares[part] * fraction).sum(axis=0)
    return total[()]
