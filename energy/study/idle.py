"""Inputs that the type of a dryer or other choices leave without effect."""

from __future__ import annotations

import re
from collections.abc import Mapping
from typing import Any

from energy.dryers.base import Inputs
from energy.study.case import Case
from energy.study.finding import Finding
from energy.study.form import entries
from energy.study.option_sections import Option
from energy.study.paths import name_of, written
from energy.study.schema import CaseFile

_DRYER = re.compile(r"options\['(?P<name>.*)'\](?:\.machines\[(?P<place>\d+)\])?\.inputs\.(?P<key>\w+)")
_SOURCES = ("heat_source", "regeneration_heat_source")
_COOLING_WATER = "site.cooling_water_temperature"
_BURNT = {"gas_efficiency": "gas", "heater_efficiency": "electric"}
"""Efficiency of a heater -> the source of heat that it is of."""
_CONTROLLED = ("airflow_floor", "return_air_target")
"""What an airflow is turned down by."""


def is_idle(model: CaseFile, path: str) -> bool:
    """Is a path that of an input which nothing is worked out from: the fan of a cooler that has none, a burner that is not there, water that
    comes as cold as the case's cooling plant makes it?
    """
    if path == _COOLING_WATER:
        return model.cooling is not None and (model.site.climate is not None or bool(model.site.months))
    found = _DRYER.fullmatch(path)
    if found is None:
        return False
    option = next((o for o in model.options if o.name == found["name"]), None)
    place = int(found["place"] or 0)
    if option is None or place > len(option.machines):
        return False
    return _without_effect(option.machines[place - 1].inputs if place else option.inputs, found["key"])


def _without_effect(inputs: Inputs, key: str) -> bool:
    if key == "cooler_fan_share":
        return getattr(inputs, "cooler", "hall air") != "hall air"
    if key in inputs.UNREAD or (key in _CONTROLLED and inputs.airflow_control == "fixed"):
        return True
    if key in _BURNT:
        return _BURNT[key] not in {getattr(inputs, name) for name in _SOURCES if hasattr(inputs, name)}
    return False


def notes(case: Case) -> list[tuple[Finding, ...]]:
    """Said under each option of inputs that the case states for its dryers and that nothing hangs on."""
    listed = case.document.get("options")
    stated = {name_of(entry): entry for entry in listed} if isinstance(listed, list) else {}
    return [_of_option(option, stated.get(option.name, {})) for option in case.model.options]


def _of_option(option: Option, stated: Mapping[str, Any]) -> tuple[Finding, ...]:
    told: dict[str, str] = {}
    dryers = [("inputs", option.inputs)]
    dryers += [(f"machines[{place}].inputs", machine.inputs) for place, machine in enumerate(option.machines, start=1)]
    for where, inputs in dryers:
        keys = written(stated, where) or {}
        told |= {key: entries(type(inputs))[key].label for key in keys if _without_effect(inputs, key)}
    if not told:
        return ()
    listed = ", ".join(f"“{label}” ({key})" for key, label in told.items())
    text = f"Stated and without effect, since nothing of such a dryer as it is set is worked out from {'them' if len(told) > 1 else 'it'}: {listed}."
    return (Finding(check="inputs without effect", value=None, limit=None, unit="", verdict="caution", text=text),)
