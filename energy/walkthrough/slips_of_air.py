"""Airflows that a dryer cannot have beside its meter or its return air, and the slip of ten that would explain them."""

from __future__ import annotations

import math
from collections.abc import Mapping

import numpy as np

from energy.dryers.base import AIR_PER_RESIN
from energy.study.readings import QUANTITIES
from energy.units import show
from energy.walkthrough.doubt import ABOVE_ALL, Doubt, by_gas, least_energy, most_power, system_of, times
from energy.walkthrough.estimate import COVERAGE, Estimate
from energy.walkthrough.found import Found, power_of, usual
from energy.walkthrough.quantities import air_gives

HOTTER_THAN_FED = 2.0
"""Times the power on the meter from which the heat that the process air gives in the hopper is doubted; by judgement. [-]"""


TOO_LITTLE_HEAT = 0.5
"""Share of the heat that the resin takes up to which the heat that the process air gives is doubted; by judgement. [-]"""
LITTLE_AIR = 0.5
"""Share of the airflow that the dryer of the case has up to which an airflow is doubted; by judgement. [-]"""
MUCH_AIR = 5.0
"""Times the airflow that the dryer of the case has from which an airflow is doubted whose tenth would fit; by judgement. [-]"""
FASTEST = 40.0
"""Air velocity beyond which no duct of a dryer is run, so that no slip is said to explain it; by judgement. [m/s]"""


def too_much_air(found: Found, given: Mapping[str, Estimate]) -> Doubt | None:
    """An airflow that would give far more heat in the hopper than the meter shows going into the dryer, or than it can take at all."""
    flow, power, unit = given.get("air_flow"), given.get("power"), system_of(found)
    if flow is None or flow.origin != "read":
        return None
    heat = _heat(found, given)
    if given["return_temperature"].origin != "read":
        return _ten_times_the_air(found, given, heat)
    if power is None or by_gas(found):  # a meter of electricity does not show its heat
        most, off, than, all_ = (
            most_power(found.expected),
            0.0,
            "this dryer",
            "all that heaters and blowers of this dryer take",
        )
        limit = ABOVE_ALL * most
    else:
        most, off, than, all_ = power.value, power.expanded, "the meter", "all that the meter shows"
        limit = HOTTER_THAN_FED * most
    if heat * (1.0 - flow.expanded / flow.value) <= limit + off:
        return _ten_times_the_air(found, given, heat)
    more = times(heat / most)
    reading, what = _of_air(found)
    return Doubt(
        name="air_flow",
        reading=reading,
        brief=f"{more} {than} in heat: check it",
        text=f"Check {what}: so much air would give {show(heat, 'power', unit)} in the hopper, {more} {all_} "
        f"({show(most, 'power', unit)}).{_slip_of_air(found, given, heat)}",
        cannot_be=True,
        as_read=flow,
    )


def _ten_times_the_air(found: Found, given: Mapping[str, Estimate], heat: float) -> Doubt | None:
    """An airflow that no blower of the dryer could give and whose tenth would be its own, whatever heat the return air says that it gives."""
    flow, own = given["air_flow"], _own_air(found)
    slip = _slip_of_air(found, given, heat)
    if flow.value - flow.expanded <= MUCH_AIR * own or not slip:
        return None
    reading, what = _of_air(found)
    more = f"{times(flow.value / own)} what this dryer is built for"
    unit = system_of(found)
    shown, built = show(flow.value, "gas flow", unit), show(own, "gas flow", unit)
    return Doubt(
        name="air_flow",
        reading=reading,
        brief=f"{more}: check it",
        text=f"Check {what}: {shown} is {more} ({built}).{slip}",
        cannot_be=True,
        as_read=flow,
    )


def _own_air(found: Found) -> float:
    """Air that the dryer of the case has: on the duty of the day, or what it is built for where that is more. [kg/s]"""
    built = found.expected.details.get(AIR_PER_RESIN, 0.0) * found.duty.built_for.design_throughput
    return float(max(np.max(found.expected.air_flow), np.max(built)))


def too_little_air(found: Found, given: Mapping[str, Estimate]) -> Doubt | None:
    """An airflow that would leave the resin cold, beside a power or a return air that the dryer of the case has with all its air.

    A dryer that is truly overloaded has the air that it is built for; one that is truly short of air takes little power, and
    gets its air back about as cold as the pellets that are fed.
    """
    flow = given.get("air_flow")
    if flow is None or flow.origin != "read":
        return None
    heat, takes = _heat(found, given), least_energy(found) * given["throughput"].value
    most = flow.value + flow.expanded
    if most > LITTLE_AIR * float(found.expected.air_flow[0]) or heat * most / flow.value > TOO_LITTLE_HEAT * takes:
        return None
    if "power" in given and not by_gas(found):
        beside, slip = _beside_the_meter(found, given, takes), _slip_of_air(found, given, heat)
    else:  # without a meter it is doubted only where a slip explains it
        slip = _slip_of_air(found, given, heat)
        beside = _beside_the_return(found, given) if slip else ""
    if not beside:
        return None
    unit = system_of(found)
    reading, what = _of_air(found)
    less = f"{times(takes / heat)} less than" if heat > 0.0 else "less than"
    return Doubt(
        name="air_flow",
        reading=reading,
        brief=f"heat {less} the resin takes: check it",
        text=f"Check {what}: so little air would give {show(heat, 'power', unit)} in the hopper, {less} warming and drying the resin "
        f"takes ({show(takes, 'power', unit)}), and {beside}.{slip}",
        cannot_be=True,
        as_read=flow,
    )


def _beside_the_meter(found: Found, given: Mapping[str, Estimate], takes: float) -> str:
    """What the meter shows, where it is what the dryer of the case may take with all its air and not with so little."""
    power = given["power"]
    if not takes <= power.value <= ABOVE_ALL * most_power(found.expected):
        return ""
    if found.as_found is not found.expected and power.value - power.expanded <= most_power(found.as_found):
        return ""
    return f"the meter shows {show(power.value, 'power', system_of(found))}"


def _beside_the_return(found: Found, given: Mapping[str, Estimate]) -> str:
    """How hot the air comes back, where that is nearer to what the dryer of the case has with all its air than with so little."""
    back, unit = given["return_temperature"], system_of(found)
    if back.origin != "read" or found.as_found is found.expected:
        return ""
    cold, hot = (float(op.hopper.return_temperature[0]) for op in (found.as_found, found.expected))
    off = math.hypot(back.expanded, COVERAGE * usual("model_return_temperature") / math.sqrt(3.0))
    if back.value - cold <= max(off, 0.5 * (hot - cold)):
        return ""
    read, would = (show(value, "temperature", unit) for value in (back.value, cold))
    return f"it comes back at {read}, where so little air would come back near {would}"


def _heat(found: Found, given: Mapping[str, Estimate]) -> float:
    """That the process air as read gives in the hopper. [W]"""
    return float(air_gives(found, {name: estimate.value for name, estimate in given.items()}))


def _of_air(found: Found) -> tuple[str, str]:
    """Reading that the airflow rests on, and what to check."""
    if found.readings.air_velocity is not None:
        return "duct_diameter", "the duct's diameter and the air velocity"
    if found.readings.air_flow is not None:
        return "air_flow", "the airflow"
    return "blower_pressure", "the blower's pressure"


def _slip_of_air(found: Found, given: Mapping[str, Estimate], heat: float) -> str:
    """The slip of ten with which the air would give at least what the resin takes, and no more than the meter shows or, where
    none does, the dryer of the case takes; without a meter also one with which it would be about the air of that dryer."""
    own = float(found.expected.air_flow[0])
    off = given["air_flow"].expanded / given["air_flow"].value
    takes = least_energy(found) * given["throughput"].value
    metered = "power" in given and not by_gas(found)
    most = given["power"].value if metered else power_of(found.expected)
    names = {"air_velocity": 1, "duct_diameter": 2} if found.readings.air_velocity is not None else {"air_flow": 1}
    for name, power in names.items():
        value = getattr(found.readings, name)
        for factor, word in ((10.0, "Ten times"), (0.1, "A tenth of")):
            would = heat * factor**power
            fits = would * (1.0 + off) >= takes and would * (1.0 - off) <= most
            about = LITTLE_AIR <= given["air_flow"].value * factor**power / own <= 1.0 / LITTLE_AIR
            if value is None or not (fits or (about and not metered)):
                continue
            if name == "air_velocity" and factor * value > FASTEST:
                continue
            quantity = QUANTITIES[name]
            meant = show(factor * value, quantity.kind, quantity.unit(system_of(found)))
            return f" {word} the {_AIR[name]}, {meant}, would fit: a slip of ten?"
    return ""


_AIR = {"air_velocity": "velocity", "duct_diameter": "diameter", "air_flow": "airflow"}
