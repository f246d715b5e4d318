"""One machine in every sample climate, from its usual drying temperature to the resin's limit, and to twice the moisture.

Hotter drying and wetter pellets never take less energy at the same airflow. Where the airflow is controlled only wetter ones
must: hotter air gives more heat per kilogram, so that less of it is needed, which saves more than it costs where the air is dear
(compressed air on PMMA in a hot hall: by 5e-5 of itself, as the water's share of the heat falls).
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from test_loads import KINDS, duty_at, variants

from energy import dryers
from energy.plant.climate import sample_names
from energy.resins.properties import load_resin, resin_names

STEPS = np.linspace(0.0, 1.0, 21)[:, None]
LOAD = 0.7


def falls(kind, inputs, resin, climate):
    """By what share of itself the energy bought falls on the way to hotter drying, and to wetter pellets; 0 if never."""
    module, plain = dryers.TYPES[kind], duty_at(resin, climate, LOAD * np.ones(1))
    usual, limit = resin.drying_temperature, resin.drying_temperature_limit or resin.drying_temperature
    water = max(resin.initial_moisture, resin.target_moisture)
    every = np.ones(12)
    assert plain.design is not None
    # The machine is built for the hottest air and the wettest pellets.
    built = replace(plain.design, drying_temperature=limit * np.ones(1), initial_moisture=2.0 * water * np.ones(1))
    plain = replace(plain, design=built, initial_moisture=water * every)
    ways = {
        "hotter": replace(plain, drying_temperature=(usual + STEPS * (limit - usual)) * every),
        "wetter": replace(plain, initial_moisture=(1.0 + STEPS) * water * every),
    }
    found = {}
    for name, duty in ways.items():
        operation = module.Dryer(module.Inputs(**inputs)).run(duty)
        assert np.all(np.abs(operation.residual()) <= 1e-9 * sum(operation.heat_in.values())), (
            f"{kind} {inputs} {climate}"
        )
        # A cooler's fan is left out, as where the load is swept.
        bought = (
            sum(np.asarray(p) for (use, _), p in operation.energy.items() if use != "cooling") + 0.0 * STEPS * every
        )
        found[name] = -min(float((np.diff(bought, axis=0) / bought[1:]).min()), 0.0)
    return found


def problems(kind, inputs, resin, climate):
    found = falls(kind, inputs, resin, climate)
    if inputs.get("airflow_control", "fixed") != "fixed":
        found.pop("hotter")
    return [f"{kind} {inputs} {resin.abbreviation} {climate}: {k} by {v}" for k, v in found.items() if v > 1e-12]


@pytest.mark.parametrize("kind", KINDS)
def test_hotter_and_wetter_never_take_less(kind):
    ways, climates = variants(kind), sample_names()
    found = [
        text
        for i, name in enumerate(resin_names()[KINDS.index(kind) % 6 :: 6])
        for text in problems(kind, ways[i % len(ways)], load_resin(name), climates[i % len(climates)])
    ]
    assert found == []


@pytest.mark.thorough
@pytest.mark.parametrize("kind", KINDS)
def test_hotter_and_wetter_never_take_less_for_all(kind):
    found = [
        text
        for inputs in variants(kind)
        for name in resin_names()
        for climate in sample_names()
        for text in problems(kind, inputs, load_resin(name), climate)
    ]
    assert found == []


def test_hotter_air_of_a_controlled_compressed_air_dryer_may_take_less():
    found = falls("compressed-air", {"airflow_control": "variable speed"}, load_resin("PMMA"), "hot-dry")
    assert 1e-5 < found["hotter"] < 1e-4
    assert found["wetter"] == 0.0
    assert falls("compressed-air", {}, load_resin("PMMA"), "hot-dry") == {"hotter": 0.0, "wetter": 0.0}
