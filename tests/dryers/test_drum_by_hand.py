"""An infrared drum worked out by hand: radiators, purge air, what misses the pellets, and what it has not."""

from __future__ import annotations

import numpy as np
import pytest
from dryer_duties import duty, run

from energy.air import water_vapour
from energy.units import SI

WATER, VAPOUR, VAPOUR_HEAT = 4186.0, 1860.0, 2501e3  # J/(kg K), J/(kg K), J/kg, as in tables of steam
RADIANT, COUPLING = 0.8, 0.7


@pytest.mark.parametrize(("purge", "all_kept"), [(0.05, False), (3.0, True)])
@pytest.mark.parametrize("load", [1.0, 0.4])
def test_every_term_by_hand(purge, all_kept, load):
    given = duty("PET", 300.0, load=load)
    own = {"radiant_share": RADIANT, "coupling": COUPLING, "purge_ratio": purge, "circuit_pressure": SI(1000.0)}
    found = run("infrared-drum", given, **own, blower_efficiency=0.5, drive_power=SI(7200.0), controls_power=SI(200.0))
    resin, flow = given.resin, load * 300.0 / 3600.0
    hot, fed, hall = (float(t) for t in (given.drying_temperature, given.resin_temperature, given.hall_temperature))
    first, last = float(given.initial_moisture), float(given.final_moisture)

    sensible = flow * (resin.specific_heat + last * WATER) * (hot - fed)
    water = flow * (first - last)
    evaporated = water * (VAPOUR_HEAT + VAPOUR * (hot - 273.15) - WATER * (fed - 273.15))
    radiators = (sensible + evaporated) / (RADIANT * COUPLING)
    assert float(found.heat_out["resin"]) == pytest.approx(sensible, rel=1e-4)
    assert float(found.heat_out["evaporated water"]) == pytest.approx(evaporated, rel=1e-3)
    assert float(found.energy["process heat", "electricity"]) == pytest.approx(radiators, rel=1e-3)
    assert float(found.sizing["process_heater"]) == pytest.approx(radiators / load, rel=1e-3)

    # 1 kPa at 1 atm is hardly compression; the gas law, with the hall's vapour.
    humidity = float(water_vapour.humidity_ratio(given.hall_dew_point, given.pressure))
    volume = purge * flow * 287.05 * hall * (1.0 + 1.608 * humidity) / 101325.0
    shaft = volume * 1000.0 / 0.5
    assert float(found.sizing["airflow"]) == pytest.approx(volume / load, rel=1e-3)
    assert float(found.air_flow) == pytest.approx(purge * flow)
    kept = purge * flow * (1008.0 + humidity * VAPOUR) * (hot - hall) - shaft  # air of about 1.008 kJ/(kg K)
    missed = radiators - sensible - evaporated
    assert (kept > missed) == all_kept
    assert float(found.heat_out["exhaust air"]) == pytest.approx(min(missed, kept) + shaft, rel=0.01)
    assert float(found.heat_out["radiation missed"]) == pytest.approx(missed - min(missed, kept), abs=0.01 * missed)
    electric = float(found.energy["process blower", "electricity"])
    assert float(found.heat_out["motor and drive losses"]) == pytest.approx(
        electric - shaft, rel=0.02
    )  # 1 kPa is a little compression
    # 7.2 kJ per kilogram at design, whatever is fed.
    assert float(found.energy["drum drive", "electricity"]) == pytest.approx(7200.0 * flow / load)
    assert float(found.energy["controls", "electricity"]) == 200.0

    terms = {"radiators": "process heat", "process blower": "process blower", "drum drive": "drum drive"}
    for name, use in {**terms, "controls": "controls"}.items():
        assert float(found.heat_in[name]) == pytest.approx(float(found.energy[use, "electricity"]))
    assert len(found.heat_in) == 4
    assert float(found.heat_out["drum drive"]) == pytest.approx(7200.0 * flow / load)
    assert float(found.heat_out["controls"]) == 200.0
    assert float(sum(found.heat_in.values())) == pytest.approx(float(sum(found.heat_out.values())), rel=1e-9)


def test_what_a_drum_has_not():
    given = duty("PET", 300.0, load=np.array([0.0, 0.5, 1.0]))
    found = run("infrared-drum", given, drum_time=SI(900.0))
    for size in ("regeneration_heater", "compressed_air", "desiccant"):
        np.testing.assert_array_equal(found.sizing[size], 0.0)
    assert not found.starts[0].energy
    assert float(np.max(found.starts[0].power)) == 0.0
    assert found.air_dried is False
    np.testing.assert_array_equal(found.residence_time, 900.0)
    state = found.hopper
    for name in ("capacity_ratio", "loss_share", "heating_rate", "return_humidity", "resin_outlet_temperature"):
        assert np.shape(getattr(state, name)) == (3,)
    np.testing.assert_allclose(state.return_humidity, given.hall_humidity)
    np.testing.assert_allclose(state.return_temperature, given.drying_temperature)
    np.testing.assert_allclose(found.delivered_dew_point, given.hall_dew_point)
    assert np.shape(found.energy["controls", "electricity"]) == (3,)
    assert float(found.energy["drum drive", "electricity"][0]) == 0.0
