"""Retrofits: the present dryers with something changed, and nothing else."""

from __future__ import annotations

import datetime

import numpy as np
import pytest
from cases import BEDS, HOT, NEW, PRESENT, case

from energy.dryers.base import BEYOND_MODEL
from energy.errors import CaseError
from energy.remembered import Latest
from energy.reports.doubts import as_metered, read_at_the_present
from energy.reports.inputs import register
from energy.study import run
from energy.study.case import Case, build, load_case
from energy.study.compare import compare
from energy.study.paths import changed
from energy.study.simulate import simulate

RETROFIT = "Changed"


def with_retrofit(of: Case, inputs: dict[str, object], **more: object) -> Case:
    """The case with a retrofit of its present dryers at the end."""
    present = of.document["options"][0]
    own = {"name": RETROFIT, "type": present["type"], "retrofit": True, "capital": "1000 USD", "inputs": inputs, **more}
    return build({**changed(of.document, {}), "options": [*changed(of.document, {})["options"], own]}, file="my.toml")


@pytest.mark.parametrize("of", ["one-machine", "demo"])
def test_a_retrofit_that_changes_nothing_is_the_present_dryers(of):
    found = compare(with_retrofit(load_case(of), {}))
    same = found.option(RETROFIT)
    assert same.energy == found.baseline.energy
    assert same.sizing == found.baseline.sizing
    assert same.total_cost == pytest.approx(found.baseline.total_cost, rel=1e-12)
    assert same.measures.npv == pytest.approx(-1000.0, rel=1e-9)  # its overhauls go on, too
    assert [f.text for f in same.verdict.findings] == [f.text for f in found.baseline.verdict.findings]


def test_what_it_has_of_the_present_dryers_is_drawn_with_them():
    found = simulate(with_retrofit(case(PRESENT, NEW), {}), 64, 1)
    assert found.outcomes.saving[RETROFIT] == pytest.approx(np.zeros(64), abs=1e-6)
    names = [entry.name for entry in found.inputs if RETROFIT in entry.name]
    assert names == [f"options['{RETROFIT}'].capital_factor"]


def test_a_jacket_changes_neither_blower_nor_air():
    """A hopper without a jacket was given air for what it loses; with one the blower stays, and the air comes back warmer."""
    of = case(
        PRESENT,
        HOT,
        changes={
            f"options['{PRESENT}'].inputs.insulation_thickness": "0 mm",
            f"options['{PRESENT}'].built_for": "20 kg/h",
        },
    )
    of = of.with_({"hoppers['Machine 7'].throughput": "20 kg/h"})
    found = compare(with_retrofit(of, {"insulation_thickness": "60 mm"}))
    bare, jacket = found.baseline, found.option(RETROFIT)
    for key in ("airflow", "blower", "desiccant", "hopper_volume"):
        assert jacket.sizing[key] == pytest.approx(bare.sizing[key], rel=1e-9)
    shell = [sum(o.heat_out[k] for k in ("shell and ducts",)) for o in (bare, jacket)]
    assert shell[1] < 0.5 * shell[0]
    assert jacket.heat_out["aftercooler"] > bare.heat_out["aftercooler"]  # the rest of it goes there
    # As new dryers of their own, they would have air and blower by their own loss.
    own = with_retrofit(of, {}).document["options"]
    alone = [
        {**own[0], "name": "Copy", "baseline": False, "inputs": {**own[0]["inputs"], "insulation_thickness": "60 mm"}}
    ]
    copy = compare(build({**changed(of.document, {}), "options": [*own[:-1], *alone]}, file="my.toml")).option("Copy")
    assert copy.sizing["airflow"] < 0.9 * bare.sizing["airflow"]


def test_present_dryers_with_another_jacket_give_a_retrofit_of_other_air(monkeypatch):
    of = with_retrofit(case(PRESENT), {"insulation_thickness": "50 mm"})
    thin = f"options['{of.model.options[0].name}'].inputs.insulation_thickness"
    cases = [of.with_({thin: thickness}) for thickness in ("20 mm", "0 mm")]
    anew = []
    for one in cases:
        monkeypatch.setattr(run, "_RUNS", Latest(4))
        anew.append(compare(one).option(RETROFIT).sizing["airflow"])
    assert anew[1] > 1.5 * anew[0]  # a bare hopper was given more air, and it stays
    monkeypatch.setattr(run, "_RUNS", Latest(4))
    assert [compare(one).option(RETROFIT).sizing["airflow"] for one in cases] == anew


def test_hotter_regeneration_of_the_beds_that_are_there_takes_more():
    found = compare(with_retrofit(case(PRESENT, NEW), {"regeneration_temperature": "290 degC"}))
    now, hot = found.baseline, found.option(RETROFIT)
    assert hot.sizing["desiccant"] == pytest.approx(now.sizing["desiccant"], rel=1e-12)
    regeneration = [o.energy["regeneration", "electricity"] for o in (now, hot)]
    assert regeneration[1] > regeneration[0]
    assert hot.operation.delivered_dew_point.max() < now.operation.delivered_dew_point.max()


def test_an_input_counts_for_every_dryer_whose_type_has_it():
    """The demo's present dryers are twin towers and one hot-air dryer, which has no regeneration."""
    found = compare(
        with_retrofit(load_case("demo"), {"insulation_thickness": "80 mm", "regeneration_temperature": "270 degC"})
    )
    inputs = [machine.inputs for machine in found.option(RETROFIT).machines]
    assert [float(one.insulation_thickness) for one in inputs] == [0.08] * 4
    kinds = [one.kind for one in inputs]
    assert kinds == [machine.inputs.kind for machine in found.baseline.machines]
    assert "hot-air" in kinds
    assert all(one.regeneration_temperature == pytest.approx(543.15) for one in inputs if one.kind != "hot-air")
    one = with_retrofit(
        load_case("demo"),
        {},
        machines=[{"hopper": "Machine 3", "type": "hot-air", "inputs": {"insulation_thickness": "80 mm"}}],
    )
    changed_ = [float(m.inputs.insulation_thickness) for m in compare(one).option(RETROFIT).machines]
    before = [float(m.inputs.insulation_thickness) for m in compare(one).baseline.machines]
    assert [a == b for a, b in zip(changed_, before, strict=True)] == [True, True, False, True]


def test_what_the_meter_shows_beyond_the_model_stays():
    of = case(PRESENT, NEW, changes={f"options['{PRESENT}'].metered_over_model": 1.4})
    found = compare(with_retrofit(of, {}))
    assert found.option(RETROFIT).total_cost == pytest.approx(found.baseline.total_cost, rel=1e-12)


def test_a_central_system_keeps_air_and_desiccant():
    plant = load_case("demo")
    rows = changed(plant.document, {})["options"]
    central = next(row for row in rows if row.get("arrangement") == "central")
    present = {**central, "name": "Present", "baseline": True, "capital": []}
    of = {"name": RETROFIT, "type": central["type"], "retrofit": True, "capital": "0 USD"}
    others = [row for row in rows if row["name"] == "Hot air, gas-fired"]
    thick, hot = {"insulation_thickness": "120 mm"}, {"regeneration_temperature": "230 degC"}
    more = [{**of, "inputs": thick}, {**of, "name": "Hot", "inputs": hot}, {**of, "name": "Same", "inputs": {}}]
    document = {**changed(plant.document, {"request": None}), "options": [present, *others, *more]}
    found = compare(build(document, file="my.toml"))
    for name in (RETROFIT, "Hot", "Same"):
        assert found.option(name).sizing["desiccant"] == pytest.approx(found.baseline.sizing["desiccant"], rel=1e-9)
        for key in ("airflow", "blower"):  # by volume, of air a little warmer or cooler
            assert found.option(name).sizing[key] == pytest.approx(found.baseline.sizing[key], rel=1e-3)
    assert found.option("Same").energy == found.baseline.energy
    assert found.option(RETROFIT).heat_out["shell and ducts"] < found.baseline.heat_out["shell and ducts"]


def test_only_what_is_changed_is_listed_of_it():
    listed = [entry.path for entry in register(with_retrofit(case(PRESENT, NEW), {"insulation_thickness": "60 mm"}))]
    own = {path.partition("].")[2] for path in listed if path.startswith(f"options['{RETROFIT}']")}
    assert own == {
        *("inputs.insulation_thickness", "retrofit", "incentive"),
        *("capital[1].amount", "capital[1].count", "capital_factor"),
    }


@pytest.mark.parametrize(
    ("own", "told"),
    [
        (
            {"type": "desiccant-wheel"},
            "options['Changed'].type: a retrofit is of the present dryers, which have 'desiccant-twin-tower'",
        ),
        (
            {"arrangement": "central"},
            "options['Changed'].arrangement: a retrofit is of the present dryers, which have 'at the machine'",
        ),
        ({"inputs": {"hose": "1 m"}}, "options['Changed'].inputs.hose: unknown key"),
    ],
)
def test_what_is_no_retrofit_is_told(own, told):
    with pytest.raises(CaseError) as error:
        with_retrofit(case(PRESENT, BEDS), **{"inputs": {}, **own})
    assert told in str(error.value)
    with pytest.raises(CaseError, match="the present dryers are no retrofit of themselves"):
        case(PRESENT, BEDS, changes={f"options['{PRESENT}'].retrofit": True})


def test_true_is_written_as_true():
    with pytest.raises(CaseError, match=r"options\['Changed'\]\.retrofit: 'yes' is not true or false"):
        with_retrofit(case(PRESENT, NEW), {}, retrofit="yes")


def test_without_present_dryers_that_is_told_and_no_more():
    document = changed(with_retrofit(case(PRESENT, NEW), {}).document, {f"options['{PRESENT}'].baseline": None})
    with pytest.raises(CaseError) as error:
        build(document, file="my.toml")
    assert str(error.value).splitlines() == [
        "my.toml: options: no option is the baseline; mark the present machine with baseline = true; a retrofit has of it all that it does "
        "not say"
    ]


def test_the_type_need_not_be_said_again():
    of = case(PRESENT, NEW)
    document = changed(with_retrofit(of, {}).document, {f"options['{RETROFIT}'].type": None})
    assert compare(build(document)).option(RETROFIT).energy == compare(of).baseline.energy


def test_what_is_wrong_with_the_present_dryers_is_told_once():
    of = with_retrofit(load_case("demo"), {"insulation_thickness": "80 mm"}).document
    for path, key in (
        ("options['Present dryers'].inputs.blower_efficiency", "blower_efficiency"),
        (f"options['{RETROFIT}'].inputs.hose", "hose"),
    ):
        with pytest.raises(CaseError) as error:
            build(changed(of, {path: "900 %"}), file="my.toml")
        assert len([line for line in str(error.value).splitlines() if key in line.split(":")[1]]) == 1


def test_a_meter_and_a_dew_point_of_all_dryers_reach_each():
    """Of a retrofit they count for every dryer, as its inputs do; of present dryers that all stand under machines they would count for none."""
    rows = changed(load_case("demo").document, {})
    machines = [
        {
            "hopper": h["name"],
            "type": "desiccant-twin-tower",
            "metered_over_model": 1.3,
            "delivered_dew_point": "-15 degC",
        }
        for h in rows["hoppers"]
    ]
    of = build(
        {**rows, "options": [{**rows["options"][0], "machines": machines}, *rows["options"][1:]]}, file="my.toml"
    )
    found = with_retrofit(of, {}, delivered_dew_point="-45 degC").model.options[-1]
    assert [float(m.delivered_dew_point) for m in found.machines] == pytest.approx([228.15] * 4)
    assert [float(m.metered_over_model) for m in found.machines] == [1.3] * 4
    with pytest.raises(
        CaseError, match="metered_over_model: every hopper has a dryer of its own under machines; state it there"
    ):
        of.with_({"options['Present dryers'].metered_over_model": 1.1})


def test_what_is_no_list_of_dryers_is_told():
    of = with_retrofit(case(PRESENT, NEW), {}).document
    for path in (f"options['{PRESENT}'].machines", f"options['{RETROFIT}'].machines"):
        with pytest.raises(CaseError, match="machines"):
            build(changed(of, {path: ["Machine 7"]}), file="my.toml")


def test_what_the_meter_shows_beyond_the_model_is_said_to_fall_along():
    of = case(PRESENT, NEW, changes={f"options['{PRESENT}'].metered_over_model": 1.4})
    found = compare(with_retrofit(of, {"airflow_control": "variable speed"}))
    beyond = [option.heat_out[BEYOND_MODEL] / 3.6e6 for option in (found.baseline, found.option(RETROFIT))]
    assert beyond[0] - beyond[1] > 100.0
    told = as_metered(found)
    assert told[1].startswith(
        "For a retrofit part of it is assumed to go too, in proportion to what is changed: "
        f"{beyond[0] - beyond[1]:,.0f} kWh with “{RETROFIT}”."
    )
    assert len(as_metered(compare(with_retrofit(of, {})))) == 1


def test_a_dew_point_that_was_read_is_said_to_count_for_retrofits_too():
    of = case(PRESENT, NEW, changes={f"options['{PRESENT}'].delivered_dew_point": "-5 degC"})
    mended = {"regeneration_temperature": "290 degC"}
    (said,) = read_at_the_present(compare(with_retrofit(of, mended)))
    assert said.startswith(
        f"The dew point read at the present dryers is counted for “{RETROFIT}” too: where what is changed mends its cause"
    )
    assert read_at_the_present(compare(with_retrofit(of, mended, delivered_dew_point="-45 degC"))) == []
    assert read_at_the_present(compare(with_retrofit(case(PRESENT, NEW), mended))) == []


@pytest.mark.parametrize("inputs", [datetime.date(2026, 1, 2), "60 mm", 3, [{"insulation_thickness": "60 mm"}]])
def test_inputs_that_are_no_table_are_told_as_that(inputs):
    with pytest.raises(CaseError, match=rf"options\['{RETROFIT}'\]\.inputs: .* is not a table"):
        with_retrofit(case(PRESENT, NEW), inputs)
    own = [{"hopper": "Machine 7", "type": "desiccant-twin-tower", "inputs": inputs}]
    with pytest.raises(CaseError, match=rf"options\['{RETROFIT}'\]\.machines\[1\]\.inputs: .* is not a table"):
        with_retrofit(case(PRESENT, NEW), {}, machines=own)


@pytest.mark.parametrize(("key", "size"), [("airflow", "200 m3/h at 20 degC"), ("built_for", "80 kg/h")])
def test_a_size_that_would_count_for_no_dryer_is_told(key, size):
    of = case(PRESENT)
    hopper, present = of.model.hoppers[0].name, of.document["options"][0]
    own = {"hopper": hopper, "type": present["type"], "built_for": "110 kg/h"}
    alone_ = of.with_({f"options['{present['name']}'].machines": [own]})
    with pytest.raises(
        CaseError, match=rf"options\['{RETROFIT}'\]\.{key}: counts for no dryer: .*write it there"
    ) as told:
        with_retrofit(alone_, {}, **{key: size})
    assert f'machines = [{{ hopper = "{hopper}", {key} = ... }}]' in str(told.value)
    there = with_retrofit(alone_, {}, machines=[{"hopper": hopper, key: size}])
    was = compare(with_retrofit(alone_, {})).option(RETROFIT)
    assert compare(there).option(RETROFIT).energy != was.energy
    assert with_retrofit(of, {}, **{key: size}).model.options[-1].retrofit  # one dryer for all: it counts
