"""Dryers that are moved from hopper to hopper: one bed, one blower, and no more at work than there are."""

from __future__ import annotations

import numpy as np
import pytest
from cases import MEMBRANE, NEW, PA, PC, PRESENT, plant

from energy.study.case import load_case
from energy.study.compare import compare

HALF = {"running": "50 %", "campaigns": 20}
HOUSE = {"compressed_air.installed_capacity": "50 m3/min FAD", "compressed_air.present_flow": "3 m3/min FAD"}


def moved(name, units):
    return {f"options['{name}'].arrangement": "portable", f"options['{name}'].units": units}


def test_portable_dryers_have_the_largest_hopper_and_peak_as_many_as_there_are():
    hoppers = ({**PC, **HALF}, {**PA, **HALF})
    at = {f"options['{NEW}'].baseline": True}
    fixed = compare(plant(NEW, hoppers=hoppers, **at)).baseline
    portable = compare(plant(NEW, hoppers=hoppers, **at, **moved(NEW, 1))).baseline
    assert portable.specific_energy > fixed.specific_energy  # the small job in the big dryer
    large = max(s.operation.sizing["hopper_volume"].max() for s in fixed.served)
    assert portable.sizing["hopper_volume"] == pytest.approx(large, rel=1e-12)
    assert all(s.operation.sizing["hopper_volume"].max() == pytest.approx(large, rel=1e-12) for s in portable.served)
    assert portable.peak < fixed.peak  # one of them runs at a time


@pytest.mark.parametrize("option", [NEW, MEMBRANE])  # with a blower of its own, and without
def test_a_portable_dryer_keeps_its_volume_from_light_pellets_to_heavy_ones(option):
    # ABS asks 60 kg/h for 3 h, PET 50 kg/h for 4 h: more mass, but its pellets are so much heavier that ABS needs the bigger bed.
    light, heavy = (
        {"name": name, "resin": resin, "throughput": kgh, "residence_time": hours, **HALF}
        for name, resin, kgh, hours in (("Light", "ABS", "60 kg/h", "3 h"), ("Heavy", "PET", "50 kg/h", "4 h"))
    )
    at = {f"options['{option}'].baseline": True, **moved(option, 1)}
    of = compare(plant(option, hoppers=(light, heavy), **at)).baseline
    asked = [
        mass / served.duty.resin.bulk_density for mass, served in zip((60.0 * 3, 50.0 * 4), of.served, strict=True)
    ]
    for served in of.served:
        duty = served.duty
        volume = duty.residence_time * duty.built_for.design_throughput / duty.resin.bulk_density
        np.testing.assert_allclose(volume, max(asked), rtol=1e-12)


def test_a_portable_dryer_has_one_blower_wherever_it_stands():
    opened = load_case("demo")
    portable = compare(opened).option("Portable wheels")
    asked = [float(h.throughput) * r.air_resin_ratio for h, r in zip(opened.model.hoppers, opened.resins, strict=True)]
    air = [float(s.operation.air_flow.max()) for s in portable.served]
    assert max(air) == pytest.approx(max(asked), rel=0.06)  # by practice's airflow; heat may ask for a little more
    assert min(air) == pytest.approx(max(air), rel=0.06)
    # The bed is that of the PET hopper; a longer time asked of another, smaller one changes no machine.
    longer = compare(opened.with_({"hoppers[1].residence_time": "8 h"})).option("Portable wheels")
    assert longer.specific_energy == pytest.approx(portable.specific_energy, rel=1e-9)
    assert longer.served[0].verdict.moisture.residence == pytest.approx(portable.served[0].verdict.moisture.residence)


@pytest.mark.parametrize("units", [1, 2])
def test_compressors_deliver_for_as_many_portable_dryers_as_there_are(units):
    """One dryer is at one hopper at a time: the compressors must do for the hopper that asks most."""
    opened = plant(PRESENT, MEMBRANE, hoppers=({**PC, **HALF}, {**PA, **HALF}), **moved(MEMBRANE, units), **HOUSE)
    option = compare(opened).option(MEMBRANE)
    asked = sorted(float(np.max(served.operation.sizing["compressed_air"])) * 60 for served in option.served)
    assert asked[0] < 0.9 * asked[1]
    (said,) = [note for note in option.notes if note.check == "compressed-air capacity"]
    assert said.value == pytest.approx(3.0 + sum(asked[-units:]), rel=1e-12)
