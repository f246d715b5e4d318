"""Air drier than the hall's out of a dryer that has nothing to dry it with, and the minus sign that would explain it."""

from __future__ import annotations

from energy.units import parse, show, shown_unit, to_unit
from energy.walkthrough.doubt import Doubt, system_of
from energy.walkthrough.found import Found, half_width, usual

MUCH_DRIER, THAN_THE_CASE = 5.0, 15.0
"""How far below the hall's, as read or of the case, a dew point of air that nothing dried is doubted beyond what both may be off; by
judgement: a winter's day is drier than the case's mean. [K]"""


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
