"""Desiccant of the present dryer on the pages: kept where readings are taken over, and typed as any other input."""

from __future__ import annotations

import pytest

from dashboards.state import State
from dashboards.walkthrough_state import WalkState
from energy import dryers
from energy.study.form import entries
from energy.study.paths import written


def test_the_notice_of_a_take_over_says_that_the_desiccant_stays():
    state = WalkState()
    state.choose_at("regeneration_control", "timer")
    state.read("regeneration_cycle", "2")
    before = float(state.comparison.baseline.sizing["desiccant"])
    state.adopt()
    assert "Its desiccant stays as much as it was, whatever was read: " in state.notice
    assert "(“Desiccant in each dryer, all its beds together”)" in state.notice
    assert float(state.comparison.baseline.sizing["desiccant"]) == pytest.approx(before, rel=1e-3)
    state.adopt()
    assert "desiccant stays" not in state.notice  # it stands there already
    state.undo()
    assert "desiccant_mass" not in str(state.document["options"])


def test_it_is_entered_with_its_unit_and_has_no_typical_value():
    state = State()
    kind = str(state.document["options"][0]["type"])
    entry = entries(dryers.TYPES[kind].Inputs)["desiccant_mass"]
    assert entry.allowed("lb") == "at least 0.02205 lb and at most 220,500 lb"  # 0.01 kg and 100 t
    path = "options[1].inputs.desiccant_mass"
    state.enter(path, entry.quantity, "value", "120 lb", None)
    assert written(state.document, path) == "120 lb"
    inputs = state.case.model.options[0].inputs
    assert float(inputs.desiccant_mass) == pytest.approx(120 * 0.45359237)
