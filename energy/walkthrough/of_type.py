"""What can be read at a type of dryer, and what goes by another name there: hot air has no desiccant, vacuum no stream of air."""

from __future__ import annotations

from typing import TYPE_CHECKING

from energy import dryers
from energy.dryers.base import BlowerInputs
from energy.study.case import Case
from energy.study.readings import QUANTITIES, Readings

if TYPE_CHECKING:
    from energy.walkthrough.found import Found

BATCH = ("vacuum", "infrared-drum")
"""Types without a stream of hot air through a hopper: only their power tells."""
_OF_DESICCANT = (
    "desiccant_inlet_temperature",
    "return_dew_point",
    "regeneration_temperature",
    "regeneration_cycle",
    "regeneration_control",
    "regeneration_power",
)
_OF_ANY = (
    *("throughput", "weighed_mass", "weighing_time", "hall_temperature", "hall_dew_point"),
    *("power", "current", "voltage", "power_factor"),
    "outlet_moisture",
)
_LABELS = {"regeneration_control": "Beds changed by"}


def type_at(case: Case, hopper: str) -> str:
    """Type of the present dryer of a hopper."""
    option = next(o for o in case.model.options if o.baseline)
    return next((m.type for m in option.machines if m.hopper == hopper), option.type)


def has_desiccant(kind: str) -> bool:
    """Does a type of dryer regenerate a desiccant?"""
    return "regeneration_temperature" in dryers.TYPES[kind].Inputs.model_fields


def not_of_type(kind: str) -> dict[str, str]:
    """By name, readings that a type of dryer cannot have, and what it lacks for them."""
    if kind in BATCH:
        streamless = [name for name in (*QUANTITIES, "regeneration_control") if name not in _OF_ANY]
        return dict.fromkeys(streamless, "stream of hot air through a hopper")
    lacks = {} if has_desiccant(kind) else dict.fromkeys(_OF_DESICCANT, "desiccant")
    if not issubclass(dryers.TYPES[kind].Inputs, BlowerInputs):
        lacks["blower_pressure"] = "blower"
    return lacks


def becomes_input(kind: str) -> tuple[str, ...]:
    """What of the readings of a type of dryer may take the place of its inputs, in words."""
    stream = kind not in BATCH
    words = {
        "airflow": stream,
        "insulation": stream,
        "regeneration": has_desiccant(kind),
        "dew point": stream and dryers.TYPES[kind].Inputs.DRIES_AIR,
    }
    return tuple(word for word, there in words.items() if there)


def of_type(readings: Readings, kind: str) -> Readings:
    """The readings without those that a type of dryer cannot have."""
    return readings.model_copy(update=dict.fromkeys(not_of_type(kind)))


def left_out_of_type(found: Found) -> dict[str, str]:
    """By name, what was typed and this type of dryer cannot have, and what it lacks for it."""
    lacks = not_of_type(found.machine.type)
    return {name: why for name, why in lacks.items() if getattr(found.typed, name) is not None}


def said_of_type(found: Found) -> tuple[str, ...]:
    """The same in a sentence for each thing that the type lacks; none where all counts."""
    left = left_out_of_type(found)
    label = dryers.TYPES[found.machine.type].LABEL
    told = []
    for why in dict.fromkeys(left.values()):
        names = [_label(name) for name, lacking in left.items() if lacking == why]
        told.append(f"Left out, since a dryer of this type ({label}) has no {why}: {', '.join(names)}.")
    return tuple(told)


def _label(name: str) -> str:
    text = _LABELS.get(name) or QUANTITIES[name].label
    return text[:1].lower() + text[1:]
