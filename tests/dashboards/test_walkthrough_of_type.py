"""The Walkthrough view offers the readings that the type of the present dryer can have, and changes with the type."""

from __future__ import annotations

import copy

import pytest
import tomli_w
from hot_air_read import HOPPER, document_of

from dashboards.walkthrough import View
from dashboards.walkthrough_state import WalkState

CIRCUIT = (
    *("regeneration_temperature", "regeneration_cycle", "regeneration_power"),
    *("desiccant_inlet_temperature", "return_dew_point"),
)


@pytest.fixture
def view(tmp_path):
    path = tmp_path / "case.toml"
    path.write_text(tomli_w.dumps(document_of()), encoding="utf-8")
    return View(WalkState(str(path)))


def shown(view, name):
    return view._readings[name].box.layout.display != "none"


def of_another_type(view, kind):
    document = copy.deepcopy(view.state.document)
    document["options"][0]["type"] = kind
    view.state._put(document)
    assert view.state.problems == ()


def test_what_hot_air_cannot_have_is_not_in_the_form(view):
    assert not any(shown(view, name) for name in CIRCUIT)
    assert view._control_field.box.layout.display == view._titles["Regeneration"].layout.display == "none"
    assert all(shown(view, name) for name in ("heater_inlet_temperature", "blower_pressure", "power", "air_velocity"))
    assert view._readings["power"].control.description == "Electrical power, mean over an hour or more (kW)"
    assert "regeneration" not in view._readings["power"].hint
    assert [label for label, _ in view._where.options] == ["exhaust duct", "process duct"]


def test_the_form_changes_with_the_type(view):
    of_another_type(view, "desiccant-wheel")
    assert all(shown(view, name) for name in CIRCUIT)
    assert view._control_field.box.layout.display is view._titles["Regeneration"].layout.display is None
    assert "whole cycles" in view._readings["power"].control.description
    assert view._readings["power"].hint.startswith("Over whole regeneration cycles.")
    assert [label for label, _ in view._where.options] == ["return duct", "process duct"]
    of_another_type(view, "vacuum")
    assert not any(shown(view, name) for name in (*CIRCUIT, "return_temperature", "air_velocity"))
    assert view._titles["Air flow"].layout.display == view._where_field.box.layout.display == "none"
    assert shown(view, "power")
    assert view._titles["Electricity"].layout.display is None


def test_what_was_typed_before_the_type_changed_stays_in_sight_with_the_reason(view):
    of_another_type(view, "desiccant-wheel")
    view.state.read("regeneration_cycle", "4")
    view.state.choose_at("regeneration_control", "timer")
    of_another_type(view, "hot-air")
    assert view.state.entry["hopper"] == HOPPER
    field = view._readings["regeneration_cycle"]
    assert shown(view, "regeneration_cycle")
    assert "Left out: a dryer of this type has no desiccant." in field._note.value
    assert "Left out: a dryer of this type has no desiccant." in view._control_field._note.value
    assert not shown(view, "regeneration_temperature")
    view.state.clear()
    assert not shown(view, "regeneration_cycle")


@pytest.mark.parametrize(
    ("kind", "inputs"),
    [
        ("hot-air", "(airflow, insulation)"),
        ("desiccant-wheel", "(airflow, insulation, regeneration, dew point)"),
        ("compressed-air", "(airflow, insulation, dew point)"),
    ],
)
def test_what_is_kept_names_only_what_the_type_has(view, kind, inputs):
    if kind != "hot-air":
        of_another_type(view, kind)
    assert f"Those that are an input of the dryer {inputs} can take its place" in view._keep.value


def test_what_is_kept_of_a_vacuum_dryer_is_its_meter(view):
    of_another_type(view, "vacuum")
    assert "input of the dryer" not in view._keep.value
    assert "Where power was read and the model differs, the comparison is brought to the meter." in view._keep.value
