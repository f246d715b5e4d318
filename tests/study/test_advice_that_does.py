"""What a check advises does what it says, when it is followed."""

from __future__ import annotations

import re

import pytest
from cases import AIR, BEDS, HOPPER, MEMBRANE, NEW, PRESENT, WHEEL, alone, document, resin

from energy.study.case import build
from energy.study.compare import compare


def finding(verdict, check):
    return next(f for f in verdict.findings if f.check == check)


def judged(option, changes):
    return compare(alone(option, changes)).baseline.verdict


# ---------------------------------------------------------------- times


@pytest.mark.parametrize(
    ("option", "name", "throughput"),
    [
        *((option, "PET", throughput) for option in (AIR, MEMBRANE) for throughput in ("3 kg/h", "100 kg/h")),
        *((BEDS, name, throughput) for name in ("TPU", "PA66", "PMMA") for throughput in ("3 kg/h", "12 kg/h")),
        *((option, "PMMA", "12 kg/h") for option in (NEW, WHEEL)),
    ],
)
def test_a_time_in_the_hopper_does(option, name, throughput):
    """A bigger hopper is built for the air that it takes, be it more than is usual: its shell takes more."""
    changes = {**resin(name), f"{HOPPER}.throughput": throughput}
    before = judged(option, changes)
    said = re.search(
        r"about ([\d.]+) h in the hopper(?: would( do)? with (?:as much air|the air that it is then built for)|, [\d.]+ times the longest)",
        finding(before, "predicted moisture").text,
    )

    def left(hours):
        after = judged(option, {**changes, f"{HOPPER}.residence_time": f"{hours} h"})
        assert after.grade_of("drying temperature") == "pass"
        return after.moisture.predicted if missed else after.moisture.high

    missed = before.moisture.predicted > before.moisture.target
    assert missed == ("the target is missed" in finding(before, "predicted moisture").text)
    assert said[2] is None or missed
    assert left(said[1]) <= before.moisture.target
    assert left(0.9 * float(said[1])) > before.moisture.target


@pytest.mark.parametrize("name", ["PC", "PBT", "PET"])
def test_the_time_in_a_drum_does(name):
    before = judged("Infrared drum", resin(name))
    said = re.search(r"drum_time, of ([\d.]+) min", finding(before, "predicted moisture").text)
    after = judged("Infrared drum", {**resin(name), "options['Infrared drum'].inputs.drum_time": f"{said[1]} min"})
    assert before.moisture.predicted > before.moisture.target
    assert 0.9 * after.moisture.target < after.moisture.predicted <= after.moisture.target


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


# ---------------------------------------------------------------- drier air of a desiccant circuit

COOL = "180 degC"
"""Of a regeneration that leaves the air damper than PC asks for."""


def circuit(option=NEW, **inputs):
    """PC in a hall as humid as the beds are sized for."""
    hall = {"site.hall_temperature": "32 degC", "site.hall_dew_point": "20 degC"}
    asked = {"regeneration_temperature": COOL, **inputs}
    site = {f"site.{key}": asked.pop(key) for key in [*asked] if key == "cooling_water_temperature"}
    put = {f"options['{option}'].inputs.{key}": value for key, value in asked.items()}
    return compare(alone(option, {**resin("PC"), **hall, **put, **site})).baseline


def damp(option=NEW, **inputs):
    return finding(circuit(option, **inputs).verdict, "dew point")


@pytest.mark.parametrize("option", [NEW, WHEEL])
def test_each_way_to_drier_air_makes_it_drier(option):
    before = damp(option)
    assert before.verdict == "caution"
    assert "hotter regeneration (regeneration_temperature, now 180 °C)" in before.text
    assert "or a colder inlet to the desiccant (a lower adsorption_limit, which holds it at" in before.text
    held = float(re.search(r"which holds it at ([\d.]+) °C", before.text)[1])
    assert damp(option, regeneration_temperature="200 degC").value < before.value - 2.0
    assert damp(option, adsorption_limit=f"{held - 5} degC").value < before.value - 1.0


def test_colder_water_alone_is_not_named_since_it_changes_nothing():
    before = damp()
    assert "water" not in before.text
    assert damp(cooling_water_temperature="8 degC").value == pytest.approx(before.value, abs=1e-9)


def test_what_a_colder_inlet_costs_is_told_and_is_so():
    before, colder = circuit(), circuit(adsorption_limit="50 degC")
    assert "which takes more cooling and more heat after it" in finding(before.verdict, "dew point").text
    for carrier in ("cooling", "electricity"):
        assert colder.carrier(carrier) > before.carrier(carrier)


def test_where_water_is_as_warm_as_it_may_be_both_are_named():
    """Water of 45 degC and 5 K to the air: 50 degC, and the inlet has 50.5."""
    warm = {"adsorption_limit": "50.5 degC", "cooling_water_temperature": "45 degC"}
    before = damp(**warm)
    assert "by colder cooling water and with it a lower adsorption_limit, now 50.5 °C" in before.text
    followed = damp(adsorption_limit="45 degC", cooling_water_temperature="35 degC")
    assert followed.value < before.value - 1.0


def test_air_that_is_held_at_a_set_point_is_told_of_that_alone():
    control = {"regeneration_control": "dew point", "regeneration_temperature": "230 degC"}
    before = damp(**control, dew_point_set_point="-30 degC")
    assert before.text.endswith("“Dew point at which a bed is changed” (dew_point_set_point): lower it.")
    assert damp(**control, dew_point_set_point="-36 degC").value == pytest.approx(-36.0, abs=0.01)


def test_regeneration_that_can_be_no_hotter_is_not_named():
    """PC asked to be dried in air of -90 degC: nothing but a colder inlet is left."""
    own = {f"{HOPPER}.own_resin": {"dew_point": "-90 degC"}}
    hot = {f"options['{NEW}'].inputs.regeneration_temperature": "300 degC"}
    said = finding(judged(NEW, {**resin("PC"), **own, **hot}), "dew point")
    assert said.verdict == "fail"
    assert "regeneration" not in said.text
    assert "What makes the air drier: a colder inlet" in said.text


def loading(hall="27 degC", **inputs):
    put = {f"options['{NEW}'].inputs.{key}": value for key, value in inputs.items()}
    around = {"site.hall_temperature": "32 degC", "site.hall_dew_point": hall}
    return finding(judged(NEW, {**around, **put}), "desiccant loading")


def test_each_way_to_room_in_beds_that_are_sized_makes_room():
    before = loading(leak_share="15 %")
    assert before.verdict == "caution"
    assert before.text.endswith(
        "less leakage (leak_share), hotter regeneration (regeneration_temperature, now 230 °C) or bigger beds (a smaller bed_use) would help."
    )
    assert loading(leak_share="10 %").value < before.value - 1.0
    assert loading(leak_share="15 %", regeneration_temperature="280 degC").value < before.value - 0.5
    assert loading(leak_share="15 %", bed_use="50 %").value < before.value - 5.0


def test_beds_that_are_full_by_their_own_use_are_told_so():
    before = loading("20 degC", bed_use="90 %")
    assert "beds are sized to be that full, by bed_use; less of it makes them bigger." in before.text
    assert loading("20 degC", bed_use="60 %").verdict == "pass"


def test_of_beds_that_stand_a_colder_inlet_makes_room():
    """A retrofit keeps the desiccant of the present dryer."""
    of = document(PRESENT, changes={"site.hall_temperature": "32 degC", "site.hall_dew_point": "30 degC"})
    of["options"][0].setdefault("inputs", {})["leak_share"] = "15 %"
    ways = {"as it is": {}, "colder": {"adsorption_limit": "50 degC"}}
    for name, inputs in ways.items():
        kind = of["options"][0]["type"]
        of["options"].append({"name": name, "type": kind, "retrofit": True, "capital": "1 USD", "inputs": inputs})
    options = compare(build(of))
    as_it_is, colder = (finding(options.option(name).verdict, "desiccant loading") for name in ways)
    assert as_it_is.verdict != "pass"
    assert as_it_is.text.endswith("or a colder inlet (adsorption_limit) would help.")
    assert colder.value < as_it_is.value - 1.0
