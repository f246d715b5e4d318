"""Blowers, their motors and drives."""

from __future__ import annotations

from functools import lru_cache

import numpy as np
from numpy.typing import ArrayLike, NDArray

from energy.air import compression
from energy.air._ranges import floats
from energy.errors import OutOfRangeError, UnknownNameError, nearest
from energy.sources import load

Array = NDArray[np.float64]


def shaft_power(
    volume_flow: ArrayLike, pressure_rise: ArrayLike, inlet_pressure: ArrayLike, efficiency: ArrayLike
) -> Array:
    """Power at the blower shaft, isentropic work over efficiency.

    For small pressure rises this is volume flow times pressure rise; at 5 kPa it is 2 % less, at 20 kPa 6 % less.

    Parameters
    ----------
    volume_flow : array_like, shape (...)
        At the inlet. [m3/s]
    pressure_rise, inlet_pressure : array_like, shape (...)
        [Pa], [Pa absolute]
    efficiency : array_like, shape (...)
        Isentropic efficiency of the blower. [-]

    Returns
    -------
    ndarray, shape (...)
        [W]
    """
    p = floats(inlet_pressure)
    return (
        np.asarray(volume_flow) * compression.isentropic_work(p, p + np.asarray(pressure_rise)) / np.asarray(efficiency)
    )


@lru_cache
def _motor_table() -> tuple[dict[str, Array], Array]:
    """Efficiencies of each class [-], and the logarithms of the rated powers that they belong to [kW]."""
    data = load("motors")
    columns = ("power", "IE1", "IE2", "IE3", "IE4")
    rows = [*data["small_motors"].value, *data["motors"].value]  # type: ignore[misc]
    powers, *efficiencies = np.array(rows, float).T
    return dict(zip(columns[1:], np.divide(efficiencies, 100.0), strict=True)), np.log(powers)


def motor_classes() -> tuple[str, ...]:
    """Efficiency classes that the motor table knows."""
    return tuple(_motor_table()[0])


def drive_efficiency(load_share: ArrayLike) -> Array:
    """Efficiency of a variable-speed drive at a share of its motor's rated power.

    Parameters
    ----------
    load_share : array_like, shape (...)
        Held at the ends of the table, 0.016 and 1. [-]

    Returns
    -------
    ndarray, shape (...)
        [-]

    Source
    ------
    Generic table for pulse-width drives, 7.5 kW row (see data/motors.toml).
    """
    rows = np.array(load("motors")["drives"].value, float)
    return np.interp(floats(load_share), rows[:, 0], rows[:, 1])


def motor_efficiency(rated_power: ArrayLike, efficiency_class: str | NDArray[np.str_]) -> Array:
    """Nominal efficiency of a 4-pole 50 Hz motor, interpolated over the logarithm of rated power.

    Parameters
    ----------
    rated_power : array_like, shape (...)
        0.12 to 1000 kW; the last row of the table holds from 200 kW up. [W]
    efficiency_class : {"IE1", "IE2", "IE3", "IE4"}, or an array of them, shape (...)

    Returns
    -------
    ndarray, shape (...)
        [-]

    Raises
    ------
    OutOfRangeError
        Rated power outside the table.
    UnknownNameError
        Unknown class.

    Source
    ------
    IEC 60034-30-1:2014, nominal efficiency limits (see data/motors.toml).
    """
    efficiencies, powers = _motor_table()
    classes = sorted({*np.ravel(efficiency_class).tolist()})
    for name in classes:
        if name not in motor_classes():
            known = motor_classes()
            raise UnknownNameError(f"motor class '{name}' is not one of {', '.join(known)}{nearest(name, known)}")
    kw = floats(rated_power) / 1e3
    if (kw > 1000.0).any():
        raise OutOfRangeError(f"rated motor power = {np.max(kw):.4g} kW is above 1000 kW, the range of IEC 60034-30-1")
    # Below the smallest row the standard says nothing; the smallest motor is then the one that is built in.
    place = np.log(np.maximum(kw, np.exp(powers[0])))
    efficiency, *others = (np.interp(place, powers, efficiencies[name]) for name in classes)
    for name, other in zip(classes[1:], others, strict=True):
        efficiency = np.where(np.asarray(efficiency_class) == name, other, efficiency)
    return efficiency
