"""The dryer that stands there, and what the model says of it: on its duty, and run as it was found."""

from __future__ import annotations

import datetime
import math
from collections.abc import Mapping
from dataclasses import dataclass, field, fields, replace
from typing import TYPE_CHECKING, Any

import numpy as np

from energy import dryers
from energy.air import moist
from energy.dryers import base
from energy.dryers.base import Duty, Operation
from energy.errors import EnergyError, ModelError, OutOfRangeError, UnknownNameError, nearest
from energy.sources import load
from energy.study.at_work import METERED, operate
from energy.study.case import Case
from energy.study.duty import duties_of
from energy.study.machines import Machine, machines_of, with_its_beds
from energy.study.option_sections import Option
from energy.study.readings import QUANTITIES, Readings, accuracy_of
from energy.units import parse
from energy.walkthrough import beds_as_read
from energy.walkthrough.estimate import Estimate, estimate
from energy.walkthrough.jacket_read import Jacket, air_stays, fitting
from energy.walkthrough.of_type import BATCH, of_type

if TYPE_CHECKING:
    from energy.walkthrough.doubt import Doubt


@dataclass(frozen=True, slots=True, kw_only=True)
class Found:
    """One dryer of the baseline, its duty of the day and what the model makes of both."""

    case: Case
    readings: Readings
    """What counts: without what is set aside."""
    option: Option
    machine: Machine
    """As the model has it, its desiccant with it: what its meter and a dew-point meter said over that is no reason for the readings of today
    to agree."""
    metered: float
    """Electricity and fuel that the comparison counts over the model's. [-]"""
    delivered_dew_point: float
    """That the comparison counts. [K]"""
    place: int
    """Of the hopper in the case."""
    duty: Duty
    """Of the day, shape (1,): throughput and hall as read."""
    expected: Operation
    """Of the machine as the case has it."""
    as_found: Operation
    """With airflow and process temperature as read, so that what was not read can be taken from it."""
    inputs_found: base.Inputs
    duty_found: Duty
    regenerated: float
    """Heat of regeneration that was found over what the model counts, at most 1. [-]"""
    notes: tuple[str, ...]
    typed: Readings
    """All readings, as they were typed; also those that a dryer of this type cannot have."""
    jacket: Jacket | None = None
    """That fits the wall that was read and is taken for the dryer's own; None where none was read, or it does not tell."""
    aside: Mapping[str, Doubt] = field(default_factory=dict)
    """Readings that are left out of everything until they are checked, by name."""

    @property
    def closed(self) -> bool:
        """Has it a desiccant circuit?"""
        return ("regeneration", "electricity") in self.expected.energy or (
            "regeneration",
            "gas",
        ) in self.expected.energy

    @property
    def batch(self) -> bool:
        return self.machine.type in BATCH


def usual(name: str) -> float:
    """Accuracy or range of data/instruments.toml, SI."""
    return float(load("instruments")[name].si)


def half_width(readings: Readings, name: str) -> float:
    """How far a reading may be off: as written beside it, else usual for the instrument. SI"""
    value = float(getattr(readings, name))
    told = accuracy_of(readings, name, value)
    if told is not None:
        return told
    stored = load("instruments")[name]
    return usual(name) if stored.kind == "temperature difference" else usual(name) * abs(value)


def read(readings: Readings, name: str) -> Estimate:
    """A reading with its standard uncertainty."""
    told = "accuracy as given" if name in readings.accuracy else "usual accuracy of the instrument"
    return estimate(getattr(readings, name), half_width(readings, name), "read", told)


def relative(readings: Readings, *names: str) -> float:
    """Relative half-width of a product of readings. [-]"""
    return math.sqrt(sum((half_width(readings, n) / float(getattr(readings, n))) ** 2 for n in names))


def throughput(case: Case, place: int, readings: Readings) -> Estimate:
    """Resin through the hopper: weighed, read, or the case's own. [kg/s]"""
    known = _throughput_of_case(case, place)
    if readings.weighed_mass is not None:
        assert readings.weighing_time is not None
        value = readings.weighed_mass / readings.weighing_time
        off = math.hypot(relative(readings, "weighed_mass", "weighing_time"), usual("steadiness"))
        now = estimate(value, off * value, "read", "weighed over a time")
    elif readings.throughput is not None:
        now = read(readings, "throughput")
    else:
        return known
    confirmed = known.measured and abs(now.value - known.value) <= math.sqrt(3.0) * known.uncertainty
    return replace(now, measured=confirmed)


MEASURED = ("measured", "read")
"""Bases of a throughput that somebody found out and did not suppose."""


def _throughput_of_case(case: Case, place: int) -> Estimate:
    """Throughput of the case within its own range; that of a day may be any of its levels, where it has some. [kg/s]"""
    hopper = case.model.hoppers[place]
    value, note = float(hopper.throughput), "the case's throughput, not read"
    stated = case.document["hoppers"][place].get("throughput")
    if hopper.levels or not isinstance(stated, Mapping):
        return estimate(value, usual("case_throughput") * value, "case", note)
    low, high = (
        value * (1.0 + sign * usual("case_throughput")) if stated.get(end) is None else parse(stated[end], "mass flow")
        for end, sign in (("low", -1.0), ("high", 1.0))
    )
    known = estimate(value, 0.5 * (high - low), "case", note)
    return replace(known, measured=stated.get("basis") in MEASURED)


def place_of(case: Case, hopper: str) -> int:
    """Place of a hopper in the case.

    Raises
    ------
    UnknownNameError
        No such hopper.
    """
    names = [known.name for known in case.model.hoppers]
    if hopper not in names:
        hint = nearest(hopper, names)
        raise UnknownNameError(f"hopper: there is no hopper '{hopper}'{hint}; known: {', '.join(names)}")
    return names.index(hopper)


def find(case: Case, readings: Readings) -> Found:
    """The baseline's dryer at the hopper that was read.

    Raises
    ------
    UnknownNameError
        No such hopper.
    EnergyError
        The baseline is a central system, which is not one dryer; or the model has no answer for the duty read.
    """
    place = place_of(case, readings.hopper)
    option = next(o for o in case.model.options if o.baseline)
    counted = next(one for one in machines_of(case, option, duties_of(case)) if place in one.places)
    if counted.ducts is not None:
        raise EnergyError(
            f"hopper: '{option.name}' is a central system; a walkthrough takes one dryer with its own hopper at a time"
        )
    typed, readings = readings, of_type(readings, counted.type)
    flow = throughput(case, place, readings).value
    try:
        machine = with_its_beds(replace(counted, metered=1.0, delivered_dew_point=None))
        duty = _of_the_day(machine.duties[0], readings, flow)
        expected = operate(machine, (duty,))
    except (ModelError, OutOfRangeError) as error:
        raise EnergyError(f"{readings.hopper}: the model has no answer for this dryer at its duty: {error}") from error
    notes: list[str] = []
    inputs, duty_found, as_found, jacket = machine.inputs, duty, expected, None
    if machine.type not in BATCH:
        inputs, duty_found = _as_read(machine, duty, expected, readings)
        jacket = _jacket(machine, duty, duty_found, readings)
        inputs = _with_an_answer(machine, inputs, duty_found)
    share = 1.0
    if jacket is not None:
        behind = inputs.model_copy(update={"insulation_thickness": jacket.value})
        try:
            as_found, inputs = operate(replace(machine, inputs=behind), (duty_found,)), behind
        except (ModelError, OutOfRangeError):  # with so little air: that is told of the jacket of the case
            jacket = None
    if jacket is None and (inputs is not machine.inputs or duty_found is not duty):
        try:
            as_found = operate(replace(machine, inputs=inputs), (duty_found,))
        except (ModelError, OutOfRangeError) as error:
            inputs, duty_found = machine.inputs, duty
            why = str(error) if isinstance(error, ModelError) else _cannot_be(readings)
            notes.append(f"The model cannot run the dryer as it was read, so what was not read is as expected: {why}.")
    if readings.regeneration_power is not None:
        share = regenerated(readings.regeneration_power, as_found)
        if share < 1.0:
            as_found = operate(replace(machine, inputs=inputs, regenerated=share), (duty_found,))
    return Found(
        case=case,
        readings=readings,
        option=option,
        machine=machine,
        metered=float(np.ravel(counted.metered)[0]),
        delivered_dew_point=_delivered_dew_point(counted, expected),
        place=place,
        duty=duty,
        expected=expected,
        as_found=as_found,
        inputs_found=inputs,
        duty_found=duty_found,
        regenerated=share,
        notes=tuple(notes),
        typed=typed,
        jacket=jacket,
    )


def _jacket(machine: Machine, duty: Duty, hot: Duty, readings: Readings) -> Jacket | None:
    """The jacket that fits the wall that was read, where it changes no air of the dryer."""
    surface = readings.shell_temperature
    if surface is None or colder_than_hall(readings, duty, "shell_temperature"):
        return None
    if not air_stays(machine.inputs, readings.air_velocity is not None):
        return None
    return fitting(machine.inputs, duty, hot, float(surface), half_width(readings, "shell_temperature"))


def _cannot_be(readings: Readings) -> str:
    """Which readings of air give, together, air that cannot be."""
    names = (
        "air_velocity",
        "duct_diameter",
        "air_flow",
        "blower_pressure",
        "process_temperature",
        "regeneration_temperature",
    )
    told = [QUANTITIES[name].label.lower() for name in names if getattr(readings, name) is not None]
    return f"what was read of its air cannot be together ({', '.join(told)})"


def _delivered_dew_point(counted: Machine, expected: Operation) -> float:
    given = counted.delivered_dew_point
    return float(np.ravel(expected.delivered_dew_point if given is None else given)[0])


def _of_the_day(duty: Duty, readings: Readings, flow: float) -> Duty:
    """The duty at the throughput and in the hall of the day; the mean of the months where no date is given."""
    month = datetime.date.fromisoformat(readings.date).month - 1 if readings.date else None

    def now(array: np.ndarray) -> np.ndarray:
        if np.ndim(array) == 0:
            return np.asarray(array, float)
        return np.array([np.mean(array) if month is None else array[month]])

    taken: dict[str, Any] = {
        f.name: now(value)
        for f in fields(duty)
        if f.name not in ("resin", "compressed_air", "design", "bed_mass")
        and (value := getattr(duty, f.name)) is not None
    }
    taken["throughput"] = np.array([flow])
    if duty.bed_mass is not None:
        taken["bed_mass"] = np.ravel(duty.bed_mass)[:1]
    fed_from_hall = np.allclose(duty.resin_temperature, duty.hall_temperature)
    if readings.hall_temperature is not None:
        taken["hall_temperature"] = np.array([float(readings.hall_temperature)])
        if fed_from_hall:
            taken["resin_temperature"] = taken["hall_temperature"]
    if readings.hall_dew_point is not None:
        taken["hall_dew_point"] = np.array([float(readings.hall_dew_point)])
    taken["hall_dew_point"] = np.minimum(taken["hall_dew_point"], taken["hall_temperature"])
    assert duty.design is not None
    built: dict[str, Any] = {
        f.name: np.asarray(getattr(duty.design, f.name))[..., :1]
        for f in fields(duty)
        if f.name not in ("resin", "compressed_air", "design") and np.ndim(getattr(duty.design, f.name))
    }
    return replace(duty, **taken, design=replace(duty.design, **built))


def colder_than_hall(readings: Readings, duty: Duty, name: str) -> bool:
    """Is a temperature below the hall's by more than the standard uncertainty of both?

    Nothing in or around hot process air can be: it is well above the hall in truth, so that one uncertainty is enough.
    """
    value, hall = getattr(readings, name), float(duty.hall_temperature[0])
    if value is None:
        return False
    known = readings.hall_temperature is not None
    off = half_width(readings, "hall_temperature") if known else usual("case_hall_temperature")
    return bool(value + math.hypot(half_width(readings, name), off) / math.sqrt(3.0) < hall)


def air_flow(readings: Readings, duty: Duty, expected: Operation) -> Estimate:
    """Dry process air: from velocity and duct, as said, coarsely from the blower's pressure, or the model's. [kg/s]"""
    modelled = float(expected.air_flow[0])
    if readings.air_velocity is not None:
        assert readings.duct_diameter is not None
        hot = readings.process_temperature if readings.velocity_in == "process duct" else readings.return_temperature
        if readings.velocity_in != "process duct" and colder_than_hall(readings, duty, "return_temperature"):
            hot = None
        if hot is None:
            model = duty.drying_temperature if readings.velocity_in == "process duct" else None
            hot = float((expected.hopper.return_temperature if model is None else model)[0])
        state = expected.hopper.return_humidity[0] if readings.velocity_in == "return duct" else 0.0
        volume = readings.air_velocity * math.pi / 4.0 * readings.duct_diameter**2
        value = volume / float(moist.specific_volume(float(hot), state, duty.pressure[0]))
        off = math.sqrt(relative(readings, "air_velocity") ** 2 + (2.0 * relative(readings, "duct_diameter")) ** 2)
        return estimate(value, off * value, "read", f"velocity times duct, in the {readings.velocity_in}")
    if readings.air_flow is not None:
        return read(readings, "air_flow")
    rise = expected.details.get("pressure_rise")
    if readings.blower_pressure is not None and rise is not None:
        # Ducts, filter and desiccant take the square of the flow, the bed of pellets a little less.
        value = modelled * math.sqrt(readings.blower_pressure / float(np.ravel(rise)[0]))
        return estimate(value, usual("pressure_air_flow") * value, "read", "coarse, from the blower's pressure")
    return estimate(modelled, usual("model_air_flow") * modelled, "model", "airflow of the machine as built")


def _as_read(machine: Machine, duty: Duty, expected: Operation, readings: Readings) -> tuple[base.Inputs, Duty]:
    flow = air_flow(readings, duty, expected)
    changes: dict[str, object] = {}
    if flow.origin == "read":
        ratio = flow.value / float(np.ravel(duty.built_for.design_throughput)[0])
        changes |= {"air_resin_ratio": ratio, "airflow_control": "fixed"}
    changes |= beds_as_read.inputs_read(machine.inputs, readings)
    if readings.process_temperature is not None:
        duty = replace(duty, drying_temperature=np.array([float(readings.process_temperature)]))
    return machine.inputs.model_copy(update=changes) if changes else machine.inputs, duty


def _with_an_answer(machine: Machine, inputs: base.Inputs, duty: Duty) -> base.Inputs:
    """The inputs as read; with the case's regeneration air where the model has an answer with that alone."""
    own = getattr(machine.inputs, "regeneration_temperature", None)
    if own is None or inputs.regeneration_temperature == own:  # type: ignore[attr-defined]
        return inputs
    for tried in (inputs, inputs.model_copy(update={"regeneration_temperature": own})):
        try:
            operate(replace(machine, inputs=tried), (duty,))
        except (ModelError, OutOfRangeError):
            continue
        return tried
    return inputs


def regenerated(power: float, modelled: Operation) -> float:
    """A regeneration heater that was read over the model's; at most 1, since what is beyond the model is not explained. [-]"""
    of_model = regeneration_of(modelled)
    return min(power / of_model, 1.0) if of_model > 0.0 else 1.0


def regeneration_of(operation: Operation) -> float:
    """Electricity or fuel that heats regeneration air. [W]"""
    return sum(float(np.ravel(v)[0]) for (use, _), v in operation.energy.items() if use == "regeneration")


def power_of(operation: Operation) -> float:
    """Electricity and fuel bought. [W]"""
    return sum(float(np.ravel(v)[0]) for (_, carrier), v in operation.energy.items() if carrier != "cooling")


def metered_power(operation: Operation) -> float:
    """Of `power_of`, what passes the dryer's own meters. [W]"""
    return sum(float(np.ravel(v)[0]) for (_, carrier), v in operation.energy.items() if carrier in METERED)


def power_read(readings: Readings) -> bool:
    """Is the electricity of the dryer among what was read?"""
    return readings.power is not None or readings.current is not None


def label_of(found: Found) -> str:
    """Name of the dryer's type in words."""
    return str(dryers.TYPES[found.machine.type].LABEL)
