"""Inputs that nothing is worked out from are not drawn; what a few draws show by chance is not named."""

from __future__ import annotations

import numpy as np
from cases import HOT, NEW, PRESENT, WHEEL, case

from energy.reports.document.proposal import proposal
from energy.reports.document.register import register
from energy.reports.inputs import to_text
from energy.study.compare import compare
from energy.study.distributions import Distribution, probabilities
from energy.study.idle import is_idle
from energy.study.sensitivity import doubts_of_drying
from energy.study.spread import Uncertain, uncertain_inputs
from energy.study.uncertainty import Outcomes

FAN, BURNER = "typical cooler_fan_share", "typical gas_efficiency"
STATED = {"value": "5 %", "low": "3 %", "high": "6 %", "basis": "assumption"}


def drawn(made):
    return {entry.name: set(entry.places) for entry in uncertain_inputs(made)[0]}


def test_the_fan_of_a_cooler_with_water_and_the_burner_of_an_electric_heater_are_not_drawn():
    found = drawn(case(PRESENT, NEW, WHEEL))
    assert FAN not in found
    assert BURNER not in found
    cooled = f"options['{WHEEL}'].inputs.cooler"
    found = drawn(case(PRESENT, NEW, WHEEL, changes={cooled: "hall air"}))
    assert found[FAN] == {f"options['{WHEEL}'].inputs.cooler_fan_share"}
    found = drawn(case(PRESENT, HOT))
    assert found[BURNER] == {f"options['{HOT}'].inputs.gas_efficiency"}


def test_a_stated_range_without_effect_is_told_as_held():
    path = f"options['{WHEEL}'].inputs.cooler_fan_share"
    inputs, held = uncertain_inputs(case(PRESENT, WHEEL, changes={path: STATED}))
    assert path not in [entry.name for entry in inputs]
    assert path in held


def test_regeneration_by_gas_alone_keeps_both_efficiencies():
    made = case(PRESENT, WHEEL, changes={f"options['{WHEEL}'].inputs.regeneration_heat_source": "gas"})
    assert not is_idle(made.model, f"options['{WHEEL}'].inputs.gas_efficiency")
    assert not is_idle(made.model, f"options['{WHEEL}'].inputs.heater_efficiency")


def test_the_request_does_not_list_them():
    p = proposal(compare(case(PRESENT, NEW)))
    assert "cooler_fan_share" not in {e.path.rpartition(".")[2] for e in register(p)}


WATER = "site.cooling_water_temperature"
CLIMATE = {"site.hall_temperature": None, "site.hall_dew_point": None, "site.climate": "temperate"}
CHILLER = {"tariffs.cooling": None, "cooling": {"medium": "chilled water", "condenser": "outdoor air"}}


def test_cooling_water_that_a_chiller_makes_is_not_drawn_and_told_as_not_used():
    usual = {WATER: None}
    assert WATER in drawn(case(PRESENT, NEW, changes=usual))
    assert WATER in drawn(case(PRESENT, NEW, changes={**CLIMATE, **usual}))
    assert WATER in drawn(case(PRESENT, NEW, changes={**CHILLER, **usual}))  # without a climate the water is as given
    chilled = case(PRESENT, NEW, changes={**CLIMATE, **CHILLER, **usual})
    assert WATER not in drawn(chilled)
    (told,) = (row for row in to_text(chilled).splitlines() if WATER in row)
    assert " not used " in told
    given = case(PRESENT, NEW, changes=CLIMATE)
    assert "not used" not in next(row for row in to_text(given).splitlines() if WATER in row)
    # Nothing rests on it.
    warm = case(PRESENT, NEW, changes={**CLIMATE, **CHILLER, WATER: "35 degC"})
    assert compare(warm).baseline.energy == compare(chilled).baseline.energy


def of_no_account(seed, count=60, draws=256):
    """Inputs in the draws named where one alone decides in three of four cases and the others in none."""
    even = Distribution(shape="uniform", low=0.0, value=0.5, high=1.0)
    inputs = [
        Uncertain(name=f"site.{i}", label=str(i), kind="ratio", basis="assumption", places={f"site.{i}": even})
        for i in range(count)
    ]
    points = probabilities(draws, count, seed)
    by_chance = np.random.default_rng(seed).random(draws)
    dries = np.where(by_chance < 0.75, points[:, 0] > 0.15, by_chance > 0.79)
    none = {"A": np.zeros(draws)}
    there = {"A": np.ones(draws, bool)}
    made = Outcomes(saving=none, npv=none, payback=none, flows=none, dries={"A": dries}, answered=there, reasons={})
    return [doubt.input for doubt in doubts_of_drying(inputs, points, made, "A")]


def test_an_input_of_no_account_is_seldom_named():
    # 40 runs of which 1 in 20 may name one: 2 expected, more than 6 in one of two hundred such tests.
    named = [of_no_account(seed) for seed in range(1, 41)]
    assert all(found[0] == "site.0" for found in named)
    assert sum(len(found) > 1 for found in named) <= 6


def test_inputs_that_are_stated_and_unread_are_told():
    drum, wheel = (f"options['{name}'].inputs" for name in ("Infrared drum", WHEEL))
    changes = {f"{drum}.insulation_thickness": "0 mm", f"{drum}.coupling": "60 %", f"{wheel}.airflow_floor": "60 %"}
    found = compare(case(PRESENT, WHEEL, "Infrared drum", changes=changes))
    told = {o.name: [n.text for n in o.notes if n.check == "inputs without effect"] for o in found.options}
    assert told[PRESENT] == []
    assert told["Infrared drum"][0].endswith("worked out from it: “Hopper insulation” (insulation_thickness).")
    assert told[WHEEL][0].endswith("“Least airflow over design” (airflow_floor).")
    controlled = {f"{wheel}.airflow_floor": "60 %", f"{wheel}.airflow_control": "variable speed"}
    found = compare(case(PRESENT, WHEEL, changes=controlled))
    assert "inputs without effect" not in {note.check for note in found.option(WHEEL).notes}
