"""The peak of a dryer that runs at several levels of throughput: of one level, but for beds that are regenerated after it."""

from __future__ import annotations

import numpy as np
import pytest
from cases import HOPPER, NEW, PRESENT, WHEEL, alone, case

from energy.reports.tables import demand_counted
from energy.study.compare import compare
from energy.study.peaks import highest

HEAT, BLOWER, AIR, GAS = (
    ("process heat", "electricity"),
    ("process blower", "electricity"),
    ("compressed air", "compressed air"),
    ("process heat", "gas"),
)
FULL, LOW = {"throughput": "90 kg/h", "share": "50 %"}, {"throughput": "20 kg/h", "share": "50 %"}


def levels(*kilowatts):
    return np.array(kilowatts, float)[:, None] * np.ones(12)


@pytest.mark.parametrize("kind", [WHEEL, "Hot air, gas-fired"])
def test_all_that_goes_by_the_pellets_of_now_is_that_of_one_level(kind):
    inputs = next(option for option in case(PRESENT, kind).model.options if option.name == kind).inputs
    # 9 + 2 + 3 = 14 at the first level, 4 + 8 + 1 = 13 at the second; gas is on a meter of its own.
    powers = {HEAT: levels(9, 4), BLOWER: levels(2, 8), AIR: levels(3, 1), GAS: levels(5, 6)}
    occurs = np.ones((2, 12), dtype=bool)
    occurs[0, 6] = False  # in July there is the second alone
    found = highest(powers, [(slice(0, 2), occurs)], inputs)
    for key, first, july in ((HEAT, 9, 4), (BLOWER, 2, 8), (AIR, 3, 1), (GAS, 6, 6)):
        np.testing.assert_array_equal(found[key], [first] * 6 + [july] + [first] * 5)


def test_a_bed_loaded_at_one_level_is_regenerated_in_the_next():
    inputs = case(PRESENT).model.options[0].inputs
    powers = {HEAT: levels(9, 11), ("regeneration", "electricity"): levels(7, 4)}
    found = highest(powers, [(slice(0, 2), np.ones((2, 12), dtype=bool))], inputs)
    np.testing.assert_array_equal(
        sum(found.values()), 18.0
    )  # 11 of the second level and 7 of a bed loaded in the first


def peak_of(option, own, *of_levels):
    changes = {f"{HOPPER}.levels": list(of_levels), f"options['{option}'].inputs": own}
    return compare(alone(option, changes)).baseline


@pytest.mark.parametrize("control", ["fixed", "variable speed"])
def test_the_peak_of_a_wheel_is_that_of_its_highest_level(control):
    own = {"airflow_control": control}
    each = [peak_of(WHEEL, own, {**level, "share": "100 %"}).peak for level in (FULL, LOW)]
    assert peak_of(WHEEL, own, FULL, LOW).peak == pytest.approx(max(each), rel=1e-12)


def test_the_peak_of_a_tower_by_timer_may_be_above_each_level():
    own = {"regeneration_control": "timer"}
    each = [peak_of(NEW, own, {**level, "share": "100 %"}) for level in (FULL, LOW)]
    found = peak_of(NEW, own, FULL, LOW)
    regeneration = max(float(np.max(one.year.peak["regeneration", "electricity"])) for one in each)
    assert float(np.max(found.year.peak["regeneration", "electricity"])) == pytest.approx(regeneration, rel=1e-12)
    assert found.peak >= max(one.peak for one in each)


def test_that_it_may_be_so_is_said_where_there_are_levels_and_beds():
    both = {f"{HOPPER}.levels": [FULL, LOW]}
    said = "a desiccant bed loaded at one level of throughput is regenerated while the next has begun"
    assert said in demand_counted(case(PRESENT, changes=both))
    assert said not in demand_counted(alone(WHEEL, both))
    assert said not in demand_counted(case(PRESENT))
