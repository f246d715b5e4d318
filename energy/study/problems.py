"""Turns the validator's findings into our words: the key, what is wrong, what is allowed."""

from __future__ import annotations

import math
import re
from collections.abc import Mapping
from typing import Any, Literal, get_args, get_origin

from pydantic import BaseModel, ValidationError

from energy import dryers
from energy.errors import Problem, UnitError, nearest
from energy.resins.properties import FOR_REFERENCE
from energy.study.plant_sections import OwnResin
from energy.study.readings import Readings
from energy.units import SI, Quantity, parse, show, unit_of
from energy.units.currencies import code_of
from energy.units.degrees import in_other, said_in_other, unit_typed

_BOUNDS = {
    "greater_than": ("gt", "more than"),
    "greater_than_equal": ("ge", "at least"),
    "less_than": ("lt", "less than"),
    "less_than_equal": ("le", "at most"),
}
_TAGS = ("union_tag_invalid", "union_tag_not_found")
_WANTED = {
    "string": "text in quotes",
    "int": "a whole number",
    "float": "a number",
    "date": "a date, such as 2026-02-16",
    "finite": "a whole number",
    "bool": "true or false",
    "model": "a table",
    "dict": "a table",
    "tuple": "a list",
}

_OTHERWISE = dict.fromkeys(
    [f"escalation_{name}" for name in ("maintenance", "upkeep", "cooling", "water")], "escalation_other"
)
"""Keys that somebody may look for, the workbook's names of two of them among them, and the one that stands for all."""
_MEASURED = re.compile(
    r"(measured|pellet|leaving|outlet|actual|present)_moisture|moisture_(measured|read|out|leaving)", re.IGNORECASE
)
_CO2 = re.compile(r"emission|co2|carbon|grid_factor", re.IGNORECASE)


_STOOD_STILL = ". A week that stood still is put together with the one beside it: one period with the days, resin and energy of both"


def problems(error: ValidationError, model: type[BaseModel], document: Mapping[str, Any]) -> list[Problem]:
    """One problem per finding, in the order of the file."""
    found = []
    for raw in error.errors(include_url=False):
        loc = tuple(raw["loc"])
        if raw["type"] == "too_short" and raw.get("input"):
            continue  # the list has entries; what is wrong with them is told by their own findings
        if raw["type"] in _TAGS:
            if not isinstance(raw["input"].get("kind"), str):
                continue  # no type to choose the inputs by, which is told by its own finding
            loc = (*loc[:-1], "type")
        found.append(Problem(key_of(loc, document), _sentence(raw, loc, model, document)))
    return list(dict.fromkeys(found))


def _is_zero(text: str) -> bool:
    """Is a quantity as written no more and no less than nothing?"""
    return re.match(r"\s*[-+]?0*[.,]?0+(?![\d.,])", text) is not None


def key_of(loc: tuple[int | str, ...], document: Mapping[str, Any]) -> str:
    """The path as in the file, list entries by their name if they have one: ``options['Wheel'].capital[1].amount``."""
    text, here = "", document
    for before, part in zip(("", *loc), loc, strict=False):
        if isinstance(part, int):
            if not isinstance(here, (list, tuple)):  # a sum instead of lines of capital
                break
            here = here[part] if part < len(here) else {}
            name = here.get("name") if isinstance(here, Mapping) else None
            text += f"['{name}']" if isinstance(name, str) else f"[{part + 1}]"
            continue
        if before == "inputs" and part in dryers.TYPES:  # chose the schema of the inputs; not a key of the file
            continue
        here = here.get(part, {}) if isinstance(here, Mapping) else {}
        text += f".{part}" if text else str(part)
    return text


def _sentence(
    raw: Mapping[str, Any], loc: tuple[int | str, ...], model: type[BaseModel], document: Mapping[str, Any]
) -> str:
    kind, context, given = raw["type"], raw.get("ctx", {}), raw["input"]
    owner, field = _locate(model, loc)
    quantity = _quantity(field)
    if kind == "extra_forbidden":
        known = [n for n in owner.model_fields if n != "kind"] if owner else []
        if owner and (inside := _table_with(owner, loc[-1])):
            return f"unknown key here; it belongs into {inside}"
        if owner is OwnResin and loc[-1] in FOR_REFERENCE:
            return "no result rests on it; leave it out"
        if (meant := _OTHERWISE.get(str(loc[-1]))) in known:
            return f"unknown key; maintenance, cooling and water rise together, by {meant}"
        if _MEASURED.fullmatch(str(loc[-1])):
            return (
                "unknown key; write a moisture that was measured of the pellets leaving as outlet_moisture into the [[readings]] of that hopper: the "
                "walkthrough sets it beside what is predicted and, taken over there, all options are judged by it"
            )
        if _CO2.search(str(loc[-1])) and "electricity_emission" not in known:
            return "unknown key; the CO2 of a kWh of electricity stands in finance.electricity_emission, such as '0.35 kg/kWh'"
        return f"unknown key{nearest(str(loc[-1]), known)}; allowed: {', '.join(known)}"
    if kind == "missing":
        return f"is missing{_asked(loc, field, quantity, document)}"
    if kind in _BOUNDS and quantity is not None:
        info = document["case"] if isinstance(document.get("case"), Mapping) else {}
        system = "us" if info.get("units") == "us" else "si"
        unit = quantity.unit(system, str(info.get("currency", "")))
        written = given["value"] if isinstance(given, Mapping) else getattr(given, "text", given)
        if (
            not info and quantity.kind != "ratio"
        ):  # readings and weeks in a file of their own: no system is known but that of who typed it
            unit = unit_of(str(written), quantity.kind) or unit
        limit = show(float(context[_BOUNDS[kind][0]]), quantity.kind, unit, digits=4)
        unit_too = _unit_too(str(written), context) if quantity.kind == "temperature" else ""
        stood = _STOOD_STILL if loc[-1] == "resin" and "metered" in loc and _is_zero(str(written)) else ""
        slip = _slip_of_ten(str(written), quantity, kind, context, unit) if owner is Readings else ""
        return f"'{written}' is not allowed; {quantity.label or loc[-1]} must be {_BOUNDS[kind][1]} {limit}{unit_too}{slip}{stood}"
    if kind in _BOUNDS:
        return f"{given!r} is not allowed; it must be {_BOUNDS[kind][1]} {context[_BOUNDS[kind][0]]}"
    if kind == "literal_error":
        allowed = re.findall(r"'([^']*)'", context["expected"])
        return f"{_quoted(given)} is not one of {', '.join(allowed)}{nearest(str(given), allowed)}"
    if kind in _TAGS:
        name = str(given["kind"])
        return f"'{name}' is not a dryer type; known: {', '.join(dryers.TYPES)}{nearest(name, list(dryers.TYPES))}"
    if kind == "value_error":
        return str(context.get("error", raw["msg"]))
    if kind == "string_pattern_mismatch":
        if loc[-1] == "currency":
            return f"'{given}' is not a currency; write {code_of(str(given)) or 'its three capital letters, such as USD or EUR'}"
        return "must be one line of text"
    if kind in ("string_too_short", "too_short"):
        return "must not be empty"
    if kind == "too_long":
        return f"at most {context.get('max_length')} entries are allowed"
    if kind == "string_too_long":
        return f"at most {context.get('max_length')} characters are allowed"
    wanted = _WANTED.get(kind.split("_")[0], "what belongs here")
    row = _model_in(field.annotation) if field is not None and wanted in ("a list", "a table") else None
    needed = [name for name, key in row.model_fields.items() if key.is_required() and name != "kind"] if row else []
    of = f" of tables, each with {', '.join(needed)}" if needed and wanted == "a list" else ""
    if wanted == "a whole number" and isinstance(loc[-1], int):
        of = "; write several one by one, such as 31, 32"
    return f"{_quoted(given)} is not {wanted}{of}"


def _asked(loc: tuple[int | str, ...], field: Any, quantity: Quantity | None, document: Mapping[str, Any]) -> str:
    """What is to be written where something is missing, to end a sentence with."""
    if quantity is not None:
        info = document["case"] if isinstance(document.get("case"), Mapping) else {}
        unit = quantity.unit("us" if info.get("units") == "us" else "si", str(info.get("currency", "")))
        return f"; write a number and its unit, such as {unit}" if unit else "; write a number"
    if field is not None and get_origin(field.annotation) is Literal:
        return f"; write {' or '.join(map(str, get_args(field.annotation)))}"
    if field is not None and len(loc) == 1 and _model_in(field.annotation):
        several = get_origin(field.annotation) is tuple
        return f"; it is {'a list of tables, each below [[' if several else 'the table below ['}{loc[0]}{']]' if several else ']'}"
    plain = None if field is None else field.annotation
    wanted = next((name for kind, name in ((int, "int"), (float, "float"), (str, "string")) if plain is kind), "")
    return f"; write {_WANTED[wanted]}" if wanted else ""


def _quoted(given: Any) -> str:
    """What was written, unless it is a table or list."""
    return "what stands here" if isinstance(given, Mapping | list | tuple) else f"'{given}'"


def _unit_too(written: str, context: Mapping[str, Any]) -> str:
    """What a temperature beyond its limit would be in the other unit, where it would be within."""
    try:
        value = parse(written, "temperature")
    except UnitError:
        return ""
    unit = unit_typed(SI(value, written))
    other = in_other(value, unit)
    hot = unit == "degC" and other <= float(context.get("le", context.get("lt", -math.inf)))
    cold = unit == "degF" and other >= float(context.get("ge", context.get("gt", math.inf)))
    return f"; {said_in_other(value, unit)}" if hot or cold else ""


def _slip_of_ten(written: str, quantity: Quantity, kind: str, context: Mapping[str, Any], unit: str) -> str:
    """What a tenth of a reading above its limit, or ten times one below it, would be, where that is within."""
    if quantity.kind in ("temperature", "share"):
        return ""
    try:
        value = parse(written, quantity.kind)
    except UnitError:
        return ""
    limit = float(context[_BOUNDS[kind][0]])
    if value > 0.1 * limit and kind.startswith("less"):
        factor, word = 0.1, "A tenth of it"
    elif value > 0.0 and kind == "greater_than_equal":
        factor, word = 10.0, "Ten times it"
    else:
        return ""
    within = factor * value <= limit if factor < 1.0 else factor * value >= limit
    return f". {word}, {show(factor * value, quantity.kind, unit)}, would do: a slip of ten?" if within else ""


def _locate(model: type[BaseModel], loc: tuple[int | str, ...]) -> tuple[type[BaseModel] | None, Any]:
    """The model that owns the last key of a path, and that key's field."""
    owner: type[BaseModel] | None = model
    field: Any = None
    for before, part in zip(("", *loc), loc, strict=False):
        if isinstance(part, int):
            continue
        if before == "inputs" and part in dryers.TYPES:
            owner, field = dryers.TYPES[part].Inputs, None
            continue
        if field is not None:
            owner = _model_in(field.annotation) or owner
        field = owner.model_fields.get(part) if owner else None
    return owner, field


def _table_with(owner: type[BaseModel], key: int | str) -> str:
    """The table or list inside a table that has a key; empty where none has."""
    inner = {name: _model_in(field.annotation) for name, field in owner.model_fields.items()}
    return next((name for name, model in inner.items() if model and key in model.model_fields), "")


def _model_in(annotation: Any) -> type[BaseModel] | None:
    if isinstance(annotation, type) and issubclass(annotation, BaseModel):
        return annotation
    for inner in get_args(annotation):
        found = _model_in(inner)
        if found is not None:
            return found
    return None


def _quantity(field: Any) -> Quantity | None:
    if field is None:
        return None
    return next((m for m in field.metadata if isinstance(m, Quantity)), None)
