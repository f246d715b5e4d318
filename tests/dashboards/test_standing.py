"""What stands there does not grow with what is asked of it on a page."""

import copy

import pytest
import tomli_w
from cases import PRESENT, WHEEL, document

from dashboards import lists
from dashboards.compare import View
from dashboards.state import State
from energy.reports.doubts import grown_along, quoted_for_another
from energy.study.case import build, example_text, read_document
from energy.study.compare import compare
from energy.study.machine_sizes import sizes_of
from energy.study.option_sections import KEPT


def opened(folder, document):
    """A state without the curves, which are not looked at here."""
    file = folder / "case.toml"
    file.write_text(tomli_w.dumps(document), encoding="utf-8")
    return State(str(file), later=lambda _, work: None)


@pytest.fixture
def plant(tmp_path):
    """The demo, with one option beside the present dryers."""
    whole = read_document(example_text("demo"), "demo")
    options = [row for row in whole["options"] if row["name"] in ("Present dryers", "Wheels, variable speed")]
    return opened(tmp_path, {**whole, "options": options, "readings": [], "scenarios": [], "request": {}})


@pytest.fixture
def shop(tmp_path):
    """One machine whose nameplate nobody has read."""
    return opened(tmp_path, document(PRESENT, WHEEL, changes={"options[1].built_for": None, "readings": []}))


def present(state):
    return next(row for row in lists.rows(state.document, "options") if row.get("baseline"))


def own(state):
    """By hopper, what a present dryer of its own is said to be built for, and in which hopper."""
    return {row["hopper"]: (row.get("built_for"), row.get("hopper_volume")) for row in present(state)["machines"]}


def kept(text):
    return {"value": text, "basis": "assumption", "note": KEPT}


def sizes(state):
    return sizes_of(state.case, state.comparison.baseline.option)


# --- one machine


def test_a_greater_throughput_leaves_the_present_dryer_as_it_was(shop):
    before = sizes(shop)
    energy = shop.comparison.option(WHEEL).specific_energy
    shop.set({"hoppers[1].throughput": "110 kg/h"})
    assert present(shop)["built_for"] == kept("90 kg/h")
    assert "built for 90 kg/h" in shop.notice
    assert sizes(shop) == before
    (told,) = [f for f in shop.comparison.baseline.verdict.findings if f.check == "throughput"]
    assert told.text.startswith("110 kg/h are asked of a machine built for 90 kg/h, 22% more")
    assert shop.comparison.option(WHEEL).specific_energy < energy  # that one is built for it
    shop.set({"hoppers[1].throughput": "115 kg/h"})
    assert present(shop)["built_for"] == kept("90 kg/h")
    assert shop.notice == ""  # said once
    again = build(read_document(shop.toml().decode(), "case.toml"), file="case.toml")
    assert compare(again).baseline.specific_energy == shop.comparison.baseline.specific_energy


def test_the_old_throughput_leaves_no_trace(shop):
    as_it_was = copy.deepcopy(shop.document)
    shop.set({"hoppers[1].throughput": "70 kg/h"})
    assert present(shop)["built_for"] == kept("90 kg/h")
    shop.set({"hoppers[1].throughput": "90 kg/h"})
    assert shop.document["options"] == as_it_was["options"]
    shop.set({"hoppers[1].throughput": "70 kg/h"})
    assert shop.notice
    shop.undo()
    shop.undo()
    shop.undo()
    assert shop.document == as_it_was
    assert shop.notice == ""


def test_what_is_typed_stays_and_what_is_cleared_is_not_put_back(shop):
    shop.set({"hoppers[1].throughput": "110 kg/h"})
    shop.set({"options[1].built_for": "100 kg/h"})
    shop.set({"hoppers[1].throughput": "90 kg/h"})
    assert present(shop)["built_for"] == "100 kg/h"
    shop.set({"options[1].built_for": None})
    assert "built_for" not in present(shop)
    shop.set({"hoppers[1].throughput": "95 kg/h"})
    assert present(shop)["built_for"] == kept("90 kg/h")
    shop.set({"options[1].built_for": None})  # let it grow
    shop.set({"site.altitude": "100 m"})
    assert "built_for" not in present(shop)
    shop.set({"hoppers[1].throughput": "99 kg/h"})  # it had grown to that
    assert present(shop)["built_for"] == kept("95 kg/h")
    ranged = {**kept("95 kg/h"), "low": "90 kg/h", "high": "100 kg/h"}  # made the visitor's own
    shop.set({"options[1].built_for": ranged})
    shop.set({"hoppers[1].throughput": "95 kg/h"})
    assert present(shop)["built_for"] == ranged


def test_a_size_given_another_basis_is_the_visitors_own(shop):
    shop.set({"hoppers[1].throughput": "110 kg/h"})
    read = {**kept("90 kg/h"), "basis": "nameplate"}
    shop.set({"options[1].built_for": read})
    shop.set({"hoppers[1].throughput": "90 kg/h"})
    assert present(shop)["built_for"] == read


def test_a_throughput_typed_half_changes_nothing_and_the_next_good_one_counts_from_the_last(shop):
    shop.set({"hoppers[1].throughput": "much"})
    assert "built_for" not in present(shop)
    shop.set({"hoppers[1].throughput": "0 kg/h"})
    shop.set({"hoppers[1].throughput": "100 kg/h"})
    assert not shop.problems
    assert present(shop)["built_for"] == kept("90 kg/h")


def test_a_longer_stay_is_asked_of_the_hopper_that_is_there(shop):
    before = sizes(shop)[0]
    shop.set({"hoppers[1].residence_time": "6 h"})
    # 90 kg/h for 4 h.
    inputs, density = shop.comparison.baseline.option.inputs, shop.resin.bulk_density
    assert shop.comparison.baseline.option.hopper_volume == pytest.approx(
        360.0 / density / inputs.usable_share, rel=1e-5
    )
    assert "built_for" not in present(shop)
    assert shop.comparison.baseline.verdict.moisture.residence / 3600 == pytest.approx(4.0, rel=1e-5)
    assert shop.comparison.option(WHEEL).verdict.moisture.residence / 3600 == pytest.approx(6.0)
    assert shop.standing_note == ""
    shop.set({"hoppers[1].throughput": "120 kg/h"})
    assert present(shop)["built_for"] == kept("90 kg/h")
    assert shop.comparison.baseline.verdict.moisture.residence / 3600 == pytest.approx(3.0, rel=1e-5)
    shop.set({"hoppers[1].residence_time": "4 h"})
    assert "hopper_volume" not in present(shop)
    assert sizes(shop)[0].hopper_volume == pytest.approx(before.hopper_volume)
    shop.set({"options[1].hopper_volume": None, "hoppers[1].residence_time": "8 h"})
    shop.set({"options[1].hopper_volume": None})
    assert shop.standing_note.startswith(
        "The hopper of Present twin tower at Machine 7 is counted as big as the time asked"
    )


def test_another_resin_is_dried_in_the_hopper_and_the_air_that_are_there(shop):
    (before,) = sizes(shop)
    shop.set_resin("PET")
    (after,) = sizes(shop)
    assert after.built_for == before.built_for
    assert after.hopper_volume == pytest.approx(before.hopper_volume, rel=1e-5)
    assert after.air_resin_ratio == pytest.approx(before.air_resin_ratio, rel=1e-5)
    assert shop.resin.air_resin_ratio > 1.2 * before.air_resin_ratio  # what a dryer bought for it would have
    assert "with a hopper of" in shop.notice
    assert "kg of air per kg of resin. Heaters, and desiccant that is not stated, are counted as fit" in shop.notice
    shop.undo()
    assert sizes(shop) == (before,)


def test_air_that_is_stated_takes_the_place_of_what_was_kept(shop):
    shop.set_resin("PET")
    assert present(shop)["inputs"]["air_resin_ratio"]["note"] == KEPT
    shop.set({"options[1].airflow": "200 m3/h at 20 degC"})
    assert not shop.problems
    assert "air_resin_ratio" not in present(shop)["inputs"]
    # 200 m3 of 1.204 kg an hour for 90 kg of resin.
    assert sizes(shop)[0].air_resin_ratio == pytest.approx(200 * 1.2041 / 90, rel=1e-3)
    shop.set({"hoppers[1].residence_time": "7 h"})
    assert "air_resin_ratio" not in present(shop)["inputs"]
    shop.set(lists.set_type(shop.document, "options[1]", "vacuum"))
    assert not shop.problems
    assert "airflow" not in present(shop)


def test_far_more_than_it_can_heat_is_told_and_stops_nothing(shop):
    shop.set({"hoppers[1].throughput": "200 kg/h"})
    assert not shop.problems
    assert shop.comparison.baseline.verdict.overall == "fail"
    assert shop.comparison.ranked()


def test_a_type_without_a_hopper_of_its_own_keeps_its_throughput_alone(shop):
    shop.set(lists.set_type(shop.document, "options[1]", "infrared-drum"))
    shop.set({"hoppers[1].throughput": "100 kg/h", "hoppers[1].residence_time": "5 h"})
    assert not shop.problems
    assert present(shop)["built_for"] == kept("90 kg/h")
    assert "hopper_volume" not in present(shop)
    assert shop.standing_note == ""  # it has no hopper whose volume could be given


def test_us_units_are_written_where_the_case_has_them(shop):
    shop.system = "us"
    shop.set({"hoppers[1].throughput": "250 lb/h"})
    assert present(shop)["built_for"]["value"] == "198.416036 lb/h"  # of 0.45359237 kg
    shop.set({"hoppers[1].throughput": "90 kg/h"})
    assert "built_for" not in present(shop)


def test_the_page_tells_it_and_shows_it_among_the_inputs_of_the_option(shop):
    view = View(shop)
    form = view._inputs.form
    for section in ("options", "options[1]"):
        view._inputs._panel.unfold(section)
    form.enter("hoppers[1].throughput", "110")
    assert "counted as before, built for 90 kg/h" in view._bar._notice.value
    shown = form.find("options[1].built_for")
    assert (shown["value"], shown["more"]["basis"], shown["more"]["note"]) == ("90", "assumption", KEPT)
    form.enter("options[1].built_for", "105")
    assert present(shop)["built_for"] == "105 kg/h"


# --- several hoppers


def test_of_a_plant_every_dryer_without_a_nameplate_keeps_its_own(plant):
    plates = {name: of for name, (of, _) in own(plant).items()}
    before = sizes(plant)
    plant.set({"hoppers[2].throughput": "120 kg/h"})
    assert own(plant) == {
        **{name: (of, None) for name, of in plates.items()},
        "Machine 2": (kept("35 kg/h"), None),
        "Machine 4": (kept("120 kg/h"), None),
    }
    assert sizes(plant) == before
    assert "at Machine 2 built for 35 kg/h" in plant.notice
    assert "Machine 4" not in plant.notice
    assert quoted_for_another(plant.comparison)
    assert grown_along(plant.comparison) == []


def test_a_dryer_that_differs_in_its_size_alone_follows_the_others(plant):
    before = present(plant)["inputs"]["leak_share"]
    plant.set({"hoppers[2].throughput": "40 kg/h"})
    plant.set({"options[1].inputs.leak_share": "5 %"})
    by_hopper = {row["hopper"]: row["inputs"].get("leak_share") for row in present(plant)["machines"]}
    assert by_hopper == {"Machine 1": "2.5 %", "Machine 3": None, "Machine 2": "5 %", "Machine 4": "5 %"}
    plant.set({"options[1].inputs.leak_share": before})
    place = [row["hopper"] for row in present(plant)["machines"]].index("Machine 4") + 1
    plant.set({f"options[1].machines[{place}].inputs.leak_share": "9 %"})  # now it differs
    plant.set({"hoppers[2].throughput": "35 kg/h"})
    assert [row["hopper"] for row in present(plant)["machines"]] == ["Machine 1", "Machine 3", "Machine 4"]
    assert "built_for" not in present(plant)["machines"][2]


def test_one_value_for_all_hoppers_stands_with_the_option_until_a_hopper_comes(shop):
    shop.set({"hoppers[1].throughput": "110 kg/h"})
    shop.set(lists.rename_hopper(shop.document, 0, "Press"))
    assert present(shop)["built_for"] == kept("90 kg/h")
    shop.set(lists.add_hopper(shop.document))
    assert "built_for" not in present(shop)
    assert own(shop) == {"Press": (kept("90 kg/h"), None)}
    built = [s.built_for * 3600 for s in sizes(shop)]
    assert built == pytest.approx([90, 110])  # nothing is known of what stands at the new one
    shop.set(lists.remove_hopper(shop.document, 1))
    assert present(shop)["built_for"] == kept("90 kg/h")
    assert "machines" not in present(shop)


def test_the_load_leaves_it_as_it_is(plant):
    before = copy.deepcopy(present(plant))
    plant.set_load(0.5)
    assert present(plant) == before
    assert plant.notice == ""


def test_an_option_that_is_no_longer_the_present_one_is_built_for_what_is_asked(plant):
    plant.set({"hoppers[2].throughput": "60 kg/h"})
    plant.set(lists.copy_named(plant.document, "options", 0))
    copied = lists.rows(plant.document, "options")[1]
    assert KEPT not in str(copied)
    assert [row["hopper"] for row in copied["machines"]] == ["Machine 1", "Machine 3"]
    plant.set(lists.mark_baseline(plant.document, 2))
    assert KEPT not in str(lists.rows(plant.document, "options")[0])
    assert not plant.problems


@pytest.mark.parametrize("arrangement", ["portable", "central"])
def test_dryers_that_serve_several_hoppers_grow_and_that_is_told(plant, arrangement):
    plant.set({"hoppers[2].throughput": "60 kg/h"})
    plant.set(lists.arrange(plant.document, 0, arrangement))
    assert not plant.problems
    assert KEPT not in str(present(plant))
    plant.set({"hoppers[4].throughput": "150 kg/h"})
    assert not plant.problems
    assert plant.notice == (
        f"Present dryers: counted as if built for what is asked now, since the size of {arrangement} dryers hangs on all hoppers together."
    )
    assert KEPT not in str(present(plant))
