"""Infrared drum: pellets tumble under radiators for minutes; little air, no hopper."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated, ClassVar, Literal

import numpy as np
from pydantic import Field

from energy.air import moist
from energy.air.constants import LIQUID_WATER_HEAT_CAPACITY
from energy.dryers import base, heater_and_blower, resin_heating
from energy.dryers.base import Duty, Operation
from energy.dryers.hopper_line import Line
from energy.equipment import blower, hopper
from energy.units import Quantity

KIND = "infrared-drum"
LABEL = "infrared drum"
HEATING_RATE = (
    5.0  # warm within a fifth of its time, as radiation brings it; judgement, only the predicted moisture follows
)


class Inputs(base.BlowerInputs):
    """Inputs of an infrared drum."""

    DRIES_IN_HOPPER: ClassVar[bool] = False
    DRIES_AIR: ClassVar[bool] = False
    IN_A_VESSEL: ClassVar[bool] = False
    UNREAD: ClassVar[frozenset[str]] = frozenset(
        (
            *(
                "air_resin_ratio",
                "air_over_least",
                "usable_share",
                "transfer_unit_height",
                "slenderness",
                "wall_thickness",
            ),
            *("insulation_thickness", "insulation_conductivity", "shell_emissivity", "duct_length", "duct_velocity"),
            *("gas_efficiency", "airflow_floor", "return_air_target", "standby_temperature", "standby_flow_share"),
        )
    )
    TIME_BY: ClassVar[str | None] = "drum_time"

    kind: Literal["infrared-drum"] = "infrared-drum"
    heat_source: Literal["electric"] = "electric"
    drum_time: Annotated[float, Quantity("time", label="Time in the drum", shown="min"), Field(gt=10)]
    drum_fill: Annotated[
        float, Quantity("share", label="Share of the drum that pellets fill", shown="%"), Field(gt=0.05, le=0.6)
    ]
    radiant_share: Annotated[
        float, Quantity("share", label="Radiator power that leaves as radiation", shown="%"), Field(gt=0, le=1)
    ]
    coupling: Annotated[
        float, Quantity("share", label="Radiation that the pellets take up", shown="%"), Field(gt=0, le=1)
    ]
    purge_ratio: Annotated[float, Quantity("ratio", label="Purge air per resin (kg/kg)"), Field(gt=0)]
    drive_power: Annotated[
        float, Quantity("specific energy", label="Drum drive per resin at design", shown="Wh/kg"), Field(ge=0)
    ]


@dataclass(frozen=True, slots=True)
class Dryer:
    """An infrared drum."""

    inputs: Inputs

    def run(self, duty: Duty, line: Line | None = None) -> Operation:
        """Steady operation on that duty; it has no hopper.

        Radiation that misses the pellets warms drum and purge air; what neither keeps leaves to the hall.
        """
        inputs, resin = self.inputs, duty.resin
        resin_heating.temperature_lift(duty)
        design_throughput = duty.built_for.design_throughput
        idle = np.asarray(duty.throughput) == 0.0
        hot, t_0 = duty.drying_temperature, duty.hall_temperature
        dried = duty.initial_moisture - duty.final_moisture
        water = duty.throughput * dried
        # Heat that turns a kilogram of the resin's water into vapour of drying temperature.
        vapour = (
            resin_heating.evaporated_water(duty, np.ones(())) + moist.vapour_enthalpy(hot) - moist.vapour_enthalpy(t_0)
        )
        evaporation = water * vapour
        capacity = resin.specific_heat + duty.final_moisture * LIQUID_WATER_HEAT_CAPACITY
        resin_heat = duty.throughput * capacity * (hot - duty.resin_temperature)
        taken = resin_heat + evaporation
        radiators = taken / (inputs.radiant_share * inputs.coupling)

        humidity = np.asarray(duty.hall_humidity)
        flow = inputs.purge_ratio * duty.throughput
        volume = flow * moist.specific_volume(t_0, humidity, duty.pressure)
        shaft = blower.shaft_power(volume, inputs.circuit_pressure, duty.pressure, inputs.blower_efficiency)
        design = inputs.purge_ratio * design_throughput * moist.specific_volume(t_0, humidity, duty.pressure)
        design_shaft = blower.shaft_power(design, inputs.circuit_pressure, duty.pressure, inputs.blower_efficiency)
        electric, rated = heater_and_blower.motor_input(inputs, shaft, design_shaft)
        drum = np.where(idle, 0.0, inputs.drive_power * design_throughput)
        controls = inputs.controls_power + 0.0 * radiators
        # The purge air leaves as hot as the pellets at most, warmed by what misses them; the rest passes to the hall.
        missed = radiators - taken
        most = flow * (moist.enthalpy(hot, humidity) - moist.enthalpy(t_0, humidity)) - shaft
        purge = np.clip(missed, 0.0, np.maximum(most, 0.0))
        energy = {
            ("process heat", "electricity"): radiators,
            ("process blower", "electricity"): electric,
            ("drum drive", "electricity"): drum,
            ("controls", "electricity"): controls,
        }
        lift = hot - duty.resin_temperature
        rating = design_throughput * (capacity * lift + dried * vapour) / (inputs.radiant_share * inputs.coupling)
        return Operation(
            energy=energy,
            peak=energy,
            heat_in={"radiators": radiators, "process blower": electric, "drum drive": drum, "controls": controls},
            heat_out={
                "resin": resin_heat,
                "evaporated water": evaporation,
                "exhaust air": purge + shaft,
                "radiation missed": missed - purge,
                "drum drive": drum,
                "motor and drive losses": electric - shaft,
                "controls": controls,
            },
            delivered_dew_point=np.asarray(duty.hall_dew_point) + 0.0 * radiators,
            air_flow=flow,
            hoppers=(
                hopper.HopperState(
                    resin_outlet_temperature=np.asarray(hot) + 0.0 * radiators,
                    return_temperature=np.asarray(hot) + 0.0 * radiators,
                    return_humidity=humidity + 0.0 * radiators,
                    water_removed=water,
                    resin_heat=resin_heat,
                    capacity_ratio=np.full(np.shape(radiators), np.inf),
                    loss_share=np.zeros(np.shape(radiators)),
                    heating_rate=np.full(np.shape(radiators), HEATING_RATE),
                ),
            ),
            shell_temperature=np.asarray(t_0) + 0.0 * radiators,
            sizing={
                "hopper_volume": design_throughput * inputs.drum_time / resin.bulk_density / inputs.drum_fill,
                "airflow": design,
                "process_heater": rating,
                "regeneration_heater": 0.0 * rating,
                "blower": rated,
                "compressed_air": 0.0 * rating,
                "desiccant": 0.0 * rating,
            },
            starts=(base.Start(energy={}, power=0.0 * rating),),  # the drum is empty and hot within minutes
            air_dried=False,
            residence_time=inputs.drum_time * np.ones_like(radiators),
            hall_air={"exhaust air": flow},
        )
