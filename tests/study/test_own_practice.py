"""Own values of a resin, with their ranges, are its practice whatever resin they start from; what is not as practice has it is named."""

from __future__ import annotations

import re
from dataclasses import replace

import numpy as np
import pytest
from cases import HOPPER, NEW, PRESENT, alone, case, resin

from energy.reports.answer import answer
from energy.resins.properties import custom_resin, load_resin
from energy.study import drawn_verdict
from energy.study.compare import compare
from energy.study.simulate import simulate

# What a producer's sheet for PPS says; all of it the user's own.
PPS = {
    "name": "PPS",
    "specific_heat": "1.3 kJ/(kg K)",
    "density": "1350 kg/m3",
    "bulk_density": "800 kg/m3",
    "drying_temperature": {"value": "145 degC", "low": "130 degC", "high": "150 degC"},
    "residence_time": {"value": "3 h", "low": "2 h", "high": "4 h"},
    "initial_moisture": {"value": "0.04 %", "low": "0.03 %", "high": "0.06 %"},
    "target_moisture": "0.02 %",
    "sorption_slope": "0.05 %",
    "dew_point": {"value": "-30 degC", "low": "-40 degC", "high": "-20 degC"},
}
ALONE = {"sorption_slope": None, "hygroscopic": True}
TIMES = [{"value": "3 h", "low": "2 h", "high": high} for high in ("3 h", "4 h", "8 h")]


def verdict_of(base, own=None, **hopper):
    return compare(of(base, own, **hopper)).baseline.verdict


def of(base, own=None, **hopper):
    changes = resin(base, **hopper)
    if own is not None:
        changes[f"{HOPPER}.own_resin"] = {key: value for key, value in own.items() if value is not None}
    return alone(NEW, changes)


def finding(verdict, check):
    return next(f for f in verdict.findings if f.check == check)


@pytest.mark.parametrize("base", ["LCP", "PEEK", "PET", "PEI", "PA12", "own"])
def test_own_values_come_to_the_same_over_any_resin(base):
    """In 3 h of the 2 to 4 h of its sheet, from the moisture of its sheet: as practice does, no more."""
    own = {**PPS, "drying_temperature_limit": "160 degC", **(ALONE if base == "own" else {})}
    verdict = verdict_of(base, own)
    assert verdict.word == "caution"
    assert finding(verdict, "residence time").verdict == "pass"


@pytest.mark.parametrize("moisture", ["0.03 %", "0.04 %", {"value": "0.04 %", "low": "0.03 %", "high": "0.06 %"}])
@pytest.mark.parametrize("time", TIMES)
def test_a_wider_range_of_times_makes_no_verdict_worse(time, moisture):
    assert verdict_of("LCP", {**PPS, "residence_time": time, "initial_moisture": moisture}).word == "caution"


@pytest.mark.parametrize(("comes", "word"), [("0.06 %", "caution"), ("0.061 %", "unlikely")])
def test_own_moisture_with_its_range_is_what_the_time_is_for(comes, word):
    verdict = verdict_of("LCP", PPS, initial_moisture=comes)
    assert verdict.word == word
    if word == "unlikely":
        assert "the pellets come with 0.061 % wet basis, above the 0.06 % wet basis" in said_of(verdict)


@pytest.mark.parametrize(("comes", "word"), [("0.2 %", "caution"), ("0.3 %", "caution"), ("0.31 %", "unlikely")])
def test_moisture_within_the_stored_range_is_that_of_practice(comes, word):
    """PA12: 0.15 to 0.3 % and 3 to 5 h by its sheet; here 3 h."""
    assert verdict_of("PA12", initial_moisture=comes, residence_time="3 h").word == word


@pytest.mark.parametrize(
    ("size", "time", "word"), [("3.9 mm", None, "caution"), ("4.5 mm", None, "unlikely"), ("4.5 mm", "4 h", "caution")]
)
def test_a_time_of_ones_own_is_for_ones_own_pellets(size, time, word):
    """PA12 is stored with pellets of 2 to 4 mm."""
    own = {"pellet_diameter": size, "residence_time": time}
    verdict = verdict_of("PA12", own)
    assert verdict.word == word
    if word == "unlikely":
        assert "the pellets are 4.5 mm thick, above the 4 mm that practice's time is for" in said_of(verdict)


def said_of(verdict):
    return finding(verdict, "predicted moisture").text


# PA12: 80 to 90 °C, 3 to 5 h, dew point up to -20 °C, 0.15 to 0.3 %, down to 0.1 %.
NAMED = {
    "time": (
        {"residence_time": "2.5 h"},
        "the pellets stay 2.5 h, less than practice's 3 h: dry them that long (residence_time)",
    ),
    "temperature": (
        {"drying_temperature": "79 degC", "residence_time": "5 h"},
        "the drying temperature is 79 °C, below practice's 80 °C: set drying_temperature to 80 °C or more",
    ),
    "moisture": (
        {"initial_moisture": "0.31 %"},
        "the pellets come with 0.31 % wet basis, above the 0.3 % wet basis that practice's time is for: have them come drier",
    ),
    "target": (
        {"target_moisture": "0.09 %", "residence_time": "5 h"},
        "the target is 0.09 % wet basis, below the 0.1 % wet basis that practice dries to: set target_moisture to 0.1 % wet basis or more",
    ),
}


@pytest.mark.parametrize(("values", "said"), NAMED.values(), ids=[*NAMED])
def test_what_is_not_of_practice_is_named_alone_with_value_limit_and_what_to_set(values, said):
    verdict = verdict_of("PA12", **values)
    assert verdict.word == "unlikely"
    assert len(verdict.not_of_practice) == 1
    assert verdict.not_of_practice[0].startswith(said)
    assert verdict.not_of_practice[0] in said_of(verdict)
    assert said in answer(compare(of("PA12", **values)))


@pytest.mark.parametrize(("stay", "grade", "word"), [("4.9 h", "caution", "unlikely"), ("5 h", "pass", "caution")])
def test_the_check_of_time_asks_what_practice_asks(stay, grade, word):
    """PA12 is usually dried at 80 °C in 3 to 5 h; a sheet of one's own with 85 °C, and 80 °C as its low end, asks for the long end at 82 °C."""
    own = {"drying_temperature": {"value": "85 degC", "low": "80 degC", "high": "90 degC"}}
    verdict = verdict_of("PA12", own, drying_temperature="82 degC", residence_time=stay)
    said = finding(verdict, "residence time")
    assert (said.verdict, said.limit, verdict.word) == (grade, pytest.approx(5.0), word)
    assert (
        "practice asks for 5 h or more for PA12 at 82 °C, cooler than usual, the long end of its 3 to 5 h" in said.text
    )


def test_data_of_the_stored_resin_are_called_its_own():
    """Fast and dry enough by PET's data: what is sure of PET is not of a resin of another name."""
    own = {"initial_moisture": "0.1 %", "target_moisture": "0.05 %"}
    kept = verdict_of("PET", own)
    assert finding(kept, "predicted moisture").verdict == "pass"
    assert "PETG" not in said_of(kept)
    named = verdict_of("PET", {**own, "name": "PETG"})
    assert finding(named, "predicted moisture").verdict == "caution"
    assert "by the diffusion data of PET, from which PETG starts" in said_of(named)
    assert "own_resin.diffusivity" in said_of(named)
    assert "by the sorption data of PET, from which PETG starts" in finding(named, "equilibrium moisture").text
    assert "in warm pellets by the diffusion data of PET" in finding(named, "residence time").text
    assert named.moisture.predicted == kept.moisture.predicted  # a name changes no number
    assert "reckoned with the diffusion data of PET" in answer(compare(of("PET", {**own, "name": "PETG"})))
    assert "reckoned with" not in answer(compare(of("PET", own)))


@pytest.mark.parametrize("name", ["PET", "pet", "Poly(ethylene terephthalate)", "PET bottle flakes", "PET-C"])
def test_a_name_that_begins_with_the_stored_one_keeps_the_stored_data(name):
    assert "from which" not in said_of(verdict_of("PET", {"name": name}))


@pytest.mark.parametrize(
    ("base", "name", "of"),
    [
        ("PA6", "PA 6 GF30", ""),
        ("PA6", "PA66", "PA6"),
        ("PC", "PC/ABS", "PC"),
        ("PC", "PC+ABS", "PC"),
        ("PC", "my PC", "PC"),
    ],
)
def test_whose_data_a_name_has(base, name, of):
    assert custom_resin(base, name=name).of_another("diffusivity") == of


def test_own_data_are_nobody_elses():
    verdict = verdict_of("PET", {"name": "PETG", "diffusivity": "1e-10 m2/s", "sorption_slope": "0.8 %"})
    assert not re.search(r"from which PETG starts", " ".join(f.text for f in verdict.findings))


def test_of_another():
    assert custom_resin("PET", name="PETG").of_another("diffusivity") == "PET"
    assert custom_resin("PET", name="PETG", diffusivity=1e-10).of_another("diffusivity") == ""
    assert custom_resin("PET", specific_heat=1300.0).of_another("diffusivity") == ""
    assert custom_resin("LCP", name="PPS").of_another("diffusivity") == ""  # there are none
    assert load_resin("PET").of_another("diffusivity") == ""


def test_data_of_another_resin_rule_nothing_out_that_practice_does():
    """PA66 down to 0.01 % in 4 h: even the fastest of its diffusion misses that; the user's sheet of another resin has it so."""
    sheet = {"residence_time": "4 h", "initial_moisture": "0.3 %", "target_moisture": "0.01 %"}
    stored = verdict_of("PA66", sheet)
    assert finding(stored, "predicted moisture").verdict == "fail"
    named = verdict_of("PA66", {**sheet, "name": "PPA"})
    assert named.moisture.low > named.moisture.target
    assert (named.word, named.disputed) == ("caution", True)
    assert verdict_of("PA66", {**sheet, "name": "PPA"}, residence_time="3.9 h").word == "unlikely"


def test_moisture_drawn_within_the_range_of_practice_turns_no_draw():
    """Of a resin without diffusion data whose other values hold in every draw: one throughput, and air enough to warm the pellets."""
    for plant in (of("LCP", PPS, throughput="91 kg/h"), of("PA12", residence_time="3 h", throughput="91 kg/h")):
        simulation = simulate(plant.with_({f"options['{NEW}'].inputs.air_resin_ratio": "4"}), 128, 1)
        assert any("initial_moisture" in entry.name for entry in simulation.inputs)
        (option,) = simulation.options
        assert option.dries_share == 1.0


def test_ranges_of_its_own_are_no_draws():
    """As many ranges as there are draws: some of the draws take all of the ranges."""
    of = compare(case(PRESENT)).baseline
    ranges = (("specific_heat", 1100.0, 1300.0), ("dew_point", 230.0, 250.0))
    duty = replace(
        of.served[0].duty,
        resin=replace(of.served[0].duty.resin, ranges=ranges, specific_heat=np.array([[1150.0], [1250.0]])),
    )
    some = drawn_verdict._some(duty, np.array([1]), 0, 2)
    assert some.resin.ranges == ranges
    assert some.resin.specific_heat.tolist() == [[1250.0]]
