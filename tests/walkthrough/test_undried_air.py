"""A dryer without desiccant heats the hall's air: a dew point far below that of the hall is a minus sign too many."""

from __future__ import annotations

import pytest
from cases import HOT, PRESENT, alone, case
from dryer_read import HOPPER

from energy.reports.walkthrough import gap_row, to_check
from energy.study.readings import Readings
from energy.walkthrough.walk import walk

SHOP = alone(HOT)


def walked(**read: str):
    return walk(SHOP, Readings(hopper=HOPPER, hall_temperature="31 degC", **read))


def test_a_minus_sign_too_many_is_asked_about_and_no_finding_rests_on_it():
    made = walked(dew_point="-22 degC", hall_dew_point="23 degC")
    [told] = to_check(made)
    assert told == (
        "Check the dew point of the process air: -22 °C is much drier than the hall's own air (23 °C), and this dryer has nothing "
        "that dries it. 22 °C would fit: was a minus sign put too much?"
    )
    [gap] = [gap for gap in made.gaps if gap.name == "dew_point"]
    assert gap_row(gap, "si")[3] == "drier than the hall's: check its sign"
    assert not [cause for cause in made.causes if "damp" in cause.name]


def test_one_that_no_sign_would_mend_may_be_of_another_dryer():
    [told] = to_check(walked(dew_point="-45 degC", hall_dew_point="12 degC"))
    assert told.endswith("Was a minus sign put too much, or another dryer read?")


# The instrument is 3 K off at most at either end, and 5 K more are left: below 23 - 11 = 12 degC.
@pytest.mark.parametrize(("dew_point", "doubted"), [("22 degC", False), ("14 degC", False), ("9 degC", True)])
@pytest.mark.common_practice("arithmetic by hand")
def test_air_a_little_drier_than_the_hall_is_left_alone(dew_point, doubted):
    assert bool(to_check(walked(dew_point=dew_point, hall_dew_point="23 degC"))) is doubted


def test_without_the_hall_s_it_is_held_against_that_of_the_case_with_more_room():
    assert "nothing that dries it" in to_check(walked(dew_point="-40 degC"))[0]
    assert to_check(walked(dew_point="2 degC")) == []


def test_a_dryer_with_desiccant_is_not_asked():
    read = Readings(hopper=HOPPER, hall_temperature="31 degC", dew_point="-22 degC", hall_dew_point="23 degC")
    assert to_check(walk(case(PRESENT), read)) == []
