"""Diffusivity of water in a resin by its temperature, and its integral along a pellet's way."""

from __future__ import annotations

from functools import lru_cache

import numpy as np
from numpy.typing import ArrayLike

from energy.air._ranges import FloatArray as Array
from energy.air._ranges import check, floats
from energy.air.constants import GAS_CONSTANT


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
    inverse = 1.0 / floats(temperature) - 1.0 / floats(reference_temperature)
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
    t, when = floats(temperatures), floats(times)
    steps = check("time step", when[..., 1:] - when[..., :-1], 0.0, np.inf, "s", "a history")
    first, rise = t[..., :-1], t[..., 1:] - t[..., :-1]
    per_kelvin = floats(activation_energy)[..., None] / GAS_CONSTANT
    at_reference = per_kelvin / floats(reference_temperature)[..., None]
    point, weight = _gauss(points)
    along = 0.5 * (1.0 + point).reshape(-1, *(1,) * max(rise.ndim, at_reference.ndim))
    relative = at_reference - per_kelvin / (first + along * rise)
    np.exp(relative, out=relative)  # to the reference
    total = np.einsum("p,p...i,...i->...", 0.5 * weight, relative, steps)
    return np.asarray(floats(reference) * total)
