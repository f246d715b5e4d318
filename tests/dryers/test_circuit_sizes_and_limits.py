"""A desiccant circuit: what its beds are built for, what limits its temperatures, and what each of several hoppers has of it."""

from __future__ import annotations

import dataclasses
import re

import numpy as np
import pytest
from dryer_duties import duty, run

from energy import dryers
from energy.air import water_vapour
from energy.dryers import closed_loop, hopper_line
from energy.dryers.base import AIR_PER_RESIN
from energy.dryers.closed_loop import Distribution
from energy.equipment import blower
from energy.equipment.desiccant import load_desiccant, loading
from energy.errors import ModelError
from energy.resins.properties import load_resin
from energy.units import SI

WHEEL = dryers.TYPES["desiccant-wheel"].Inputs
HEAT = ("process heat", "electricity")
IDLE = {"carry_over_share": "100 %", "purge_recovery": "0 %"}  # beds of 2 kg bring much heat into the air


def hot(temperature, **changes):
    """PC at so many degrees Celsius."""
    return duty("PC", drying_temperature=np.array(273.15 + temperature), **changes)


def test_beds_are_sized_for_the_resins_water_the_leak_and_the_air_that_conveying_spends():
    """By hand: 0.5 kg/s of resin loses 0.2 %; 2 % of 1 kg/s leaks, 0.03 kg/s is spent; hall air holds 10 g/kg."""
    given = duty(
        "PC",
        1800.0,
        initial_moisture=np.array(0.0022),
        final_moisture=np.array(0.0002),
        residence_time=np.array(7200.0),
    )
    inputs = WHEEL(leak_share="2 %", air_resin_ratio=2.0)
    line = hopper_line.line_of(inputs, given)
    assert float(line.built.air_flow) == pytest.approx(1.0, rel=1e-12)
    water = closed_loop.design_water(inputs, [line], np.array(0.03), np.array(0.010))
    assert float(water) == pytest.approx(0.5 * 0.002 + (0.02 * 1.0 + 0.03) * 0.010, rel=1e-9)


def test_beds_that_are_there_are_those_that_run():
    found = run("desiccant-twin-tower", duty("PC", bed_mass=np.array(17.0)))
    assert float(found.sizing["desiccant"]) == pytest.approx(2 * 17.0)


def test_the_bed_of_a_system_is_what_its_operation_is_sized_with():
    inputs, given, ducts = WHEEL(), (duty("PC"), duty("PET", 60.0)), Distribution(spare=0.2, air_spent=0.05)
    mass = float(closed_loop.bed_mass(inputs, given, ducts))
    assert mass > 1.2 * float(closed_loop.bed_mass(inputs, given[:1], Distribution()))
    assert float(closed_loop.run_circuit(inputs, given, ducts).sizing["desiccant"]) == pytest.approx(mass, rel=1e-12)


def test_the_blower_of_a_changed_speed_lifts_less_than_in_proportion_and_more_than_the_square():
    """Ergun: pressure drop of a bed grows faster than the flow and slower than its square; no other drop here."""
    none = {"circuit_pressure": "0 kPa", "desiccant_pressure": "0 kPa", "airflow_control": "variable speed"}
    full, part = (run("desiccant-wheel", duty("PC", load=load), **none) for load in (1.0, 0.5))
    flow = float(part.air_flow / full.air_flow)
    rise = float(part.details["pressure_rise"] / full.details["pressure_rise"])
    assert 0.3 < flow < 0.9
    assert flow**2 < rise < flow


def test_a_limit_that_the_air_does_not_reach_changes_nothing():
    """Air at 43 degC goes into the same desiccant with a limit of 60 as with one of 90: it leaves as dry."""
    beds = run("desiccant-wheel", duty("PC")).sizing["desiccant"]
    near, far = (run("desiccant-wheel", hot(70, bed_mass=beds), adsorption_limit=t) for t in ("60 degC", "90 degC"))
    assert float(near.details["adsorption_temperature"]) < 273.15 + 50.0
    assert float(far.delivered_dew_point) == pytest.approx(float(near.delivered_dew_point), abs=0.001)
    assert float(far.energy[HEAT]) == pytest.approx(float(near.energy[HEAT]), rel=1e-4)


def test_recovery_gives_no_more_than_the_heater_would():
    """At 75 degC the hot bed leaves little to the heater: what is recovered is all of that, and the cooler has as much less."""
    idle = hot(75, load=0.02, bed_mass=np.array(2.0))
    bare, recovers = (run("desiccant-wheel", idle, return_recovery=e, **IDLE) for e in ("0 %", "90 %"))
    asked = WHEEL().heater_efficiency * float(bare.energy[HEAT])
    assert asked > 400.0
    assert float(recovers.energy[HEAT]) == pytest.approx(0.0, abs=1e-6)
    assert float(recovers.details["heat_recovered"]) == pytest.approx(asked, rel=1e-3)
    cooled = [float(o.energy["cooling", "cooling"]) for o in (bare, recovers)]
    assert cooled[0] - cooled[1] == pytest.approx(asked, rel=1e-3)


def test_nothing_is_recovered_where_the_bed_alone_overheats_the_air():
    idle = hot(65, load=0.02, bed_mass=np.array(2.0))
    bare, recovers = (run("desiccant-wheel", idle, return_recovery=e, **IDLE) for e in ("0 %", "90 %"))
    assert float(bare.energy[HEAT]) == 0.0
    # The air that comes back is hotter than that behind the desiccant, so there would be heat to recover.
    assert float(bare.hopper.return_temperature) > float(bare.details["adsorption_temperature"]) + 5.0
    assert float(recovers.details["heat_recovered"]) == 0.0
    assert float(recovers.energy["cooling", "cooling"]) == float(bare.energy["cooling", "cooling"])


@pytest.mark.parametrize("mass", [1.0, 0.005])
def test_a_hopper_that_takes_no_air_holds_no_other_to_its_temperature(mass):
    """Heaters regulate down to the coolest hopper that runs: one at 45 degC that stands is none of them."""
    first = hot(120, throughput=np.full((1, 1), 90.0 / 3600.0))
    found = []
    for other in (45, 110):
        second = hot(other, throughput=np.zeros((1, 1)), residence_time=np.array(7200.0))
        given = tuple(dataclasses.replace(d, bed_mass=np.array(mass)) for d in (first, second))
        found.append(
            closed_loop.run_circuit(WHEEL(air_resin_ratio=2.5), given, Distribution(), np.array([[True, False]]))
        )
    cool, warm = found
    # Not quite alike: the blower's motor is built for the other's bed, too.
    for key, power in warm.energy.items():
        np.testing.assert_allclose(cool.energy[key], power, rtol=1e-3, err_msg=str(key))


@pytest.mark.parametrize("bed_use", [0.3, 0.6])
def test_beds_changed_at_a_damper_dew_point_are_regenerated_less_often(bed_use):
    """A bed whose outlet may rise to the set-point takes up more before it is changed, but no more than it holds."""
    given = duty("PET", load=0.5)
    common = {"regeneration_control": "dew point", "bed_use": bed_use}
    held = run("desiccant-wheel", given, dew_point_set_point="-10 degC", **common)
    free = run("desiccant-wheel", given, **common)
    swings = float(held.details["swing"]), float(free.details["swing"])
    assert swings[0] > 1.05 * swings[1]
    assert swings[0] < swings[1] / bed_use  # not more than the whole bed


@pytest.mark.parametrize("coolant", [298.15, 333.15])
def test_a_circuit_that_needs_no_cooling_asks_nothing_of_its_coolant(coolant):
    """At 50 degC the air comes back at 29: neither the blower nor the answer depends on water that nobody uses."""
    usual, other = (run("desiccant-wheel", hot(50, coolant_temperature=np.array(t))) for t in (291.15, coolant))
    assert float(usual.energy["cooling", "cooling"]) == 0.0
    for key, power in usual.energy.items():
        assert float(other.energy[key]) == pytest.approx(float(power), rel=1e-12), key


@pytest.mark.parametrize("regeneration", ["120 degC", "200 degC"])
@pytest.mark.parametrize("mass", [0.1, 0.2])
def test_a_bed_filled_to_the_last_takes_up_what_it_holds(regeneration, mass):
    """Desiccant of a fifth of the size it should have or less, a leak of a fifth: equilibrium with what comes is all that it takes up."""
    given = duty("PA66", bed_mass=np.array(mass), hall_dew_point=np.array(291.15))
    inputs = {"leak_share": "20 %", "regeneration_temperature": regeneration, "adsorption_limit": "50 degC"}
    found = run("desiccant-wheel", given, **inputs)
    ample = run("desiccant-wheel", dataclasses.replace(given, bed_mass=np.array(5.0)), **inputs)
    hall, flow = float(given.hall_humidity), float(found.air_flow)
    back = float(found.hopper.return_humidity)
    mixed = back + 0.2 * (hall - back)
    vapour = water_vapour.vapour_pressure(mixed, given.pressure)
    swing = loading(vapour, found.details["adsorption_temperature"], load_desiccant("13x"))
    holds = float(swing - found.details["residual_loading"]) * mass / WHEEL().cycle_time
    assert float(found.details["water_adsorbed"]) == pytest.approx(holds, rel=3e-3)
    # Asked of it is what would come if none passed: the resin's water, and what the hall's air brings more than that which leaks out.
    dry = float(water_vapour.humidity_ratio(ample.delivered_dew_point, given.pressure))
    removed = float(found.hopper.water_removed)
    asked = removed + 0.2 * flow * (hall - dry - removed / flow)
    assert float(found.details["desiccant_load"]) == pytest.approx(asked / holds, rel=0.02)


def test_the_throughput_named_where_the_cooler_is_too_warm_is_one_that_the_air_heats():
    """Water of 60 degC and half more PA66 than the machine was built for: at what is named, with colder water, the air just suffices."""
    resin = dataclasses.replace(load_resin("PA66"), diffusivity=None)

    def asked(load, coolant):
        given = duty(resin, load=load, stands=True, initial_moisture=np.array(0.02), bed_mass=np.array(3.0))
        given = dataclasses.replace(given, coolant_temperature=np.array(coolant))
        inputs = {"adsorption_limit": "90 degC", "blower_efficiency": "15 %", "circuit_pressure": "12 kPa"}
        return run("desiccant-wheel", given, **inputs)

    with pytest.raises(ModelError, match="far more than the air of the present machine can heat") as said:
        asked(1.5, 333.15)
    named = float(re.search(r"about ([\d.]+) kg/h", str(said.value))[1])
    assert float(asked(named / 90.0, 291.15).hopper.capacity_ratio) == pytest.approx(1.0, abs=0.01)


@pytest.mark.parametrize(("source", "efficiency"), [("electric", 0.98), ("gas", 0.80)])
def test_regeneration_is_bought_from_its_own_source(source, efficiency):
    """Of the same heat 1 / 0.98 of electricity or 1 / 0.80 of gas, in the mean as in the peak."""
    carrier = {"electric": "electricity", "gas": "gas"}[source]
    shared = {"heater_efficiency": "100 %", "regeneration_control": "dew point"}
    whole = run("desiccant-wheel", duty("PET"), **shared)
    found = run(
        "desiccant-wheel", duty("PET"), **{**shared, "heater_efficiency": 0.98}, regeneration_heat_source=source
    )
    for table in ("energy", "peak"):
        of = {key: float(power) for key, power in getattr(found, table).items() if key[0] == "regeneration"}
        assert list(of) == [("regeneration", carrier)]
        useful = float(getattr(whole, table)["regeneration", "electricity"])
        assert of["regeneration", carrier] == pytest.approx(useful / efficiency, rel=1e-3)


@pytest.mark.parametrize("load", [0.4, 1.0])
def test_the_blower_of_a_regeneration_runs_while_its_heater_does(load):
    """Beds whose regeneration ends by dew point: at part load both stand still more often, and mean over peak is the same of both."""
    found = run("desiccant-wheel", duty("PET", load=load), regeneration_control="dew point", beds=SI(2.0))
    shares = [
        float(found.energy[use, "electricity"] / found.peak[use, "electricity"])
        for use in ("regeneration", "regeneration blower")
    ]
    assert shares[1] == pytest.approx(shares[0], rel=1e-9)
    assert shares[0] < 0.75 if load < 1.0 else shares[0] <= 1.0


@pytest.mark.parametrize("flow", [90.0, 4000.0])
def test_the_blower_of_a_regeneration_has_a_motor_of_its_size(flow):
    """By hand: 2 kPa at 45 %, of the air that carries the heat from 22 to 200 degC; its motor is rated 15 % above the shaft."""
    found = run("desiccant-wheel", duty("PET", flow))
    supplied = WHEEL().heater_efficiency * float(found.energy["regeneration", "electricity"])
    # Some 0.847 m3/kg of hall air; 1.02 kJ/(kg K) of heat with its humidity, of which the blower gives a part.
    blown = 0.847 * 2000.0 / 0.45
    shaft = supplied * blown / (1020.0 * (200.0 - 22.0) - blown)
    electric = float(found.energy["regeneration blower", "electricity"])
    assert electric == pytest.approx(shaft / float(blower.motor_efficiency(1.15 * shaft, "IE3")), rel=0.02)


def test_a_circuit_without_leak_and_resin_regenerates_nothing():
    idle = duty("PET", load=0.0)
    found = run("desiccant-wheel", idle, leak_share="0 %", regeneration_control="dew point")
    for table in (found.energy, found.peak):
        for use in ("regeneration", "regeneration blower"):
            assert float(table[use, "electricity"]) == 0.0
    assert float(found.details["water_adsorbed"]) == pytest.approx(0.0, abs=1e-12)
    assert abs(float(found.residual())) <= 1e-9 * sum(found.heat_in.values())


def test_one_bed_may_be_cooled_while_the_next_is_heated():
    """Heated all the time and cooled half of it: at its highest the blower serves both."""
    found = [run("desiccant-wheel", duty("PET"), heating_share="100 %", cooling_share=c) for c in ("0 %", "50 %")]
    peaks = [float(o.peak["regeneration blower", "electricity"]) for o in found]
    assert peaks[1] == pytest.approx(1.5 * peaks[0], rel=1e-9)


def test_a_hopper_that_stands_has_no_part_in_wall_and_heater():
    """The second, hotter hopper takes no air: wall and heater are those of the first by itself."""
    first, second = (
        hot(t, throughput=np.full((1, 1), f / 3600.0), bed_mass=np.array(1.0)) for t, f in ((80, 90.0), (140, 0.0))
    )
    inputs = WHEEL(air_resin_ratio=2.5)
    alone = closed_loop.run_circuit(inputs, (first,), Distribution())
    both = closed_loop.run_circuit(inputs, (first, second), Distribution(), np.array([[True, False]]))
    assert float(both.shell_temperature.max()) == pytest.approx(float(alone.shell_temperature.max()), abs=0.01)
    heaters = [float(np.max(o.sizing["process_heater"])) for o in (alone, both)]
    assert heaters[1] == pytest.approx(heaters[0], rel=5e-5)


def test_the_airflow_of_a_blower_is_that_of_the_air_it_draws():
    """Ideal gas at some 40 degC, 101,325 Pa: 287.05 x 313 / 101325 = 0.887 m3/kg."""
    found = run("desiccant-wheel", duty("PC"))
    assert float(found.sizing["airflow"]) == pytest.approx(0.887 * float(found.air_flow), rel=0.05)


def test_a_circuit_needs_no_compressor_and_tells_what_regeneration_takes_per_water():
    found = run("desiccant-wheel", duty("PET"))
    assert float(found.sizing["compressed_air"]) == 0.0
    per_water = float(found.energy["regeneration", "electricity"] / found.details["water_adsorbed"])
    assert float(found.details["regeneration_heat_per_water"]) == pytest.approx(per_water, rel=1e-12)
    # Heat goes from the air at 200 degC to the desiccant: what leaves is cooler, and warmer than the hall.
    assert 295.15 < float(found.details["regeneration_exhaust_temperature"]) < 473.15


def test_air_per_resin_is_told_of_a_circuit_of_one_hopper():
    inputs, given = WHEEL(air_resin_ratio=2.5), (duty("PC"), duty("PET", 60.0))
    one, two = (closed_loop.run_circuit(inputs, given[:n], Distribution()) for n in (1, 2))
    assert float(one.details[AIR_PER_RESIN]) == pytest.approx(2.5)
    assert AIR_PER_RESIN not in two.details


def test_a_wheel_by_dew_point_adds_no_more_to_the_peak_than_it_takes():
    """Its heater never stops, so a fuller, slower wheel takes less; a bed's heater takes as much, less often."""
    given = duty("PET", load=0.6)
    timer, by_point = (
        run("desiccant-wheel", given, regeneration_control=control) for control in ("timer", "dew point")
    )
    for made in (timer, by_point):
        assert float(made.peak["regeneration", "electricity"]) == pytest.approx(
            float(made.energy["regeneration", "electricity"]), rel=1e-12
        )
    assert by_point.peak_electricity() < timer.peak_electricity()
