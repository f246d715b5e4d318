"""Readings kept with the case as its baseline's, and what of them can take the place of the present machine's inputs."""

from __future__ import annotations

import copy
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np
from pydantic import ValidationError

from energy.dryers.hopper_sizing import design_ratio
from energy.errors import CaseError, Problem
from energy.study.case import MAX_BYTES, Case, build, read_document
from energy.study.checks import tables
from energy.study.form import entries
from energy.study.problems import problems
from energy.study.readings import Readings
from energy.units import Quantity, parse, show
from energy.walkthrough.balance import Balance
from energy.walkthrough.found import place_of


def readings_from(document: Mapping[str, Any], file: str = "readings") -> Readings:
    """Check a table of readings.

    Raises
    ------
    CaseError
        One problem per line, each naming the reading.
    """
    found = [Problem(p.key.removeprefix("readings[1]."), p.message) for p in tables({"readings": [dict(document)]})]
    try:
        readings = Readings.model_validate(dict(document))
    except ValidationError as error:
        told = [*found, *problems(error, Readings, document)]
        seen = {p.key for p in found}  # an unknown key of a table is told once
        raise CaseError([p for p in told if p in found or p.key not in seen], file=file) from error
    if found:
        raise CaseError(found, file=file)
    return readings


def read_readings(path: str | Path) -> dict[str, Any]:
    """A file of readings as a table as it was written.

    Raises
    ------
    CaseError
        Unreadable, or not TOML.
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
    return read_document(text, str(path))


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
    document["readings"] = [*kept, copy.deepcopy(dict(written))]
    return build(document, folder=case.folder, file=case.file)


def overrides(balance: Balance) -> dict[str, Any]:
    """Inputs of the present machine that were read, each as a table with its basis; empty where nothing maps honestly.

    A reading maps where it is the input itself: airflow per resin at design throughput, regeneration temperature, time
    between bed changes of a timer, and how changes are decided. Wear, leaks and a missing jacket show in the balance but
    name no single input, and a dryer's power factor is not the one that is billed.
    """
    found, readings = balance.found, balance.found.readings
    inputs = found.machine.inputs
    told: dict[str, Any] = {}

    def measured(text: str, how: str) -> dict[str, str]:
        return {"value": text, "basis": "measured", "note": f"{how} at the walkthrough {readings.occasion}".rstrip()}

    flow = balance.quantities.get("air_flow")
    if flow is not None and readings.air_velocity is not None and inputs.airflow_control == "fixed":
        design = float(np.ravel(found.duty.built_for.design_throughput)[0])
        told["air_resin_ratio"] = measured(f"{flow.value / design:.3g}", "air velocity times duct, read")
    if readings.regeneration_temperature is not None and hasattr(inputs, "regeneration_temperature"):
        text = show(float(readings.regeneration_temperature), "temperature", "degC", digits=4).replace("°", "deg")
        told["regeneration_temperature"] = measured(text, "read")
    control = readings.regeneration_control
    if control is not None and hasattr(inputs, "regeneration_control"):
        told["regeneration_control"] = control
        if control == "timer" and readings.regeneration_cycle is not None:
            text = f"{readings.regeneration_cycle / 3600.0:.4g} h"
            told["cycle_time"] = measured(text, "read")
    return told


@dataclass(frozen=True, slots=True, kw_only=True)
class Replaced:
    """An input of the present machine whose place a reading takes."""

    label: str
    quantity: Quantity | None
    """None for a choice among words."""
    before: float | str
    """As the model counted it, also where the case leaves it out; SI, or the word."""
    now: float | str


def replaced(balance: Balance) -> tuple[Replaced, ...]:
    """The inputs that `overrides` would change, with what they are before and after."""
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
    return tuple(told)


def as_baseline(case: Case, balance: Balance) -> Case:
    """The case with the present machine's inputs as they were read.

    Raises
    ------
    CaseError
        The case does not hold with them.
    """
    changed = overrides(balance)
    document = copy.deepcopy(dict(case.document))
    option = next(o for o in document["options"] if o.get("baseline"))
    hopper = balance.found.readings.hopper
    own = next((m for m in option.get("machines", []) if m["hopper"] == hopper), None)
    if own is None and len(case.model.hoppers) > 1:  # the option's inputs are those of other hoppers, too
        own = {"hopper": hopper, "type": option["type"], "inputs": copy.deepcopy(option.get("inputs", {}))}
        own |= {key: option[key] for key in ("built_for", "hopper_volume") if key in option}
        option.setdefault("machines", []).append(own)
    place = option if own is None else own
    place["inputs"] = {**place.get("inputs", {}), **changed}
    return build(document, folder=case.folder, file=case.file)
