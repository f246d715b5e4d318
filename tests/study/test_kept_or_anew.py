"""Whatever is changed in a case, a comparison that may look up what others had is one that has nothing to look up."""

from __future__ import annotations

import gc
import json

import pytest

import energy
from energy.errors import EnergyError
from energy.remembered import Latest
from energy.reports.comparison_json import to_dict
from energy.study.case import build
from energy.study.compare import compare
from energy.study.paths import changed
from energy.units import SI


def with_retrofits():
    """Of present dryers with a jacket so thin that it decides on their air; the retrofits change what decides on air and beds."""
    document = dict(changed(energy.load_case("one-machine").document, {}))
    present, *others = document["options"]
    present = {**present, "inputs": {**present.get("inputs", {}), "insulation_thickness": "3 mm"}}
    retrofit = {"type": present["type"], "retrofit": True, "capital": "900 USD"}
    own = [
        {**retrofit, "name": f"Other {key}", "inputs": {key: value}}
        for key, value in (("insulation_thickness", "60 mm"), ("cycle_time", "3 h"))
    ]
    return build({**document, "options": [present, *others, *own], "building": {"heating_carrier": "gas"}})


def inputs(case):
    """Every input that is a number, by its path, and two other values of it."""
    parts = {f"options['{option.name}'].inputs": option.inputs for option in case.model.options}
    parts |= {f"options['{option.name}']": option for option in case.model.options}
    parts |= {f"hoppers[{place}]": hopper for place, hopper in enumerate(case.model.hoppers, start=1)}
    parts |= {
        name: part
        for name in ("site", "calendar", "tariffs", "compressed_air", "building", "cooling", "finance")
        if (part := getattr(case.model, name)) is not None
    }
    for where, part in parts.items():
        for key, value in part:
            if isinstance(value, float):
                yield from ((f"{where}.{key}", SI(value * factor or 0.01)) for factor in (0.96, 1.04))


def forget():
    for kept in gc.get_objects():
        if isinstance(kept, Latest):
            kept._kept.clear()


def told(case):
    """All of a comparison but what balances are off by, which is rounding; or why there is none."""
    try:
        found = to_dict(compare(case))
    except EnergyError as error:
        return str(error)
    for option in found["options"]:
        option["heat_balance_kwh"].pop("residual")
    return json.loads(json.dumps(found), parse_float=lambda text: float(f"{float(text):.9g}"))


@pytest.mark.thorough
def test_what_is_kept_depends_on_every_input():
    case = with_retrofits()
    looked_at = 0
    for path, value in inputs(case):
        try:
            other = case.with_({path: value})
        except EnergyError:  # out of its range
            continue
        told(case)
        beside = told(other)
        forget()
        assert beside == told(other), path
        looked_at += 1
    assert looked_at > 400
