"""Regeneration air colder than it is set for: it carries less heat, at equal air, and costs dryness; no finding saves more heat than there is."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from dryer_read import AIR, HOPPER, shop, there

from energy.reports.not_taken_over import not_taken_over
from energy.study.at_work import operate
from energy.units import SI
from energy.walkthrough.balance import balance
from energy.walkthrough.baseline import as_baseline, overrides, readings_from, with_readings
from energy.walkthrough.found import find
from energy.walkthrough.walk import walk

CASE = shop(regeneration_temperature="230 degC", regeneration_control="timer")
READ = {"hopper": HOPPER, "hall_temperature": "24 degC"}
COOL = "Regeneration too cool"


def heat(**read):
    """Heat of regeneration that the walkthrough counts. [W]"""
    return balance(CASE, readings_from({**READ, **read})).quantities["regeneration"].value


def found_in(made, name):
    return next((cause for cause in made.causes if cause.name.startswith(name)), None)


@pytest.mark.parametrize(
    ("cold", "share"),
    # By hand, of a hall of 24 degC and 230 degC set: 66/206, 116/206, 156/206. Less than 40 K below it is another set point (test_beds_stay).
    [("90 degC", 0.3204), ("140 degC", 0.5631), ("180 degC", 0.7573), ("230 degC", 1.0)],
)
def test_colder_air_of_the_same_blower_carries_less_heat(cold, share):
    assert heat(regeneration_temperature=cold) == pytest.approx(share * heat(), rel=2e-4)


def test_the_year_is_that_of_the_colder_air():
    at_set, cold = (walk(CASE, readings_from({**READ, "regeneration_temperature": t})) for t in ("230 degC", "90 degC"))
    less = heat() * 140.0 / 206.0  # 230 less 90, of 230 less 24
    assert at_set.balance.power.value - cold.balance.power.value == pytest.approx(less, rel=1e-3)
    assert cold.year.as_read == pytest.approx(at_set.year.as_read - less, rel=1e-3)
    assert cold.year.cost < at_set.year.cost


@pytest.mark.parametrize(
    ("cold", "told"), [("90 degC", True), ("140 degC", True), ("215 degC", True), ("229 degC", False)]
)
def test_clearly_colder_than_set_is_a_finding_that_costs_dryness(cold, told):
    made = walk(CASE, readings_from({**READ, "regeneration_temperature": cold, "dew_point": "-10 degC"}))
    cause = found_in(made, COOL)
    assert (cause is not None) == told
    if cause is not None:
        assert cause.text == f"Regeneration air is {cold.split()[0]} °C; 230 °C is set."
        assert (cause.power, cause.energy, cause.money) == (0.0, 0.0, 0.0)
        for what in ("heater", "limit switch", "filter", "airflow"):
            assert what in cause.physics


def test_dry_air_beside_it_is_a_question():
    dry = there(CASE).read((*AIR,), regeneration_temperature=SI(363.15))
    assert "The process air is dry all the same: read both again" in found_in(walk(CASE, dry), COOL).text
    # 200 degC dries desiccant, and the air shows it.
    assert found_in(walk(CASE, there(CASE).read((*AIR,), regeneration_temperature=SI(473.15))), COOL) is None
    unread = walk(CASE, readings_from({**READ, "regeneration_temperature": "90 degC"}))
    assert "dry all the same" not in found_in(unread, COOL).text


def test_what_may_be_another_unit_is_no_finding_and_says_what_else_it_may_be():
    # 230 degF are 110 degC; 230 degC are what is set.
    made = walk(CASE, readings_from({**READ, "regeneration_temperature": "230 degF"}))
    assert found_in(made, COOL) is None
    assert next(doubt.text for doubt in made.doubts).endswith(
        "which is it? If it is right, look at the regeneration heater."
    )
    assert made.balance.quantities["regeneration"].value == pytest.approx(heat())


def low_load(**read):
    dryer = there(CASE, throughput=30.0 / 3600.0)
    return walk(CASE, dryer.read(AIR, regeneration_control="timer", **read))


def test_the_timer_saves_its_share_of_the_heat_that_is_there():
    as_modelled = low_load()
    modelled = as_modelled.balance.quantities["regeneration"].value
    half = low_load(regeneration_power=SI(0.5 * modelled))
    whole, less = (found_in(made, "Regeneration by timer") for made in (as_modelled, half))
    by_clock, by_dew_point = (
        there(CASE, {"regeneration_control": control}, throughput=30.0 / 3600.0).operation.energy[
            "regeneration", "electricity"
        ][0]
        for control in ("timer", "dew point")
    )
    # Half of that heat is there to be saved; blower and process heat are as before.
    assert less.power == pytest.approx(whole.power - 0.5 * (by_clock - by_dew_point), rel=0.02)
    assert less.money < 0.6 * whole.money
    assert less.power < 0.5 * modelled
    # The heater that was read decides, whatever its air is: it cannot be both.
    both = low_load(regeneration_power=SI(0.5 * modelled), regeneration_temperature=SI(363.15))
    assert found_in(both, "Regeneration by timer").power == pytest.approx(less.power, rel=1e-6)


def test_a_heater_beyond_the_model_saves_no_more_than_the_model():
    as_modelled = low_load()
    modelled = as_modelled.balance.quantities["regeneration"].value
    whole, more = (
        found_in(made, "Regeneration by timer")
        for made in (as_modelled, low_load(regeneration_power=SI(2.0 * modelled)))
    )
    assert more.power == pytest.approx(whole.power, rel=1e-6)


def test_energy_in_is_energy_out_with_less_heat():
    found = find(CASE, readings_from(READ))
    for share in (1.0, 0.3):
        one = operate(replace(found.machine, regenerated=share), (found.duty,))
        into, out = (sum(float(np.ravel(v)[0]) for v in table.values()) for table in (one.heat_in, one.heat_out))
        assert into == pytest.approx(out, rel=1e-6)


def test_a_fault_of_the_heater_is_not_taken_over():
    cold, near = ({**READ, "regeneration_temperature": t} for t in ("90 degC", "200 degC"))
    told = balance(CASE, readings_from(cold))
    assert "regeneration_temperature" not in overrides(told)
    assert "regeneration_temperature" in overrides(balance(CASE, readings_from(near)))
    far = {**READ, "regeneration_temperature": "180 degC"}  # dries desiccant, and is 50 K below what is set
    assert "regeneration_temperature" not in overrides(balance(CASE, readings_from(far)))
    kept = with_readings(CASE, cold)
    taken = as_baseline(kept, balance(kept, readings_from(cold)))
    assert "regeneration_temperature" in CASE.document["options"][0]["inputs"]
    assert taken.model.options[0].inputs.regeneration_temperature == pytest.approx(503.15)
    (said,) = not_taken_over(taken, "si")
    assert "regeneration air into the bed (90 °C read, 230 °C counted)" in said
    assert "only check the balance" not in said
