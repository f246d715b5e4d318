"""The check afterwards: what it says of the line through the periods before, in numbers that can be read."""

from __future__ import annotations

import numpy as np
import pytest

from energy.reports import afterwards as told
from energy.study.afterwards import DAY, adjusted, periods
from energy.study.case import load_case
from energy.study.compare import compare

KWH = 3.6e6


@pytest.fixture(scope="module")
def demo():
    return compare(load_case("demo"))


def electricity(demo, before, after):
    """What is said of electricity for weeks of kilograms and kWh."""
    rows = [
        {"when": when, "days": 7.0, "resin": f"{kg} kg", "electricity": f"{kwh} kWh"}
        for when, weeks in (("before", before), ("after", after))
        for kg, kwh in weeks
    ]
    said = told.sentences(told.check(demo, periods(rows, "weeks.csv")), "USD")
    return next(line for line in said if line.startswith("Electricity"))


AFTER = [(22000, 1985), (20900, 1905), (22700, 2040), (21500, 1950)]


def test_a_line_that_falls_with_resin_is_told_as_energy_of_a_kilogram_alone(demo):
    before = [(21500, 2190), (22400, 225), (19800, 2040), (22800, 2290)]
    kg, kwh = np.array(before, float).T
    assert np.polyfit(kg, kwh, 1)[0] < 0.0
    found = adjusted((np.full(4, 7 * DAY), kg, kwh * KWH), (np.full(1, 7 * DAY), kg[:1], kwh[:1] * KWH))
    # By hand, weeks of one length: sum(kg kWh) / sum(kg^2) = 144,729,000 / 1,875,890,000 kWh/kg.
    assert (found.base, found.slope / 3600.0) == (0.0, pytest.approx(77.2, abs=0.05))
    said = electricity(demo, before, AFTER)
    assert "(before, 77.2 Wh for each kg, no base load can be told apart;" in said


def test_tonnes_typed_as_kilograms_are_told_with_a_sign_between_thousands(demo):
    tonnes = [(kg / 1e3, kwh) for kg, kwh in [(21500, 2190), (22400, 2255), (19800, 2040), (22800, 2290)]]
    said = electricity(demo, tonnes, [(kg / 1e3, kwh) for kg, kwh in AFTER])
    assert "a base load of 2.39 kW and 82,900 Wh for each kg" in said
    assert "e+" not in said


def test_years_of_days_are_told_in_full(demo):
    before = [(16000, 2400), (17000, 2560), (15500, 2330), (16500, 2470)]
    said = electricity(demo, before, [(16500, 1500)] * 150)
    assert "dried in 1,050 days" in said
