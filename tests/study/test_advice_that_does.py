"""What a check advises does what it says, when it is followed."""

from __future__ import annotations

import re

import pytest
from cases import AIR, HOPPER, MEMBRANE, alone, resin

from energy.study.compare import compare


def finding(verdict, check):
    return next(f for f in verdict.findings if f.check == check)


def judged(option, changes):
    return compare(alone(option, changes)).baseline.verdict


# ---------------------------------------------------------------- times


@pytest.mark.parametrize("option", [AIR, MEMBRANE])
@pytest.mark.parametrize("throughput", ["3 kg/h", "100 kg/h"])
def test_a_time_with_the_air_named_beside_it_does(option, throughput):
    """PET's air is what a bed of four hours needs to warm it; a bigger hopper is given less, so the air is named."""
    changes = {**resin("PET"), f"{HOPPER}.throughput": throughput}
    before = judged(option, changes)
    said = re.search(
        r"about ([\d.]+) h in the hopper would do with as much air \(“[^”]+”, air_resin_ratio, of ([\d.]+)\)",
        finding(before, "predicted moisture").text,
    )
    followed = {f"{HOPPER}.residence_time": f"{said[1]} h", f"options['{option}'].inputs.air_resin_ratio": said[2]}
    after = judged(option, {**changes, **followed})
    assert before.moisture.predicted > before.moisture.target
    assert after.moisture.predicted <= after.moisture.target
    less = {**changes, **followed, f"{HOPPER}.residence_time": f"{0.95 * float(said[1])} h"}
    assert judged(option, less).moisture.predicted > after.moisture.target


@pytest.mark.parametrize("name", ["TPU", "PBT"])
def test_the_time_of_a_vacuum_step_does(name):
    before = judged("Vacuum", resin(name))
    said = re.search(r"would do \([^)]*cycle_time, of ([\d.]+) min\)", finding(before, "predicted moisture").text)
    after = judged("Vacuum", {**resin(name), "options['Vacuum'].inputs.cycle_time": f"{said[1]} min"})
    assert before.moisture.predicted > before.moisture.target
    assert after.moisture.predicted <= after.moisture.target


# ---------------------------------------------------------------- what a vacuum is to be like


@pytest.mark.parametrize(("target", "verdict"), [("300 ppm", "caution"), ("100 ppm", "fail")])
@pytest.mark.parametrize("system", ["si", "us"])
def test_a_vacuum_dryer_is_told_of_its_vacuum_and_not_of_a_dew_point(target, verdict, system):
    changes = {**resin("TPU", target_moisture=target), "case.units": system}
    told = finding(judged("Vacuum", changes), "equilibrium moisture")
    assert told.verdict == verdict
    assert told.text.startswith("Under this vacuum TPU dries to 171 ppm at best")
    assert "dew point" not in told.text
    pressure = re.search(r"\(vacuum_pressure\) of ([\d.]+) mbar\(a\) or less", told.text)[1]
    share = re.search(r"\(vapour_share\) of ([\d.]+) % or less", told.text)[1]
    for key, least, unit in (("vacuum_pressure", pressure, "mbar(a)"), ("vapour_share", share, "%")):
        there = finding(judged("Vacuum", {**changes, f"options['Vacuum'].inputs.{key}": f"{least} {unit}"}), told.check)
        assert there.value <= 0.5 * told.limit
        assert there.value > 0.42 * told.limit
        assert there.verdict == "pass"


def test_a_vacuum_that_leaves_too_much_is_not_told_of_drier_air():
    told = finding(judged("Vacuum", resin("TPU", target_moisture="100 ppm")), "predicted moisture").text
    assert "it takes a lower pressure (vacuum_pressure) or less vapour in it (vapour_share)" in told
    assert "drier air" not in told


def test_no_vacuum_is_named_that_no_dryer_holds():
    told = finding(judged("Vacuum", resin("TPU", target_moisture="1 ppm")), "equilibrium moisture").text
    assert told.endswith("No vacuum that can be held is low enough for that target.")
