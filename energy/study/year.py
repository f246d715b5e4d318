"""A year of a machine: what it does in each operating state, added up by month."""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, field
from functools import lru_cache
from itertools import pairwise
from typing import TypeVar

import numpy as np
from numpy.typing import NDArray

from energy.dryers.base import Array, Duty, Operation, at_state
from energy.dryers.hopper_line import Line
from energy.plant.calendar import STATES, OperatingYear
from energy.study import peaks
from energy.study.at_work import loaded, operate
from energy.study.duty import minimum_energy
from energy.study.machines import Machine
from energy.study.plant_sections import Hopper

WARM_UP = "warm-up"
PRODUCTION, STANDBY, START = STATES[1:]
Key = TypeVar("Key")


@dataclass(frozen=True, slots=True, kw_only=True)
class Year:
    """What the states of a year add up to; arrays of shape (..., 12)."""

    energy: Mapping[tuple[str, str], Array]
    """(end use, carrier) -> energy bought, warm-up included. [J]"""
    peak: Mapping[tuple[str, str], Array]
    """The same as the highest 15-minute mean of the month, starts from cold included. [W]"""
    energy_in: Mapping[tuple[str, str, str], Array]
    """(production, standby or start, end use, carrier) -> energy bought. [J]"""
    peak_in: Mapping[tuple[str, str, str], Array]
    """The same as the highest 15-minute mean. [W]"""
    heat_in: Mapping[str, Array]
    """[J]"""
    heat_out: Mapping[str, Array]
    """[J]"""
    states: Mapping[str, Array]
    """Electricity and fuel bought in each operating state and for warming up. [J]"""
    resin: Array
    """Resin dried. [kg]"""
    free_air: Array
    """Compressed air sent. [m3]"""
    least: Array
    """Heat that resin and water take up, whatever the dryer. [J]"""
    water: Array = field(default_factory=lambda: np.zeros(12))
    """Make-up water of the cooling plant. [m3]"""
    hall_air: Mapping[str, Array] = field(default_factory=dict)
    """Term of `heat_out` -> dry air taken from the hall that leaves with it. [kg]"""

    def most(self, carriers: Collection[str], states: Collection[str] = STATES) -> Array:
        """Highest 15-minute power of some carriers together in each month in any of some states, shape (..., 12). [W]"""
        by_state: dict[str, Array] = {}
        for (state, _, carrier), power in self.peak_in.items():
            if carrier in carriers and state in states:
                by_state[state] = by_state.get(state, 0.0) + power
        return np.maximum.reduce([value + 0.0 * self.resin for value in by_state.values()] or [0.0 * self.resin])

    def by_state(self) -> dict[str, Array]:
        """Electricity and fuel of the year in each operating state, shape (...). [J]"""
        return {label: energy.sum(-1) for label, energy in self.states.items()}


@dataclass(frozen=True, slots=True, kw_only=True)
class Segment:
    """A share of the plant's time in which every hopper has one load."""

    share: float
    loads: tuple[float, ...]
    """Of each hopper over its full throughput; 0 for one that is off. [-]"""


def segments(hoppers: Sequence[Hopper]) -> tuple[Segment, ...]:
    """Levels of several hoppers laid over each other, the highest loads first: busy times fall together.

    The sum of the shares is the time in which any of them runs.
    """
    listed = []
    for hopper in hoppers:
        levels = ((float(v.throughput / hopper.throughput), float(v.share)) for v in hopper.levels)
        listed.append((float(hopper.running), tuple(sorted(levels, reverse=True)) or ((1.0, 1.0),)))
    return _laid_over(tuple(listed))


@lru_cache(maxsize=256)
def _laid_over(hoppers: tuple[tuple[float, tuple[tuple[float, float], ...]], ...]) -> tuple[Segment, ...]:
    """Of each hopper the share of time it runs, and the loads and shares of its levels."""
    ends = []
    for running, levels in hoppers:
        bounds = np.cumsum([share for _, share in levels]) * running
        bounds[-1] = running
        ends.append((bounds, [load for load, _ in levels]))
    edges = np.unique(np.round(np.concatenate([[0.0], *(bounds for bounds, _ in ends)]), 12))
    found = []
    for start, end in pairwise(edges):
        middle = 0.5 * (start + end)
        loads = tuple(0.0 if middle > b[-1] else levels[int(np.searchsorted(b, middle))] for b, levels in ends)
        found.append(Segment(share=float(end - start), loads=loads))
    return tuple(found)


def starts_of(hopper: Hopper, calendar: OperatingYear) -> tuple[Array, Array]:
    """Starts of a hopper in each month, and the mean time it has stood before them, shape (12,). [-], [s]"""
    worked_out = _starts_kept if calendar.production.ndim == 1 else _starts_of  # draws are not kept
    return worked_out(float(hopper.running), float(hopper.campaigns), calendar)


def pauses_of(hopper: Hopper, calendar: OperatingYear) -> Array:
    """Standbys of a hopper in each month, shape (12,). [-]"""
    return np.asarray(calendar.pauses * float(hopper.running))


def _starts_of(running: float, campaigns: float, calendar: OperatingYear) -> tuple[Array, Array]:
    production = calendar.production.sum(-1, keepdims=True)
    by_calendar = np.asarray(calendar.starts * running)
    if not campaigns or np.all(production == 0.0):
        return by_calendar, np.asarray(calendar.mean_stop)
    changes = campaigns * calendar.production / production
    stood = (1.0 - running) * production / campaigns
    both = by_calendar + changes
    stop = (by_calendar * calendar.mean_stop + changes * stood) / np.where(both == 0.0, 1.0, both)
    return both, np.asarray(stop)


_starts_kept = lru_cache(maxsize=64)(_starts_of)


def _groups(
    parts: tuple[Segment, ...], calendar: OperatingYear
) -> tuple[tuple[tuple[bool, ...], tuple[str, ...], Array, Array], ...]:
    """States with the same hoppers on: labels, loads (states, hoppers) and seconds (states, 12)."""
    found = []
    several = sum(any(part.loads) for part in parts) > 1
    for on in dict.fromkeys(tuple(load > 0.0 for load in part.loads) for part in parts):
        if not any(on):
            continue
        group = [part for part in parts if tuple(load > 0.0 for load in part.loads) == on]
        labels, loads, seconds = [], [], []
        for part in group:
            mean = 100.0 * sum(part.loads) / sum(on)
            labels.append(f"production at {mean:.3g} %" if several else "production")
            loads.append(part.loads)
            seconds.append(calendar.production * part.share)
        if np.any(calendar.standby > 0.0):
            labels.append(STANDBY)
            loads.append((0.0,) * len(on))
            seconds.append(calendar.standby * sum(part.share for part in group))
        found.append((on, tuple(labels), np.array(loads), np.stack(seconds, axis=-2)))
    return tuple(found)


_groups_kept = lru_cache(maxsize=64)(_groups)


@dataclass(frozen=True, slots=True, kw_only=True)
class Together:
    """Some states of a machine: those in which the same hoppers are on."""

    on: tuple[bool, ...]
    labels: Sequence[str]
    """Standby, if any, is the last."""
    seconds: Array
    """In each month, shape (..., states, 12)."""


@dataclass(frozen=True, slots=True, kw_only=True)
class States:
    """All states of a machine as one axis of its arrays, those in which the same hoppers are on beside each other."""

    parts: Sequence[Together]
    duties: tuple[Duty, ...]
    """Of each hopper; throughput of shape (..., states, 12)."""


def states_of(machine: Machine, calendar: OperatingYear) -> States:
    """The states of a machine in a year."""
    stops = (starts_of(hopper, calendar)[1] for hopper in machine.hoppers)
    # Stops that differ between draws have no axis of states.
    stood = [stop if stop.ndim == 1 else stop[..., None, :] for stop in stops]
    groups = (_groups_kept if calendar.production.ndim == 1 else _groups)(segments(machine.hoppers), calendar)
    return States(
        parts=[Together(on=on, labels=labels, seconds=seconds) for on, labels, _, seconds in groups],
        duties=loaded(machine.duties, np.concatenate([loads for _, _, loads, _ in groups]), stood, calendar.mean_pause),
    )


def run_year(machine: Machine, calendar: OperatingYear) -> tuple[Year, Operation]:
    """Run a machine through the states of a year.

    Returns
    -------
    year : Year
    operation : Operation
        At the highest level of production of every hopper.
    """
    starts = [starts_of(hopper, calendar)[0] for hopper in machine.hoppers]
    pauses = [pauses_of(hopper, calendar) for hopper in machine.hoppers]
    return year_in(machine, states_of(machine, calendar), starts, pauses)


def year_in(
    machine: Machine,
    of_year: States,
    starts: Sequence[Array],
    pauses: Sequence[Array],
    lines: Sequence[Line] | None = None,
) -> tuple[Year, Operation]:
    """As `run_year`, with all states of the year, the starts of each hopper in each month and its standbys, shape (..., 12).

    `lines` are the hoppers with their air in these states where those are known already.
    """
    on = np.array([part.on for part in of_year.parts for _ in part.labels])
    operation = operate(machine, of_year.duties, on, lines)
    energy: dict[tuple[str, str, str], Array] = {}
    peak: dict[tuple[str, str, str], Array] = {}
    heat_in: dict[str, Array] = {}
    heat_out: dict[str, Array] = {}
    hall_air: dict[str, Array] = {}
    states: dict[str, Array] = {}
    resin = free_air = least = np.zeros(12)
    start_power: dict[tuple[str, str], Array] = {}
    again: dict[tuple[str, str], Array] = {}
    warmed: set[int] = set()
    levels: dict[str, list[tuple[slice, NDArray[np.bool_]]]] = {}
    end = 0
    for part in of_year.parts:
        labels, seconds = part.labels, part.seconds
        first, end = end, end + len(labels)
        here, idle = slice(first, end), end - (STANDBY in labels)  # the last, if any
        for state, chosen in ((PRODUCTION, slice(first, idle)), (STANDBY, slice(idle, end))):
            time = seconds[..., chosen.start - first : chosen.stop - first, :]
            if time.shape[-2] == 0:
                continue
            levels.setdefault(state, []).append((chosen, time > 0.0))
            for key, power in operation.energy.items():
                energy[state, *key] = energy.get((state, *key), 0.0) + _worked(_those(power, chosen), time)
        flows = (heat_in, operation.heat_in), (heat_out, operation.heat_out), (hall_air, operation.hall_air)
        for into, terms in flows:
            for name, power in terms.items():
                into[name] = into.get(name, 0.0) + _worked(_those(power, here), seconds)
        bought = sum(v for (_, carrier), v in operation.energy.items() if carrier != "cooling")
        bought = _those(np.asarray(bought), here) * seconds
        for i, label in enumerate(labels):
            states[label] = states.get(label, 0.0) + bought[..., i, :]
        for duty in of_year.duties:
            dried = _those(duty.throughput, here)
            resin = resin + _worked(dried, seconds)
            least = least + _worked(dried * minimum_energy(duty), seconds)
        free_air = free_air + _worked(_those(air_sent(operation), here), seconds)
        served = [i for i, takes in enumerate(part.on) if takes and i not in warmed]
        warmed.update(served)
        for i in served:
            start, times = at_state(operation.starts[i], first), starts[i]
            for key, heat in start.energy.items():
                warm = heat * times
                energy[START, *key] = energy.get((START, *key), 0.0) + warm
                states[WARM_UP] = states.get(WARM_UP, 0.0) + warm
                for into in (heat_in, heat_out):
                    into[WARM_UP] = into.get(WARM_UP, 0.0) + warm
                start_power[key] = start_power.get(key, 0.0) + np.where(times > 0.0, start.power, 0.0)
            if not pauses[i].any():
                continue
            for key, heat in start.after_standby.items():
                warm = heat * pauses[i]
                energy[STANDBY, *key] = energy.get((STANDBY, *key), 0.0) + warm
                states[WARM_UP] = states.get(WARM_UP, 0.0) + warm
                for into in (heat_in, heat_out):
                    into[WARM_UP] = into.get(WARM_UP, 0.0) + warm
                again[key] = again.get(key, 0.0) + np.where(pauses[i] > 0.0, start.power_after_standby, 0.0)
    for state, of_state in levels.items():
        for key, most in peaks.highest(operation.peak, of_state, machine.inputs).items():
            peak[state, *key] = most
    for key, power in again.items():
        peak[STANDBY, *key] = np.maximum(peak.get((STANDBY, *key), 0.0), power)
    starting = sum(start_power.values(), start=np.zeros(12))
    if (starting > 0.0).any():  # the heater warms up while all else runs as in production
        for _, *rest in [key for key in peak if key[0] == PRODUCTION]:
            use, carrier = rest
            most = np.maximum(peak[PRODUCTION, use, carrier], start_power.get((use, carrier), 0.0))
            peak[START, use, carrier] = np.where(starting > 0.0, most, 0.0)
    if WARM_UP in states and not states[WARM_UP].any():
        for table in (states, heat_in, heat_out):
            del table[WARM_UP]
    year = Year(
        energy=over_states(energy, np.add),
        peak=over_states(peak, np.maximum),
        energy_in=energy,
        peak_in=peak,
        heat_in=heat_in,
        heat_out=heat_out,
        states=states,
        resin=resin,
        free_air=free_air,
        least=least,
        hall_air=hall_air,
    )
    return year, operation.at(0)


def together(years: Sequence[Year], at_once: int | None = None) -> Year:
    """The years of an option's machines as one; of all peaks, or of the largest few that run at once.

    Peaks of different machines are taken to fall together.
    """
    if len(years) == 1:
        return years[0]
    counts: list[Array | None] = [None] * len(years)  # all of them
    if at_once is not None:
        sizes = np.stack(np.broadcast_arrays(*(np.max(sum(year.peak.values()), axis=-1) for year in years)))
        place = np.argsort(np.argsort(-sizes, axis=0, kind="stable"), axis=0, kind="stable")
        counts = list((place < at_once)[..., None] + 0.0)
    states: dict[str, Array] = {}
    for year in years:
        for label, energy in year.states.items():
            short = "production" if label.startswith("production") else label
            states[short] = states.get(short, 0.0) + energy
    return Year(
        energy=_added([year.energy for year in years]),
        peak=_added([_times(year.peak, count) for year, count in zip(years, counts, strict=True)]),
        energy_in=_added([year.energy_in for year in years]),
        peak_in=_added([_times(year.peak_in, count) for year, count in zip(years, counts, strict=True)]),
        heat_in=_added([year.heat_in for year in years]),
        heat_out=_added([year.heat_out for year in years]),
        states=states,
        resin=np.asarray(sum(year.resin for year in years)),
        free_air=np.asarray(sum(year.free_air for year in years)),
        least=np.asarray(sum(year.least for year in years)),
        hall_air=_added([year.hall_air for year in years]),
    )


def of_option(machines: Sequence[Machine], years: Sequence[Year], units: int | None) -> Year:
    """The years of an option's machines as one: of portable dryers the peaks of as many as there are."""
    moved = [year for machine, year in zip(machines, years, strict=True) if machine.moved]
    if not moved:
        return together(years)
    others = [year for machine, year in zip(machines, years, strict=True) if not machine.moved]
    return together([together(moved, units), *others])


def at_once(machines: Sequence[Machine], each: Sequence[Array | float], units: int | None) -> Array:
    """What an option's machines take together of something: of portable dryers as many of the largest as there are."""
    moved, others = ([v for m, v in zip(machines, each, strict=True) if m.moved == one] for one in (True, False))
    largest = np.sort(np.array(moved), axis=0)[::-1][:units].sum(axis=0) if moved else 0.0
    return np.asarray(sum(others, start=np.zeros(()))) + largest


def _those(power: Array, chosen: slice) -> Array:
    """A power in some of the states, where it differs between states."""
    return power if power.ndim < 2 or power.shape[-2] == 1 else power[..., chosen, :]


def _worked(power: Array, time: Array) -> Array:
    """Power times time, added up over the states on the second last axis."""
    if time.shape[-2] == 1:
        return np.asarray(power * time)[..., 0, :]
    return np.asarray(np.einsum("...sm,...sm->...m", np.atleast_2d(power), time))


def over_states(table: Mapping[tuple[str, str, str], Array], how: np.ufunc) -> dict[tuple[str, str], Array]:
    """A table by state, end use and carrier added up, or its highest taken, over the states."""
    found: dict[tuple[str, str], Array] = {}
    for (_, use, carrier), value in table.items():
        found[use, carrier] = how(found[use, carrier], value) if (use, carrier) in found else np.asarray(value)
    return found


def _added(tables: Sequence[Mapping[Key, Array]]) -> dict[Key, Array]:
    added: dict[Key, Array] = {}
    for table in tables:
        for key, value in table.items():
            added[key] = added[key] + value if key in added else value
    return added


def _times(table: Mapping[Key, Array], factor: Array | None) -> Mapping[Key, Array]:
    return table if factor is None else {key: value * factor for key, value in table.items()}


def air_sent(operation: Operation) -> Array:
    """Compressed air sent now: what the design sends, turned down with the airflow. [m3/s]"""
    return np.asarray(operation.details.get("free_air", operation.sizing["compressed_air"] + 0.0 * operation.air_flow))
