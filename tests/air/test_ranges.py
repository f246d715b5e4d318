"""What each function of the air says of its range: both ends are allowed, a step beyond is refused by name, unit and source."""

from __future__ import annotations

import numpy as np
import pytest

from energy.air import atmosphere, compression, moist, saturation, transport, water_vapour
from energy.errors import OutOfRangeError

EQUATIONS = "ASHRAE Fundamentals 2017 eqs 5 and 6"
ENHANCEMENT = "the enhancement factor (real-gas moist air, ASHRAE RP-1485)"
DRY_AIR = "the fits of dry-air properties (-100 to 300 degC)"
HUMID_AIR = "moist air (ASHRAE RP-1485)"
IDEAL = "the ideal-gas compression formulas"

# Function, other arguments by name, the argument, its name in the message, ends as documented, unit, source.
RANGES = [
    (saturation.saturation_pressure_ice, {}, "temperature", "temperature", 173.15, 273.16, "K", "ASHRAE Fundamentals 2017 eq. 5"),
    (saturation.saturation_pressure_water, {}, "temperature", "temperature", 273.15, 473.15, "K", "ASHRAE Fundamentals 2017 eq. 6"),
    (saturation.saturation_pressure, {}, "temperature", "temperature", 173.15, 473.15, "K", EQUATIONS),
    (saturation.saturation_temperature, {}, "vapour_pressure", "vapour pressure", 0.0014051021, 1555073.8, "Pa", EQUATIONS),
    (water_vapour.enhancement_factor, {"pressure": 1.6e6}, "temperature", "temperature", 173.15, 453.15, "K", ENHANCEMENT),
    (water_vapour.enhancement_factor, {"temperature": 280.0}, "pressure", "pressure", 1e4, 1.6e6, "Pa", "moist air here"),
    (water_vapour.humidity_ratio, {"pressure": 1.6e6}, "dew_point", "dew point", 173.15, 453.15, "K", ENHANCEMENT),
    (water_vapour.vapour_pressure, {"pressure": 1e5}, "humidity_ratio", "humidity ratio", 0.0, 10.0, "kg/kg", HUMID_AIR),
    (water_vapour.relative_humidity, {"dew_point": 280.0}, "temperature", "temperature", 173.15, 473.15, "K", EQUATIONS),
    (water_vapour.relative_humidity, {"temperature": 400.0}, "dew_point", "dew point", 173.15, 473.15, "K", EQUATIONS),
    (moist.dry_air_enthalpy, {}, "temperature", "temperature", 173.15, 573.15, "K", DRY_AIR),
    (moist.enthalpy, {"humidity_ratio": 0.01}, "temperature", "temperature", 173.15, 573.15, "K", DRY_AIR),
    (moist.enthalpy, {"temperature": 300.0}, "humidity_ratio", "humidity ratio", 0.0, 10.0, "kg/kg", HUMID_AIR),
    (transport.dynamic_viscosity, {}, "temperature", "temperature", 173.15, 573.15, "K", DRY_AIR),
    (transport.thermal_conductivity, {}, "temperature", "temperature", 173.15, 573.15, "K", DRY_AIR),
    (atmosphere.pressure_at_altitude, {}, "altitude", "altitude", -5000.0, 11000.0, "m", "ASHRAE Fundamentals 2017 eq. 3"),
    (compression.isothermal_work, {"outlet_pressure": 1e7}, "inlet_pressure", "inlet pressure", 1e3, 1e7, "Pa", None),
    (compression.isothermal_work, {"inlet_pressure": 1.0}, "outlet_pressure", "outlet pressure", 1.0, 1e4, "Pa", None),
]  # fmt: skip


def ident(row):
    return f"{row[0].__name__}-{row[2]}"


@pytest.mark.parametrize("row", RANGES, ids=ident)
def test_both_ends_are_allowed(row):
    function, others, argument, _, low, high, _, _ = row
    for value in (low, high):
        assert np.isfinite(function(**others, **{argument: value})), value


@pytest.mark.parametrize("row", [row for row in RANGES if row[-1]], ids=ident)
def test_beyond_either_end_is_refused_by_name_unit_and_source(row):
    function, others, argument, name, low, high, unit, source = row
    step = 1e-6 * (high - low)
    for value in (low - step, high + step):
        with pytest.raises(OutOfRangeError) as refused:
            function(**others, **{argument: value})
        said = str(refused.value)
        assert said.startswith(f"{name} = {value:.9g} {unit} is outside {low:.9g} to {high:.9g} {unit}, "), said
        assert said.endswith(f"the range of {source}"), said


@pytest.mark.parametrize(
    ("call", "words"),
    [
        (lambda: compression.isothermal_work(0.5, 1e5), f"inlet pressure = 0.5 Pa is outside 1 to 10000000 Pa, the range of {IDEAL}"),
        (lambda: compression.isothermal_work(1e5, 2e7), f"outlet pressure = 20000000 Pa is outside 1 to 10000000 Pa, the range of {IDEAL}"),
        (lambda: compression.isothermal_work(2e5, 1e5), f"outlet pressure / inlet pressure = 0.5 is outside 1 to 10000, the range of {IDEAL}"),
        (lambda: compression.staged_work(1e5, 8e5, 11), f"number of stages = 11 is outside 1 to 10, the range of {IDEAL}"),
        (
            lambda: compression.isentropic_outlet_temperature(173.0, 1e5, 8e5),
            f"inlet temperature = 173 K is outside 173.15 to 523.15 K, the range of {IDEAL}",
        ),
        (
            lambda: moist.mix(-1.0, 300.0, 0.01, 1.0, 300.0, 0.01),
            "flow 1 = -1 kg/s is outside 0 to 1000000 kg/s, the range of mixing",
        ),
        (
            lambda: moist.mix(1.0, 300.0, 0.01, -1.0, 300.0, 0.01),
            "flow 2 = -1 kg/s is outside 0 to 1000000 kg/s, the range of mixing",
        ),
        (
            lambda: moist.mix(0.0, 300.0, 0.01, 0.0, 300.0, 0.01),
            "flow 1 + flow 2 = 0 kg/s is outside 1e-12 to 2000000 kg/s, the range of mixing",
        ),
    ],
)  # fmt: skip
def test_the_argument_that_cannot_be_is_named(call, words):
    with pytest.raises(OutOfRangeError) as refused:
        call()
    assert str(refused.value) == words


def test_air_cannot_be_saturated_beyond_its_pressure():
    assert water_vapour.enhancement_factor(372.0, 101325.0) > 1.0
    with pytest.raises(OutOfRangeError, match=r"^saturation pressure / pressure = 1\.0"):
        water_vapour.enhancement_factor(374.0, 101325.0)
    found = water_vapour.enhancement_factor([372.0, 374.0], 101325.0, on_range="nan")
    assert np.isfinite(found[0])
    assert np.isnan(found[1])
