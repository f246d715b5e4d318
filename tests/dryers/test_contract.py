"""What every dryer type must keep, run over each of ``energy.dryers.TYPES``: a new type is covered once listed."""

from __future__ import annotations

import dataclasses
from typing import get_args

import fluids
import numpy as np
import pytest
from CoolProp.CoolProp import HAPropsSI, PropsSI
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from energy import dryers
from energy.air import atmosphere, moist, water_vapour
from energy.dryers import circuit_inputs
from energy.dryers.base import CARRIERS, END_USES, CompressedAir, Duty
from energy.equipment import wall
from energy.errors import ModelError, UnknownNameError
from energy.resins.properties import load_resin, resin_names
from energy.units import SI

KINDS = list(dryers.TYPES)
CLOSED = [kind for kind, module in dryers.TYPES.items() if issubclass(module.Inputs, circuit_inputs.Inputs)]
BATCH = ["vacuum", "infrared-drum"]  # no air is blown once through a bed
OPEN = [kind for kind in KINDS if kind not in CLOSED and kind not in BATCH]
RESINS = [load_resin(name) for name in resin_names()]
ZERO = 273.15
EVAPORATION = 2.6e6  # J/kg of water, the reference's figure


def duty_at(resin, where):
    """A duty by nine positions between 0 and 1, each between the ends of its range."""
    low = resin.data["drying_temperature"].si_low or resin.drying_temperature
    high = resin.drying_temperature_limit or resin.drying_temperature
    hall = 278.15 + 30.0 * where[2]
    pressure = float(atmosphere.pressure_at_altitude(2000.0 * where[4]))
    design = 5.0 * 400.0 ** where[0] / 3600.0
    return Duty(
        resin=resin,
        throughput=np.array(design * (0.25 + 0.75 * where[1])),
        design_throughput=np.array(design),
        drying_temperature=np.array(low + (high - low) * where[5]),
        residence_time=np.array(resin.residence_time),
        resin_temperature=np.array(hall),
        initial_moisture=np.array(
            resin.target_moisture + (2.0 * resin.initial_moisture - resin.target_moisture) * where[6]
        ),
        final_moisture=np.array(resin.target_moisture),
        hall_temperature=np.array(hall),
        hall_dew_point=np.array(hall - 0.5 - 24.5 * where[3]),
        pressure=np.array(pressure),
        coolant_temperature=np.array(283.15 + 15.0 * where[7]),
        compressed_air=CompressedAir(
            pressure=np.array(pressure + 5e5 + 5e5 * where[8]),
            pressure_dew_point=np.array(276.15),
            marginal_power=np.array(400e3),
            line_leak_share=np.array(0.05),
        ),
    )


unit = st.floats(0, 1)
duties = st.builds(duty_at, st.sampled_from(RESINS), st.tuples(*[unit] * 9))
every_type = pytest.mark.parametrize("kind", KINDS)
coolers = st.sampled_from(["water", "hall air"])
examples = settings(max_examples=25)


def dryer(kind, **inputs):
    module = dryers.TYPES[kind]
    return module.Dryer(module.Inputs(**inputs))


def run(kind, duty, **inputs):
    """The operation; a duty without a physical answer is not an example."""
    try:
        return dryer(kind, **inputs).run(duty)
    except ModelError:
        assume(False)


def bought(operation):
    """Everything paid for but the cooling water. [W]"""
    return sum(power for (_, carrier), power in operation.energy.items() if carrier != "cooling")


def least(duty, temperature):
    """Resin from its inlet to a temperature, and evaporation of the water. [W]"""
    water = duty.initial_moisture - duty.final_moisture
    return duty.throughput * (duty.resin.specific_heat * (temperature - duty.resin_temperature) + EVAPORATION * water)


@every_type
def test_most_duties_have_an_answer(kind):
    places, answered = np.random.default_rng(20).random((63, 9)), 0
    for i, where in enumerate(places):
        try:
            dryer(kind).run(duty_at(RESINS[i % len(RESINS)], where))
            answered += 1
        except ModelError:
            pass
    assert answered >= 0.9 * len(places)


@every_type
@examples
@given(duties, st.sampled_from(["electric", "gas"]), st.booleans(), coolers)
def test_heat_in_is_heat_out_and_nothing_runs_backwards(kind, duty, source, by_dew_point, cooler):
    fired = source in get_args(dryers.TYPES[kind].Inputs.model_fields["heat_source"].annotation)
    source = source if fired else "electric"
    inputs = {"heat_source": source}
    if kind in CLOSED:
        inputs |= {"regeneration_heat_source": source, "regeneration_control": "dew point" if by_dew_point else "timer"}
        inputs["cooler"] = cooler
    operation = run(kind, duty, **inputs)
    supplied = sum(operation.heat_in.values())
    assert abs(operation.residual()) <= 1e-9 * supplied
    # What is bought is what comes in, and the other way round.
    assert bought(operation) == pytest.approx(supplied, rel=1e-12)
    assert set(operation.peak) == set(operation.energy)
    for (use, carrier), power in operation.energy.items():
        assert use in END_USES
        assert carrier in CARRIERS
        assert power >= 0, use
        assert operation.peak[use, carrier] >= power * (1 - 1e-12), use
    for name, heat in {**operation.heat_in, **operation.heat_out}.items():
        # What leaves at hall temperature carries rounding of either sign.
        assert heat >= -1e-12 * supplied, name
    for name, size in operation.sizing.items():
        assert size >= 0, name
    carrier = {"electric": "electricity", "gas": "gas"}[source]
    # A heater for a cold start with all its air is the largest that is needed.
    assert operation.sizing["process_heater"] >= operation.energy["process heat", carrier] * (1 - 1e-12)
    assert operation.sizing.keys() == {
        "hopper_volume", "airflow", "process_heater", "regeneration_heater", "blower", "compressed_air", "desiccant",
    }  # fmt: skip


@every_type
@examples
@given(duties)
def test_no_result_below_the_physical_minimum(kind, duty):
    operation = run(kind, duty)
    # Damp air leaves water in the pellets, and none is drier than asked.
    final = duty.initial_moisture - operation.hopper.water_removed / duty.throughput
    assert final >= duty.final_moisture - 1e-12
    duty = dataclasses.replace(duty, final_moisture=final)
    assert bought(operation) >= least(duty, duty.drying_temperature)
    # Pellets reach less than the air; what they do take is the balance's own.
    assert operation.hopper.resin_outlet_temperature <= duty.drying_temperature
    heat = duty.resin.specific_heat * (operation.hopper.resin_outlet_temperature - duty.resin_temperature)
    water = 1.0 + duty.final_moisture * 4186.0 / duty.resin.specific_heat
    assert operation.heat_out["resin"] == pytest.approx(duty.throughput * heat * water, rel=1e-9)


@every_type
@examples
@given(duties, unit, unit, coolers)
def test_one_machine_never_pays_less_for_more(kind, duty, little, much, cooler):
    """One machine: built for the design throughput with a fixed airflow. More, wetter, hotter, from a colder hall."""
    high = duty.resin.drying_temperature_limit or duty.resin.drying_temperature
    cold = max(duty.hall_dew_point, duty.hall_temperature - 10.0 * much)
    base, step = np.ones(5), np.eye(5)
    changed = dataclasses.replace(
        duty,
        throughput=duty.throughput * base + step[1] * much * (duty.design_throughput - duty.throughput),
        initial_moisture=duty.initial_moisture * (base + step[2] * much),
        drying_temperature=duty.drying_temperature * base + step[3] * much * (high - duty.drying_temperature),
        hall_temperature=duty.hall_temperature * base + step[4] * (cold - duty.hall_temperature),
        resin_temperature=duty.resin_temperature * base + step[4] * (cold - duty.hall_temperature),
    )
    operation = run(kind, changed, air_resin_ratio=2.0 + 3.0 * little, **({"cooler": cooler} if kind in CLOSED else {}))
    # A cooler's fan is left out: air that comes back colder, having heated more resin, leaves it less to do.
    fan = operation.energy.get(("cooling", "electricity"), 0.0)
    plain, *more = np.broadcast_to(bought(operation) - fan, 5)
    for name, power in zip(("more throughput", "wetter", "hotter"), more[:3], strict=True):
        assert power >= plain * (1 - 1e-12), name
    cooled = next((v for name, v in operation.heat_out.items() if name.startswith("aftercooler")), np.zeros(5))
    if cooled[0] == 0.0:
        assert more[3] >= plain * (1 - 1e-12)
    else:
        # While the aftercooler works the air goes back at the desiccant's limit, whatever the hall: a colder one only
        # saves cooling water. Heat may even fall, by 1.1 % at most, as regeneration exhaust leaves colder; blowers take
        # less of colder air, whose volume and pressure drop both go with its absolute temperature.
        blown = sum(v for (use, _), v in operation.energy.items() if "blower" in use) + np.zeros(5)
        heat = np.broadcast_to(bought(operation) - fan, 5) - blown
        assert heat[4] >= heat[0] * (1 - 0.02)
        assert blown[4] >= blown[0] * (cold / duty.hall_temperature) ** 2 * (1 - 1e-3)
        assert cooled[4] <= cooled[0]


@pytest.mark.parametrize("kind", OPEN)
@examples
@given(duties)
def test_open_loop_without_losses_is_the_enthalpy_rise(kind, duty):
    inputs = {
        "insulation_conductivity": SI(1e-12),
        "heater_efficiency": 1.0,
        "controls_power": SI(0.0),
        "air_resin_ratio": 3.0,
        "duct_length": SI(0.0),
    }
    blown = "blower_efficiency" in dryers.TYPES[kind].Inputs.model_fields
    if blown:
        inputs |= {"circuit_pressure": SI(0.0), "blower_efficiency": 1.0}
    operation = run(kind, duty, **inputs)
    flow = 3.0 * duty.design_throughput
    humidity = operation.hopper.return_humidity - operation.hopper.water_removed / flow
    rise = moist.enthalpy(duty.drying_temperature, humidity) - moist.enthalpy(duty.hall_temperature, humidity)
    # The pellet bed's own pressure drop is left: its shaft work warms the air and so belongs to the same rise.
    shaft = operation.heat_in["process blower"] - operation.heat_out["motor and drive losses"] if blown else 0.0
    heat = operation.energy["process heat", "electricity"] + shaft
    assert heat == pytest.approx(flow * rise, rel=1e-12)
    assert water_vapour.dew_point(humidity, duty.pressure) == pytest.approx(operation.delivered_dew_point, abs=1e-4)
    assert operation.heat_out["shell and ducts"] <= 1e-6
    states = [
        HAPropsSI("H", "T", float(t), "W", float(humidity), "P", float(duty.pressure))
        for t in (duty.drying_temperature, duty.hall_temperature)
    ]
    assert heat == pytest.approx(flow * (states[0] - states[1]), rel=2e-3)  # vapour at 1.86 kJ/(kg K)


@pytest.mark.parametrize("kind", [*CLOSED, "hot-air"])
def test_a_blower_works_against_the_bed_and_the_circuit(kind):
    duty = duty_at(load_resin("PET"), [0.5, 0.8, 0.5, 0.4, 0.0, 0.5, 0.4, 0.2, 0.5])
    inputs = {"circuit_pressure": SI(3e3), "slenderness": 1.5, "air_resin_ratio": 3.0}
    operation = run(kind, duty, **inputs)
    middle = float(duty.drying_temperature + duty.resin_temperature) / 2
    density, viscosity = (PropsSI(p, "T", middle, "P", float(duty.pressure), "Air") for p in ("D", "V"))
    diameter = (4 * float(operation.sizing["hopper_volume"]) / (np.pi * 1.5)) ** (1 / 3)
    velocity = 3.0 * float(duty.design_throughput) / density / (np.pi / 4 * diameter**2)
    # A cylinder as long as wide has the ratio of volume to surface of a sphere of that diameter.
    size, voidage = duty.resin.pellet_diameter, 1 - duty.resin.bulk_density / duty.resin.density
    assert duty.resin.pellet_length == size
    bed = fluids.Ergun(dp=size, voidage=voidage, vs=velocity, rho=density, mu=viscosity, L=1.5 * diameter)
    desiccant = getattr(dryer(kind).inputs, "desiccant_pressure", 0.0)
    # Fits of air properties, 0.06 %.
    assert operation.details["pressure_rise"] == pytest.approx(bed + 3e3 + desiccant, rel=1e-3)


@pytest.mark.parametrize("kind", [*CLOSED, *OPEN])
def test_a_bare_hopper_loses_from_wall_ends_and_duct(kind):
    duty = duty_at(load_resin("PC"), [0.6, 0.8, 0.5, 0.4, 0.0, 0.0, 0.4, 0.2, 0.5])
    inputs = {
        "insulation_thickness": SI(0.0),
        "usable_share": 0.8,
        "shell_emissivity": 0.9,
        "slenderness": 2.0,
        "duct_length": SI(4.0),
        "duct_velocity": SI(12.0),
    }
    operation = run(kind, duty, air_resin_ratio=9.0, **inputs)
    volume = duty.design_throughput * duty.residence_time / duty.resin.bulk_density / 0.8
    assert operation.sizing["hopper_volume"] == pytest.approx(volume, rel=1e-12)
    diameter = (4 * volume / (np.pi * 2.0)) ** (1 / 3)
    specific = 1.0 / PropsSI("D", "T", float(duty.drying_temperature), "P", float(duty.pressure), "Air")
    duct = np.sqrt(4 / np.pi * 9.0 * duty.design_throughput * specific / 12.0)
    area = np.pi * diameter * 2.0 * diameter + 2 * np.pi / 4 * diameter**2 + np.pi * duct * 4.0
    flux = wall.surface_heat_flux(duty.drying_temperature, duty.hall_temperature, 2.0 * diameter, 0.9)
    # Real air is 0.03 % lighter than ideal at that temperature.
    assert operation.heat_out["shell and ducts"] == pytest.approx(flux * area, rel=3e-4)
    assert operation.shell_temperature == duty.drying_temperature


def test_three_bare_vessels_and_a_duct_lose_under_vacuum():
    duty = duty_at(load_resin("PC"), [0.6, 0.8, 0.5, 0.4, 0.0, 0.0, 0.4, 0.2, 0.5])
    inputs = {
        "insulation_thickness": SI(0.0),
        "usable_share": 0.8,
        "shell_emissivity": 0.9,
        "slenderness": 1.0,
        "duct_length": SI(4.0),
        "duct_velocity": SI(12.0),
        "cycle_time": SI(1800.0),
    }
    operation = run("vacuum", duty, air_resin_ratio=3.0, **inputs)
    volume = duty.design_throughput * 1800.0 / duty.resin.bulk_density / 0.8
    assert operation.sizing["hopper_volume"] == pytest.approx(3 * volume, rel=1e-12)
    diameter = (4 * volume / np.pi) ** (1 / 3)
    specific = 1.0 / PropsSI("D", "T", float(duty.drying_temperature), "P", float(duty.pressure), "Air")
    duct = np.sqrt(4 / np.pi * 3.0 * duty.design_throughput * specific / 12.0)
    area = 3 * (np.pi * diameter**2 + 2 * np.pi / 4 * diameter**2) + np.pi * duct * 4.0
    flux = wall.surface_heat_flux(duty.drying_temperature, duty.hall_temperature, diameter, 0.9)
    # Real air is 0.03 % lighter than ideal at that temperature.
    assert operation.heat_out["shell and ducts"] == pytest.approx(flux * area, rel=3e-4)


@pytest.mark.parametrize("kind", CLOSED)
@examples
@given(duties, st.floats(0, 0.05))
def test_water_balance_of_the_closed_loop(kind, duty, leak_share):
    operation = run(kind, duty, leak_share=leak_share)
    removed = duty.throughput * (duty.initial_moisture - duty.final_moisture)
    leak = leak_share * operation.air_flow
    into, out_of = (
        leak * water_vapour.humidity_ratio(duty.hall_dew_point, duty.pressure),
        leak * operation.hopper.return_humidity,
    )
    assert operation.details["water_adsorbed"] == pytest.approx(removed + into - out_of, rel=1e-9, abs=1e-15)
    # Each of the beds takes up a cycle's water, by timer.
    inputs = dryer(kind).inputs
    bed = operation.sizing["desiccant"] / {"desiccant-twin-tower": 2, "desiccant-rotating-beds": 4}.get(kind, 1)
    assert operation.details["swing"] * bed == pytest.approx(
        operation.details["water_adsorbed"] * inputs.cycle_time, rel=1e-9
    )
    # Air over the desiccant loses just that: what the hopper gets is drier than what comes back.
    supplied = water_vapour.humidity_ratio(operation.delivered_dew_point, duty.pressure)
    mixed = operation.hopper.return_humidity * (1 - leak_share) + leak_share * water_vapour.humidity_ratio(
        duty.hall_dew_point, duty.pressure
    )
    assert operation.air_flow * (mixed - supplied) == pytest.approx(operation.details["water_adsorbed"], rel=1e-4)


@pytest.mark.parametrize("kind", CLOSED)
def test_surplus_heat_goes_to_the_cooler_and_never_makes_a_negative_heater(kind):
    # All of the desiccant's heat carried into air that is to be no hotter than 66 degC: the heater has nothing to do.
    duty = dataclasses.replace(
        duty_at(load_resin("ABS"), [0.5, 0.0, 0.6, 0.5, 0.0, 0.0, 1.0, 0.0, 0.0]), drying_temperature=np.array(339.15)
    )
    operation = dryer(kind, carry_over_share=1.0, purge_recovery=0.0, circuit_pressure=SI(1e3), leak_share=0.05).run(
        duty
    )
    assert operation.energy["process heat", "electricity"] == 0.0
    assert operation.energy["cooling", "cooling"] > 0.0
    assert operation.details["adsorption_temperature"] < dryer(kind).inputs.adsorption_limit
    assert abs(operation.residual()) <= 1e-9 * sum(operation.heat_in.values())


def leaves(operation):
    """Every number of an operation by its name."""
    for name in ("energy", "peak", "heat_in", "heat_out", "sizing", "details"):
        for key, value in getattr(operation, name).items():
            yield f"{name} {key}", value
    for field in dataclasses.fields(operation.hopper):
        yield f"hopper {field.name}", getattr(operation.hopper, field.name)
    for key, value in operation.starts[0].energy.items():
        yield f"warm-up {key}", value
    yield "start power", operation.starts[0].power
    for name in ("delivered_dew_point", "air_flow", "shell_temperature"):
        yield name, getattr(operation, name)
    if operation.residence_time is not None:
        yield "residence_time", operation.residence_time
    yield "residual", operation.residual() + 1e3  # near zero: rounding is not compared
    yield "peak electricity", operation.peak_electricity()
    for carrier in CARRIERS:
        yield f"power {carrier}", operation.power(carrier)


ARRAYS = [f.name for f in dataclasses.fields(Duty) if f.name not in ("resin", "compressed_air", "design", "bed_mass")]


def same(kind, duty, shape, **inputs):
    together = dict(leaves(dryer(kind, **inputs).run(duty)))
    for index in np.ndindex(shape):
        one = {name: np.broadcast_to(getattr(duty, name), shape)[index] for name in ARRAYS}
        alone = dict(leaves(dryer(kind, **inputs).run(dataclasses.replace(duty, **one))))
        assert together.keys() == alone.keys()
        for name, value in alone.items():
            # Exponentials of arrays and of scalars may differ in the last digit, and differences of enthalpies grow it.
            found = np.broadcast_to(together[name], shape)[index]
            assert found == pytest.approx(value, rel=1e-10, abs=1e-9), name


@every_type
@pytest.mark.parametrize("resin", ["PET", "PA66", "PP"])
def test_an_array_of_periods_equals_each_period(kind, resin):
    places = np.random.default_rng(3).random((4, 9)) * [1, 1, 1, 1, 1, 1, 1, 0.3, 1]
    periods = [duty_at(load_resin(resin), where) for where in places]
    together = {name: np.array([getattr(d, name) for d in periods]) for name in ARRAYS}
    same(kind, dataclasses.replace(periods[0], **together), (4,))


@every_type
@pytest.mark.parametrize("drawn", ["hall_temperature", "drying_temperature", "throughput", "pressure"])
def test_draws_on_leading_axes_equal_each_draw(kind, drawn):
    """Two draws of one quantity against three periods of load, the rest scalar."""
    duty = duty_at(load_resin("PC"), [0.6, 0.0, 0.5, 0.4, 0.1, 0.0, 0.4, 0.2, 0.5])
    middle = getattr(duty, drawn)
    changes = {
        "throughput": duty.design_throughput * np.array([0.3, 0.6, 1.0]),
        drawn: middle * np.array([[0.99], [1.0]]),
    }
    if drawn == "throughput":
        changes = {"throughput": duty.design_throughput * np.array([[0.3, 0.6, 1.0], [0.4, 0.5, 0.9]])}
    same(kind, dataclasses.replace(duty, **changes), (2, 3))


@every_type
def test_one_machine_in_all_periods_equals_it_in_each(kind):
    """Standby, part and full load, cold and warm hall of a machine that is built for none of them."""
    duty = duty_at(load_resin("PA66"), [0.6, 1.0, 0.5, 0.2, 0.1, 0.5, 0.4, 0.2, 0.5])
    year = dataclasses.replace(
        duty,
        throughput=duty.design_throughput * np.array([[0.0, 0.3, 1.0], [0.0, 0.5, 0.9]]),
        hall_temperature=duty.hall_temperature + np.array([-8.0, 0.0, 8.0]),
        stop_time=np.array([0.0, 3600.0, 36000.0]),
        design=duty,
    )
    same(kind, year, (2, 3))
    sizes = dryer(kind).run(year).sizing["hopper_volume"]
    assert np.all(sizes == dryer(kind).run(duty).sizing["hopper_volume"])


@every_type
@settings(max_examples=15)
@given(
    duties,
    st.just(0.0) | st.floats(0.05, 1),
    st.sampled_from(["fixed", "throttled", "variable speed"]),
    st.sampled_from([None, 320.0, 340.0, 1000.0]),
    st.floats(0.3, 1),
    st.floats(0, 0.9),
    st.booleans(),
    coolers,
)
def test_any_state_and_control_balances_and_is_a_number(
    kind, duty, load, control, back, turndown, recovery, timer, cooler
):
    fields = dryers.TYPES[kind].Inputs.model_fields
    inputs = {
        "airflow_control": control,
        "standby_temperature": back and SI(back),
        "standby_flow_share": turndown,
        "exhaust_recovery": recovery,
        "return_recovery": recovery,
        "regeneration_recovery": recovery,
        "regeneration_control": "timer" if timer else "dew point",
        "leak_share": 0.0 if timer else 0.01,
        "cooler": cooler,
    }
    inputs = {name: value for name, value in inputs.items() if name in fields and value is not None}
    hot = duty.resin.drying_temperature_limit or duty.resin.drying_temperature
    design = dataclasses.replace(duty, drying_temperature=np.maximum(hot, duty.drying_temperature))
    given = dataclasses.replace(duty, throughput=load * duty.design_throughput, design=design)
    operation = run(kind, given, **inputs)
    supplied = sum(operation.heat_in.values())
    assert abs(operation.residual()) <= 1e-9 * supplied
    for name, value in leaves(operation):
        assert not np.isnan(value).any(), name
        assert np.isfinite(value).all() or "capacity_ratio" in name, name
    for name, heat in {**operation.energy, **operation.heat_out}.items():
        assert heat >= -1e-12 * supplied, name
    for name, power in operation.energy.items():
        assert operation.peak[name] >= power * (1 - 1e-12), name
    if load == 0.0:
        assert operation.heat_out["resin"] == 0.0
        assert operation.hopper.water_removed == 0.0
    else:
        assert bought(operation) >= least(given, operation.hopper.resin_outlet_temperature)


@every_type
@examples
@given(duties)
def test_standby_never_costs_more_than_production_at_the_same_temperature(kind, duty):
    idle = run(kind, dataclasses.replace(duty, throughput=np.zeros(())))
    busy = run(kind, duty)
    assert bought(idle) <= bought(busy) * (1 + 1e-12)
    assert idle.power("compressed air") <= busy.power("compressed air") * (1 + 1e-12)


@every_type
def test_inputs_are_frozen_strict_and_filled_from_data(kind):
    inputs = dryer(kind).inputs
    assert inputs.kind == kind
    with pytest.raises(ValueError, match="frozen"):
        inputs.controls_power = 1.0
    with pytest.raises(ValueError, match="Extra inputs are not permitted"):
        dryer(kind, magic=1.0)
    with pytest.raises(ValueError, match="another"):
        dryers.TYPES[kind].Inputs(kind="another")


def test_find():
    assert dryers.find("hot-air") is dryers.TYPES["hot-air"]
    with pytest.raises(UnknownNameError, match=r"'hotair' is not a dryer type; known: .*; did you mean 'hot-air'"):
        dryers.find("hotair")


def test_too_little_air_is_refused_with_the_airflow_that_would_do():
    duty = duty_at(load_resin("PC"), [0.7, 1.0, 0.5, 0.5, 0.0, 0.5, 0.2, 0.2, 0.5])
    for kind in (*CLOSED, *OPEN, "vacuum"):
        with pytest.raises(
            ModelError, match=r"1 kg per kg of resin cannot bring PC .*; at least ([\d.]+) kg/kg is needed"
        ) as error:
            dryer(kind, air_resin_ratio=1.0).run(duty)
        needed = float(str(error.value).rsplit("at least ")[1].split()[0])
        # Three digits; the duct of the larger flow loses a little more.
        assert dryer(kind, air_resin_ratio=1.02 * needed).run(duty).hopper.capacity_ratio == pytest.approx(
            1.02, abs=0.015
        )


def test_resin_fed_hotter_than_the_air_is_refused():
    duty = dataclasses.replace(duty_at(load_resin("ABS"), [0.5] * 9), resin_temperature=np.array(380.0))
    for kind in KINDS:
        for inputs in ({}, {"air_resin_ratio": 3.0}):
            with pytest.raises(ModelError, match=r"resin fed at 107 °C has nothing to take up from air of \d+"):
                dryer(kind, **inputs).run(duty)


def test_cooling_water_too_warm_is_refused():
    duty = dataclasses.replace(duty_at(load_resin("PET"), [0.5] * 9), coolant_temperature=np.array(340.0))
    for kind in CLOSED:
        with pytest.raises(ModelError, match=r"air to the desiccant to .* which cooling water of 66\.9 °C cannot do"):
            dryer(kind).run(duty)


@pytest.mark.parametrize("kind", CLOSED)
@examples
@given(duties)
def test_a_hall_air_cooler_swaps_the_water_for_a_fan_and_changes_nothing_else(kind, duty):
    """Hall air as warm as the water, where the cooler's limit is the same; the heat stays in the hall with the fan's."""
    duty = dataclasses.replace(duty, coolant_temperature=duty.hall_temperature)
    wet, dry = run(kind, duty), run(kind, duty, cooler="hall air", cooler_fan_share=0.05)
    cooled = wet.energy["cooling", "cooling"]
    assert dry.energy["cooling", "cooling"] == 0.0
    assert dry.energy["cooling", "electricity"] == pytest.approx(0.05 * cooled, rel=1e-12)
    assert dry.heat_in["cooler fan"] == dry.energy["cooling", "electricity"]
    assert "aftercooler" not in dry.heat_out
    assert dry.heat_out["aftercooler, to hall air"] == pytest.approx(1.05 * cooled, rel=1e-12)
    assert bought(dry) == pytest.approx(bought(wet) + 0.05 * cooled, rel=1e-12)
    for key, power in wet.energy.items():
        assert key == ("cooling", "cooling") or dry.energy[key] == power, key


@pytest.mark.parametrize("kind", CLOSED)
def test_a_hall_air_cooler_has_no_need_of_water_and_less_to_do_in_a_colder_hall(kind):
    duty = duty_at(load_resin("PET"), [0.6, 0.8, 0.5, 0.0, 0.0, 0.5, 0.4, 0.2, 0.5])
    halls = np.array([283.15, 288.15, 293.15, 298.15, 303.15])
    duty = dataclasses.replace(
        duty,
        hall_temperature=halls,
        resin_temperature=halls,
        hall_dew_point=np.array(275.15),
        coolant_temperature=np.array(340.0),  # no water: its temperature does not matter
    )
    operation = dryer(kind, cooler="hall air", air_resin_ratio=4.0).run(duty)
    fan = operation.energy["cooling", "electricity"]
    assert np.all(fan > 0)
    assert np.all(np.diff(fan) > 0)
    assert np.all(abs(operation.residual()) <= 1e-9 * sum(operation.heat_in.values()))
    # Below its limit the desiccant cools no deeper, so the bed sees the same air in every hall.
    assert operation.details["adsorption_temperature"] == pytest.approx(dryer(kind).inputs.adsorption_limit, abs=1e-6)
    same(kind, duty, (5,), cooler="hall air", air_resin_ratio=4.0)


@pytest.mark.parametrize("kind", CLOSED)
def test_hall_air_too_warm_to_cool_with_is_refused(kind):
    duty = dataclasses.replace(duty_at(load_resin("PET"), [0.5] * 9), coolant_temperature=np.array(283.15))
    with pytest.raises(
        ModelError,
        match=r"to the desiccant to [56]\d(\.\d)? °C, which hall air of 20 °C cannot do; .* or a cooler with water would",
    ):
        dryer(kind, cooler="hall air", cooler_approach=SI(45.0)).run(duty)


@pytest.mark.parametrize("kind", [*CLOSED, *OPEN, "vacuum"])
def test_what_a_gas_heater_loses_leaves_by_the_flue(kind):
    duty = duty_at(load_resin("ABS"), [0.5] * 9)
    operation = dryer(kind, heat_source="gas", gas_efficiency=0.8).run(duty)
    assert operation.heat_out["flue gas"] == pytest.approx(0.2 * operation.energy["process heat", "gas"], rel=1e-12)
    if kind in CLOSED:  # the other heater is electric
        lost = 0.02 * operation.energy["regeneration", "electricity"]
        assert operation.heat_out["heater losses"] == pytest.approx(lost, rel=1e-9)
    else:
        assert "heater losses" not in operation.heat_out


@pytest.mark.parametrize("kind", KINDS)
def test_standby_below_the_hall_is_refused(kind):
    duty = dataclasses.replace(duty_at(load_resin("PC"), [0.5] * 9), throughput=np.array([0.0, 0.01]))
    if kind == "infrared-drum":  # nothing is kept warm in it
        assert bought(dryer(kind, standby_temperature=SI(285.0)).run(duty))[0] == dryer(kind).inputs.controls_power
        return
    with pytest.raises(ModelError, match=r"a standby temperature of 11\.9 °C is below that of the hall, 20 °C"):
        dryer(kind, standby_temperature=SI(285.0)).run(duty)
    # As warm as the pellets: nothing to divide by.
    warm = dataclasses.replace(duty, resin_temperature=np.array(330.0))
    assert np.isfinite(dryer(kind, standby_temperature=SI(330.0)).run(warm).hopper.return_temperature).all()


def test_a_membrane_spends_no_less_than_the_water_balance_asks_and_leaves_some_air():
    duty, kind = duty_at(load_resin("ABS"), [0.5] * 9), "compressed-air-membrane"
    with pytest.raises(ModelError, match="below the physical minimum"):
        dryer(kind, sweep_share=0.02).run(duty)
    low = dataclasses.replace(duty, compressed_air=dataclasses.replace(duty.compressed_air, pressure=np.array(1.3e5)))
    with pytest.raises(ModelError, match="which leaves no air"):
        dryer(kind, sweep_over_least=2.0).run(low)
    # Air that comes drier than the membrane would make it is passed on at no sweep.
    dry = dataclasses.replace(duty.compressed_air, pressure_dew_point=np.array(233.15))
    dried = dryer(kind).run(dataclasses.replace(duty, compressed_air=dry))
    plain = dryer("compressed-air").run(dataclasses.replace(duty, compressed_air=dry))
    assert dried.details["sweep_share"] == 0
    assert dried.delivered_dew_point == plain.delivered_dew_point
    assert bought(dried) == pytest.approx(bought(plain), rel=1e-12)
    assert dried.delivered_dew_point < ZERO - 50
