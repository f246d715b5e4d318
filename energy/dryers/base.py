"""What every dryer type shares: the duty it is given, the operation it answers with, and the inputs of any hopper."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from types import MappingProxyType
from typing import Annotated, Any, Literal, Protocol

import numpy as np
from numpy.typing import NDArray
from pydantic import BaseModel, ConfigDict, Field, model_validator

from energy.air import moist
from energy.equipment import blower, heater, hopper
from energy.errors import ModelError
from energy.resins.properties import Resin
from energy.sources import load
from energy.units import SI, Quantity, show

Array = NDArray[np.float64]
HeatSource = Literal["electric", "gas"]

END_USES = (
    "process heat",
    "regeneration",
    "process blower",
    "regeneration blower",
    "compressed air",
    "controls",
)
CARRIERS = ("electricity", "gas", "compressed air", "cooling")


@dataclass(frozen=True, slots=True, kw_only=True)
class CompressedAir:
    """The plant's compressed air as the dryer's meter would see it."""

    pressure: Array
    """At the dryer. [Pa absolute]"""
    pressure_dew_point: Array
    """[K]"""
    marginal_power: Array
    """Electricity that one more cubic metre of free air takes at the compressor and its air dryer. [J/m3]"""
    line_leak_share: Array
    """Share of the flow sent that leaks before it arrives. [-]"""


@dataclass(frozen=True, slots=True, kw_only=True)
class Duty:
    """What one hopper asks of a dryer. Arrays broadcast; last axis = operating periods, leading axes = draws."""

    resin: Resin
    throughput: Array
    """Dry resin now. [kg/s]"""
    design_throughput: Array
    """For which the dryer is built. [kg/s]"""
    drying_temperature: Array
    """[K]"""
    residence_time: Array
    """At design throughput. [s]"""
    resin_temperature: Array
    """Of the pellets fed. [K]"""
    initial_moisture: Array
    """[kg/kg dry]"""
    final_moisture: Array
    """[kg/kg dry]"""
    hall_temperature: Array
    """[K]"""
    hall_dew_point: Array
    """[K]"""
    pressure: Array
    """Atmospheric. [Pa]"""
    coolant_temperature: Array
    """Of the cooling water. [K]"""
    compressed_air: CompressedAir

    @property
    def hall_humidity(self) -> Array:
        """[kg/kg]"""
        return moist.humidity_ratio(self.hall_dew_point, self.pressure)


@dataclass(frozen=True, slots=True, kw_only=True)
class Operation:
    """A dryer at work on a duty. All power is the mean over the period. [W]"""

    energy: Mapping[tuple[str, str], Array]
    """(end use, carrier) -> power bought; carrier ``cooling`` is heat handed to the cooling water."""
    peak: Mapping[tuple[str, str], Array]
    """The same as the highest 15-minute mean."""
    heat_in: Mapping[str, Array]
    heat_out: Mapping[str, Array]
    delivered_dew_point: Array
    """Of the air entering the hopper; frost point below 0.01 degC. [K]"""
    air_flow: Array
    """Dry process air. [kg/s]"""
    hopper: hopper.HopperState
    shell_temperature: Array
    """Outer face of the insulation. [K]"""
    sizing: Mapping[str, Array]
    """SI: hopper_volume [m3], airflow [m3/s actual at the blower or free air], process_heater, regeneration_heater,
    blower [W], compressed_air [m3/s free air], desiccant [kg]."""
    details: Mapping[str, Array] = field(default_factory=lambda: MappingProxyType({}))
    """Further states of the type. SI."""

    def power(self, carrier: str) -> Array:
        """Mean power of one carrier. [W]"""
        return _total([v for (_, c), v in self.energy.items() if c == carrier], self.air_flow)

    def peak_electricity(self) -> Array:
        """Highest 15-minute electrical power, the compressor's included. [W]"""
        return _total([v for (_, c), v in self.peak.items() if c in ("electricity", "compressed air")], self.air_flow)

    def residual(self) -> Array:
        """Heat in less heat out. [W]"""
        return _total(self.heat_in.values(), self.air_flow) - _total(self.heat_out.values(), self.air_flow)


def _total(parts: Any, like: Array) -> Array:
    return sum((np.asarray(p) for p in parts), start=np.zeros_like(like))


class Dryer(Protocol):
    """The one small interface of a type."""

    def run(self, duty: Duty) -> Operation:
        """Steady operation on that duty."""
        ...


class Inputs(BaseModel):
    """Inputs of a hopper with its heater, whatever dries the air. Missing ones come from data/dryers/<kind>.toml."""

    model_config = ConfigDict(frozen=True, extra="forbid")

    kind: str
    air_resin_ratio: Annotated[float | None, Quantity("ratio", label="Air to resin ratio (kg/kg)"), Field(gt=0)] = None
    """Dry air per resin at design throughput. None: by :func:`design_ratio`. [kg/kg]"""
    air_over_least: Annotated[
        float, Quantity("ratio", label="Air flow over the least that heats the resin"), Field(ge=1)
    ]
    """[-]"""
    usable_share: Annotated[float, Quantity("share", label="Usable hopper volume", shown="%"), Field(gt=0, le=1)]
    flow_transfer_units: Annotated[float, Quantity("ratio", label="Transfer units left by uneven flow"), Field(ge=1)]
    """What uneven flow of air and pellets leaves of the bed's heat transfer; even flow would give hundreds. [-]"""
    hopper_flow: Literal["mass flow", "funnels"] = "mass flow"
    slenderness: Annotated[float, Quantity("ratio", label="Hopper height to diameter"), Field(ge=0.5, le=6)]
    insulation_thickness: Annotated[float, Quantity("length", label="Hopper insulation", shown="mm"), Field(ge=0)]
    insulation_conductivity: Annotated[
        float, Quantity("conductivity", label="Insulation conductivity", shown="W/(m K)"), Field(gt=0)
    ]
    shell_emissivity: Annotated[float, Quantity("share", label="Shell emissivity"), Field(ge=0, le=1)]
    duct_length: Annotated[float, Quantity("length", label="Hot duct length", shown="m"), Field(ge=0)]
    duct_velocity: Annotated[float, Quantity("velocity", label="Air velocity in ducts", shown="m/s"), Field(gt=0)]
    heat_source: HeatSource = "electric"
    heater_efficiency: Annotated[
        float, Quantity("share", label="Electric heater efficiency", shown="%"), Field(gt=0, le=1)
    ]
    gas_efficiency: Annotated[
        float,
        Quantity("share", label="Gas heater efficiency (higher heating value)", shown="%"),
        Field(gt=0, le=1),
    ]
    controls_power: Annotated[float, Quantity("power", label="Controls and valves", shown="W"), Field(ge=0)]

    @model_validator(mode="before")
    @classmethod
    def _fill(cls, given: Any) -> Any:
        if not isinstance(given, dict):
            return given
        filled = dict(given)
        for key, stored in load(f"dryers/{cls.model_fields['kind'].default}").items():
            if key not in filled:
                filled[key] = SI(stored.si) if isinstance(stored.si, float) else stored.si
        return filled


class BlowerInputs(Inputs):
    """A dryer with its own process blower."""

    circuit_pressure: Annotated[
        float,
        Quantity("pressure difference", label="Pressure drop of filter, ducts and heater", shown="kPa"),
        Field(ge=0),
    ]
    blower_efficiency: Annotated[float, Quantity("share", label="Blower efficiency", shown="%"), Field(gt=0, le=1)]
    motor_class: Literal["IE1", "IE2", "IE3", "IE4"]
    drive_efficiency: Annotated[float, Quantity("share", label="Drive efficiency", shown="%"), Field(gt=0, le=1)]


MOTOR_MARGIN = 1.15  # rated power over shaft power at the working point; common practice


@dataclass(frozen=True, slots=True, kw_only=True)
class Geometry:
    """A hopper built for the design throughput."""

    volume: Array
    height: Array
    area: Array
    """Free area for the air. [m2]"""
    diameter: Array
    duct_diameter: Array
    """Of the hot duct. [m]"""
    air_flow: Array
    """Design flow of dry air. [kg/s]"""


def geometry(inputs: Inputs, duty: Duty, ratio: Array | float) -> Geometry:
    """Hopper and hot duct for the design throughput and an air flow per resin. [kg/kg]"""
    resin = duty.resin
    volume = hopper.bed_volume(duty.design_throughput, duty.residence_time, resin.bulk_density, inputs.usable_share)
    diameter = hopper.bed_diameter(volume, inputs.slenderness)
    height = inputs.slenderness * diameter
    air_flow = np.asarray(ratio * np.asarray(duty.design_throughput, float))
    hot = air_flow * moist.specific_volume(duty.drying_temperature, 0.0, duty.pressure)
    duct_diameter = np.sqrt(4.0 * hot / inputs.duct_velocity / np.pi)
    return Geometry(
        volume=volume,
        height=height,
        area=np.pi / 4.0 * diameter**2,
        diameter=diameter,
        duct_diameter=duct_diameter,
        air_flow=air_flow,
    )


def temperature_lift(duty: Duty) -> Array:
    """Drying temperature less that of the pellets fed. [K]

    Raises
    ------
    ModelError
        The pellets come as hot as the drying air, or hotter.
    """
    lift = np.asarray(duty.drying_temperature - duty.resin_temperature)
    if np.any(lift <= 0.0):
        fed, dry = (
            show(float(np.max(t)), "temperature", "si") for t in (duty.resin_temperature, duty.drying_temperature)
        )
        raise ModelError(
            f"resin fed at {fed} has nothing to take up from air of {dry}; a lower feed temperature is needed"
        )
    return lift


def least_ratio(inputs: Inputs, duty: Duty) -> Array:
    """Dry air per resin at design throughput that just heats resin, water and shell. [kg/kg]"""
    resin, lift = duty.resin, temperature_lift(duty)
    loss = shell_loss(inputs, duty, geometry(inputs, duty, resin.air_resin_ratio))[0]
    water = duty.design_throughput * (duty.initial_moisture - duty.final_moisture)
    middle = 0.5 * (duty.drying_temperature + duty.resin_temperature)
    liquid = moist.LIQUID_WATER_HEAT_CAPACITY
    evaporation = water * (moist.vapour_enthalpy(middle) - liquid * (duty.resin_temperature - moist.ZERO_CELSIUS))
    specific_heat = resin.specific_heat + duty.final_moisture * liquid
    need = hopper.airflow_needed(duty.design_throughput, specific_heat, evaporation, loss, lift, middle)
    return need / duty.design_throughput


def design_ratio(inputs: Inputs, duty: Duty) -> Array:
    """Air per resin that a blower dryer is built for: as given, or the resin's usual, but enough to heat it. [kg/kg]"""
    if inputs.air_resin_ratio is not None:
        return np.asarray(inputs.air_resin_ratio)
    return np.maximum(duty.resin.air_resin_ratio, inputs.air_over_least * least_ratio(inputs, duty))


def shell_loss(inputs: Inputs, duty: Duty, built: Geometry) -> tuple[Array, Array]:
    """Loss of hopper and hot duct [W], outer temperature of the side wall [K]; all walls are at drying temperature."""
    t_dry, t_hall, d, duct = duty.drying_temperature, duty.hall_temperature, built.diameter, built.duct_diameter
    shape = np.broadcast_shapes(*(np.shape(a) for a in (t_dry, t_hall, d, duct)))
    areas = (np.pi * d * built.height, np.pi / 2.0 * d**2, np.pi * duct * inputs.duct_length)
    curvatures = (2.0 / d, 0.0, 2.0 / duct)  # side wall, both ends, hot duct
    loss, outer = hopper.wall_loss(
        t_dry,
        t_hall,
        np.stack([np.broadcast_to(a, shape) for a in areas]),
        built.height,
        inputs.insulation_thickness,
        inputs.insulation_conductivity,
        inputs.shell_emissivity,
        np.stack([np.broadcast_to(c, shape) for c in curvatures]),
    )
    return loss.sum(axis=0), outer[0]


def hopper_state(inputs: Inputs, duty: Duty, built: Geometry, humidity: Array, loss: Array) -> hopper.HopperState:
    """The hopper with process air at drying temperature and that humidity.

    Raises
    ------
    ModelError
        The air cannot bring the resin to drying temperature, or the resin comes hotter than that.
    """
    temperature_lift(duty)
    resin, air_flow = duty.resin, built.air_flow
    middle = 0.5 * (duty.drying_temperature + duty.hall_temperature)
    voidage = 1.0 - resin.bulk_density / resin.density
    size = pellet_size(resin)
    viscosity, conductivity = moist.dynamic_viscosity(middle), moist.thermal_conductivity(middle)
    reynolds = air_flow / built.area * size / viscosity
    prandtl = viscosity * moist.heat_capacity(middle, humidity) / conductivity
    coefficient = hopper.pellet_nusselt(reynolds, prandtl) * conductivity / size
    state = hopper.heat_balance(
        air_flow=air_flow,
        air_temperature=duty.drying_temperature,
        air_humidity=humidity,
        resin_flow=duty.throughput,
        resin_specific_heat=resin.specific_heat,
        resin_temperature=duty.resin_temperature,
        initial_moisture=duty.initial_moisture,
        final_moisture=duty.final_moisture,
        shell_loss=loss,
        transfer=coefficient * 6.0 * (1.0 - voidage) / size * built.volume,
        flow_transfer_units=inputs.flow_transfer_units,
    )
    short = np.asarray(state.capacity_ratio < 1.0)
    if np.any(short):
        given = np.broadcast_to(air_flow / duty.design_throughput, short.shape)[short]
        need = np.broadcast_to(air_flow / duty.throughput / state.capacity_ratio, short.shape)[short]
        raise ModelError(
            f"an air flow of {given.max():.3g} kg per kg of resin cannot bring {resin.abbreviation} to "
            f"{show(float(np.max(duty.drying_temperature)), 'temperature', 'si')}; "
            f"at least {need.max():.3g} kg/kg is needed"
        )
    return state


def pellet_size(resin: Resin) -> float:
    """Diameter of the sphere with the pellet's ratio of volume to surface, 6 V / A. [m]"""
    d, length = resin.pellet_diameter, resin.pellet_length
    return 6.0 * (d * length / 4.0) / (d / 2.0 + length)


def bed_pressure_drop(duty: Duty, built: Geometry) -> Array:
    """Pressure drop of the pellet bed at the temperature in its middle. [Pa]"""
    resin = duty.resin
    middle = 0.5 * (duty.drying_temperature + duty.resin_temperature)
    volume = moist.specific_volume(middle, 0.0, duty.pressure)
    gradient = hopper.ergun_gradient(
        built.air_flow * volume / built.area,
        pellet_size(resin),
        1.0 - resin.bulk_density / resin.density,
        1.0 / volume,
        moist.dynamic_viscosity(middle),
    )
    return gradient * built.height


def bought_heat(inputs: Inputs, useful: Array, source: HeatSource) -> tuple[str, Array, Array]:
    """Carrier, power bought and power lost on the way for a useful heat. [W]"""
    if source == "gas":
        bought = heater.purchased_power(useful, inputs.gas_efficiency)
        return "gas", bought, bought - useful
    bought = heater.purchased_power(useful, inputs.heater_efficiency)
    return "electricity", bought, bought - useful


def motor_input(shaft: Array, motor_class: str, drive_efficiency: float) -> tuple[Array, Array]:
    """Electrical power and rated power of the motor behind a shaft power. [W]"""
    rated = MOTOR_MARGIN * shaft
    return shaft / (blower.motor_efficiency(rated, motor_class) * drive_efficiency), rated


def startup_heater(inputs: Inputs, duty: Duty, air_flow: Array, humidity: Array) -> Array:
    """Heater that lifts the whole design airflow from hall to drying temperature, as on a cold start. [W]"""
    rise = moist.enthalpy(duty.drying_temperature, humidity) - moist.enthalpy(duty.hall_temperature, humidity)
    return bought_heat(inputs, np.asarray(air_flow * rise), inputs.heat_source)[1]


def evaporated_water(duty: Duty, water: Array) -> Array:
    """Heat that turns the resin's water into vapour at hall temperature. [W]"""
    liquid = moist.LIQUID_WATER_HEAT_CAPACITY * (duty.resin_temperature - 273.15)
    return water * (moist.vapour_enthalpy(duty.hall_temperature) - liquid)
