"""Water on a desiccant: the temperature-dependent Toth isotherm and its inverse."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from numpy.typing import ArrayLike, NDArray

from energy.air._ranges import floats
from energy.air.constants import GAS_CONSTANT
from energy.sources import load

Array = NDArray[np.float64]
WATER_MOLAR_MASS = 0.018015268  # kg/mol, IAPWS


@dataclass(frozen=True, slots=True, kw_only=True)
class Desiccant:
    """Toth parameters and heat data of one desiccant as sold (beads with their binder)."""

    name: str
    affinity: float
    """b0. [1/Pa]"""
    affinity_temperature: float
    """Q. [K]"""
    heterogeneity: float
    """n0. [-]"""
    heterogeneity_temperature: float
    """c. [K]"""
    saturation_loading: float
    """w_s. [kg/kg]"""
    heat_of_adsorption: float
    """Vapour to adsorbed water. [J/kg]"""
    specific_heat: float
    """Dry. [J/(kg K)]"""


@lru_cache
def load_desiccant(name: str) -> Desiccant:
    """One of data/desiccants, such as ``13x``."""
    data = load(f"desiccants/{name}")
    fields = [f for f in Desiccant.__slots__ if f != "name"]
    return Desiccant(name=name, **{f: data[f].si for f in fields})


def loading(vapour_pressure: ArrayLike, temperature: ArrayLike, desiccant: Desiccant) -> Array:
    r"""Water held at equilibrium.

    .. math:: w = w_s b p\,(1 + (b p)^n)^{-1/n},\quad b = b_0 e^{Q/T},\quad n = n_0 + c/T

    Measured at 0 to 100 degC. Regeneration is hotter: there the form is an extrapolation that reads 1.4 to 1.8 times
    too wet against zeolite A at 150 degC, which errs on the side of a worse dew point.

    Parameters
    ----------
    vapour_pressure : array_like, shape (...)
        [Pa]
    temperature : array_like, shape (...)
        Of the bed. [K]
    desiccant : Desiccant

    Returns
    -------
    ndarray, shape (...)
        [kg water per kg dry desiccant]

    Source
    ------
    Wang, Y.; LeVan, M. D.: J. Chem. Eng. Data 54 (2009) 2839-2844.
    """
    t = floats(temperature)
    bp = desiccant.affinity * np.exp(desiccant.affinity_temperature / t) * floats(vapour_pressure)
    n = desiccant.heterogeneity + desiccant.heterogeneity_temperature / t
    return desiccant.saturation_loading * bp / (1.0 + bp**n) ** (1.0 / n)


def equilibrium_pressure(water_loading: ArrayLike, temperature: ArrayLike, desiccant: Desiccant) -> Array:
    """Vapour pressure over a loaded desiccant, the inverse of :func:`loading`.

    Parameters
    ----------
    water_loading : array_like, shape (...)
        Below the saturation loading. [kg/kg]
    temperature : array_like, shape (...)
        [K]
    desiccant : Desiccant

    Returns
    -------
    ndarray, shape (...)
        [Pa]
    """
    t = floats(temperature)
    x = floats(water_loading) / desiccant.saturation_loading
    n = desiccant.heterogeneity + desiccant.heterogeneity_temperature / t
    b = desiccant.affinity * np.exp(desiccant.affinity_temperature / t)
    return x / (1.0 - x**n) ** (1.0 / n) / b


def isosteric_heat(water_loading: ArrayLike, temperature: ArrayLike, desiccant: Desiccant) -> Array:
    """Heat of adsorption at constant loading by Clausius-Clapeyron, from the isotherm. [J/kg water]"""
    t, step = floats(temperature), 0.01
    hot = np.log(equilibrium_pressure(water_loading, t + step, desiccant))
    cold = np.log(equilibrium_pressure(water_loading, t - step, desiccant))
    slope = (hot - cold) / (1.0 / (t - step) - 1.0 / (t + step))
    return slope * GAS_CONSTANT / WATER_MOLAR_MASS
