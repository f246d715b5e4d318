"""What holds for every function of the air: arrays equal scalars, large equal small, out of range is an error or NaN."""

from __future__ import annotations

import inspect

import numpy as np
import pytest
from air_states import ATM, P_ANY, T_ANY, T_DEW, W_ANY

from energy.air import atmosphere, moist, saturation, transport, water_vapour
from energy.errors import OutOfRangeError

FLOW = np.array([0.0, 0.2, 1.0, 2.0, 0.1, 0.3, 5.0])
# Per public function: arguments inside its range, as arrays, and one value outside for each argument.
CASES = {
    saturation.saturation_pressure: ([T_ANY], [480.0]),
    saturation.saturation_pressure_ice: ([T_ANY[:4]], [274.0]),
    saturation.saturation_pressure_water: ([T_ANY[2:]], [260.0]),
    saturation.saturation_temperature: ([np.array([2e-3, 1.0, 611.0, 612.0, 1e4, ATM, 1.5e6])], [1e-3]),
    water_vapour.enhancement_factor: ([T_DEW, P_ANY], [460.0, 9e3]),
    water_vapour.humidity_ratio: ([T_DEW, P_ANY], [400.0, 2e6]),
    water_vapour.dew_point: ([W_ANY, P_ANY], [0.0, 9e3]),
    water_vapour.vapour_pressure: ([W_ANY, P_ANY], [-1e-9, 2e6]),
    water_vapour.relative_humidity: ([T_ANY, T_DEW], [480.0, 100.0]),
    moist.dry_air_enthalpy: ([T_ANY], [580.0]),
    moist.vapour_enthalpy: ([T_ANY], [170.0]),
    moist.enthalpy: ([T_ANY, W_ANY], [170.0, -1e-9]),
    moist.heat_capacity: ([T_ANY, W_ANY], [580.0, 11.0]),
    moist.temperature_from_enthalpy: ([1e5 + 2.5e6 * W_ANY, W_ANY], [1e9, -1e-9]),
    moist.mix: ([FLOW, T_ANY, W_ANY, FLOW[::-1], T_DEW, W_ANY[::-1]], [-1.0, 1.0, 11.0, 2e6, 580.0, -1.0]),
    moist.specific_volume: ([T_ANY, W_ANY, P_ANY], [580.0, -1e-9, 0.0]),
    transport.dynamic_viscosity: ([T_ANY], [580.0]),
    transport.thermal_conductivity: ([T_ANY], [170.0]),
    atmosphere.pressure_at_altitude: ([np.array([-500.0, 0.0, 300.0, 1500.0])], [12000.0]),
}


def test_every_public_function_is_in_the_cases_above():
    public = {
        value
        for module in (atmosphere, moist, saturation, transport, water_vapour)
        for name, value in inspect.getmembers(module, inspect.isfunction)
        if value.__module__ == module.__name__ and not name.startswith("_")
    }
    assert public == set(CASES)


@pytest.mark.parametrize("function", CASES, ids=lambda f: f.__name__)
def test_array_equals_each_scalar_and_leaves_its_inputs_alone(function):
    arguments = CASES[function][0]
    before = [a.copy() for a in arguments]
    for a in arguments:
        a.setflags(write=False)
    result = np.array(function(*arguments))
    one_by_one = np.array([function(*map(float, row)) for row in zip(*arguments, strict=True)])
    # Vectorised and scalar exp and log may differ in the last digit.
    np.testing.assert_allclose(result, np.moveaxis(one_by_one, 0, -1), rtol=1e-12)
    for a, b in zip(arguments, before, strict=True):
        np.testing.assert_array_equal(a, b)


@pytest.mark.parametrize("function", CASES, ids=lambda f: f.__name__)
def test_large_arrays_equal_small_ones(function):
    arguments = CASES[function][0]
    small = np.array(function(*arguments))
    large = np.array(function(*(np.tile(a, (3000, 1)) for a in arguments)))  # more than two blocks, two axes
    np.testing.assert_allclose(large, np.broadcast_to(small[..., None, :], large.shape), rtol=1e-12)


@pytest.mark.parametrize(
    ("function", "position"),
    [pytest.param(f, i, id=f"{f.__name__}-{i}") for f, (a, _) in CASES.items() for i in range(len(a))],
)
def test_out_of_range_is_an_error_or_nan(function, position):
    arguments, outside = CASES[function]
    for bad in (outside[position], np.nan):
        changed = [a.copy() for a in arguments]
        changed[position][1] = bad
        with pytest.raises(OutOfRangeError, match="is outside"):
            function(*changed)
        result = np.array(function(*changed, on_range="nan"))
        kept = np.array(function(*arguments))
        assert np.isnan(result[..., 1]).any()
        np.testing.assert_allclose(np.delete(result, 1, -1), np.delete(kept, 1, -1), rtol=1e-12)


def test_arguments_broadcast_and_may_be_empty():
    assert water_vapour.humidity_ratio(T_DEW[:, None], P_ANY[None, :]).shape == (7, 7)
    assert moist.enthalpy(np.full((20000, 1), 300.0), [0.0, 0.01]).shape == (20000, 2)
    assert water_vapour.dew_point(np.array([]), ATM).shape == (0,)
