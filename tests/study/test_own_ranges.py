"""Ranges of a user's own resin say what practice accepts, as those of a stored sheet do."""

from __future__ import annotations

import pytest
from cases import AIR, HOPPER, HOT, OWN_RESIN, alone, case, resin

from energy.errors import CaseError
from energy.reports.catalogue import resin_text
from energy.resins.properties import load_resin, resin_names
from energy.study.compare import compare
from energy.study.own_resin import resin_of
from energy.study.plant_sections import OwnResin
from energy.study.practice import bearable_dew_point
from energy.study.spread import uncertain_inputs

OWN = {"name": "my resin", **OWN_RESIN}
DEW = {"value": "-40 degF", "low": "-58 degF", "high": "-4 degF", "basis": "read"}


def finding(verdict, check):
    return next(f for f in verdict.findings if f.check == check)


def own(option, base="own", **values):
    written = values if base != "own" else {**OWN, **values}
    return alone(option, {**resin(base), f"{HOPPER}.own_resin": written})


def dew_point_of_air(base="own", **values):
    return finding(compare(own(AIR, base, **values)).baseline.verdict, "dew point")


@pytest.mark.parametrize("base", ["own", "LCP"])
def test_air_within_an_own_range_of_dew_points_is_a_caution(base):
    """Expanded air of 7 bar(g) and 3 degC comes with -20.8 degC (reference B1), on -4 degF or -20.0 degC it is accepted."""
    said = dew_point_of_air(base, dew_point=DEW)
    assert said.verdict == "caution"
    assert "asks for -40 °C and accepts up to -20 °C" in said.text
    assert "not accepted practice" not in said.text


def test_air_beyond_it_and_a_dew_point_without_a_range_are_a_fail():
    assert dew_point_of_air(dew_point={**DEW, "high": "-22 degF"}).verdict == "fail"
    assert dew_point_of_air(dew_point="-40 degF").verdict == "fail"


def test_it_is_the_same_as_the_stored_sheet_with_the_same_range():
    """PC asks for -40 degC and accepts up to -20 degC."""
    stored = compare(alone(AIR, resin("PC"))).baseline.verdict
    written = {"value": "-40 degC", "low": "-50 degC", "high": "-20 degC"}
    typed = compare(own(AIR, "PC", dew_point=written)).baseline.verdict
    assert finding(stored, "dew point") == finding(typed, "dew point")
    assert stored.word == typed.word


@pytest.mark.parametrize(("stay", "verdict"), [("2.5 h", "pass"), ("1.9 h", "caution")])
def test_of_an_own_range_of_times_the_short_end_is_asked(stay, verdict):
    written = {**OWN, "residence_time": {"value": "3 h", "low": "2 h", "high": "4 h"}}
    said = compare(alone(HOT, {**resin("own", residence_time=stay), f"{HOPPER}.own_resin": written})).baseline.verdict
    assert finding(said, "residence time").verdict == verdict
    assert "practice asks for 2 h or more" in finding(said, "residence time").text


def test_an_own_range_of_the_diffusivity_is_the_band():
    """What is sure to 5 % leaves less between low and high than what is known to a factor."""
    moistures = []
    for written in ("5e-12 m2/s", {"value": "5e-12 m2/s", "low": "4.75e-12 m2/s", "high": "5.25e-12 m2/s"}):
        moisture = compare(own(AIR, "PA66", diffusivity=written)).baseline.verdict.moisture
        moistures.append(moisture)
    free, sure = moistures
    assert free.predicted == pytest.approx(sure.predicted, rel=1e-12)
    assert sure.high - sure.low < 0.2 * (free.high - free.low)


def test_what_practice_accepts_is_not_drawn():
    inputs, held = uncertain_inputs(
        own(
            AIR,
            dew_point=DEW,
            specific_heat={"value": "1.5 kJ/(kg K)", "low": "1.4 kJ/(kg K)", "high": "1.6 kJ/(kg K)"},
        )
    )
    names = {entry.name for entry in inputs}
    assert f"{HOPPER}.own_resin.specific_heat" in names
    assert not any("own_resin.dew_point" in name for name in (*names, *held))


def test_an_own_resin_with_a_range_is_another_resin():
    """Answers that are kept for one must not be given for the other."""
    plain, ranged = (own(AIR, dew_point=written).resins[0] for written in ("-40 degF", DEW))
    assert plain != ranged
    assert bearable_dew_point(plain) < bearable_dew_point(ranged)
    assert resin_of(own(AIR, dew_point=DEW).model.hoppers[0]).ranges == ()


def test_what_the_model_reads_of_a_sheet_can_be_ones_own():
    """Pellets that are said to hold 0.12 % at most cannot come with 0.3 %; a caking temperature is told."""
    with pytest.raises(CaseError, match=r"more than twice what my resin can hold, 0\.12 % wet"):
        alone(
            AIR,
            {**resin("own", initial_moisture="0.3 %"), f"{HOPPER}.own_resin": {**OWN, "saturation_moisture": "0.12 %"}},
        )
    said = compare(own(AIR, caking_temperature="72 degC")).baseline.verdict
    assert "amorphous pellets stick together above 72 °C" in finding(said, "caking").text


@pytest.mark.parametrize("key", ["conductivity", "moisture_regain_50rh", "glass_transition"])
def test_what_no_result_rests_on_is_refused_as_that(key):
    with pytest.raises(CaseError, match=rf"own_resin\.{key}: no result rests on it; leave it out") as error:
        case(AIR, changes={f"options['{AIR}'].baseline": True, f"{HOPPER}.own_resin": {key: "1"}})
    assert "did you mean" not in str(error.value)


@pytest.mark.parametrize("name", resin_names())
def test_every_line_of_a_sheet_can_be_written_as_ones_own_or_is_marked(name):
    lines = resin_text(name).splitlines()[1:]
    for key, entry in load_resin(name).data.items():
        line = next(line for line in lines if line.split()[:1] == [key])
        marked = "for reference: no result rests on it" in line
        assert marked == (key in ("conductivity", "glass_transition", "moisture_regain_50rh"))
        if not marked:
            written = entry.value if isinstance(entry.value, bool) else f"{entry.value} {entry.unit or ''}".strip()
            OwnResin.model_validate({key: written})
