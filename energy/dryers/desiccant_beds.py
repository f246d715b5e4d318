"""The beds of a desiccant circuit: their size, what regeneration leaves on them, and how dry they make the air."""

from __future__ import annotations

import numpy as np

from energy.air import saturation, water_vapour
from energy.dryers.base import Array, Duty
from energy.dryers.circuit_inputs import Inputs
from energy.equipment import regeneration
from energy.equipment.desiccant import Desiccant, equilibrium_pressure, loading
from energy.errors import ModelError
from energy.units import show

DRIEST = float(saturation.saturation_pressure(183.15))
"""Vapour pressure at a frost point of -90 degC: below it no instrument of the trade tells one dryness from another. [Pa]"""
WARMEST_SATURATED = 363.15
"""Near the boiling of water the humidity of saturated air has no end. [K]"""
NEARLY = 0.98
"""Humidity of the dampest air over that of saturated air, by judgement: the rest of the water stays in the pellets. [-]"""
NOTHING = 1e-9
"""Humidity below what anybody could measure. [kg/kg]"""
HALVINGS = 24
"""Of a humidity on a logarithmic scale: from eight decades to a millionth of itself."""
SMALLEST = 1e-150
"""In place of a nought that is divided by; its square is still a number."""


def residual_loading(inputs: Inputs, humidity: Array, pressure: Array, desiccant: Desiccant) -> Array:
    """Water left on the desiccant after regeneration with air of that humidity. [kg/kg]"""
    vapour = water_vapour.vapour_pressure(humidity, pressure)
    return loading(vapour, inputs.regeneration_temperature, desiccant)


def delivered_humidity(
    inputs: Inputs, residual: Array, temperature: Array, pressure: Array, desiccant: Desiccant
) -> Array:
    """Humidity of air leaving the regenerated end of the desiccant, the stated approach above equilibrium. [kg/kg]"""
    vapour = np.maximum(equilibrium_pressure(residual, temperature, desiccant), DRIEST)
    frost = saturation.saturation_temperature(vapour)
    return water_vapour.humidity_ratio(frost + inputs.dew_point_approach, pressure)


def longer_use(bed_use: Array | float, dry: Array, held: Array, feed: Array) -> Array:
    """Water taken up until the outlet has risen to a humidity, over that taken up until it begins to rise. [-]

    Parameters
    ----------
    bed_use : array_like, shape (...)
        Share of the swing used when the front reaches the outlet. [-]
    dry, held, feed : array_like, shape (...)
        Humidity at the outlet before the front, of the set-point, at the inlet. [kg/kg]

    Source
    ------
    A front that rises evenly leaves as much unused as its half length; what is still unused when a share s of it has
    left is (1 - s)^2 of that. Length of unused bed, Collins, J. J., Chem. Eng. Prog. Symp. Ser. 63 (1967), from memory.
    """
    passed = np.clip((held - dry) / np.where(feed > dry, feed - dry, np.inf), 0.0, 1.0)
    return np.asarray((1.0 - (1.0 - np.asarray(bed_use)) * (1.0 - passed) ** 2) / bed_use)


def passed(
    inputs: Inputs,
    asked: Array,
    dry: Array,
    leak: Array,
    residual: Array,
    mass: Array,
    temperature: Array,
    coldest: Array,
    pressure: Array,
    desiccant: Desiccant,
) -> Array:
    """Humidity that passes the desiccant on the mean of a cycle, since it cannot hold the water that comes. [kg/kg]

    What passes comes back with the return air, so that the desiccant holds more of damper air and the leak carries more water
    out: the humidity at which all three agree is looked for by halving, since what passes falls with it.

    Parameters
    ----------
    inputs : Inputs
    asked : ndarray, shape (...)
        Water to take up where none passes, per process air. [kg/kg]
    dry : ndarray, shape (...)
        Humidity of what leaves before the front. [kg/kg]
    leak : ndarray, shape (...)
        Share of the return air that leaves and is replaced by hall air. [-]
    residual : ndarray, shape (...)
        Left after regeneration. [kg/kg]
    mass : ndarray, shape (...)
        Desiccant regenerated per cycle, over the process air of a cycle. [kg/kg]
    temperature : ndarray, shape (...)
        Of the air that comes. [K]
    coldest : ndarray, shape (...)
        Where the air is coldest on its way round the circuit; nowhere is it damper than nearly saturated there. [K]
    pressure : ndarray, shape (...)
        [Pa]
    desiccant : Desiccant
    """

    def held(more: Array | float) -> Array:
        vapour = water_vapour.vapour_pressure(dry + asked + more, pressure)
        return np.asarray((loading(vapour, temperature, desiccant) - residual) * mass)

    over = asked > inputs.bed_use * held(0.0)
    if not over.any():
        return 0.0 * asked
    stays = 1.0 - leak
    saturated = water_vapour.humidity_ratio(np.minimum(coldest, WARMEST_SATURATED), pressure)
    most = NEARLY * saturated - dry - asked / stays
    low = np.full(np.shape(over), NOTHING)
    high = np.maximum(most, NOTHING) + 0.0 * low
    for _ in range(HALVINGS):
        middle = np.sqrt(low * high)
        more = _past_the_front(inputs.bed_use, asked, held(stays * middle), leak) > middle
        low, high = np.where(more, middle, low), np.where(more, high, middle)
    return np.where(over, high, 0.0)


def _past_the_front(bed_use: Array | float, asked: Array, held: Array, leak: Array) -> Array:
    """Humidity that passes where that much is held in a cycle, on its mean. [kg/kg]

    The front of :func:`longer_use` begins to leave at `bed_use` of what the desiccant holds, at a time t (of that which the
    water that comes takes to fill it) equal to `bed_use`. From then on what is still free shrinks with its own root: of the
    rest q = 1 - `bed_use` a part (1 - x)^2 is free at t = `bed_use` + 2 q x, and at x = 1 all is full. With a share l of
    what passes leaking out on its way back, what is asked over what is held is `bed_use` + 2 q x - (1 - l) q x^2; beyond
    x = 1 only the leak carries water out.
    """
    rest, stays = 1.0 - np.asarray(bed_use), 1.0 - leak
    filled = asked / np.maximum(held, SMALLEST)
    x = (1.0 - np.sqrt(np.maximum(1.0 - stays * (filled - bed_use) / np.maximum(rest, SMALLEST), 0.0))) / stays
    beyond = (asked - held) / np.maximum(leak, SMALLEST)
    return np.where(x < 1.0, held * rest * np.maximum(x, 0.0) ** 2, beyond)


def design_hall(inputs: Inputs, duty: Duty) -> Array:
    """Dew point of the hall that beds are sized for; of a machine still to be built at least that of the most humid month. [K]"""
    asked = np.asarray(inputs.design_hall_dew_point)
    return np.where(duty.stands, asked, np.maximum(asked, duty.built_for.hall_dew_point))


def design_swing(
    inputs: Inputs, water: Array, air_flow: Array, hall: Array, pressure: Array, desiccant: Desiccant
) -> Array:
    """Water that a bed takes up in a cycle by design: the used share of the swing at the warmest inlet.

    Parameters
    ----------
    inputs : Inputs
    water : ndarray
        To be taken up. [kg/s]
    air_flow : ndarray
        Dry process air. [kg/s]
    hall : ndarray
        Humidity of the air that regenerates. [kg/kg]
    pressure : ndarray
        [Pa]
    desiccant : Desiccant

    Returns
    -------
    ndarray
        Below 0 where air so warm dries the desiccant instead. [kg/kg]
    """
    feed = loading(water_vapour.vapour_pressure(water / air_flow, pressure), inputs.adsorption_limit, desiccant)
    return np.asarray(inputs.bed_use * (feed - residual_loading(inputs, hall, pressure, desiccant)))


def shortest_cycle(inputs: Inputs, water: Array, holds: Array | None) -> tuple[Array | float, Array | None]:
    """Shortest time between changes of a bed, and the water that beds changed so often take up. [s], [kg/s]

    The timer's. Beds that are not sized for the water and are changed by dew point are left on until they are full, however
    short the timer was: as much longer may their heating take. None: what they are sized for.

    Parameters
    ----------
    inputs : Inputs
    water : ndarray
        The most that comes. [kg/s]
    holds : ndarray or None
        Water that a bed takes up in a cycle by design. [kg]
    """
    if holds is None:
        return inputs.cycle_time, None
    timed = np.asarray(inputs.regeneration_control) == "timer"
    full = holds / np.maximum(water, SMALLEST)
    cycle = np.where(timed, inputs.cycle_time, np.maximum(inputs.cycle_time, full))
    return cycle, np.maximum(holds / cycle, SMALLEST)


def design_mass(inputs: Inputs, water: Array, swing: Array) -> Array:
    """Desiccant in one bed that takes up a cycle's water with that swing.

    Parameters
    ----------
    inputs : Inputs
    water : ndarray
        To be taken up. [kg/s]
    swing : ndarray
        See :func:`design_swing`. [kg/kg]

    Returns
    -------
    ndarray
        [kg]

    Raises
    ------
    ModelError
        The desiccant takes up nothing between these temperatures.
    """
    if np.any(swing <= 0):
        raise ModelError(
            "the desiccant takes up no water between "
            f"{show(float(np.max(inputs.adsorption_limit)), 'temperature', 'si')} at the inlet and regeneration at "
            f"{show(float(np.min(inputs.regeneration_temperature)), 'temperature', 'si')}; "
            "regenerate hotter or cool the inlet",
            swing <= 0,
        )
    return regeneration.bed_mass(water, inputs.cycle_time, swing)
