"""Each cause is told of a dryer that has it, and none of a dryer that is as it should be."""

from __future__ import annotations

from itertools import pairwise

import pytest
from dryer_read import AIR, FULL, shop, there

from energy.reports.walkthrough import verdict
from energy.study.case import load_case
from energy.units import SI
from energy.walkthrough.baseline import readings_from
from energy.walkthrough.walk import walk

CLEAN = shop(regeneration_control="dew point")
EVERYTHING = (*FULL, "shell_temperature", "return_dew_point", "desiccant_inlet_temperature")


def names(made):
    return [cause.name for cause in made.causes]


def test_a_sound_dryer_has_no_findings():
    dryer = there(CLEAN)
    velocity = dryer.read(EVERYTHING, regeneration_control="dew point")
    assert names(walk(CLEAN, velocity)) == []


def test_timer_at_low_load():
    case = shop()
    dryer = there(case, throughput=30.0 / 3600.0)
    made = walk(case, dryer.read(AIR, regeneration_control="timer", regeneration_cycle=SI(4 * 3600.0)))
    assert "Regeneration by timer at low load" in names(made)
    by_dew_point = there(case, {"regeneration_control": "dew point"}, throughput=30.0 / 3600.0)
    cause = next(c for c in made.causes if c.name.startswith("Regeneration by timer"))
    from energy.walkthrough.found import power_of

    saved = power_of(dryer.operation) - power_of(by_dew_point.operation)
    # The dryer as read is the true one but for the airflow per resin, which is read exactly.
    assert cause.power == pytest.approx(saved, rel=0.02)


@pytest.mark.parametrize(
    ("seen", "told"),
    [
        ({}, "As the case has it, beds are changed by the clock"),
        ({"regeneration_control": "timer"}, "Beds are changed by the clock"),
        ({"regeneration_cycle": SI(4 * 3600.0)}, "Beds are changed by the clock"),
    ],
)
def test_a_timer_that_nobody_saw_is_the_cases_word(seen, told):
    case = shop(regeneration_control="timer")
    made = walk(case, there(case, throughput=30.0 / 3600.0).read(AIR, **seen))
    cause = next(c for c in made.causes if c.name.startswith("Regeneration by timer"))
    assert cause.text.startswith(told)
    assert ("Look at its controller" in cause.text) == (not seen)


def test_each_term_of_the_hopper_says_what_it_rests_on():
    dryer = there(CLEAN)
    with_wall = walk(CLEAN, dryer.read((*AIR, "shell_temperature"))).balance.hopper
    without = walk(CLEAN, dryer.read(AIR)).balance.hopper
    assert {t.name: t.origin for t in with_wall}["shell"] == "read"
    assert {t.name: t.origin for t in without}["shell"] == "model"
    assert {t.name: t.origin for t in without}["left over"] == "balance"


def test_too_much_air():
    dryer = there(CLEAN, {"air_resin_ratio": 4.5})
    made = walk(CLEAN, dryer.read(AIR, regeneration_control="dew point"))
    assert names(made)[0] == "Too much air for the load"
    less = there(CLEAN)
    saved = (dryer.specific_energy - less.specific_energy) * float(dryer.duty.throughput[0])
    assert made.causes[0].power == pytest.approx(saved, rel=0.05)


def test_bare_hopper():
    dryer = there(CLEAN, {"insulation_thickness": 0.0})
    made = walk(CLEAN, dryer.read((*AIR, "shell_temperature"), regeneration_control="dew point"))
    cause = next(c for c in made.causes if c.name == "Bare hopper")
    bed = float(dryer.operation.sizing["desiccant"][0]) / dryer.inputs.beds  # the beds that are there stay
    sound = there(CLEAN, bed_mass=bed)
    saved = (dryer.specific_energy - sound.specific_energy) * float(dryer.duty.throughput[0])
    same_air = {"air_resin_ratio": dryer.values()["air_flow"] / dryer.values()["throughput"]}
    at_its_air = (dryer.specific_energy - there(CLEAN, same_air).specific_energy) * float(dryer.duty.throughput[0])
    # The jacket by itself, and the air that a hopper with one no longer asks for, are together what a sound dryer with these beds saves.
    assert cause.power == pytest.approx(at_its_air, rel=0.01)
    less_air = next(c for c in made.causes if c.name == "Too much air for the load")
    assert cause.power + less_air.power == pytest.approx(saved, rel=0.01)
    told = walk(CLEAN, dryer.read(AIR, regeneration_control="dew point"))
    assert "Heat lost at the hopper" in names(told)


def test_leaking_return_line():
    dryer = there(CLEAN, {"leak_share": 0.15})
    made = walk(CLEAN, dryer.read((*AIR, "return_dew_point"), regeneration_control="dew point"))
    assert "Leaking return line" in names(made)
    cause = next(c for c in made.causes if c.name == "Leaking return line")
    assert "15 %" in cause.text


def test_hot_regeneration_and_hot_process_air():
    dryer = there(shop(), {"regeneration_temperature": 573.0}, drying_temperature=403.15)
    made = walk(shop(), dryer.read((*AIR, "regeneration_temperature")))
    assert "Drying hotter than asked for" in names(made)
    assert "Regeneration too hot" in names(made)


def test_cooler_off_and_damp_air():
    dryer = there(CLEAN)
    made = walk(CLEAN, dryer.read(AIR, desiccant_inlet_temperature=SI(348.0), dew_point=SI(268.0)))
    assert {"Cooler off", "Process air too damp"} <= set(names(made))
    assert all(c.money == 0.0 for c in made.causes if c.name in ("Cooler off", "Process air too damp"))


def test_cooled_too_far():
    dryer = there(CLEAN)
    cold = SI(dryer.values()["heater_inlet_temperature"] - 30.0)
    made = walk(CLEAN, dryer.read(AIR, heater_inlet_temperature=cold, regeneration_control="dew point"))
    cause = next(c for c in made.causes if c.name == "Return air cooled too far")
    # 30 K of that air, 1.007 kJ/(kg K).
    assert cause.power == pytest.approx(dryer.values()["air_flow"] * 1007.0 * 30.0, rel=0.03)


def test_dirty_filter():
    dryer = there(CLEAN)
    rise = dryer.values()["blower_pressure"]
    plain = tuple(name for name in AIR if name != "air_flow")
    flow = {"air_velocity": SI(8.0), "duct_diameter": SI(0.10)}
    same = walk(CLEAN, dryer.read(plain, **flow, blower_pressure=SI(rise)))
    clogged = walk(CLEAN, dryer.read(plain, **flow, blower_pressure=SI(2.5 * rise)))
    assert "Dirty filter" not in names(same)
    assert "Dirty filter" in names(clogged)
    weak = walk(CLEAN, dryer.read(plain, air_flow=SI(0.6 * dryer.values()["air_flow"])))
    assert "Little air" in names(weak)


def test_funnelling():
    dryer = there(CLEAN)
    warm = SI(dryer.values()["return_temperature"] + 35.0)
    made = walk(CLEAN, dryer.read(AIR, return_temperature=warm))
    assert "Funnelling" in names(made)


def test_dearest_first():
    dryer = there(CLEAN, {"insulation_thickness": 0.0, "air_resin_ratio": 5.0}, drying_temperature=408.15)
    made = walk(CLEAN, dryer.read((*AIR, "shell_temperature"), regeneration_control="dew point"))
    amounts = [cause.money for cause in made.causes]
    assert len(amounts) >= 3
    assert amounts == sorted(amounts, reverse=True)


def test_too_much_air_grows_as_the_load_falls():
    case, worth = load_case("demo"), []
    read = dict(case.document["readings"][0])
    for mass in ("9.6 kg", "7 kg", "4.354 kg", "2 kg"):
        made = walk(case, readings_from({**read, "weighed_mass": mass}))
        assert names(made)[0] == "Too much air for the load"
        worth.append(made.causes[0])
    assert all(less.money < more.money for less, more in pairwise(worth))
    # 2 kg in ten minutes are 12 kg/h = 3.33 g/s; beyond resin (1.3 kJ/(kg K)) it is the shell of a hopper for 110 kg/h that is
    # kept warm, and the resin is the smaller part of what the air must give to within 4.5 K. Its wall was read, and its jacket is thinner than the
    # case has it: behind that of the case 6 would do. Nobody saves more than the power that the air found takes.
    assert worth[-1].power < made.balance.power.value
    assert worth[-1].text.startswith("23 kg of air per kg of resin flow; 10 would do.")


def test_the_nearest_airflow_that_the_model_can_run(monkeypatch):
    case = shop(regeneration_control="dew point")
    dryer = there(case, {"air_resin_ratio": 4.5})
    readings = dryer.read(AIR, regeneration_control="dew point")
    # Half of what is needed cannot heat the resin: 1.1 kg/kg, with a least near 1.6.
    monkeypatch.setattr("energy.walkthrough.causes._air_needed", lambda found: 1.1 * float(found.duty.throughput[0]))
    cause = walk(case, readings).causes[0]
    assert cause.name == "Too much air for the load"
    assert cause.text.startswith("4.5 kg of air per kg of resin flow; 1.1 would do. The saving is that of 1.")
    assert cause.text.endswith("the least that the model can run with.")
    assert cause.power > 0.0


def demo(**changes):
    case = load_case("demo")
    return walk(case, readings_from({**case.document["readings"][0], **changes}))


def test_power_that_nothing_explains_is_named_and_priced():
    plain, high = demo(), demo(power="11.2 kW")
    assert "Power that nothing here explains" not in names(demo(power="7.6 kW"))
    cause = next(c for c in high.causes if c.name == "Power that nothing here explains")
    # 11.2 kW on the meter less what the parts take with everything else as read.
    assert cause.power == pytest.approx(11200.0 - plain.balance.power.value, rel=0.02)
    assert cause.money == pytest.approx(high.year.steady(cause.power)[1])
    assert [c.money for c in high.causes] == sorted((c.money for c in high.causes), reverse=True)
    assert high.balance.contradictions[0].readings[0] == "power"
    assert high.checks[0].name == "power"
    assert {"heater_inlet_temperature", "regeneration", "process blower"} >= {c.name for c in high.checks[1:]}
    assert plain.checks == ()


def test_a_dryer_as_expected_whose_parts_do_not_explain_its_meter_is_not_called_well():
    """The meter stands where the model does, and what was read of airflow and heat takes 1.5 kW less."""
    read = {
        "hopper": "Machine 1", "weighed_mass": "4.1 kg", "weighing_time": "5 min", "process_temperature": "118 degC",
        "return_temperature": "71 degC", "hall_temperature": "27 degC", "dew_point": "-18 degC", "air_velocity": "6.2 m/s",
        "duct_diameter": "100 mm", "shell_temperature": "47 degC", "regeneration_temperature": "245 degC",
    }  # fmt: skip
    case = load_case("demo")
    made = walk(case, readings_from(read | {"power": "6.4 kW"}))
    assert "Power that nothing here explains" in names(made)
    assert (
        verdict(made)
        == (
            "The readings so far cannot tell it from the model, but what was read of its parts does not explain all that the meter "
            "shows: see what was found. With the air, jacket and regeneration that were read, the model expects 102 Wh/kg: the dryer takes 27 % "
            "more than that. But its air is too damp: see whether it dries."  # practice accepts up to -20 degC, and -18 was read
        )
    )
    without = walk(case, readings_from(read))
    assert "does not explain" not in verdict(without)


def test_what_does_not_fit_the_hopper_widens_the_hopper_alone():
    made = demo(weighed_mass="4.354 kg")
    assert not made.balance.agrees
    assert {c.name for c in made.balance.contradictions} == {"hopper"}
    assert made.balance.wide["regeneration"] == made.balance.quantities["regeneration"]
    assert made.balance.expanded < made.balance.specific_energy


def test_readings_that_do_not_fit_at_all_leave_an_interval_that_says_something():
    # 2 kg in ten minutes and a return air of 68 degC cannot both be: Birge's scale of all would give more than the value itself.
    made = demo(weighed_mass="2 kg")
    assert not made.balance.agrees
    assert made.balance.wide["regeneration"] == made.balance.quantities["regeneration"]
    assert 0.2 < made.balance.expanded / made.balance.specific_energy < 0.6
