"""A time advised is what is to be written, where the size of a hopper hangs on more than the time asked of it."""

from __future__ import annotations

import re

import pytest
from cases import HOPPER, NEW, PRESENT, WHEEL, alone, plant, resin

from energy.study.compare import compare

KEPT = {
    "name": "Big",
    "resin": "PC",
    "throughput": "60 kg/h",
    "residence_time": "3 h",
    "running": "50 %",
    "campaigns": 20,
}
SHORT = {
    "name": "Small",
    "resin": "PMMA",
    "throughput": "30 kg/h",
    "residence_time": "2 h",
    "running": "50 %",
    "campaigns": 20,
}


def judged_small(option, levels=None, **changes):
    short = {**SHORT, **changes, **({"levels": levels} if levels else {})}
    portable = {f"options['{option}'].{key}": value for key, value in (("arrangement", "portable"), ("units", 1))}
    opened = plant(option, hoppers=(KEPT, short), **portable, **{f"options['{option}'].baseline": True})
    return compare(opened).baseline.served[1].verdict


def predicted(verdict):
    return next(f for f in verdict.findings if f.check == "predicted moisture").text


@pytest.mark.parametrize("option", [NEW, WHEEL])
def test_a_time_advised_for_a_portable_dryer_is_the_one_to_write(option):
    """Its hopper is that of the other resin, so that a time shorter than the pellets stay now does nothing."""
    before = judged_small(option)
    assert before.moisture.predicted > before.moisture.target
    assert before.moisture.residence > 2.5 * 3600  # longer than it asks: the bed is the other's
    text = predicted(before)
    assert "residence_time of" not in text  # it is dried at its own throughput
    hours = re.search(r"about ([\d.]+) h in the hopper would do with as much air", text)[1]
    after = judged_small(option, residence_time=f"{hours} h")
    assert after.moisture.residence == pytest.approx(float(hours) * 3600, rel=1e-9)
    assert after.moisture.predicted <= after.moisture.target
    unheeded = judged_small(option, residence_time=f"{0.98 * before.moisture.residence / 3600:.4f} h")
    assert unheeded.moisture.predicted == pytest.approx(before.moisture.predicted, rel=1e-9)


def test_a_time_advised_for_a_portable_dryer_below_its_throughput_says_at_which_it_counts():
    # It never runs at more than 24 of its 30 kg/h, so that what stays 10 h is written as 8 h.
    levels = [{"throughput": "24 kg/h", "share": "100 %"}]
    before = judged_small(NEW, levels)
    found = re.search(
        r"about ([\d.]+) h in the hopper would do with as much air, which is a residence_time of ([\d.]+) h at its throughput of 30 kg/h",
        predicted(before),
    )
    assert float(found[2]) == pytest.approx(0.8 * float(found[1]), rel=0.02)
    after = judged_small(NEW, levels, residence_time=f"{found[2]} h")
    assert after.moisture.predicted <= after.moisture.target < before.moisture.predicted


@pytest.mark.parametrize(("system", "unit"), [("si", "m3"), ("us", "ft3")])
def test_in_a_hopper_of_given_volume_the_volume_is_advised(system, unit):
    """The time follows from the volume, so that a residence_time would do nothing."""
    place = f"options['{PRESENT}']"

    def judged(volume):
        changes = {**resin("PMMA", throughput="30 kg/h"), "case.units": system, f"{place}.hopper_volume": volume}
        return compare(alone(PRESENT, {**changes, f"{place}.built_for": "45 kg/h"})).baseline.verdict

    before = judged("0.15 m3")
    assert before.moisture.predicted > before.moisture.target
    said = re.search(
        r"about ([\d.]+) h in the hopper would do .*?, which is a hopper_volume of ([\d.]+) (\w+)", predicted(before)
    )
    assert "residence_time" not in predicted(before)
    assert said[3] == unit
    in_m3 = float(said[2]) * (1.0 if unit == "m3" else 0.3048**3)
    assert in_m3 == pytest.approx(0.15 * float(said[1]) * 3600 / before.moisture.residence, rel=0.1)
    after = judged(f"{said[2]} {unit}")
    assert after.moisture.predicted <= after.moisture.target


def test_too_short_a_stay_in_a_given_hopper_is_led_to_its_volume():
    place = f"options['{PRESENT}']"
    changes = {**resin("PMMA"), f"{HOPPER}.residence_time": "6 h", f"{place}.hopper_volume": "0.2 m3"}
    verdict = compare(alone(PRESENT, changes)).baseline.verdict
    assert any("dry them that long (in a bigger hopper, hopper_volume)" in clause for clause in verdict.not_of_practice)
