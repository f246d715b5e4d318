"""Vacuum: a charge is warmed by recirculated hot air, held under vacuum, then kept warm; three vessels take turns."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Annotated, ClassVar, Literal

import numpy as np
from pydantic import Field

from energy.air import moist, saturation
from energy.air.constants import LIQUID_WATER_HEAT_CAPACITY, MASS_RATIO
from energy.dryers import base, heater_and_blower, hopper_sizing, pellet_bed, resin_heating
from energy.dryers.base import Array, Duty, Operation
from energy.dryers.hopper_line import Line, line_of
from energy.equipment import blower, hopper, vacuum
from energy.units import Quantity

KIND = "vacuum"
LABEL = "vacuum"
VESSELS = 3
WARM_AT_ONCE = 50.0  # rate of warming over the stay; any large number says that the charge comes warm


class Inputs(base.BlowerInputs):
    """Inputs of a vacuum dryer."""

    DRIES_IN_HOPPER: ClassVar[bool] = False
    DRIES_AIR: ClassVar[bool] = False
    UNREAD: ClassVar[frozenset[str]] = frozenset(("transfer_unit_height", "airflow_floor", "return_air_target"))
    TIME_BY: ClassVar[str | None] = "cycle_time"

    kind: Literal["vacuum"] = "vacuum"
    cycle_time: Annotated[
        float, Quantity("time", label="Time of each step: heat, vacuum, hold", shown="min"), Field(gt=60)
    ]
    vacuum_pressure: Annotated[
        float, Quantity("pressure", label="Pressure held", shown="mbar(a)"), Field(gt=100, lt=5e4)
    ]
    vapour_share: Annotated[
        float, Quantity("share", label="Water vapour in the gas under vacuum", shown="%"), Field(gt=0, le=1)
    ]
    evacuation_share: Annotated[
        float, Quantity("share", label="Share of the vacuum step spent pumping down", shown="%"), Field(gt=0, lt=1)
    ]
    pump: Literal["pump", "ejector"] = "pump"
    pump_efficiency: Annotated[
        float, Quantity("share", label="Pump efficiency, isothermal", shown="%"), Field(gt=0, le=1)
    ]
    ejector_ratio: Annotated[float, Quantity("ratio", label="Free air spent per volume taken in"), Field(gt=0)]
    recirculation_loss: Annotated[
        float, Quantity("share", label="Hot air lost from the recirculation", shown="%"), Field(ge=0, lt=1)
    ]

    def vessel(self, duty: Duty) -> Duty:
        """The duty with the residence time of one vessel's charge."""
        step = np.asarray(duty.residence_time) * 0.0 + self.cycle_time
        design = None if duty.design is None else replace(duty.design, residence_time=step)
        return replace(duty, residence_time=step, design=design)


@dataclass(frozen=True, slots=True)
class Dryer:
    """A vacuum dryer."""

    inputs: Inputs

    def run(self, duty: Duty, line: Line | None = None) -> Operation:
        """Steady operation on that duty: the mean over its cycle.

        Heat leaves with the pellets, their water, the three shells and the air lost from the recirculation. The water
        evaporates under vacuum from the heat the pellets hold; hot air makes that up while they are kept warm. The pump
        runs at one speed: it empties a vessel in the time stated and carries the design's vapour away with its purge.
        """
        inputs, resin = self.inputs, duty.resin
        resin_heating.temperature_lift(duty)
        line = line or line_of(inputs, duty)
        design_throughput = duty.built_for.design_throughput
        step = inputs.vessel(duty).residence_time
        idle = np.asarray(duty.throughput) == 0.0
        hot, built, shell = line.run.temperature, line.built, line.loss
        loss = VESSELS * shell.hopper + shell.duct

        warm_bed = replace(duty, resin_temperature=hot)  # recirculated air leaves the charge nearly as hot as it came
        # Heating: the resin's airflow goes round through blower, heater and charge; a share of it is lost and made up.
        flow = line.run.air_flow
        humidity = np.asarray(duty.hall_humidity)
        beds = pellet_bed.bed_pressure_drops(warm_bed, built, flow, built.air_flow)
        rise, design_rise = (bed + inputs.circuit_pressure for bed in beds)
        specific = moist.specific_volume(hot, humidity, duty.pressure)
        shaft = blower.shaft_power(flow * specific, rise, duty.pressure, inputs.blower_efficiency)
        design_shaft = blower.shaft_power(
            built.air_flow * specific, design_rise, duty.pressure, inputs.blower_efficiency
        )
        electric, rated = heater_and_blower.motor_input(inputs, shaft, design_shaft)
        lost_air = inputs.recirculation_loss * flow
        exhaust = lost_air * (moist.enthalpy(hot, humidity) - moist.enthalpy(duty.hall_temperature, humidity))

        water = duty.throughput * (duty.initial_moisture - duty.final_moisture)
        evaporation = resin_heating.evaporated_water(duty, water) + water * (
            moist.vapour_enthalpy(hot) - moist.vapour_enthalpy(duty.hall_temperature)
        )
        capacity = resin.specific_heat + duty.final_moisture * LIQUID_WATER_HEAT_CAPACITY
        warm = duty.throughput * capacity * (hot - duty.resin_temperature)
        # Over its step the air of the heating vessel gives no more than its whole lift.
        need = warm + shell.hopper
        given = (
            flow * moist.heat_capacity(0.5 * (hot + duty.resin_temperature), humidity) * (hot - duty.resin_temperature)
        )
        capacity_ratio = np.where(idle, np.inf, given / np.where(need == 0.0, 1.0, need))
        state = _state(duty, water, warm, hot, capacity_ratio)
        pellet_bed.refuse_too_little_air(duty, flow, state, shell.hopper, ~idle & (capacity_ratio < 1.0))
        partial = inputs.vapour_share * inputs.vacuum_pressure
        # The rest of the gas under vacuum is hall air let in to sweep the vapour out.
        swept = water * (1.0 - inputs.vapour_share) / (inputs.vapour_share * MASS_RATIO)
        exhaust = exhaust + swept * (moist.enthalpy(hot, humidity) - moist.enthalpy(duty.hall_temperature, humidity))
        useful = warm + evaporation + loss + exhaust - shaft
        surplus = np.maximum(-useful, 0.0)  # a blower that gives more than is taken up: vented
        useful = np.maximum(useful, 0.0)
        carrier, bought, heater_lost = heater_and_blower.bought_heat(inputs, useful, inputs.heat_source)

        # Vacuum: one vessel a step is pumped down and held. The voids of the bed and the free top are gas.
        gas = built.volume - design_throughput * step / resin.density
        design_duty = duty.built_for
        design_water = design_throughput * (design_duty.initial_moisture - design_duty.final_moisture)
        most_down = inputs.evacuation_share * step
        speed = np.maximum(
            vacuum.pumping_speed(gas, most_down, duty.pressure, inputs.vacuum_pressure),
            vacuum.vapour_load(design_water, design_duty.drying_temperature, partial),
        )
        # A pump as fast as the vapour asks empties the vessel sooner.
        down = vacuum.pumping_time(gas, speed, duty.pressure, inputs.vacuum_pressure)
        work = vacuum.evacuation_work(gas, duty.pressure, inputs.vacuum_pressure)
        hold = vacuum.holding_power(speed, inputs.vacuum_pressure, duty.pressure)
        running = np.where(idle, 0.0, 1.0)
        pump = running * (work / step + (1.0 - down / step) * hold) / inputs.pump_efficiency
        energy = {("process heat", carrier): bought, ("process blower", "electricity"): electric}
        heat_in = {"process heater": bought, "process blower": electric}
        free_air = 0.0 * pump
        if inputs.pump == "pump":
            energy["vacuum", "electricity"] = pump
            heat_in["vacuum pump"] = pump
            out = {"vacuum pump": pump}
            peak_vacuum = speed * duty.pressure / np.e / inputs.pump_efficiency  # p ln(p0/p) is greatest at p0 / e
        else:
            supply = duty.compressed_air
            free_air = speed * inputs.ejector_ratio * running / (1.0 - supply.line_leak_share)
            spent = free_air * supply.marginal_power
            energy["compressed air", "compressed air"] = spent
            heat_in["compressor electricity"] = spent
            out = {"compressor house": spent}
            peak_vacuum = 0.0 * pump
        controls = inputs.controls_power + 0.0 * bought
        energy["controls", "electricity"] = controls
        peak = dict(energy)
        if inputs.pump == "pump":
            peak["vacuum", "electricity"] = np.maximum(pump, running * peak_vacuum * np.minimum(down / 900.0, 1.0))
        warm_shell = hopper_sizing.hot_loss(inputs, duty, built, shell)
        start = heater_and_blower.startup_heater(inputs, duty, built, humidity, warm_shell)
        # Air that goes round brings the heat back; what is lost of it does not.
        away = inputs.recirculation_loss * inputs.standby_flow_share * built.air_flow
        return Operation(
            energy=energy,
            peak=peak,
            heat_in={**heat_in, "controls": controls},
            heat_out={
                "resin": warm,
                "evaporated water": evaporation,
                "exhaust air": exhaust + surplus,
                "shell and ducts": loss,
                **heater_and_blower.heater_losses((carrier, heater_lost)),
                "motor and drive losses": electric - shaft,
                **out,
                "controls": controls,
            },
            delivered_dew_point=saturation.saturation_temperature(partial + 0.0 * bought),
            air_flow=flow,
            hoppers=(state,),
            shell_temperature=shell.outer,
            sizing={
                "hopper_volume": VESSELS * built.volume,
                "airflow": built.air_flow * specific,
                "process_heater": start,
                "regeneration_heater": 0.0 * start,
                "blower": rated,
                "compressed_air": free_air,
                "desiccant": 0.0 * start,
            },
            details={
                "pressure_rise": rise + 0.0 * bought,
                "pumping_speed": speed + 0.0 * bought,
                "vessel_diameter": built.diameter + 0.0 * bought,
            },
            starts=(heater_and_blower.start_of(inputs, duty, built, warm_shell, start, away, VESSELS),),
            air_dried=False,
            # Half the heating step on average, the whole vacuum and holding steps.
            residence_time=2.5 * step * design_throughput / np.where(idle, design_throughput, duty.throughput),
            hall_air={"exhaust air": lost_air + swept},
        )


def _state(duty: Duty, water: Array, resin_heat: Array, hot: Array, capacity_ratio: Array) -> hopper.HopperState:
    """What a hopper's state tells of a batch: it is warm from the start."""
    return hopper.HopperState(
        resin_outlet_temperature=hot,
        return_temperature=hot,
        return_humidity=np.asarray(duty.hall_humidity),
        water_removed=water,
        resin_heat=resin_heat,
        capacity_ratio=capacity_ratio,
        loss_share=np.zeros(np.shape(water)),
        heating_rate=np.full(np.shape(water), WARM_AT_ONCE),
    )
