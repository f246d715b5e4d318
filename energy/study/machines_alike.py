"""Machines that are alike run side by side: one call for all of them, each at a place of the first axis of its arrays."""

from __future__ import annotations

from collections.abc import Hashable, Mapping, Sequence
from dataclasses import fields, is_dataclass, replace
from typing import Any

import numpy as np

from energy.dryers import circuit_inputs
from energy.dryers.base import Array, Operation
from energy.plant.calendar import OperatingYear
from energy.resins.properties import Resin
from energy.study.machines import Machine
from energy.study.year import STANDBY, WARM_UP, States, Together, Year, run_year, starts_of, states_of, year_in

WORDS = ("motor_class", "regeneration_control")
"""Inputs in words that may differ between machines alike: their equations take arrays of words."""


def run_years(machines: Sequence[Machine], calendar: OperatingYear) -> list[tuple[Year, Operation]]:
    """As `year.run_year` of each machine, those that are alike in one call.

    Raises
    ------
    ModelError, OutOfRangeError
        One of the machines has no answer.
    """
    alike: dict[Hashable, list[int]] = {}
    for place, machine in enumerate(machines):
        alike.setdefault(place if machine.ducts is not None else _kind(machine, calendar), []).append(place)
    found: dict[int, tuple[Year, Operation]] = {}
    for places in alike.values():
        group = [machines[place] for place in places]
        years = _together(group, calendar) if len(group) > 1 else [run_year(group[0], calendar)]
        found.update(zip(places, years, strict=True))
    return [found[place] for place in range(len(machines))]


def _kind(machine: Machine, calendar: OperatingYear) -> Hashable:
    """Equal for machines of one hopper that differ in numbers only; desiccant types do not differ otherwise."""
    type_ = "circuit" if isinstance(machine.inputs, circuit_inputs.Inputs) else machine.type
    differ = {"kind", *WORDS}
    words = tuple((key, value) for key, value in machine.inputs if not isinstance(value, float) and key not in differ)
    starts, _ = starts_of(machine.hoppers[0], calendar)
    read = machine.delivered_dew_point is not None
    return type_, words, bool(np.any(starts)), float(np.sign(machine.metered - 1.0)), read


def _together(machines: Sequence[Machine], calendar: OperatingYear) -> list[tuple[Year, Operation]]:
    """The years of machines alike."""
    all_states = [states_of(machine, calendar) for machine in machines]
    parts = [part for states in all_states for part in states.parts]  # one of each: it has one hopper
    inputs = [machine.inputs for machine in machines]
    update = {
        key: _beside([getattr(one, key) for one in inputs])
        for key, value in inputs[0]
        if isinstance(value, float) or key in WORDS
    }
    # Who has fewer states has the first, the highest level of production, more than once: the first times for no time.
    count = max(len(part.labels) for part in parts)
    seconds = np.zeros((len(parts), count, parts[0].seconds.shape[-1]))
    for row, part in zip(seconds, parts, strict=True):
        row[count - len(part.labels) :] = part.seconds
    labels = [f"production {place}" for place in range(count)]
    if parts[0].labels[-1] == STANDBY:  # then of all: the calendar says so
        labels[-1] = STANDBY
    year, operation = year_in(
        replace(
            machines[0],
            inputs=inputs[0].model_copy(update=update),
            metered=_beside([machine.metered for machine in machines]),
            delivered_dew_point=_beside([machine.delivered_dew_point for machine in machines]),
        ),
        States(
            parts=[Together(on=(True,), labels=labels, seconds=seconds)],
            duties=(_beside([states.duties[0] for states in all_states]),),
        ),
        [np.stack([starts_of(machine.hoppers[0], calendar)[0] for machine in machines])],
    )
    return [
        (_own(own, labels[count - len(part.labels) :], part.labels), at_work)
        for part, own, at_work in zip(parts, _apart(year, len(parts)), _apart(operation, len(parts)), strict=True)
    ]


def _own(year: Year, labels: Sequence[str], own: Sequence[str]) -> Year:
    """A machine's year under its own labels; warming up only where it takes heat."""
    states: dict[str, Array] = {}
    for label, place in (*zip(own, labels, strict=True), (WARM_UP, WARM_UP)):
        if place in year.states:
            states[label] = states.get(label, 0.0) + year.states[place]
    return replace(
        year, states=_that_warms(states), heat_in=_that_warms(year.heat_in), heat_out=_that_warms(year.heat_out)
    )


def _that_warms(table: Mapping[str, Array]) -> Mapping[str, Array]:
    return {key: value for key, value in table.items() if key != WARM_UP or np.any(value)}


def _beside(given: Sequence[Any]) -> Any:
    """Numbers, words, arrays and records of them as one, machines on the first axis; what all share as it is.

    Arrays with fewer states get their first more than once.
    """
    first = given[0]
    if all(one is first for one in given):
        return first
    if isinstance(first, float | str) and all(one == first for one in given):
        return first
    if isinstance(first, Resin):
        names = [f.name for f in fields(first) if f.type in ("float", "float | None")]
        return replace(first, **{name: _beside([getattr(one, name) for one in given]) for name in names})
    if is_dataclass(first) and not isinstance(first, type):
        return replace(first, **{f.name: _beside([getattr(one, f.name) for one in given]) for f in fields(first)})
    if len({getattr(one, "shape", ()) for one in given}) > 1:
        most = max(len(one) for one in given)
        given = [np.concatenate([np.repeat(one[:1], most - len(one), axis=0), one]) for one in given]
    table = np.array(given, dtype=None if isinstance(first, str) else float)  # None is not a number
    return table.reshape(len(table), *(1,) * (3 - table.ndim), *table.shape[1:])


def _apart(given: Any, count: int) -> list[Any]:
    """Records, tuples and tables of arrays at each place of the first of two axes; arrays with one axis as they are."""
    if isinstance(given, np.ndarray):
        return (
            list(given) if given.ndim == 2 and len(given) == count else [given[0] if given.ndim == 2 else given] * count
        )
    if isinstance(given, tuple):
        return list(zip(*(_apart(value, count) for value in given), strict=True)) or [()] * count
    if isinstance(given, Mapping):
        return [dict(zip(given, values, strict=True)) for values in _apart(tuple(given.values()), count)]
    if is_dataclass(given):
        record: Any = type(given)
        names = [f.name for f in fields(given)]
        values = _apart(tuple([getattr(given, name) for name in names]), count)
        return [record(**dict(zip(names, own, strict=True))) for own in values]
    return [given] * count
