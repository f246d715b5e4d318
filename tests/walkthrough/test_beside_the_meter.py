"""A case that counts a dryer by its meter: what a comparison makes of the money of a finding is told beside it."""

from __future__ import annotations

import pytest
from beds_kept import retrofitted
from cases import PRESENT, case
from dryer_read import AIR, HOPPER, there

from energy.reports.walkthrough import to_text
from energy.study.case import Case
from energy.study.readings import Readings
from energy.units import SI
from energy.walkthrough.found import power_of
from energy.walkthrough.walk import walk
from energy.walkthrough.with_meter import beside_the_meter


def shop() -> Case:
    """A dryer at part load whose beds are changed by the clock, on a price of energy alone."""
    option = f"options['{PRESENT}']"
    changes = {
        f"{option}.inputs": {"regeneration_control": "timer", "airflow_control": "fixed"},
        f"{option}.built_for": "150 kg/h",
    }
    return case(PRESENT, changes={**changes, "tariffs.electricity": "0.15 USD/kWh", "tariffs.electricity_demand": None})


def test_a_case_that_counts_a_dryer_by_its_meter_says_what_a_comparison_makes_of_it():
    """What is beyond the model falls in proportion there: at 1.2 times the model and a price of energy alone, 1.2 times the money."""
    before = shop()
    metered = before.with_({f"options['{PRESENT}'].metered_over_model": "1.2"})
    plain, made = (walk(at, Readings(hopper=HOPPER)) for at in (before, metered))
    promised = next(c for c in made.causes if c.name.startswith("Regeneration by timer")).money
    assert promised == next(c for c in plain.causes if c.name.startswith("Regeneration by timer")).money
    (_, cost), (_, cheaper) = retrofitted(metered, {"regeneration_control": "dew point"})
    assert cost - cheaper == pytest.approx(1.2 * promised, rel=0.02)  # cooling is on no meter
    [told] = beside_the_meter(made)
    assert "at 1.2 times the model" in told
    assert "tells about 1.2 times this money" in told
    assert told in to_text(made, "si")
    assert beside_the_meter(plain) == []


def test_a_meter_that_was_not_read_again_and_showed_less_is_told():
    before = shop()
    metered = before.with_({f"options['{PRESENT}'].metered_over_model": "0.8"})
    [told] = beside_the_meter(walk(metered, Readings(hopper=HOPPER)))
    assert "no power was read now: findings are the model's, and a comparison tells about 0.8 times this money" in told
    dryer = there(before)
    assert beside_the_meter(walk(metered, dryer.read(AIR, power=SI(0.8 * power_of(dryer.operation))))) == []
