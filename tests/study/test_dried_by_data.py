"""The chance that it dries, and beside it the chance by the diffusion data alone."""

from __future__ import annotations

import html
import json

import numpy as np
import pytest

import energy
from energy.reports.document import model, web
from energy.reports.simulation import doubt_of_drying, to_json, to_text
from energy.study import drawn_verdict
from energy.study.simulate import simulate

CENTRAL = "Central wheel, variable speed"


@pytest.fixture(scope="module")
def demo():
    return energy.load_case("demo")


@pytest.fixture(scope="module")
def drawn(demo):
    return simulate(demo, 128)


def test_by_the_data_alone_is_what_dries_with_no_practice_to_speak_for_it(demo, drawn, monkeypatch):
    monkeypatch.setattr(
        drawn_verdict,
        "practice_kept",
        lambda duty, operation, stay, target: np.zeros(
            np.shape(operation.hopper.resin_outlet_temperature + duty.throughput)[:-1], dtype=bool
        ),
    )
    without = simulate(demo, 128)
    for option in drawn.options:
        data = drawn.outcomes.by_data[option.name]
        assert (data == without.outcomes.dries[option.name]).all()
        assert not (data & ~drawn.outcomes.dries[option.name]).any()
        assert option.data_share == pytest.approx(without.option(option.name).dries_share)
    assert drawn.option(CENTRAL).data_share < drawn.option(CENTRAL).dries_share - 0.2


def test_what_counts_as_dried_stands_in_the_sentence_of_the_chance(drawn):
    option = drawn.option(CENTRAL)
    dry, data = (round(100 * share) for share in (option.dries_share, option.data_share))
    said = f"dries in {dry} of 100, by the diffusion data or as practice does (by the data alone in {data} of 100)"
    assert said in drawn.chance(CENTRAL)
    assert said in to_text(drawn)
    paper = html.unescape(web.render(model.document(drawn.comparison, drawn, only=("Decision",))).decode())
    said = said.replace("of 100,", "of 100 simulated cases,", 1)
    assert f"It {said}." in paper
    assert f"by the data alone it dries in {data} of 100." in doubt_of_drying(drawn)
    found = {one["name"]: one for one in json.loads(to_json(drawn))["options"]}
    assert found[CENTRAL]["dries_by_data_share"] == option.data_share


def test_where_practice_adds_nothing_no_more_is_said(drawn):
    option = drawn.option("Infrared drums")  # practice speaks of no drum
    assert option.data_share == option.dries_share
    said = drawn.chance("Infrared drums")
    assert "dries in" in said
    assert "practice" not in said
