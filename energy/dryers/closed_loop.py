"""The desiccant circuit shared by the three desiccant types: return air, cooler, blower, desiccant, heater, hopper.

The types differ in inputs only: mass and metal of the beds, cycle, temperatures, how heat is kept or thrown away.
No type carries an efficiency of its own that is not one of those inputs.
"""

from __future__ import annotations

from typing import Annotated, Literal

import numpy as np
from pydantic import Field

from energy.air import moist
from energy.dryers import base
from energy.dryers.base import Array, Duty, Geometry, Operation
from energy.equipment import blower, regeneration
from energy.equipment.desiccant import Desiccant, equilibrium_pressure, load_desiccant, loading
from energy.errors import ModelError
from energy.units import Quantity, show


class Inputs(base.BlowerInputs):
    """Inputs of a closed desiccant circuit."""

    leak_share: Annotated[float, Quantity("share", label="Hall air leaking in", shown="%"), Field(ge=0, le=0.2)]
    adsorption_limit: Annotated[
        float,
        Quantity("temperature", label="Highest air temperature into the desiccant", shown="degC"),
        Field(gt=283, lt=373),
    ]
    cooler_approach: Annotated[
        float, Quantity("temperature difference", label="Aftercooler approach", shown="K"), Field(ge=0)
    ]
    desiccant: Literal["13x", "5a"] = "13x"
    regeneration_temperature: Annotated[
        float,
        Quantity("temperature", label="Regeneration temperature", shown="degC"),
        Field(ge=393.15, le=573.15),
    ]
    regeneration_control: Literal["timer", "dew point"]
    regeneration_heat_source: base.HeatSource = "electric"
    cycle_time: Annotated[
        float, Quantity("time", label="Adsorption time of a bed, or one revolution", shown="h"), Field(gt=0)
    ]
    beds: Annotated[float, Quantity("ratio", label="Beds"), Field(ge=1)]
    heating_share: Annotated[float, Quantity("share", label="Share of the cycle heating", shown="%"), Field(gt=0, le=1)]
    cooling_share: Annotated[float, Quantity("share", label="Share of the cycle cooling", shown="%"), Field(ge=0, le=1)]
    bed_use: Annotated[
        float, Quantity("share", label="Share of the equilibrium swing used", shown="%"), Field(gt=0, le=1)
    ]
    inert_ratio: Annotated[float, Quantity("ratio", label="Metal or carrier heated per desiccant (kg/kg)"), Field(ge=0)]
    inert_specific_heat: Annotated[
        float,
        Quantity("specific heat", label="Heat capacity of metal or carrier", shown="kJ/(kg K)"),
        Field(gt=0),
    ]
    exhaust_share: Annotated[
        float,
        Quantity("share", label="Regeneration heat leaving with the exhaust", shown="%"),
        Field(ge=0, le=0.8),
    ]
    casing_share: Annotated[
        float,
        Quantity("share", label="Regeneration heat lost through casing and ducts", shown="%"),
        Field(ge=0, le=0.5),
    ]
    purge_recovery: Annotated[
        float, Quantity("share", label="Desiccant heat recovered by the purge", shown="%"), Field(ge=0, lt=1)
    ]
    carry_over_share: Annotated[
        float,
        Quantity("share", label="Desiccant heat carried into the process air", shown="%"),
        Field(ge=0, le=1),
    ]
    dew_point_approach: Annotated[
        float, Quantity("temperature difference", label="Dew point above equilibrium", shown="K"), Field(ge=0)
    ]
    design_hall_dew_point: Annotated[
        float,
        Quantity("temperature", label="Hall dew point the beds are sized for", shown="degC"),
        Field(gt=250, lt=310),
    ]
    desiccant_pressure: Annotated[
        float,
        Quantity("pressure difference", label="Pressure drop of the desiccant", shown="kPa"),
        Field(ge=0),
    ]
    regeneration_pressure: Annotated[
        float,
        Quantity("pressure difference", label="Pressure rise of the regeneration blower", shown="kPa"),
        Field(ge=0),
    ]
    regeneration_blower_efficiency: Annotated[
        float, Quantity("share", label="Regeneration blower efficiency", shown="%"), Field(gt=0, le=1)
    ]


def residual_loading(inputs: Inputs, humidity: Array, pressure: Array, desiccant: Desiccant) -> Array:
    """Water left on the desiccant after regeneration with air of that humidity. [kg/kg]"""
    vapour = moist.vapour_pressure(humidity, pressure)
    return loading(vapour, inputs.regeneration_temperature, desiccant)


def delivered_humidity(
    inputs: Inputs, residual: Array, temperature: Array, pressure: Array, desiccant: Desiccant
) -> Array:
    """Humidity of air leaving the regenerated end of the desiccant, the stated approach above equilibrium. [kg/kg]"""
    frost = moist.saturation_temperature(equilibrium_pressure(residual, temperature, desiccant))
    return moist.humidity_ratio(frost + inputs.dew_point_approach, pressure)


def design_water(inputs: Inputs, duty: Duty, built: Geometry) -> Array:
    """Water the beds are sized for: the resin's at design throughput, the leak's at design hall dew point. [kg/s]"""
    hall = moist.humidity_ratio(inputs.design_hall_dew_point, duty.pressure)
    resin = duty.design_throughput * (duty.initial_moisture - duty.final_moisture)
    return np.asarray(resin + inputs.leak_share * built.air_flow * hall)


def design_mass(inputs: Inputs, duty: Duty, built: Geometry, desiccant: Desiccant) -> Array:
    """Desiccant in one bed: the used share of the swing at the warmest inlet takes up a cycle's water. [kg]"""
    water = design_water(inputs, duty, built)
    humidity = water / built.air_flow
    feed = loading(moist.vapour_pressure(humidity, duty.pressure), inputs.adsorption_limit, desiccant)
    hall = moist.humidity_ratio(inputs.design_hall_dew_point, duty.pressure)
    residual = residual_loading(inputs, hall, duty.pressure, desiccant)
    swing = inputs.bed_use * (feed - residual)
    if np.any(swing <= 0):
        raise ModelError(
            "the desiccant takes up no water between "
            f"{show(inputs.adsorption_limit, 'temperature', 'si')} at the inlet and regeneration at "
            f"{show(inputs.regeneration_temperature, 'temperature', 'si')}; "
            "regenerate hotter or cool the inlet"
        )
    return regeneration.bed_mass(water, inputs.cycle_time, swing)


PASSES = 6  # the delivered humidity moves the balance by parts in 1e4: each pass gains three digits


def run(inputs: Inputs, duty: Duty) -> Operation:
    """Steady operation of a closed desiccant circuit.

    Raises
    ------
    ModelError
        The air cannot heat the resin, or the cooling water is too warm for the cooler's duty.
    """
    desiccant, built = load_desiccant(inputs.desiccant), base.geometry(inputs, duty, base.design_ratio(inputs, duty))
    flow, t_dry, pressure = built.air_flow, duty.drying_temperature, duty.pressure
    t_0, w_0 = duty.hall_temperature, np.asarray(duty.hall_humidity)
    loss, outer = base.shell_loss(inputs, duty, built)
    mass = design_mass(inputs, duty, built, desiccant)
    design = design_water(inputs, duty, built)
    residual = residual_loading(inputs, w_0, pressure, desiccant)
    rise = base.bed_pressure_drop(duty, built) + inputs.circuit_pressure + inputs.desiccant_pressure
    leak = inputs.leak_share * flow
    h_leak_in = moist.enthalpy(t_0, w_0)

    t_suction = np.broadcast_to(np.asarray(inputs.adsorption_limit, float), np.shape(flow + t_dry + w_0))
    supply = delivered_humidity(inputs, residual, t_suction, pressure, desiccant)
    for _ in range(PASSES):
        hopper = base.hopper_state(inputs, duty, built, supply, loss)
        h_return = moist.enthalpy(hopper.return_temperature, hopper.return_humidity)
        mixed_humidity = hopper.return_humidity + inputs.leak_share * (w_0 - hopper.return_humidity)
        h_mixed = h_return + inputs.leak_share * (h_leak_in - h_return)
        adsorbed = flow * (mixed_humidity - supply)
        volume = flow * moist.specific_volume(t_suction, mixed_humidity, pressure)
        shaft = blower.shaft_power(volume, rise, pressure, inputs.blower_efficiency)

        # Hottest air allowed into the desiccant: its own limit, and what still lets the heater regulate.
        h_hopper = moist.enthalpy(t_dry, supply)
        h_limit = moist.enthalpy(inputs.adsorption_limit, mixed_humidity)
        h_free = h_mixed + shaft / flow
        bed_in = moist.temperature_from_enthalpy(np.minimum(h_free, h_limit), mixed_humidity)
        regen = regeneration.regenerate(
            water_rate=adsorbed,
            design_water_rate=design,
            mass=mass,
            cycle_time=inputs.cycle_time,
            timed=inputs.regeneration_control == "timer",
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
            ambient_temperature=t_0,
            ambient_humidity=w_0,
            ambient_pressure=pressure,
            pressure_rise=inputs.regeneration_pressure,
            blower_efficiency=inputs.regeneration_blower_efficiency,
        )
        # Enthalpy that the adsorbed water keeps on the desiccant: vapour less the heat it gave off.
        stored = adsorbed * (moist.vapour_enthalpy(bed_in) - desiccant.heat_of_adsorption)
        h_surplus = h_hopper + (stored - regen.carry_over) / flow
        h_bed_in = np.minimum(np.minimum(h_free, h_limit), h_surplus)
        cooled = flow * (h_free - h_bed_in)
        useful = flow * (h_surplus - h_bed_in)  # what is left to the heater; exactly zero where the bed alone overheats
        t_suction = moist.temperature_from_enthalpy(h_bed_in - shaft / flow, mixed_humidity)
        t_bed_out = moist.temperature_from_enthalpy(h_bed_in - stored / flow, supply)
        used, supply = supply, delivered_humidity(inputs, residual, t_bed_out, pressure, desiccant)

    coldest = duty.coolant_temperature + inputs.cooler_approach
    short = np.broadcast_to((cooled > 0) & (t_suction < coldest), np.shape(cooled))
    if np.any(short):
        raise ModelError(
            "the aftercooler would have to cool the return air to "
            f"{show(float(np.min(t_suction)), 'temperature', 'si')}, "
            f"which cooling water of {show(float(np.max(duty.coolant_temperature)), 'temperature', 'si')} cannot do; "
            "less pressure drop, less airflow or colder water would"
        )
    # The balance below is the last pass's own, closed with the humidity that pass used.
    carrier, bought, lost = base.bought_heat(inputs, useful, inputs.heat_source)
    regen_carrier, regen_bought, regen_lost = base.bought_heat(inputs, regen.heater, inputs.regeneration_heat_source)
    regen_on = base.bought_heat(inputs, regen.heater_on, inputs.regeneration_heat_source)[1]
    electric, rated = base.motor_input(shaft, inputs.motor_class, inputs.drive_efficiency)
    heating_shaft_on = regen.heating_shaft / (np.where(regen.activity == 0, 1.0, regen.activity) * inputs.heating_share)
    regen_shaft = regen.heating_shaft + regen.cooling_shaft
    regen_efficiency = blower.motor_efficiency(base.MOTOR_MARGIN * heating_shaft_on, inputs.motor_class)
    regen_electric = regen_shaft / regen_efficiency
    controls = np.broadcast_to(np.asarray(inputs.controls_power, float), np.shape(bought))
    vapour_exit = moist.vapour_enthalpy(regen.exhaust_temperature) - moist.vapour_enthalpy(t_0)
    water = base.evaporated_water(duty, hopper.water_removed)
    moist_difference = (hopper.return_humidity - w_0) * moist.vapour_enthalpy(t_0)
    mean = {
        ("process heat", carrier): bought,
        ("regeneration", regen_carrier): regen_bought,
        ("process blower", "electricity"): electric,
        ("regeneration blower", "electricity"): regen_electric,
        ("controls", "electricity"): controls,
        ("cooling", "cooling"): cooled,
    }
    peak = dict(mean)
    peak["regeneration", regen_carrier] = regen_on
    # One bed may be cooled while the next is heated: then both count.
    steps = max(1.0, inputs.heating_share + inputs.cooling_share)
    peak["regeneration blower", "electricity"] = steps * heating_shaft_on / regen_efficiency
    start = base.startup_heater(inputs, duty, flow, used)
    return Operation(
        energy=mean,
        peak=peak,
        heat_in={
            "process heater": bought,
            "regeneration heater": regen_bought,
            "process blower": electric,
            "regeneration blower": regen_electric,
            "controls": controls,
        },
        heat_out={
            "resin": hopper.resin_heat,
            "evaporated water": water + adsorbed * vapour_exit,
            "aftercooler": cooled,
            "regeneration exhaust": regen.exhaust,
            "regeneration casing": regen.casing,
            "leakage air": leak * (h_return - h_leak_in - moist_difference),
            "shell and ducts": loss,
            "heater losses": lost + regen_lost,
            "motor and drive losses": electric - shaft + regen_electric - regen_shaft,
            "controls": controls,
        },
        delivered_dew_point=moist.dew_point(used, pressure),
        air_flow=flow,
        hopper=hopper,
        shell_temperature=outer,
        sizing={
            "hopper_volume": built.volume,
            "airflow": volume,
            "process_heater": start,
            "regeneration_heater": regen_on,
            "blower": rated,
            "compressed_air": 0.0 * shaft,
            "desiccant": mass * inputs.beds,
        },
        details={
            "adsorption_temperature": moist.temperature_from_enthalpy(h_bed_in, mixed_humidity),
            "pressure_rise": rise,
            "water_adsorbed": adsorbed,
            "swing": regen.swing,
            "equilibrium_swing": loading(moist.vapour_pressure(mixed_humidity, pressure), bed_in, desiccant) - residual,
            "regeneration_heat_per_water": regen_bought / adsorbed,
            "residual_loading": residual + 0.0 * shaft,
            "regeneration_exhaust_temperature": regen.exhaust_temperature,
        },
    )
