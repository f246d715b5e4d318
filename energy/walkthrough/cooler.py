"""Heat that the cooler takes out of the air on its way from the hopper to the desiccant."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from typing import Any

import numpy as np

from energy.air import moist
from energy.dryers.base import SHAFT
from energy.walkthrough.estimate import Estimate, Values, estimate, propagate
from energy.walkthrough.found import Found, read, usual
from energy.walkthrough.leak import by_dew_points, does_not_fit, most_counted


def taken_by_cooler(found: Found, given: Mapping[str, Estimate]) -> tuple[float, float]:
    """Heat that the cooler takes, and its standard uncertainty. [W]

    What return air and blower bring, less what goes on into the desiccant: cooler and blower both stand before it. Hall air that
    leaks in makes the return air colder, and so does heat that is recovered from it; neither goes to the cooler. Where the air
    into the desiccant was not read, it is the model's heat, as uncertain as the same sum with the air that the model has there.
    """
    modelled = float(np.ravel(found.as_found.details["adsorption_temperature"])[0])
    known = found.readings.desiccant_inlet_temperature is not None
    into = (
        read(found.readings, "desiccant_inlet_temperature")
        if known
        else estimate(modelled, usual("model_return_temperature"), "model")
    )
    recovered = float(np.ravel(found.as_found.details["heat_recovered"])[0])
    specific = float(moist.heat_capacity(given["return_temperature"].value, 0.0))
    shaft = _of_shaft(found)

    def taken(x: Values) -> Any:
        falls = x["return_temperature"] - x["leak"] * (x["return_temperature"] - x["hall_temperature"]) - x["into"]
        return x["air_flow"] * specific * falls + shaft * x["process blower"] - recovered

    names = ("air_flow", "return_temperature", "hall_temperature", "process blower")
    value, off = propagate(taken, {**{name: given[name] for name in names}, "into": into, "leak": _leak(found, given)})
    if known:
        return value, off
    return sum(float(np.ravel(v)[0]) for k, v in found.as_found.heat_out.items() if k.startswith("aftercooler")), off


def _of_shaft(found: Found) -> float:
    """Share of the blower's electricity that warms the air; the rest is lost in motor and drive. [-]"""
    electric = float(np.ravel(found.as_found.energy["process blower", "electricity"])[0])
    return float(np.ravel(found.as_found.details[SHAFT])[0]) / electric if electric > 0.0 else 0.0


def _leak(found: Found, given: Mapping[str, Estimate]) -> Estimate:
    """Hall air in the air into the desiccant: by dew points that fit the temperatures, else the case's, which may as well be none or twice that. [-]"""
    counted, most = float(getattr(found.machine.inputs, "leak_share", 0.0)), most_counted(found)
    told = None if does_not_fit(found, given) else by_dew_points(found, given)
    if told is None:
        return estimate(counted, counted, "case")
    share = estimate(min(max(told[0], 0.0), most), 0.0, "read")
    return replace(share, uncertainty=min(told[1], most))
