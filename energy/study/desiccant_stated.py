"""Desiccant that a case states beside what its duty needs: a slip of ten makes a regeneration that no such dryer has."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import numpy as np

from energy.dryers import circuit_inputs, closed_loop
from energy.dryers.closed_loop import Distribution
from energy.errors import ModelError, OutOfRangeError
from energy.sources import load
from energy.study.case import Case
from energy.study.duty import duties_of
from energy.study.finding import Finding
from energy.study.form import entries
from energy.study.machines import Machine, machines_of
from energy.study.option_sections import Option
from energy.units import show

CHECK = "desiccant stated"
KEY = "desiccant_mass"
FAR = 4.0
"""Times the desiccant that the duty needs, or less than it, from which that is told; by judgement. [-]"""
_SIZED_BY = ("cycle_time", "regeneration_temperature")
"""Inputs that beds are sized by and that a walkthrough may bring to what was read, while the desiccant stays."""


def notes(case: Case) -> list[tuple[Finding, ...]]:
    """Said under each option of desiccant that is far from what its dryers need; they are worked out with it all the same."""
    duties: Any = None
    told: list[tuple[Finding, ...]] = []
    for option in case.model.options:
        stated = [option.inputs, *(machine.inputs for machine in option.machines)]
        if all(getattr(inputs, KEY, None) is None for inputs in stated):
            told.append(())
            continue
        duties = duties_of(case) if duties is None else duties
        told.append(_of_option(case, option, duties))
    return told


def _of_option(case: Case, option: Option, duties: Any) -> tuple[Finding, ...]:
    found, system = [], case.model.case.units
    for machine in machines_of(case, option, duties):
        apart = _apart(machine)
        if apart is None:
            continue
        stated, needed = apart
        factor = max(stated / needed, needed / stated)
        times = f"{factor:.2g} times" if factor < 9.95 else f"{factor:,.0f} times"
        than = f"{times} what this duty needs" if stated > needed else f"{times} less than this duty needs"
        label = entries(type(machine.inputs))[KEY].label
        shown, sized = show(stated, "mass", system), show(needed, "mass", system)
        where = f" at {machine.hoppers[0].name}" if len(case.model.hoppers) > 1 and len(machine.hoppers) == 1 else ""
        text = f"“{label}” ({KEY}){where}, {shown}, is {than} ({sized}): a slip of ten?"
        found.append(Finding(check=CHECK, value=None, limit=None, unit="", verdict="caution", text=text))
    return tuple(found)


def _apart(machine: Machine) -> tuple[float, float] | None:
    """Desiccant stated and needed, where they are far apart; also from what a dryer run as is usual for its type needs. [kg]"""
    inputs = machine.inputs
    if not isinstance(inputs, circuit_inputs.Inputs) or inputs.desiccant_mass is None:
        return None
    stored = load(f"dryers/{machine.type}")
    stated = float(np.max(inputs.desiccant_mass))
    try:
        sized = [_needed(machine, {}), _needed(machine, {key: float(stored[key].si) for key in _SIZED_BY})]
    except (ModelError, OutOfRangeError):
        return None
    if stated >= FAR * max(sized) or stated <= min(sized) / FAR:
        return stated, sized[0]
    return None


def _needed(machine: Machine, changes: dict[str, float]) -> float:
    """Desiccant of all beds that the duty of a machine asks for with these inputs. [kg]"""
    inputs = machine.inputs.model_copy(update={KEY: None, **changes})
    assert isinstance(inputs, circuit_inputs.Inputs)
    duties = tuple(replace(duty, bed_mass=None) for duty in machine.duties)
    mass = closed_loop.bed_mass(inputs, duties, machine.ducts or Distribution())
    return float(np.max(mass) * np.max(inputs.beds))
