"""Moisture of the pellets leaving: the prediction with its band, its floor, and the time that would do."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
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
    most_left,
    pellet_of,
    tanks_of,
)
from energy.resins import arrhenius, diffusion, sorption, surface_water
from energy.resins.properties import Resin

QUARTER_HOUR = 900.0  # s
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


BY_LEAST_AIR = ("compressed-air", "compressed-air-membrane")
"""Types that are built for so much over the least air that heats the resin, whatever is usual of it."""


def residence_time(duty: Duty, operation: Operation) -> Array:
    """Of a pellet now: the type's own, or of the hopper that is built for the design throughput. [s]"""
    if operation.residence_time is not None:
        return operation.residence_time
    return duty.residence_time * duty.design_throughput / duty.throughput


def _diffusivities(resin: Resin) -> tuple[float, float, float] | None:
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
    months = np.unique(np.stack(np.broadcast_arrays(*way)), axis=-1)  # months alike once
    longer = in_bed_for(Way(*months), np.asarray(times)[:, None])
    return moisture_left(longer, pellet_of(duty.resin), diffusivity, tanks_of(inputs.hopper_flow)).max(axis=-1)


def _way(duty: Duty, operation: Operation, floor: Array | None) -> Way:
    return Way(
        stay=residence_time(duty, operation),
        warming=operation.hopper.heating_rate,
        initial=np.asarray(duty.initial_moisture),
        floor=np.zeros_like(duty.throughput) if floor is None else floor,
        fed=np.asarray(duty.resin_temperature),
        out=operation.hopper.resin_outlet_temperature,
    )


def _way_to_change(duty: Duty, operation: Operation, floor: Array | None, inputs: Inputs) -> Way:
    """The way with what it becomes of in a bed for another stay."""
    state = operation.hopper
    colder = np.maximum(duty.drying_temperature - state.resin_outlet_temperature, 0.0)
    return _way(duty, operation, floor)._replace(
        asked=1.0 / state.capacity_ratio,
        lost=state.loss_share,
        short=np.where(np.isfinite(state.capacity_ratio), colder, 0.0),
        over=np.array(_over_least(duty, operation, inputs)),
        built=duty.built_for.design_throughput / duty.throughput,
        usual=np.asarray(USUAL_HEIGHT / bed_height(inputs, duty) if inputs.DRIES_IN_HOPPER else ALWAYS),
    )


def gets_usual_air(inputs: Inputs, resin: Resin, operation: Operation) -> bool:
    """Has a dryer the air that is usual for the resin, and no more for what its hopper takes, so that a bigger one may get more?

    What is usual of compressed air is so much over the least; one that is given more, to warm its pellets, is given less in a bigger hopper.
    """
    if inputs.air_resin_ratio is not None:
        return False
    if inputs.kind in BY_LEAST_AIR:
        return float(np.min(operation.hopper.capacity_ratio)) <= 1.001 * float(np.max(inputs.air_over_least))
    return float(np.max(operation.details.get(AIR_PER_RESIN, 0.0))) <= resin.usual_air * 1.001


def _over_least(duty: Duty, operation: Operation, inputs: Inputs) -> float:
    """What a bigger hopper is given of air, over the least: as much over it as this one, which has more than is usual; 0 where it is stated. [-]"""
    if inputs.air_resin_ratio is not None:
        return 0.0
    if not inputs.DRIES_IN_HOPPER or gets_usual_air(inputs, duty.resin, operation):
        return float(np.min(inputs.air_over_least))
    over = operation.details[AIR_PER_RESIN] / least_ratio(inputs, duty)
    return float(np.min(over))


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


def moistures_of(hoppers: Sequence[Dried]) -> list[Moisture]:
    """Moisture of the pellets leaving each hopper in its worst month, with its band; of all hoppers in a few calls."""
    found: list[Moisture] = []
    alike: dict[float, list[tuple[int, Dried, Array | None]]] = {}
    for place, one in enumerate(hoppers):
        floor = floor_moisture(one.duty, one.operation)
        found.append(
            Moisture(
                target=one.target,
                floor=None if floor is None else float(np.max(floor)),
                residence=float(np.min(residence_time(one.duty, one.operation))),
            )
        )
        if one.duty.resin.hygroscopic and one.duty.resin.diffusivity is not None:
            alike.setdefault(tanks_of(one.inputs.hopper_flow), []).append((place, one, floor))
    for tanks, group in alike.items():
        predicted = _predicted([one for _, one, _ in group], [floor for _, _, floor in group], tanks)
        for (place, _, _), numbers in zip(group, predicted, strict=True):
            found[place] = replace(found[place], **numbers)
    return found


def _predicted(hoppers: Sequence[Dried], floors: Sequence[Array | None], tanks: float) -> Iterator[dict[str, Any]]:
    """Of each hopper what its diffusion data tell."""
    ways = [
        _way_to_change(one.duty, one.operation, floor, one.inputs) for one, floor in zip(hoppers, floors, strict=True)
    ]
    pellets = Pellet(*np.array([pellet_of(one.duty.resin) for one in hoppers]).T)
    together = Way(*np.stack([np.stack(np.broadcast_arrays(*way)) for way in ways], axis=1))
    band = np.array([_diffusivities(one.duty.resin) for one in hoppers])
    target = np.array([one.target for one in hoppers])
    left = most_left(together, pellets, band, tanks)
    # With slow and likely diffusion, where that misses the target.
    missed = [np.flatnonzero(moisture > target) for moisture in left.T[:2]]
    places = np.concatenate(missed)
    times = _times_to(
        target[places],
        Way(*(part[places] for part in together)),
        Pellet(*(np.asarray(part)[places] for part in pellets)),
        np.concatenate([band[chosen, i : i + 1] for i, chosen in enumerate(missed)]),
        tanks,
    )
    surely = dict(zip(missed[0].tolist(), times[: len(missed[0])], strict=True))
    needed = dict(zip(missed[1].tolist(), times[len(missed[0]) :], strict=True))
    warm = _diffusion_times(hoppers, floors, target, pellets, band[:, 1])
    for i, (slow, likely, fast) in enumerate(left):
        yield {
            "predicted": float(likely),
            "low": float(fast),
            "high": float(slow),
            "diffusion_time": warm[i],
            "needed": needed.get(i),
            "needed_surely": surely.get(i),
        }


def _diffusion_times(
    hoppers: Sequence[Dried], floors: Sequence[Array | None], target: Array, pellets: Pellet, diffusivity: Array
) -> list[float | None]:
    """Of each hopper what a warm pellet needs; 0 where there is nothing to dry, None below what the air allows. [s]"""
    floor = np.array([0.0 if floor is None else np.max(floor) for floor in floors])
    initial = np.array([np.max(one.duty.initial_moisture) for one in hoppers])
    hot = np.array([np.max(one.duty.drying_temperature) for one in hoppers])
    rate = arrhenius.diffusivity(hot, diffusivity, pellets.reference_temperature, pellets.activation_energy)
    open_ = (target > floor) & (initial > target)
    fraction = (target[open_] - floor[open_]) / (initial[open_] - floor[open_])
    size = (np.asarray(pellets.radius)[open_], np.asarray(pellets.length)[open_])
    time = np.zeros(len(hoppers))
    time[open_] = diffusion.time_to_fraction(diffusion.short_cylinder, fraction, *size) / rate[open_]
    return [None if low else float(needed) for low, needed in zip(target <= floor, time, strict=True)]


def curve(duty: Duty, operation: Operation, inputs: Inputs, times: Array) -> dict[str, Array] | None:
    """Moisture leaving in its worst month against residence time, each in a hopper of its own size, with its band.

    Returns
    -------
    dict of ndarray, shape (len(times),)
        ``predicted``, ``low``, ``high``. [kg/kg dry]; None without diffusion data.
    """
    band = _diffusivities(duty.resin) if duty.resin.hygroscopic else None
    if band is None:
        return None
    slow, likely, fast = (moisture_at(duty, operation, inputs, d, times) for d in band)
    return {"predicted": likely, "low": fast, "high": slow}


def residence_needed(
    duty: Duty, operation: Operation, inputs: Inputs, target: float, diffusivity: float
) -> float | None:
    """Residence time that reaches a moisture, up to a day; None where a day does not do. [s]"""
    way = np.stack(np.broadcast_arrays(*_way_to_change(duty, operation, floor_moisture(duty, operation), inputs)))
    pellet = Pellet(*np.array([pellet_of(duty.resin)]).T)
    tanks = tanks_of(inputs.hopper_flow)
    return _times_to(np.array([target]), Way(*way[:, None]), pellet, np.array([[diffusivity]]), tanks)[0]


def _times_to(target: Array, ways: Way, pellets: Pellet, diffusivity: Array, tanks: float) -> list[float | None]:
    """Of each way the residence time that reaches its target: on a straight line between quarter hours. [s]

    The quarter hours are looked for in the month that is worst at a day alone; a last look at all months says whether
    that was enough.
    """
    if not target.size:
        return []
    ways, day = Way(*np.broadcast_arrays(*ways)), np.full((target.size, 1), 24 * 3600.0)
    row, month, left = left_in_months(ways, pellets, diffusivity, tanks, day)
    after_a_day = np.full(ways.stay.shape, -np.inf)
    after_a_day[row, month] = left[:, 0]
    within = np.flatnonzero(after_a_day.max(-1) <= target)
    several = np.bincount(row)[within] > 1
    worst = after_a_day[within].argmax(-1)[:, None]
    at_last = after_a_day[within].max(-1)
    target = target[within]
    ways, pellets, diffusivity = _those(within, ways, pellets, diffusivity)
    alone = Way(*(np.take_along_axis(part, worst, axis=-1) for part in ways))
    last, wet, dry = _quarter_hours(target, at_last, alone, pellets, diffusivity, tanks)
    if several.any():
        at = np.flatnonzero(several)
        stays = QUARTER_HOUR * np.maximum(last[at, None] + np.arange(2), 1.0)
        wet[at], dry[at] = most_left(*_those(at, ways, pellets, diffusivity), tanks, stays).T
        again = at[dry[at] > target[at]]  # another month needs longer
        if again.size:
            whole = _those(again, ways, pellets, diffusivity)
            last[again], wet[again], dry[again] = _quarter_hours(target[again], at_last[again], *whole, tanks)
    share = np.divide(wet - target, wet - dry, out=np.zeros(within.size), where=last > 0)
    times = QUARTER_HOUR * np.maximum(last + share, 1.0)  # the first is the shortest looked at
    found = dict(zip(within.tolist(), times.tolist(), strict=True))
    return [found.get(place) for place in range(day.size)]


def _those(chosen: NDArray[np.int64], ways: Way, pellets: Pellet, diffusivity: Array) -> tuple[Way, Pellet, Array]:
    """Some of several ways."""
    some = Pellet(*(np.asarray(part)[chosen] for part in pellets))
    return Way(*(part[chosen] for part in ways)), some, diffusivity[chosen]


def _quarter_hours(
    target: Array, after_a_day: Array, ways: Way, pellets: Pellet, diffusivity: Array, tanks: float
) -> tuple[Array, Array, Array]:
    """The last quarter hour that leaves too much, 0 for none; the moisture at it and at the next."""
    # Of those known: the last that leaves too much, the moisture at it, and at the next that does not.
    last, wet, dry = np.zeros(target.size), np.full(target.size, np.inf), after_a_day
    for step in (10, 1):
        stays = last[:, None] + step * np.arange(10)
        left = most_left(ways, pellets, diffusivity, tanks, QUARTER_HOUR * stays[:, 1:])
        known = np.column_stack([wet, left, dry])
        too_wet = np.arange(target.size), np.sum(left > target[:, None], axis=-1)
        last, wet, dry = stays[too_wet], known[too_wet], known[too_wet[0], too_wet[1] + 1]
    return last, wet, dry


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
