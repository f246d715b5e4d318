"""A dryer keeps its desiccant, whatever was read of its timer, its regeneration air or its blower; before and after readings are taken over."""

from __future__ import annotations

import numpy as np
import pytest
from beds_kept import desiccant_of, retrofitted
from dryer_read import HOPPER, shop

from energy.air.constants import LIQUID_WATER_HEAT_CAPACITY
from energy.equipment.desiccant import load_desiccant
from energy.reports.not_taken_over import not_taken_over
from energy.reports.walkthrough import desiccant_stays
from energy.study.compare import compare
from energy.walkthrough.balance import balance
from energy.walkthrough.baseline import as_baseline, desiccant_kept, readings_from, readings_of, with_readings
from energy.walkthrough.found import find, regeneration_of
from energy.walkthrough.walk import walk

CASE = shop(regeneration_temperature="230 degC", regeneration_control="timer", cycle_time="4 h")
READ = {"hopper": HOPPER, "regeneration_control": "timer"}
BY_CLOCK = "Regeneration by timer"


def heat(case=CASE, **read):
    """Heat of regeneration that the walkthrough counts. [W]"""
    return balance(case, readings_from({**READ, **read})).quantities["regeneration"].value


def by_hand(cycle: float, temperature: float = 503.15) -> float:
    """Heat of regeneration of the beds that are there: desiccant, its water and steel once a cycle, the water of an hour. [s, K, W]

    Exhaust and casing take their shares of all of it; what the regeneration blower gives comes from no heater.
    """
    found = find(
        CASE,
        readings_from({**READ, "regeneration_cycle": f"{cycle} s", "regeneration_temperature": f"{temperature} K"}),
    )
    inputs, op, desiccant = found.machine.inputs, found.as_found, load_desiccant("13x")
    mass = float(compare(CASE).baseline.sizing["desiccant"]) / 2.0  # of a bed of the case
    cold, out = (float(op.details[k][0]) for k in ("adsorption_temperature", "regeneration_exhaust_temperature"))
    capacity = (
        desiccant.specific_heat + float(op.details["residual_loading"][0]) * LIQUID_WATER_HEAT_CAPACITY + 0.5 * 500.0
    )
    sensible = mass * capacity * (temperature - cold) / cycle
    freed = desiccant.heat_of_adsorption + 1860.0 * (out - cold)  # vapour warmed to the exhaust
    supplied = (sensible + float(op.details["water_adsorbed"][0]) * freed) / (1.0 - 0.30 - 0.05)
    share = float(
        inputs.heating_share / (inputs.heating_share + inputs.cooling_share)
    )  # of the blower's work, of motors of 85 %
    return (supplied - 0.85 * share * float(op.energy["regeneration blower", "electricity"][0])) / float(
        inputs.heater_efficiency
    )


@pytest.mark.common_practice("arithmetic by hand")
@pytest.mark.parametrize(
    ("cycle", "kelvin"),
    [
        *((14400.0, 503.15), (7200.0, 503.15), (3600.0, 503.15), (14400.0, 488.15), (14400.0, 533.15)),
        *((14400.0, 453.15), (14400.0, 413.15), (14400.0, 363.15)),  # a heater at fault
    ],
)
def test_regeneration_heats_the_beds_that_are_there(cycle, kelvin):
    told = heat(regeneration_cycle=f"{cycle} s", regeneration_temperature=f"{kelvin} K")
    # In colder air the blower gives more of the heat, of which the sum by hand has only the shares.
    assert told == pytest.approx(by_hand(cycle, kelvin), rel=0.01 if kelvin > 423.15 else 0.02)


def test_water_is_freed_once_however_often_beds_are_changed():
    """By hand: between 4 h, 2 h and 4/3 h every step adds as many changes, and the same heat of desiccant and steel."""
    four, two, third = (heat(regeneration_cycle=f"{c} s") for c in (14400, 7200, 4800))
    assert third - two == pytest.approx(two - four, rel=0.02)
    assert four < two < 2.0 * four - 20.0


def test_a_cycle_that_was_read_is_a_timers_beside_a_control_by_dew_point():
    """Whatever changes beds every 2 h, it takes the heat of a timer that does."""
    by_dew_point = shop(regeneration_temperature="230 degC", regeneration_control="dew point", cycle_time="4 h")
    given = {"hopper": HOPPER, "regeneration_cycle": "2 h"}
    told = balance(by_dew_point, readings_from(given)).quantities["regeneration"].value
    assert told == pytest.approx(heat(regeneration_cycle="2 h"), rel=0.01)


def test_the_cycle_expected_is_that_of_the_case():
    made = walk(CASE, readings_from({**READ, "regeneration_cycle": "2 h"}))
    [gap] = [gap for gap in made.gaps if gap.name == "regeneration_cycle"]
    assert gap.expected == pytest.approx(4 * 3600.0)


@pytest.mark.parametrize(
    "read",
    [
        {"regeneration_cycle": "2 h"},
        {"regeneration_cycle": "6 h"},
        {"regeneration_temperature": "200 degC"},
        {"regeneration_temperature": "180 degC"},
        {"regeneration_temperature": "130 degC"},
        {"regeneration_control": None, "regeneration_cycle": "2 h"},
        {"regeneration_control": None, "regeneration_cycle": "8 h"},
        {"regeneration_temperature": "260 degC", "regeneration_cycle": "3 h"},
        {
            "air_velocity": "12 m/s",
            "duct_diameter": "100 mm",
            "return_temperature": "70 degC",
            "regeneration_cycle": "2 h",
        },
    ],
)
def test_what_is_taken_over_changes_no_beds(read):
    kept = with_readings(CASE, {**READ, **read})
    before = walk(kept, readings_of(kept, HOPPER))
    taken = as_baseline(kept, before.balance)
    after = walk(taken, readings_of(taken, HOPPER))
    present = compare(taken).baseline
    assert float(present.sizing["desiccant"]) == pytest.approx(
        float(compare(CASE).baseline.sizing["desiccant"]), rel=1e-3
    )
    regeneration = after.balance.quantities["regeneration"].value
    assert regeneration == pytest.approx(before.balance.quantities["regeneration"].value, rel=2e-3)
    # The comparison's own, in production, on the mean of a year in one hall.
    assert float(np.mean(present.operation.energy["regeneration", "electricity"])) == pytest.approx(
        regeneration, rel=0.02
    )
    assert after.year.cost == pytest.approx(before.year.cost, rel=5e-3)
    worth = [next((c.money for c in made.causes if c.name.startswith(BY_CLOCK)), 0.0) for made in (before, after)]
    assert worth[1] == pytest.approx(worth[0], rel=0.02, abs=1.0)
    assert not any("not taken over" in said for said in not_taken_over(taken, "si"))


def test_the_mass_is_written_once_with_where_it_is_from():
    kept = with_readings(CASE, {**READ, "regeneration_cycle": "2 h"})
    told = balance(kept, readings_of(kept, HOPPER))
    mass = float(compare(CASE).baseline.sizing["desiccant"])
    written = as_baseline(kept, told).document["options"][0]["inputs"]["desiccant_mass"]
    assert float(written["value"].removesuffix(" kg")) == pytest.approx(mass, rel=1e-3)
    # 0.60 of a bed are used, 0.45 to 0.75 as is usual.
    assert [float(written[end].removesuffix(" kg")) for end in ("low", "high")] == pytest.approx(
        [mass * 0.8, mass * 4 / 3], rel=1e-3
    )
    assert written["basis"] == "assumption"
    (said,) = desiccant_stays(told, "si")
    assert said.startswith("Its desiccant stays as much as it was, whatever was read: ")
    own = CASE.with_({f"options['{CASE.model.options[0].name}'].inputs.desiccant_mass": "50 kg"})
    of_own = balance(own, readings_from({**READ, "regeneration_cycle": "2 h"}))
    assert desiccant_kept(of_own) is None
    assert as_baseline(own, of_own).document["options"][0]["inputs"]["desiccant_mass"] == "50 kg"
    assert desiccant_stays(of_own, "si") == []
    no_bed = balance(CASE, readings_from({"hopper": HOPPER, "dew_point": "-30 degC"}))
    assert desiccant_kept(no_bed) is None


def test_what_dew_point_control_would_save_is_that_of_the_retrofit_and_grows_with_changes():
    """Two hours for four cost a retrofit as much more by the clock as they spare it by dew point."""
    case = shop(regeneration_control="timer", cycle_time="4 h", airflow_control="fixed")
    short = shop(regeneration_control="timer", cycle_time="2 h", airflow_control="fixed", **desiccant_of(case))
    made = walk(case, readings_from({**READ, "regeneration_cycle": "2 h"}))
    [cause] = [c for c in made.causes if c.name.startswith(BY_CLOCK)]
    (energy, cost), (less, cheaper) = retrofitted(short, {"regeneration_control": "dew point"})
    assert cause.text.startswith("Beds are changed by the clock every 2 h, where the case has 4 h, at 100 % of what")
    assert cause.energy == pytest.approx(energy - less, rel=1e-3)
    assert cause.money == pytest.approx(cost - cheaper, rel=1e-3)
    (of_four, _), (by_dew_point, _) = retrofitted(case, {"regeneration_control": "dew point"})
    assert by_dew_point == pytest.approx(less, rel=1e-3)  # the same beds, the same water
    assert energy - less == pytest.approx((energy - of_four) + (of_four - by_dew_point), rel=1e-3)
    assert energy > of_four


def test_a_heater_that_was_read_decides():
    assert heat(regeneration_cycle="2 h", regeneration_power="700 W") == pytest.approx(700.0)
    found = find(CASE, readings_from({**READ, "regeneration_cycle": "2 h", "regeneration_power": "700 W"}))
    assert regeneration_of(found.as_found) == pytest.approx(700.0, rel=0.02)
