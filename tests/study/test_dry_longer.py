"""Where a type of dryer has an input of its own for how long it dries, to dry longer names it, and following it reaches the target."""

from __future__ import annotations

import re

import pytest
from cases import NEW, alone, resin

from energy.study.compare import compare


def told(kind: str, of: str, initial: str = "0.4 %", **inputs: str):
    """Verdict and sentence on the moisture of a dryer of that type."""
    place = f"options['{NEW}']"
    changes = {**resin(of, residence_time="15 min", initial_moisture=initial), f"{place}.type": kind}
    verdict = compare(alone(NEW, {**changes, f"{place}.inputs": inputs})).baseline.verdict
    return verdict, next(f for f in verdict.findings if "moisture" in f.check and f.check != "equilibrium moisture")


@pytest.mark.parametrize(
    ("kind", "of", "label", "key"),
    [
        ("infrared-drum", "PC", "Time in the drum", "drum_time"),
        ("vacuum", "PA66", "Time of each step: heat, vacuum, hold", "cycle_time"),
    ],
)
def test_a_type_with_a_time_of_its_own_is_told_that_input_and_what_it_would_be(kind, of, label, key):
    verdict, finding = told(kind, of, **{key: "10 min"})
    assert finding.verdict == "fail"
    named = re.search(
        rf"dry longer \(“{label}”, {key}, of (\d+) min or more on the best estimate\), or hotter", finding.text
    )
    assert named
    after, _ = told(kind, of, **{key: f"{named[1]} min"})
    assert not verdict.moisture.expected
    # A drum warms pellets in a fifth of its time, so that the last of the way is longer than it looks from a short time.
    assert after.moisture.predicted <= 1.25 * after.moisture.target
    assert after.grade_of("predicted moisture") == "caution"
    short, _ = told(kind, of, **{key: f"{0.88 * float(named[1]):.0f} min"})
    assert short.moisture.predicted > 1.02 * short.moisture.target


def test_a_resin_with_water_on_its_surface_too():
    _, finding = told("infrared-drum", "PP", "4 %", drum_time="11 s")
    assert finding.text.endswith("drain or centrifuge it first, or dry longer (“Time in the drum”, drum_time).")


def test_a_hopper_has_its_residence_time():
    _, finding = told("desiccant-twin-tower", "PA66")
    assert "; dry longer, or hotter if the resin allows." in finding.text
