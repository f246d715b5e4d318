"""Membrane air dryers: how much of the air is spent as sweep."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

Array = NDArray[np.float64]


def least_sweep_share(
    supply_pressure: ArrayLike,
    atmospheric_pressure: ArrayLike,
    inlet_vapour_pressure: ArrayLike,
    outlet_vapour_pressure: ArrayLike,
) -> Array:
    r"""Smallest share of the feed that must be spent as sweep.

    .. math:: s = (p_{atm}/P)\,(1 - p_{out}/p_{in})

    The sweep can carry away no more water than it holds at the feed's own vapour pressure once expanded.

    Parameters
    ----------
    supply_pressure, atmospheric_pressure : array_like, shape (...)
        [Pa absolute]
    inlet_vapour_pressure, outlet_vapour_pressure : array_like, shape (...)
        Saturation pressure at the pressure dew point before and after. [Pa]

    Returns
    -------
    ndarray, shape (...)
        [-]

    Source
    ------
    Water balance of a counterflow sweep; reference bound for purge dryers.
    """
    expansion = np.asarray(atmospheric_pressure) / np.asarray(supply_pressure)
    return expansion * (1.0 - np.asarray(outlet_vapour_pressure) / np.asarray(inlet_vapour_pressure))
