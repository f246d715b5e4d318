"""Water leaving a pellet by diffusion: the fraction that remains after a given diffusion time.

The shapes take a Fourier number or a *diffusion time*, the integral of the diffusivity over time [m2], so
that a pellet that warms on its way down the hopper needs no other equation. The surface is held at zero: add
the sorption floor (``energy.resins.sorption``) outside, remaining = floor + (initial - floor) * fraction.
"""

from __future__ import annotations

import math
from collections.abc import Callable

import numpy as np
from numpy.typing import ArrayLike

from energy.air._arrays import polynomial
from energy.air._ranges import FloatArray as Array
from energy.air._ranges import OnRange, check, floats
from energy.errors import ModelError

# Zeros of J0. Abramowitz and Stegun, Handbook of Mathematical Functions (1964), Table 9.5 gives ten decimals.
BESSEL_ZEROS = (
    2.404825557695773,
    5.520078110286311,
    8.653727912911013,
    11.79153443901428,
    14.93091770848779,
    18.07106396791092,
    21.21163662987926,
    24.35247153074930,
    27.49347913204025,
)


def _bessel_ratio_expansion(terms: int) -> list[float]:
    """Coefficients of 1/z^k in I1(z)/I0(z) for large z, from its differential equation w' = 1 - w/z - w^2."""
    a = [1.0]
    for m in range(1, terms):
        a.append(0.5 * ((m - 2) * a[m - 1] - sum(a[i] * a[m - i] for i in range(1, m))))
    return a


_Shape = tuple[float, tuple[float, ...], Array, Array]
# Each shape: below the switch a polynomial in the root of the Fourier number, above it a sum of exponentials.
# The switches are where the two differ least, and by less than 1e-10, with the step going down.
_ODD = np.arange(1.0, 13.0, 2.0)
_WHOLE = np.arange(1.0, 7.0)
_ZEROS = np.array(BESSEL_ZEROS)
_SHEET: _Shape = (0.045, (1.0, -2.0 / math.sqrt(math.pi)), (_ODD * np.pi / 2.0) ** 2, 8.0 / (_ODD * np.pi) ** 2)
_SPHERE: _Shape = (0.04, (1.0, -6.0 / math.sqrt(math.pi), 3.0), (_WHOLE * np.pi) ** 2, 6.0 / (_WHOLE * np.pi) ** 2)
_CYLINDER: _Shape = (
    0.02,
    (1.0, *(-2.0 * a / math.gamma(0.5 * (k + 3)) for k, a in enumerate(_bessel_ratio_expansion(13)))),
    _ZEROS**2,
    4.0 / _ZEROS**2,
)
NOTHING = 40.0  # exp(-40) is below the rounding of 1
_BLOCK = 4096  # values at a time, so that every term of a block stays in the cache


def _remaining(fourier: ArrayLike, shape: _Shape, on_range: OnRange) -> Array:
    return _of(check("Fourier number", fourier, 0.0, np.inf, "", "diffusion out of a body", on_range), shape)


def _of(fo: Array, shape: _Shape) -> Array:
    """What remains in a shape; `fo` is 0 or more, or no number."""
    flat = fo.ravel()
    if flat.size <= _BLOCK:
        return _of_block(flat, shape).reshape(fo.shape)[()]
    work, out = np.empty((shape[2].size, _BLOCK)), np.empty(flat.size)
    for start in range(0, flat.size, _BLOCK):
        block = flat[start : start + _BLOCK]
        out[start : start + _BLOCK] = _of_block(block, shape, work[:, : block.size])
    return out.reshape(fo.shape)[()]


def _of_block(block: Array, shape: _Shape, work: Array | None = None) -> Array:
    """The same of some values, with room for their terms."""
    switch, early_terms, decay, weight = shape
    if block.size == 0:
        return block
    # Late terms count for nothing beside the first where all values are large.
    least = block.item(block.argmin())
    count = int(decay.searchsorted(decay[0] + NOTHING / least, side="right")) if least > 0.0 else decay.size
    terms = np.multiply(-decay[:count, None], block, out=None if work is None else work[:count])
    result: Array = weight[:count] @ np.exp(terms, out=terms)
    if not least >= switch:  # or is one no number
        early = block < switch
        result[early] = polynomial(np.sqrt(block[early]), early_terms)
    return result


def plane_sheet(fourier: ArrayLike, *, on_range: OnRange = "raise") -> Array:
    r"""Fraction of the water that remains in a plane sheet.

    .. math:: M/M_0 = \frac{8}{\pi^2} \sum_{n \ge 0} \frac{e^{-(2n+1)^2 \pi^2 Fo / 4}}{(2n+1)^2}

    Parameters
    ----------
    fourier : array_like, shape (...)
        Diffusivity times time over half the thickness squared. [-], 0 or more.
    on_range : {"raise", "nan"}
        What to do below 0.

    Returns
    -------
    ndarray, shape (...)
        Remaining over initial water, mean of the body. [-], error below 1e-10; 1 at 0.

    Raises
    ------
    OutOfRangeError
        Any value negative or NaN, and ``on_range="raise"``.

    Source
    ------
    Crank, J.: The Mathematics of Diffusion, 2nd ed. (1975), eq. 4.18; eq. 4.20 for short times (numbers of
    the equations from memory).
    """
    return _remaining(fourier, _SHEET, on_range)


def cylinder(fourier: ArrayLike, *, on_range: OnRange = "raise") -> Array:
    r"""Fraction of the water that remains in a long cylinder.

    .. math:: M/M_0 = \sum_n \frac{4}{j_{0,n}^2} e^{-j_{0,n}^2 Fo}

    Parameters
    ----------
    fourier : array_like, shape (...)
        Diffusivity times time over the radius squared. [-], 0 or more.
    on_range : {"raise", "nan"}
        What to do below 0.

    Returns
    -------
    ndarray, shape (...)
        Remaining over initial water, mean of the body. [-], error below 1e-10; 1 at 0.

    Raises
    ------
    OutOfRangeError
        Any value negative or NaN, and ``on_range="raise"``.

    Source
    ------
    Crank, J.: The Mathematics of Diffusion, 2nd ed. (1975), eq. 5.23 (number from memory). Below Fo = 0.02
    the inverse Laplace transform of 2 I1(z) / (z^3 I0(z)), z^2 = s, with the ratio expanded for large z; its
    first terms, 4 (Fo/pi)^(1/2) - Fo - Fo^(3/2) / (3 pi^(1/2)), are Crank's.
    """
    return _remaining(fourier, _CYLINDER, on_range)


def sphere(fourier: ArrayLike, *, on_range: OnRange = "raise") -> Array:
    r"""Fraction of the water that remains in a sphere.

    .. math:: M/M_0 = \frac{6}{\pi^2} \sum_{n \ge 1} \frac{e^{-n^2 \pi^2 Fo}}{n^2}

    Parameters
    ----------
    fourier : array_like, shape (...)
        Diffusivity times time over the radius squared. [-], 0 or more.
    on_range : {"raise", "nan"}
        What to do below 0.

    Returns
    -------
    ndarray, shape (...)
        Remaining over initial water, mean of the body. [-], error below 1e-10; 1 at 0.

    Raises
    ------
    OutOfRangeError
        Any value negative or NaN, and ``on_range="raise"``.

    Source
    ------
    Crank, J.: The Mathematics of Diffusion, 2nd ed. (1975), eq. 6.20; eq. 6.22 for short times (numbers of
    the equations from memory).
    """
    return _remaining(fourier, _SPHERE, on_range)


def short_cylinder(
    diffusion_time: ArrayLike, radius: ArrayLike, length: ArrayLike, *, on_range: OnRange = "raise"
) -> Array:
    """Fraction of the water that remains in a cylindrical pellet that dries on all sides.

    The product of the long cylinder and the plane sheet. An infinite length gives the long cylinder, an
    infinite radius the sheet.

    Parameters
    ----------
    diffusion_time : array_like, shape (...)
        Integral of the diffusivity over time. [m2], 0 or more.
    radius, length : array_like, shape (...)
        Of the pellet. [m], above 0.
    on_range : {"raise", "nan"}
        What to do outside these ranges.

    Returns
    -------
    ndarray, shape (...)
        Remaining over initial water, mean of the pellet. [-], error below 1e-10; 1 at 0.

    Raises
    ------
    OutOfRangeError
        Any value out of range or NaN, and ``on_range="raise"``.

    Source
    ------
    Product rule: Newman, A. B.: Trans. AIChE 27 (1931) 310-333; Carslaw and Jaeger, Conduction of Heat in
    Solids, 2nd ed. (1959), section 1.15 (both from memory).
    """
    time = check("diffusion time", diffusion_time, 0.0, np.inf, "m2", "diffusion out of a body", on_range)
    r = check("pellet radius", radius, 1e-9, np.inf, "m", "diffusion out of a body", on_range)
    half = 0.5 * check("pellet length", length, 1e-9, np.inf, "m", "diffusion out of a body", on_range)
    return _of(time / r**2, _CYLINDER) * _of(time / half**2, _SHEET)


def time_to_fraction(
    remaining: Callable[..., Array], fraction: ArrayLike, *geometry: ArrayLike, on_range: OnRange = "raise"
) -> Array:
    """Diffusion time after which a given fraction of the water remains, every pellet staying equally long.

    Parameters
    ----------
    remaining : callable
        ``short_cylinder``, ``sphere``, ``cylinder`` or ``plane_sheet``.
    fraction : array_like, shape (...)
        Remaining over initial water. [-], 1e-30 to 1.
    *geometry : array_like, shape (...)
        Further arguments of that function: radius and length [m] of a short cylinder, none for the others.
    on_range : {"raise", "nan"}
        What to do outside these ranges.

    Returns
    -------
    ndarray, shape (...)
        First argument of that function: diffusion time [m2] or Fourier number [-]. Relative error below 1e-8.
        Divided by the diffusivity at drying temperature it is the time a warm pellet needs.

    Raises
    ------
    OutOfRangeError
        Any value out of range or NaN, and ``on_range="raise"``.

    Notes
    -----
    A lower bound. The residence time the trade recommends, about four hours for most resins, also covers the
    heating of the bed, the spread of residence times, wetter lots and safety: polycarbonate at 120 degC loses
    nine tenths of its water in the first hour, ABS or PMMA at 80 degC half to two thirds, polyamide at 80
    degC a third to a half.

    Minus the logarithm of the fraction goes with the root of time at first and with the time later on: the rule of the secant
    on its quotient by the root of time, which is almost straight over that root, from a start that is always late since no
    shape decays slower than a sheet as thick as its smallest size.
    """
    f = check("remaining fraction", fraction, 1e-30, 1.0, "", "time_to_fraction", on_range)
    fall, *sizes = np.broadcast_arrays(-np.log(f), *(floats(size) for size in geometry))

    def fallen(root: Array) -> Array:
        return -np.log(remaining(root**2, *geometry, on_range=on_range))

    late = np.sqrt(fall) * (2.0 / np.pi) * (np.minimum.reduce(sizes) if sizes else 1.0)
    at_late = fallen(late)
    found = np.isnan(at_late)  # what is no number stays so
    with np.errstate(divide="ignore", invalid="ignore"):  # of what is no number, or found
        root = np.where(at_late == 0.0, late, late * np.sqrt(fall / at_late))
    for _ in range(40):
        value = fallen(root)
        near = found | (np.abs(value - fall) <= 1e-6 * fall + 1e-15)
        with np.errstate(divide="ignore", invalid="ignore"):
            # root (a + b root) is what has fallen at both.
            b = np.maximum((at_late / late - value / root) / (late - root), 0.0)
            a = value / root - b * root
            better = 2.0 * fall / (a + np.sqrt(a**2 + 4.0 * b * fall))
        late, at_late, root = root, value, np.where(np.isfinite(better) & ~found, better, root)
        found = near
        if near.all():  # the error before times the one before that is left
            return (root**2)[()]
    raise ModelError("no diffusion time found for a remaining fraction; the shape must fall steadily from 1 to 0")
