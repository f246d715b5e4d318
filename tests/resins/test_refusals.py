"""What values out of range are told, in whole: the value, its unit, what is allowed and what for; and NaN in its place."""

from __future__ import annotations

import numpy as np
import pytest

from energy.errors import OutOfRangeError
from energy.resins.arrhenius import diffusion_integral
from energy.resins.diffusion import short_cylinder, sphere, time_to_fraction
from energy.resins.hydrolysis import molar_mass_loss
from energy.resins.residence_spread import tanks_in_series
from energy.resins.sorption import dew_point_for_moisture, equilibrium_moisture
from energy.resins.surface_water import surface_drying_time

BODY = "the range of diffusion out of a body"
EVAPORATION = "the range of constant-rate drying (the air must be warmer than its wet bulb)"
REFUSED = [
    (sphere, (-1.0,), f"Fourier number = -1 is outside 0 to inf, {BODY}"),
    (short_cylinder, (-1.0, 1e-3, 3e-3), f"diffusion time = -1 m2 is outside 0 to inf m2, {BODY}"),
    (short_cylinder, (1e-6, 0.0, 3e-3), f"pellet radius = 0 m is outside 1e-09 to inf m, {BODY}"),
    (short_cylinder, (1e-6, 1e-3, 0.0), f"pellet length = 0 m is outside 1e-09 to inf m, {BODY}"),
    (
        lambda fraction, **how: time_to_fraction(sphere, fraction, **how),
        (2.0,),
        "remaining fraction = 2 is outside 1e-30 to 1, the range of time_to_fraction",
    ),
    (
        lambda tanks, **how: tanks_in_series(sphere, 0.1, tanks, **how),
        (0.5,),
        "tanks in series = 0.5 is outside 1 to 1e+09, the range of tanks_in_series",
    ),
    (
        molar_mass_loss,
        (-1.0,),
        "moisture = -1 kg/kg is outside 0 to 1 kg/kg, the range of hydrolysis by dissolved water",
    ),
    (
        molar_mass_loss,
        (5e-5, 0.0),
        "number-average molar mass = 0 kg/mol is outside 0.01801528 to inf kg/mol, the range of a polymer",
    ),
    (
        surface_drying_time,
        (-1.0, 3e-3, 905.0, 353.15, 305.0, 90.0),
        f"surface moisture = -1 kg/kg is outside 0 to inf kg/kg, {EVAPORATION}",
    ),
    (
        surface_drying_time,
        (0.002, 3e-3, 905.0, 300.0, 305.0, 90.0),
        f"air less wet-bulb temperature = -5 K is outside 1e-09 to inf K, {EVAPORATION}",
    ),
    (
        dew_point_for_moisture,
        (0.012, 353.15, 0.006),
        "relative humidity at the target moisture = 2 is outside 0 to 1, the range of air no colder than its dew point",
    ),
]


@pytest.mark.parametrize(("function", "values", "told"), REFUSED)
def test_refusal_in_whole_or_nan(function, values, told):
    with pytest.raises(OutOfRangeError) as refusal:
        function(*values)
    assert str(refusal.value) == told
    assert np.isnan(function(*values, on_range="nan"))


def test_fallen_time_in_whole():
    with pytest.raises(OutOfRangeError) as refusal:
        diffusion_integral([300.0, 310.0], [1.0, 0.0], 1e-11, 300.0, 4e4)
    assert str(refusal.value) == "time step = -1 s is outside 0 to inf s, the range of a history"


def test_temperature_out_of_range_is_told_or_nan():
    for function, values in (
        (equilibrium_moisture, (900.0, 240.0, 0.006)),
        (dew_point_for_moisture, (1e-4, 900.0, 0.006)),
        (surface_drying_time, (0.002, 3e-3, 905.0, 950.0, 900.0, 90.0)),
    ):
        with pytest.raises(OutOfRangeError, match="temperature = 900 K"):
            function(*values)
        assert np.isnan(function(*values, on_range="nan"))


def test_no_value_gives_none():
    assert tanks_in_series(sphere, np.empty(0), np.empty(0)).shape == (0,)
