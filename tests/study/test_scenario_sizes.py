"""Under a scenario what stands there keeps its size; what is not bought yet is built for what is asked."""

from __future__ import annotations

import numpy as np
import pytest
from cases import HOPPER, PA, PC, PRESENT, WHEEL, document, plant

from energy.reports.document.own_scenarios import own_scenarios
from energy.reports.document.proposal import proposal
from energy.reports.document.records import Table
from energy.reports.document.sensitivity import sensitivity
from energy.reports.scenario_words import told
from energy.study.case import build, load_case
from energy.study.compare import compare
from energy.study.machine_sizes import sizes_of
from energy.study.paths import changed
from energy.study.scenarios import under
from energy.study.sensitivity import run_scenarios
from energy.study.sweep import sweep

AT, RETROFIT = f"options['{PRESENT}']", "Recovery"
ANOTHER_DUTY = {
    "half": {f"{HOPPER}.throughput": "45 kg/h"},
    "more": {f"{HOPPER}.throughput": "108 kg/h"},
    "longer": {f"{HOPPER}.residence_time": "6 h"},
    "cooler": {f"{HOPPER}.drying_temperature": "105 degC"},
    "wetter": {f"{HOPPER}.initial_moisture": "0.3 %"},
    "another resin": {f"{HOPPER}.resin": "PET", f"{HOPPER}.drying_temperature": None, f"{HOPPER}.residence_time": None},
    "colder hall": {"site.hall_temperature": "8 degC", "site.hall_dew_point": "2 degC"},
    "shorter and more": {f"{HOPPER}.residence_time": "3 h", f"{HOPPER}.throughput": "100 kg/h"},
}


def shop(*options, changes=None, inputs=None, **retrofit):
    """One machine of 90 kg/h whose nameplate nobody has read, with a retrofit of it."""
    whole = document(*(options or (PRESENT, WHEEL)), changes={f"{AT}.built_for": None, **(changes or {})})
    own = {"name": RETROFIT, "type": whole["options"][0]["type"], "retrofit": True, "capital": "9000 USD"}
    whole["options"].append({**own, "inputs": inputs or {}, **retrofit})
    return build(whole, file="shop.toml")


def sized(of, name=PRESENT):
    """What a dryer is built for [kg/h], its hopper [m3], its air [kg/kg], its beds [kg]."""
    found = compare(of).option(name)
    (size,) = sizes_of(of, found.option)
    return size.built_for * 3600, size.hopper_volume, size.air_resin_ratio, found.sizing["desiccant"]


def saving(comparison, name):
    return comparison.baseline.total_cost - comparison.option(name).total_cost


@pytest.mark.parametrize("name", ANOTHER_DUTY)
def test_a_present_dryer_and_a_retrofit_of_it_keep_hopper_air_and_beds(name):
    of = shop()
    other = under(of, ANOTHER_DUTY[name])
    before = sized(of)
    assert before[0] == pytest.approx(90)
    # 90 kg/h for 4 h.
    inputs, density = of.model.options[0].inputs, of.resins[0].bulk_density
    assert before[1] == pytest.approx(360 / density / inputs.usable_share)
    for option in (PRESENT, RETROFIT):
        assert sized(other, option) == pytest.approx(before, rel=2e-5)
    found = compare(other)
    assert found.option(RETROFIT).energy == pytest.approx(found.baseline.energy, rel=1e-9)  # nothing is changed in it


def test_a_colder_hall_gives_a_bare_hopper_no_other_blower():
    bare = {f"{AT}.inputs.insulation_thickness": "0 mm", f"{HOPPER}.throughput": "20 kg/h"}
    of, cold = shop(changes=bare), ANOTHER_DUTY["colder hall"]
    assert sized(under(of, cold)) == pytest.approx(sized(of), rel=2e-5)
    assert sized(of.with_(cold))[2] > 1.02 * sized(of)[2]  # one that is bought for that hall


def test_what_is_not_bought_yet_is_built_for_what_is_asked():
    of = shop()
    assert sized(under(of, ANOTHER_DUTY["half"]), WHEEL)[0] == pytest.approx(45)
    longer = sized(under(of, ANOTHER_DUTY["longer"]), WHEEL)
    assert longer[1] == pytest.approx(1.5 * sized(of, WHEEL)[1], rel=1e-6)  # 6 h in place of 4 h


@pytest.mark.parametrize("now", ["45 kg/h", "105 kg/h"])
def test_a_throughput_gives_what_it_gives_with_the_nameplate_in_the_case(now):
    of, change = shop(inputs={"return_recovery": "55 %"}), {f"{HOPPER}.throughput": now}
    stated = of.with_({f"{AT}.built_for": "90 kg/h"}).with_(change)
    mine, theirs = compare(under(of, change)), compare(stated)
    for name in (PRESENT, WHEEL, RETROFIT):
        assert mine.option(name).total_cost == pytest.approx(theirs.option(name).total_cost, rel=1e-9)
        assert mine.option(name).peak == pytest.approx(theirs.option(name).peak, rel=1e-9)
    assert mine.option(RETROFIT).measures.npv == pytest.approx(theirs.option(RETROFIT).measures.npv, rel=1e-9)
    shrunk = compare(of.with_(change))
    assert shrunk.baseline.total_cost != pytest.approx(mine.baseline.total_cost, rel=0.02)


def test_it_gives_what_the_same_production_as_a_level_gives():
    of = shop(inputs={"return_recovery": "55 %"})
    level = compare(of.with_({f"{HOPPER}.levels": [{"throughput": "45 kg/h", "share": "100 %"}]}))
    mine = compare(under(of, ANOTHER_DUTY["half"]))
    assert saving(mine, RETROFIT) == pytest.approx(saving(level, RETROFIT), rel=1e-9)
    assert mine.option(RETROFIT).measures.npv == pytest.approx(level.option(RETROFIT).measures.npv, rel=1e-9)


def test_pellets_stay_as_long_as_the_hopper_there_holds_them():
    of = shop()

    def stay(name):
        return compare(under(of, ANOTHER_DUTY[name])).baseline.verdict.moisture.residence / 3600

    assert stay("longer") == pytest.approx(4.0, rel=1e-5)
    assert stay("half") == pytest.approx(8.0, rel=1e-5)
    assert stay("shorter and more") == pytest.approx(4.0 * 90 / 100, rel=1e-5)


def test_what_the_scenario_states_of_a_size_counts():
    other = under(shop(), {**ANOTHER_DUTY["half"], f"{AT}.built_for": "70 kg/h", f"{AT}.hopper_volume": "0.7 m3"})
    assert sized(other)[:2] == pytest.approx((70, 0.7))


def test_a_scenario_of_prices_is_the_case_with_its_changes():
    of, change = shop(), {"finance.rate": "12 %", f"{HOPPER}.running": "80 %", f"{HOPPER}.campaigns": 10}
    assert under(of, {"finance.rate": "12 %"}).document == of.with_({"finance.rate": "12 %"}).document
    assert [row.get("machines") for row in under(of, change).document["options"]] == [None] * 3


def test_the_size_that_a_retrofit_says_itself_stays():
    two = ({**PC, "name": "A"}, {**PA, "name": "B"})
    of = plant(PRESENT, WHEEL, hoppers=two)
    own = {"name": RETROFIT, "type": of.document["options"][0]["type"], "retrofit": True, "capital": "9000 USD"}
    rows = [*changed(of.document, {})["options"], {**own, "hopper_volume": "0.9 m3"}]
    of = build({**changed(of.document, {}), "options": rows}, file="plant.toml")
    other = under(of, {"hoppers['A'].throughput": "60 kg/h", "hoppers['A'].residence_time": "5 h"})
    found = {option.name: option for option in other.model.options}
    assert [s.hopper_volume for s in sizes_of(other, found[RETROFIT])] == pytest.approx([0.9, 0.9])
    assert [s.built_for * 3600 for s in sizes_of(other, found[RETROFIT])] == pytest.approx([90, 40])
    before = sizes_of(of, next(option for option in of.model.options if option.baseline))
    assert [s.hopper_volume for s in sizes_of(other, found[PRESENT])] == pytest.approx(
        [s.hopper_volume for s in before], rel=1e-5
    )


def test_a_retrofits_own_dryer_has_the_size_of_the_present_ones():
    of = shop(
        changes={f"{AT}.built_for": "120 kg/h"}, machines=[{"hopper": "Machine 7", "inputs": {"leak_share": "1 %"}}]
    )
    assert sized(of, RETROFIT)[0] == pytest.approx(120)


@pytest.mark.parametrize("arrangement", ["portable", "central"])
def test_dryers_that_serve_several_hoppers_keep_what_they_are_built_for(arrangement):
    more = {f"{AT}.arrangement": arrangement} | ({f"{AT}.units": 2} if arrangement == "portable" else {})
    of = plant(PRESENT, WHEEL).with_(more)
    other = under(of, {"hoppers['Machine 7'].throughput": "45 kg/h", "hoppers['Machine 8'].throughput": "20 kg/h"})
    was, now = compare(of).baseline, compare(other).baseline
    for key in ("desiccant", "hopper_volume"):
        assert now.sizing[key] == pytest.approx(was.sizing[key], rel=1e-6)
    said = told(of, compare(other))
    assert "serve several hoppers" not in said
    longer = compare(under(of, {"hoppers['Machine 7'].residence_time": "6 h"}))
    assert f"Hoppers and air of the {arrangement} dryers are counted there as fit for what is asked" in told(of, longer)


def test_a_dryer_of_its_own_beside_a_central_system_stays():
    own = {"hopper": "Machine 8", "type": "hot-air"}
    of = plant(PRESENT, WHEEL).with_({f"{AT}.arrangement": "central", f"{AT}.machines": [own]})
    other = under(of, {"hoppers['Machine 8'].residence_time": "9 h", "hoppers['Machine 8'].throughput": "20 kg/h"})
    (was, now) = (sizes_of(one, compare(one).baseline.option)[1] for one in (of, other))
    assert now.built_for == pytest.approx(was.built_for, rel=1e-6)
    assert now.hopper_volume == pytest.approx(was.hopper_volume, rel=1e-5)
    assert now.air_resin_ratio == pytest.approx(was.air_resin_ratio, rel=1e-5)
    assert "serve several hoppers" not in told(of, compare(other))
    both = under(of, {"hoppers['Machine 7'].residence_time": "6 h"})
    assert "Hoppers and air of the central dryers are counted there as fit" in told(of, compare(both))


def test_a_dryer_of_its_own_at_a_hopper_stays_too():
    of = load_case("demo")
    other = under(of, {"hoppers['Machine 4'].throughput": "100 kg/h", "hoppers['Machine 3'].residence_time": "8 h"})
    before, after = (sizes_of(one, next(o for o in one.model.options if o.baseline)) for one in (of, other))
    for was, now in zip(before, after, strict=True):
        assert now.built_for == pytest.approx(was.built_for)
        assert now.hopper_volume == pytest.approx(was.hopper_volume, rel=1e-5)
        assert now.air_resin_ratio == pytest.approx(was.air_resin_ratio, rel=1e-5)


# --- too small for it


def with_scenario(of, changes):
    return of.with_({"scenarios": [{"name": "boom", "changes": changes}]})


def test_more_than_it_can_heat_is_told_in_words():
    of = with_scenario(shop(), {f"{HOPPER}.throughput": "200 kg/h"})
    found = run_scenarios(of)["boom"]
    assert found.baseline.verdict.overall == "fail"
    assert "More is asked there than the present dryers were built for." in told(of, found)
    p = proposal(compare(of))
    (row,) = own_scenarios(p, p.option)
    assert "Not passed there by the present twin tower, whatever is saved:" in row.title
    assert "More is asked there than the present dryers were built for." in row.title


def test_a_present_dryer_without_an_answer_there_stops_neither_the_others_nor_the_report():
    of = with_scenario(shop(changes={f"{AT}.type": "vacuum", f"{AT}.inputs": {}}), {f"{HOPPER}.throughput": "400 kg/h"})
    found = run_scenarios(of)["boom"]
    assert isinstance(found, str)
    assert told(of, found).startswith(f"no answer, because {AT}")
    p = proposal(compare(of))
    (row,) = own_scenarios(p, p.option)
    assert row.result is None
    assert row.said.startswith("No answer, because")


def test_a_quoted_machine_that_is_too_small_there_is_told_and_a_typing_error_is_refused():
    of = with_scenario(shop(changes={f"options['{WHEEL}'].built_for": "95 kg/h"}), {f"{HOPPER}.throughput": "108 kg/h"})
    assert "95 kg/h is less than the hopper's throughput of 108 kg/h" in run_scenarios(of)["boom"]


# --- beside the scenarios of a request


def scenario_note(of, name):
    p = proposal(compare(of.with_({"request.recommended": name})))
    (table,) = [b for b in sensitivity(p, p.option, None) if isinstance(b, Table) and b.title == "Scenarios"]
    return table


def test_of_a_retrofit_it_is_not_said_that_the_present_dryers_follow_the_load_less():
    of = shop(inputs={"return_recovery": "55 %"})
    table = scenario_note(of, RETROFIT)
    half = next(row for row in table.rows if row[0].startswith("Half the throughput"))
    assert float(half[1].replace(",", "")) > float(table.rows[0][1].replace(",", ""))  # it does grow
    assert "follow the load less" not in table.note


def test_a_retrofit_does_not_grow_in_the_curve_of_costs():
    of = shop(changes={f"{AT}.built_for": "180 kg/h"})
    flows = np.array([45.0, 90.0, 135.0]) / 3600
    found = sweep(compare(of), flows).cost
    extra = found[RETROFIT] - found[PRESENT]
    # 9,000 USD as a level yearly sum over 10 years at 8 %, whatever the throughput: it changes nothing else.
    assert extra == pytest.approx(9000 * 0.08 / (1 - 1.08**-10) * np.ones(3), rel=1e-6)
