"""Water on the surface of a pellet that takes none up, and the time it needs to evaporate."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from energy.air import moist
from energy.air._ranges import FloatArray as Array
from energy.air._ranges import OnRange, check, floats
from energy.air.constants import LIQUID_WATER_HEAT_CAPACITY, ZERO_CELSIUS


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
    wet_bulb = floats(wet_bulb_temperature)
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
