"""Moisture of the pellets leaving: the prediction with its band, its floor, and the time that would do."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from energy.air import transport, water_vapour
from energy.air.wet_bulb import wet_bulb_temperature
from energy.dryers.base import AIR_PER_RESIN, Array, Duty, Inputs, Operation
from energy.dryers.hopper_sizing import USUAL_HEIGHT, bed_height, least_ratio
from energy.dryers.pellet_bed import pellet_size
from energy.dryers.way_through_hopper import (
    Pellet,
    Way,
    in_bed_for,
    left_in_months,
    moisture_left,
    pellet_of,
    table_of,
    tanks_of,
)
from energy.resins import arrhenius, diffusion, sorption, surface_water
from energy.resins.properties import Resin
from energy.study.extremes import highest, lowest
from energy.study.hours_needed import those, times_to

ALWAYS = 1e9
"""In place of the usual height of a bed, over its own: what is no bed warms in the same part of its time, however long that is. [-]"""
UNKNOWN_SPREAD = 5.0  # factor either way of a diffusivity typed in without a range, as reference C2 gives most resins


@dataclass(frozen=True, slots=True, kw_only=True)
class Moisture:
    """Moisture of the pellets leaving, in its worst month; dry basis. None where the resin's data do not tell."""

    target: float
    predicted: float | None = None
    low: float | None = None
    """With the fastest diffusion of the stated range."""
    high: float | None = None
    """With the slowest."""
    floor: float | None
    """In equilibrium with the process air."""
    residence: float
    """Of a pellet at the present throughput. [s]"""
    diffusion_time: float | None = None
    """A warm pellet needs to the target, all pellets alike: a lower bound. [s]"""
    needed: float | None = None
    """Residence that reaches the target on the best estimate; None where it is reached or a day does not do. [s]"""
    needed_surely: float | None = None
    """The same with the slowest diffusion of the range. [s]"""

    @property
    def expected(self) -> bool:
        """Does the best estimate reach the target? True also where no estimate can be made."""
        return self.predicted is None or self.predicted <= self.target


def two_digits_up(value: float) -> str:
    """A number above 0 to the next of two digits: a time that is a little short does not do."""
    step = 10.0 ** (math.floor(math.log10(value)) - 1)
    up = step * math.ceil(value / step - 1e-9)
    return f"{up:.2g}" if up < 100.0 else f"{up:.0f}"


def residence_time(duty: Duty, operation: Operation) -> Array:
    """Of a pellet now: the type's own, or of the hopper that is built for the design throughput. [s]"""
    if operation.residence_time is not None:
        return operation.residence_time
    return duty.residence_time * duty.design_throughput / duty.throughput


def diffusivities(resin: Resin) -> tuple[float, float, float] | None:
    """Diffusivity slow, likely, fast at its reference temperature. [m2/s]"""
    if resin.diffusivity is None:
        return None
    if (known := resin.range_of("diffusivity")) is not None:
        return known[0], resin.diffusivity, known[1]
    return resin.diffusivity / UNKNOWN_SPREAD, resin.diffusivity, resin.diffusivity * UNKNOWN_SPREAD


def floor_moisture(duty: Duty, operation: Operation) -> Array | None:
    """Moisture in equilibrium with the air entering the hopper. [kg/kg dry]"""
    resin = duty.resin
    if resin.sorption_slope is None:
        return None
    return np.asarray(
        sorption.equilibrium_moisture(duty.drying_temperature, operation.delivered_dew_point, resin.sorption_slope)
    )


def remaining_moisture(duty: Duty, operation: Operation, diffusivity: Array | float, tanks: float) -> Array:
    """Mean moisture of the pellets leaving. [kg/kg dry]

    Parameters
    ----------
    duty : Duty
        Of a resin with diffusion data.
    operation : Operation
    diffusivity : float
        At the resin's reference temperature. [m2/s]
    tanks : float
        Tanks in series. [-]
    """
    way = _way(duty, operation, floor_moisture(duty, operation))
    return moisture_left(way, pellet_of(duty.resin), diffusivity, tanks)


def moisture_at(duty: Duty, operation: Operation, inputs: Inputs, diffusivity: float, times: Array) -> Array:
    """The same after other residence times, each in a hopper of that size, in the month that leaves most moisture at it. [kg/kg dry]

    Parameters
    ----------
    duty : Duty
        Of a resin with diffusion data.
    operation : Operation
    inputs : Inputs
    diffusivity : float
        At the resin's reference temperature. [m2/s]
    times : ndarray, shape (n,)
        Above 0. [s]

    Returns
    -------
    ndarray, shape (n,)
    """
    way = _way_to_change(duty, operation, floor_moisture(duty, operation), inputs)
    months = np.unique(table_of(way), axis=-1)  # months alike once
    longer = in_bed_for(Way(*months), np.asarray(times)[:, None])
    return moisture_left(longer, pellet_of(duty.resin), diffusivity, tanks_of(inputs.hopper_flow)).max(axis=-1)


def _way(duty: Duty, operation: Operation, floor: Array | None) -> Way:
    return Way(
        stay=residence_time(duty, operation),
        warming=operation.hopper.heating_rate,
        initial=np.asarray(duty.initial_moisture),
        floor=np.zeros(duty.throughput.shape) if floor is None else floor,
        fed=np.asarray(duty.resin_temperature),
        out=operation.hopper.resin_outlet_temperature,
    )


def _way_to_change(duty: Duty, operation: Operation, floor: Array | None, inputs: Inputs) -> Way:
    """The way with what it becomes of in a bed for another stay."""
    return Way(*_ways_to_change([(duty, operation, inputs)], [floor])[:, 0])


def _ways_to_change(hoppers: Sequence[tuple[Duty, Operation, Inputs]], floors: Sequence[Array | None]) -> Array:
    """The parts of those of several hoppers, shape (parts, n, months)."""
    table = np.empty((len(Way._fields), len(hoppers), hoppers[0][0].throughput.shape[-1]))
    for i, ((duty, operation, inputs), floor) in enumerate(zip(hoppers, floors, strict=True)):
        state = operation.hopper
        now = (
            *_way(duty, operation, floor)[:6],
            state.capacity_ratio,  # what is asked, the other way round
            state.loss_share,
            duty.drying_temperature - state.resin_outlet_temperature,
            _over_least(duty, operation, inputs),
            duty.built_for.design_throughput / duty.throughput,
            USUAL_HEIGHT / bed_height(inputs, duty) if inputs.DRIES_IN_HOPPER else ALWAYS,
        )
        for row, part in zip(table[:, i], now, strict=True):
            row[...] = part
    ways = Way(*table)
    np.divide(1.0, ways.asked, out=ways.asked)
    ways.short[...] = np.where(np.isfinite(ways.asked), np.maximum(ways.short, 0.0), 0.0)
    return table


def gets_usual_air(inputs: Inputs, resin: Resin, operation: Operation) -> bool:
    """Has a dryer the air that is usual for the resin, and no more for what its hopper takes, so that a bigger one may get more?

    What is usual of compressed air is so much over the least; one that is given more, to warm its pellets, is given less in a bigger hopper.
    """
    if inputs.air_resin_ratio is not None:
        return False
    if inputs.AIR_IS_DEAR:
        return lowest(operation.hopper.capacity_ratio) <= 1.001 * highest(inputs.air_over_least)
    given = operation.details.get(AIR_PER_RESIN)
    return given is None or highest(given) <= resin.usual_air * 1.001


def _over_least(duty: Duty, operation: Operation, inputs: Inputs) -> float:
    """What a bigger hopper is given of air, over the least: as much over it as this one, which has more than is usual; 0 where it is stated. [-]"""
    if inputs.air_resin_ratio is not None:
        return 0.0
    if not inputs.DRIES_IN_HOPPER or gets_usual_air(inputs, duty.resin, operation):
        return lowest(inputs.air_over_least)
    over = operation.details[AIR_PER_RESIN] / least_ratio(inputs, duty)
    return lowest(over)


@dataclass(frozen=True, slots=True, kw_only=True)
class Dried:
    """One hopper and what dries it."""

    duty: Duty
    """At the highest level of production; arrays of shape (12,)."""
    operation: Operation
    """Of that hopper."""
    inputs: Inputs
    target: float
    """Moisture asked for. [kg/kg dry]"""
    timed_at: float | None = None
    """Throughput at which the residence time asked fills the hopper. None: what it is built for. [kg/s]"""
    hopper_volume: float | None = None
    """Of a hopper that is there, from which the residence time follows. [m3]"""


def moistures_of(hoppers: Sequence[Dried]) -> list[Moisture]:
    """Moisture of the pellets leaving each hopper in its worst month, with its band; of all hoppers in a few calls."""
    floors = _floors(hoppers)
    told: dict[int, Mapping[str, Any]] = {}
    alike: dict[str, list[int]] = {}
    for place, one in enumerate(hoppers):
        if one.duty.resin.hygroscopic and one.duty.resin.diffusivity is not None:
            alike.setdefault(one.inputs.hopper_flow, []).append(place)
    for flow, places in alike.items():
        predicted = _predicted([hoppers[i] for i in places], [floors[i] for i in places], tanks_of(flow))
        told.update(zip(places, predicted, strict=True))
    return [
        Moisture(
            target=one.target,
            floor=None if floor is None else highest(floor),
            residence=lowest(residence_time(one.duty, one.operation)),
            **told.get(place, {}),
        )
        for place, (one, floor) in enumerate(zip(hoppers, floors, strict=True))
    ]


def _floors(hoppers: Sequence[Dried]) -> list[Array | None]:
    """`floor_moisture` of each hopper, all in one call."""
    slopes = {i: one.duty.resin.sorption_slope for i, one in enumerate(hoppers)}
    known = [i for i, slope in slopes.items() if slope is not None]
    floors: list[Array | None] = [None] * len(hoppers)
    if known:
        hot = np.array([hoppers[i].duty.drying_temperature for i in known])
        dew_point = np.array([hoppers[i].operation.delivered_dew_point + np.zeros_like(hot[0]) for i in known])
        slope = np.array([[slopes[i]] for i in known], dtype=float)
        for i, floor in zip(known, sorption.equilibrium_moisture(hot, dew_point, slope), strict=True):
            floors[i] = floor
    return floors


def _predicted(hoppers: Sequence[Dried], floors: Sequence[Array | None], tanks: float) -> list[dict[str, Any]]:
    """Of each hopper what its diffusion data tell."""
    every = _ways_to_change([(one.duty, one.operation, one.inputs) for one in hoppers], floors)
    ways = Way(*(every[..., :1] if np.all(every == every[..., :1]) else every))  # one month where all are alike
    resins = [one.duty.resin for one in hoppers]
    known = {id(resin): (pellet_of(resin), diffusivities(resin)) for resin in {id(r): r for r in resins}.values()}
    pellets = Pellet(*np.array([known[id(resin)][0] for resin in resins]).T)
    band = np.array([known[id(resin)][1] for resin in resins])
    target = np.array([one.target for one in hoppers])
    left, worst = _left_now(ways, pellets, band, tanks)
    # With slow and likely diffusion, where that misses the target.
    missed = [np.flatnonzero(moisture > target) for moisture in left.T[:2]]
    places, which = np.concatenate(missed), np.repeat([0, 1], [len(some) for some in missed])
    chosen = *those(places, ways, pellets, band[places, which, None]), tanks
    times = times_to(target[places], *chosen, worst[places, which])
    surely = dict(zip(missed[0].tolist(), times[: len(missed[0])], strict=True))
    needed = dict(zip(missed[1].tolist(), times[len(missed[0]) :], strict=True))
    hot = np.array([highest(one.duty.drying_temperature) for one in hoppers])
    warm = _diffusion_times(hot, ways.initial.max(axis=-1), ways.floor.max(axis=-1), target, pellets, band[:, 1])
    return [
        {
            "predicted": likely,
            "low": fast,
            "high": slow,
            "diffusion_time": warm[i],
            "needed": needed.get(i),
            "needed_surely": surely.get(i),
        }
        for i, (slow, likely, fast) in enumerate(left.tolist())
    ]


def _left_now(ways: Way, pellets: Pellet, band: Array, tanks: float) -> tuple[Array, NDArray[np.int64]]:
    """Moisture left by each of several ways in its worst month for each diffusivity of its band, and that month."""
    if ways.stay.shape[-1] == 1:
        left = moisture_left(ways, Pellet(*np.array(pellets)[..., None]), band, tanks)
        return left, np.zeros(left.shape, dtype=np.int64)
    row, month, in_month = left_in_months(ways, pellets, band, tanks)
    left_in = np.full((*ways.stay.shape, band.shape[-1]), -np.inf)
    left_in[row, month] = in_month
    return left_in.max(axis=1), left_in.argmax(axis=1)


def _diffusion_times(
    hot: Array, initial: Array, floor: Array, target: Array, pellets: Pellet, diffusivity: Array
) -> list[float | None]:
    """Of each hopper what a warm pellet needs; 0 where there is nothing to dry, None below what the air allows. [s]"""
    rate = arrhenius.diffusivity(hot, diffusivity, pellets.reference_temperature, pellets.activation_energy)
    open_ = (target > floor) & (initial > target)
    fraction = (target[open_] - floor[open_]) / (initial[open_] - floor[open_])
    size = (np.asarray(pellets.radius)[open_], np.asarray(pellets.length)[open_])
    time = np.zeros(target.size)
    time[open_] = diffusion.time_to_fraction(diffusion.short_cylinder, fraction, *size) / rate[open_]
    return [None if low else needed for low, needed in zip((target <= floor).tolist(), time.tolist(), strict=True)]


def curve(duty: Duty, operation: Operation, inputs: Inputs, times: Array) -> dict[str, Array] | None:
    """Moisture leaving in its worst month against residence time, each in a hopper of its own size, with its band.

    Returns
    -------
    dict of ndarray, shape (len(times),)
        ``predicted``, ``low``, ``high``. [kg/kg dry]; None without diffusion data.
    """
    band = diffusivities(duty.resin) if duty.resin.hygroscopic else None
    if band is None:
        return None
    slow, likely, fast = (moisture_at(duty, operation, inputs, d, times) for d in band)
    return {"predicted": likely, "low": fast, "high": slow}


def residence_needed(
    duty: Duty, operation: Operation, inputs: Inputs, target: float, diffusivity: float
) -> float | None:
    """Residence time that reaches a moisture, up to a day; None where a day does not do. [s]"""
    floor = floor_moisture(duty, operation)
    ways = Way(*_ways_to_change([(duty, operation, inputs)], [floor]))
    pellet = Pellet(*np.array([pellet_of(duty.resin)]).T)
    coldest = ways.fed.argmin(axis=-1)
    tanks = tanks_of(inputs.hopper_flow)
    return times_to(np.array([target]), ways, pellet, np.array([[diffusivity]]), tanks, coldest)[0]


def surface_time(duty: Duty, operation: Operation, initial: Array | float) -> Array:
    """Time to evaporate the surface water at the wet bulb, with the least film coefficient a sphere can have, 2 k / d. [s]"""
    resin, hot = duty.resin, np.asarray(duty.drying_temperature)
    humidity = water_vapour.humidity_ratio(operation.delivered_dew_point, duty.pressure)
    size = pellet_size(resin)
    return surface_water.surface_drying_time(
        initial,
        size,
        resin.density,
        hot,
        wet_bulb_temperature(hot, humidity, duty.pressure),
        2.0 * transport.thermal_conductivity(hot) / size,
    )
