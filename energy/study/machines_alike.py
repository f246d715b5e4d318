"""Machines that are alike run side by side: one call for all of them, each at a place of the first axis of its arrays."""

from __future__ import annotations

from collections.abc import Hashable, Sequence
from dataclasses import fields, is_dataclass, replace
from typing import Any

import numpy as np

from energy.dryers import circuit_inputs
from energy.dryers.base import Operation
from energy.plant.calendar import OperatingYear
from energy.resins.properties import Resin
from energy.study.machines import Machine, operate
from energy.study.year import Together, Year, run_year, states_of

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
        alike.setdefault(place if machine.ducts is not None else _kind(machine), []).append(place)
    found: dict[int, tuple[Year, Operation]] = {}
    for places in alike.values():
        group = [machines[place] for place in places]
        states = [states_of(machine, calendar) for machine in group]
        operations = _operations(group, [s for (s,) in states]) if len(group) > 1 else [None]
        for place, machine, operation in zip(places, group, operations, strict=True):
            found[place] = run_year(machine, calendar, None if operation is None else (operation,))
    return [found[place] for place in range(len(machines))]


def _kind(machine: Machine) -> Hashable:
    """Equal for machines of one hopper that differ in numbers only; desiccant types do not differ otherwise."""
    type_ = "circuit" if isinstance(machine.inputs, circuit_inputs.Inputs) else machine.type
    differ = {"kind", *WORDS}
    words = tuple((key, value) for key, value in machine.inputs if not isinstance(value, float) and key not in differ)
    return type_, words


def _operations(machines: Sequence[Machine], states: Sequence[Together]) -> list[Operation]:
    """Of machines alike: each in its own states."""
    counts = [s.seconds.shape[-2] for s in states]
    inputs = [machine.inputs for machine in machines]
    update = {
        key: _beside([getattr(one, key) for one in inputs])
        for key, value in inputs[0]
        if isinstance(value, float) or key in WORDS
    }
    together = replace(machines[0], inputs=inputs[0].model_copy(update=update))
    operation = operate(together, (_beside([s.duties[0] for s in states]),))
    return [_at(operation, place, count) for place, count in enumerate(counts)]


def _beside(given: Sequence[Any]) -> Any:
    """Numbers, arrays and records of them as one, machines on the first axis; one that is shared by all as it is.

    Arrays with fewer states get their last once more.
    """
    first = given[0]
    if all(one is first for one in given):
        return first
    if isinstance(first, float | str):
        return first if all(one == first for one in given) else np.array(given)[:, None, None]
    if isinstance(first, Resin):
        names = [f.name for f in fields(first) if f.type in ("float", "float | None")]
        return replace(first, **{name: _beside([getattr(one, name) for one in given]) for name in names})
    if is_dataclass(first) and not isinstance(first, type):
        return replace(first, **{f.name: _beside([getattr(one, f.name) for one in given]) for f in fields(first)})
    arrays = [np.atleast_2d(np.asarray(one, dtype=float)) for one in given]  # None is not a number
    states, months = (max(array.shape[axis] for array in arrays) for axis in (0, 1))
    table = np.empty((len(arrays), states, months))
    for row, array in zip(table, arrays, strict=True):
        row[: len(array)] = array
        row[len(array) :] = array[-1]
    return table


def _at(given: Any, place: int, states: int) -> Any:
    """Records, tuples and tables of arrays at one place of the first of three axes."""
    if isinstance(given, np.ndarray):
        if given.ndim < 2:
            return given
        own = given[min(place, len(given) - 1)] if given.ndim == 3 else given
        return own[:states] if len(own) > 1 else own[0]
    if isinstance(given, dict):
        return {key: _at(value, place, states) for key, value in given.items()}
    if isinstance(given, tuple):
        return tuple(_at(value, place, states) for value in given)
    if is_dataclass(given) and not isinstance(given, type):
        return replace(given, **{f.name: _at(getattr(given, f.name), place, states) for f in fields(given)})
    return given
