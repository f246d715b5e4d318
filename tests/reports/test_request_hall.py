"""A request that counts the hall says so: in its boundary, beside its CO2 and among its quantities."""

from __future__ import annotations

import html
import re

import pytest
from cases import HOT, PRESENT, case, resin

from energy.reports.comparison_json import to_dict
from energy.reports.document import rendered
from energy.study.compare import compare

CLIMATE = {**resin("PE"), "site.climate": "cold", "site.hall_temperature": None, "site.hall_dew_point": None}
INTAKE = f"options['{HOT}'].inputs.intake"


def told(**changes):
    comparison = compare(case(PRESENT, HOT, changes={**CLIMATE, "request.recommended": HOT, **changes}))
    page = rendered(comparison, ".html").decode()
    return comparison, re.sub(r"\s+", " ", html.unescape(re.sub(r"<[^>]+>", " ", page)))


def test_a_request_with_a_hall_counts_it_in_its_co2_and_says_so():
    comparison, text = told(building={"process_exhaust": "outside"})
    assert (
        "hall heating and cooling by the dryers' heat and by the outdoor air that replaces hall air blown out. Outside:"
        in text
    )
    assert re.search(r"and emits [\d.,]+ k?t of CO₂, hall heating and cooling included\.", text)
    assert "CO₂ has the heating and cooling of the hall in it." in text
    option, base = comparison.option(HOT), comparison.baseline
    assert "Gas of the hall through the dryers kWh" in text
    change = [f"{o.emissions / 1e3:.1f}" for o in (base, option)]
    assert f"CO₂ t/year {' '.join(change)}" in text
    for o, row in zip(comparison.options, to_dict(comparison)["options"], strict=True):
        # 53.06 kg/MMBtu of 293.07 kWh, and what the case says of its electricity.
        by_hand = (row["carriers"]["gas_kwh"] + row["hall_kwh"]["gas"]) * 53.06 / 293.0711
        grid = o.emissions - by_hand
        power = sum(row["carriers"][f"{c}_kwh"] for c in ("electricity", "compressed_air"))
        assert grid == pytest.approx((power + row["hall_kwh"]["electricity"]) * 0.373, rel=2e-3)
        assert row["co2_kg"] == pytest.approx(o.emissions, rel=1e-9)


def test_a_request_without_a_hall_says_nothing_of_it():
    _, text = told()
    assert "material handling before the hopper, heating and cooling of the hall." in text
    assert "hall heating and cooling included" not in text
    assert "of the hall through the dryers" not in text


def test_a_hall_that_loses_no_air_has_no_outdoor_air_in_its_boundary():
    _, text = told(building={"process_exhaust": "outside"}, **{INTAKE: "outdoors"})
    assert "hall heating and cooling by the dryers' heat. Outside:" in text
