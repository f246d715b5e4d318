"""A vacuum dryer worked out by hand: heat, pump, ejector and peak."""

from __future__ import annotations

import numpy as np
import pytest
from dryer_duties import duty, run

from energy.air import water_vapour
from energy.resins.properties import load_resin
from energy.units import SI

WATER, VAPOUR, VAPOUR_HEAT = 4186.0, 1860.0, 2501e3  # J/(kg K), J/(kg K), J/kg, as in tables of steam
STEP, VACUUM, SHARE, EMPTYING, LOST = 1800.0, 5000.0, 0.5, 0.25, 0.03
OWN = {
    "cycle_time": SI(STEP),
    "vacuum_pressure": SI(VACUUM),
    "vapour_share": SHARE,
    "evacuation_share": EMPTYING,
    "recirculation_loss": LOST,
    "pump_efficiency": 0.4,
    "blower_efficiency": 0.5,
    "controls_power": SI(300.0),
    "heater_efficiency": 0.95,
    "usable_share": 0.9,
    "slenderness": 2.0,
}


@pytest.mark.parametrize("load", [1.0, 0.5])
@pytest.mark.parametrize(("above_target", "moist_pellets"), [(5e-6, False), (0.02, True)])
def test_every_term_by_hand(load, above_target, moist_pellets):
    dry = load_resin("PC").target_moisture
    given = duty("PC", 90.0, load=load, initial_moisture=np.array(dry + above_target))
    found = run("vacuum", given, **OWN)
    resin, design = given.resin, 90.0 / 3600.0
    flow = load * design
    hot, fed, hall = (float(t) for t in (given.drying_temperature, given.resin_temperature, given.hall_temperature))
    first, last = float(given.initial_moisture), float(given.final_moisture)

    sensible = flow * (resin.specific_heat + last * WATER) * (hot - fed)
    water = flow * (first - last)
    evaporated = water * (VAPOUR_HEAT + VAPOUR * (hot - 273.15) - WATER * (fed - 273.15))
    assert float(found.heat_out["resin"]) == pytest.approx(sensible, rel=1e-4)
    assert float(found.heat_out["evaporated water"]) == pytest.approx(evaporated, rel=1e-3)

    # What is lost of the air that goes round, and what sweeps as much vapour out as itself, leave as hot as the pellets.
    humidity = float(water_vapour.humidity_ratio(given.hall_dew_point, given.pressure))
    swept = water * (1.0 - SHARE) / SHARE / 0.622
    lift = (1009.0 + humidity * VAPOUR) * (hot - hall)
    exhaust = (LOST * float(found.air_flow) + swept) * lift
    assert float(found.heat_out["exhaust air"]) == pytest.approx(exhaust, rel=0.01)
    assert float(found.hall_air["exhaust air"]) == pytest.approx(LOST * float(found.air_flow) + swept, rel=1e-3)

    # Air of drying temperature, by the gas law, against the rise of the blower.
    volume = float(found.air_flow) * 287.05 * hot * (1.0 + 1.608 * humidity) / 101325.0
    assert float(found.sizing["airflow"]) == pytest.approx(volume, rel=0.01)
    shaft = volume * float(found.details["pressure_rise"]) / 0.5
    electric = float(found.energy["process blower", "electricity"])
    assert float(found.heat_out["motor and drive losses"]) == pytest.approx(electric - shaft, abs=0.03 * shaft)
    bought = (sensible + evaporated + exhaust + float(found.heat_out["shell and ducts"]) - shaft) / 0.95
    assert float(found.energy["process heat", "electricity"]) == pytest.approx(bought, rel=0.01)
    assert float(found.heat_out["heater losses"]) == pytest.approx(0.05 * bought, rel=0.01)

    # The vessel holds what a step dries at design; its voids are emptied, then held.
    charge = design * STEP
    vessel = charge / (resin.bulk_density * 0.9)
    gas = vessel - charge / resin.density
    assert float(found.sizing["hopper_volume"]) == pytest.approx(3.0 * vessel, rel=1e-6)
    assert float(found.details["vessel_diameter"]) == pytest.approx((4.0 * vessel / np.pi / 2.0) ** (1 / 3), rel=1e-6)
    emptying = gas / (EMPTYING * STEP) * np.log(101325.0 / VACUUM)
    vapour = design * (first - last) * 461.5 * hot / (SHARE * VACUUM)
    speed = max(emptying, vapour)
    assert (vapour > emptying) == moist_pellets
    assert float(found.details["pumping_speed"]) == pytest.approx(speed, rel=1e-3)
    down = gas / speed * np.log(101325.0 / VACUUM)
    work = gas * (101325.0 - VACUUM - VACUUM * np.log(101325.0 / VACUUM))
    hold = speed * VACUUM * np.log(101325.0 / VACUUM)
    pump = (work / STEP + (1.0 - down / STEP) * hold) / 0.4
    assert float(found.energy["vacuum", "electricity"]) == pytest.approx(pump, rel=2e-3)
    assert float(found.heat_in["vacuum pump"]) == float(found.heat_out["vacuum pump"])
    # Isothermal power is greatest at p0 / e; a peak of 15 minutes has it only as long as the vessel is emptied.
    highest = speed * 101325.0 / np.e / 0.4
    assert float(found.peak["vacuum", "electricity"]) == pytest.approx(
        max(pump, highest * min(down / 900.0, 1.0)), rel=2e-3
    )

    powers = {"process heater": "process heat", "process blower": "process blower", "vacuum pump": "vacuum"}
    for name, use in {**powers, "controls": "controls"}.items():
        assert float(found.heat_in[name]) == pytest.approx(float(found.energy[use, "electricity"]))
    assert len(found.heat_in) == 4
    assert float(found.heat_out["controls"]) == 300.0
    assert float(sum(found.heat_in.values())) == pytest.approx(float(sum(found.heat_out.values())), rel=1e-9)
    # What it has not.
    for size in ("regeneration_heater", "desiccant", "compressed_air"):
        assert float(np.max(found.sizing[size])) == 0.0
    assert found.air_dried is False
    np.testing.assert_allclose(found.hopper.loss_share, 0.0)


def test_an_ejector_spends_air_in_place_of_a_pump():
    given = duty("PC", 90.0)
    pump, ejector = (run("vacuum", given, **OWN, pump=kind, ejector_ratio=8.0) for kind in ("pump", "ejector"))
    air = 8.0 * float(pump.details["pumping_speed"]) / (1.0 - 0.05)  # a twentieth leaks on the way, see the duty
    assert float(ejector.sizing["compressed_air"]) == pytest.approx(air, rel=1e-9)
    spent = air * 4e5
    assert float(ejector.energy["compressed air", "compressed air"]) == pytest.approx(spent, rel=1e-9)
    assert float(ejector.heat_in["compressor electricity"]) == float(ejector.heat_out["compressor house"])
    assert float(ejector.heat_in["compressor electricity"]) == pytest.approx(spent, rel=1e-9)
    assert ("vacuum", "electricity") not in ejector.energy
    standing = run("vacuum", duty("PC", 90.0, load=0.0), **OWN, pump="ejector", ejector_ratio=8.0)
    assert float(standing.energy["compressed air", "compressed air"]) == 0.0


def test_standing_it_only_keeps_its_vessels_warm():
    given = duty("PC", 90.0, load=0.0)
    found = run("vacuum", given, **OWN, standby_flow_share=0.5)
    full = run("vacuum", duty("PC", 90.0), **OWN)
    assert float(found.air_flow) == pytest.approx(0.5 * float(full.air_flow))
    assert float(found.energy["vacuum", "electricity"]) == 0.0
    assert float(found.peak["vacuum", "electricity"]) == 0.0
    assert float(found.heat_out["resin"]) == 0.0
    assert np.isinf(found.hopper.capacity_ratio)
