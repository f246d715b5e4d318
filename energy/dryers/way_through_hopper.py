"""What pellets meet on their way through a hopper, and the moisture it leaves in them: of many hoppers in one call."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from energy.dryers.base import Array
from energy.equipment.hopper import LAST_OF_ALL
from energy.resins import arrhenius, diffusion, residence_spread
from energy.resins.properties import Resin
from energy.sources import load

_NOTHING, _ONE = np.zeros(()), np.ones(())


class Way(NamedTuple):
    """A way through a hopper; arrays that broadcast."""

    stay: Array
    """[s]"""
    warming: Array
    """As HopperState.heating_rate. [-]"""
    initial: Array
    """Moisture of the pellets fed. [kg/kg dry]"""
    floor: Array
    """In equilibrium with the air. [kg/kg dry]"""
    fed: Array
    """Temperature of the pellets fed. [K]"""
    out: Array
    """Temperature of the pellets leaving. [K]"""
    asked: Array = _NOTHING
    """Heat-capacity flow that resin, water and shell ask, over that of the air. [-]"""
    lost: Array = _NOTHING
    """Share of the shell's loss in it. [-]"""
    short: Array = _NOTHING
    """How much colder than the air pellets leave. [K]"""
    over: Array = _NOTHING
    """Air over the least that a bigger hopper is given at least; 0 where the air stays as it is. [-]"""
    built: Array = _ONE
    """Throughput that it is built for, over that of now. [-]"""
    usual: Array = _NOTHING
    """Height up to which a bed has as many transfer units as at that height, over its own; 0: they go by its height. [-]"""


def table_of(ways: Way) -> Array:
    """All parts of ways beside each other, shape (parts, ...)."""
    table = np.empty((len(ways), *np.broadcast(*ways).shape))
    for row, part in zip(table, ways, strict=True):
        row[...] = part
    return table


class Pellet(NamedTuple):
    """What of a resin its diffusion depends on besides the diffusivity; arrays that broadcast with those of a way."""

    radius: Array | float
    length: Array | float
    """[m]"""
    reference_temperature: Array | float
    """Of the diffusivity. [K]"""
    activation_energy: Array | float
    """[J/mol]"""


def pellet_of(resin: Resin) -> Pellet:
    """Of a resin with diffusion data."""
    assert resin.diffusivity_temperature is not None
    assert resin.diffusion_activation_energy is not None
    return Pellet(
        radius=resin.pellet_diameter / 2.0,
        length=resin.pellet_length,
        reference_temperature=resin.diffusivity_temperature,
        activation_energy=resin.diffusion_activation_energy,
    )


def tanks_of(hopper_flow: str) -> float:
    """Tanks in series that stand for a hopper's spread of residence times. [-]"""
    key = "tanks_mass_flow" if hopper_flow == "mass flow" else "tanks_funnel_flow"
    return float(load("factors")[key].si)


def in_bed_for(way: Way, stay: Array) -> Way:
    """The way through a bed of the same proportions for another stay. [s]

    It is as much higher as the root of its volume, and has as many more transfer units once it is higher than usual; its shell
    loses more with its area, so that the air has less to spare for the pellets, until it is given more.
    """
    higher = np.cbrt(stay / way.stay)
    grown = _grown(way, higher)
    asked = grown / np.maximum(_air_for(way, higher), 1.0) * np.maximum(_air_for(way, _ONE), 1.0)
    units = np.maximum(higher, way.usual) / np.maximum(way.usual, 1.0)
    warming = np.maximum(way.warming * units * _spared(asked) / _spared(way.asked), -LAST_OF_ALL)
    enough = (way.asked < 1.0) & (asked < 1.0)
    short = np.where(enough, _steepness(way) * _missed(asked, warming) * grown, way.short)
    return way._replace(stay=stay, asked=asked, warming=warming, out=way.out + way.short - short, short=short)


def _grown(way: Way, higher: Array) -> Array:
    """What is asked of the same air in a bed so much higher. [-]"""
    return np.asarray(way.asked * (1.0 + way.lost * (higher**2 - 1.0)))


def _air_for(way: Way, higher: Array) -> Array:
    """Air that a bed so much higher is built for at least, over that of now. [-]"""
    return np.asarray(way.over * way.asked * ((1.0 - way.lost) * way.built + way.lost * higher**2))


def _spared(asked: Array) -> Array:
    """Heating rate per transfer unit, as in `hopper.heat_balance`: below 0 where more is asked than the air has. [-]"""
    rate = np.where(asked < 1.0, 1.0 - asked, 1.0 / np.maximum(asked, 1.0) - 1.0)
    return np.where(np.abs(rate) < LEAST_SPARED, LEAST_SPARED, rate)


def _missed(asked: Array, warming: Array) -> Array:
    """One less the effectiveness of counterflow with enough air. [-]"""
    passed = np.exp(-np.maximum(warming, 0.0))
    spared = np.maximum(1.0 - asked, LEAST_SPARED)
    return np.asarray(spared * passed / (1.0 - passed + spared * passed))


def _steepness(way: Way) -> Array:
    """How much colder than the air pellets leave, over what is asked and what of it counterflow misses. [K]"""
    missed = way.asked * _missed(way.asked, way.warming)
    known = (missed > 0.0) & (way.warming < AS_WARM)
    return np.where(known, way.short, 0.0) / np.where(known, missed, 1.0)


AS_WARM = 20.0
"""Heating rate from which pellets leave as warm as the air to 1e-6 K: the rest is rounding. [-]"""
LEAST_SPARED = 1e-6
"""Pellets then warm on a straight line. [-]"""
DEPTH = np.linspace(0.0, 1.0, 33) ** 2
"""Points down the bed, close together where the pellets warm up: at its top, or, the other way round, at its bottom where the air is little. [-]"""
COLDEST = 1.0
"""Pellets that are tried, no colder. [K]"""
_BLOCK = 256  # ways at a time, so that their points stay in the processor's cache


def moisture_left(way: Way, pellet: Pellet, diffusivity: Array | float, tanks: float) -> Array:
    """Mean moisture of the pellets leaving. [kg/kg dry]

    The pellet's temperature on its way through the bed enters as the time integral of the diffusivity; the spread of
    residence times as tanks in series.

    Parameters
    ----------
    way : Way
    pellet : Pellet
    diffusivity : array_like, shape (...)
        At the reference temperature. [m2/s]
    tanks : float
        Tanks in series. [-]
    """
    at_warmth = (way.warming, way.fed, way.out, pellet.reference_temperature, pellet.activation_energy)
    passed = way.stay * diffusivity * _mean_diffusivity(*map(np.asarray, at_warmth))
    left = residence_spread.tanks_in_series(diffusion.short_cylinder, passed, tanks, pellet.radius, pellet.length)
    # Resin drier than the air's equilibrium is not wetted here: it keeps its moisture.
    return np.asarray(way.initial + np.minimum(way.floor - way.initial, 0.0) * (1.0 - left))


def _mean_diffusivity(
    rate: Array, fed: Array, out: Array, reference_temperature: Array, activation_energy: Array
) -> Array:
    """Mean over a pellet's way of its diffusivity over that at the reference temperature. [-]"""
    parts = (rate, fed, out, reference_temperature, activation_energy)
    together = np.broadcast(*parts)
    if together.size > _BLOCK:
        flat = [part if part.ndim == 0 else np.broadcast_to(part, together.shape).reshape(-1) for part in parts]
        mean = np.empty(together.size)
        for start in range(0, mean.size, _BLOCK):
            some = slice(start, start + _BLOCK)
            mean[some] = _mean_diffusivity(*(part if part.ndim == 0 else part[some] for part in flat))
        return mean.reshape(together.shape)
    # A shell that loses more than the air brings over a stay that is only tried: so cold that no water moves.
    rate, fed, out = rate[..., None], fed[..., None], np.maximum(out, COLDEST)[..., None]
    depth = DEPTH
    if (rate < 0.0).any():
        depth = np.where(rate < 0.0, 1.0 - DEPTH[::-1], DEPTH)
    warm = fed + (out - fed) * (np.expm1(-rate * depth) / np.expm1(-rate))
    # Stretches are short.
    return arrhenius.diffusion_integral(warm, depth, 1.0, reference_temperature, activation_energy, points=3)


def left_in_months(
    ways: Way, pellets: Pellet, diffusivity: Array, tanks: float
) -> tuple[NDArray[np.int64], NDArray[np.int64], Array]:
    """Moisture left in the months of each of several ways that may be its worst. [kg/kg dry]

    Parameters
    ----------
    ways : Way
        Arrays of shape (n, months).
    pellets : Pellet
        Arrays of shape (n,).
    diffusivity : ndarray, shape (n, several)
        At the reference temperature. [m2/s]
    tanks : float
        Tanks in series. [-]

    Returns
    -------
    row, month : ndarray of int, shape (m,)
        Of each such month, rows in order.
    left : ndarray, shape (m, several)
    """
    together = table_of(ways)
    ways = Way(*together)
    row, month = _unbeaten(ways) if ways.stay.shape[-1] > 1 else np.indices(ways.stay.shape).reshape(2, -1)
    way, pellet = Way(*together[:, row, month, None]), Pellet(*np.array(pellets)[:, row, None])
    return row, month, moisture_left(way, pellet, diffusivity[row], tanks)


def _unbeaten(ways: Way) -> tuple[NDArray[np.int64], NDArray[np.int64]]:
    """Row and month of the months that no other month of the row leaves at least as wet in every respect; rows in order."""
    wetter = np.array([ways.floor, ways.initial, -ways.fed, -ways.out, -ways.warming, -ways.stay])
    as_wet = np.all(wetter[..., :, None] >= wetter[..., None, :], axis=0)  # (row, month, month beaten by it or alike)
    earlier = np.triu(np.ones(as_wet.shape[-2:], dtype=bool), k=1)
    beaten = as_wet & (earlier | ~np.swapaxes(as_wet, -1, -2))
    row, month = np.nonzero(~beaten.any(axis=-2))
    return row, month
