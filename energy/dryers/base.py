"""What every dryer type shares: the inputs of any hopper, the duty it is given, and the operation it answers with."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, field, fields, is_dataclass, replace
from functools import cache
from types import MappingProxyType
from typing import TYPE_CHECKING, Annotated, Any, ClassVar, Literal, Protocol, TypeVar

import numpy as np
from numpy.typing import NDArray
from pydantic import BaseModel, ConfigDict, Field, model_validator

from energy.air import water_vapour
from energy.equipment import hopper
from energy.remembered import remembered
from energy.resins.properties import Resin
from energy.sources import load
from energy.units import SI, Quantity

if TYPE_CHECKING:
    from energy.dryers.hopper_line import Line

Array = NDArray[np.float64]
Key = TypeVar("Key")
HeatSource = Literal["electric", "gas"]
AirflowControl = Literal["fixed", "throttled", "variable speed"]

BEYOND_MODEL = "metered beyond the model"
"""What a present dryer takes by its meter beyond what any part of the model does."""
EXPECTED_DEW_POINT = "expected_dew_point"
"""Detail of a present dryer whose dew point was read: what the model expects of it. [K]"""
SHAFT = "blower_shaft"
"""Name, among details, of the power at the shaft of the process blower of a desiccant circuit, which warms its air. [W]"""
AIR_PER_RESIN = "air_per_resin"
"""Detail of a dryer of one hopper: what it is built for. [kg/kg]"""
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
    BEYOND_MODEL,
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
    outdoor_temperature: Array | None = None
    """None: no air outdoors is known but the hall's. [K]"""
    outdoor_dew_point: Array | None = None
    """[K]"""
    stop_time: Array = field(default_factory=lambda: np.zeros(()))
    """Mean time off before a warm start; 0 where there is none. [s]"""
    pause_time: Array = field(default_factory=lambda: np.zeros(()))
    """Mean time of a standby; 0 where there is none. [s]"""
    design: Duty | None = None
    """What the machine is built for, where that is not this duty itself: one machine for all periods."""
    bed_mass: Array | None = None
    """Desiccant in one bed of a machine whose beds are there already. None: as much as its duty asks. [kg]"""
    stands: Array | bool = False
    """Is it asked of a machine that is there already? That one runs with the air it has, enough or not."""

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
        return _humidity(self.hall_dew_point, self.pressure)


@remembered(2)  # dryers of all types stand in the same hall
def _humidity(dew_point: Array, pressure: Array) -> Array:
    return np.asarray(water_vapour.humidity_ratio(dew_point, pressure))


@dataclass(frozen=True, slots=True, kw_only=True)
class Start:
    """One start of a hopper after a stop."""

    energy: Mapping[tuple[str, str], Array]
    """(end use, carrier) -> energy bought. [J]"""
    power: Array
    """Heater at full power while it warms up. [W]"""
    after_standby: Mapping[tuple[str, str], Array] = field(default_factory=dict)
    """The same as `energy`, but after a standby at a lower temperature; nothing without a set-back. [J]"""
    power_after_standby: Array = field(default_factory=lambda: np.zeros(()))
    """Heater while it warms up again. [W]"""


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
    hall_air: Mapping[str, Array] = field(default_factory=lambda: MappingProxyType({}))
    """Term of `heat_out` -> dry air taken from the hall that leaves with it. [kg/s]"""

    @property
    def hopper(self) -> hopper.HopperState:
        """Of the first, mostly only duty."""
        return self.hoppers[0]

    def of(self, hopper: int) -> Operation:
        """The same with the state and the start of one of its hoppers only."""
        if len(self.hoppers) == 1:
            return self
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


class Cut(Mapping[Key, Array]):
    """A table of arrays at one of their places; each is cut when it is read, since of an operation few are."""

    __slots__ = ("_cut", "_place", "_table")

    def __init__(self, table: Mapping[Key, Array], cut: Callable[[Array, int], Array], place: int) -> None:
        self._table, self._cut, self._place = table, cut, place

    def __getitem__(self, key: Key) -> Array:
        return self._cut(self._table[key], self._place)

    def __iter__(self) -> Iterator[Key]:
        return iter(self._table)

    def __len__(self) -> int:
        return len(self._table)


def _at(array: Array, state: int) -> Array:
    """An array at one place of its second last axis; one without that axis as it is."""
    return array[..., min(state, array.shape[-2] - 1), :] if array.ndim > 1 else array


@cache
def names_of(record: type[Any]) -> tuple[str, ...]:
    """Names of the fields of a dataclass."""
    return tuple(f.name for f in fields(record))


def at_state(given: Any, state: int) -> Any:
    """Records, tuples and tables of arrays at one place of the second last axis; arrays without that axis as they are."""
    if isinstance(given, np.ndarray):
        return _at(given, state)
    if given is None or isinstance(given, float | str):
        return given
    if isinstance(given, Mapping):
        return Cut(given, _at, state)
    if isinstance(given, tuple):
        return tuple(at_state(value, state) for value in given)
    if isinstance(given, Resin):
        return replace(
            given,
            **{
                f.name: at_state(v, state) for f in fields(given) if isinstance(v := getattr(given, f.name), np.ndarray)
            },
        )
    if is_dataclass(given):
        made: Any = type(given)
        return made(**{name: at_state(getattr(given, name), state) for name in names_of(made)})
    if isinstance(given, BaseModel):
        return given.model_copy(update={k: at_state(v, state) for k, v in given if isinstance(v, np.ndarray)})
    return given


def _total(parts: Any, like: Array) -> Array:
    return sum((np.asarray(p) for p in parts), start=np.zeros_like(like))


class Dryer(Protocol):
    """The one small interface of a type."""

    def run(self, duty: Duty, line: Line | None = None) -> Operation:
        """Steady operation on that duty; `line` is its hopper with its air where that is known already."""
        ...


class Inputs(BaseModel):
    """Inputs of a hopper with its heater, whatever dries the air. Missing ones come from data/dryers/<kind>.toml."""

    model_config = ConfigDict(frozen=True, extra="forbid")
    DRIES_IN_HOPPER: ClassVar[bool] = True
    """Does the hopper's volume say how long the resin dries?"""
    DRIES_AIR: ClassVar[bool] = True
    """Is it air made dry for it that dries, so that its dew point may be told of one dryer?"""
    AIR_IS_DEAR: ClassVar[bool] = False
    """Is it given the air that heats the resin and no more, whatever is usual?"""
    IN_A_VESSEL: ClassVar[bool] = True
    """Does the resin dry in a vessel with walls that lose heat to the hall?"""
    UNREAD: ClassVar[frozenset[str]] = frozenset()
    """Inputs that nothing of the type is worked out from."""
    TIME_BY: ClassVar[str | None] = None
    """Input that sets how long the resin dries, in proportion; None: the hopper's residence time."""

    kind: str
    air_resin_ratio: Annotated[
        float | None, Quantity("ratio", label="Air per resin that it is built for (kg/kg)"), Field(gt=0)
    ] = None
    """Dry air per resin at design throughput. None: by ``hopper_sizing.design_ratio``. [kg/kg]"""
    air_over_least: Annotated[
        float, Quantity("ratio", label="Air flow over the least that heats the resin"), Field(ge=1)
    ]
    """[-]"""
    usable_share: Annotated[float, Quantity("share", label="Usable hopper volume", shown="%"), Field(gt=0, le=1)]
    transfer_unit_height: Annotated[
        float, Quantity("length", label="Height of a transfer unit", shown="m"), Field(gt=0, le=5)
    ]
    """Bed height that uneven flow of air and pellets leaves per transfer unit, in a bed of `hopper_sizing.USUAL_HEIGHT` and above; even flow
    would need millimetres. [m]"""
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

    def vessel(self, duty: Duty) -> Duty:
        """The duty of one vessel that resin dries in, if there are several."""
        return duty

    @model_validator(mode="before")
    @classmethod
    def _fill(cls, given: Any) -> Any:
        if not isinstance(given, dict):
            return given
        filled = {**_stored(cls.model_fields["kind"].default), **given}
        if given.get("airflow_control", "fixed") != "fixed" and "standby_flow_share" not in given:
            filled["standby_flow_share"] = filled["airflow_floor"]  # it turns down when nothing flows, too
        return filled


@cache
def _stored(kind: str) -> Mapping[str, Any]:
    """Typical inputs of a type."""
    values = {key: stored.si for key, stored in load(f"dryers/{kind}").items()}
    return MappingProxyType({key: SI(value) if isinstance(value, float) else value for key, value in values.items()})


class BlowerInputs(Inputs):
    """A dryer with its own process blower."""

    circuit_pressure: Annotated[
        float,
        Quantity("pressure difference", label="Pressure drop of filter, ducts and heater", shown="kPa"),
        Field(ge=0),
    ]
    blower_efficiency: Annotated[float, Quantity("share", label="Blower efficiency", shown="%"), Field(gt=0, le=1)]
    motor_class: Literal["IE1", "IE2", "IE3", "IE4"]
    drive_efficiency: Annotated[
        float, Quantity("share", label="Coupling or belt efficiency", shown="%"), Field(gt=0, le=1)
    ]
