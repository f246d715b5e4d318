"""The compressor house: what a cubic metre of compressed air costs in electricity."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

from energy.air import compression
from energy.air._ranges import floats
from energy.errors import OutOfRangeError, UnknownNameError, nearest
from energy.sources import load
from energy.units.kinds import STANDARD_ATMOSPHERE

Array = NDArray[np.float64]

CONTROLS = ("modulating", "load-unload", "variable-speed", "full load")
"""Controls; under "full load" power follows the flow, as if full-load specific power held at every load."""

FREE_AIR_PRESSURE = 1.0e5  # Pa, ISO 1217 reference inlet
FREE_AIR_TEMPERATURE = 293.15  # K, ISO 1217 reference inlet
FREE_AIR_DENSITY = FREE_AIR_PRESSURE / (287.042 * FREE_AIR_TEMPERATURE)  # kg/m3, dry


def free_air_flow(dry_air_flow: ArrayLike) -> Array:
    """Volume at 1 bar(a) and 20 degC, the reference of ISO 1217. [kg/s] to [m3/s]"""
    return np.asarray(dry_air_flow) / FREE_AIR_DENSITY


def inlet_pressure(atmospheric_pressure: ArrayLike) -> Array:
    """Pressure of the air that a compressor takes in at a site. [Pa]

    Notes
    -----
    The reference inlet of ISO 1217, thinned as the site's air is against sea level's: at sea level a data sheet holds
    as it is printed, although its 1 bar is 1.3 % below the air there.
    """
    return np.asarray(FREE_AIR_PRESSURE * np.asarray(atmospheric_pressure) / STANDARD_ATMOSPHERE)


def least_work(discharge_pressure: ArrayLike, inlet: ArrayLike = FREE_AIR_PRESSURE) -> Array:
    """Isentropic work in one stage per volume of free air, which stands for a mass.

    Parameters
    ----------
    discharge_pressure : array_like, shape (...)
        [Pa absolute]
    inlet : array_like, shape (...), optional
        Pressure of the air taken in; the reference of ISO 1217 when left out. [Pa absolute]

    Returns
    -------
    ndarray, shape (...)
        [J/m3]
    """
    taken_in = FREE_AIR_PRESSURE / np.asarray(inlet)  # volume of it that holds a volume of free air, both at 20 degC
    return np.asarray(compression.isentropic_work(inlet, discharge_pressure) * taken_in)


def specific_power_from_efficiency(
    discharge_pressure: ArrayLike, isentropic_efficiency: ArrayLike, inlet: ArrayLike = FREE_AIR_PRESSURE
) -> Array:
    """Package specific power from isentropic work.

    Parameters
    ----------
    discharge_pressure : array_like, shape (...)
        [Pa absolute]
    isentropic_efficiency : array_like, shape (...)
        Of the whole package: air end, motor, fans, drive. [-]
    inlet : array_like, shape (...), optional
        As of :func:`least_work`.

    Returns
    -------
    ndarray, shape (...)
        Electricity per volume of free air delivered. [J/m3]
    """
    return least_work(discharge_pressure, inlet) / np.asarray(isentropic_efficiency)


def implied_efficiency(
    specific_power: ArrayLike, discharge_pressure: ArrayLike, inlet: ArrayLike = FREE_AIR_PRESSURE
) -> Array:
    """Isentropic efficiency that a package specific power amounts to. [-]"""
    return least_work(discharge_pressure, inlet) / np.asarray(specific_power)


def work_over_rated(discharge_pressure: ArrayLike, atmospheric_pressure: ArrayLike) -> Array:
    """Specific power at a site over that of the data sheet: a package of one efficiency at the same gauge pressure. [-]

    Parameters
    ----------
    discharge_pressure : array_like, shape (...)
        At the site. [Pa absolute]
    atmospheric_pressure : array_like, shape (...)
        Of the site. [Pa]

    Returns
    -------
    ndarray, shape (...)
        1 at sea level.
    """
    rated = np.asarray(discharge_pressure) - np.asarray(atmospheric_pressure) + STANDARD_ATMOSPHERE
    return np.asarray(least_work(discharge_pressure, inlet_pressure(atmospheric_pressure)) / least_work(rated))


def idle_share(control: str) -> tuple[float, float, float]:
    """Power at no flow over full-load power: low, likely, high. [-]

    Raises
    ------
    UnknownNameError
        Not one of ``CONTROLS``.

    Source
    ------
    data/compressors.toml.
    """
    if control not in CONTROLS:
        raise UnknownNameError(
            f"compressor control '{control}' is not one of {', '.join(CONTROLS)}{nearest(control, CONTROLS)}"
        )
    if control == "full load":
        return 0.0, 0.0, 0.0
    stored = load("compressors")[control]
    assert stored.si_low is not None
    assert stored.si_high is not None
    return stored.si_low, stored.si, stored.si_high


def power_share(load_share: ArrayLike, control: str) -> Array:
    """Power over full-load power at a share of full flow.

    Parameters
    ----------
    load_share : array_like, shape (...)
        Flow delivered over full flow, 0 to 1. [-]
    control : {"modulating", "load-unload", "variable-speed", "full load"}

    Returns
    -------
    ndarray, shape (...)
        [-]

    Notes
    -----
    A straight line from the idle share to 1. Its tolerance is that of :func:`idle_share`, less towards full flow.
    """
    _, idle, _ = idle_share(control)
    return idle + (1.0 - idle) * np.asarray(load_share)


def marginal_share(control: str) -> float:
    """Power of one more cubic metre over the full-load specific power: the slope of :func:`power_share`."""
    return 1.0 - idle_share(control)[1]


def house_power(flow: ArrayLike, capacity: ArrayLike, specific_power: ArrayLike, control: str) -> Array:
    """Electricity of a compressor house.

    Parameters
    ----------
    flow : array_like, shape (...)
        Free air delivered by the compressors, 0 or more. What exceeds the capacity is taken from a further machine of
        the same specific power, running full. [m3/s]
    capacity : array_like, shape (...)
        Free air at full load, more than 0. [m3/s]
    specific_power : array_like, shape (...)
        At full load. [J/m3]
    control : str
        One of ``CONTROLS``.

    Returns
    -------
    ndarray, shape (...)
        [W]

    Raises
    ------
    OutOfRangeError
        A flow below 0 or a capacity that is not above it.
    """
    q, full = floats(flow), floats(capacity)
    if np.any(q < 0.0) or np.any(full <= 0.0):
        raise OutOfRangeError("a flow of compressed air must be 0 or more, and the capacity more than 0")
    within = np.minimum(q, full)
    return np.asarray(np.asarray(specific_power) * (full * power_share(within / full, control) + q - within))


def marginal_power(
    flow: ArrayLike, added_flow: ArrayLike, capacity: ArrayLike, specific_power: ArrayLike, control: str
) -> Array:
    """Electricity that an added flow takes, per volume added: what the average of all air does not tell.

    Parameters
    ----------
    flow : array_like, shape (...)
        Free air delivered now. [m3/s]
    added_flow : array_like, shape (...)
        On top of it; negative where flow falls away, not 0. [m3/s]
    capacity, specific_power, control
        As of :func:`house_power`.

    Returns
    -------
    ndarray, shape (...)
        [J/m3]

    Raises
    ------
    OutOfRangeError
        As :func:`house_power`, and for no added flow.
    """
    q, more = floats(flow), floats(added_flow)
    if np.any(more == 0.0):
        raise OutOfRangeError("no flow is added; what a further cubic metre takes is marginal_share x specific power")
    after = house_power(q + more, capacity, specific_power, control)
    return np.asarray((after - house_power(q, capacity, specific_power, control)) / more)


def pressure_saving(
    supply_pressure: ArrayLike, needed_pressure: ArrayLike, inlet: ArrayLike = FREE_AIR_PRESSURE
) -> Array:
    """Share of the compressors' work spared if they delivered at the pressure needed; negative where that is higher.

    Parameters
    ----------
    supply_pressure, needed_pressure : array_like, shape (...)
        Absolute. [Pa], not below the inlet.
    inlet : array_like, shape (...), optional
        As of :func:`least_work`.

    Returns
    -------
    ndarray, shape (...)
        [-]

    Source
    ------
    Isentropic work. The rule of the trade, 1 % per 2 psi, agrees near 100 psig.
    """
    return np.asarray(1.0 - least_work(needed_pressure, inlet) / least_work(supply_pressure, inlet))


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
    power = floats(shaft_power) * floats(power_share_at_load) / floats(motor_efficiency)
    time = floats(hours) * floats(time_share)
    return np.asarray(power * time * floats(price))
