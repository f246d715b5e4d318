"""Hydrolysis: what the water left in a polyester costs in molar mass when it is melted."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from energy.air._ranges import FloatArray, OnRange, check

WATER_MOLAR_MASS = 0.01801528  # kg/mol, IUPAC standard atomic weights


def molar_mass_loss(
    moisture: ArrayLike, number_average_molar_mass: ArrayLike = 25.0, *, on_range: OnRange = "raise"
) -> FloatArray:
    r"""Share of the number-average molar mass lost if all the water reacts: one molecule cuts one ester bond.

    .. math:: 1 - M_n'/M_n = 1 - 1 / (1 + X M_n / M_{water})

    Parameters
    ----------
    moisture : array_like, shape (...)
        Water in the resin as it enters the melt. [kg/kg dry resin], 0 to 1.
    number_average_molar_mass : array_like, shape (...)
        Of the resin before. [kg/mol], above 0; 25 is usual for PET.
    on_range : {"raise", "nan"}
        What to do outside these ranges.

    Returns
    -------
    ndarray, shape (...)
        Share lost. [-]; an upper bound, since some of the water leaves with the gas.

    Raises
    ------
    OutOfRangeError
        Any value out of range or NaN, and ``on_range="raise"``.

    Source
    ------
    Stoichiometry; usual limit before melting PET 50 ppm.
    """
    x = check("moisture", moisture, 0.0, 1.0, "kg/kg", "hydrolysis by dissolved water", on_range)
    mass = check(
        "number-average molar mass",
        number_average_molar_mass,
        WATER_MOLAR_MASS,
        np.inf,
        "kg/mol",
        "a polymer",
        on_range,
    )
    cuts = x * mass / WATER_MOLAR_MASS  # per chain
    return (cuts / (1.0 + cuts))[()]
