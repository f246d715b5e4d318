"""Parts of a desiccant circuit worked out by hand: return ducts, conveying, leakage, the regeneration blower, its terms."""

from __future__ import annotations

import numpy as np
import pytest
from dryer_duties import duty, run

from energy import dryers
from energy.air import moist, water_vapour
from energy.dryers import closed_loop
from energy.dryers.closed_loop import Distribution
from energy.equipment import blower

WHEEL = dryers.TYPES["desiccant-wheel"].Inputs
CLOSED = ("desiccant-twin-tower", "desiccant-rotating-beds", "desiccant-wheel")


def circuit(ducts=None, given=None, **inputs):
    return closed_loop.run_circuit(WHEEL(**inputs), (given or duty("PET"),), ducts or Distribution())


def test_return_ducts_lose_what_they_are_hotter_than_the_hall():
    """20 W/K on the way from the hopper: the air loses 20 times what it is still hotter behind them, by one capacity flow."""
    bare, ducts = circuit(), circuit(Distribution(return_conductance=20.0))
    hall = float(duty("PET").hall_temperature)
    back = float(bare.hopper.return_temperature)
    capacity = float(bare.air_flow) * float(moist.heat_capacity(back, bare.hopper.return_humidity))
    # Heat lost from air that cools on its way as in a heat exchanger against the hall.
    lost = capacity * (back - hall) * -np.expm1(-20.0 / capacity)
    told = float(ducts.heat_out["shell and ducts"] - bare.heat_out["shell and ducts"])
    assert told == pytest.approx(lost, rel=0.01)


@pytest.mark.parametrize("load", [1.0, 0.5])
def test_conveying_is_its_work_on_what_is_dried(load):
    found = circuit(Distribution(conveying_work=9000.0), duty("PET", load=load))
    power = 9000.0 * load * 90.0 / 3600.0
    assert float(found.energy["conveying", "electricity"]) == pytest.approx(power)
    assert float(found.heat_in["conveying"]) == float(found.heat_out["conveying"]) == pytest.approx(power)
    assert ("conveying", "electricity") not in circuit().energy


@pytest.mark.parametrize("kind", CLOSED)
def test_terms_are_the_powers_that_are_bought(kind):
    found = run(kind, duty("PET"))
    names = {
        "process heater": ("process heat", "electricity"),
        "regeneration heater": ("regeneration", "electricity"),
        "process blower": ("process blower", "electricity"),
        "regeneration blower": ("regeneration blower", "electricity"),
        "controls": ("controls", "electricity"),
    }
    assert {*found.heat_in} == {*names}
    for name, key in names.items():
        assert float(found.heat_in[name]) == pytest.approx(float(found.energy[key]), rel=1e-12)
    assert {"evaporated water", "regeneration casing", "leakage air", "regeneration exhaust"} <= {*found.heat_out}


@pytest.mark.parametrize("kind", CLOSED)
def test_a_better_motor_takes_less_for_the_regeneration_blower(kind):
    """IEC 60034-30-1: IE4 loses about half of what IE1 does; the shaft power is the same."""
    worst, best = (run(kind, duty("PET"), motor_class=c) for c in ("IE1", "IE4"))
    electric = [float(o.energy["regeneration blower", "electricity"]) for o in (worst, best)]
    assert electric[1] < electric[0]
    lost = [float(o.heat_out["motor and drive losses"]) for o in (worst, best)]
    # What both motors save is what less is bought for them.
    process = [float(o.energy["process blower", "electricity"]) for o in (worst, best)]
    assert lost[0] - lost[1] == pytest.approx(electric[0] - electric[1] + process[0] - process[1], rel=1e-6)
    assert float(blower.motor_efficiency(500.0, "IE4")) > float(blower.motor_efficiency(500.0, "IE1"))


def test_leaking_air_is_hall_air_that_takes_the_place_of_what_comes_back():
    """By hand: what leaks comes with the hall's heat and leaves with that of the return air, its vapour apart."""
    given = duty("PET")
    found = circuit(given=given, leak_share=0.03)
    leak = 0.03 * float(found.air_flow)
    hall = float(water_vapour.humidity_ratio(given.hall_dew_point, given.pressure))
    back, humidity = float(found.hopper.return_temperature), float(found.hopper.return_humidity)
    dry = leak * (float(moist.enthalpy(back, humidity)) - float(moist.enthalpy(given.hall_temperature, hall)))
    # Its vapour is counted with the water: at the hall's temperature.
    vapour = leak * (humidity - hall) * float(moist.vapour_enthalpy(given.hall_temperature))
    assert float(found.heat_out["leakage air"]) == pytest.approx(dry - vapour, rel=0.02)


def test_a_dew_point_that_is_held_is_what_is_delivered():
    given = duty("PET", load=0.5)
    held = circuit(given=given, regeneration_control="dew point", dew_point_set_point="-30 degC")
    free = circuit(given=given)
    assert float(held.delivered_dew_point) == pytest.approx(243.15, abs=0.1)
    assert float(free.delivered_dew_point) < 240.0
    regeneration = [float(o.energy["regeneration", "electricity"]) for o in (held, free)]
    assert regeneration[0] <= regeneration[1]
