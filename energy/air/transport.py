"""Transport properties of air: dynamic viscosity and thermal conductivity."""

from __future__ import annotations

from numpy.typing import ArrayLike

from energy.air._arrays import in_blocks, polynomial
from energy.air._moist_ranges import temperature_in_range
from energy.air._ranges import FloatArray, OnRange

# Dry air at 1 atm: viscosity in 1e-6 Pa s and conductivity in W/(m K), of T/100 K.
_VISCOSITY = (-0.03595212, 7.884335, -0.6726202, 0.03617091)
_CONDUCTIVITY = (-7.382211e-4, 1.1025727e-2, -7.866043e-4, 4.176718e-5)


def dynamic_viscosity(temperature: ArrayLike, *, on_range: OnRange = "raise") -> FloatArray:
    """Dynamic viscosity of dry air near 1 atm.

    Parameters
    ----------
    temperature : array_like, shape (...)
        Air temperature. [K], 173.15 to 573.15.
    on_range : {"raise", "nan"}
        What to do outside that range.

    Returns
    -------
    ndarray, shape (...)
        Dynamic viscosity, within 0.06 % of its source up to 250 degC, 0.2 % up to 300 degC; 1 % higher at 1 MPa. [Pa s]

    Raises
    ------
    OutOfRangeError
        Any value out of range or NaN, and ``on_range="raise"``.

    Source
    ------
    Own cubic fit to CoolProp 8.0.0 (Lemmon and Jacobsen 2004).
    """
    return in_blocks(lambda T: 1e-6 * polynomial(0.01 * T, _VISCOSITY), temperature_in_range(temperature, on_range))


def thermal_conductivity(temperature: ArrayLike, *, on_range: OnRange = "raise") -> FloatArray:
    """Thermal conductivity of dry air near 1 atm.

    Parameters
    ----------
    temperature : array_like, shape (...)
        Air temperature. [K], 173.15 to 573.15.
    on_range : {"raise", "nan"}
        What to do outside that range.

    Returns
    -------
    ndarray, shape (...)
        Thermal conductivity, within 0.04 % of its source up to 250 degC, 0.15 % up to 300 degC; about 1 % higher at 1 MPa. [W/(m K)]

    Raises
    ------
    OutOfRangeError
        Any value out of range or NaN, and ``on_range="raise"``.

    Source
    ------
    Own cubic fit to CoolProp 8.0.0 (Lemmon and Jacobsen 2004).
    """
    return in_blocks(lambda T: polynomial(0.01 * T, _CONDUCTIVITY), temperature_in_range(temperature, on_range))
