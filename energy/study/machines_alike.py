"""Machines that are alike run side by side: one call for all of them, each at a place of the first axis of its arrays."""

from __future__ import annotations

from collections.abc import Hashable, Mapping, Sequence
from dataclasses import dataclass, fields, is_dataclass, replace
from itertools import islice
from typing import Any

import numpy as np

from energy.dryers import circuit_inputs
from energy.dryers.base import Array, Cut, Operation, names_of
from energy.dryers.hopper_line import lines_of
from energy.plant.calendar import OperatingYear
from energy.resins.properties import Resin
from energy.study.machines import Machine
from energy.study.year import (
    STANDBY,
    WARM_UP,
    States,
    Together,
    Year,
    pauses_of,
    starts_of,
    states_of,
    year_in,
)

WORDS = ("motor_class", "regeneration_control", "airflow_control")
"""Inputs in words that may differ between machines alike: their equations take arrays of words."""
OF_RESIN = ("bool", "float", "float | None")
"""Types of what is known of a resin that equations read."""
MAY_LACK = ("standby_temperature",)
"""Inputs that some of the machines alike may lack: their equations take NaN."""
DIFFER = frozenset(("kind", *WORDS, *MAY_LACK))


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
    stack = _Stack()
    groups = [[machines[place] for place in places] for places in alike.values()]
    works = [
        _beside(group, calendar, stack) if len(group) > 1 else _alone(group[0], calendar, stack) for group in groups
    ]
    hoppers = [
        [(work.machine.inputs, duty) for duty in work.states.duties] if work.machine.inputs.IN_A_VESSEL else []
        for work in works
    ]
    lines = iter(lines_of([one for of_work in hoppers for one in of_work]))
    found: dict[int, tuple[Year, Operation]] = {}
    for places, work, own in zip(alike.values(), works, hoppers, strict=True):
        done = year_in(work.machine, work.states, work.starts, work.pauses, list(islice(lines, len(own))))
        found.update(zip(places, [done] if len(places) == 1 else work.apart(*done), strict=True))
    return [found[place] for place in range(len(machines))]


def _kind(machine: Machine, calendar: OperatingYear) -> Hashable:
    """Equal for machines of one hopper that differ in numbers only; desiccant types do not differ otherwise."""
    type_ = "circuit" if isinstance(machine.inputs, circuit_inputs.Inputs) else machine.type
    words = tuple(
        (key, value)
        for key, value in vars(machine.inputs).items()
        if not isinstance(value, float) and key not in DIFFER
    )
    starts, _ = starts_of(machine.hoppers[0], calendar)
    read = machine.delivered_dew_point is not None, machine.duties[0].bed_mass is not None
    return type_, words, bool(starts.any()), float(np.sign(machine.metered - 1.0)), read


@dataclass(frozen=True, slots=True)
class _Work:
    """A machine, or machines alike beside each other, and what they do in a year."""

    machine: Machine
    states: States
    starts: Sequence[Array]
    pauses: Sequence[Array]
    labels: Sequence[str] = ()
    own_labels: Sequence[Sequence[str]] = ()
    """Of machines beside each other: the labels of each, which are the last of `labels`."""

    def apart(self, year: Year, operation: Operation) -> list[tuple[Year, Operation]]:
        """The years and operations of machines beside each other."""
        count = len(self.own_labels)
        return [
            (_own(own, self.labels[len(self.labels) - len(labels) :], labels), at_work)
            for labels, own, at_work in zip(
                self.own_labels, _fields(year, count), _apart(operation, count), strict=True
            )
        ]


def _alone(machine: Machine, calendar: OperatingYear, stack: _Stack) -> _Work:
    return _Work(
        machine,
        states_of(machine, calendar) if len(machine.hoppers) > 1 else stack.states_of(machine, calendar),
        [starts_of(hopper, calendar)[0] for hopper in machine.hoppers],
        [pauses_of(hopper, calendar) for hopper in machine.hoppers],
    )


def _beside(machines: Sequence[Machine], calendar: OperatingYear, stack: _Stack) -> _Work:
    """Machines alike as one."""
    all_states = [stack.states_of(machine, calendar) for machine in machines]
    parts = [part for states in all_states for part in states.parts]  # one of each: it has one hopper
    inputs = [machine.inputs for machine in machines]
    update = {
        key: stack.beside([getattr(one, key) for one in inputs])
        for key, value in vars(inputs[0]).items()
        if isinstance(value, float) or (key in DIFFER and key != "kind")
    }
    # Who has fewer states has the first, the highest level of production, more than once: the first times for no time.
    count = max(len(part.labels) for part in parts)
    seconds = np.zeros((len(parts), count, parts[0].seconds.shape[-1]))
    for row, part in zip(seconds, parts, strict=True):
        row[count - len(part.labels) :] = part.seconds
    labels = [f"production {place}" for place in range(count)]
    if parts[0].labels[-1] == STANDBY:  # then of all: the calendar says so
        labels[-1] = STANDBY
    return _Work(
        replace(
            machines[0],
            inputs=inputs[0].model_copy(update=update),
            metered=stack.beside([machine.metered for machine in machines]),
            delivered_dew_point=stack.beside([machine.delivered_dew_point for machine in machines]),
        ),
        States(
            parts=[Together(on=(True,), labels=labels, seconds=seconds)],
            duties=(stack.beside([states.duties[0] for states in all_states]),),
        ),
        [np.stack([starts_of(machine.hoppers[0], calendar)[0] for machine in machines])],
        [np.stack([pauses_of(machine.hoppers[0], calendar) for machine in machines])],
        labels,
        [part.labels for part in parts],
    )


def _own(year: Mapping[str, Any], labels: Sequence[str], own: Sequence[str]) -> Year:
    """A machine's year under its own labels; warming up only where it takes heat."""
    states: dict[str, Array] = {}
    for label, place in (*zip(own, labels, strict=True), (WARM_UP, WARM_UP)):
        if place in year["states"]:
            states[label] = states.get(label, 0.0) + year["states"][place]
    tables = {"states": states, "heat_in": year["heat_in"], "heat_out": year["heat_out"]}
    return Year(**{**year, **{name: _that_warms(table) for name, table in tables.items()}})


def _that_warms(table: Mapping[str, Array]) -> Mapping[str, Array]:
    if WARM_UP not in table or np.any(table[WARM_UP]):
        return table
    return {key: value for key, value in table.items() if key != WARM_UP}


class _Stack:
    """Puts what machines have beside each other; records that several groups have in common once."""

    def __init__(self) -> None:
        self._states: dict[tuple[int, ...], tuple[Machine, States]] = {}
        self._records: dict[tuple[int, ...], tuple[Sequence[Any], Any]] = {}

    def states_of(self, machine: Machine, calendar: OperatingYear) -> States:
        """As `year.states_of`; the same for machines that share duty and hopper."""
        key = id(machine.duties[0]), id(machine.hoppers[0])
        if key not in self._states:
            self._states[key] = machine, states_of(machine, calendar)  # held, so that no other has its mark
        return self._states[key][1]

    def beside(self, given: Sequence[Any]) -> Any:
        """Numbers, words, arrays and records of them as one, machines on the first axis; what all share as it is.

        Arrays with fewer states get their first more than once.
        """
        first = given[0]
        if isinstance(first, float | str):
            if given.count(first) == len(given):
                return first
        elif all(one is first for one in given):
            return first
        if is_dataclass(first) and not isinstance(first, type):
            key = tuple(map(id, given))
            if key not in self._records:
                self._records[key] = given, self._record(given)
            return self._records[key][1]
        if len({getattr(one, "shape", ()) for one in given}) > 1:
            most = max(len(one) for one in given)
            given = [np.concatenate([np.repeat(one[:1], most - len(one), axis=0), one]) for one in given]
        table = np.array(given, dtype=None if isinstance(first, str) else float)  # None is not a number
        return table.reshape(len(table), *(1,) * (3 - table.ndim), *table.shape[1:])

    def _record(self, given: Sequence[Any]) -> Any:
        first = given[0]
        names = [f.name for f in fields(first) if not isinstance(first, Resin) or f.type in OF_RESIN]
        return replace(first, **{name: self.beside([getattr(one, name) for one in given]) for name in names})


def _apart(given: Any, count: int) -> list[Any]:
    """Records, tuples and tables of arrays at each place of the first of two axes; arrays with one axis as they are."""
    if isinstance(given, np.ndarray):
        return list(given) if given.ndim == 2 and len(given) == count else [_at_place(given, 0)] * count
    if isinstance(given, Cut):
        return [Cut(given, _at_place, place) for place in range(count)]
    if isinstance(given, tuple):
        return list(zip(*(_apart(value, count) for value in given), strict=True)) or [()] * count
    if isinstance(given, Mapping):
        return [dict(zip(given, values, strict=True)) for values in _apart(tuple(given.values()), count)]
    if is_dataclass(given):
        record: Any = type(given)
        return [record(**own) for own in _fields(given, count)]
    return [given] * count


def _at_place(array: Array, place: int) -> Array:
    """An array at one place of the first of two axes; one that all have alike as it is."""
    return array[min(place, len(array) - 1)] if array.ndim == 2 else array


def _fields(record: Any, count: int) -> list[dict[str, Any]]:
    """The fields of a record, apart."""
    kind: Any = type(record)
    names = names_of(kind)
    return [dict(zip(names, own, strict=True)) for own in _apart(tuple(getattr(record, n) for n in names), count)]
