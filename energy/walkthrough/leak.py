"""Hall air that leaks into the return line: its share by the dew points, and the most that the temperatures leave room for."""

from __future__ import annotations

import math
from collections.abc import Mapping
from typing import Any

from energy.air import moist, water_vapour
from energy.study.form import entries
from energy.units import show
from energy.walkthrough.doubt import Doubt, system_of
from energy.walkthrough.estimate import Estimate, Values, propagate
from energy.walkthrough.found import Found, read

SURE = 2.0
"""Standard uncertainties beyond which two shares are not the same."""
_APART = 10.0
"""How much hotter than the hall return air has to be for temperatures to tell a share; by judgement. [K]"""


def most_counted(found: Found) -> float:
    """The largest leak that the model counts with. [-]"""
    highest = entries(type(found.machine.inputs))["leak_share"].limits[1]
    return float(highest[1])


def by_dew_points(found: Found, given: Mapping[str, Estimate]) -> tuple[float, float] | None:
    """Share of hall air in the air that reaches the desiccant, and its standard uncertainty; None where no dew point tells. [-]"""
    if not found.closed or found.readings.return_dew_point is None:
        return None
    pressure, hall = float(found.duty.pressure[0]), float(found.duty.hall_humidity[0])

    def leak(x: Values) -> Any:
        dry, wet = (water_vapour.humidity_ratio(x[name], pressure) for name in ("dew_point", "return_dew_point"))
        own = dry + x["throughput"] * x["water"] / x["air_flow"]
        return (wet - own) / (hall - own)

    names = ("dew_point", "throughput", "water", "air_flow")
    return propagate(
        leak, {**{n: given[n] for n in names}, "return_dew_point": read(found.readings, "return_dew_point")}
    )


def by_temperatures(found: Found, given: Mapping[str, Estimate], *, blown: bool) -> tuple[float, float] | None:
    """The most that can be hall air where the cooler takes nothing, and its standard uncertainty; None where nothing was read. [-]

    Hall air makes return air colder. What the cooler takes makes it colder still, so that less of it is hall air; the blower
    stands before the desiccant and makes it hotter: with its heat, where `blown`, more of it may be.
    """
    back, inlet = given["return_temperature"], found.readings.desiccant_inlet_temperature
    if back.origin != "read" or inlet is None or back.value - given["hall_temperature"].value < _APART:
        return None

    def most(x: Values) -> Any:
        lift = (
            x["process blower"] / (x["air_flow"] * moist.heat_capacity(x["return_temperature"], 0.0)) if blown else 0.0
        )
        return (x["return_temperature"] + lift - x["inlet"]) / (x["return_temperature"] - x["hall_temperature"])

    names = ("return_temperature", "hall_temperature", "process blower", "air_flow")
    return propagate(
        most, {**{n: given[n] for n in names}, "inlet": read(found.readings, "desiccant_inlet_temperature")}
    )


def does_not_fit(found: Found, given: Mapping[str, Estimate]) -> Doubt | None:
    """A dew point of the return air that asks for more hall air than its temperature leaves room for.

    A share that a leak may well have is held against the temperatures with all of the blower's heat: so much hall air may
    leave the cooler nothing to do. One that is surely beyond what the model counts is held against those without it, too.
    """
    share = by_dew_points(found, given)
    if share is None:
        return None
    bare, blown = (by_temperatures(found, given, blown=with_blower) for with_blower in (False, True))
    if bare is None or blown is None:
        return None
    never = _more(share, blown)
    if not never and not (_more(share, (most_counted(found), 0.0)) and _more(share, bare)):
        return None
    readings, unit = found.readings, system_of(found)
    damp, back, inlet, hall = (
        show(value, "temperature", unit)
        for value in (
            float(readings.return_dew_point or 0.0),
            given["return_temperature"].value,
            float(readings.desiccant_inlet_temperature or 0.0),
            given["hall_temperature"].value,
        )
    )
    without, with_ = (max(100.0 * one[0], 0.0) for one in (bare, blown))
    return Doubt(
        name="return_dew_point",
        reading="return_dew_point",
        brief="does not fit its temperature: check both",
        text=f"Check the dew point and the temperature of the return air: they do not fit together{'' if never else ' with a cooler at work'}. "
        f"By the dew point, {damp}, {100.0 * share[0]:.0f} % of the air that reaches the desiccant is hall air. By the temperatures ({back} out of "
        f"the hopper, {inlet} into the desiccant, {hall} in the hall) {without:.0f} % can be at most, with no cooler at all, "
        f"and {with_:.0f} % with all of the blower's heat in it. What a leak costs is not told before that is settled.",
    )


def _more(one: tuple[float, float], other: tuple[float, float]) -> bool:
    """Is a share more than another, beyond what both may be off?"""
    return one[0] - other[0] > SURE * math.hypot(one[1], other[1])
