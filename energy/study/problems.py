"""Turns the validator's findings into our words: the key, what is wrong, what is allowed."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any, get_args

from pydantic import BaseModel, ValidationError

from energy import dryers
from energy.errors import Problem, nearest
from energy.units import Quantity, show, shown_unit

_BOUNDS = {
    "greater_than": ("gt", "more than"),
    "greater_than_equal": ("ge", "at least"),
    "less_than": ("lt", "less than"),
    "less_than_equal": ("le", "at most"),
}


def problems(error: ValidationError, model: type[BaseModel], document: Mapping[str, Any]) -> list[Problem]:
    """One problem per finding, in the order of the file."""
    found = []
    for raw in error.errors(include_url=False):
        loc = tuple(raw["loc"])
        if raw["type"] == "too_short" and raw.get("input"):
            continue  # the list has entries; what is wrong with them is told by their own findings
        key = key_of(loc, document)
        found.append(Problem(key, _sentence(raw, loc, model)))
    return list(dict.fromkeys(found))


def key_of(loc: tuple[int | str, ...], document: Mapping[str, Any]) -> str:
    """The path as written in the file, list entries by their name where they have one: ``options['Wheel'].capital[0].amount``."""
    text, here = "", document
    for part in loc:
        if isinstance(part, int):
            here = here[part] if isinstance(here, (list, tuple)) and part < len(here) else {}
            name = here.get("name") if isinstance(here, Mapping) else None
            text += f"['{name}']" if isinstance(name, str) else f"[{part + 1}]"
            continue
        if part in dryers.TYPES:  # the tag that chose the schema of the inputs; not a key of the file
            continue
        here = here.get(part, {}) if isinstance(here, Mapping) else {}
        text += f".{part}" if text else str(part)
    return text


def _sentence(raw: Mapping[str, Any], loc: tuple[int | str, ...], model: type[BaseModel]) -> str:
    kind, context, given = raw["type"], raw.get("ctx", {}), raw.get("input")
    owner, field = _locate(model, loc)
    quantity = _quantity(field)
    if kind == "extra_forbidden":
        known = [n for n in owner.model_fields if n != "kind"] if owner else []
        return f"unknown key{nearest(str(loc[-1]), known)}; allowed: {', '.join(known)}"
    if kind == "missing":
        return "is missing"
    if kind in _BOUNDS and quantity is not None:
        limit = context[_BOUNDS[kind][0]]
        unit = quantity.shown or shown_unit(quantity.kind, "si")
        return (
            f"{show(float(given), quantity.kind, unit) if isinstance(given, (int, float)) else repr(given)} is not allowed; "
            f"{quantity.label or loc[-1]} must be {_BOUNDS[kind][1]} {show(float(limit), quantity.kind, unit)}"
            if not isinstance(given, str)
            else f"'{given}' is not allowed; {quantity.label or loc[-1]} must be {_BOUNDS[kind][1]} "
            f"{show(float(limit), quantity.kind, unit)}"
        )
    if kind in _BOUNDS:
        return f"{given!r} is not allowed; it must be {_BOUNDS[kind][1]} {context[_BOUNDS[kind][0]]}"
    if kind in ("literal_error", "enum"):
        return f"'{given}' is not one of {context.get('expected', '')}"
    if kind in ("union_tag_invalid", "union_tag_not_found"):
        name = str(given.get("kind", "")) if isinstance(given, Mapping) else ""
        return f"'{name}' is not a dryer type; known: {', '.join(dryers.TYPES)}{nearest(name, list(dryers.TYPES))}"
    if kind == "value_error":
        return str(context.get("error", raw["msg"]))
    if kind == "string_pattern_mismatch" and loc[-1] == "currency":
        return f"'{given}' is not a currency; write its three capital letters, such as USD or EUR"
    if kind in ("string_too_short", "too_short"):
        return "must not be empty"
    if kind == "too_long":
        return f"at most {context.get('max_length')} entries are allowed"
    if kind == "string_too_long":
        return f"at most {context.get('max_length')} characters are allowed"
    if kind.endswith("_type") or kind.endswith("_parsing"):
        wanted = {
            "string": "text",
            "int": "a whole number",
            "bool": "true or false",
            "model": "a table",
            "tuple": "a list",
        }
        stem = kind.split("_")[0]
        return f"{given!r} is not {wanted.get(stem, stem)}"
    return str(raw["msg"])


def _locate(model: type[BaseModel], loc: tuple[int | str, ...]) -> tuple[type[BaseModel] | None, Any]:
    """The model that owns the last key of a path, and that key's field."""
    owner: type[BaseModel] | None = model
    field: Any = None
    for part in loc:
        if isinstance(part, int):
            continue
        if part in dryers.TYPES:
            owner = dryers.TYPES[part].Inputs
            continue
        if field is not None:
            owner = _model_in(field.annotation) or owner
        field = owner.model_fields.get(part) if owner else None
    return owner, field


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
