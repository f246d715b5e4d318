"""The range of a diffusivity taken over rests on all that the prediction hangs on, by Arrhenius, the stay and the printed series."""

from __future__ import annotations

import math

import numpy as np
import pytest
from cases import HOPPER as PLACE
from cases import PRESENT, case, resin

from energy.errors import ModelError
from energy.reports.moisture_words import of_pellets
from energy.walkthrough import moisture_spread
from energy.walkthrough.baseline import as_baseline, own_diffusivity, readings_from
from energy.walkthrough.moisture_read import NOT_RUN
from energy.walkthrough.walk import walk

SURE = {
    "process_temperature": {"value": "82 degC", "accuracy": "0.01 K"},
    "dew_point": {"value": "-30 degC", "accuracy": "0.01 K"},
    "throughput": {"value": "90 kg/h", "accuracy": "0.01 %"},
    "air_flow": {"value": "250 m3/h at 0 degC", "accuracy": "0.01 %"},
    "outlet_moisture": {"value": "1500 ppm", "accuracy": "0.1 ppm"},
}
FED = {"value": "0.3 %", "low": "0.29999 %", "high": "0.30001 %"}
ROOT = 2.0 / math.sqrt(3.0)
"""Interval stated over the half-width of an instrument."""


def of(fed: object = FED, **hopper: object):
    place = f"options['{PRESENT}']"
    told = {**resin("PA66", **hopper), f"{place}.baseline": True, f"{place}.built_for": None}
    return case(PRESENT, changes={**told, f"{PLACE}.initial_moisture": fed})


def pellets(fed: object = FED, **readings: object):
    taken = {**SURE, **readings}
    hopper = "Machine 7"
    said = {name: value for name, value in taken.items() if value is not None}
    return walk(of(fed), readings_from({"hopper": hopper, **said}))


def both_ways(made) -> tuple[float, float]:
    """How far the range reaches to the slow and to the fast side, in the logarithm."""
    likely, slow, fast = made.pellets.diffusivity
    return math.log(likely / slow), math.log(fast / likely)


def test_with_everything_known_well_the_range_is_narrow():
    assert max(both_ways(pellets())) < 0.005


def test_a_process_temperature_that_may_be_off_moves_it_by_arrhenius():
    # PA66: 55 kJ/mol; pellets warm within a small part of the bed, so nearly all of the way is at 82 degC.
    wide = ROOT * 15.0 * 55e3 / 8.314462618 / (82.0 + 273.15) ** 2
    told = both_ways(pellets(process_temperature={"value": "82 degC", "accuracy": "15 K"}))
    assert told == pytest.approx((wide, wide), rel=0.1)
    narrow = both_ways(pellets(process_temperature="82 degC"))  # 1.5 K
    assert narrow == pytest.approx((wide / 10.0, wide / 10.0), rel=0.1)


def test_a_throughput_that_may_be_off_moves_it_as_the_stay():
    # Diffusivity times stay is what the moisture hangs on, in so much air that the pellets warm at once.
    much = {"value": "700 m3/h at 0 degC", "accuracy": "0.01 %"}
    told = both_ways(pellets(air_flow=much, throughput={"value": "90 kg/h", "accuracy": "10 %"}))
    assert told == pytest.approx((ROOT * 0.1, ROOT * 0.1), rel=0.15)


def test_an_airflow_that_may_be_off_moves_it_as_other_airflows_do():
    by = 0.2 / math.sqrt(3.0)
    flows = [f"{250.0 * (1.0 + sign * by)!r} m3/h at 0 degC" for sign in (1.0, -1.0)]
    more, less = (pellets(air_flow={"value": flow, "accuracy": "0.01 %"}).pellets.diffusivity[0] for flow in flows)
    assert more < less  # more air, warmer pellets: less diffusivity does
    hand = math.log(less / more)
    told = both_ways(pellets(air_flow={"value": "250 m3/h at 0 degC", "accuracy": "20 %"}))
    assert told == pytest.approx((hand, hand), rel=0.01)


def test_pellets_fed_wetter_or_drier_move_it_as_other_cases_do():
    found = [
        pellets(f"{fed} %").pellets.diffusivity[0] for fed in (0.3 + 0.02 / math.sqrt(3), 0.3 - 0.02 / math.sqrt(3))
    ]
    hand = math.log(found[0] / found[1])  # two standard uncertainties
    told = both_ways(pellets({"value": "0.3 %", "low": "0.28 %", "high": "0.32 %"}))
    assert told == pytest.approx((hand, hand), rel=0.01)


@pytest.mark.parametrize(
    ("fed", "half"),
    [
        (None, 300e-6),  # of the data, 0.3 %: a tenth, as a measurement is usually off
        ("0.2 %", 200e-6),
        ({"value": "0.2 %", "low": "0.17 %", "high": "0.21 %"}, 200e-6),
        ({"value": "0.2 %", "basis": "measured"}, 200e-6),
    ],
)
def test_the_moisture_fed_has_the_range_of_the_case_or_else_the_usual_one(fed, half):
    made = pellets(fed)
    [share] = [share for share in made.pellets.rests_on if share.name == "initial_moisture"]
    assert share.off == pytest.approx(ROOT * half, rel=0.01)
    assert (share.note != "") == (fed is None)


def test_own_practice_of_the_resin_says_what_it_is_fed_with():
    at = of(None, own_resin={"initial_moisture": {"value": "0.3 %", "low": "0.25 %", "high": "0.35 %"}})
    made = walk(at, readings_from({"hopper": "Machine 7", **SURE}))
    [share] = [share for share in made.pellets.rests_on if share.name == "initial_moisture"]
    assert share.off == pytest.approx(ROOT * 500e-6, rel=0.01)


def test_what_was_not_read_has_the_range_that_the_walkthrough_gives_it():
    # The case's set point ± 4 K and throughput by its own 80 to 100 kg/h, the model's dew point ± 12 K and airflow ± 25 %.
    made = pellets("0.3 %", process_temperature=None, dew_point=None, throughput=None, air_flow=None)
    off = {share.name: share.off for share in made.pellets.rests_on}
    assert off["throughput"] == pytest.approx(ROOT * 10.0 / 3600.0)
    assert off["air_flow"] == pytest.approx(ROOT * 0.25 * float(made.balance.found.as_found.air_flow[0]))
    assert off["process_temperature"] == pytest.approx(ROOT * 4.0)
    assert off["dew_point"] == pytest.approx(ROOT * 12.0)
    assert max(both_ways(made)) > 0.2


def test_they_are_combined_as_the_root_of_the_sum_of_squares():
    alone = [
        {"process_temperature": {"value": "82 degC", "accuracy": "6 K"}},
        {"throughput": {"value": "90 kg/h", "accuracy": "20 %"}},
        {"outlet_moisture": {"value": "1500 ppm", "accuracy": "10 %"}},
    ]
    each = np.array([both_ways(pellets(**one)) for one in alone])
    together = both_ways(pellets(**{key: value for one in alone for key, value in one.items()}))
    assert together == pytest.approx(np.sqrt(np.sum(each**2, axis=0)), rel=1e-3)
    assert max(together) < 1.5  # within the data, a factor of 5


def test_no_range_reaches_beyond_the_data():
    made = pellets(process_temperature={"value": "82 degC", "accuracy": "60 K"})
    likely, slow, fast = made.pellets.diffusivity
    assert (slow, fast) == pytest.approx((1e-12, 2.5e-11), rel=1e-6)  # 5e-12 by and times 5
    assert slow < likely < fast


def test_the_sentence_says_what_it_rests_on_with_most_of_it_first():
    made = pellets(process_temperature={"value": "82 degC", "accuracy": "15 K"})
    told = " ".join(of_pellets(made.balance.found, made.pellets, "si"))
    assert "That range rests on the process temperature (± 17 K)." in told
    made = pellets(None, process_temperature="82 degC", outlet_moisture="1500 ppm")
    told = " ".join(of_pellets(made.balance.found, made.pellets, "si"))
    assert (
        "That range rests, most of it first, on the moisture read (± 170 ppm), the moisture of the pellets fed (± 350 ppm, as of a measurement, "
        "though the case states none) and the process temperature (± 1.7 K)."
    ) in told
    assert "the process temperature (± 3.1 °F)" in " ".join(of_pellets(made.balance.found, made.pellets, "us"))


def test_the_input_taken_over_has_that_range():
    made = pellets(process_temperature={"value": "82 degC", "accuracy": "15 K"})
    _, slow, fast = made.pellets.diffusivity
    taken = as_baseline(of(), made.balance)
    assert taken.resins[0].range_of("diffusivity") == pytest.approx((slow, fast), rel=1e-3)
    assert own_diffusivity(made.balance)["low"] == f"{slow:.4g} m2/s"


def test_nearer_by_where_the_model_cannot_run_the_dryer_as_far_off(monkeypatch):
    wide = {"process_temperature": {"value": "82 degC", "accuracy": "15 K"}}
    before, run = both_ways(pellets(**wide)), moisture_spread.operate

    def up_to_85(machine, duties):
        if float(np.max(duties[0].drying_temperature)) > 85.0 + 273.15:
            raise ModelError("too hot", np.array([True]))
        return run(machine, duties)

    monkeypatch.setattr(moisture_spread, "operate", up_to_85)
    assert both_ways(pellets(**wide)) == pytest.approx(before, rel=0.05)

    def never(machine, duties):
        raise ModelError("not at all", np.array([True]))

    monkeypatch.setattr(moisture_spread, "operate", never)
    assert pellets(**wide).pellets.why_not == NOT_RUN
