"""A case keeps for which option the texts of its request were written: over downloads, pages and reopening."""

from __future__ import annotations

import copy

import pytest

from dashboards import lists
from dashboards.case_state import CaseState
from dashboards.request_state import RequestState
from energy.reports.document import model
from energy.study.case import build, read_document
from energy.study.compare import compare

CENTRAL, BEDS, VACUUM = "Central wheel, variable speed", "Rotating beds", "Vacuum"


def reopened(state):
    found = RequestState("demo")
    assert found.open_text("mine.toml", state.to_take_home()) == ""
    return found


def test_a_downloaded_case_knows_it_when_it_is_opened_again():
    state = RequestState("demo")
    state.set({f"options['{CENTRAL}'].capital": "400000 USD"})  # figures alone turn the choice
    assert state.asked_for != CENTRAL
    again = reopened(state)
    assert again.of_another()["request.title"] == CENTRAL
    assert set(again.of_another()) >= {"request.title", "request.risks", "request.schedule"}
    again.confirm("request.title")
    assert "request.title" not in reopened(again).of_another()
    again.set({"request.recommended": CENTRAL})  # they hold for that one still
    assert again.of_another() == {}


def test_own_texts_are_of_the_option_asked_for_when_they_were_typed():
    state = RequestState("demo")
    state.set({"request.recommended": BEDS})
    state.set({"request.title": "Beds for four machines", "request.risks": ["None known."]})
    assert not {"request.title", "request.risks"} & set(state.of_another())
    elsewhere = CaseState("demo")  # on another page
    elsewhere.take_up(state.kept())
    elsewhere.set({"request.recommended": VACUUM})
    back = RequestState("demo")
    back.take_up(elsewhere.kept())
    assert back.asked_for == VACUUM
    assert back.of_another()["request.title"] == BEDS
    assert back.of_another()["request.risks"] == BEDS
    assert back.of_another()["request.downtime"] == CENTRAL
    back.set({"request.title": "Vacuum dryers for four machines"})
    assert "request.title" not in back.of_another()
    assert "request.title" not in reopened(back).of_another()


def test_a_change_that_turns_no_choice_writes_nothing():
    state = CaseState("demo")
    before = copy.deepcopy(state.document["request"])
    state.set({"site.altitude": "300 m"})
    assert state.document["request"] == before
    state.set({"request.recommended": BEDS})
    assert state.undoable == 2
    state.undo()
    assert state.document["request"] == before


def test_a_value_typed_wrong_in_between_changes_nothing_of_it():
    state = RequestState("demo")
    state.set({"site.altitude": "high"})
    state.set({"request.recommended": BEDS})
    assert state.problems
    state.set({"site.altitude": "300 m"})
    assert not state.problems
    assert state.of_another()["request.title"] == CENTRAL


def test_an_option_renamed_is_the_same_option():
    state = RequestState("demo")
    place = next(i for i, row in enumerate(state.document["options"]) if row["name"] == CENTRAL)
    state.set(lists.rename_option(state.document, place, "Central system"))
    assert state.of_another() == {}
    state.set({"request.recommended": BEDS})
    assert state.of_another()["request.title"] == "Central system"
    state.set(lists.rename_option(state.document, place, "One system"))
    assert state.of_another()["request.title"] == "One system"
    state.set({"request.recommended": "One system"})
    assert state.of_another() == {}


@pytest.mark.parametrize("recommended", [BEDS, ""])
def test_the_document_itself_says_it(recommended):
    state = CaseState("demo")
    state.set({"request.recommended": BEDS})
    state.set({"request.recommended": recommended or None})
    case = build(read_document(state.toml().decode(), "case.toml"), file="case.toml")
    made = model.document(compare(case), only=("Baseline, and the cost of doing nothing",))
    said = " ".join(getattr(b, "text", "") for s in made.sections for b in s.blocks)
    assert (f"Written for {CENTRAL}: title, why now, risks" in said) is bool(recommended)
    assert (f"Asked for now is {BEDS}: read them again before anything is signed." in said) is bool(recommended)
