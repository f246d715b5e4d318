"""The balance: by hand, of the model's own dryers with noise, and what missing readings do."""

from __future__ import annotations

import math
from itertools import pairwise

import numpy as np
import pytest
from dryer_read import AIR, FULL, HOPPER, shop, there

from energy.errors import EnergyError, ModelError
from energy.sources import load
from energy.study.case import load_case
from energy.study.readings import Readings
from energy.units import SI
from energy.walkthrough.balance import balance
from energy.walkthrough.next_readings import worth_taking
from energy.walkthrough.walk import walk

SHOP = shop()


def test_power_by_current_is_power_over_throughput():
    # sqrt(3) x 20 A x 400 V x 0.9 = 12.471 kW; 15 kg in ten minutes = 90 kg/h: 138.6 Wh/kg.
    told = balance(
        SHOP,
        Readings(
            hopper=HOPPER,
            current="20 A",
            voltage="400 V",
            power_factor="90 %",
            weighed_mass="15 kg",
            weighing_time="10 min",
        ),
    )
    power, flow = told.quantities["power"], told.quantities["throughput"]
    assert power.value == pytest.approx(12470.8, rel=1e-5)
    # 2.5 % current, 1.5 % voltage, 4 % power factor, 10 % for a minute that stands for a cycle: 11.158 % wide.
    assert power.uncertainty / power.value == pytest.approx(0.111580 / math.sqrt(3.0), rel=1e-4)
    assert flow.value == pytest.approx(0.025)
    # 0.5 % scale, 1 % watch, 2 % steadiness.
    assert flow.uncertainty / flow.value == pytest.approx(0.0229129 / math.sqrt(3.0), rel=1e-4)


def test_hopper_by_hand():
    # 90 kg/h of resin at 1.4 kJ/(kg K) from 20 to 120 degC takes 3.5 kW; 0.08 kg/s of dry air from 120 to 70 degC gives
    # 0.08 x 1.009 x 50 = 4.04 kW (specific heat of dry air at 95 degC, 1.009 to 1.010 kJ/(kg K)).
    told = balance(
        SHOP,
        Readings(
            hopper=HOPPER,
            throughput="90 kg/h",
            process_temperature="120 degC",
            return_temperature="70 degC",
            hall_temperature="20 degC",
            dew_point="-40 degC",
            air_flow="0.08 kg/s",
        ),
    )
    terms = {term.name: term for term in told.hopper}
    assert terms["given by the air"].value == pytest.approx(4040.0, rel=3e-3)
    leaves = told.quantities["resin_deficit"].value
    assert terms["resin"].value == pytest.approx(0.025 * 1400.0 * (100.0 - leaves), rel=2e-3)
    left = terms["given by the air"].value - sum(terms[n].value for n in ("resin", "evaporation", "shell"))
    assert terms["left over"].value == pytest.approx(left)


def test_velocity_in_a_duct():
    # 12 m/s x pi/4 x (0.1 m)^2 = 0.09425 m3/s at 70 degC and sea level: 1.029 kg/m3 of dry air.
    told = balance(
        SHOP,
        Readings(
            hopper=HOPPER,
            throughput="90 kg/h",
            return_temperature="70 degC",
            air_velocity="12 m/s",
            duct_diameter="100 mm",
        ),
    )
    pressure = 99545.0  # at 150 m, ISO 2533
    density = pressure / (287.05 * 343.15)
    # Return air carries a little of the resin's water.
    assert told.quantities["air_flow"].value == pytest.approx(0.0942478 * density, rel=3e-3)


def test_an_exact_reading_of_everything_gives_the_truth():
    dryer = there(SHOP)
    told = balance(SHOP, dryer.read(FULL))
    assert told.specific_energy == pytest.approx(dryer.specific_energy, rel=1e-3)
    assert told.expected == pytest.approx(dryer.specific_energy, rel=1e-9)
    assert told.agrees


STORED = load("dryers/desiccant-twin-tower")
WORN = (
    *("usable_share", "insulation_thickness", "insulation_conductivity", "shell_emissivity", "duct_length"),
    *("heater_efficiency", "controls_power", "drive_efficiency", "circuit_pressure", "blower_efficiency"),
    *("leak_share", "bed_use", "inert_ratio", "exhaust_share", "casing_share", "carry_over_share"),
    *("dew_point_approach", "desiccant_pressure", "regeneration_pressure", "regeneration_blower_efficiency"),
)
"""Inputs that the visitor cannot see: each anywhere in its stated range."""


def some_dryer(chance):
    """A dryer as none was modelled: inputs, duty and resin's moisture by chance."""
    while True:
        inputs = {name: chance.uniform(STORED[name].si_low, STORED[name].si_high) for name in WORN}
        inputs["air_resin_ratio"] = 2.2 * chance.uniform(0.8, 1.3)
        hall = chance.uniform(291.0, 303.0)
        try:
            return there(
                SHOP,
                inputs,
                throughput=chance.uniform(50.0, 90.0) / 3600.0,
                drying_temperature=393.15 + chance.uniform(-3.0, 3.0),
                hall_temperature=hall,
                resin_temperature=hall,
                initial_moisture=0.002 * chance.uniform(0.6, 1.4),
            )
        except ModelError:  # too little air for its duty: nobody runs it so
            continue


def test_the_truth_lies_within_what_is_stated():
    chance = np.random.default_rng(20260414)
    # With the greatest mean half-width allowed: an interval must say something, too.
    sets = {
        (*AIR, "heater_inlet_temperature", "regeneration_power", "blower_pressure"): 0.25,
        ("throughput", "power"): 0.08,
    }
    hits, widths = dict.fromkeys(sets, 0), {names: [] for names in sets}
    for _ in range(100):
        dryer = some_dryer(chance)
        for names in sets:
            told = balance(SHOP, dryer.read(names, chance))
            hits[names] += abs(told.specific_energy - dryer.specific_energy) <= told.expanded
            widths[names].append(told.expanded / dryer.specific_energy)
    for names, most in sets.items():
        assert hits[names] >= 90, names
        assert np.mean(widths[names]) < most, names


def test_every_reading_narrows_or_leaves_the_answer():
    dryer = there(SHOP)
    order = ("throughput", "air_flow", "process_temperature", "return_temperature", "heater_inlet_temperature", "power")
    widths = [balance(SHOP, dryer.read(order[:count])).uncertainty for count in range(len(order) + 1)]
    assert all(after <= before * 1.03 for before, after in pairwise(widths))
    assert widths[-1] < 0.25 * widths[0]


def test_the_next_reading_narrows_as_it_was_said():
    dryer = there(SHOP)
    told = balance(SHOP, dryer.read(AIR))
    first, second = worth_taking(told)
    assert first.uncertainty < second.uncertainty < told.uncertainty
    for reading in (first, second):
        taken = balance(SHOP, dryer.read((*AIR, reading.name)))
        assert taken.uncertainty == pytest.approx(reading.uncertainty, rel=0.05)


def test_nothing_read_is_the_model_and_says_so():
    told = balance(SHOP, Readings(hopper=HOPPER))
    assert told.specific_energy == pytest.approx(told.expected, rel=1e-9)
    assert {"throughput", "air_flow", "return_temperature"} <= set(told.missing)
    assert told.expanded > 0.15 * told.specific_energy


def test_an_accuracy_beside_a_reading_counts():
    coarse, fine = (
        balance(SHOP, Readings(hopper=HOPPER, throughput={"value": "90 kg/h", "accuracy": a}, power="9 kW"))
        for a in ("10 %", "0.9 kg/h")
    )
    assert coarse.uncertainty > 3.0 * fine.uncertainty


def test_readings_that_contradict_each_other_widen_the_answer():
    dryer = there(SHOP)
    good = balance(SHOP, dryer.read(AIR))
    bad = balance(SHOP, dryer.read(AIR, return_temperature=SI(388.0)))
    assert good.agrees
    assert not bad.agrees
    assert bad.uncertainty > good.uncertainty


def test_cost_a_year_is_the_energy_at_the_price():
    case = shop().with_({"tariffs.electricity": "0.20 USD/kWh", "tariffs.cooling": None})
    made = walk(case, Readings(hopper=HOPPER, throughput="90 kg/h", power="9 kW"))
    # 9 kW for 6000 h at 0.20 USD/kWh; the balance moves the reading by a part of its 2 %.
    assert made.year.cost == pytest.approx(9.0 * 6000 * 0.20, rel=5e-3)
    assert made.year.worth(1000.0)[1] == pytest.approx(1.0 * 6000 * 0.20, rel=1e-6)


@pytest.mark.parametrize("kind", ["hot-air", "desiccant-wheel", "compressed-air", "vacuum", "infrared-drum"])
def test_every_type_has_an_answer(kind):
    case = load_case("one-machine")
    place = "options['Present twin tower']"
    case = case.with_({f"{place}.type": kind, f"{place}.inputs": {}, f"{place}.built_for": None})
    few = walk(case, Readings(hopper=HOPPER))
    assert few.balance.specific_energy == pytest.approx(few.balance.expected, rel=1e-6)
    assert few.next_readings
    assert walk(case, Readings(hopper=HOPPER, throughput="80 kg/h", power="12 kW")).balance.uncertainty > 0.0


def test_gas_is_not_on_the_electricity_meter():
    place = "options['Present twin tower']"
    case = load_case("one-machine").with_({f"{place}.inputs": {"heat_source": "gas"}})
    told = balance(case, Readings(hopper=HOPPER, throughput="90 kg/h", power="4 kW"))
    gas = next(part for part in told.parts if part.name == "process heat")
    assert told.power.value == pytest.approx(4000.0 + gas.value, rel=0.02)


def test_a_central_system_is_not_one_dryer():
    case = load_case("demo")
    case = case.with_(
        {"options['Present dryers'].baseline": None, "options['Central wheel, variable speed'].baseline": True}
    )
    with pytest.raises(EnergyError, match="central system"):
        balance(case, Readings(hopper="Machine 1"))


def test_an_unknown_hopper_is_told():
    with pytest.raises(EnergyError, match="no hopper 'Machine 8'; did you mean 'Machine 7'"):
        balance(SHOP, Readings(hopper="Machine 8"))


def test_a_wall_as_cold_as_the_hall_loses_nothing():
    told = balance(SHOP, Readings(hopper=HOPPER, hall_temperature="23 degC", shell_temperature="23 degC"))
    assert told.wide["shell"].value == 0.0
    assert worth_taking(told)
