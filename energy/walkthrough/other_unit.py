"""Temperatures in the other unit: degF taken for degC or the other way round, where the dryer cannot have what was typed."""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np

from energy.units import show
from energy.units.degrees import in_other, said_in_other, unit_typed
from energy.walkthrough.beds_as_read import COLDEST_BED
from energy.walkthrough.doubt import Doubt, system_of
from energy.walkthrough.found import Found, half_width

NEAR = 15.0
"""How near to what the case asks for a process air has to be in the other unit to be taken for it; by judgement. [K]"""
LUMPS = 40.0
"""Above the most that a resin stands, from which a process air is doubted whatever it would be in the other unit; by judgement. [K]"""
NEAR_HALL = 10.0
"""The same as the first for the hall, beside those of the case; by judgement. [K]"""
COLDEST_HALL = 278.15
"""Below it a hall is doubted where it would be that of the case in the other unit; by judgement. [K]"""
HOTTEST_BED = 573.15
"""Above it, or below `COLDEST_BED`, regeneration air is doubted where it would be that of the case in the other unit; by judgement. [K]"""

NEAR_BED = 40.0
"""How near to what the case sets regeneration air has to be in the other unit to be taken for it; by judgement. [K]"""

Slip = tuple[str, str]
"""What is wrong, in a few words and in a clause."""


def in_other_unit(found: Found) -> dict[str, Doubt]:
    """Temperatures that cannot be as typed, by name; none where what was typed can be.

    A dew point is none of them: where air is dry the two scales are a few kelvin apart, and at -40 they are one.
    """
    told: dict[str, Doubt] = {}
    rules = {
        "hall_temperature": _hall,
        "process_temperature": _process,
        "return_temperature": _return,
        "shell_temperature": _shell,
        "regeneration_temperature": _regeneration,
    }
    for name, rule in rules.items():
        read = getattr(found.readings, name)
        slip = None if read is None or (found.batch and name != "hall_temperature") else rule(found, float(read), told)
        if slip is not None:
            brief, clause = slip
            shown = show(float(read), "temperature", _typed(found, name))
            text = f"Check the {_WHAT[name]}: {shown} is {clause}"
            told[name] = Doubt(name=name, reading=name, brief=f"{brief}: check its unit", text=text)
    return told


def would_be(found: Found, name: str, low: float, high: float) -> str:
    """``; 246 degF would be 119 degC: which is it?`` where the reading in the other unit lies between two, else a full stop. [K]"""
    read, unit = float(getattr(found.readings, name)), _typed(found, name)
    return f"; {said_in_other(read, unit)}: which is it?" if low <= in_other(read, unit) <= high else "."


def _process(found: Found, read: float, told: Mapping[str, Doubt]) -> Slip | None:
    asked, limit = float(found.duty.drying_temperature[0]), found.duty.resin.drying_temperature_limit
    most = asked + LUMPS if limit is None else max(limit, asked)
    if read - half_width(found.readings, "process_temperature") <= most:
        return None
    unit = _typed(found, "process_temperature")
    if abs(in_other(read, unit) - asked) > NEAR and read <= most + LUMPS:
        return None
    resin = f"the most that {found.duty.resin.called} stands"
    what = f"above {show(most, 'temperature', unit)}, {resin}"
    if limit is None:
        what = f"far above the {show(asked, 'temperature', unit)} that is asked for"
    return "above what the resin stands", f"{what}{would_be(found, 'process_temperature', asked - NEAR, most)}"


def _return(found: Found, read: float, told: Mapping[str, Doubt]) -> Slip | None:
    """Air that came back hotter than any that went in; beside a process air that was read it is refused anyhow."""
    if not _hotter_than_inside(found, read, "return_temperature", told):
        return None
    hall, inside = float(found.duty.hall_temperature[0]), _inside(found, told)
    words = would_be(found, "return_temperature", hall, inside)
    fed = float(found.duty.resin_temperature[0])
    if words == "." or fed > inside:
        return None
    unit = _typed(found, "return_temperature")
    return (
        "hotter than the air into the hopper",
        f"hotter than the air into the hopper ({show(inside, 'temperature', unit)}){words}",
    )


def _shell(found: Found, read: float, told: Mapping[str, Doubt]) -> Slip | None:
    """A wall hotter than the air behind it; by no more than the instruments are sure of only where the other unit fits."""
    inside = _inside(found, told)
    words = would_be(found, "shell_temperature", float(found.duty.hall_temperature[0]), inside)
    surely = _hotter_than_inside(found, read, "shell_temperature", told)
    if not surely and (read <= inside or words == "."):
        return None
    unit = _typed(found, "shell_temperature")
    return (
        "hotter than the air inside",
        f"hotter than the air inside the hopper ({show(inside, 'temperature', unit)}), which warms it{words}",
    )


def _hall(found: Found, read: float, told: Mapping[str, Doubt]) -> Slip | None:
    if read >= COLDEST_HALL:
        return None
    of_case = found.machine.duties[0].hall_temperature
    low, high = float(np.min(of_case)) - NEAR_HALL, float(np.max(of_case)) + NEAR_HALL
    words = would_be(found, "hall_temperature", low, high)
    if words == ".":
        return None
    return "colder than a hall is", f"colder than a hall is in which people mould{words}"


def _regeneration(found: Found, read: float, told: Mapping[str, Doubt]) -> Slip | None:
    asked = float(getattr(found.machine.inputs, "regeneration_temperature", 0.0))
    words = would_be(found, "regeneration_temperature", asked - NEAR_BED, asked + NEAR_BED)
    if words == "." or not found.closed:
        return None
    unit, off = _typed(found, "regeneration_temperature"), half_width(found.readings, "regeneration_temperature")
    if read - off > HOTTEST_BED:
        hottest = show(HOTTEST_BED, "temperature", unit)
        return (
            "hotter than desiccant is heated",
            f"hotter than desiccant is heated, which is to {hottest} at most{words}",
        )
    if too_cold_to_dry(found):
        heater = " If it is right, look at the regeneration heater."
        return "too cold to dry desiccant", f"too cold to take the water out of desiccant{words}{heater}"
    return None


def too_cold_to_dry(found: Found) -> bool:
    """Was regeneration air read that takes hardly any water out of desiccant, and colder than the case sets it?"""
    read = found.readings.regeneration_temperature
    asked = float(getattr(found.machine.inputs, "regeneration_temperature", 0.0))
    return read is not None and read + half_width(found.readings, "regeneration_temperature") < min(COLDEST_BED, asked)


def _inside(found: Found, told: Mapping[str, Doubt]) -> float:
    """Air into the hopper: as read, or as asked for where it was not, or is doubted. [K]"""
    read = found.readings.process_temperature
    known = read is not None and "process_temperature" not in told
    return float(read) if known and read is not None else float(found.duty.drying_temperature[0])


def _hotter_than_inside(found: Found, read: float, name: str, told: Mapping[str, Doubt]) -> bool:
    known = found.readings.process_temperature is not None and "process_temperature" not in told
    off = half_width(found.readings, "process_temperature") if known else NEAR
    return read - half_width(found.readings, name) - off > _inside(found, told)


def _typed(found: Found, name: str) -> str:
    return unit_typed(getattr(found.readings, name), system_of(found))


_WHAT = {
    "hall_temperature": "hall",
    "process_temperature": "process air into the hopper",
    "return_temperature": "return air out of the hopper",
    "shell_temperature": "outside of the hopper's wall",
    "regeneration_temperature": "regeneration air into the bed",
}
