"""Which readings would narrow the answer most: those not taken, and those taken coarsely."""

from __future__ import annotations

import math
from collections.abc import Collection
from dataclasses import dataclass

import numpy as np

from energy.dryers.base import Array
from energy.walkthrough.balance import Balance
from energy.walkthrough.estimate import Reconciled, constrained, narrowed
from energy.walkthrough.found import usual
from energy.walkthrough.of_type import has_desiccant


@dataclass(frozen=True, slots=True, kw_only=True)
class NextReading:
    """A reading worth taking."""

    name: str
    how: str
    """What to do, in a sentence."""
    uncertainty: float
    """Standard uncertainty of the specific energy with it. [J/kg]"""
    fall: float
    """By how much that is less than now. [J/kg]"""


_HOW = {
    "throughput": "Weigh what the machine draws in ten minutes.",
    "air_flow": "Air velocity in the return duct at several points, with the duct's diameter.",
    "process_temperature": "Thermocouple in the process air at the hopper.",
    "return_temperature": "Thermocouple in the return air at the top of the hopper.",
    "heater_inlet_temperature": "Thermocouple in the air behind the desiccant, before the heater.",
    "hall_temperature": "Thermometer in the hall, away from the dryer.",
    "regeneration": "Regeneration heater's power with the share of the cycle in which it heats.",
    "shell": "Infrared thermometer on the hopper's wall, on paint or tape.",
    "process blower": "Clamp power meter on the blower motor, or the pressure across the blower.",
    "power": "Clamp power meter on the supply over whole regeneration cycles.",
}
_WITHOUT_DESICCANT = {
    "air_flow": "Air velocity in the exhaust duct at several points, with the duct's diameter.",
    "heater_inlet_temperature": "Thermocouple in the air before the heater.",
    "power": "Clamp power meter on the supply, the mean of an hour or more.",
}
# Accuracy the reading would have, of data/instruments.toml; a share of the value where it is no temperature.
_WITH = {
    "throughput": "steadiness",
    "air_flow": "air_velocity",
    "regeneration": "regeneration_power",
    "shell": "read_shell",
    "process blower": "pressure_process_blower",
}


def _how(name: str, balance: Balance) -> str:
    """How to read a quantity at this type of dryer; empty where it is not one to read."""
    other = {} if has_desiccant(balance.found.machine.type) else _WITHOUT_DESICCANT
    return other.get(name) or _HOW.get(name, "")


@dataclass(frozen=True, slots=True, kw_only=True)
class Check:
    """What would settle a contradiction."""

    name: str
    how: str
    """What to do, in a sentence."""


def checks(balance: Balance, doubted: Collection[str] = (), count: int = 3) -> tuple[Check, ...]:
    """Readings to take again, then quantities to read that the model had to stand in for; none where all agrees.

    Of the readings in a contradiction those doubted anyhow come first.
    """
    if balance.agrees or not balance.contradictions:
        return ()
    worst = balance.contradictions[0]
    first = sorted(worst.readings, key=lambda name: name not in doubted)[:1]
    again = [Check(name=name, how=f"Read it again. {_how(name, balance)}".strip()) for name in first]
    new = [Check(name=name, how=_how(name, balance)) for name in worst.modelled if name in _HOW]
    return (*again, *new)[:count]


def worth_taking(balance: Balance, count: int = 2) -> tuple[NextReading, ...]:
    """The readings that would narrow the specific energy most, best first.

    Each candidate is the same balance with that quantity's uncertainty as small as its instrument makes it; a value that
    is not known yet is taken as it stands now.
    """
    given, settled, result = balance.wide, balance.reconciled, balance.slopes
    off, scales = np.array([e.uncertainty for e in given.values()]), balance.scales
    now = balance.uncertainty
    candidates = []
    for i, name in enumerate(settled.names):
        if name not in _HOW:
            continue
        stored = usual(_WITH.get(name, name))
        new = (stored if name.endswith("temperature") else stored * abs(given[name].value)) / math.sqrt(3.0)
        if new < 0.7 * off[i]:
            changed = off.copy()
            changed[i] = new * off[i] / math.hypot(new, off[i])
            candidates.append((name, narrowed(scales * changed, settled.slopes, result, settled.held)))
    if "power" not in given:
        candidates.append(("power", _with_power(settled, scales * off, result, balance.specific_energy)))
    ranked = sorted(candidates, key=lambda c: c[1])[:count]
    return tuple(
        NextReading(name=name, how=_how(name, balance), uncertainty=after, fall=now - after)
        for name, after in ranked
        if now - after > 0.01 * now
    )


def _with_power(settled: Reconciled, off: Array, result: Array, specific: float) -> float:
    """Uncertainty with the dryer's power metered: specific energy is then power over throughput. [J/kg]"""
    i = settled.names.index("throughput")
    flow = settled.values[i]
    before = constrained(off, settled.slopes, settled.held)
    metered = usual("power") / math.sqrt(3.0) * specific * flow
    # The power in all, P = e m, is a linear function of the quantities; reading it is one more constraint.
    slopes = result * flow
    slopes[i] += specific
    spread = float(slopes @ before @ slopes) + metered**2
    shared = float(result @ before @ slopes)
    return math.sqrt(max(float(result @ before @ result) - shared**2 / spread, 0.0))
