"""The residence time that reaches a moisture, of many hoppers in a few calls."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from energy.dryers.base import Array
from energy.dryers.way_through_hopper import Pellet, Way, in_bed_for, moisture_left, table_of

QUARTER_HOUR = 900.0  # s
A_DAY = 96.0  # quarter hours
LOOKED_AT = np.array([3.0, 6.0, 11.0, 18.0, 27.0, 38.0, 51.0, 66.0, 82.0, A_DAY])
"""Quarter hours between which others are guessed; a day is the last."""


def times_to(
    target: Array,
    ways: Way,
    pellets: Pellet,
    diffusivity: Array,
    tanks: float,
    worst_now: NDArray[np.int64],
) -> list[float | None]:
    """Of each way the residence time that reaches its target: on a straight line between quarter hours. [s]

    The quarter hours are guessed in the month that is worst now. All months are looked at there, and at other quarter hours
    where the target is not reached between these.

    Parameters
    ----------
    target : ndarray, shape (n,)
        Moisture asked for. [kg/kg dry]
    ways : Way
        Arrays of shape (n, months).
    pellets : Pellet
        Arrays of shape (n,).
    diffusivity : ndarray, shape (n, 1)
        At the reference temperature. [m2/s]
    tanks : float
        Tanks in series. [-]
    worst_now : ndarray of int, shape (n,)
        Month that is worst at the present stay, or likely to be.

    Returns
    -------
    list of float or None
        None where a day does not do. [s]
    """
    found: list[float | None] = [None] * target.size
    if not found:
        return found
    every, of_pellets = table_of(ways), np.array(pellets)
    last = _guessed(target, every[:, np.arange(target.size), worst_now, None], of_pellets, diffusivity, tanks)
    low, high = np.zeros(target.size), np.full(target.size, A_DAY)
    open_ = np.flatnonzero(last < A_DAY)
    while open_.size:
        now, asked = last[open_], target[open_]
        stays = QUARTER_HOUR * np.maximum(now[:, None] + np.arange(2), 1.0)  # the first is the shortest looked at
        wet, dry = most_left(every[:, open_], of_pellets[:, open_], diffusivity[open_], tanks, stays).T
        early, late = dry > asked, (wet <= asked) & (now > 0.0)
        share = np.divide(wet - asked, wet - dry, out=np.zeros(now.size), where=wet > dry)
        there = ~(early | late)
        for place, quarters in zip(open_[there].tolist(), np.maximum(now + share, 1.0)[there].tolist(), strict=True):
            found[place] = QUARTER_HOUR * quarters
        low[open_[early]], high[open_[late]] = now[early] + 1.0, now[late]
        last[open_] = np.clip(now + np.floor(share), low[open_], high[open_] - 1.0)
        open_ = open_[~there & (low[open_] < high[open_])]
    return found


def those(chosen: NDArray[np.int64], ways: Way, pellets: Pellet, diffusivity: Array) -> tuple[Way, Pellet, Array]:
    """Some of several ways, with their diffusivities."""
    return Way(*(part[chosen] for part in ways)), Pellet(*(np.asarray(part)[chosen] for part in pellets)), diffusivity


def most_left(ways: Array, pellets: Array, diffusivity: Array, tanks: float, stays: Array) -> Array:
    """Moisture left in the worst month of each way after other stays, shape (n, times), each in a bed for it. [kg/kg dry]

    Parameters
    ----------
    ways : ndarray, shape (parts, n, months)
    pellets : ndarray, shape (parts, n)
    diffusivity : ndarray, shape (n, 1)
        At the reference temperature. [m2/s]
    tanks : float
        Tanks in series. [-]
    stays : ndarray, shape (n, times) or (1, times)
        Above 0. [s]
    """
    longer = in_bed_for(Way(*ways[..., None]), stays[:, None])
    left = moisture_left(longer, Pellet(*pellets[..., None, None]), diffusivity[..., None], tanks)
    return np.asarray(left.max(axis=1))


def _guessed(target: Array, ways: Array, pellets: Array, diffusivity: Array, tanks: float) -> Array:
    """The last quarter hour that leaves too much in ways of one month, or the next to it; a day where that does not do.

    From some stays: the root of time is a smooth function of the logarithm of what is left of the water that the air can take.
    """
    left = most_left(ways, pellets, diffusivity, tanks, QUARTER_HOUR * LOOKED_AT[None])
    floor, initial = Way(*ways).floor, Way(*ways).initial
    share = (np.column_stack([target, left]) - floor) / np.where(initial > floor, initial - floor, 1.0)
    fallen = -np.log(np.maximum(share, 1e-30))
    # Cubic of the root of time through two on either side.
    four = np.clip(np.sum(left > target[:, None], axis=-1) - 2, 0, LOOKED_AT.size - 4)[:, None] + np.arange(4)
    at = np.take_along_axis(fallen, four + 1, axis=-1)
    apart, itself = at[:, :, None] - at[:, None, :], np.eye(4, dtype=bool)
    ahead = fallen[:, 0, None, None] - at[:, None, :]
    weight = np.where(itself, 1.0, ahead / np.where(apart == 0.0, 1.0, apart)).prod(axis=-1)
    root = np.sum(weight * np.sqrt(LOOKED_AT)[four], axis=-1)
    return np.where(left[:, -1] > target, A_DAY, np.clip(np.ceil(root**2) - 1.0, 0.0, A_DAY - 1.0))
