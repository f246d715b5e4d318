"""Which readings would narrow the answer most: those not taken, and those taken coarsely."""

from __future__ import annotations

import math
from collections.abc import Collection
from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from energy.walkthrough.balance import Balance
from energy.walkthrough.estimate import Values, constrained, narrowed, sensitivities
from energy.walkthrough.found import usual
from energy.walkthrough.of_type import has_desiccant, not_of_type
from energy.walkthrough.quantities import COMPRESSED_AIR, functions, metered_parts, shell_of


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
_NOT_ON_METER = " It shows heater and controls; the compressed air is not on it."
# Accuracy the reading would have, of data/instruments.toml; a share of the value where it is no temperature.
_WITH = {
    "throughput": "steadiness",
    "air_flow": "air_velocity",
    "regeneration": "regeneration_power",
    "process blower": "pressure_process_blower",
}


def _how(name: str, balance: Balance) -> str:
    """How to read a quantity at this type of dryer; empty where it is not one to read."""
    other = {} if has_desiccant(balance.found.machine.type) else _WITHOUT_DESICCANT
    beyond = _NOT_ON_METER if name == "power" and COMPRESSED_AIR in [part.name for part in balance.parts] else ""
    return (other.get(name) or _HOW.get(name, "")) + beyond


@dataclass(frozen=True, slots=True, kw_only=True)
class Check:
    """What would settle a contradiction, or tell where a power goes."""

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
        new = _with_instrument(name, balance)
        if new < 0.7 * off[i]:
            changed = off.copy()
            changed[i] = new * off[i] / math.hypot(new, off[i])
            candidates.append((name, narrowed(scales * changed, settled.slopes, result, settled.held)))
    if "power" not in given:
        candidates.append(("power", _with_power(balance)))
    ranked = sorted(candidates, key=lambda c: c[1])[:count]
    return tuple(
        NextReading(name=name, how=_how(name, balance), uncertainty=after, fall=now - after)
        for name, after in ranked
        if now - after > 0.01 * now
    )


FAR_OVER = 0.2
"""Share of the power on the meter by the model from which a meter is far over it; by judgement. [-]"""
_OF_PART = {
    "process blower": ("process blower", "blower_pressure"),
    "regeneration": ("regeneration", "regeneration_power"),
    "process heat": ("heater_inlet_temperature", "heater_inlet_temperature"),
}
"""By part of the power, the quantity that tells of it and the reading that this rests on."""


def locating(balance: Balance, beyond: float, doubted: Collection[str] = ()) -> tuple[Check, ...]:
    """What would tell which part takes a power on the meter that is far over the model's, the least known part first; else none.

    Parameters
    ----------
    balance : Balance
    beyond : float
        What was found over the model of the dryer run as it was read. [W]
    doubted : collection of str
        Quantities whose readings are to be checked first: with them the power may go.
    """
    found, shown = balance.found, balance.quantities.get("power")
    if shown is None or {"power", "air_flow", "throughput"} & {*doubted}:
        return ()
    if beyond <= max(shown.expanded, FAR_OVER * (shown.value - beyond)):
        return ()
    lacks = not_of_type(found.machine.type)
    parts = sorted((p for p in balance.parts if p.name in _OF_PART), key=lambda part: -part.uncertainty)
    told = []
    for quantity, reading in (_OF_PART[part.name] for part in parts):
        if reading not in lacks and getattr(found.typed, reading) is None:
            told.append(Check(name=quantity, how=_how(quantity, balance)))
    return tuple(told)


def _with_instrument(name: str, balance: Balance) -> float:
    """Standard uncertainty that a quantity would have by its instrument, as it stands now; of a wall that was read what it has."""
    if name == "shell":
        surface = float(np.ravel(balance.found.as_found.shell_temperature)[0])
        read = balance.found.readings.shell_temperature is not None
        return float("inf") if read else shell_of(balance.found, surface, usual("shell_temperature")).uncertainty
    stored = usual(_WITH.get(name, name))
    return (stored if name.endswith("temperature") else stored * abs(balance.wide[name].value)) / math.sqrt(3.0)


def _with_power(balance: Balance) -> float:
    """Uncertainty with what a meter on the dryer's supply shows: neither fuel nor compressed air. [J/kg]"""
    found, settled, at = balance.found, balance.reconciled, balance.reconciled.at()
    metered = metered_parts(found, functions(found, balance.quantities)[0]).values()
    moved = {name: replace(e, value=at[name]) for name, e in balance.wide.items()}
    off = balance.scales * np.array([e.uncertainty for e in balance.wide.values()])

    def shown(x: Values) -> Any:
        return sum(part(x) for part in metered)

    # What the meter shows is a function of the quantities; reading it is one more constraint.
    slopes = np.array([*sensitivities(shown, moved).values()])
    before = constrained(off, settled.slopes, settled.held)
    spread = float(slopes @ before @ slopes) + (usual("power") / math.sqrt(3.0) * float(shown(at))) ** 2
    shared, result = float(balance.slopes @ before @ slopes), balance.slopes
    return math.sqrt(max(float(result @ before @ result) - shared**2 / spread, 0.0))
