"""Water that stays in the pellets of a machine of which more is asked than it was built for."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
from numpy.typing import NDArray

from energy.air import water_vapour
from energy.dryers.base import Array, Duty, Inputs
from energy.dryers.way_through_hopper import Way, moisture_left, pellet_of, tanks_of
from energy.equipment.hopper import HopperState
from energy.resins import sorption

Balance = Callable[[Array, Array], HopperState]
"""The hopper's heat balance at a throughput [kg/s] and a final moisture [kg/kg dry]."""
STEPS = 8
"""At most, of secants; four or five do."""
NEAR = 1e-9
"""Of the share of the water that leaves."""
LINEAR = 1e-6
"""Heating rate of pellets that warm in proportion to their way."""


def state_of(inputs: Inputs, duty: Duty, air_temperature: Array, humidity: Array, balance: Balance) -> HopperState:
    """The hopper's state with the water that leaves as warm as its pellets get and as long as they stay.

    Drying time and temperature of practice are taken to bring the pellets to their final moisture in any machine that is big
    enough. One that is there already and is asked for more than it was built for, or has not the air to heat them, takes out
    less: in the proportion in which the moisture predicted for its pellets has fallen there and would fall in a machine
    that is big enough. Of a resin without diffusion data all the water leaves.

    Parameters
    ----------
    inputs : Inputs
    duty : Duty
    air_temperature, humidity : array_like, shape (...)
        Of the process air. [K], [kg/kg]
    balance : callable

    Returns
    -------
    HopperState

    Source
    ------
    Diffusion as in `way_through_hopper`; that practice's recipe does in a machine big enough is a judgement.
    """
    state = balance(duty.throughput, duty.final_moisture)
    if not np.asarray(duty.stands).any():
        return state
    beyond = _beyond(duty, state)
    if not beyond.any():
        return state
    given, asked = (np.broadcast_to(part, beyond.shape) for part in (duty.initial_moisture, duty.final_moisture))
    left = _prediction(inputs, duty, humidity, beyond)
    enough = balance(duty.built_for.design_throughput, duty.final_moisture)
    cold = enough.capacity_ratio < 1.0
    at_best = left(
        duty.residence_time,
        np.where(cold, LINEAR, enough.heating_rate),
        np.where(cold, air_temperature, enough.resin_outlet_temperature),
    )
    most = given[beyond] - np.maximum(asked[beyond], at_best)

    stay = duty.residence_time * duty.design_throughput / np.where(beyond, duty.throughput, 1.0)

    def leaving(share: Array) -> tuple[Array, HopperState]:
        """The share that leaves pellets as warm as the hopper is where that share leaves, and the hopper's state."""
        final = np.array(asked)
        final[beyond] = given[beyond] - share * (given - asked)[beyond]
        now = balance(duty.throughput, final)
        gone = given[beyond] - left(stay, now.heating_rate, now.resin_outlet_temperature)
        return np.clip(np.divide(gone, most, out=np.ones_like(most), where=most > 0.0), 0.0, 1.0), now

    # The more water leaves, the colder the pellets: what leaves less what was taken to falls at least as fast as that rises.
    before = np.ones_like(most)
    share, state = leaving(before)
    miss_before = share - before
    found = np.zeros(most.shape, dtype=bool)  # each for itself, so that no hopper hangs on those beside it
    for _ in range(STEPS):
        told, state = leaving(share)
        miss, moved = told - share, share - before
        found |= np.abs(miss) <= NEAR
        if found.all():
            break
        slope = np.divide(miss - miss_before, moved, out=np.full_like(moved, -1.0), where=moved != 0.0)
        before, miss_before = share, miss
        share = np.where(found, share, np.clip(share - miss / np.minimum(slope, -1.0), 0.0, 1.0))
    return state


def _beyond(duty: Duty, state: HopperState) -> NDArray[np.bool_]:
    """Where a machine that stands there gets more resin than it was built for, or than its air heats."""
    resin = duty.resin
    known = np.isfinite(np.asarray(resin.diffusivity, dtype=float)) & np.asarray(resin.hygroscopic, dtype=bool)
    known = known & np.asarray(duty.stands, dtype=bool) & (np.asarray(duty.throughput) > 0.0)
    more = duty.throughput > duty.built_for.design_throughput * (1.0 + NEAR)
    beyond = known & (more | (state.capacity_ratio < 1.0))
    return np.broadcast_arrays(beyond, state.return_temperature, state.return_humidity)[0]


def _prediction(
    inputs: Inputs, duty: Duty, humidity: Array, at: NDArray[np.bool_]
) -> Callable[[Array, Array, Array], Array]:
    """Moisture left in the pellets by their stay [s], heating rate and temperature leaving [K], at some places. [kg/kg dry]"""
    resin = duty.resin

    def there(part: Array | float) -> Array:
        return np.asarray(np.broadcast_to(part, at.shape)[at], dtype=float)

    pellet = pellet_of(resin)
    pellet = type(pellet)(*(there(part) for part in pellet))
    assert resin.diffusivity is not None
    diffusivity, tanks, initial = there(resin.diffusivity), tanks_of(inputs.hopper_flow), there(duty.initial_moisture)
    floor = np.zeros_like(initial)
    if resin.sorption_slope is not None:
        dew_point = water_vapour.dew_point(humidity, duty.pressure)
        floor = there(sorption.equilibrium_moisture(duty.drying_temperature, dew_point, resin.sorption_slope))

    fed = there(duty.resin_temperature)

    def left(stay: Array, warming: Array, out: Array) -> Array:
        # Where more water is tried than their heat could turn to vapour, pellets stay as they came.
        way = Way(there(stay), there(warming), initial, floor, fed, np.maximum(there(out), fed))
        return moisture_left(way, pellet, diffusivity, tanks)

    return left
