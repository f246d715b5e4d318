"""Regeneration air colder than it is set for: it carries less heat, at equal air, and costs dryness; no finding saves more heat than there is."""

from __future__ import annotations

from dataclasses import replace
from itertools import pairwise

import numpy as np
import pytest
from dryer_read import AIR, HOPPER, shop, there

from energy.errors import ModelError
from energy.reports.not_taken_over import not_taken_over
from energy.study.at_work import operate
from energy.units import SI
from energy.walkthrough.balance import balance
from energy.walkthrough.baseline import as_baseline, overrides, readings_from, readings_of, with_readings
from energy.walkthrough.found import find
from energy.walkthrough.kept_out import kept_out
from energy.walkthrough.walk import walk

CASE = shop(regeneration_temperature="230 degC", regeneration_control="timer")
READ = {"hopper": HOPPER, "hall_temperature": "24 degC"}
COOL = "Regeneration too cool"


def heat(**read):
    """Heat of regeneration that the walkthrough counts. [W]"""
    return balance(CASE, readings_from({**READ, **read})).quantities["regeneration"].value


def found_in(made, name):
    return next((cause for cause in made.causes if cause.name.startswith(name)), None)


def test_colder_air_of_the_same_blower_carries_less_heat_without_a_jump():
    """Desiccant and steel take heat in proportion to the temperature, and less water is freed: every step is about as large."""
    told = [heat(regeneration_temperature=f"{cold} degC") for cold in range(230, 75, -5)]
    steps = -np.diff(told)
    assert told[0] == pytest.approx(heat())
    assert np.all(steps > 0.5 * steps[0])
    assert np.all(np.abs(np.diff(steps)) < 0.5 * steps[0])


def test_the_year_is_that_of_the_colder_air():
    at_set, cold = (walk(CASE, readings_from({**READ, "regeneration_temperature": t})) for t in ("230 degC", "90 degC"))
    truth = [
        there(CASE, {"regeneration_temperature": k}, hall_temperature=297.15).values()["power"]
        for k in (503.15, 363.15)
    ]
    # Less heat of regeneration, and more air of its blower for it.
    assert at_set.balance.power.value - cold.balance.power.value == pytest.approx(truth[0] - truth[1], rel=0.1)
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
    assert both.balance.quantities["regeneration"].value == pytest.approx(0.5 * modelled, rel=1e-6)


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


@pytest.mark.parametrize("cold", ["200 degC", "180 degC", "130 degC"])
def test_what_a_dryer_can_be_set_to_is_taken_over_however_far_below_the_set_point(cold):
    kept = with_readings(CASE, {**READ, "regeneration_temperature": cold})
    told = balance(kept, readings_of(kept, HOPPER))
    assert kept_out(told.found) == ()
    after = balance(as_baseline(kept, told), readings_of(kept, HOPPER))
    counted = after.found.expected.energy["regeneration", "electricity"][0]
    assert counted == pytest.approx(told.quantities["regeneration"].value, rel=2e-3)


def test_the_timer_is_worth_less_the_colder_the_air_and_never_more_again():
    """Beds that hold less are full sooner: what a control by dew point spares falls all the way."""
    low = [
        found_in(low_load(regeneration_temperature=SI(273.15 + cold)), "Regeneration by timer")
        for cold in range(230, 85, -10)
    ]
    worth = [0.0 if cause is None else cause.money for cause in low]
    assert worth[0] > 0.0
    assert all(after <= before * 1.001 for before, after in pairwise(worth))


def test_below_what_a_dryer_can_be_set_to_it_is_not_taken_over_with_its_reason():
    cold = {**READ, "regeneration_temperature": "90 degC"}
    told = balance(CASE, readings_from(cold))
    assert "regeneration_temperature" not in overrides(told)
    [kept] = kept_out(told.found)
    assert (kept.reading, kept.why) == ("regeneration_temperature", "a dryer can be set to 120 °C to 300 °C")
    case = with_readings(CASE, cold)
    taken = as_baseline(case, balance(case, readings_from(cold)))
    assert taken.model.options[0].inputs.regeneration_temperature == pytest.approx(503.15)
    (said,) = not_taken_over(taken, "si")
    assert "regeneration air into the bed (90 °C read, 230 °C counted)" in said
    assert "only check the balance" not in said


def test_without_an_answer_at_that_temperature_all_else_is_as_read(monkeypatch):
    """The model is run with the regeneration air of the case then, and with what else was read."""
    at = "energy.walkthrough.found.operate"

    def refuses(machine, duties):
        if float(machine.inputs.regeneration_temperature) == pytest.approx(413.15):
            raise ModelError("no answer")
        return operate(machine, duties)

    monkeypatch.setattr(at, refuses)
    found = find(CASE, readings_from({**READ, "regeneration_temperature": "140 degC", "regeneration_cycle": "2 h"}))
    assert found.notes == ()
    assert found.inputs_found.cycle_time == pytest.approx(7200.0)
    [kept] = kept_out(found)
    assert kept.why == "the model has no answer for this dryer with it"
