"""Names of quantities of a walkthrough, by the type of dryer; its energy per resin as an interval, and the throughput that is of."""

from __future__ import annotations

from energy.study.readings import QUANTITIES
from energy.units import show, shown_unit, to_unit
from energy.walkthrough.balance import Balance
from energy.walkthrough.estimate import COVERAGE
from energy.walkthrough.of_type import BATCH, has_desiccant

_LABELS = {
    "air_flow": "Process air flow",
    "regeneration": "Regeneration heat",
    "process blower": "Process blower",
    "process heat": "Process heat",
    "shell": "Heat lost by the hopper",
    "other": "Regeneration blower, controls, fan",
    "compressed air": "Compressed air",
}
_WITHOUT_DESICCANT = {"power": "Electrical power, mean over an hour or more", "other": "Controls, fan"}


def label(name: str, kind: str = "") -> str:
    """Name of a quantity in words, at a type of dryer."""
    if kind in BATCH and name == "other":
        return "Drives, controls"
    if kind and name in _WITHOUT_DESICCANT and not has_desiccant(kind):
        return _WITHOUT_DESICCANT[name]
    if name in _LABELS:
        return _LABELS[name]
    return QUANTITIES[name].label if name in QUANTITIES else name[:1].upper() + name[1:]


def per_resin(told: Balance, system: str) -> str:
    """``122 ± 14 Wh/kg``, both to the digits that the half-width bears; ``60 Wh/kg (22 to 132)`` where the interval is cut."""
    kind, unit = "specific energy", shown_unit("specific energy", system)
    digits = 0 if float(to_unit(told.expanded, kind, unit)) >= 9.5 else 1
    value, low, high = (f"{to_unit(e, kind, unit):,.{digits}f}" for e in (told.specific_energy, *told.range))
    if is_cut(told):
        return f"{value} {unit} ({low} to {high})"
    return f"{value} ± {half_width(told.expanded, kind, system)}"


def is_cut(told: Balance) -> bool:
    """Would the interval go below what can be?"""
    return bool(told.range[0] > told.specific_energy - told.expanded)


def cut(told: Balance) -> str:
    """Ends the sentence on intervals, where that of the energy would go below what can be."""
    if not is_cut(told):
        return ""
    return f", cut at {'what the resin itself takes' if told.range[0] > 0.0 else '0'}: no energy use is below it"


def half_width(half: float, kind: str, system: str) -> str:
    """Half of an interval as it stands behind its ±: ``5.2 Wh/kg``."""
    unit = shown_unit(kind, system)
    width = half * (to_unit(1.0, kind, unit) - to_unit(0.0, kind, unit))
    return f"{width:,.{0 if width >= 9.5 else 1}f} {unit}"


def stands_for(told: Balance, system: str) -> str:
    """The throughput that the energy per resin is of, in a sentence: as read or of the case, and what the balances moved it to."""
    kind, unit = "mass flow", shown_unit("mass flow", system)
    flow, given = told.throughput, told.quantities["throughput"]
    half = COVERAGE * float(to_unit(flow.uncertainty, kind, unit))
    value, stated = (f"{to_unit(x.value, kind, unit):,.{0 if half >= 9.5 else 1}f}" for x in (flow, given))
    whose = "as it was read" if given.origin == "read" else "as the case has it"
    said = f"The energy per resin is that at {value} ± {half_width(COVERAGE * flow.uncertainty, kind, system)}"
    if value == stated:
        return f"{said}, {whose}."
    return f"{said}: {show(given.value, kind, system)}, {whose}, brought together with what else was read."
