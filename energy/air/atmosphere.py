"""The atmosphere outdoors: its pressure at an altitude."""

from __future__ import annotations

from numpy.typing import ArrayLike

from energy.air._ranges import FloatArray, OnRange, check
from energy.units.kinds import STANDARD_ATMOSPHERE


def pressure_at_altitude(altitude: ArrayLike, *, on_range: OnRange = "raise") -> FloatArray:
    """Pressure of the standard atmosphere.

    Parameters
    ----------
    altitude : array_like, shape (...)
        Height above sea level. [m], -5000 to 11000.
    on_range : {"raise", "nan"}
        What to do outside that range.

    Returns
    -------
    ndarray, shape (...)
        Pressure. [Pa]

    Raises
    ------
    OutOfRangeError
        Any value out of range or NaN, and ``on_range="raise"``.

    Source
    ------
    ASHRAE Handbook - Fundamentals (2017), ch. 1, eq. 3.
    """
    z = check("altitude", altitude, -5000.0, 11000.0, "m", "ASHRAE Fundamentals 2017 eq. 3", on_range)
    return STANDARD_ATMOSPHERE * (1 - 2.25577e-5 * z) ** 5.2559
