"""Every dryer on every resin in every sample climate, at many loads at once: balances, jumps, monotony.

Dryers, climates and properties are piecewise smooth in the load: they may bend where something starts or ends (the cooler, the
least airflow, the blower's full speed), but nothing may jump. A step that stands out between its neighbours is looked at closely:
if the curve only bends there, the step falls apart into many small ones; a jump stays whole.
"""

from __future__ import annotations

from dataclasses import replace
from itertools import product

import numpy as np
import pytest

from energy import dryers
from energy.dryers import circuit_inputs
from energy.dryers.base import BlowerInputs, CompressedAir, Duty
from energy.dryers.way_through_hopper import tanks_of
from energy.plant.climate import sample_climate, sample_names
from energy.resins.properties import load_resin, resin_names
from energy.study import predicted_moisture
from energy.study.duty import with_design
from energy.units import SI

KINDS = list(dryers.TYPES)
LOADS = np.linspace(0.30, 1.10, 81)
DESIGN = 100.0 / 3600.0
CLOSER = 32  # parts that a step is cut into
STANDS_OUT = 1.5  # times the steps beside it
WHOLE = 0.5  # of the way between its ends: a step that stays so large among the parts is a jump
FINE = 1e-6  # of the largest value: smaller steps than this are no jumps to anybody
FINE_DEW_POINT = 0.05  # K, a tenth of what a dew-point meter tells; a step of 0.01 K is known where a throttled dryer's cooler starts


def variants(kind):
    """Ways to run a type: as it is, with the airflow following the load, and the circuit's own choices."""
    own = [{}]
    inputs = dryers.TYPES[kind].Inputs
    if issubclass(inputs, BlowerInputs):
        own += [{"airflow_control": "variable speed"}, {"airflow_control": "throttled"}]
    if issubclass(inputs, circuit_inputs.Inputs):
        own += [
            {"regeneration_control": "timer"},
            {"regeneration_control": "dew point", "cooler": "hall air"},
            {"regeneration_control": "dew point", "dew_point_set_point": SI(243.15)},
            {"return_recovery": 0.5, "regeneration_recovery": 0.4},
        ]
    return own


def duty_at(resin, climate, loads):
    """A year of one machine built for 100 kg/h, shape (loads, 12)."""
    air, every = sample_climate(climate), np.ones(12)
    built = Duty(
        resin=resin,
        throughput=DESIGN * every,
        design_throughput=DESIGN * every,
        drying_temperature=resin.drying_temperature * every,
        residence_time=resin.residence_time * every,
        resin_temperature=air.hall_temperature,
        initial_moisture=resin.initial_moisture * every,
        final_moisture=resin.target_moisture * every,
        hall_temperature=air.hall_temperature,
        hall_dew_point=air.hall_dew_point,
        pressure=101325.0 * every,
        coolant_temperature=np.minimum(air.hall_temperature, 293.15),
        compressed_air=CompressedAir(
            pressure=np.array(8e5),
            pressure_dew_point=np.array(276.15),
            marginal_power=np.array(400e3),
            line_leak_share=np.array(0.05),
        ),
    )
    return replace(with_design(built), throughput=np.asarray(loads)[:, None] * DESIGN * every)


def curves(kind, inputs, resin, climate, loads):
    """The operation, and what must not jump: power bought by use, its peak, dew point and moisture, shape (loads, 12)."""
    module = dryers.TYPES[kind]
    made, duty = module.Inputs(**inputs), duty_at(resin, climate, loads)
    operation = module.Dryer(made).run(duty)
    found = {f"{use}, {carrier}": p for (use, carrier), p in operation.energy.items()}
    found |= {f"peak of {use}, {carrier}": p for (use, carrier), p in operation.peak.items()}
    found["dew point"] = operation.delivered_dew_point
    if resin.hygroscopic and resin.diffusivity is not None:
        tanks = tanks_of(made.hopper_flow)
        found["moisture"] = predicted_moisture.remaining_moisture(duty, operation, resin.diffusivity, tanks)
    return duty, operation, {name: np.broadcast_to(v, duty.throughput.shape) for name, v in found.items()}


def least_jump(name, values):
    """In the unit of the curve."""
    return FINE_DEW_POINT if name == "dew point" else FINE * np.abs(values).max()


def standing_out(values, least):
    """Places (step, month) of the steps much larger than those on both sides."""
    step = np.abs(np.diff(values, axis=0))
    beside = np.maximum(step[:-2], step[2:])
    out = step[1:-1] > STANDS_OUT * beside + least
    return [(step + 1, month) for step, month in np.argwhere(out)]


def jumps(at, loads):
    """Where curves jump: name, load and both values; ``at`` gives the curves at loads."""
    found, closer = [], {}
    for name, values in at(loads).items():
        for step, month in standing_out(values, least_jump(name, values)):
            if step not in closer:
                closer[step] = at(np.linspace(loads[step], loads[step + 1], CLOSER + 1))
            part = closer[step][name][:, month]
            parts = np.abs(np.diff(part))
            if parts.max() > WHOLE * np.ptp(part) and parts.max() > least_jump(name, values):
                where = int(parts.argmax())
                # A steep stretch shorter than a part, as where an airflow comes to its design, parts again; a jump does not.
                edges = np.linspace(loads[step], loads[step + 1], CLOSER + 1)[where : where + 2]
                again = at(np.linspace(*edges, CLOSER + 1))[name][:, month]
                if np.abs(np.diff(again)).max() > WHOLE * np.ptp(again):
                    found.append(
                        f"{name} at load {loads[step]:.3f}, month {month + 1}: {part[where]} to {part[where + 1]}"
                    )
    return found


def problems(kind, inputs, resin, climate, loads=LOADS):
    """All that is wrong with a machine at these loads, in words."""
    duty, operation, values = curves(kind, inputs, resin, climate, loads)
    found = []
    supplied = sum(operation.heat_in.values())
    open_by = np.max(np.abs(operation.residual()) / supplied)
    if not open_by <= 1e-9:
        found.append(f"heat balance open by {open_by}")
    if any(not np.isfinite(v).all() for v in values.values()):
        found.append("values that are no numbers")
    # A cooler's fan is left out: air that comes back colder, having heated more resin, leaves it less to do.
    bought = sum(np.asarray(p) for (use, _), p in operation.energy.items() if use != "cooling") + 0.0 * duty.throughput
    falls = np.diff(bought, axis=0) / bought[1:]
    if falls.min() < -1e-12:
        found.append(f"more resin takes less: {falls.min()} at load {loads[np.argmin(falls.min(axis=1))]:.3f}")
    if "moisture" in values:
        # A bed that the load keeps colder delivers drier air, so the floor itself may fall: what is left above it may not.
        floor = predicted_moisture.floor_moisture(duty, operation)
        above = (values["moisture"] - floor) / (duty.initial_moisture - floor)
        if np.diff(above, axis=0).min() < -1e-9:
            found.append(f"more resin leaves drier: {np.diff(above, axis=0).min()} of the water above the floor")
    found += jumps(lambda at: curves(kind, inputs, resin, climate, at)[2], loads)
    return [f"{kind} {inputs} {resin.abbreviation} {climate}: {text}" for text in found]


def sample(kind):
    """A part of all: every resin with every third type, variants and climates in turn."""
    ways, climates = variants(kind), sample_names()
    for i, name in enumerate(resin_names()):
        turn = i + KINDS.index(kind)
        if turn % 3 == 0:
            yield ways[i % len(ways)], load_resin(name), climates[turn // 3 % len(climates)]


@pytest.mark.parametrize("kind", KINDS)
def test_balances_close_and_nothing_jumps_with_the_load(kind):
    assert [text for given in sample(kind) for text in problems(kind, *given, loads=LOADS[::2])] == []


@pytest.mark.thorough
@pytest.mark.parametrize("climate", sample_names())
@pytest.mark.parametrize("kind", KINDS)
def test_balances_close_and_nothing_jumps_with_the_load_for_all(kind, climate):
    found = [
        text
        for inputs, name in product(variants(kind), resin_names())
        for text in problems(kind, inputs, load_resin(name), climate)
    ]
    assert found == []


def test_a_jump_is_told_from_a_bend():
    bend = {
        "x": lambda load: np.maximum(load - 0.613, 0.0) * 100.0,
        "y": lambda load: np.clip(50 * (load - 0.6), 0, 0.4),
    }
    assert jumps(lambda at: {name: f(at)[:, None] for name, f in bend.items()}, LOADS) == []
    told = jumps(lambda at: {"x": (at + 1e-3 * (at > 0.613))[:, None]}, LOADS)
    assert told == []  # a tenth of the steps beside it: too small to be seen at this spacing
    told = jumps(lambda at: {"x": (at + 0.02 * (at > 0.613))[:, None]}, LOADS)
    assert len(told) == 1
    assert "x at load 0.610, month 1" in told[0]
