"""A wall of a hopper or a duct: what it loses to the hall through its insulation, and how warm its outer face is."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

from energy.air import moist, transport
from energy.air._ranges import floats
from energy.units.kinds import STANDARD_ATMOSPHERE

Array = NDArray[np.float64]

STEFAN_BOLTZMANN = 5.670374419e-8  # W/(m2 K4), CODATA 2018


def vertical_plate_nusselt(rayleigh: ArrayLike, prandtl: ArrayLike) -> Array:
    """Nusselt number of free convection at a vertical wall, laminar and turbulent. [-]

    Source
    ------
    Churchill, S. W.; Chu, H. H. S.: Int. J. Heat Mass Transfer 18 (1975) 1323-1329.
    """
    # Ra^(1/6) / [1 + (0.492 / Pr)^(9/16)]^(8/27): roots and logarithms are faster than powers.
    sixteenth_root = np.sqrt(np.sqrt(np.sqrt(np.sqrt(0.492 / np.asarray(prandtl)))))
    eighth = np.square(np.square(np.square(sixteenth_root)))
    logarithm = np.log(np.maximum(rayleigh, 1e-300)) / 6.0 - 8.0 / 27.0 * np.log(1.0 + eighth * sixteenth_root)
    return (0.825 + 0.387 * np.exp(logarithm)) ** 2


def surface_heat_flux(surface: ArrayLike, ambient: ArrayLike, height: ArrayLike, emissivity: ArrayLike) -> Array:
    """Heat a standing wall gives off by free convection and radiation.

    Parameters
    ----------
    surface, ambient : array_like, shape (...)
        Wall and hall temperature. [K]
    height : array_like, shape (...)
        Of the wall. [m]
    emissivity : array_like, shape (...)
        Of its surface. [-]

    Returns
    -------
    ndarray, shape (...)
        Heat flux, negative where the wall is colder than the hall. [W/m2]

    Source
    ------
    Churchill and Chu (1975) for the convection; grey body in large surroundings for the radiation.
    """
    t_s, t_a = floats(surface), floats(ambient)
    film = 0.5 * (t_s + t_a)
    rho = STANDARD_ATMOSPHERE / (287.042 * film)
    mu, k = transport.dynamic_viscosity(film), transport.thermal_conductivity(film)
    cp = moist.heat_capacity(film, 0.0)
    prandtl = mu * cp / k
    height = floats(height)
    rayleigh = 9.80665 / film * np.abs(t_s - t_a) * (height * height * height) * (rho / mu) ** 2 * prandtl
    convection = vertical_plate_nusselt(rayleigh, prandtl) * k / height * (t_s - t_a)
    return convection + np.asarray(emissivity) * STEFAN_BOLTZMANN * ((t_s * t_s) ** 2 - (t_a * t_a) ** 2)


def wall_loss(
    inside: ArrayLike,
    ambient: ArrayLike,
    area: ArrayLike,
    height: ArrayLike,
    insulation_thickness: ArrayLike,
    insulation_conductivity: ArrayLike,
    emissivity: ArrayLike,
    curvature: ArrayLike = 0.0,
) -> tuple[Array, Array]:
    r"""Heat lost through an insulated wall, and the temperature of its outer face.

    The outer temperature is where conduction through the insulation equals :func:`surface_heat_flux` from the outer
    face, which is larger than the inner one around a cylinder; thickness 0 is a bare wall at the inside temperature.

    .. math:: k\,(T_i - T_o) / [r \ln(1 + s/r)] = (1 + s/r)\,\dot q(T_o)

    Parameters
    ----------
    inside, ambient : array_like, shape (...)
        Temperatures. [K]
    area, height, insulation_thickness : array_like, shape (...)
        Inner face [m2], [m], [m]
    insulation_conductivity : array_like, shape (...)
        [W/(m K)]
    emissivity : array_like, shape (...)
        Of the outer face. [-]
    curvature : array_like, shape (...)
        One over the radius of a cylinder's inner face; 0 for a flat wall. [1/m]

    Returns
    -------
    loss, outer_temperature : ndarray, shape (...)
        [W], [K]
    """
    t_i, t_a, s, curvature = (floats(a) for a in (inside, ambient, insulation_thickness, curvature))
    bare, flat, growth = s <= 0.0, curvature == 0.0, 1.0 + s * curvature
    depth = np.where(flat, s, np.log1p(s * curvature) / np.where(flat, 1.0, curvature))
    conductance = np.asarray(insulation_conductivity) / np.where(bare, 1.0, depth)
    # A start as though the surface gave off 10 W/(m2 K), then one with about what it gives off there.
    outer = (conductance * t_i + 10.0 * growth * t_a) / (conductance + 10.0 * growth)
    grey = np.asarray(emissivity) * STEFAN_BOLTZMANN
    per_kelvin = growth * (grey * (outer + t_a) * (outer * outer + t_a * t_a) + 1.5 * np.cbrt(np.abs(outer - t_a)))
    outer = (conductance * t_i + per_kelvin * t_a) / (conductance + per_kelvin)
    flux, gap = growth * surface_heat_flux(outer, t_a, height, emissivity), outer - t_a
    # Convection grows with about the power 1.3 of the difference: a first step with that slope, then secants.
    cubed = outer * outer * outer
    convection = flux - growth * grey * (cubed * outer - (t_a * t_a) ** 2)
    rise = np.where(gap == 0.0, 1.0, 1.3 * convection / np.where(gap == 0.0, 1.0, gap))
    slope = conductance + 4.0 * growth * grey * cubed + rise
    before, miss_before = outer, flux - conductance * (t_i - outer)
    outer = outer - miss_before / slope
    settled = np.zeros(np.shape(outer), dtype=bool)  # each wall for itself, so that none hangs on those beside it
    for _ in range(6):
        miss = growth * surface_heat_flux(outer, t_a, height, emissivity) - conductance * (t_i - outer)
        moved = outer - before
        rise = (miss - miss_before) / np.where(moved == 0.0, 1.0, moved)
        slope = np.where((moved == 0.0) | (rise <= 0.0), slope, rise)
        before, miss_before = outer, miss
        outer = np.where(settled, outer, outer - miss / slope)
        # What a secant leaves goes with its last two moves over the difference: some 1e-9 K.
        settled = np.abs((outer - before) * moved) <= 1e-8 * np.abs(gap)
        if settled.all():
            break
    outer = np.where(bare, t_i, outer)
    lost = conductance * (t_i - outer)
    if bare.any():
        lost = np.where(bare, surface_heat_flux(t_i, t_a, height, emissivity), lost)
    return lost * np.asarray(area), outer
