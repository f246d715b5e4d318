"""The desiccant circuit shared by the three desiccant types: return air, cooler, blower, desiccant, heater, hopper."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from energy.air import moist, water_vapour
from energy.dryers import (
    base,
    desiccant_beds,
    heater_and_blower,
    hopper_sizing,
    pellet_bed,
    process_control,
    resin_heating,
)
from energy.dryers.base import Array, Duty, Operation
from energy.dryers.circuit_inputs import Inputs
from energy.dryers.hopper_line import Line, lines_of
from energy.equipment import blower, recovery, regeneration
from energy.equipment.desiccant import Desiccant, load_desiccant, loading
from energy.errors import ModelError
from energy.units import show


@dataclass(frozen=True, slots=True, kw_only=True)
class Distribution:
    """What a central system has between its air system and its hoppers; nothing for a dryer at the machine."""

    return_conductance: Array | float = 0.0
    """Heat lost by the return ducts per kelvin above the hall. [W/K]"""
    pressure: Array | float = 0.0
    """Pressure drop of the ducts at design flow. [Pa]"""
    air_spent: Array | float = 0.0
    """Dry air that conveying takes out of the circuit per resin, made up by hall air. [kg/kg]"""
    conveying_work: Array | float = 0.0
    """Electricity that conveying the dried pellets takes. [J/kg]"""
    spare: float = 0.0
    """What blower, beds and regeneration are built for over the sum of the hoppers. [-]"""


def design_water(inputs: Inputs, lines: Sequence[Line], spent: Array, hall: Array) -> Array:
    """Water the beds are sized for: the resin's at design throughput, the leak's from hall air that humid. [kg/s]"""
    sizes = [n.duty.built_for for n in lines]
    resin = sum(d.design_throughput * (d.initial_moisture - d.final_moisture) for d in sizes)
    return np.asarray(resin + (inputs.leak_share * sum(n.built.air_flow for n in lines) + spent) * hall)


_COOLANT = {"water": "cooling water", "hall air": "hall air"}
_COLDER = {"water": "colder water", "hall air": "a cooler with water"}
PASSES = 3  # the last moves no heat flow by more than 1e-6 of itself; where beds let water pass it takes one more


def run(inputs: Inputs, duty: Duty, line: Line | None = None) -> Operation:
    """Steady operation of a closed desiccant circuit with one hopper; see :func:`run_circuit`."""
    return run_circuit(inputs, (duty,), Distribution(), lines=None if line is None else (line,))


def _of_those_on(values: Sequence[Array], on: NDArray[np.bool_] | None, other: float) -> list[Array]:
    """Of each hopper its value where it takes air, elsewhere the other."""
    if on is None or on.all():
        return list(values)
    return [np.where(on[:, i, None], value, other) for i, value in enumerate(values)]


def bed_mass(inputs: Inputs, duties: Sequence[Duty], ducts: Distribution) -> Array:
    """Desiccant in one bed of a system built for these hoppers. [kg]"""
    return _design(inputs, lines_of([(inputs, duty) for duty in duties]), ducts, load_desiccant(inputs.desiccant))[2]


def _design(
    inputs: Inputs, lines: Sequence[Line], ducts: Distribution, desiccant: Desiccant
) -> tuple[Array, Array, Array, Array | None]:
    """What the system is built for: dry air [kg/s], water that comes to the desiccant [kg/s], desiccant in one bed [kg].

    Of beds that are not sized for that water also what a bed takes up in a cycle by design; else None. [kg]
    """
    hall, size = lines[0].duty, 1.0 + ducts.spare
    flow = size * np.asarray(sum(n.built.air_flow for n in lines))
    humid = water_vapour.humidity_ratio(desiccant_beds.design_hall(inputs, hall), hall.pressure)
    spent = ducts.air_spent * np.asarray(sum(n.duty.built_for.design_throughput for n in lines))
    water = size * design_water(inputs, lines, spent, humid)
    swing = desiccant_beds.design_swing(inputs, water, flow, humid, hall.pressure, desiccant)
    mass = hall.bed_mass
    if inputs.desiccant_mass is not None:
        mass = np.asarray(inputs.desiccant_mass / inputs.beds + 0.0 * water)
    if mass is None:
        return flow, water, desiccant_beds.design_mass(inputs, water, swing), None
    return flow, water, mass, mass * np.maximum(swing, 0.0)


def run_circuit(
    inputs: Inputs,
    duties: Sequence[Duty],
    ducts: Distribution,
    on: NDArray[np.bool_] | None = None,
    lines: Sequence[Line] | None = None,
) -> Operation:
    """Steady operation of one desiccant air system and its hoppers, each with its own heater and temperature.

    Parameters
    ----------
    inputs : Inputs
    duties : sequence of Duty
        One per hopper, in one hall; arrays of one shape.
    ducts : Distribution
    on : ndarray of bool, shape (states, hoppers), optional
        Which hoppers take air in each state, on the second last axis of the duties; the others have no throughput. The
        system is built for all. Of a hopper that takes none, the state in the answer stands for nothing.
    lines : sequence of Line, optional
        Its hoppers with their air where those are known already.

    Raises
    ------
    ModelError
        The air cannot heat the resin, or what cools is too warm for the cooler's duty.
    """
    desiccant, lines = load_desiccant(inputs.desiccant), lines or lines_of([(inputs, duty) for duty in duties])
    films = [pellet_bed.film(n.duty, n.built, n.run) for n in lines]
    hall = duties[0]
    pressure, t_0, w_0 = hall.pressure, hall.hall_temperature, np.asarray(hall.hall_humidity)
    flows = _of_those_on([n.run.air_flow for n in lines], on, 0.0)
    losses = _of_those_on([n.loss.hopper for n in lines], on, 0.0)
    duct_losses = _of_those_on([n.loss.duct for n in lines], on, 0.0)
    flow = np.asarray(sum(flows))
    design_flow, design, mass, holds = _design(inputs, lines, ducts, desiccant)
    conveyed = np.asarray(sum(n.duty.throughput for n in lines))
    spent = ducts.air_spent * conveyed
    leak = inputs.leak_share * flow + spent
    residual = desiccant_beds.residual_loading(inputs, w_0, pressure, desiccant)
    share = flow / design_flow
    # The hopper with the highest pressure drop sets what the blower must give; the others are throttled.
    drops = [
        pellet_bed.bed_pressure_drops(n.duty, n.built, f, n.built.air_flow) for n, f in zip(lines, flows, strict=True)
    ]
    beds = [np.maximum.reduce([drop + 0.0 * flow for drop in of_all]) for of_all in zip(*drops, strict=True)]
    circuit = inputs.circuit_pressure + inputs.desiccant_pressure + ducts.pressure
    whole = process_control.Setting(temperature=lines[0].run.temperature, share=share, air_flow=flow)
    rise = heater_and_blower.blower_work(inputs, whole, beds[0], beds[1], circuit)
    h_hall = moist.enthalpy(t_0, w_0)
    coolant = t_0 if inputs.cooler == "hall air" else hall.coolant_temperature
    coldest = coolant + inputs.cooler_approach

    t_suction = np.asarray(inputs.adsorption_limit + 0.0 * (flow + t_0 + w_0))
    t_bed_out = t_suction
    dry = desiccant_beds.delivered_humidity(inputs, residual, t_suction, pressure, desiccant)
    held = 0.0 * dry
    if inputs.dew_point_set_point is not None:
        held = water_vapour.humidity_ratio(np.asarray(inputs.dew_point_set_point, float), pressure) + 0.0 * dry
    supply = np.maximum(dry, held)
    work = blower.shaft_power(1.0, rise, pressure, inputs.blower_efficiency)  # per volume
    heated = regeneration.heated_air(
        t_0,
        w_0,
        pressure,
        regeneration_temperature=inputs.regeneration_temperature,
        exhaust_share=inputs.exhaust_share,
        pressure_rise=inputs.regeneration_pressure,
        blower_efficiency=inputs.regeneration_blower_efficiency,
    )
    ducts_lose, recovers = np.any(ducts.return_conductance), np.any(inputs.return_recovery)
    wet = np.zeros((), dtype=bool)  # where beds let water pass
    for number in range(PASSES + 1):
        states = [
            pellet_bed.hopper_state(inputs, n.duty, n.built, n.run, film, supply, loss)
            for n, film, loss in zip(lines, films, losses, strict=True)
        ]
        parts = list(zip(flows, states, strict=True))
        h_return = sum(f * moist.enthalpy(s.return_temperature, s.return_humidity) for f, s in parts) / flow
        w_return = sum(f * s.return_humidity for f, s in parts) / flow
        duct_loss = np.zeros(())
        if ducts_lose:
            # Air that cools on its way loses less and less.
            t_ducts = moist.temperature_from_enthalpy(h_return, w_return)
            capacity = flow * moist.heat_capacity(t_ducts, w_return)
            duct_loss = capacity * (t_ducts - t_0) * -np.expm1(-ducts.return_conductance / capacity)
        h_return = h_return - duct_loss / flow
        mixed_humidity = w_return + leak / flow * (w_0 - w_return)
        h_mixed = h_return + leak / flow * (h_hall - h_return)
        adsorbed = flow * (mixed_humidity - supply)
        specific = moist.specific_volume(t_suction, mixed_humidity, pressure)
        shaft = flow * specific * work

        # Hottest air allowed into the desiccant: its own limit, and what still lets the heaters regulate.
        h_hoppers = [moist.enthalpy(n.run.temperature, supply) + n.loss.duct / n.run.air_flow for n in lines]
        h_coolest = np.minimum.reduce(_of_those_on(h_hoppers, on, np.inf))
        h_limit = moist.enthalpy(inputs.adsorption_limit, mixed_humidity)
        h_free = h_mixed + shaft / flow
        bed_in = moist.temperature_from_enthalpy(np.minimum(h_free, h_limit), mixed_humidity)
        cycle, takes = desiccant_beds.shortest_cycle(inputs, np.maximum(design, adsorbed), holds)
        regen = regeneration.regenerate(
            water_rate=adsorbed,
            design_water_rate=design if takes is None else takes,
            mass=mass,
            cycle_time=cycle,
            timed=np.asarray(inputs.regeneration_control) == "timer",
            adsorption_temperature=bed_in,
            regeneration_temperature=inputs.regeneration_temperature,
            residual_loading=residual,
            desiccant=desiccant,
            inert_ratio=inputs.inert_ratio,
            inert_specific_heat=inputs.inert_specific_heat,
            exhaust_share=inputs.exhaust_share,
            casing_share=inputs.casing_share,
            purge_recovery=inputs.purge_recovery,
            carry_over_share=inputs.carry_over_share,
            heating_share=inputs.heating_share,
            cooling_share=inputs.cooling_share,
            heated=heated,
            recovery=inputs.regeneration_recovery,
            longer_use=desiccant_beds.longer_use(inputs.bed_use, dry, held, mixed_humidity),
            turning=np.asarray(inputs.beds) == 1.0,
        )
        # Enthalpy that the adsorbed water keeps on the desiccant: vapour less the heat it gave off.
        stored = adsorbed * (moist.vapour_enthalpy(bed_in) - desiccant.heat_of_adsorption)
        h_surplus = h_coolest + (stored - regen.carry_over) / flow
        # Recovery passes heat from the return air to the air after the desiccant; a bypass keeps it below what the
        # coolest hopper's heater would have to give.
        saved = 0.0 * shaft
        if recovers:
            capacity = flow * moist.heat_capacity(t_suction, mixed_humidity)
            t_mixed = moist.temperature_from_enthalpy(h_mixed, mixed_humidity)
            saved = recovery.recovered(inputs.return_recovery, capacity, t_mixed, capacity, t_bed_out)
            saved = np.minimum(saved, np.maximum(flow * (h_surplus - np.minimum(h_free, h_limit)), 0.0))
            h_free, h_surplus = h_free - saved / flow, h_surplus - saved / flow
        h_bed_in = np.minimum(np.minimum(h_free, h_limit), h_surplus)
        cooled = flow * (h_free - h_bed_in)
        # What is left to the heaters; exactly zero where the bed alone overheats the coolest hopper's air.
        useful = [f * ((h - h_coolest) + (h_surplus - h_bed_in)) for f, h in zip(flows, h_hoppers, strict=True)]
        leaks_out = leak * (supply - np.maximum(dry, held))
        if number == PASSES or (number == PASSES - 1 and not wet.any()):
            break
        known = t_suction, t_bed_out, dry, supply
        # The cooler stands before the blower and cools as far as its coolant can; the rest is cooled behind the blower.
        # Behind the cooler the shaft's heat rises with the suction temperature itself; one step of Newton's on that.
        lift = shaft / flow
        aimed = moist.temperature_from_enthalpy(h_bed_in - lift, mixed_humidity)
        slope = lift / (t_suction * moist.heat_capacity(aimed, mixed_humidity))
        met = t_suction + (aimed - t_suction) / (1.0 + slope)
        t_suction = np.where(cooled > 0, np.maximum(met, coldest), aimed)
        t_bed_out = moist.temperature_from_enthalpy(h_bed_in - stored / flow, supply)
        # Water for the desiccant if none of it passed; what leaks out of what passes is asked of no desiccant.
        asked = mixed_humidity - supply + leak / flow * (supply - dry)
        dry = desiccant_beds.delivered_humidity(inputs, residual, t_bed_out, pressure, desiccant)
        coldest_air = np.minimum.reduce(_of_those_on([s.return_temperature for s in states], on, np.inf))
        passed = desiccant_beds.passed(
            inputs,
            asked,
            dry,
            leak / flow,
            residual,
            mass / (inputs.cycle_time * flow),
            bed_in,
            np.minimum(coldest_air, bed_in),
            pressure,
            desiccant,
        )
        supply = np.maximum(dry + passed, held)
        if number == PASSES - 1:  # one pass more only where it is needed: no dryer hangs on those beside it
            found = t_suction, t_bed_out, dry, supply
            t_suction, t_bed_out, dry, supply = (np.where(wet, a, b) for a, b in zip(found, known, strict=True))
        wet = passed > 0.0

    t_bed_in = moist.temperature_from_enthalpy(h_bed_in, mixed_humidity)
    short = np.broadcast_to((cooled > 0) & (t_bed_in < coldest), np.shape(cooled))
    if short.any():
        for n, state, loss in zip(lines, states, losses, strict=True):
            pellet_bed.refuse_too_much_resin(n.duty, state, loss, short)
        raise ModelError(
            "the aftercooler would have to cool the air to the desiccant to "
            f"{show(float(np.min(t_bed_in)), 'temperature', 'si')}, "
            f"which {_COOLANT[inputs.cooler]} of {show(float(np.max(coolant)), 'temperature', 'si')} cannot do; "
            f"{'' if inputs.desiccant_mass is None else 'less desiccant (desiccant_mass), '}"
            f"less pressure drop, less airflow or {_COLDER[inputs.cooler]} would",
            short,
        )
    # The balance below is the last pass's own, closed with the humidity that pass used.
    carrier, bought, lost = heater_and_blower.bought_heat(inputs, np.asarray(sum(useful)), inputs.heat_source)
    regen_carrier, regen_bought, regen_lost = heater_and_blower.bought_heat(
        inputs, regen.heater, inputs.regeneration_heat_source
    )
    regen_on = heater_and_blower.bought_heat(inputs, regen.heater_on, inputs.regeneration_heat_source)[1]
    design_rise = beds[1] + circuit
    design_shaft = blower.shaft_power(design_flow * specific, design_rise, pressure, inputs.blower_efficiency)
    electric, rated = heater_and_blower.motor_input(inputs, shaft, design_shaft)
    heating_shaft_on = regen.heating_shaft / np.where(regen.on_share == 0.0, 1.0, regen.on_share)
    regen_shaft = regen.heating_shaft + regen.cooling_shaft
    regen_efficiency = blower.motor_efficiency(heater_and_blower.MOTOR_MARGIN * heating_shaft_on, inputs.motor_class)
    regen_electric = regen_shaft / regen_efficiency
    controls = inputs.controls_power + 0.0 * bought
    vapour_exit = moist.vapour_enthalpy(regen.exhaust_temperature) - moist.vapour_enthalpy(t_0)
    water = sum(resin_heating.evaporated_water(n.duty, s.water_removed) for n, s in zip(lines, states, strict=True))
    moist_difference = (w_return - w_0) * moist.vapour_enthalpy(t_0)
    mean = {
        ("process heat", carrier): bought,
        ("regeneration", regen_carrier): regen_bought,
        ("process blower", "electricity"): electric,
        ("regeneration blower", "electricity"): regen_electric,
        ("controls", "electricity"): controls,
        ("cooling", "cooling"): cooled,
    }
    heat_in = {
        "process heater": bought,
        "regeneration heater": regen_bought,
        "process blower": electric,
        "regeneration blower": regen_electric,
        "controls": controls,
    }
    conveying = {}
    if np.any(np.asarray(ducts.conveying_work) > 0.0):
        conveying = {"conveying": ducts.conveying_work * conveyed + 0.0 * bought}
        mean["conveying", "electricity"] = heat_in["conveying"] = conveying["conveying"]
    aftercooler = {"aftercooler": cooled}
    if inputs.cooler == "hall air":
        fan = inputs.cooler_fan_share * cooled
        mean |= {("cooling", "cooling"): 0.0 * cooled, ("cooling", "electricity"): fan}
        heat_in["cooler fan"] = fan
        aftercooler = {"aftercooler, to hall air": cooled + fan}
    peak = dict(mean)
    peak["regeneration", regen_carrier] = regen_on
    # One bed may be cooled while the next is heated: then both count.
    steps = np.maximum(1.0, inputs.heating_share + inputs.cooling_share)
    peak["regeneration blower", "electricity"] = steps * heating_shaft_on / regen_efficiency
    hot = [hopper_sizing.hot_loss(inputs, n.duty, n.built, n.loss) for n in lines]
    starts = [
        heater_and_blower.startup_heater(inputs, n.duty, n.built, supply, h) for n, h in zip(lines, hot, strict=True)
    ]
    return Operation(
        energy=mean,
        peak=peak,
        heat_in=heat_in,
        heat_out={
            "resin": np.asarray(sum(s.resin_heat for s in states)),
            "evaporated water": water + adsorbed * vapour_exit,
            **aftercooler,
            "regeneration exhaust": regen.exhaust,
            "regeneration casing": regen.casing,
            "leakage air": leak * (h_return - h_hall - moist_difference),
            "shell and ducts": np.asarray(sum(a + b for a, b in zip(losses, duct_losses, strict=True))) + duct_loss,
            **heater_and_blower.heater_losses((carrier, lost), (regen_carrier, regen_lost)),
            "motor and drive losses": electric - shaft + regen_electric - regen_shaft,
            "controls": controls,
            **conveying,
        },
        delivered_dew_point=water_vapour.dew_point(supply, pressure),
        air_flow=flow,
        hoppers=tuple(states),
        shell_temperature=np.maximum.reduce(_of_those_on([n.loss.outer + 0.0 * flow for n in lines], on, 0.0)),
        sizing={
            "hopper_volume": np.asarray(sum(n.built.volume for n in lines)),
            "airflow": design_flow * specific,
            "process_heater": np.asarray(sum(_of_those_on(starts, on, 0.0))),
            "regeneration_heater": regen_on,
            "blower": rated,
            "compressed_air": 0.0 * shaft,
            "desiccant": mass * inputs.beds,
        },
        details={
            "adsorption_temperature": t_bed_in,
            "pressure_rise": rise,
            "water_adsorbed": adsorbed,
            "swing": regen.swing,
            "desiccant_load": (regen.swing + leaks_out * cycle / mass)
            / (loading(water_vapour.vapour_pressure(mixed_humidity, pressure), bed_in, desiccant) - residual),
            "regeneration_heat_per_water": regen_bought / np.where(adsorbed == 0.0, np.inf, adsorbed),
            "residual_loading": residual + 0.0 * shaft,
            "regeneration_exhaust_temperature": regen.exhaust_temperature,
            "heat_recovered": saved,
            base.SHAFT: shaft,
            **(
                {base.AIR_PER_RESIN: lines[0].built.air_flow / duties[0].built_for.design_throughput}
                if len(lines) == 1
                else {}
            ),
        },
        starts=tuple(
            heater_and_blower.start_of(inputs, n.duty, n.built, h, power, n.built.air_flow * inputs.standby_flow_share)
            for n, h, power in zip(lines, hot, starts, strict=True)
        ),
        hall_air={"regeneration exhaust": regen.mean_air_flow},
    )
