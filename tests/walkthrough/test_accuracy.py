"""A better instrument never makes the answer less certain without a word."""

from __future__ import annotations

import json
from itertools import pairwise

import pytest
from dryer_read import AIR, HOPPER, shop, there

from dashboards import walkthrough_cards as cards
from energy.reports import walkthrough as report
from energy.reports.walkthrough_json import to_json
from energy.study.readings import Readings
from energy.units import SI
from energy.walkthrough.next_readings import worth_taking
from energy.walkthrough.walk import walk

SHOP = shop()
FINER = ("20 %", "10 %", "5 %", "2 %", "1 %", "0.1 %")


def read(kelvin: float, accuracy: str) -> Readings:
    """All read without error but the return air, some kelvin too hot, and the airflow with an accuracy beside it."""
    values = there(SHOP).values()
    taken = {name: SI(values[name]) for name in AIR}
    taken["return_temperature"] = SI(values["return_temperature"] + kelvin)
    flow = f"{values['air_flow'] * 3600.0:.6g} kg/h"
    return Readings(hopper=HOPPER, **{**taken, "air_flow": {"value": flow, "accuracy": accuracy}})


@pytest.mark.parametrize("kelvin", [0.0, 6.0, 8.0])
def test_a_better_instrument_narrows_the_answer_while_all_fits(kelvin):
    made = [walk(SHOP, read(kelvin, accuracy)).balance for accuracy in FINER]
    assert all(one.agrees for one in made)
    if kelvin:  # the misfit is more than one standard uncertainty, and no more than two
        assert made[-1].reconciled.scale > 1.1
    assert all(finer.expanded <= 1.001 * coarser.expanded for coarser, finer in pairwise(made))
    assert made[-1].expanded < made[0].expanded


def test_the_next_readings_are_of_the_interval_that_is_stated():
    told = walk(SHOP, read(7.0, "0.1 %")).balance
    assert all(one.uncertainty + one.fall == pytest.approx(told.uncertainty) for one in worth_taking(told))


def test_an_interval_that_a_better_instrument_widens_says_so_beside_the_figure_and_of_which_readings():
    coarse, fine = (walk(SHOP, read(14.0, accuracy)) for accuracy in ("20 %", "0.1 %"))
    assert coarse.balance.agrees
    assert fine.balance.expanded > coarse.balance.expanded
    why = report.wider(fine)
    assert why.startswith("The interval is wider than the instruments make it, since these do not fit together: ")
    assert "return air out of the hopper" in why
    assert why in cards.figures(fine, "si")
    told = json.loads(to_json(fine))
    assert told["wider_because"] == why
    assert told["contradictions"] == report.contradicted(fine)
    assert report.wider(coarse) == json.loads(to_json(coarse))["wider_because"] == ""
    assert "The interval is wider" not in cards.figures(coarse, "si")
