"""A time between bed changes that no dryer of the type has is asked about first and is in no figure."""

from __future__ import annotations

import pytest
from dryer_read import HOPPER, shop

from energy.reports import walkthrough as report
from energy.walkthrough.baseline import readings_from
from energy.walkthrough.cycle_read import cycle_apart, heat_at
from energy.walkthrough.found import find
from energy.walkthrough.walk import walk

CASE = shop(regeneration_temperature="230 degC", regeneration_control="timer", cycle_time="4 h")
READ = {"hopper": HOPPER, "hall_temperature": "24 degC", "regeneration_control": "timer"}


def walked(**read):
    return walk(CASE, readings_from({**READ, **read}))


@pytest.mark.parametrize(
    ("cycle", "said"),
    [
        ("40 h", "40 h is 10 times longer than expected. A tenth of it, 4 h, would fit: a slip of ten?"),
        ("24 min", "Ten times it, 4 h, would fit: a slip of ten?"),
        ("12 min", "Ten times it, 2 h, would fit: a slip of ten?"),
    ],
)
def test_a_slip_of_ten_is_asked_about_and_in_no_figure(cycle, said):
    made, without = walked(regeneration_cycle=cycle), walked()
    [told] = report.to_check(made)
    assert said in told
    assert {*made.balance.found.aside} == {"regeneration_cycle"}
    assert made.year.cost == pytest.approx(without.year.cost)
    assert [cause.money for cause in made.causes] == pytest.approx([cause.money for cause in without.causes])


def test_more_heat_than_the_heater_gives_is_told():
    """0.7 h are within five times of what is usual; desiccant and steel heated so often take about twice the heater."""
    made = walked(regeneration_cycle="0.7 h")
    [told] = report.to_check(made)
    found = find(CASE, readings_from(READ))
    heat, heater = heat_at(found, 0.7 * 3600.0), float(found.expected.sizing["regeneration_heater"][0])
    assert heat > 1.8 * heater
    assert f"would take {heat / 1e3:.3g} kW of regeneration heat on the mean" in told
    assert f"where the heater of the case gives {heater / 1e3:.3g} kW" in told


@pytest.mark.parametrize("cycle", ["1 h", "2 h", "8 h", "20 h", "39 h"])
def test_what_a_dryer_may_have_counts(cycle):
    assert report.to_check(walked(regeneration_cycle=cycle)) == []


def test_the_timer_of_the_case_is_never_beyond_what_is_usual():
    slow = shop(regeneration_control="timer", cycle_time="30 h")
    assert cycle_apart(find(slow, readings_from({**READ, "regeneration_cycle": "40 h"}))) is None
    assert cycle_apart(find(slow, readings_from({**READ, "regeneration_cycle": "151 h"}))) == pytest.approx(151 / 30)
