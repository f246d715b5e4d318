"""Hot air from outdoors in place of hall air."""

from __future__ import annotations

import numpy as np
import pytest
from dryer_duties import duty

from energy import dryers
from energy.air import moist, water_vapour
from energy.equipment.building import Building
from energy.units import SI

COLD, FROST = np.array(268.15), np.array(265.15)


def run(given, **inputs):
    return dryers.TYPES["hot-air"].Dryer(dryers.TYPES["hot-air"].Inputs(**inputs)).run(given)


def outdoors(resin="ABS", temperature=COLD, dew_point=FROST, **more):
    return duty(resin, outdoor_temperature=temperature, outdoor_dew_point=dew_point, **more)


def test_cold_air_takes_what_warms_it_to_the_hall_more():
    """By hand: dry air of 20 and of -5 degC, the same mass, 25 K of about 1.006 kJ/(kg K); a perfect heater."""
    ideal = {"heater_efficiency": 1.0, "duct_length": SI(0.0)}
    given = outdoors()
    hall, out = (run(given, intake=kind, **ideal) for kind in ("hall", "outdoors"))
    flow = float(hall.air_flow)
    assert float(out.air_flow) == pytest.approx(flow, rel=1e-9)
    lift = float(given.hall_temperature) - float(COLD)
    more = float(out.energy["process heat", "electricity"] - hall.energy["process heat", "electricity"])
    # Less blower heat, since cold air is thinner work; humidity differs a little.
    blower = float(out.heat_in["process blower"] - hall.heat_in["process blower"])
    assert more + blower == pytest.approx(flow * 1006.0 * lift, rel=0.03)
    assert float(out.heat_out["outdoor air warmed"]) == pytest.approx(flow * 1006.0 * lift, rel=0.02)


@pytest.mark.parametrize("recovery", [0.0, 0.7])
@pytest.mark.parametrize("temperature", [248.15, 268.15, 293.15, 308.15])
def test_the_balance_closes_whatever_the_air_outdoors(temperature, recovery):
    found = run(
        outdoors(temperature=np.array(temperature), dew_point=np.array(min(temperature, 285.15))),
        intake="outdoors",
        exhaust_recovery=recovery,
    )
    supplied, left = sum(found.heat_in.values()), sum(found.heat_out.values())
    assert float(left) == pytest.approx(float(supplied), rel=1e-9)
    assert all(float(np.min(v)) >= 0.0 for v in (*found.heat_in.values(), *found.heat_out.values()))
    # The first law to the digit: air in to air out.
    humidity = water_vapour.humidity_ratio(min(temperature, 285.15), 101325.0)
    through = moist.enthalpy(found.hopper.return_temperature, found.hopper.return_humidity) - moist.enthalpy(
        temperature, humidity
    )
    known = ("resin", "shell and ducts", "motor and drive losses", "controls", "heater losses", "evaporated water")
    others = sum(float(found.heat_out[key]) for key in known)
    vapour = float(found.hopper.water_removed * moist.vapour_enthalpy(outdoors().hall_temperature))
    by_hand = others + float(found.air_flow * through) - vapour - float(found.details["heat_recovered"])
    powers = sum(float(v) for key, v in found.heat_in.items() if key != "warm outdoor air")
    assert by_hand == pytest.approx(powers, rel=1e-9)


def test_the_hall_has_only_what_the_exhaust_is_warmer_than_it():
    found = run(outdoors(), intake="outdoors")
    inside = Building(process_exhaust="hall").places(found.heat_out)
    same = run(duty("ABS"), intake="hall")
    of_hall = Building(process_exhaust="hall").places(same.heat_out)
    assert float(inside["hall"]) == pytest.approx(float(of_hall["hall"]), rel=0.05)
    assert float(inside["outside"]) > float(of_hall["outside"])


def test_it_is_as_dry_as_the_air_outdoors():
    given = outdoors()
    assert float(run(given, intake="outdoors").delivered_dew_point) == pytest.approx(float(FROST), abs=1e-4)
    assert float(run(given).delivered_dew_point) == pytest.approx(float(given.hall_dew_point), abs=1e-4)
    # Where no air outdoors is known, it is the hall's.
    assert float(run(duty("ABS"), intake="outdoors").delivered_dew_point) == pytest.approx(
        float(given.hall_dew_point), abs=1e-4
    )


def test_the_heater_is_built_for_the_air_outdoors():
    given = outdoors()
    hall, out = (run(given, intake=kind, heater_efficiency=1.0) for kind in ("hall", "outdoors"))
    lift = float(given.hall_temperature) - float(COLD)
    more = float(out.sizing["process_heater"] - hall.sizing["process_heater"])
    assert more == pytest.approx(float(hall.air_flow) * 1006.0 * lift, rel=0.02)
    assert float(out.sizing["regeneration_heater"]) == 0.0


@pytest.mark.parametrize(("dew_point", "pressure"), [(0.0, 0.6112), (20.0, 2.3388), (28.0, 3.7818)])
def test_damp_air_leaves_in_the_pellets_what_it_cannot_take(dew_point, pressure):
    """PA66 of 0.3 % at 80 degC to 0.15 %: no drier than its sorption slope times the air's relative humidity, no wetter than it came.

    Saturation pressures in kPa, 47.414 at 80 degC: ASHRAE Fundamentals 2017, ch. 1, table 3 (from memory).
    """
    given = duty("PA66", initial_moisture=np.array(0.003), final_moisture=np.array(0.0015), drying_temperature=np.array(353.15),
                 hall_temperature=np.array(303.15), resin_temperature=np.array(303.15), hall_dew_point=np.array(273.15 + dew_point))  # fmt: skip
    at_best = given.resin.sorption_slope * pressure / 47.414
    left = min(max(0.0015, at_best), 0.003)
    found = run(given)
    assert float(found.hopper.water_removed / given.throughput) == pytest.approx(0.003 - left, rel=5e-3, abs=1e-9)
    # Some 2.43 MJ/kg to evaporate at 30 degC, from water of 30 degC.
    assert float(found.heat_out["evaporated water"]) == pytest.approx(
        float(given.throughput) * (0.003 - left) * 2.43e6, rel=1e-2, abs=1e-6
    )
