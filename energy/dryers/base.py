"""What every dryer type shares: the duty it is given, the operation it answers with, and the inputs of any hopper."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, fields, is_dataclass, replace
from types import MappingProxyType
from typing import Annotated, Any, Literal, Protocol

import numpy as np
from numpy.typing import NDArray
from pydantic import BaseModel, ConfigDict, Field, model_validator

from energy.air import moist, transport, water_vapour
from energy.air.constants import LIQUID_WATER_HEAT_CAPACITY, ZERO_CELSIUS
from energy.equipment import blower, heater, hopper
from energy.errors import ModelError
from energy.remembered import remembered
from energy.resins.properties import Resin
from energy.sources import load
from energy.units import SI, Quantity, show

Array = NDArray[np.float64]
HeatSource = Literal["electric", "gas"]
AirflowControl = Literal["fixed", "throttled", "variable speed"]

END_USES = (
    "process heat",
    "regeneration",
    "process blower",
    "regeneration blower",
    "cooling",
    "compressed air",
    "vacuum",
    "drum drive",
    "conveying",
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
    stop_time: Array = field(default_factory=lambda: np.zeros(()))
    """Mean time off before a warm start; 0 where there is none. [s]"""
    design: Duty | None = None
    """What the machine is built for, where that is not this duty itself: one machine for all periods."""

    @property
    def built_for(self) -> Duty:
        """The duty that sizes the machine."""
        return self if self.design is None else self.design

    def fingerprint(self) -> tuple[object, ...]:
        """Equal for equal duties."""
        air = tuple(np.asarray(getattr(self.compressed_air, f.name)).tobytes() for f in fields(CompressedAir))
        arrays = [getattr(self, f.name) for f in fields(self) if f.name not in ("resin", "compressed_air", "design")]
        design = None if self.design is None else self.design.fingerprint()
        return self.resin, air, *(np.asarray(a).tobytes() for a in arrays), design

    @property
    def hall_humidity(self) -> Array:
        """[kg/kg]"""
        return water_vapour.humidity_ratio(self.hall_dew_point, self.pressure)


@dataclass(frozen=True, slots=True, kw_only=True)
class Start:
    """One start of a hopper after a stop."""

    energy: Mapping[tuple[str, str], Array]
    """(end use, carrier) -> energy bought. [J]"""
    power: Array
    """Heater at full power while it warms up. [W]"""


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
    hoppers: tuple[hopper.HopperState, ...]
    """One for each duty served; most dryers serve one."""
    shell_temperature: Array
    """Outer face of the insulation. [K]"""
    sizing: Mapping[str, Array]
    """SI: hopper_volume [m3], airflow [m3/s actual at the blower or free air], process_heater, regeneration_heater,
    blower [W], compressed_air [m3/s free air], desiccant [kg]."""
    details: Mapping[str, Array] = field(default_factory=lambda: MappingProxyType({}))
    """Further states of the type. SI."""
    air_dried: bool = True
    """Is it dry air that dries? Else what practice says of dew point and residence time in a hopper does not apply."""
    residence_time: Array | None = None
    """Time at drying temperature where it is not the hopper's. [s]"""
    starts: tuple[Start, ...] = ()
    """A start of each of the hoppers."""

    @property
    def hopper(self) -> hopper.HopperState:
        """Of the first, mostly only duty."""
        return self.hoppers[0]

    def of(self, hopper: int) -> Operation:
        """The same with the state and the start of one of its hoppers only."""
        return replace(self, hoppers=(self.hoppers[hopper],), starts=(self.starts[hopper],))

    def at(self, state: int) -> Operation:
        """The operation in one operating state, of those on the second last axis."""
        return at_state(self, state)

    def power(self, carrier: str) -> Array:
        """Mean power of one carrier. [W]"""
        return _total([v for (_, c), v in self.energy.items() if c == carrier], self.air_flow)

    def peak_electricity(self) -> Array:
        """Highest 15-minute electrical power, the compressor's included. [W]"""
        return _total([v for (_, c), v in self.peak.items() if c in ("electricity", "compressed air")], self.air_flow)

    def residual(self) -> Array:
        """Heat in less heat out. [W]"""
        return _total(self.heat_in.values(), self.air_flow) - _total(self.heat_out.values(), self.air_flow)


def at_state(given: Any, state: int) -> Any:
    """Records, tuples and tables of arrays at one place of the second last axis; arrays without that axis as they are."""
    if isinstance(given, np.ndarray):
        return given[..., min(state, given.shape[-2] - 1), :] if given.ndim > 1 else given
    if isinstance(given, Mapping):
        return {key: at_state(value, state) for key, value in given.items()}
    if isinstance(given, tuple):
        return tuple(at_state(value, state) for value in given)
    if isinstance(given, Resin):
        return replace(
            given,
            **{
                f.name: at_state(v, state) for f in fields(given) if isinstance(v := getattr(given, f.name), np.ndarray)
            },
        )
    if is_dataclass(given) and not isinstance(given, type):
        return replace(given, **{f.name: at_state(getattr(given, f.name), state) for f in fields(given)})
    if isinstance(given, BaseModel):
        return given.model_copy(update={k: at_state(v, state) for k, v in given if isinstance(v, np.ndarray)})
    return given


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
    transfer_unit_height: Annotated[
        float, Quantity("length", label="Height of a transfer unit", shown="m"), Field(gt=0, le=5)
    ]
    """Bed height that uneven flow of air and pellets leaves per transfer unit; even flow would need millimetres. [m]"""
    hopper_flow: Literal["mass flow", "funnels"] = "mass flow"
    slenderness: Annotated[float, Quantity("ratio", label="Hopper height to diameter"), Field(ge=0.5, le=6)]
    insulation_thickness: Annotated[float, Quantity("length", label="Hopper insulation", shown="mm"), Field(ge=0)]
    insulation_conductivity: Annotated[
        float, Quantity("conductivity", label="Insulation conductivity", shown="W/(m K)"), Field(gt=0)
    ]
    shell_emissivity: Annotated[float, Quantity("share", label="Shell emissivity"), Field(ge=0, le=1)]
    wall_thickness: Annotated[
        float, Quantity("length", label="Steel of the hopper, fittings spread over its wall", shown="mm"), Field(ge=0)
    ]
    duct_length: Annotated[float, Quantity("length", label="Hot duct length", shown="m"), Field(ge=0, le=200)]
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
    airflow_control: AirflowControl = "fixed"
    """How the airflow is held below design: not at all, by a damper or valve, or by the blower's speed."""
    airflow_floor: Annotated[float, Quantity("share", label="Least airflow over design", shown="%"), Field(gt=0, le=1)]
    """[-]"""
    return_air_target: Annotated[
        float | None, Quantity("temperature", label="Return-air temperature held", shown="degC"), Field(gt=280)
    ] = None
    """None: a controlled airflow follows the heat that resin and shell take, as at the design point. [K]"""
    standby_temperature: Annotated[
        float | None, Quantity("temperature", label="Process-air temperature in standby", shown="degC"), Field(gt=280)
    ] = None
    """None: no set-back. [K]"""
    standby_flow_share: Annotated[
        float, Quantity("share", label="Airflow in standby over design", shown="%"), Field(gt=0, le=1)
    ]
    """[-]"""

    @model_validator(mode="before")
    @classmethod
    def _fill(cls, given: Any) -> Any:
        if not isinstance(given, dict):
            return given
        filled = dict(given)
        for key, stored in load(f"dryers/{cls.model_fields['kind'].default}").items():
            if key not in filled:
                filled[key] = SI(stored.si) if isinstance(stored.si, float) else stored.si
        if given.get("airflow_control", "fixed") != "fixed" and "standby_flow_share" not in given:
            filled["standby_flow_share"] = filled["airflow_floor"]  # it turns down when nothing flows, too
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


STEEL_DENSITY = 7850.0  # kg/m3, plain steel
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
    """Hopper and hot duct for the duty that sizes the machine and an air flow per resin. [kg/kg]"""
    duty = duty.built_for
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


@dataclass(frozen=True, slots=True, kw_only=True)
class Setting:
    """How a dryer is run in each period."""

    temperature: Array
    """Of the process air. [K]"""
    share: Array
    """Airflow over design. [-]"""
    air_flow: Array
    """Dry air. [kg/s]"""


def setting(inputs: Inputs, duty: Duty, built: Geometry) -> Setting:
    """Process-air temperature and airflow of each period by the dryer's controls; no throughput is standby.

    A controlled airflow falls with what it follows down to its stated floor and never rises above design.
    """
    idle = np.asarray(duty.throughput) == 0.0
    temperature = process_temperature(inputs, duty)
    share: Array | float = 1.0
    if inputs.airflow_control != "fixed":
        share = np.clip(_share_asked(inputs, duty, built), inputs.airflow_floor, 1.0)
    share = np.where(idle, inputs.standby_flow_share, share)
    return Setting(temperature=temperature, share=share, air_flow=built.air_flow * share)


def process_temperature(inputs: Inputs, duty: Duty) -> Array:
    """Drying temperature, or that of standby where nothing flows. [K]

    Raises
    ------
    ModelError
        Standby below hall temperature.
    """
    if inputs.standby_temperature is None:
        return np.asarray(duty.drying_temperature)
    idle = np.asarray(duty.throughput) == 0.0
    if np.any(idle & (inputs.standby_temperature < duty.hall_temperature)):
        raise ModelError(
            f"a standby temperature of {show(float(np.min(inputs.standby_temperature)), 'temperature', 'si')} is below that of the "
            f"hall, {show(float(np.max(duty.hall_temperature)), 'temperature', 'si')}; set it higher or leave it out"
        )
    back = np.minimum(inputs.standby_temperature, duty.drying_temperature)
    return np.where(idle, back, duty.drying_temperature)


def _share_asked(inputs: Inputs, duty: Duty, built: Geometry) -> Array:
    """Airflow over design that brings the air back at its target: what it has to give over what it gives per kelvin."""
    loss = shell_loss(inputs, duty, built, duty.drying_temperature).hopper
    taken = heat_taken(duty, duty.throughput) + loss
    if inputs.return_air_target is None:
        design = duty.built_for
        most = shell_loss(inputs, design, built, design.drying_temperature).hopper
        design_taken = heat_taken(design, design.design_throughput) + most
        # Per kelvin of lift: air that is less above the pellets gives less.
        return np.asarray(taken / temperature_lift(duty) / (design_taken / temperature_lift(design)))
    fall = duty.drying_temperature - inputs.return_air_target
    if np.any(fall <= 0):
        raise ModelError(
            f"a return-air temperature of {show(float(np.max(inputs.return_air_target)), 'temperature', 'si')} is not below the drying "
            f"temperature of {show(float(np.min(duty.drying_temperature)), 'temperature', 'si')}"
        )
    middle = duty.drying_temperature - 0.5 * fall
    return np.asarray(taken / (moist.heat_capacity(middle, 0.0) * fall * built.air_flow))


def heat_taken(duty: Duty, throughput: Array) -> Array:
    """Heat that resin and its water take up at a throughput. [W]"""
    lift = duty.drying_temperature - duty.resin_temperature
    middle = 0.5 * (duty.drying_temperature + duty.resin_temperature)
    liquid = LIQUID_WATER_HEAT_CAPACITY
    water = duty.initial_moisture - duty.final_moisture
    evaporation = water * (moist.vapour_enthalpy(middle) - liquid * (duty.resin_temperature - ZERO_CELSIUS))
    specific_heat = duty.resin.specific_heat + duty.final_moisture * liquid
    return np.asarray(throughput * (specific_heat * lift + evaporation))


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
            f"resin fed at {fed} has nothing to take up from air of {dry}; a lower feed temperature is needed",
            lift <= 0.0,
        )
    return lift


def least_ratio(inputs: Inputs, duty: Duty) -> Array:
    """Dry air per resin at design throughput that just heats resin, water and shell. [kg/kg]"""
    duty = duty.built_for
    lift = temperature_lift(duty)
    loss = shell_loss(inputs, duty, geometry(inputs, duty, duty.resin.air_resin_ratio), duty.drying_temperature).hopper
    middle = 0.5 * (duty.drying_temperature + duty.resin_temperature)
    need = hopper.airflow_needed(heat_taken(duty, duty.design_throughput) + loss, lift, middle)
    return need / duty.design_throughput


def design_ratio(inputs: Inputs, duty: Duty) -> Array:
    """Air per resin that a blower dryer is built for: as given, or the resin's usual, but enough to heat it. [kg/kg]"""
    if inputs.air_resin_ratio is not None:
        return np.asarray(inputs.air_resin_ratio)
    return np.maximum(duty.built_for.resin.air_resin_ratio, inputs.air_over_least * least_ratio(inputs, duty))


@dataclass(frozen=True, slots=True, kw_only=True)
class ShellLoss:
    """What hopper and hot duct lose to the hall."""

    hopper: Array
    """Taken from the air in the hopper. [W]"""
    duct: Array
    """Taken from the air between heater and hopper, so the heater gives it on top. [W]"""
    outer: Array
    """Temperature of the side wall's outer face. [K]"""


def shell_loss(inputs: Inputs, duty: Duty, built: Geometry, temperature: Array) -> ShellLoss:
    """Loss of hopper and hot duct; all walls have the process air's temperature."""
    hopper_loss, duct_loss, outer = _walls(
        *(temperature, duty.hall_temperature, built.diameter, built.height, built.duct_diameter, inputs.duct_length),
        *(inputs.insulation_thickness, inputs.insulation_conductivity, inputs.shell_emissivity),
    )
    return ShellLoss(hopper=hopper_loss, duct=duct_loss, outer=outer)


@remembered(48)  # dryers of several types stand under hoppers alike
def _walls(
    t_dry: Array,
    t_hall: Array,
    d: Array,
    height: Array,
    duct: Array,
    length: Array,
    insulation: Array,
    conductivity: Array,
    emissivity: Array,
) -> tuple[Array, Array, Array]:
    """Loss of hopper and of hot duct, and the temperature of the side wall's outer face."""
    shape = np.broadcast_shapes(*(np.shape(a) for a in (t_dry, t_hall, d, height, duct, length)))
    # The three walls come before every axis that any input has.
    deepest = max(np.ndim(a) for a in (insulation, conductivity, emissivity))
    shape = (1,) * (deepest - len(shape)) + shape
    areas = (np.pi * d * height, np.pi / 2.0 * d**2, np.pi * duct * length)
    curvatures = (2.0 / d, 0.0, 2.0 / duct)  # side wall, both ends, hot duct
    area, curvature = (np.stack([np.broadcast_to(a, shape) for a in parts]) for parts in (areas, curvatures))
    loss, outer = hopper.wall_loss(t_dry, t_hall, area, height, insulation, conductivity, emissivity, curvature)
    return loss[0] + loss[1], loss[2], outer[0]


@dataclass(frozen=True, slots=True, kw_only=True)
class Film:
    """Air around the pellets of a bed, all but its humidity."""

    temperature: Array
    """[K]"""
    diffusivity: Array
    """Viscosity over conductivity: the Prandtl number over the heat capacity. [kg K/J]"""
    forced: Array
    """Of the Nusselt number. [-]"""
    conductance: Array
    """Of the whole bed at a Nusselt number of one. [W/K]"""


def film(duty: Duty, built: Geometry, run: Setting) -> Film:
    """Air around the pellets as the dryer is set."""
    resin, size = duty.resin, pellet_size(duty.resin)
    middle = 0.5 * (run.temperature + duty.hall_temperature)
    viscosity, conductivity = transport.dynamic_viscosity(middle), transport.thermal_conductivity(middle)
    pellets = resin.bulk_density / resin.density
    return Film(
        temperature=middle,
        diffusivity=viscosity / conductivity,
        forced=hopper.forced_part(run.air_flow / built.area * size / viscosity),
        conductance=conductivity / size * 6.0 * pellets / size * built.volume,
    )


def hopper_state(
    inputs: Inputs, duty: Duty, built: Geometry, run: Setting, around: Film, humidity: Array, loss: Array
) -> hopper.HopperState:
    """The hopper with process air as set and of that humidity.

    Raises
    ------
    ModelError
        The air cannot bring the resin to drying temperature, or the resin comes hotter than that.
    """
    temperature_lift(duty)
    resin, air_flow = duty.resin, run.air_flow
    prandtl = around.diffusivity * moist.heat_capacity(around.temperature, humidity)
    state = hopper.heat_balance(
        air_flow=air_flow,
        air_temperature=run.temperature,
        air_humidity=humidity,
        resin_flow=duty.throughput,
        resin_specific_heat=resin.specific_heat,
        resin_temperature=duty.resin_temperature,
        initial_moisture=duty.initial_moisture,
        final_moisture=duty.final_moisture,
        shell_loss=loss,
        transfer=hopper.nusselt_of_forced(around.forced, prandtl) * around.conductance,
        flow_transfer_units=built.height / inputs.transfer_unit_height,
    )
    refuse_too_little_air(duty, air_flow, state.capacity_ratio)
    return state


def refuse_too_little_air(duty: Duty, air_flow: Array, capacity_ratio: Array) -> None:
    """Refuse, with the airflow that would do, air of less heat-capacity flow than what it has to heat."""
    short = np.asarray((capacity_ratio < 1.0) & (duty.throughput > 0))
    if np.any(short):
        throughput = np.broadcast_to(duty.throughput, short.shape)[short]
        given = np.broadcast_to(air_flow, short.shape)[short] / throughput
        need = given / np.broadcast_to(capacity_ratio, short.shape)[short]
        raise ModelError(
            f"an air flow of {given.max():.3g} kg per kg of resin cannot bring {duty.resin.abbreviation} to "
            f"{show(float(np.max(duty.drying_temperature)), 'temperature', 'si')}; "
            f"at least {need.max():.3g} kg/kg is needed",
            short,
        )


def hot_loss(inputs: Inputs, duty: Duty, built: Geometry, now: ShellLoss) -> ShellLoss:
    """Loss at drying temperature: that of now, unless standby is set back."""
    if inputs.standby_temperature is None:
        return now
    return shell_loss(inputs, duty, built, duty.drying_temperature)


def warm_up(inputs: Inputs, duty: Duty, built: Geometry, hot: ShellLoss) -> Mapping[tuple[str, str], Array]:
    """Energy bought to warm resin and steel of the hopper after a stop, in which both cooled towards the hall. [J]"""
    steel = built.area * 4.0 * built.height / built.diameter + 2.0 * built.area
    steel = steel * inputs.wall_thickness * STEEL_DENSITY * load("factors")["steel_specific_heat"].si
    resin = built.volume * inputs.usable_share * duty.resin.bulk_density * duty.resin.specific_heat
    capacity = steel + resin
    above = np.asarray(duty.drying_temperature - duty.hall_temperature)
    conductance = hot.hopper / above
    left = above * np.exp(-duty.stop_time * conductance / capacity)
    carrier, bought, _ = bought_heat(inputs, capacity * (above - left), inputs.heat_source)
    return {("process heat", carrier): bought}


def pellet_size(resin: Resin) -> float:
    """Diameter of the sphere with the pellet's ratio of volume to surface, 6 V / A. [m]"""
    d, length = resin.pellet_diameter, resin.pellet_length
    return 6.0 * (d * length / 4.0) / (d / 2.0 + length)


def bed_pressure_drop(duty: Duty, built: Geometry, air_flow: Array) -> Array:
    """Pressure drop of the pellet bed at the temperature in its middle. [Pa]"""
    resin = duty.resin
    middle = 0.5 * (duty.drying_temperature + duty.resin_temperature)
    volume = moist.specific_volume(middle, 0.0, duty.pressure)
    gradient = hopper.ergun_gradient(
        air_flow * volume / built.area,
        pellet_size(resin),
        1.0 - resin.bulk_density / resin.density,
        1.0 / volume,
        transport.dynamic_viscosity(middle),
    )
    return gradient * built.height


def bought_heat(inputs: Inputs, useful: Array, source: HeatSource) -> tuple[str, Array, Array]:
    """Carrier, power bought and power lost on the way for a useful heat. [W]"""
    if source == "gas":
        bought = heater.purchased_power(useful, inputs.gas_efficiency)
        return "gas", bought, bought - useful
    bought = heater.purchased_power(useful, inputs.heater_efficiency)
    return "electricity", bought, bought - useful


def heater_losses(*lost: tuple[str, Array]) -> dict[str, Array]:
    """Terms of the heat balance for what heaters lose, by their carrier: from the heater's box, or up a flue. [W]"""
    terms: dict[str, Array] = {}
    for carrier, power in lost:
        name = "flue gas" if carrier == "gas" else "heater losses"
        terms[name] = terms.get(name, 0.0) + power
    return terms


def motor_input(inputs: BlowerInputs, shaft: Array, design_shaft: Array) -> tuple[Array, Array]:
    """Electrical power behind a shaft power, and rated power of the motor built for the design shaft power. [W]"""
    rated = MOTOR_MARGIN * design_shaft
    drive: Array | float = inputs.drive_efficiency
    if inputs.airflow_control == "variable speed":
        share = np.divide(
            shaft, rated, out=np.ones(np.broadcast_shapes(np.shape(shaft), np.shape(rated))), where=rated > 0
        )
        drive = inputs.drive_efficiency * blower.drive_efficiency(share)
    return shaft / (blower.motor_efficiency(rated, inputs.motor_class) * drive), rated


def blower_work(inputs: BlowerInputs, run: Setting, bed: Array, design_bed: Array, circuit: Array | float) -> Array:
    """Pressure rise of the blower: the system's own at a changed speed, the design's behind a damper. [Pa]

    Parameters
    ----------
    bed, design_bed : ndarray
        Pressure drop of the pellets now and at design flow. [Pa]
    circuit : ndarray
        Pressure drop of all else at design flow; it falls with the square of the flow. [Pa]
    """
    if inputs.airflow_control == "throttled":
        return np.asarray(design_bed + circuit + 0.0 * run.share)
    return np.asarray(bed + circuit * run.share**2)


def startup_heater(inputs: Inputs, duty: Duty, built: Geometry, humidity: Array, hot: ShellLoss) -> Array:
    """Heater that lifts the whole design airflow from hall to drying temperature behind the hot duct. [W]"""
    rise = moist.enthalpy(duty.drying_temperature, humidity) - moist.enthalpy(duty.hall_temperature, humidity)
    return bought_heat(inputs, np.asarray(built.air_flow * rise + hot.duct), inputs.heat_source)[1]


def evaporated_water(duty: Duty, water: Array) -> Array:
    """Heat that turns the resin's water into vapour at hall temperature. [W]"""
    liquid = LIQUID_WATER_HEAT_CAPACITY * (duty.resin_temperature - ZERO_CELSIUS)
    return water * (moist.vapour_enthalpy(duty.hall_temperature) - liquid)
