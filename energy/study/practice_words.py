"""What keeps a dryer from practice, in clauses: the quantity, its value, the limit, and what to set."""

from __future__ import annotations

import numpy as np

from energy.dryers.base import Array, Duty, Operation
from energy.resins.properties import Resin
from energy.study.practice import WARM, Condition, LeastTime, conditions, least_time, speaks
from energy.units import show

_SAID = {
    WARM: (
        "temperature",
        "the pellets leave at {value}, below the {limit} that practice takes for warm: give them more air",
    ),
    "dew_point": (
        "temperature",
        "the air has a dew point of {value}, above the {limit} that practice accepts: dry it further",
    ),
    "drying_temperature": (
        "temperature",
        "the drying temperature is {value}, below practice's {limit}: set drying_temperature to {limit} or more",
    ),
    "initial_moisture": (
        "moisture",
        "the pellets come with {value}, above the {limit} that practice's time is for: have them come drier and set initial_moisture to that, or "
        "give own_resin the initial_moisture and residence_time, with their ranges, of a sheet that is for more",
    ),
    "target_moisture": (
        "moisture",
        "the target is {value}, below the {limit} that practice dries to: set target_moisture to {limit} or more",
    ),
    "pellet_diameter": (
        "length",
        "the pellets are {value} thick, above the {limit} that practice's time is for: give own_resin a residence_time of their own",
    ),
    "pellet_length": (
        "length",
        "the pellets are {value} long, above the {limit} that practice's time is for: give own_resin a residence_time of their own",
    ),
}


def not_of_practice(
    duty: Duty, operation: Operation, stay: Array, target: float, system: str, in_given_hopper: bool = False
) -> tuple[str, ...]:
    """What is not as practice has it, in clauses with what to set; none where all is, or where practice has no word.

    Parameters
    ----------
    duty : Duty
        At the highest level of production; arrays of shape (12,).
    operation : Operation
        Of that hopper.
    stay : ndarray, shape (12,)
        Of a pellet. [s]
    target : float
        Moisture asked for. [kg/kg dry]
    system : {"si", "us"}
    in_given_hopper : bool
        Does the time follow from the volume of a hopper that is given?
    """
    if not speaks(duty.resin, operation):
        return ()
    return tuple(
        _clause(one, duty, target, system, in_given_hopper)
        for one in conditions(duty, operation, stay, target)
        if not one.kept
    )


def _clause(one: Condition, duty: Duty, target: float, system: str, in_given_hopper: bool) -> str:
    if one.key == "residence_time":
        why = why_so_long(duty.resin, least_time(duty, target), duty, target, system)
        stays, asked = hours_apart(float(one.value), float(one.limit))
        less = float(np.max(duty.throughput)) > 1.001 * float(np.max(duty.design_throughput))
        feed = ", or feed no more than the machine is built for" if less else ""
        key = "in a bigger hopper, hopper_volume" if in_given_hopper else "residence_time"
        return f"the pellets stay {stays} h, less than practice's {asked} h{why}: dry them that long ({key}){feed}"
    kind, text = _SAID[one.key]
    unit = "mm" if kind == "length" else system
    value, limit = (show(float(x), kind, unit) for x in (one.value, one.limit))
    if value == limit:
        value, limit = (show(float(x), kind, unit, digits=6) for x in (one.value, one.limit))
    return text.format(value=value, limit=limit)


def hours_apart(stay: float, asked: float) -> tuple[str, str]:
    """Two times in hours, with more digits where three do not tell them apart. [s]"""
    digits = 3 if stay >= asked or f"{stay / 3600:.3g}" != f"{asked / 3600:.3g}" else 6
    return f"{stay / 3600:.{digits}g}", f"{asked / 3600:.{digits}g}"


def why_so_long(resin: Resin, least: LeastTime, duty: Duty, target: float, system: str) -> str:
    """Why the long end of practice's time is asked, in a clause; empty where its short end is."""
    why = []
    if least.cooler:
        at = show(float(np.min(duty.drying_temperature)), "temperature", system)
        why.append(f"at {at}, cooler than usual")
    if least.drier:
        why.append(f"down to {show(target, 'moisture', system)}, drier than usual")
    accepted = resin.range_of("residence_time")
    if not why or accepted is None or accepted[0] == accepted[1]:
        return ""
    return f" {' and '.join(why)}, the long end of its {accepted[0] / 3600:.3g} to {accepted[1] / 3600:.3g} h"
