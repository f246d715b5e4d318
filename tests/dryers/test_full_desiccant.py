"""Desiccant that cannot hold the water of a cycle: what passes it, and what that does to the air."""

from __future__ import annotations

from dataclasses import replace
from itertools import pairwise

import numpy as np
import pytest
from dryer_duties import duty, run

from energy import dryers
from energy.air import water_vapour
from energy.dryers import circuit_inputs, desiccant_beds
from energy.equipment.desiccant import load_desiccant, loading
from energy.resins.properties import load_resin
from energy.units import SI

CLOSED = [kind for kind, module in dryers.TYPES.items() if issubclass(module.Inputs, circuit_inputs.Inputs)]
LOADS = (1.0, 3.0, 5.0, 7.0, 9.0, 11.0, 13.0)


def cycle(feed, dry, held, bed_use, steps=20_000):
    """Mean humidity behind a bed over one cycle, walked through in time: the front leaves evenly, see `longer_use`."""
    taken, left = 0.0, 0.0
    for _ in range(steps):
        free = max(1.0 - taken / held, 0.0)
        share = 0.0 if taken < bed_use * held else 1.0 - np.sqrt(free / (1.0 - bed_use))
        taken += (1.0 - share) * (feed - dry) / steps
        left += dry + share * (feed - dry)
    return left / steps


@pytest.mark.published(
    "Collins, J. J., Chem. Eng. Prog. Symp. Ser. 63 (1967)",
    where="length of unused bed: the part of a bed that the front leaves free when it reaches the outlet",
    quoted="from memory; the walk through the cycle is the test's own",
)
@pytest.mark.parametrize("bed_use", [0.4, 0.6, 0.9])
@pytest.mark.parametrize("leak", [0.01, 0.1])
@pytest.mark.parametrize("filled", [0.5, 0.8, 0.95, 1.05, 1.3])
def test_what_passes_is_a_walk_through_the_cycle(bed_use, leak, filled):
    desiccant, temperature, pressure, dry = load_desiccant("13x"), 323.15, 101325.0, 2e-5
    asked, residual = 2e-3, 0.03

    def capacity(humidity):
        return loading(water_vapour.vapour_pressure(humidity, pressure), temperature, desiccant) - residual

    mass = asked / filled / capacity(dry + asked)
    inputs = dryers.TYPES["desiccant-twin-tower"].Inputs(bed_use=bed_use)
    found = desiccant_beds.passed(
        inputs,
        np.array(asked),
        np.array(dry),
        np.array(leak),
        np.array(residual),
        np.array(mass),
        np.array(temperature),
        np.array(temperature),
        np.array(pressure),
        desiccant,
    )
    if filled < bed_use:
        assert found == 0.0
        return
    # What passed comes back but for the leak: the walk with that feed lets as much pass.
    feed = dry + asked + (1.0 - leak) * found
    assert cycle(feed, dry, mass * capacity(feed), bed_use) - dry == pytest.approx(found, rel=5e-3, abs=2e-7)


@pytest.mark.parametrize("kind", CLOSED)
def test_no_more_is_taken_up_than_the_desiccant_holds(kind):
    damper = []
    # Nothing known of how fast water leaves it: all of it comes to the desiccant.
    unknown = replace(load_resin("ABS"), diffusivity=None)
    for load in LOADS:
        given = duty(unknown, load=load, stands=True)
        operation = run(kind, given, air_resin_ratio=16.0, leak_share=0.03)
        details, leak = operation.details, 0.03 * operation.air_flow
        hall = water_vapour.humidity_ratio(given.hall_dew_point, given.pressure)
        removed = given.throughput * (given.initial_moisture - given.final_moisture)
        out = leak * (operation.hopper.return_humidity - hall)
        assert details["water_adsorbed"] + out == pytest.approx(removed, rel=1e-9)
        bed = operation.sizing["desiccant"] / {"desiccant-twin-tower": 2, "desiccant-rotating-beds": 4}.get(kind, 1)
        inputs = dryers.TYPES[kind].Inputs()
        mixed = operation.hopper.return_humidity * 0.97 + 0.03 * hall
        vapour = water_vapour.vapour_pressure(mixed, given.pressure)
        holds = loading(vapour, details["adsorption_temperature"], load_desiccant(inputs.desiccant))
        taken = details["water_adsorbed"] * inputs.cycle_time / bed
        assert taken <= (holds - details["residual_loading"]) * (1 + 1e-3)
        assert sum(operation.heat_in.values()) == pytest.approx(sum(operation.heat_out.values()), rel=1e-9)
        damper.append((float(details["desiccant_load"]), float(operation.delivered_dew_point)))
    filled, dew_points = zip(*damper, strict=True)
    bed_use = dryers.TYPES[kind].Inputs().bed_use
    assert all(a < b for a, b in pairwise(filled))
    assert filled[0] < bed_use < bed_use + 0.2 < filled[-1]
    passing = [dew_point for load, dew_point in damper if load > bed_use + 0.1]
    assert all(b > a + 1.0 for a, b in pairwise(passing))
    assert dew_points[-1] > dew_points[0] + 10.0


def test_no_circuit_is_damper_than_nearly_saturated_where_it_is_coldest():
    """Spent desiccant and much water: what passes is what the coldest place still carries, less what comes besides."""
    dry, asked, leak, coldest, pressure = 2e-5, 8e-3, 0.02, 288.15, 101325.0
    found = desiccant_beds.passed(
        dryers.TYPES["desiccant-twin-tower"].Inputs(),
        *(np.array(v) for v in (asked, dry, leak, 0.03, 1e-6, 323.15, coldest, pressure)),
        load_desiccant("13x"),
    )
    # Saturated at 15 degC: 1,706 Pa (steam tables) times 1.004 in air (enhancement, ASHRAE), 10.7 g/kg; 98 % of it less 0.02 and 8 / 0.98.
    vapour = 1.004 * 1706.0
    saturated = 0.621945 * vapour / (pressure - vapour)
    assert found == pytest.approx(0.98 * saturated - dry - asked / 0.98, rel=0.01)


def test_beds_are_sized_for_the_hall_that_is_asked_for_or_the_damper_month_of_new_dryers():
    inputs = dryers.TYPES["desiccant-twin-tower"].Inputs(design_hall_dew_point=SI(290.15))
    damp = duty(hall_dew_point=np.array(297.15))
    assert desiccant_beds.design_hall(inputs, damp) == 297.15
    assert desiccant_beds.design_hall(inputs, replace(damp, stands=True)) == 290.15
    assert desiccant_beds.design_hall(inputs, duty(hall_dew_point=np.array(280.15))) == 290.15
