"""A meter does not hide that the hopper's balance does not hold, and where it is far over the model it is said what would tell why."""

from __future__ import annotations

import json

import pytest
from cases import AIR as COMPRESSED
from cases import alone
from dryer_read import AIR, HOPPER, shop, there

from dashboards import walkthrough_cards as cards
from energy.reports import walkthrough as report
from energy.reports.walkthrough_json import to_json
from energy.study.readings import Readings
from energy.units import SI
from energy.walkthrough.contradictions import FITS, contradictions
from energy.walkthrough.found import find, metered_power, power_of
from energy.walkthrough.quantities import HOPPER as BALANCE
from energy.walkthrough.quantities import functions
from energy.walkthrough.walk import walk


def walked(times: float | None, colder: float = 0.0, **more):
    """The model's own dryer, its return air read colder, and the meter at so many times its power."""
    truth = there(shop())
    back = SI(truth.values()["return_temperature"] - colder)
    power = {} if times is None else {"power": SI(times * power_of(truth.operation))}
    names = [name for name in AIR if name != "return_temperature"]
    return walk(shop(), truth.read(names, return_temperature=back, **power, **more))


def of_hopper(made):
    told, given = made.balance, made.balance.quantities
    return [one for one in contradictions(given, functions(told.found, given)[1]) if one.name == BALANCE]


@pytest.mark.common_practice("a meter of the dryer is no part of the hopper's heat balance")
def test_a_meter_that_fits_does_not_hide_what_does_not_hold_in_the_hopper():
    seen = 0
    for colder in (11.0, 12.0, 13.0, 14.0, 15.0, 16.0):
        without, beside = walked(None, colder), walked(1.0, colder)
        assert beside.balance.agrees is without.balance.agrees
        if without.balance.agrees:
            assert report.contradicted(beside) == []
            continue
        [gap], [same] = of_hopper(without), of_hopper(beside)
        assert same.gap == pytest.approx(gap.gap)
        assert gap.gap > FITS * gap.uncertainty
        said = [one for one in report.contradicted(without) if "the hopper takes" in one]
        seen += bool(said)
        assert [one.partition(";")[0] for one in report.contradicted(beside) if "the hopper takes" in one] == [
            one.partition(";")[0] for one in said
        ]
    assert 0 < seen < 6


def test_a_meter_far_over_the_model_names_what_would_tell_which_part_takes_it():
    made = walked(1.4)
    names = [one.name for one in made.locating]
    assert {*names} == {"process blower", "regeneration", "heater_inlet_temperature"}
    text = report.to_text(made, "si")
    assert "beyond the model go: " in text
    assert "the pressure across the blower" in text
    assert "Regeneration heater's power" in text
    card = cards.next_readings(made, "si")
    assert "No single reading" not in card
    assert "beyond the model go" in card
    assert [one["name"] for one in json.loads(to_json(made))["readings_that_locate"]] == names


@pytest.mark.parametrize(
    ("reading", "named"), [("blower_pressure", "process blower"), ("regeneration_power", "regeneration")]
)
def test_what_was_read_is_not_named(reading, named):
    value = SI(there(shop()).values()[reading])
    assert named not in [one.name for one in walked(1.4, **{reading: value}).locating]


def test_nothing_is_named_within_what_a_model_may_be_off_or_of_a_meter_to_be_checked():
    assert walked(None).locating == ()
    assert walked(1.0).locating == ()
    assert walked(1.1).locating == ()
    assert walked(0.7).locating == ()
    assert walked(60.0).locating == ()


def test_a_type_without_blower_and_desiccant_has_none_of_theirs():
    case = alone(COMPRESSED)
    op = find(case, Readings(hopper=HOPPER, throughput="90 kg/h")).expected
    made = walk(case, Readings(hopper=HOPPER, throughput="90 kg/h", power=SI(1.5 * metered_power(op))))
    assert {one.name for one in made.locating} == {"heater_inlet_temperature"}
