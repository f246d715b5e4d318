"""What the cooler takes: cooler and blower both stand before the desiccant."""

from __future__ import annotations

import pytest
from dryer_read import HOPPER, shop, there

from energy.study.readings import Readings
from energy.walkthrough.balance import balance

READ = (
    *("throughput", "process_temperature", "return_temperature", "hall_temperature", "dew_point", "air_flow"),
    *("desiccant_inlet_temperature", "blower_pressure"),
)


def taken(told):
    return next(term for term in told.circuit if term.name == "taken by the cooler")


@pytest.mark.common_practice(
    "conservation: air is as hot into the desiccant as return air, hall air, cooler and blower make it"
)
@pytest.mark.parametrize("inputs", [{}, {"leak_share": 0.0}, {"return_recovery": 0.3}])
def test_what_is_read_at_a_dryer_gives_what_its_cooler_takes(inputs):
    truth = there(shop(**inputs))
    found = taken(balance(shop(**inputs), truth.read(READ)))
    # Moist air carries a per cent or two more than the dry air that the sum is made with.
    assert found.value == pytest.approx(float(truth.operation.heat_out["aftercooler"][0]), rel=0.05)


@pytest.mark.common_practice("arithmetic by hand")
def test_air_into_the_desiccant_hotter_than_return_air_is_the_blowers_heat_and_no_negative_cooling():
    """Of 60 degC to 62 degC: all that the cooler takes is the blower's heat, about 0.85 of its electricity, less that of 2 K in the air."""
    told = balance(
        shop(leak_share=0.0),
        Readings(
            hopper=HOPPER,
            throughput="90 kg/h",
            return_temperature="60 degC",
            desiccant_inlet_temperature="62 degC",
            hall_temperature="24 degC",
        ),
    )
    blower, flow = (told.quantities[name].value for name in ("process blower", "air_flow"))
    by_hand = 0.85 * blower - flow * 1008.0 * 2.0
    assert by_hand > 0.0
    assert taken(told).value == pytest.approx(by_hand, rel=0.15)
    # The blower was not read: its power is known to a half, and so is what it gives the air.
    assert taken(told).uncertainty >= 0.8 * 0.5 * blower / 3.0**0.5


@pytest.mark.common_practice("one more reading cannot tell less")
def test_reading_the_air_into_the_desiccant_makes_it_surer():
    truth = there(shop())
    without = [name for name in READ if name != "desiccant_inlet_temperature"]
    sure, unsure = (taken(balance(shop(), truth.read(names))).uncertainty for names in (READ, without))
    assert sure < unsure


@pytest.mark.common_practice("nothing is concluded from a reading to be checked")
def test_a_dew_point_that_does_not_fit_tells_of_no_leak():
    """Return air of 66 degC that goes on at 50 degC in a hall of 24 degC leaves no room for the four fifths of a dew point of 8 degC."""
    read = {
        "throughput": "90 kg/h",
        "process_temperature": "120 degC",
        "return_temperature": "66 degC",
        "desiccant_inlet_temperature": "50 degC",
        "hall_temperature": "24 degC",
        "hall_dew_point": "11 degC",
        "dew_point": "-40 degC",
    }
    without, beside = (
        taken(balance(shop(), Readings(hopper=HOPPER, **read, **more))) for more in ({}, {"return_dew_point": "8 degC"})
    )
    assert beside.value == pytest.approx(without.value, rel=1e-6)
