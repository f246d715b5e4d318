"""A saving that hangs on sizes nobody has typed says so, until they are confirmed."""

from __future__ import annotations

import json

import pytest
from cases import PC, PRESENT, WHEEL, case, plant

from energy.reports.answer import answer
from energy.reports.comparison_json import to_json
from energy.reports.comparison_text import to_text
from energy.reports.document import model
from energy.reports.left_over import warning
from energy.reports.scenario_words import told
from energy.reports.sizes_kept import kept_as_before
from energy.study.compare import compare
from energy.study.option_sections import KEPT
from energy.study.scenarios import under

SAID = "Counted as before the duty was changed, the present twin tower: built for 90 kg/h"
CONFIRM = "Still to be read at the present dryers: what they were built for at Machine 7."
PA = {**PC, "name": "Machine 8"}


def kept(value, **more):
    return {"value": value, "basis": "assumption", "note": KEPT, **more}


def grown(built_for, throughput="110 kg/h"):
    return compare(
        case(
            PRESENT, WHEEL, changes={"hoppers[1].throughput": throughput, f"options['{PRESENT}'].built_for": built_for}
        )
    )


@pytest.fixture(scope="module")
def assumed():
    return grown(kept("90 kg/h"))


def test_it_is_said_beside_the_saving_in_text_and_json(assumed):
    whole = f"{SAID}. The saving hangs on it: put in what the nameplate says (built_for). More is asked than they are counted as built for."
    assert kept_as_before(assumed) == [whole]
    assert whole in answer(assumed)
    assert whole in json.loads(to_json(assumed))["answer"]
    assert SAID in " ".join(to_text(assumed, "si").split())
    assert f"{SAID}. The saving hangs on it: put in what the nameplate says, under Options." in answer(
        assumed, page=True
    )


def test_the_request_says_it_at_the_decision_and_asks_to_confirm_it(assumed):
    sections = model.document(assumed, only=("Decision", "Baseline, and the cost of doing nothing")).sections
    decision, baseline = ([getattr(b, "text", "") for b in s.blocks] for s in sections)
    assert any(text.startswith(SAID) for text in decision)
    assert any(CONFIRM.rstrip(".") in text for text in baseline)


@pytest.mark.parametrize(
    "typed",
    [
        "90 kg/h",
        {"value": "90 kg/h", "basis": "nameplate", "note": "read"},
        {"value": "90 kg/h", "basis": "nameplate", "note": KEPT},  # another basis alone says that somebody has looked
    ],
)
def test_what_is_confirmed_is_said_no_more(typed):
    found = grown(typed)
    assert kept_as_before(found) == []
    assert "Still to be read" not in warning(found.case.document)


def test_a_range_alone_confirms_nothing():
    assert kept_as_before(grown(kept("90 kg/h", low="80 kg/h", high="100 kg/h")))


def test_less_than_it_was_built_for_is_no_overload():
    (said,) = kept_as_before(grown(kept("90 kg/h"), "60 kg/h"))
    assert "More is asked" not in said


def test_of_several_hoppers_each_is_named():
    at = f"options['{PRESENT}']"
    base = plant(PRESENT, WHEEL, hoppers=(PC, PA)).document["options"][0]
    own = {"hopper": "Machine 8", "type": base["type"], "hopper_volume": kept("0.5 m3")}
    own["inputs"] = {**base["inputs"], "air_resin_ratio": kept("2.5")}
    changes = {f"{at}.machines": [{**own, "built_for": "200 kg/h"}], f"{at}.built_for": kept("20 kg/h")}
    found = compare(plant(PRESENT, WHEEL, hoppers=(PC, PA), **changes))
    (said,) = kept_as_before(found)
    assert (
        "built for 20 kg/h at Machine 7; a hopper of 0.5 m³ at Machine 8; 2.5 kg of air per kg of resin at Machine 8. The saving"
        in said
    )
    assert "(built_for, hopper_volume, air_resin_ratio)" in said
    assert said.endswith("More is asked than they are counted as built for, at Machine 7.")
    assert (
        "what they were built for at Machine 7; the hopper at Machine 8; the air per kg of resin at Machine 8. It is counted"
        in warning(found.case.document)
    )


def test_a_scenario_that_keeps_the_size_of_the_case_is_no_assumption():
    of = case(PRESENT, WHEEL, changes={f"options['{PRESENT}'].built_for": None})
    found = compare(under(of, {"hoppers[1].throughput": "110 kg/h"}))
    assert KEPT in str(found.case.document)
    assert "Counted as before" not in told(of, found)
    assert "More is asked there than the present dryers were built for." in told(of, found)
