"""What is still of the example is named in a case of another plant."""

from __future__ import annotations

import copy

from energy.reports.document import model
from energy.reports.left_over import left_over, warning
from energy.study.case import build, load_case
from energy.study.compare import compare


def other_plant():
    document = copy.deepcopy(dict(load_case("demo").document))
    document["case"]["name"] = "Works of our own"
    document["hoppers"][0]["throughput"] = "75 kg/h"
    return document


def test_an_example_with_other_prices_is_still_the_example():
    document = copy.deepcopy(dict(load_case("demo").document))
    document["tariffs"]["electricity"] = "0.2 USD/kWh"
    assert left_over(document) == []
    assert warning(document) == ""


def test_what_was_not_replaced_is_named():
    document = other_plant()
    found = left_over(document)
    assert "the plant's electricity" in found
    assert "the note of the case" in found
    assert any(told.startswith("overhauls and replacements of Present dryers") for told in found)
    [told] = [said for said in found if said.startswith("what inputs of Present dryers rest on")]
    for named in ("blower efficiency", "hopper insulation", "regeneration temperature"):
        assert named in told
    assert told.endswith(": measured, nameplate or note)")
    assert any(told.startswith("the request's texts (why now, risks") for told in found)
    assert any(told.startswith("the request's texts") and "title" in told for told in found)
    assert {"the date of the quotes", "the class of the estimate", "the contingency"} <= set(found)


def inputs_of_present(**inputs):
    document = other_plant()
    base = next(option for option in document["options"] if option.get("baseline"))
    for part in (base, *base["machines"]):
        part["inputs"] = {}
    base["inputs"] = inputs
    return [told for told in left_over(document) if told.startswith("what inputs of Present dryers rest on")]


def test_one_ordinary_value_or_note_shows_no_copy():
    hot = {"value": "250 degC", "basis": "nameplate"}  # on many a nameplate
    note = {"value": "31 %", "basis": "measured", "note": "worn impellers"}
    assert inputs_of_present(regeneration_temperature=hot) == []
    assert inputs_of_present(regeneration_temperature=hot, blower_efficiency=note) == []


def test_a_value_with_the_note_of_the_example_or_two_of_its_notes_show_a_copy():
    worn = {"value": "38 %", "low": "32 %", "high": "45 %", "basis": "assumption", "note": "worn impellers"}
    hot = {"value": "250 degC", "basis": "nameplate"}
    [told] = inputs_of_present(blower_efficiency=worn, regeneration_temperature=hot, leak_share="2 %")
    assert "(blower efficiency and regeneration temperature: measured, nameplate or note)" in told
    [told] = inputs_of_present(
        blower_efficiency={**worn, "value": "35 %"}, leak_share={"value": "2 %", "note": "return hoses patched"}
    )
    assert "(blower efficiency and hall air leaking in: measured, nameplate or note)" in told


def test_a_bare_maintenance_of_the_example_may_be_chance_but_not_beside_its_capital():
    document, name = other_plant(), "Twin towers, new"
    option = next(option for option in document["options"] if option["name"] == name)
    assert isinstance(option["maintenance"], str)

    def told() -> bool:
        return any(said.startswith("maintenance of ") and name in said for said in left_over(document))

    assert told()
    option["capital"] = [{"item": "Dryers", "amount": "31000 USD"}]
    option.pop("replacements", None)
    assert not told()


def test_what_was_replaced_is_named_no_more():
    document = other_plant()
    del document["plant_load"]
    document["case"]["note"] = "Our own."
    document["request"] = {}
    base = next(option for option in document["options"] if option.get("baseline"))
    base["replacements"], base["maintenance"] = [], "4000 USD"
    for part in (base, *base["machines"]):
        part["inputs"] = {"motor_class": "IE1"}
    found = " ".join(left_over(document))
    for gone in ("electricity", "note", "texts", "Present dryers"):
        assert gone not in found
    assert "capital of Twin towers, new" in found


def test_the_request_warns_beside_its_data():
    document = model.document(compare(build(other_plant())), only=("Baseline, and the cost of doing nothing",))
    warned = [b.text for section in document.sections for b in section.blocks if getattr(b, "style", "") == "warning"]
    assert len(warned) == 1
    assert warned[0].startswith(
        "Still of the example, not of this plant: the plant's electricity; the note of the case;"
    )
