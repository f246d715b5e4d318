"""No energy use and no yearly cost of one is told to be below nothing, however far the readings leave it open."""

from __future__ import annotations

import json
import re

import pytest

from dashboards import walkthrough_cards as cards
from energy.reports import walkthrough as report
from energy.reports.walkthrough_json import to_json
from energy.study.case import load_case
from energy.walkthrough.baseline import readings_from
from energy.walkthrough.walk import walk

CASE = load_case("demo")


def demo(**changes):
    taken = {**CASE.document["readings"][0], **changes}
    return walk(CASE, readings_from({name: value for name, value in taken.items() if value is not None}))


def open_wide():
    """Return air nearly as hot as it went in and no airflow: how much air it is, and what it takes, is open."""
    return demo(air_velocity=None, duct_diameter=None, velocity_in=None, return_temperature="110 degC")


def test_an_interval_that_would_go_below_nothing_is_told_from_nothing():
    made = open_wide()
    told = made.balance
    assert told.expanded > told.specific_energy
    assert told.range == (0.0, pytest.approx(told.specific_energy + told.expanded))
    low, high = made.cost_range
    # One more joule costs the price of a little more; none at all costs nothing.
    more = made.year.price * made.year.energy * told.expanded / told.specific_energy
    assert (low, high) == (0.0, pytest.approx(made.year.cost + more))
    said, page = report.to_text(made, "si"), cards.figures(made, "si")
    top = (told.specific_energy + told.expanded) / 3600.0
    assert f"Machine 1: {told.specific_energy / 3600.0:.0f} Wh/kg (0 to {top:.0f}), about " in said
    assert "intervals are of about 95 %, cut at 0: no energy use is below it." in said
    assert f'<span class="unit"> Wh/kg (0 to {top:.0f})</span>' in page
    assert re.search(r'<p class="hint">0 to [\d,]+, cut at 0: no energy use is below it</p>', page)
    kept = json.loads(to_json(made))
    assert kept["cost_range_per_year"] == [0.0, pytest.approx(high)]
    assert kept["specific_energy_range_Wh_per_kg"] == [0.0, pytest.approx(top)]


def test_any_other_interval_is_as_wide_to_either_side():
    made = demo()
    told = made.balance
    assert told.expanded < told.specific_energy
    assert made.cost_range[0] + made.cost_range[1] == pytest.approx(2.0 * made.year.cost)
    assert "cut at 0" not in report.to_text(made, "si") + cards.figures(made, "si")
    assert " ± " in report.headline(made, "si")
