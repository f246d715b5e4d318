"""Air before the heater that is colder than the cooling water and the hall is asked about and left out."""

from __future__ import annotations

import pytest
from dryer_read import HOPPER, shop

from energy.reports import walkthrough as report
from energy.study.readings import Readings
from energy.walkthrough.walk import walk

READ = {
    "hopper": HOPPER,
    "throughput": "90 kg/h",
    "process_temperature": "120 degC",
    "return_temperature": "66 degC",
    "hall_temperature": "22 degC",
    "air_flow": "190 m3/h at 0 degC",
}
FINDING = "Return air cooled too far"


def walked(before: str, case=None, **read):
    return walk(shop() if case is None else case, Readings(**{**READ, **read}, heater_inlet_temperature=before))


def test_air_colder_than_water_and_hall_is_in_no_figure():
    made = walked("5 degC", shop().with_({"site.cooling_water_temperature": "25 degC"}))
    [told] = report.to_check(made)
    assert told == (
        "Check the air before the heater: 5 °C is colder than the cooling water (25 °C) and the hall (22 °C), and nothing else cools this air."
    )
    assert {*made.balance.found.aside} == {"heater_inlet_temperature"}
    assert FINDING not in [cause.name for cause in made.causes]
    without = walk(shop().with_({"site.cooling_water_temperature": "25 degC"}), Readings(**READ))
    assert made.year.cost == pytest.approx(without.year.cost)


@pytest.mark.parametrize(
    ("before", "water", "asked"),
    # Of a hall of 22 degC; instruments and water may be a few kelvin off.
    [
        ("16 degC", "25 degC", True),
        ("21 degC", "25 degC", False),
        ("16 degC", "12 degC", False),
        ("5 degC", "12 degC", True),
    ],
)
def test_the_colder_of_both_counts(before, water, asked):
    made = walked(before, shop().with_({"site.cooling_water_temperature": water}))
    assert bool(report.to_check(made)) == asked


def test_air_from_a_compressor_or_from_outdoors_may_be_colder():
    for kind in ("compressed-air", "hot-air"):
        case = shop()
        case = case.with_(
            {
                f"options['{case.model.options[0].name}'].type": kind,
                f"options['{case.model.options[0].name}'].inputs": {},
            }
        )
        told = report.to_check(
            walk(case, Readings(hopper=HOPPER, heater_inlet_temperature="5 degC", hall_temperature="22 degC"))
        )
        assert not any("colder than" in words for words in told)
