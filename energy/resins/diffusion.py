"""Water leaving a pellet by diffusion: the fraction that remains after a given diffusion time.

The shapes take a Fourier number or a *diffusion time*, the integral of the diffusivity over time [m2], so
that a pellet that warms on its way down the hopper needs no other equation. The surface is held at zero: add
the sorption floor (``energy.resins.sorption``) outside, remaining = floor + (initial - floor) * fraction.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from functools import lru_cache

import numpy as np
from numpy.typing import ArrayLike

from energy.air import moist
from energy.air._ranges import FloatArray as Array
from energy.air._ranges import OnRange, check
from energy.air.constants import GAS_CONSTANT, LIQUID_WATER_HEAT_CAPACITY, ZERO_CELSIUS
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


# Each shape: below the switch a polynomial in the root of the Fourier number, above it a sum of exponentials.
# The switches are where the two differ least, and by less than 1e-10, with the step going down.
_ODD = np.arange(1.0, 13.0, 2.0)
_WHOLE = np.arange(1.0, 7.0)
_ZEROS = np.array(BESSEL_ZEROS)
_SHEET = (0.045, (1.0, -2.0 / math.sqrt(math.pi)), (_ODD * np.pi / 2.0) ** 2, 8.0 / (_ODD * np.pi) ** 2)
_SPHERE = (0.04, (1.0, -6.0 / math.sqrt(math.pi), 3.0), (_WHOLE * np.pi) ** 2, 6.0 / (_WHOLE * np.pi) ** 2)
_CYLINDER = (
    0.02,
    (1.0, *(-2.0 * a / math.gamma(0.5 * (k + 3)) for k, a in enumerate(_bessel_ratio_expansion(13)))),
    _ZEROS**2,
    4.0 / _ZEROS**2,
)
NOTHING = 40.0  # exp(-40) is below the rounding of 1
_BLOCK = 4096  # values at a time, so that every term of a block stays in the cache


def _remaining(fourier: ArrayLike, shape: tuple[float, tuple[float, ...], Array, Array], on_range: OnRange) -> Array:
    switch, early_terms, decay, weight = shape
    fo = check("Fourier number", fourier, 0.0, np.inf, "", "diffusion out of a body", on_range)
    flat, out = fo.ravel(), np.empty(fo.size)
    work = np.empty((decay.size, min(_BLOCK, fo.size)))
    for start in range(0, flat.size, _BLOCK):
        block, result = flat[start : start + _BLOCK], out[start : start + _BLOCK]
        terms = work[:, : block.size]
        # Late terms count for nothing beside the first where all values are large.
        count = int(np.count_nonzero(~((decay - decay[0]) * float(block.min()) > NOTHING)))  # all of them beside a NaN
        terms = terms[:count]
        np.exp(np.multiply(-decay[:count, None], block, out=terms), out=terms)
        np.matmul(weight[:count], terms, out=result)
        early = block < switch
        if early.any():
            root = np.sqrt(block[early])
            total = np.full(root.shape, early_terms[-1])
            for term in early_terms[-2::-1]:
                total *= root
                total += term
            result[early] = total
    return out.reshape(fo.shape)[()]


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
    return cylinder(time / r**2, on_range=on_range) * plane_sheet(time / half**2, on_range=on_range)


def diffusivity(
    temperature: ArrayLike,
    reference: ArrayLike,
    reference_temperature: ArrayLike,
    activation_energy: ArrayLike,
) -> Array:
    r"""Diffusivity of water in the resin at a temperature.

    .. math:: D = D_{ref} \exp[-(E/R)(1/T - 1/T_{ref})]

    Parameters
    ----------
    temperature : array_like, shape (...)
        Of the pellet. [K]
    reference : array_like, shape (...)
        Diffusivity at the reference temperature. [m2/s]
    reference_temperature : array_like, shape (...)
        [K]
    activation_energy : array_like, shape (...)
        Energy of activation of diffusion. [J/mol]

    Returns
    -------
    ndarray, shape (...)
        Diffusivity. [m2/s]

    Notes
    -----
    Independent of the water present. In polyamide it rises with water, so that wet pellets dry somewhat
    faster at first than this says.

    Source
    ------
    Arrhenius; for polycarbonate Golovoy and Zinbo, Polym. Eng. Sci. 29 (1989) 1733-1737.
    """
    inverse = 1.0 / np.asarray(temperature, dtype=float) - 1.0 / np.asarray(reference_temperature, dtype=float)
    return np.asarray(reference) * np.exp(-np.asarray(activation_energy) / GAS_CONSTANT * inverse)


_gauss = lru_cache(np.polynomial.legendre.leggauss)


def diffusion_integral(
    temperatures: ArrayLike,
    times: ArrayLike,
    reference: ArrayLike,
    reference_temperature: ArrayLike,
    activation_energy: ArrayLike,
    points: int = 6,
) -> Array:
    """Diffusion time of a pellet whose temperature goes in straight lines from point to point.

    Parameters
    ----------
    temperatures : array_like, shape (..., points)
        Temperatures of the pellet along its way. [K]
    times : array_like, shape (..., points)
        When it has them, never falling along the last axis. [s]
    reference, reference_temperature, activation_energy : array_like, shape (...)
        As in ``diffusivity``. [m2/s], [K], [J/mol]
    points : int
        Gauss points a stretch.

    Returns
    -------
    ndarray, shape (...)
        Integral of the diffusivity over time. [m2]. With six points within 1e-7 for a stretch that warms by 150 K at
        60 kJ/mol, with three within 1e-9 where a stretch warms by 10 K.

    Raises
    ------
    OutOfRangeError
        Times that fall or are NaN.
    """
    t = np.asarray(temperatures, dtype=float)
    steps = check("time step", np.diff(np.asarray(times, dtype=float)), 0.0, np.inf, "s", "a history")
    first, rise = t[..., :-1], np.diff(t)
    per_kelvin = np.asarray(activation_energy, dtype=float)[..., None] / GAS_CONSTANT
    at_reference = per_kelvin / np.asarray(reference_temperature, dtype=float)[..., None]
    total = np.zeros(np.broadcast_shapes(t.shape[:-1], np.shape(at_reference)[:-1], steps.shape[:-1]))
    for point, weight in zip(*_gauss(points), strict=True):
        relative = np.exp(at_reference - per_kelvin / (first + 0.5 * (1.0 + point) * rise))  # to the reference
        total += 0.5 * weight * np.sum(relative * steps, axis=-1)
    return np.asarray(np.asarray(reference, dtype=float) * total)


def _residence_spread(tanks: Array) -> tuple[Array, Array]:
    """Residence times over their mean and their shares, of equal stirred tanks in series; shape (nodes, ...).

    Trapezoidal rule in the logarithm x of the residence time, where the density is exp(-n (e^x - 1 - x)) up
    to a factor, between the points where that has fallen to about e^-14. The shares are made to sum to one.
    """
    drop = 14.0 / tanks
    width = np.sqrt(2.0 * drop)
    right, left = np.log1p(drop + width), drop - np.expm1(-drop - width)
    count = 12 + math.ceil(20.0 / np.fmin.reduce(tanks, axis=None, initial=1e9))
    x = np.linspace(0.0, 1.0, count).reshape(-1, *(1,) * tanks.ndim) * (left + right) - left
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
    shape = np.broadcast_shapes(np.shape(mean), n.shape, *map(np.shape, geometry))
    lead = (-1,) + (1,) * (len(shape) - n.ndim) + n.shape
    times, shares = (part.reshape(lead) for part in _residence_spread(n))
    total = np.zeros(shape)
    chunk = max(1, 2**18 // max(1, total.size))  # nodes at a time: bounds the memory
    for start in range(0, len(times), chunk):
        part = slice(start, start + chunk)
        fraction = remaining(np.asarray(mean) * times[part], *geometry, on_range=on_range)
        total += (shares[part] * fraction).sum(axis=0)
    return total[()]


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

    Secant rule on the logarithm of the fraction over the root of time, which is convex there, from a start
    that is always late since no shape decays slower than a sheet as thick as its smallest size.
    """
    f = check("remaining fraction", fraction, 1e-30, 1.0, "", "time_to_fraction", on_range)
    fall, *sizes = np.broadcast_arrays(-np.log(f), *(np.asarray(size, dtype=float) for size in geometry))

    def excess(root: Array) -> Array:
        return -np.log(remaining(root**2, *geometry, on_range=on_range)) - fall

    late = np.sqrt(fall) * (2.0 / np.pi) * (np.minimum.reduce(sizes) if sizes else 1.0)
    at_late = excess(late)
    known = ~np.isnan(at_late)
    root = np.where(known, 0.999 * late, np.nan)
    for _ in range(40):
        value = excess(root)
        open_ = known & ~(np.abs(value) <= 1e-9 * fall + 1e-15)
        if not open_.any():
            return (root**2)[()]
        slope = np.where(open_ & (at_late != value), at_late - value, 1.0)
        late, at_late, root = root, value, np.where(open_, root - value * (late - root) / slope, root)
    raise ModelError("no diffusion time found for a remaining fraction; the shape must fall steadily from 1 to 0")


def surface_drying_time(
    surface_moisture: ArrayLike,
    pellet_diameter: ArrayLike,
    density: ArrayLike,
    air_temperature: ArrayLike,
    wet_bulb_temperature: ArrayLike,
    heat_transfer_coefficient: ArrayLike,
    *,
    on_range: OnRange = "raise",
) -> Array:
    r"""Time to evaporate the water on the surface of a pellet that takes none up.

    The wet pellet sits at the wet-bulb temperature of the air around it and dries as fast as heat arrives
    (Lewis number one): :math:`\dot m = h A (T_{air} - T_{wb}) / h_{fg}`.

    Parameters
    ----------
    surface_moisture : array_like, shape (...)
        Water on the surface. [kg/kg dry resin], 0 or more.
    pellet_diameter : array_like, shape (...)
        Of the sphere with the pellet's volume-to-surface ratio. [m]
    density : array_like, shape (...)
        Of the resin, not of the bed. [kg/m3]
    air_temperature, wet_bulb_temperature : array_like, shape (...)
        Of the air around the pellet. [K]; the air warmer than its wet bulb.
    heat_transfer_coefficient : array_like, shape (...)
        From air to pellet. [W/(m2 K)]
    on_range : {"raise", "nan"}
        What to do with air no warmer than its wet bulb (saturated) or negative water.

    Returns
    -------
    ndarray, shape (...)
        Time. [s]. In a bed the air saturates within centimetres, so that upper layers wait for the lower
        ones: there the heat balance of the hopper sets the pace.

    Raises
    ------
    OutOfRangeError
        Any value out of range or NaN, and ``on_range="raise"``.

    Source
    ------
    Constant-rate drying; heat of vaporisation at the wet bulb from ``energy.air.moist``.
    """
    source = "constant-rate drying (the air must be warmer than its wet bulb)"
    water = check("surface moisture", surface_moisture, 0.0, np.inf, "kg/kg", source, on_range)
    wet_bulb = np.asarray(wet_bulb_temperature, dtype=float)
    difference = check(
        "air less wet-bulb temperature",
        np.asarray(air_temperature) - wet_bulb,
        1e-9,
        np.inf,
        "K",
        source,
        on_range,
    )
    liquid = LIQUID_WATER_HEAT_CAPACITY * (wet_bulb - ZERO_CELSIUS)
    vaporisation = moist.vapour_enthalpy(wet_bulb, on_range=on_range) - liquid
    flux = np.asarray(heat_transfer_coefficient) * difference / vaporisation
    return water * np.asarray(density) * np.asarray(pellet_diameter) / 6.0 / flux
