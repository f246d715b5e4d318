"""Readings kept with the case as its baseline's, and what of them can take the place of the present machine's inputs."""

from __future__ import annotations

import copy
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np
from pydantic import ValidationError

from energy.dryers import circuit_inputs
from energy.dryers.hopper_sizing import design_ratio
from energy.errors import CaseError, Problem
from energy.sources import load
from energy.study.case import MAX_BYTES, Case, build, read_document
from energy.study.checks import tables
from energy.study.form import entries
from energy.study.option_sections import DEW_POINTS, FURTHEST, OF_DRYER, Option
from energy.study.plant_sections import OwnResin
from energy.study.problems import problems
from energy.study.readings import Readings
from energy.units import Quantity, parse, show, to_unit
from energy.units.days import iso_day
from energy.walkthrough.balance import Balance
from energy.walkthrough.balance import balance as balance_of
from energy.walkthrough.estimate import COVERAGE
from energy.walkthrough.found import find, metered_power, place_of, power_of, power_read, read
from energy.walkthrough.jacket_read import THICKEST
from energy.walkthrough.kept_out import AIR, CYCLE, TEMPERATURE, kept_out
from energy.walkthrough.moisture_read import NAME as MOISTURE
from energy.walkthrough.moisture_read import pellets_read
from energy.walkthrough.slips import doubts

POWERS = ("power", "current", "voltage", "power_factor", "regeneration_power")
"""Readings of the dryer's meter."""


def readings_from(document: Mapping[str, Any], file: str = "readings", shown: str | None = None) -> Readings:
    """Check a table of readings, whose date may have its day first, with points.

    Parameters
    ----------
    document : mapping
    file : str
        Named before what is wrong.
    shown : {"degC", "degF"}, optional
        Unit in which temperatures are shown to the reader of what is wrong; else the one that each was written in.

    Raises
    ------
    CaseError
        One problem per line, each naming the reading.
    """
    document = _dated(document)
    found = [Problem(p.key.removeprefix("readings[1]."), p.message) for p in tables({"readings": [dict(document)]})]
    try:
        readings = Readings.model_validate(dict(document), context={"shown": shown})
    except ValidationError as error:
        told = [*found, *problems(error, Readings, document)]
        seen = {p.key for p in found}  # an unknown key of a table is told once
        raise CaseError([p for p in told if p in found or p.key not in seen], file=file) from error
    if found:
        raise CaseError(found, file=file)
    return readings


def read_readings(path: str | Path, hopper: str = "") -> dict[str, Any]:
    """A file of readings as a table as it was written: of one dryer, or as a case has them, ``[[readings]]``.

    Parameters
    ----------
    path : path
    hopper : str
        Whose dryer was read, where the file does not say so, or has several.

    Raises
    ------
    CaseError
        Unreadable, not TOML, or several of which none is that hopper's.
    """
    target = Path(path)
    try:
        with target.open("rb") as file:
            content = file.read(MAX_BYTES + 1)
        text = content.decode("utf-8-sig")
    except OSError as error:
        raise CaseError([Problem("", f"cannot be read ({error.strerror})")], file=str(path)) from error
    except UnicodeDecodeError as error:
        raise CaseError([Problem("", "is not UTF-8 text; save it as UTF-8")], file=str(path)) from error
    if len(content) > MAX_BYTES:
        raise CaseError([Problem("", f"is larger than {MAX_BYTES} bytes")], file=str(path))
    return _one_of(read_document(text, str(path)), hopper, str(path))


def _one_of(document: Mapping[str, Any], hopper: str, file: str) -> dict[str, Any]:
    """The readings of one dryer, of a file of them or of a case's section."""
    listed = document.get("readings")
    several = isinstance(listed, list) and set(document) == {"readings"} and all(isinstance(v, dict) for v in listed)
    if not several:
        return {"hopper": hopper, **document} if hopper else dict(document)
    assert isinstance(listed, list)
    own = listed if len(listed) == 1 else [row for row in listed if row.get("hopper") == hopper]
    if not own:
        names = ", ".join(f"'{row.get('hopper', '')}'" for row in listed)
        message = f"has those of {len(listed)} dryers ({names}); name one of them with --hopper"
        raise CaseError([Problem("readings", message)], file=file)
    return {"hopper": hopper, **own[0]} if hopper else dict(own[0])


def readings_of(case: Case, hopper: str) -> Readings:
    """What the case keeps of a hopper's dryer; none taken where it keeps nothing.

    Raises
    ------
    UnknownNameError
        No such hopper.
    """
    place_of(case, hopper)
    return next((r for r in case.model.readings if r.hopper == hopper), Readings(hopper=hopper))


def with_readings(case: Case, written: Mapping[str, Any]) -> Case:
    """The case with readings, as written, kept as those of their hopper.

    Raises
    ------
    CaseError
        They are not valid, or of a hopper that the case has not.
    """
    document = copy.deepcopy(dict(case.document))
    kept = [r for r in document.get("readings", []) if r.get("hopper") != written.get("hopper")]
    document["readings"] = [*kept, copy.deepcopy(_dated(written))]
    return build(document, folder=case.folder, file=case.file)


def _dated(written: Mapping[str, Any]) -> dict[str, Any]:
    day = written.get("date")
    return {**written, "date": iso_day(day)} if isinstance(day, str) else dict(written)


RESTS_ON = {
    "air_flow": ("air_velocity", MOISTURE),
    "throughput": ("throughput", "weighed_mass", "weighing_time", MOISTURE, *POWERS),
    "power": POWERS,
    "process_temperature": ("process_temperature", MOISTURE, *POWERS),
    "dew_point": ("dew_point", MOISTURE),
    "hall_temperature": ("hall_temperature", *POWERS),
}
"""Readings that go with a quantity that is doubted; of any other the reading of its name."""
_IN_DUCT = {"process_temperature": "process duct", "return_temperature": "return duct"}
"""Where an air velocity was read whose air has that temperature, and its density."""


def undoubted(readings: Readings, doubted: Iterable[str]) -> Readings:
    """The readings without those that are to be checked first, by the quantities that are doubted."""
    quantities = [*doubted]
    gone = [name for quantity in quantities for name in RESTS_ON.get(quantity, (quantity,))]
    if any(_IN_DUCT.get(quantity) == readings.velocity_in for quantity in quantities):
        gone.append("air_velocity")
    return readings.model_copy(update=dict.fromkeys(gone))


def overrides(balance: Balance) -> dict[str, Any]:
    """Inputs of the present machine that were read, each as a table with its basis; empty where nothing maps honestly.

    A reading maps where it is the input itself: airflow per resin at design throughput, regeneration temperature, time
    between bed changes of a timer, and how changes are decided; and a wall where one thickness of the jacket fits it well
    (`jacket_read.py`). What does not is told by `kept_out.py`. Wear and leaks show in the balance but name no single input,
    and a dryer's power factor is not the one that is billed.
    """
    found, readings = balance.found, balance.found.readings
    inputs, apart = found.machine.inputs, {one.reading for one in kept_out(found)}
    told: dict[str, Any] = {}

    def measured(text: str, how: str, ends: tuple[str, str] | None = None) -> dict[str, str]:
        span = {} if ends is None or text in ends else dict(zip(("low", "high"), ends, strict=True))
        note = f"{how} at the walkthrough {readings.occasion}".rstrip()
        return {"value": text, **span, "basis": "measured", "note": note}

    def degrees(temperature: float) -> str:
        return show(temperature, "temperature", "degC", digits=4).replace("°", "deg")

    flow = balance.quantities.get("air_flow")
    if flow is not None and readings.air_velocity is not None and AIR not in apart:
        design = float(np.ravel(found.duty.built_for.design_throughput)[0])
        ends = [f"{end / design:.3g}" for end in (flow.value - flow.expanded, flow.value + flow.expanded)]
        span = (ends[0], ends[1]) if flow.value > flow.expanded else None
        told["air_resin_ratio"] = measured(f"{flow.value / design:.3g}", "air velocity times duct, read", span)
    if found.jacket is not None:
        thickness, *ends = (
            f"{1e3 * t:.3g} mm" for t in (found.jacket.value, found.jacket.low, min(found.jacket.high, THICKEST))
        )
        read_there = f"fits the wall of {degrees(float(readings.shell_temperature or 0.0))} that was read"
        told["insulation_thickness"] = measured(thickness, read_there, (ends[0], ends[1]))
    if readings.regeneration_temperature is not None and hasattr(inputs, "regeneration_temperature"):
        hot, off = (
            float(readings.regeneration_temperature),
            COVERAGE * read(readings, "regeneration_temperature").uncertainty,
        )
        coldest, hottest = entries(type(inputs))["regeneration_temperature"].limits
        span = degrees(max(hot - off, coldest[1])), degrees(min(hot + off, hottest[1]))
        if TEMPERATURE not in apart:
            told["regeneration_temperature"] = measured(degrees(hot), "read", span)
    control = readings.regeneration_control
    if control is not None and hasattr(inputs, "regeneration_control"):
        told["regeneration_control"] = control
    if readings.regeneration_cycle is not None and CYCLE not in apart and hasattr(inputs, "cycle_time"):
        told["cycle_time"] = measured(f"{readings.regeneration_cycle / 3600.0:.4g} h", "read")
    return told


SIZE_BEDS = ("air_resin_ratio", "regeneration_temperature", "cycle_time")
"""Inputs that beds are sized by, of those that a reading may take the place of."""


def desiccant_kept(balance: Balance) -> dict[str, str] | None:
    """Desiccant that the present dryer has in the case, where a reading that is taken over would build it other beds; else None.

    A table with its basis, and the range that the usual range of how far beds are used gives it.
    """
    machine = balance.found.machine
    inputs, mass = machine.inputs, balance.found.duty.bed_mass
    if not isinstance(inputs, circuit_inputs.Inputs) or inputs.desiccant_mass is not None or mass is None:
        return None
    if not any(key in overrides(balance) for key in SIZE_BEDS):
        return None
    value, use = float(np.ravel(mass)[0] * inputs.beds), load(f"dryers/{machine.type}")["bed_use"]
    assert use.si_low is not None
    assert use.si_high is not None
    ends = {"value": value, "low": value * use.si / use.si_high, "high": value * use.si / use.si_low}
    told = {key: f"{end:.4g} kg" for key, end in ends.items()}
    note = f"worked out of the case before the walkthrough {balance.found.readings.occasion}".rstrip()
    return {**told, "basis": "assumption", "note": f"{note}: what was read changes no beds"}


def delivered_dew_point(balance: Balance) -> dict[str, str] | None:
    """Dew point read of the air into the hopper, as a table with its range and basis.

    None where none was read, where it is not the dryer's own (hot air is the hall's; vacuum and infrared dry without dry
    air), and where no dryer's air has it. The range is the expanded uncertainty of the instrument.
    """
    readings = balance.found.readings
    if readings.dew_point is None or not balance.found.machine.inputs.DRIES_AIR:
        return None
    value, off = float(readings.dew_point), COVERAGE * read(readings, "dew_point").uncertainty
    driest, dampest = DEW_POINTS
    if not driest <= value <= dampest:
        return None
    ends = {"value": value, "low": max(value - off, driest), "high": min(value + off, dampest)}
    told = {key: f"{to_unit(end, 'temperature', 'degC'):.4g} degC" for key, end in ends.items()}
    return {**told, "basis": "measured", "note": f"read at the walkthrough {readings.occasion}".rstrip()}


def metered_over_model(balance: Balance) -> dict[str, str] | None:
    """Electricity and fuel that the meter says over what the model counts, as a table with its range and basis.

    None where no power was read, where meter and model agree within what is stated of the readings, and where they are
    so far apart that a ratio would hide a fault and not describe a dryer.

    Source
    ------
    See `energy.study.at_work.operate`: the model of the present dryers is brought to their meter before a saving is told.
    """
    found, readings = balance.found, balance.found.readings
    if not power_read(readings) or abs(balance.specific_energy - balance.expected) <= balance.expanded:
        return None
    flow = float(found.duty.throughput[0])
    modelled = metered_power(found.expected) / flow
    apart = power_of(found.expected) / flow - modelled  # compressed air, which is on no meter of the dryer
    value, off = (balance.specific_energy - apart) / modelled, balance.expanded / modelled
    if not FURTHEST[0] <= value - off < value + off <= FURTHEST[1]:
        return None
    told = {key: f"{ratio:.4g}" for key, ratio in (("value", value), ("low", value - off), ("high", value + off))}
    note = f"meter over model at the walkthrough {readings.occasion}".rstrip()
    return {**told, "basis": "measured", "note": note}


def own_diffusivity(balance: Balance) -> dict[str, str] | None:
    """Diffusivity that gives the moisture read of the pellets leaving, as a table with its range and basis; None where none can be told."""
    found = balance.found
    pellets = pellets_read(found, [doubt.name for doubt in doubts(found, balance.quantities)])
    if pellets is None or pellets.diffusivity is None:
        return None
    ends = zip(("value", "low", "high"), pellets.diffusivity, strict=True)
    moisture = show(pellets.read.value, "moisture", "ppm")
    note = f"gives the {moisture} read of the pellets leaving at the walkthrough {found.readings.occasion}".rstrip()
    return {**{key: f"{d:.4g} m2/s" for key, d in ends}, "basis": "measured", "note": note}


def can_take_over(balance: Balance) -> bool:
    """Is there a reading that can take the place of an input of the present dryer, or a meter to bring its model to?"""
    if delivered_dew_point(balance) is not None or own_diffusivity(balance) is not None:
        return True
    return bool(overrides(balance)) or power_read(balance.found.readings)


ROUNDS = 5
"""Of looking for a diffusivity: in a dryer with little air it decides how much water leaves, and so how warm the pellets get, too."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Replaced:
    """An input of the present machine whose place a reading takes."""

    label: str
    quantity: Quantity | None
    """None for a choice among words."""
    before: float | str
    """As the model counted it, also where the case leaves it out; SI, or the word."""
    now: float | str


def replaced(balance: Balance, taken: Case) -> tuple[Replaced, ...]:
    """What `as_baseline` changed of the machine that was read, before and in the case that it gave."""
    machine = balance.found.machine
    known = entries(type(machine.inputs))
    told = []
    for key, written in overrides(balance).items():
        quantity = known[key].quantity
        before = getattr(machine.inputs, key)
        if before is None and key == "air_resin_ratio":
            before = float(np.max(design_ratio(machine.inputs, machine.duties[0])))
        now = written if quantity is None else parse(written["value"], quantity.kind)
        told.append(Replaced(label=known[key].label, quantity=quantity, before=before, now=now))
    dew_point = delivered_dew_point(balance)
    if dew_point is not None:
        of_air = entries(Option)["delivered_dew_point"]
        before, now = balance.found.delivered_dew_point, parse(dew_point["value"], "temperature")
        told.append(Replaced(label=of_air.label, quantity=of_air.quantity, before=before, now=now))
    resin, of_taken = balance.found.duty.resin, taken.resins[balance.found.place]
    if resin.diffusivity != of_taken.diffusivity:
        water = entries(OwnResin)["diffusivity"]
        before, now = (float(one.diffusivity or 0.0) for one in (resin, of_taken))
        told.append(Replaced(label=water.label, quantity=water.quantity, before=before, now=now))
    now = find(taken, balance.found.readings).metered
    if now != balance.found.metered:
        ratio = entries(Option)["metered_over_model"]
        told.append(Replaced(label=ratio.label, quantity=ratio.quantity, before=balance.found.metered, now=now))
    return tuple(told)


def as_baseline(case: Case, balance: Balance) -> Case:
    """The case with the present machine's inputs and dew point and its resin's diffusivity as read, and what its meter says over the model.

    Its desiccant stays as it is in the case (see `desiccant_kept`).

    Raises
    ------
    CaseError
        The case does not hold with them.
    """
    document = copy.deepcopy(dict(case.document))
    option = next(o for o in document["options"] if o.get("baseline"))
    readings = balance.found.readings
    own = next((m for m in option.get("machines", []) if m["hopper"] == readings.hopper), None)
    if own is None and len(case.model.hoppers) > 1:  # the option's inputs are those of other hoppers, too
        own = {"hopper": readings.hopper, "type": option["type"], "inputs": copy.deepcopy(option.get("inputs", {}))}
        own |= {key: option[key] for key in OF_DRYER if key in option}
        option.setdefault("machines", []).append(own)
    place = option if own is None else own
    place["inputs"] = {**place.get("inputs", {}), **(read_there := overrides(balance))}
    if (desiccant := desiccant_kept(balance)) is not None:
        place["inputs"]["desiccant_mass"] = desiccant
    if read_there.get("regeneration_control") == "timer":
        place["inputs"].pop("dew_point_set_point", None)  # a timer does not look at it
    if "air_resin_ratio" in read_there:
        place.pop("airflow", None)  # what was read takes the place of a nameplate
    dew_point = delivered_dew_point(balance)
    if dew_point is not None:
        place["delivered_dew_point"] = dew_point
    taken = build(document, folder=case.folder, file=case.file)
    if own_diffusivity(balance) is not None:
        hopper = document["hoppers"][balance.found.place]
        for _ in range(ROUNDS):
            diffusivity = own_diffusivity(balance_of(taken, readings))
            if diffusivity in (None, hopper.get("own_resin", {}).get("diffusivity")):
                break
            hopper.setdefault("own_resin", {})["diffusivity"] = diffusivity
            taken = build(document, folder=case.folder, file=case.file)
    if not power_read(readings):
        return taken
    ratio = metered_over_model(balance_of(taken, readings))
    place.pop("metered_over_model", None)
    if ratio is not None:
        place["metered_over_model"] = ratio
    return build(document, folder=case.folder, file=case.file)
