"""A slip of ten in a weighing is in no figure and no finding, and a dew point with a doubtful sign is in no finding."""

from __future__ import annotations

import json

import pytest

from energy.reports import walkthrough as report
from energy.reports.walkthrough_json import to_json
from energy.study.case import load_case
from energy.walkthrough.baseline import readings_from
from energy.walkthrough.walk import walk

CASE = load_case("demo")
KEPT = CASE.document["readings"][0]


def demo(**changes):
    """The demo's first dryer, 57.6 kg/h of PC weighed, with readings changed, or taken out where None is given."""
    taken = {**KEPT, **changes}
    return walk(CASE, readings_from({name: value for name, value in taken.items() if value is not None}))


# 9.6 kg were weighed; so little could well be warmed, and beside the meter no limit of heat is passed.
@pytest.mark.parametrize("mass", ["0.96 kg", "96 kg"])
def test_a_weighing_off_by_ten_gives_what_no_weighing_gives(mass):
    assert KEPT["weighed_mass"]["value"] == "9.6 kg"
    slip, without = demo(weighed_mass=mass), demo(weighed_mass=None, weighing_time=None)
    assert {*slip.balance.found.aside} == {"throughput"}
    assert slip.balance.specific_energy == without.balance.specific_energy
    assert slip.balance.uncertainty == without.balance.uncertainty
    assert slip.balance.throughput.origin == "case"
    assert slip.year.cost == without.year.cost
    assert [(c.name, c.money) for c in slip.causes] == [(c.name, c.money) for c in without.causes]
    said = report.headline(slip, "si")
    assert "would fit: a slip of ten?" in said
    assert "In no figure until it is checked: throughput. The figures rest on what else was read." in said
    assert [one["left_out"] for one in json.loads(to_json(slip))["to_check"]] == [True]


def test_a_low_load_that_no_slip_explains_counts():
    # 57.6 kg/h over 4: ten times it would be 2.5 times the case.
    made = demo(weighed_mass="2.4 kg")
    assert made.balance.found.aside == {}
    assert made.balance.throughput.origin == "read"


@pytest.mark.parametrize(
    ("dew_point", "hall"),
    [
        ("8 degC", "-15 degC"),  # damper than the hall, within what a leak of regeneration air may make of it
        ("22 degC", "21 degC"),  # about the hall's, and -22 would fit
    ],
)
def test_a_dew_point_to_be_checked_is_in_no_finding(dew_point, hall):
    made = demo(dew_point=dew_point, hall_dew_point=hall)
    assert [doubt.name for doubt in made.doubts] == ["dew_point"]
    assert [cause.name for cause in made.causes if "damp" in cause.name] == []
    assert "Its dew point is" not in report.to_text(made, "si")
