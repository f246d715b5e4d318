"""What cooling takes beside the heat, against steam tables, a Carnot machine, ratings and hand arithmetic."""

from __future__ import annotations

import numpy as np
import pytest
from CoolProp.CoolProp import HAPropsSI, PropsSI
from pydantic import ValidationError

from energy.equipment import cooler
from energy.equipment.cooler import CoolingPlant
from energy.errors import ModelError
from energy.sources import load
from energy.units import SI

KWH = 3.6e6
ATMOSPHERE = 101325.0
SUMMER = (303.15, 291.15, ATMOSPHERE)
WINTER = (263.15, 258.15, ATMOSPHERE)


@pytest.mark.published("CoolProp", where="IAPWS-95, latent heat", quoted="computed by the library")
@pytest.mark.parametrize("celsius", [10.0, 20.0, 25.0, 32.0])
def test_evaporation_against_the_latent_heat_of_water(celsius):
    t = 273.15 + celsius
    latent = PropsSI("H", "T", t, "Q", 1, "Water") - PropsSI("H", "T", t, "Q", 0, "Water")
    # Straight lines for the enthalpies of vapour and liquid, 0.02 to 0.06 %.
    assert cooler.evaporated_water(KWH, 1.0, t) == pytest.approx(KWH / latent / 1000.0, rel=7e-4)


def test_a_kilowatt_hour_evaporates_about_a_litre_and_a_half():
    """2.45 MJ/kg: 3.6 / 2.45 = 1.47 L."""
    assert 1e3 * cooler.evaporated_water(KWH, 1.0, 293.15) == pytest.approx(1.47, abs=0.005)


@pytest.mark.published(
    "Perry's Chemical Engineers' Handbook, 8th ed.",
    where="section 12: evaporation = 0.00085 x water flow x range in degF",
    quoted="from memory",
)
def test_evaporation_by_the_rule_of_water_flow_and_range():
    # 1000 kg of water cooled by 10 degF give off 1000 * 4.186 * 10 / 1.8 kJ; the rule lets 8.5 kg of them evaporate.
    heat = 1000.0 * 4186.0 * 10.0 / 1.8
    # The rule has 1000 Btu/lb of latent heat, 5 % less than water at 27 degC.
    share = load("cooling")["evaporated_share"].si
    assert 1000.0 * cooler.evaporated_water(heat, share, 300.15) == pytest.approx(8.5, rel=0.05)


def test_blow_down_carries_the_salts_of_the_make_up_away():
    feed = cooler.make_up_water(3.0, np.array([2.0, 4.0]))
    assert feed == pytest.approx([6.0, 4.0])
    assert (feed - 3.0) * np.array([2.0, 4.0]) == pytest.approx(feed)  # salts out = salts in


@pytest.mark.published("CoolProp", where="HAPropsSI, wet bulb", quoted="computed by the library")
@pytest.mark.parametrize(
    ("celsius", "dew_point"), [(35.0, 24.0), (30.0, 18.0), (40.0, 2.0), (12.0, 10.0), (8.0, -1.0), (3.0, -4.0)]
)
@pytest.mark.parametrize("pressure", [101325.0, 80000.0])
def test_tower_water_is_the_wet_bulb_and_the_approach(celsius, dew_point, pressure):
    t, d = 273.15 + celsius, 273.15 + dew_point
    wet_bulb = max(HAPropsSI("B", "T", t, "D", d, "P", pressure), 273.15)
    found = cooler.tower_water_temperature(t, d, pressure, 4.0, 0.0)
    assert found == pytest.approx(wet_bulb + 4.0, abs=0.05)  # two real-gas formulations


def test_tower_water_is_held_in_cold_weather():
    t = np.array([233.15, 263.15, 273.15, 273.16, 278.15, 303.15])
    found = cooler.tower_water_temperature(t, t - 5.0, ATMOSPHERE, 4.0, 285.15)
    assert np.all(found[:5] == 285.15)
    assert found[5] > 295.0
    # Saturated air: no cooler than itself, and no gap at freezing.
    t = np.array([272.65, 273.15, 273.153, 273.65])
    freezing = cooler.tower_water_temperature(t, t, ATMOSPHERE, 4.0, 0.0)
    assert freezing == pytest.approx([277.15, 277.15, 277.153, 277.65], abs=2e-3)


def test_a_loss_free_chiller():
    """From 7 to 35 degC: 280.15 / 28 = 10.005."""
    assert cooler.carnot_coefficient(280.15, 308.15) == pytest.approx(10.005, abs=5e-4)
    with pytest.raises(ModelError, match=r"condenser at 10 °C is not above its chilled water at 12 °C; colder"):
        cooler.carnot_coefficient(285.15, 283.15)


@pytest.mark.published(
    "ANSI/ASHRAE/IES Standard 90.1-2016",
    where="Table 6.8.1-3: least ratings at 44 degF supply, 95 degF outdoor air or 85 degF condenser water, small chillers",
    quoted="from memory: 10.1 Btu/(W h); 0.75 kW per ton",
)
@pytest.mark.parametrize(
    ("condenser", "outdoor", "rated"),
    [("outdoor air", 308.15, 10.1 / 3.412142), ("tower", 308.15, 3.516853 / 0.75)],
)
def test_a_chiller_of_typical_values_is_near_the_least_that_a_standard_allows(condenser, outdoor, rated):
    plant = CoolingPlant(
        medium="chilled water",
        chilled_water_temperature=SI(273.15 + 6.67),
        condenser=condenser,
        coldest_tower_water=SI(273.15 + 29.44),  # whatever the weather
    )
    # One share of Carnot stands for both; the two ratings lie 5 % below and 7 % above it.
    assert plant.chiller_performance(outdoor, 273.15, ATMOSPHERE) == pytest.approx(rated, rel=0.08)


@pytest.mark.published(
    "ANSI/ASHRAE/IES Standard 90.1-2016",
    where="Table 6.8.1-7: axial-fan open tower, 40.2 gpm/hp, 95 to 85 degF",
    quoted="from memory",
)
def test_the_tower_fan_stored():
    heat = 40.2 * 3.785411784e-3 / 60.0 * 995.0 * 4178.0 * 10.0 / 1.8
    assert load("cooling")["tower_fan_share"].si == pytest.approx(745.7 / heat, abs=5e-4)


def test_pumps_and_fans_stored_are_what_their_notes_work_out():
    water = cooler.pump_share(250e3, 0.6, 5.0, density=998.0, heat_capacity=4184.0)
    air = cooler.pump_share(150.0, 0.4, 8.0, density=1.2, heat_capacity=1006.0)
    # By hand: 250e3 / (0.6 * 998 * 4184 * 5) and 150 / (0.4 * 1.2 * 1006 * 8).
    assert water == pytest.approx(0.01996, abs=5e-6)
    assert air == pytest.approx(0.03883, abs=5e-6)
    assert load("cooling")["pump_share"].si == pytest.approx(water, abs=5e-4)
    assert load("cooling")["hall_fan_share"].si == pytest.approx(air, abs=2e-3)


def test_tower_water_by_hand():
    plant = CoolingPlant(pump_share=0.02, tower_fan_share=0.01, evaporated_share=0.8, cycles=5.0)
    taken = plant.demand(10e3, *SUMMER)
    # Pump 200 W, and 1 % of 10.2 kW for the fan.
    assert taken.electricity == pytest.approx(302.0)
    water = plant.coolant_temperature(*SUMMER, 298.15)
    latent = PropsSI("H", "T", water, "Q", 1, "Water") - PropsSI("H", "T", water, "Q", 0, "Water")
    assert taken.water == pytest.approx(0.8 * 10.2e3 / latent / 1000.0 * 5 / 4, rel=7e-4)


def test_chilled_water_by_hand():
    given = {"medium": "chilled water", "coefficient_of_performance": 4.0, "pump_share": 0.02, "tower_fan_share": 0.01}
    dry = CoolingPlant(**given, condenser="outdoor air").demand(10e3, *SUMMER)
    assert dry.electricity == pytest.approx(200.0 + 10200.0 / 4.0)
    assert dry.water == 0.0
    tower = CoolingPlant(**given, condenser="tower")
    wet = tower.demand(10e3, *SUMMER)
    # 10.2 kW and 2.55 kW of the compressor are condensed: 255 W of pump, then 1 % of 13.005 kW for the fan.
    assert wet.electricity == pytest.approx(200.0 + 2550.0 + 255.0 + 130.05)
    # The tower alone evaporates as much for 13.005 kW as for so much handed to tower water without a pump.
    alone = CoolingPlant(pump_share=0.0).demand(13005.0, *SUMMER)
    assert wet.water == pytest.approx(float(alone.water), rel=1e-12)
    assert tower.coolant_temperature(*SUMMER, 298.15) == tower.chilled_water_temperature


def test_hall_air_takes_a_fan_and_no_water():
    plant = CoolingPlant(medium="hall air", hall_fan_share=0.05)
    taken = plant.demand(10e3, *SUMMER)
    assert taken.electricity == pytest.approx(500.0)
    assert taken.water == 0.0
    assert plant.coolant_temperature(*SUMMER, 298.15) == 298.15


@pytest.mark.parametrize("condenser", ["tower", "outdoor air"])
def test_a_chiller_takes_less_in_winter_down_to_its_lowest_condensing_temperature(condenser):
    plant = CoolingPlant(medium="chilled water", condenser=condenser)
    outdoors = np.array([258.15, 268.15, 293.15, 298.15, 303.15, 308.15])
    dew_points = np.array([253.15, 263.15, 283.15, 290.15, 295.15, 299.15])
    taken = plant.demand(1e3, outdoors, dew_points, ATMOSPHERE).electricity
    assert taken[0] == taken[1]  # held
    assert np.all(np.diff(taken) >= 0)
    assert taken[-1] > 1.2 * taken[0]
    # Never better than loss-free with the pump's heat on top.
    cold, hot = plant.chilled_water_temperature, plant.coldest_condenser
    assert np.all(taken > 1e3 * (hot - cold) / cold)


@pytest.mark.parametrize("medium", ["tower water", "chilled water", "hall air"])
@pytest.mark.parametrize("condenser", ["tower", "outdoor air"])
def test_arrays_equal_scalars_and_demand_follows_the_heat(medium, condenser):
    plant = CoolingPlant(medium=medium, condenser=condenser)
    heat = np.array([[0.0, 1e3, 5e3], [2e3, 0.0, 1e4]])
    t, d = np.array([263.15, 285.15, 305.15]), np.array([260.15, 280.15, 290.15])
    together = plant.demand(heat, t, d, ATMOSPHERE)
    coolant = plant.coolant_temperature(t, d, ATMOSPHERE, 295.15)
    assert together.electricity.shape == together.water.shape == (2, 3)
    for i, j in np.ndindex(2, 3):
        alone = plant.demand(heat[i, j], t[j], d[j], ATMOSPHERE)
        # The wet bulb is found to 1e-6 K.
        assert together.electricity[i, j] == pytest.approx(float(alone.electricity), rel=1e-9)
        assert together.water[i, j] == pytest.approx(float(alone.water), rel=1e-8)
        assert coolant[j] == pytest.approx(float(plant.coolant_temperature(t[j], d[j], ATMOSPHERE, 295.15)), abs=1e-6)
    assert np.all(together.electricity[heat == 0] == 0)
    assert np.all(together.electricity[heat > 0] > 0)


def test_a_cooling_plant_is_frozen_strict_and_filled_from_data():
    plant = CoolingPlant(tower_approach="4 K")
    assert plant.tower_approach == pytest.approx(4.0)
    assert plant.cycles == load("cooling")["cycles"].value
    with pytest.raises(ValidationError, match="frozen"):
        plant.cycles = 3.0
    with pytest.raises(ValidationError, match="Extra inputs"):
        CoolingPlant(magic=1.0)
    with pytest.raises(ValidationError):
        CoolingPlant(cycles=1.0)
    assert set(CoolingPlant.model_fields) == {*load("cooling"), "coefficient_of_performance"}
