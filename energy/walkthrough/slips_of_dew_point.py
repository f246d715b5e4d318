"""Process air that is damper than the hall's, or drier out of a dryer that has nothing to dry it with, and the minus sign that would explain it."""

from __future__ import annotations

from energy.units import parse, show, shown_unit, to_unit
from energy.walkthrough.doubt import Doubt, system_of
from energy.walkthrough.found import Found, half_width, usual
from energy.walkthrough.practice import dew_points

MUCH_DRIER, THAN_THE_CASE = 5.0, 15.0
"""How far below the hall's, as read or of the case, a dew point of air that nothing dried is doubted beyond what both may be off; by
judgement: a winter's day is drier than the case's mean. [K]"""


MUCH_DAMPER, FAR_DAMPER = 5.0, 20.0
"""How far above the hall's the dew point of dried air cannot be, beyond what both may be off: where another sign would fit and the
hall's is that of the case, whose days differ; and whatever would fit, since regeneration air that leaks in can make air damper than
the hall's. By judgement. [K]"""


def slip_of_dew_point(found: Found) -> Doubt | None:
    """A dew point of the process air that is to be checked; left out of all figures where no dryer with desiccant has it."""
    read, hall = found.readings.dew_point, float(found.duty.hall_dew_point[0])
    known, dries = found.readings.hall_dew_point is not None, found.machine.inputs.DRIES_AIR
    if read is None:
        return None
    if not (known or dries):  # undried air is that of the hall, about whatever it was
        return too_dry(found, hall)
    off = half_width(found.readings, "dew_point")
    off += half_width(found.readings, "hall_dew_point") if known else usual("case_hall_temperature")
    unit = system_of(found)
    shown = show(read, "temperature", unit)
    if read - off <= hall:
        return _sign(found, read, shown) if read + off > hall else too_dry(found, hall)
    turned = _turned(found, read)
    room = FAR_DAMPER if turned is None else 0.0 if known else MUCH_DAMPER
    return Doubt(
        name="dew_point",
        reading="dew_point",
        brief="above the hall's: check its sign",
        text=f"Check the dew point of the process air: {shown} is damper than the hall's own air "
        f"({show(hall, 'temperature', unit)}). Was a minus sign left out?",
        cannot_be=dries and read - off > hall + room,
    )


def _sign(found: Found, read: float, shown: str) -> Doubt | None:
    """A dew point about that of the hall, which spent desiccant may have, too, where another sign would fit."""
    turned = _turned(found, read)
    if turned is None:
        return None
    unit = system_of(found)
    return Doubt(
        name="dew_point",
        reading="dew_point",
        brief="about the hall's: minus forgotten?",
        text=f"Check the dew point of the process air: {shown} is about that of the hall's own air "
        f"({show(float(found.duty.hall_dew_point[0]), 'temperature', unit)}), and {show(turned, 'temperature', unit)} would fit. "
        "Minus forgotten?",
    )


def _turned(found: Found, read: float) -> float | None:
    """A dew point typed above nought with a minus, where practice accepts such air or the model expects it; else None. [K]"""
    if not found.machine.inputs.DRIES_AIR:
        return None
    degrees = shown_unit("temperature", system_of(found))
    typed = float(to_unit(read, "temperature", degrees))
    if typed <= 0.0:
        return None
    turned, limits = parse(f"{-typed:.12g} {degrees}", "temperature"), dew_points(found)
    accepted = limits is not None and not limits.refused(turned)
    expected = float(found.expected.delivered_dew_point[0])
    near = abs(turned - expected) <= half_width(found.readings, "dew_point") + usual("model_dew_point")
    return turned if accepted or near else None


def too_dry(found: Found, hall: float) -> Doubt | None:
    """A dew point far below the hall's in a dryer without desiccant, which heats the hall's air and dries none of it. [K]"""
    read, known = found.readings.dew_point, found.readings.hall_dew_point is not None
    if read is None or found.batch or found.machine.inputs.DRIES_AIR:
        return None
    off = half_width(found.readings, "dew_point")
    off += half_width(found.readings, "hall_dew_point") if known else usual("case_hall_temperature")
    if read + off + (MUCH_DRIER if known else THAN_THE_CASE) > hall:
        return None
    unit = system_of(found)
    degrees = shown_unit("temperature", unit)
    turned = parse(f"{-float(to_unit(read, 'temperature', degrees)):.12g} {degrees}", "temperature")
    fits = abs(turned - hall) <= off + MUCH_DRIER
    asked = (
        f" {show(turned, 'temperature', unit)} would fit: was a minus sign put too much?"
        if fits
        else " Was a minus sign put too much, or another dryer read?"
    )
    return Doubt(
        name="dew_point",
        reading="dew_point",
        brief="drier than the hall's: check its sign",
        text=f"Check the dew point of the process air: {show(read, 'temperature', unit)} is much drier than the hall's own air "
        f"({show(hall, 'temperature', unit)}), and this dryer has nothing that dries it.{asked}",
    )
