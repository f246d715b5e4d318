"""Every resin in every dryer type in every sample climate from a third to a little more than full load.

Energy and predicted moisture go up with the load, without a jump: a step that is much greater than those on either side
of it would be one. Where a state of the machine changes there is a bend, and no jump.
"""

from __future__ import annotations

import numpy as np
import pytest

from energy import dryers
from energy.air import moist
from energy.dryers.base import CompressedAir, Duty
from energy.errors import ModelError
from energy.plant.climate import sample_climate, sample_names
from energy.resins.properties import load_resin, resin_names
from energy.study import verdict

LOADS = np.linspace(0.3, 1.1, 641)
FULL = 80.0 / 3600.0  # kg/s
PRESSURE = 101325.0
ROUNDING = 1e-9
AIR = CompressedAir(
    pressure=np.array(PRESSURE + 7e5),
    pressure_dew_point=np.array(276.15),
    marginal_power=np.array(400e3),
    line_leak_share=np.array(0.05),
)


def duty(resin, climate, loads):
    """At loads (n, 1) in twelve months; built for full load in the coldest and dampest of them."""

    def at(throughput, hall, dew_point):
        return {
            "throughput": throughput,
            "resin_temperature": hall,
            "hall_temperature": hall,
            "hall_dew_point": dew_point,
        }

    common = {
        "resin": resin,
        "design_throughput": np.array(FULL),
        "drying_temperature": np.array(resin.drying_temperature),
        "residence_time": np.array(resin.residence_time),
        "initial_moisture": np.array(resin.initial_moisture),
        "final_moisture": np.array(resin.target_moisture),
        "pressure": np.array(PRESSURE),
        "coolant_temperature": np.array(293.15),
        "compressed_air": AIR,
    }
    cold, damp = climate.hall_temperature.min(), climate.hall_dew_point.max()
    built = Duty(**common, **at(np.array(FULL), np.array(cold), np.array(min(cold, damp))))
    now = at(FULL * loads[:, None], climate.hall_temperature, climate.hall_dew_point)
    return Duty(**common, **now, design=built)


def answer(kind, resin, climate):
    """Loads with an answer, the operation on them, the duty and the inputs; none where no load has one."""
    module = dryers.TYPES[kind]
    inputs = module.Inputs()
    for most in (1.1, 1.0, 0.9):
        given = duty(resin, climate, LOADS[most + 1e-9 >= LOADS])
        try:
            return LOADS[most + 1e-9 >= LOADS], module.Dryer(inputs).run(given), given, inputs
        except ModelError:
            continue
    return None


def jumps(values):
    """Loads, by number, at which a step is much greater than those around it, and the greatest step back."""
    step = np.diff(values, axis=0)
    size = np.abs(step)
    around = np.maximum(np.maximum(size[:-4], size[1:-3]), np.maximum(size[3:-1], size[4:]))
    scale = np.abs(values).max(axis=0)
    sudden = size[2:-2] > 1.5 * around + 1e-5 * scale
    return sorted({int(i) + 2 for i in np.argwhere(sudden)[:, 0]}), float(
        -(step / np.where(scale > 0, scale, 1.0)).min()
    )


def look(kind, name, climate):
    """What is wrong with a type and a resin in a climate, in words; None where it has no answer at all."""
    resin = load_resin(name)
    found = answer(kind, resin, sample_climate(climate))
    if found is None:
        return None
    loads, operation, given, inputs = found
    wrong = []
    bought = sum(
        power + 0.0 * given.throughput for (_, carrier), power in operation.energy.items() if carrier != "cooling"
    )
    supplied = sum(np.abs(power) for power in operation.heat_in.values())
    if not np.all(np.abs(operation.residual()) <= ROUNDING * supplied):
        wrong.append(f"balance off by {np.max(np.abs(operation.residual()) / supplied):.1e}")
    told = {"energy": bought, "peak": operation.peak_electricity() + 0.0 * given.throughput}
    if resin.hygroscopic and resin.diffusivity_temperature is not None:
        told["moisture"] = verdict.remaining_moisture(
            given, operation, resin.diffusivity, verdict.tanks_of(inputs.hopper_flow)
        )
    for what, values in told.items():
        sudden, back = jumps(values)
        if sudden:
            wrong.append(f"{what} jumps at loads {', '.join(f'{loads[i]:.4f}' for i in sudden[:4])}")
        if back > 1e-9:
            wrong.append(f"{what} falls by {back:.1e} in a step")
    return wrong


SOME = ("PC", "PET", "ABS", "PP")


@pytest.mark.parametrize("kind", list(dryers.TYPES))
def test_some_resins_have_no_jump(kind):
    assert {name: look(kind, name, "temperate") or [] for name in SOME} == {name: [] for name in SOME}


@pytest.mark.thorough
@pytest.mark.parametrize("climate", sample_names())
@pytest.mark.parametrize("kind", list(dryers.TYPES))
def test_no_resin_has_a_jump(kind, climate):
    found = {name: look(kind, name, climate) for name in resin_names()}
    assert {name: wrong for name, wrong in found.items() if wrong} == {}
    assert sum(wrong is None for wrong in found.values()) <= 0.1 * len(found)


def test_a_jump_and_a_step_back_would_be_seen():
    smooth, back = jumps(LOADS[:, None] ** 2)
    assert smooth == []
    assert back < 0.0
    bend = np.maximum(LOADS, 0.7)[:, None]
    assert jumps(bend)[0] == []
    assert jumps(bend + 1e-2 * (LOADS > 0.9)[:, None])[0] == [int(np.argmax(LOADS > 0.9)) - 1]
    assert jumps(-LOADS[:, None])[1] > 0.0


def test_the_hall_of_a_climate_is_no_wetter_than_saturated():
    for name in sample_names():
        climate = sample_climate(name)
        assert np.all(moist.humidity_ratio(climate.hall_dew_point, PRESSURE) > 0.0)
        assert np.all(climate.hall_dew_point <= climate.hall_temperature)
