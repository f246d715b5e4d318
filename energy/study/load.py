"""Energy per kilogram against load, every machine as it is built in the case."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from energy.dryers.base import Array
from energy.errors import ModelError, OutOfRangeError
from energy.study.at_work import loaded, operate
from energy.study.compare import Comparison, OptionResult
from energy.study.machines import Machine
from energy.study.steps import Steps, finished

LOADS = np.linspace(0.1, 1.0, 19)


@dataclass(frozen=True, slots=True, kw_only=True)
class LoadCurve:
    """Specific energy of each option against its load."""

    load: Array
    """Throughput over the case's, shape (n,). [-]"""
    energy: dict[str, Array]
    """By option, shape (n,); NaN where the machine has no answer. [J/kg]"""


def load_curve(comparison: Comparison, loads: Array = LOADS) -> LoadCurve:
    """Mean over the year's months of electricity and fuel per resin, every hopper in steady production at that load."""
    return finished(load_curve_in_steps(comparison, loads))


def load_curve_in_steps(comparison: Comparison, loads: Array = LOADS) -> Steps[LoadCurve]:
    """As `load_curve`, one option at each step."""
    energy = {}
    for option in comparison.options:
        yield
        energy[option.name] = _energy(option, loads)
    return LoadCurve(load=loads, energy=energy)


def _energy(option: OptionResult, loads: Array) -> Array:
    bought = resin = np.zeros((loads.size, 1))
    for machine in option.machines:
        power, dried = _power(machine, loads)
        bought, resin = bought + power, resin + dried
    return np.asarray(np.mean(bought / resin, axis=-1))


def _power(machine: Machine, loads: Array) -> tuple[Array, Array]:
    """Electricity and fuel bought [W] and resin dried [kg/s] at each load, shape (n, 12)."""
    duties = loaded(machine.duties, np.repeat(loads[:, None], len(machine.duties), axis=1))
    resin = np.asarray(sum(duty.throughput for duty in duties))
    try:
        operation = operate(machine, duties)
    except (ModelError, OutOfRangeError):
        if loads.size == 1:
            return np.full_like(resin, np.nan), resin
        rows = [_power(machine, loads[i : i + 1])[0] for i in range(loads.size)]
        return np.concatenate(rows), resin
    bought = sum(v + 0.0 * resin for (_, carrier), v in operation.energy.items() if carrier != "cooling")
    return np.asarray(bought), resin
