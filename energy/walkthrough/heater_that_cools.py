"""Air before the heater that was read hotter than the air into the hopper, although a heater cannot cool."""

from __future__ import annotations

from collections.abc import Mapping

from energy.study.readings import WAY_ROUND
from energy.units import show
from energy.units.degrees import unit_typed
from energy.walkthrough.doubt import Doubt, system_of
from energy.walkthrough.estimate import COVERAGE, Estimate, propagate
from energy.walkthrough.found import Found
from energy.walkthrough.quantities import heater_gives


def heater_that_cools(found: Found, given: Mapping[str, Estimate]) -> tuple[Doubt, ...]:
    """Air that would have to be cooled by the heater, by more than the hot duct loses and what was read may be off.

    Where the process air is the nearer to what the case asks for, the air before the heater alone is in doubt; else both are, as
    of two that are the wrong way round.
    """
    before, process = found.readings.heater_inlet_temperature, found.readings.process_temperature
    if before is None or found.batch:
        return ()
    names = ("air_flow", "process_temperature", "heater_inlet_temperature", "dew_point", "duct")
    heat, off = propagate(lambda x: heater_gives(found, x), {name: given[name] for name in names})
    if heat >= -COVERAGE * off:
        return ()
    asked, unit = float(found.duty.drying_temperature[0]), unit_typed(before, system_of(found))
    exchanged = process is not None and abs(before - asked) < abs(process - asked)
    into = show(given["process_temperature"].value, "temperature", unit)
    asks = "" if process is not None else " that is asked for"
    cools = "and no heater cools. Are they the wrong way round, or was it read elsewhere or at another moment?"
    cools = f"{WAY_ROUND}, and no heater cools; check which is which." if exchanged else cools
    text = (
        f"Check the air before the heater: {show(before, 'temperature', unit)} is hotter than the air into the hopper{asks} "
        f"({into}), {cools}"
    )
    brief = "hotter than behind the heater: check it"
    told = [("heater_inlet_temperature", brief)]
    told += [("process_temperature", "colder than before the heater: check it")] if exchanged else []
    return tuple(Doubt(name=name, reading=name, brief=words, text=text, cannot_be=True) for name, words in told)
