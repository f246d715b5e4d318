"""A throughput that the case has measured, and a meter, keep what is known of them where other readings contradict each other."""

from __future__ import annotations

import json
import math

import numpy as np
import pytest
from hot_air_read import FITTING, NOT_FITTING, case_of, walked

from dashboards import walkthrough_cards as cards
from energy.reports import walkthrough as report
from energy.reports.walkthrough_json import to_json
from energy.walkthrough.estimate import Estimate, constrained, reconcile

# 2.6 kW over 30 kg/h. Half-widths of 2 % (meter) and 3 kg/h (27 to 33), each over root 3, with the factor 2:
# 86.67 x 2 x sqrt(0.1^2 + 0.02^2) / sqrt(3) = 10.2 Wh/kg.
ENERGY, OFF = 86.667, 10.206


@pytest.mark.parametrize("weighed", [{}, {"weighed_mass": "51 kg", "weighing_time": "10 min"}])
def test_it_keeps_its_own_range_where_the_readings_of_the_air_do_not_fit(weighed):
    """Without a weighing, and beside one with a slip of ten that is left out."""
    made = walked(**NOT_FITTING, **weighed)
    told = made.balance
    assert not told.agrees
    assert told.specific_energy / 3600.0 == pytest.approx(ENERGY, rel=1e-4)
    assert told.expanded / 3600.0 == pytest.approx(OFF, rel=1e-3)
    assert told.throughput.value * 3600.0 == pytest.approx(30.0)
    assert told.throughput.uncertainty * 3600.0 == pytest.approx(3.0 / math.sqrt(3.0), rel=1e-3)
    # Twice the 41.9 Wh/kg of the model is far outside of that.
    assert "more than the model expects of this dryer" in report.verdict(made)
    assert "cannot tell it from the model" not in report.verdict(made)


@pytest.mark.parametrize("hot", ["65 degC", "77 degC"])
def test_it_does_however_far_apart_they_are(hot):
    told = walked(**{**NOT_FITTING, "return_temperature": hot}).balance
    assert told.specific_energy / 3600.0 == pytest.approx(ENERGY, rel=1e-4)
    assert told.expanded / 3600.0 == pytest.approx(OFF, rel=1e-3)


def test_the_meter_keeps_its_accuracy():
    """2 % of 2.6 kW over root 3, twice: 0.06 kW."""
    made = walked(**NOT_FITTING)
    assert report.power_row(made.balance.power)[1] == "2.60 ± 0.06 kW"


def test_the_throughput_that_the_figure_is_of_is_told():
    made = walked(**NOT_FITTING)
    said = "The energy per resin is that at 30.0 ± 3.5 kg/h, as the case has it."  # 3 x 2 / sqrt(3) = 3.46
    assert said in report.to_text(made, "si")
    assert said in cards.figures(made, "si")
    kept = json.loads(to_json(made))
    assert kept["throughput_kg_per_h"] == pytest.approx(30.0)
    assert kept["expanded_uncertainty_of_throughput_kg_per_h"] == pytest.approx(3.464, rel=1e-3)
    assert kept["throughput_is"] == "case"
    assert "interval is wider" not in said_of(made)


def said_of(made):
    """All that is said of what does not fit."""
    return " ".join([*report.contradicted(made), report.wider(made)])


def test_readings_that_fit_move_it_within_its_range_and_say_so():
    told = walked(**FITTING).balance
    flow = told.throughput.value * 3600.0
    assert told.agrees
    assert 27.0 <= flow <= 33.0
    assert flow != pytest.approx(30.0, rel=1e-3)
    said = report.to_text(walked(**FITTING), "si")
    assert f"is that at {flow:.1f} ± " in said
    assert "kg/h: 30 kg/h, as the case has it, brought together with what else was read." in said


def test_a_weighing_within_that_range_is_confirmed_by_it_and_narrows_the_answer():
    """5.1 kg in 10 min are 30.6 kg/h: 84.97 Wh/kg, ± 2 x 84.97 x sqrt(0.0229^2 + 0.02^2) / sqrt(3) = 2.98."""
    told = walked(**NOT_FITTING, weighed_mass="5.1 kg", weighing_time="10 min").balance
    assert told.specific_energy / 3600.0 == pytest.approx(84.967, rel=1e-4)
    assert told.expanded / 3600.0 == pytest.approx(2.98, rel=2e-3)


def test_a_weighing_outside_of_it_may_be_what_does_not_fit():
    """4 kg in 10 min, 24 kg/h: the readings say it, and they contradict each other."""
    told = walked(**NOT_FITTING, weighed_mass="4 kg", weighing_time="10 min").balance
    given = told.quantities["throughput"]
    assert not given.measured
    assert told.throughput.uncertainty > given.uncertainty


@pytest.mark.parametrize(
    "stated",
    [
        "30 kg/h",
        {"value": "30 kg/h", "low": "27 kg/h", "high": "33 kg/h", "basis": "assumption"},
    ],
)
def test_one_that_is_supposed_may_be_off_by_more_but_never_below_what_the_resin_takes(stated):
    made = walked(case_of(throughput=stated), **NOT_FITTING)
    told = made.balance
    assert told.expanded / 3600.0 > OFF
    # 1.45 kJ/(kg K) from 31 to 79 degC and 0.15 % of water at 2.6 MJ/kg: 69.6 + 3.9 = 73.5 kJ/kg, 20.4 Wh/kg.
    assert told.range[0] / 3600.0 == pytest.approx(20.4, abs=0.1)
    assert " Wh/kg (20 to " in report.headline(made, "si")


@pytest.mark.parametrize(
    ("stated", "half", "measured"),
    [
        ({"value": "30 kg/h", "low": "25 kg/h", "high": "35 kg/h", "basis": "measured"}, 5.0, True),
        ({"value": "30 kg/h", "low": "29 kg/h", "high": "31 kg/h", "basis": "read"}, 1.0, True),
        ({"value": "30 kg/h", "low": "25 kg/h", "high": "35 kg/h", "basis": "quoted"}, 5.0, False),
        ({"value": "30 kg/h", "basis": "measured"}, 3.0, True),  # the usual 10 %
        ("30 kg/h", 3.0, False),
    ],
)
def test_its_own_range_counts_where_it_states_one(stated, half, measured):
    given = walked(case_of(throughput=stated)).balance.quantities["throughput"]
    assert given.uncertainty * 3600.0 == pytest.approx(half / math.sqrt(3.0), rel=1e-6)
    assert given.measured is measured


def test_the_day_of_a_hopper_with_levels_may_be_any_of_them():
    levels = [{"throughput": "30 kg/h", "share": "60 %"}, {"throughput": "15 kg/h", "share": "40 %"}]
    given = walked(case_of(levels=levels)).balance.quantities["throughput"]
    assert not given.measured
    assert given.uncertainty * 3600.0 == pytest.approx(3.0 / math.sqrt(3.0), rel=1e-6)


def test_a_quantity_that_is_held_stays_and_hands_its_uncertainty_on():
    """x = 10 ± 3 held and y = 12 ± 4 that has to equal it: y is 10 ± 3, as certain as x; free, both are 9/25 and 16/25 of the way."""
    given = {
        "x": Estimate(value=10.0, uncertainty=3.0, origin="case"),
        "y": Estimate(value=12.0, uncertainty=4.0, origin="read"),
    }
    equal = [lambda v: v["x"] - v["y"]]
    held = reconcile(given, equal, ["x"])
    assert held.values == pytest.approx([10.0, 10.0])
    assert held.covariance == pytest.approx(np.full((2, 2), 9.0))
    free = reconcile(given, equal)
    assert free.values == pytest.approx([10.72, 10.72])  # (10 x 16 + 12 x 9) / 25
    assert free.covariance == pytest.approx(np.full((2, 2), 9.0 * 16.0 / 25.0))
    assert constrained(np.array([3.0, 4.0]), np.array([[1.0, -1.0]])) == pytest.approx(free.covariance)
