"""The compressor house: what a cubic metre of compressed air costs in electricity."""

from __future__ import annotations

from typing import Literal

import numpy as np
from numpy.typing import ArrayLike, NDArray

from energy.air import compression
from energy.errors import UnknownNameError, nearest

Array = NDArray[np.float64]
Control = Literal["modulating", "load-unload", "variable-speed"]

FREE_AIR_PRESSURE = 1.0e5  # Pa, ISO 1217 reference inlet
FREE_AIR_TEMPERATURE = 293.15  # K, ISO 1217 reference inlet
FREE_AIR_DENSITY = FREE_AIR_PRESSURE / (287.042 * FREE_AIR_TEMPERATURE)  # kg/m3, dry

# Power at no flow as a share of full power; the rest rises in proportion to the flow delivered.
# Modulating 0.70 + 0.30 c: read ("modulation at 50 % is about 85 %"). Ideal load/unload 0.25 + 0.75 c and
# variable speed 0.10 + 0.90 c: common practice, from memory; the drive's own loss is in the package figure.
IDLE_SHARE: dict[str, float] = {"modulating": 0.70, "load-unload": 0.25, "variable-speed": 0.10}


def free_air_flow(dry_air_flow: ArrayLike) -> Array:
    """Volume at 1 bar(a) and 20 degC, the reference of ISO 1217. [kg/s] to [m3/s]"""
    return np.asarray(dry_air_flow) / FREE_AIR_DENSITY


def specific_power_from_efficiency(discharge_pressure: ArrayLike, isentropic_efficiency: ArrayLike) -> Array:
    """Package specific power from isentropic work at the ISO 1217 reference inlet.

    Parameters
    ----------
    discharge_pressure : array_like, shape (...)
        [Pa absolute]
    isentropic_efficiency : array_like, shape (...)
        Of the whole package: air end, motor, fans, drive. [-]

    Returns
    -------
    ndarray, shape (...)
        Electricity per volume of free air delivered. [J/m3]
    """
    return compression.isentropic_work(FREE_AIR_PRESSURE, discharge_pressure) / np.asarray(isentropic_efficiency)


def implied_efficiency(specific_power: ArrayLike, discharge_pressure: ArrayLike) -> Array:
    """Isentropic efficiency that a package specific power amounts to. [-]"""
    return compression.isentropic_work(FREE_AIR_PRESSURE, discharge_pressure) / np.asarray(specific_power)


def _idle_share(control: str) -> float:
    if control not in IDLE_SHARE:
        known = tuple(IDLE_SHARE)
        raise UnknownNameError(
            f"compressor control '{control}' is not one of {', '.join(known)}{nearest(control, known)}"
        )
    return IDLE_SHARE[control]


def power_share(load_share: ArrayLike, control: str) -> Array:
    """Power over full-load power at a share of full flow.

    Parameters
    ----------
    load_share : array_like, shape (...)
        Flow delivered over full flow, 0 to 1. [-]
    control : {"modulating", "load-unload", "variable-speed"}

    Returns
    -------
    ndarray, shape (...)
        [-]
    """
    idle = _idle_share(control)
    return idle + (1.0 - idle) * np.asarray(load_share)


def marginal_share(control: str) -> float:
    """Power of one more cubic metre over the full-load specific power: the slope of :func:`power_share`."""
    return 1.0 - _idle_share(control)


def motor_energy_cost(
    shaft_power: ArrayLike,
    hours: ArrayLike,
    price: ArrayLike,
    time_share: ArrayLike,
    power_share_at_load: ArrayLike,
    motor_efficiency: ArrayLike,
) -> Array:
    """Yearly electricity cost of a compressor in one load state.

    Parameters
    ----------
    shaft_power : array_like, shape (...)
        At full load. [W]
    hours : array_like, shape (...)
        Of operation a year. [s]
    price : array_like, shape (...)
        [money/J]
    time_share, power_share_at_load, motor_efficiency : array_like, shape (...)
        Share of the hours in this state, its share of full power, and the motor's efficiency there. [-]

    Returns
    -------
    ndarray, shape (...)
        [money]

    Source
    ------
    US DOE Compressed Air Tip Sheet 1, "Determine the Cost of Compressed Air for Your Plant".
    """
    power = (
        np.asarray(shaft_power, float) * np.asarray(power_share_at_load, float) / np.asarray(motor_efficiency, float)
    )
    time = np.asarray(hours, float) * np.asarray(time_share, float)
    return np.asarray(power * time * np.asarray(price, float))
