"""A leak beyond what the model counts with, and a dew point of the return air that its temperature leaves no room for."""

from __future__ import annotations

import re

import pytest
from beds_kept import desiccant_of
from dryer_read import AIR, HOPPER, shop, there

from energy.reports.walkthrough import to_check, to_text
from energy.study.case import build
from energy.study.compare import compare
from energy.study.readings import Readings
from energy.walkthrough.walk import walk

LEAK = "Leaking return line"
READ = {
    "throughput": "90 kg/h",
    "process_temperature": "120 degC",
    "return_temperature": "66 degC",
    "desiccant_inlet_temperature": "50 degC",
    "hall_temperature": "24 degC",
    "hall_dew_point": "11 degC",
    "dew_point": "-40 degC",
    "return_dew_point": "8 degC",
}


def walked(**changed: str):
    return walk(shop(), Readings(hopper=HOPPER, **{**READ, **changed}))


def leaks(made):
    return [cause for cause in made.causes if cause.name == LEAK]


@pytest.mark.common_practice("arithmetic by hand")
def test_return_air_too_hot_for_so_much_hall_air_is_told_and_given_no_money():
    """Of 66 degC to 50 degC in a hall of 24 degC: (66 - 50) / (66 - 24) = 38 % can be hall air where nothing cools it."""
    made = walked()
    [told] = to_check(made)
    assert told.startswith("Check the dew point and the temperature of the return air: they do not fit together")
    assert "(66 °C out of the hopper, 50 °C into the desiccant, 24 °C in the hall) 38 % can be at most" in told
    # Air of 8 degC holds 6.7 g/kg, hall air of 11 degC 8.2 g/kg, and of the resin's water less than 1 g/kg is in it: about 80 %.
    assert 75.0 < float(re.search(r"By the dew point, 8 °C, (\d+) %", told)[1]) < 83.0
    assert leaks(made) == []
    assert "What a leak costs is not told before that is settled" in to_text(made, "si")


@pytest.mark.common_practice("arithmetic by hand")
def test_with_all_heat_of_the_blower_there_may_be_more():
    """Heat of the blower over that of 1 kg of air per kelvin: what it warms the air by may have been colder."""
    made = walked()
    given = made.balance.quantities
    warmer = given["process blower"].value / (given["air_flow"].value * 1008.0)
    most = 100.0 * (66.0 + warmer - 50.0) / (66.0 - 24.0)
    [told] = to_check(made)
    assert float(re.search(r"and (\d+) % with all of the blower's heat", told)[1]) == pytest.approx(most, abs=1.0)


def test_return_air_that_was_cooled_far_enough_may_be_all_that_hall_air():
    made = walked(desiccant_inlet_temperature="30 degC")  # (66 - 30) / (66 - 24) = 86 %
    assert to_check(made) == []
    [leak] = leaks(made)
    assert "That is more than the 20 % that the model can count: its money is that of 20 %." in leak.text


@pytest.mark.parametrize("share", [0.05, 0.15, 0.2])
def test_a_leak_that_the_model_has_fits_its_own_temperatures(share):
    dryer = there(shop(), {"leak_share": share})
    made = walk(shop(), dryer.read((*AIR, "return_dew_point", "desiccant_inlet_temperature")))
    assert to_check(made) == []
    assert all("more than the 20 %" not in leak.text or share == 0.2 for leak in leaks(made))


@pytest.mark.common_practice("agreement with the comparison of the same retrofit")
def test_the_money_of_a_leak_beyond_what_is_counted_is_that_of_the_largest():
    at = shop(air_resin_ratio=2.5)
    before = shop(leak_share="20 %", air_resin_ratio=2.5, **desiccant_of(at))
    made = walk(at, there(before).read(AIR, return_dew_point="8 degC", hall_dew_point="11 degC"))
    [leak] = leaks(made)
    present = before.document["options"][0]
    own = {
        "name": "Mended",
        "type": present["type"],
        "retrofit": True,
        "capital": "0 USD",
        "inputs": {"leak_share": "1 %"},
    }
    counted = compare(build({**before.document, "options": [*before.document["options"], own]}, file="case.toml"))
    assert "more than the 20 %" in leak.text
    assert leak.money == pytest.approx(counted.baseline.total_cost - counted.options[-1].total_cost, rel=0.05)
