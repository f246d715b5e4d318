"""Desiccant that a case states: of the present dryers, of what is changed of them, of several hoppers, in draws and on paper."""

from __future__ import annotations

import json

import numpy as np
import pytest
from cases import BEDS, NEW, PRESENT, WHEEL, alone, case, document, plant

from energy.errors import CaseError
from energy.reports.comparison_json import to_json
from energy.reports.inputs import register
from energy.study.case import Case, build, load_case
from energy.study.compare import compare
from energy.study.paths import changed
from energy.study.scenarios import under
from energy.study.simulate import simulate

AT = f"options['{PRESENT}'].inputs"
KEPT = "Changed"


def desiccant(of: Case, name: str = PRESENT) -> float:
    return float(compare(of).option(name).sizing["desiccant"])


def regeneration(of: Case, name: str = PRESENT) -> float:
    """Heat of regeneration a year. [J]"""
    found = compare(of).option(name)
    return sum(float(np.sum(v)) for (use, _), v in found.energy.items() if use == "regeneration")


def with_retrofit(of: Case, **inputs: object) -> Case:
    own = {"name": KEPT, "type": "desiccant-twin-tower", "retrofit": True, "capital": "1000 USD", "inputs": inputs}
    return build({**changed(of.document, {}), "options": [*changed(of.document, {})["options"], own]}, file="my.toml")


def test_a_timer_set_shorter_heats_the_beds_that_are_there_more_often():
    """By hand: sized beds are half as big at half the cycle, and cost the same; those that are there cost their heat twice."""
    timer = {f"{AT}.regeneration_control": "timer"}
    sized = [case(PRESENT, changes={**timer, f"{AT}.cycle_time": f"{h} h"}) for h in (4, 2)]
    assert desiccant(sized[1]) == pytest.approx(0.5 * desiccant(sized[0]), rel=1e-6)
    assert regeneration(sized[1]) == pytest.approx(regeneration(sized[0]), rel=1e-6)
    mass = {f"{AT}.desiccant_mass": f"{desiccant(sized[0]):.10g} kg"}
    there = [regeneration(one.with_(mass)) for one in sized]
    assert there[0] == pytest.approx(regeneration(sized[0]), rel=1e-6)
    as_retrofit = with_retrofit(sized[0], cycle_time="2 h")
    assert there[1] == pytest.approx(regeneration(as_retrofit, KEPT), rel=1e-6)
    assert 1.3 * there[0] < there[1] < 1.9 * there[0]


def test_a_retrofit_has_it_and_may_be_filled_otherwise():
    of = case(PRESENT, NEW, changes={f"{AT}.desiccant_mass": "110 lb"})
    kept, filled = with_retrofit(of, cycle_time="3 h"), with_retrofit(of, desiccant_mass="70 kg")
    assert desiccant(kept, KEPT) == pytest.approx(110 * 0.45359237)
    assert desiccant(filled, KEPT) == pytest.approx(70.0)
    assert desiccant(filled) == pytest.approx(110 * 0.45359237)
    # A new dryer is sized for its duty.
    assert desiccant(of, NEW) == pytest.approx(desiccant(case(PRESENT, NEW), NEW))


@pytest.mark.parametrize("name", [PRESENT, BEDS, WHEEL])
def test_every_type_with_desiccant_has_it(name):
    assert desiccant(alone(name, {f"options['{name}'].inputs.desiccant_mass": "33 kg"}), name) == pytest.approx(33.0)


def test_hot_air_has_none():
    with pytest.raises(CaseError, match="desiccant_mass"):
        alone("Hot air, gas-fired", {"options['Hot air, gas-fired'].inputs.desiccant_mass": "33 kg"})


def test_each_dryer_at_its_machine_has_it():
    found = compare(plant(PRESENT, **{f"{AT}.desiccant_mass": "40 kg"}))
    assert [float(np.max(m.duties[0].built_for.design_throughput)) > 0.0 for m in found.baseline.machines] == [
        True,
        True,
    ]
    assert float(found.baseline.sizing["desiccant"]) == pytest.approx(2 * 40.0)


def test_of_a_central_system_it_is_that_of_the_whole():
    rows = load_case("demo").document["options"]
    name = next(row["name"] for row in rows if row.get("arrangement") == "central")
    at = f"options['{name}'].inputs.desiccant_mass"
    sized = desiccant(load_case("demo"), name)
    assert desiccant(load_case("demo").with_({at: f"{2.0 * sized:.10g} kg"}), name) == pytest.approx(2.0 * sized)
    # A wheel carries its heat into the process air: far too much of it is refused, with the input at fault.
    with pytest.raises(CaseError, match=r"less desiccant \(desiccant_mass\), less pressure drop"):
        compare(load_case("demo").with_({at: f"{20.0 * sized:.10g} kg"}))


def test_it_stays_under_a_scenario_and_can_be_changed_by_one():
    of = case(PRESENT, changes={f"{AT}.desiccant_mass": "60 kg"})
    assert desiccant(under(of, {"hoppers['Machine 7'].throughput": "50 kg/h"})) == pytest.approx(60.0)
    assert desiccant(under(of, {f"{AT}.desiccant_mass": "90 kg"})) == pytest.approx(90.0)


def test_its_range_is_drawn():
    mass = {"value": "60 kg", "low": "50 kg", "high": "70 kg", "basis": "nameplate"}
    found = simulate(case(PRESENT, NEW, changes={f"{AT}.desiccant_mass": mass}), 32, 1)
    assert f"{AT}.desiccant_mass" in [entry.name for entry in found.inputs]
    assert np.isfinite(found.outcomes.npv[NEW]).all()


def test_it_stands_in_the_register_and_in_json():
    of = case(PRESENT, changes={f"{AT}.desiccant_mass": {"value": "60 kg", "basis": "nameplate", "note": "type plate"}})
    [row] = [row for row in register(of) if row.path.endswith("desiccant_mass")]
    assert "60 kg" in str(row)
    told = to_json(compare(of))
    whole = json.dumps(told) if not isinstance(told, str) else told
    assert '"desiccant_kg": 60.0' in whole


def test_what_is_advised_of_beds_that_are_there_names_no_size():
    of = document(PRESENT, changes={f"{AT}.desiccant_mass": "8 kg", f"{AT}.regeneration_control": "timer"})
    [said] = [f.text for f in compare(build(of)).baseline.verdict.findings if f.check == "desiccant loading"]
    assert "bed_use" not in said
    assert said.endswith("or a colder inlet (adsorption_limit) would help.")
