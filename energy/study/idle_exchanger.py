"""Said where a heat exchanger that is stated finds nothing to recover, or nothing at full throughput."""

from __future__ import annotations

import numpy as np

from energy.dryers.base import Inputs
from energy.study.extremes import highest
from energy.study.finding import Finding
from energy.study.run import Run, Served
from energy.units import show

KEYS = {"return_recovery": "the return air", "exhaust_recovery": "the exhaust"}
"""Inputs of an exchanger, and the air that it takes its heat from."""


def notes(run: Run, system: str) -> tuple[Finding, ...]:
    """Of an option's dryers; nothing where every exchanger that is stated gives some heat at full throughput.

    Parameters
    ----------
    run : Run
    system : {"si", "us"}
    """
    found = []
    for key, air in KEYS.items():
        idle = [one for one in run.served if _stated(one.machine.inputs, key) and not _gives(one)]
        if not idle:
            continue
        at = f" at {', '.join(one.hopper.name for one in idle)}" if len(run.served) > 1 else ""
        less = [one.hopper.name for one in idle if one.hopper.levels]
        back = show(max(float(np.max(one.operation.hopper.return_temperature)) for one in idle), "temperature", system)
        text = (
            f"The heat exchanger ({key}) finds nothing to recover in production{' at full throughput' if less else ''}{at}: {air} is no warmer, at "
            f"most {back}, than blower and desiccant leave the air that it would warm."
        )
        if less:
            text += " At less, from which air comes back hotter, it may give some."
        found.append(Finding(check="heat recovery", value=None, limit=None, unit="", verdict="caution", text=text))
    return tuple(found)


def _stated(inputs: Inputs, key: str) -> bool:
    given = vars(inputs).get(key, 0.0)  # not every type has one
    return bool(given > 0.0 if isinstance(given, float) else np.any(np.asarray(given) > 0.0))


def _gives(one: Served) -> bool:
    """Does it give heat in some month at full throughput?"""
    return highest(one.operation.details.get("heat_recovered", 0.0)) > 0.0
