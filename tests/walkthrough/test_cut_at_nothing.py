"""No energy use is told to be below what the resin itself takes, and no yearly cost below that, however far the readings leave it open."""

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


def test_an_interval_that_would_go_below_nothing_is_told_from_what_the_resin_takes():
    made = open_wide()
    told = made.balance
    assert told.expanded > told.specific_energy
    # PC from 23 to 121 degC at 1.4 kJ/(kg K) takes 137.2 kJ/kg, and 0.18 % of water at 2.6 MJ/kg 4.7 kJ/kg: 141.9 kJ/kg.
    assert told.range == (pytest.approx(141.9e3, rel=2e-3), pytest.approx(told.specific_energy + told.expanded))
    low, high = made.cost_range
    # One more joule costs the price of a little more, one less saves it.
    per_energy = made.year.price * made.year.energy / told.specific_energy
    assert high == pytest.approx(made.year.cost + per_energy * told.expanded)
    assert low == pytest.approx(made.year.cost - per_energy * (told.specific_energy - 141.9e3), rel=5e-3)
    said, page = report.to_text(made, "si"), cards.figures(made, "si")
    top = (told.specific_energy + told.expanded) / 3600.0
    assert f"Machine 1: {told.specific_energy / 3600.0:.0f} Wh/kg (39 to {top:.0f}), about " in said
    assert "intervals are of about 95 %, cut at what the resin itself takes: no energy use is below it." in said
    assert f'<span class="unit"> Wh/kg (39 to {top:.0f})</span>' in page
    assert re.search(
        r'<p class="hint">[\d,]+ to [\d,]+, cut at what the resin itself takes: no energy use is below it</p>', page
    )
    kept = json.loads(to_json(made))
    assert kept["cost_range_per_year"] == [pytest.approx(low), pytest.approx(high)]
    assert kept["specific_energy_range_Wh_per_kg"] == [pytest.approx(141.9 / 3.6, rel=2e-3), pytest.approx(top)]


def test_one_that_was_found_below_what_the_resin_takes_is_cut_at_nothing():
    """1.9 kW over 57.6 kg/h are 33.0 Wh/kg, less than the 39.4 that no dryer can do with: the reading is off, and no limit of it."""
    made = demo(power={"value": "1.9 kW", "accuracy": "70 %"})
    told = made.balance
    assert made.impossible
    assert told.range[0] == max(told.specific_energy - told.expanded, 0.0)


def test_any_other_interval_is_as_wide_to_either_side():
    made = demo()
    told = made.balance
    assert told.expanded < told.specific_energy
    assert made.cost_range[0] + made.cost_range[1] == pytest.approx(2.0 * made.year.cost)
    assert "cut at" not in report.to_text(made, "si") + cards.figures(made, "si")
    assert " ± " in report.headline(made, "si")
