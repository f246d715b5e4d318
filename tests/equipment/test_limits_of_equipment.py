"""The ends of what equipment is described for."""

from __future__ import annotations

import pytest

from energy.equipment import blower, compressor, cooler
from energy.errors import ModelError, OutOfRangeError


@pytest.mark.published(
    "IEC 60034-30-1:2014", where="4 poles, 50 Hz, 0.12 kW: 64.8 % in IE3, 69.8 % in IE4", quoted="from memory"
)
@pytest.mark.parametrize(("name", "percent"), [("IE3", 64.8), ("IE4", 69.8)])
def test_the_smallest_motor_of_the_standard_is_built_in_below_it(name, percent):
    for power in (0.0, 60.0, 120.0):
        assert blower.motor_efficiency(power, name) == pytest.approx(percent / 100.0, rel=1e-12)
    assert blower.motor_efficiency(125.0, name) > percent / 100.0


def test_the_standard_ends_at_1000_kilowatts():
    assert blower.motor_efficiency(1000e3, "IE3") == blower.motor_efficiency(200e3, "IE3")
    with pytest.raises(OutOfRangeError, match="above 1000 kW"):
        blower.motor_efficiency(1000.5e3, "IE3")


def test_air_charged_at_full_load_takes_nothing_when_none_is_used():
    assert compressor.idle_share("full load") == (0.0, 0.0, 0.0)
    assert compressor.house_power(0.0, 0.2, 400e3, "full load") == 0.0
    assert compressor.house_power(0.05, 0.2, 400e3, "full load") == pytest.approx(0.05 * 400e3)


def test_a_refrigerator_without_a_lift_is_refused():
    with pytest.raises(ModelError, match="not above"):
        cooler.carnot_coefficient(290.0, 290.0)
    assert cooler.carnot_coefficient(280.0, 290.0) == pytest.approx(28.0)
