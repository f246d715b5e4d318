"""A year of an option: what its machine does in each operating state, added up by month."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace

import numpy as np

from energy.dryers.base import Array, Duty, Operation
from energy.plant.calendar import OperatingYear


@dataclass(frozen=True, slots=True, kw_only=True)
class Part:
    """One operating state: how the machine runs in it, and for how long in each month."""

    label: str
    duty: Duty
    operation: Operation
    seconds: Array
    """shape (12,). [s]"""


@dataclass(frozen=True, slots=True, kw_only=True)
class Year:
    """The states of a year and what they add up to; arrays of shape (..., 12)."""

    parts: tuple[Part, ...]
    """Production levels from the highest down, then standby."""
    energy: Mapping[tuple[str, str], Array]
    """(end use, carrier) -> energy bought, warm-up included. [J]"""
    peak: Mapping[tuple[str, str], Array]
    """The same as the highest 15-minute mean of the month, starts from cold included. [W]"""
    heat_in: Mapping[str, Array]
    """[J]"""
    heat_out: Mapping[str, Array]
    """[J]"""
    resin: Array
    """Resin dried. [kg]"""
    free_air: Array
    """Compressed air sent. [m3]"""
    warm_up: Array
    """Energy bought for starts from cold, part of ``energy``. [J]"""

    @property
    def operation(self) -> Operation:
        """At the highest level of production."""
        return self.parts[0].operation

    def by_state(self) -> dict[str, Array]:
        """Energy bought in each state and for warming up, cooling left out; shape (...). [J]"""
        found = {p.label: (_bought(p.operation) * p.seconds).sum(-1) for p in self.parts}
        if np.any(self.warm_up > 0.0):
            found["warm-up"] = self.warm_up.sum(-1)
        return found


def _bought(operation: Operation) -> Array:
    parts = [v for (_, carrier), v in operation.energy.items() if carrier != "cooling"]
    return np.asarray(sum(parts) + 0.0 * operation.air_flow)


def states(
    duty: Duty, levels: tuple[tuple[float, float], ...], calendar: OperatingYear
) -> list[tuple[str, Duty, Array]]:
    """Operating states of a year: each production level with its share of production time, and standby.

    Parameters
    ----------
    duty : Duty
        At full throughput.
    levels : sequence of (share of full throughput, share of production time)
    calendar : OperatingYear

    Returns
    -------
    list of (label, duty, seconds)
        The highest level first.
    """
    found = []
    stop = np.asarray(calendar.mean_stop)
    for load, share in sorted(levels, reverse=True):
        label = "production" if len(levels) == 1 else f"production at {100 * load:.3g} %"
        found.append(
            (label, replace(duty, throughput=duty.throughput * load, stop_time=stop), calendar.production * share)
        )
    if np.any(calendar.standby > 0.0):
        found.append(("standby", replace(duty, throughput=0.0 * duty.throughput), np.asarray(calendar.standby)))
    return found


def run_year(
    run: Callable[[Duty], Operation],
    duty: Duty,
    levels: tuple[tuple[float, float], ...],
    calendar: OperatingYear,
) -> Year:
    """Run a machine through the states of a year.

    Parameters
    ----------
    run : callable
        A machine's steady operation on a duty.
    duty : Duty
        At full throughput.
    levels : sequence of (share of full throughput, share of production time)
    calendar : OperatingYear

    Returns
    -------
    Year
    """
    parts = tuple(
        Part(label=label, duty=own, operation=run(own), seconds=seconds)
        for label, own, seconds in states(duty, levels, calendar)
    )
    energy: dict[tuple[str, str], Array] = {}
    peak: dict[tuple[str, str], Array] = {}
    heat_in: dict[str, Array] = {}
    heat_out: dict[str, Array] = {}
    for part in parts:
        for key, power in part.operation.energy.items():
            energy[key] = energy.get(key, 0.0) + power * part.seconds
        for key, power in part.operation.peak.items():
            peak[key] = np.maximum(peak.get(key, 0.0), np.where(part.seconds > 0.0, power, 0.0))
        for into, terms in ((heat_in, part.operation.heat_in), (heat_out, part.operation.heat_out)):
            for name, power in terms.items():
                into[name] = into.get(name, 0.0) + power * part.seconds
    first = parts[0].operation
    starts = np.asarray(calendar.starts)
    for key, heat in first.warm_up.items():
        warm = heat * starts
        energy[key] = energy.get(key, 0.0) + warm
        heat_in["warm-up"] = heat_in.get("warm-up", 0.0) + warm
        heat_out["warm-up"] = heat_out.get("warm-up", 0.0) + warm
        peak[key] = np.maximum(peak.get(key, 0.0), np.where(starts > 0.0, first.start_power, 0.0))
    if not np.any(heat_in.get("warm-up", 0.0)):
        heat_in.pop("warm-up", None)
        heat_out.pop("warm-up", None)
    production = [p for p in parts if p.label != "standby"]
    return Year(
        parts=parts,
        energy=energy,
        peak=peak,
        heat_in=heat_in,
        heat_out=heat_out,
        resin=np.asarray(sum(p.duty.throughput * p.seconds for p in production)),
        warm_up=np.asarray(sum(v * starts for v in first.warm_up.values()) + 0.0 * first.air_flow),
        free_air=np.asarray(sum(_air(p.operation) * p.seconds for p in parts)),
    )


def _air(operation: Operation) -> Array:
    """Compressed air sent now: what the design sends, turned down with the airflow. [m3/s]"""
    return np.asarray(operation.details.get("free_air", operation.sizing["compressed_air"] + 0.0 * operation.air_flow))
