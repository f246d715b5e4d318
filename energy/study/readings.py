"""What was read at one dryer, with how far each instrument may be off; a case keeps it as the baseline's readings."""

from __future__ import annotations

import datetime
from collections.abc import Iterable, Mapping
from contextlib import suppress
from itertools import combinations
from typing import Annotated, Any, Literal, Self

from pydantic import BaseModel, ConfigDict, Field, ValidationInfo, model_validator

from energy.errors import UnitError, nearest
from energy.units import Quantity, parse, show
from energy.units.degrees import in_other, said_in_other, unit_typed

ONE_LINE = r"^[^\x00-\x1f\x7f]*$"


def _temperature(label: str) -> Any:
    return Quantity("temperature", label=label, shown="degC")


COLDEST_HALL, HOTTEST_HALL = 263.15, 323.15
"""Of what is read of a hall. [K]"""
MOST = 10.0
"""Throughput of a hopper at most, as in a case. [kg/s]"""


class Readings(BaseModel):
    """[[readings]]: one dryer; everything but its hopper may be left out.

    A reading may be a table with ``accuracy``: ``{ value = "118 degC", accuracy = "1 K" }``, a difference in the
    reading's own unit, or a share such as ``"5 %"``; without it the accuracy is the usual one of the instrument.
    """

    model_config = ConfigDict(frozen=True, extra="forbid")

    hopper: str = Field(min_length=1, max_length=100, pattern=ONE_LINE)
    date: str = Field(default="", max_length=10)
    """The day they were taken, such as 2026-11-25; its month says what is not read of the hall's air."""
    by: str = Field(default="", max_length=200, pattern=ONE_LINE)
    """Who read them."""
    note: str = Field(default="", max_length=2000)
    throughput: Annotated[
        float | None, Quantity("mass flow", label="Throughput", shown="kg/h"), Field(gt=0, le=MOST)
    ] = None
    weighed_mass: Annotated[float | None, Quantity("mass", label="Resin weighed", shown="kg"), Field(gt=0, le=5000)] = (
        None
    )
    """Drawn in the time below. [kg]"""
    weighing_time: Annotated[
        float | None, Quantity("time", label="Time of the weighing", shown="min"), Field(ge=60, le=86400)
    ] = None
    process_temperature: Annotated[
        float | None, _temperature("Process air into the hopper"), Field(ge=293, le=523.15)
    ] = None
    return_temperature: Annotated[
        float | None, _temperature("Return air out of the hopper"), Field(ge=273.15, le=473.15)
    ] = None
    hall_temperature: Annotated[float | None, _temperature("Hall"), Field(ge=COLDEST_HALL, le=HOTTEST_HALL)] = None
    dew_point: Annotated[float | None, _temperature("Dew point of the process air"), Field(ge=188.15, le=308.15)] = None
    return_dew_point: Annotated[
        float | None, _temperature("Dew point of the return air at the dryer"), Field(ge=188.15, le=323.15)
    ] = None
    hall_dew_point: Annotated[float | None, _temperature("Dew point of the hall"), Field(ge=233.15, le=308.15)] = None
    desiccant_inlet_temperature: Annotated[
        float | None, _temperature("Air into the desiccant"), Field(ge=273.15, le=423.15)
    ] = None
    heater_inlet_temperature: Annotated[
        float | None, _temperature("Air before the heater"), Field(ge=273.15, le=473.15)
    ] = None
    shell_temperature: Annotated[
        float | None, _temperature("Outside of the hopper's wall"), Field(ge=273.15, le=523.15)
    ] = None
    air_velocity: Annotated[
        float | None, Quantity("velocity", label="Air velocity in the duct", shown="m/s"), Field(gt=0, le=60)
    ] = None
    duct_diameter: Annotated[
        float | None, Quantity("length", label="Duct diameter", shown="mm"), Field(ge=0.02, le=1.5)
    ] = None
    velocity_in: Literal["return duct", "process duct"] = "return duct"
    """Where the velocity was read: in return air, or in hot air at the hopper."""
    air_flow: Annotated[
        float | None,
        Quantity("gas flow", label="Process air flow", shown="m3/h at 0 degC"),
        Field(gt=0, le=20),
    ] = None
    """Instead of velocity and diameter. [kg/s]"""
    blower_pressure: Annotated[
        float | None, Quantity("pressure difference", label="Blower pressure rise", shown="kPa"), Field(gt=0, le=60000)
    ] = None
    regeneration_temperature: Annotated[
        float | None, _temperature("Regeneration air into the bed"), Field(ge=353.15, le=623.15)
    ] = None
    regeneration_cycle: Annotated[
        float | None,
        Quantity("time", label="Bed change to bed change, or one turn", shown="h"),
        Field(ge=60, le=30 * 86400),
    ] = None
    regeneration_control: Literal["timer", "dew point"] | None = None
    """As seen at the controller."""
    regeneration_power: Annotated[
        float | None, Quantity("power", label="Regeneration heater, mean of a cycle", shown="kW"), Field(ge=0, le=1e6)
    ] = None
    power: Annotated[
        float | None,
        Quantity("power", label="Electrical power, mean over whole cycles", shown="kW"),
        Field(gt=0, le=5e6),
    ] = None
    current: Annotated[
        float | None, Quantity("current", label="Current of a phase", shown="A"), Field(gt=0, le=5e3)
    ] = None
    """Three phases, read for a minute. [A]"""
    voltage: Annotated[
        float | None, Quantity("voltage", label="Voltage between phases", shown="V"), Field(ge=100, le=1000)
    ] = None
    power_factor: Annotated[float | None, Quantity("share", label="Power factor"), Field(ge=0.3, le=1)] = None
    outlet_moisture: Annotated[
        float | None, Quantity("moisture", label="Moisture of the pellets leaving", shown="ppm"), Field(gt=0, lt=0.5)
    ] = None
    accuracy: dict[str, str] = Field(default_factory=dict)
    """By reading; written in the table of the reading itself."""

    @model_validator(mode="before")
    @classmethod
    def _accuracy_of_tables(cls, given: Any) -> Any:
        if not isinstance(given, Mapping):
            return given
        told = {k: v["accuracy"] for k, v in given.items() if isinstance(v, Mapping) and "accuracy" in v}
        own = given.get("accuracy", {})
        return {**given, "accuracy": {**own, **told}} if told and isinstance(own, Mapping) else given

    @model_validator(mode="before")
    @classmethod
    def _hall_in_place(cls, given: Any, info: ValidationInfo) -> Any:
        """Refuse a hall in which nobody works where it and the air at the hopper fit the wrong way round: the pair, and not the hall alone."""
        read = _read_of(given) if isinstance(given, Mapping) else {}
        if read.get("hall_temperature", 0.0) <= HOTTEST_HALL:
            return given
        pairs = [(name, "hall_temperature") for name in ("process_temperature", "return_temperature")]
        for hot, cold in pairs:
            if COLDEST_HALL <= read.get(hot, 0.0) <= HOTTEST_HALL and not _not_in_order(
                _exchanged(read, hot, cold), IN_ORDER
            ):
                raise ValueError(_below(read, hot, cold, f", {WAY_ROUND}", info))
        return given

    @model_validator(mode="after")
    def _fits(self, info: ValidationInfo) -> Self:
        for name in self.accuracy:
            if name not in QUANTITIES:
                raise ValueError(f"accuracy of '{name}', which is no reading{nearest(name, list(QUANTITIES))}")
            accuracy_of(self, name, 1.0)
        if self.date:
            try:
                datetime.date.fromisoformat(self.date)
            except ValueError:
                raise ValueError(f"date: '{self.date}' is not a day; write it as 2026-11-25") from None
        for one, other in (
            ("weighed_mass", "weighing_time"),
            ("air_velocity", "duct_diameter"),
            ("current", "voltage"),
        ):
            if (getattr(self, one) is None) != (getattr(self, other) is None):
                there, missing = (one, other) if getattr(self, other) is None else (other, one)
                raise ValueError(f"{missing} is missing; {there} says nothing without it")
        self._one_way("throughput", "weighed_mass")
        if self.weighed_mass is not None and self.weighing_time is not None:
            flow = self.weighed_mass / self.weighing_time
            if not flow <= MOST:
                unit = "lb/h" if "lb" in getattr(self.weighed_mass, "text", "") else "kg/h"
                most, asked = (show(x, "mass flow", unit) for x in (MOST, flow))
                raise ValueError(f"weighed_mass over weighing_time is {asked}; at most {most} can be; check both")
        self._one_way("air_flow", "air_velocity")
        self._one_way("power", "current")
        if self.power_factor is not None and self.current is None:
            raise ValueError("power_factor goes with current and voltage; a power needs none")
        self._hotter(info)
        return self

    def _one_way(self, one: str, other: str) -> None:
        if getattr(self, one) is not None and getattr(self, other) is not None:
            raise ValueError(f"{one} and {other} are both given; one of them is allowed")

    def _hotter(self, info: ValidationInfo) -> None:
        """Refuse temperatures of which one cannot be below another; the pair that would fit the wrong way round is named."""
        read = {name: getattr(self, name) for name in _TEMPERATURES if getattr(self, name) is not None}
        below = _not_in_order(read, MUST_HOLD)
        if not below:
            return
        exchanged = [pair for pair in combinations(read, 2) if not _not_in_order(_exchanged(read, *pair), IN_ORDER)]
        hot, cold = next(((a, b) for a, b, _ in IN_ORDER if exchanged in ([(a, b)], [(b, a)])), below[0])
        way_round = f", {WAY_ROUND}" if {hot, cold} in [{*pair} for pair in exchanged] else ""
        raise ValueError(_below(read, hot, cold, way_round, info))

    @property
    def occasion(self) -> str:
        """``on 2026-11-25 by A. Reader``, as far as it is stated; else empty."""
        return " ".join(f"{word} {said}" for word, said in (("on", self.date), ("by", self.by)) if said)

    def taken(self) -> tuple[str, ...]:
        """Names of the quantities that were read."""
        return tuple(name for name in QUANTITIES if getattr(self, name) is not None)


WAY_ROUND = "as if they were the wrong way round"
"""Said of two temperatures that would fit in each other's place."""
FAR = 15.0
"""By how much what should be hotter is colder, from which another unit is told as what may explain it; by judgement. [K]"""
MUST_HOLD = (
    ("process_temperature", "return_temperature", 0.0),
    ("process_temperature", "hall_temperature", 0.0),
    ("hall_temperature", "hall_dew_point", 0.0),
    ("process_temperature", "dew_point", 0.0),
    ("return_temperature", "return_dew_point", 0.0),
    ("process_temperature", "heater_inlet_temperature", FAR),
)
"""Hotter, colder, and by how much the colder may read hotter: what is refused where it does not hold. [K]"""
IN_ORDER = (
    *MUST_HOLD,
    ("process_temperature", "shell_temperature", FAR),
    ("process_temperature", "desiccant_inlet_temperature", FAR),
    ("return_temperature", "desiccant_inlet_temperature", FAR),
    ("return_temperature", "hall_temperature", FAR),
    ("shell_temperature", "hall_temperature", FAR),
    ("regeneration_temperature", "process_temperature", 0.0),
)
"""The same with what decides whether two of them would fit in each other's place."""
_TEMPERATURES = tuple(dict.fromkeys(name for hot, cold, _ in IN_ORDER for name in (hot, cold)))


def _not_in_order(read: Mapping[str, float], order: Iterable[tuple[str, str, float]]) -> list[tuple[str, str]]:
    """Hotter and colder of every pair that is not in order."""
    known = [(hot, cold, by) for hot, cold, by in order if hot in read and cold in read]
    return [(hot, cold) for hot, cold, by in known if read[hot] < read[cold] - by]


def _below(read: Mapping[str, float], hot: str, cold: str, way_round: str, info: ValidationInfo) -> str:
    units = [unit_typed(read[name]) for name in (hot, cold)]
    shown = (info.context or {}).get("shown")
    texts = [_said(read[name], unit, shown) for name, unit in zip((hot, cold), units, strict=True)]
    unit = _unit_too(read[hot], read[cold], *units)
    return f"{hot} of {texts[0]} is below {cold} of {texts[1]}{way_round}; check which is which{unit}"


def _said(temperature: float, typed: str, shown: str | None) -> str:
    """A temperature in the unit that it was typed in; where it is shown in another, in that one first. [K]"""
    if shown is None:
        return show(temperature, "temperature", typed)
    as_typed = f" (typed as {show(temperature, 'temperature', typed, digits=4)})" if typed != shown else ""
    return f"{show(temperature, 'temperature', shown, digits=4)}{as_typed}"


def _read_of(given: Mapping[str, Any]) -> dict[str, float]:
    """Temperatures as far as they can be read, whether or not they can be. [K]"""
    read: dict[str, float] = {}
    for name in _TEMPERATURES:
        with suppress(ValueError):
            value = QUANTITIES[name].read(given.get(name))
            read |= {} if value is None else {name: value}
    return read


def _exchanged(read: Mapping[str, float], one: str, other: str) -> dict[str, float]:
    return {**read, one: read[other], other: read[one]}


def _unit_too(hot: float, cold: float, unit_of_hot: str, unit_of_cold: str) -> str:
    """That one of two temperatures that are the wrong way round would fit in the other unit, where it would. [K]"""
    if cold - hot < FAR:
        return ""
    if unit_of_hot == "degF" and in_other(hot, unit_of_hot) > cold:
        return f", and the unit: {said_in_other(hot, unit_of_hot)}"
    if unit_of_cold == "degC" and in_other(cold, unit_of_cold) < hot:
        return f", and the unit: {said_in_other(cold, unit_of_cold)}"
    return ""


QUANTITIES: dict[str, Quantity] = {
    name: mark for name, field in Readings.model_fields.items() for mark in field.metadata if isinstance(mark, Quantity)
}
"""Every quantity that may be read, with its kind, label and unit."""


def accuracy_of(readings: Readings, name: str, value: float) -> float | None:
    """Half-width that was written beside a reading, in SI; None where none was.

    Raises
    ------
    ValueError
        Neither a share nor a difference in the reading's unit, or none above zero.
    """
    text = readings.accuracy.get(name)
    if text is None:
        return None
    kind, label = QUANTITIES[name].kind, f"accuracy of {name}"
    own = "temperature difference" if kind == "temperature" else kind
    try:
        if text.strip().endswith("%") and kind != "temperature":
            half = parse(text, "share", label=label) * abs(value)
        else:
            half = parse(text, own, label=label)
    except UnitError as error:
        raise ValueError(str(error)) from error
    if not half > 0.0:
        raise ValueError(f"{label}: '{text}' is not above zero; write how far the instrument may be off")
    return half
