"""Energy per kilogram against load, every machine as it is built in the case."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from energy.dryers.base import Array
from energy.errors import ModelError, OutOfRangeError
from energy.study.compare import Comparison, OptionResult, operate

LOADS = np.linspace(0.1, 1.0, 19)


@dataclass(frozen=True, slots=True, kw_only=True)
class LoadCurve:
    """Specific energy of each option against its load."""

    load: Array
    """Throughput over the case's, shape (n,). [-]"""
    energy: dict[str, Array]
    """By option, shape (n,); NaN where the machine has no answer. [J/kg]"""


def load_curve(comparison: Comparison, loads: Array = LOADS) -> LoadCurve:
    """Mean over the year's months of electricity and fuel per resin in steady production."""
    return LoadCurve(load=loads, energy={o.name: _energy(o, loads) for o in comparison.options})


def _energy(option: OptionResult, loads: Array) -> Array:
    throughput = loads[:, None] * option.duty.throughput
    try:
        operation = operate(option.option, replace(option.duty, throughput=throughput))
    except (ModelError, OutOfRangeError):
        if loads.size == 1:
            return np.array([np.nan])
        return np.concatenate([_energy(option, loads[i : i + 1]) for i in range(loads.size)])
    bought = sum(v + 0.0 * throughput for (_, carrier), v in operation.energy.items() if carrier != "cooling")
    return np.asarray(np.mean(bought / throughput, axis=-1))
