"""Paths of values in a case, as error messages print them: ``options['Wheel'].capital[1].amount``."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from functools import cache, lru_cache
from typing import Any, get_args

from pydantic import BaseModel
from pydantic.fields import FieldInfo

from energy.errors import UnknownNameError, nearest
from energy.sources import Sourced, load
from energy.study.plant_sections import Hopper
from energy.study.schema import CaseFile
from energy.units import Quantity, shown_unit, to_unit

_PART = re.compile(r"\.?([A-Za-z_]\w*)|\[(\d+)\]|\['((?:[^']|'(?!\]))*)'\]")
UNNAMED = str(Hopper.model_fields["name"].default)
"""What a hopper is called that has no name."""
_SECTIONS = ("case", "site", "hoppers", "calendar", "tariffs", "compressed_air", "finance")


def walk(model: BaseModel, path: str = "") -> Iterator[tuple[str, Quantity, Any]]:
    """Every quantity of a checked case: its path, its marker, its value in SI."""
    for here, quantity, _, value in walk_fields(model, path):
        yield here, quantity, value


def walk_fields(model: BaseModel, path: str = "") -> Iterator[tuple[str, Quantity, FieldInfo, Any]]:
    """The same with the field of each, which knows its limits."""
    for name, field, quantity in _fields(type(model)):
        value, here = getattr(model, name), f"{path}.{name}" if path else name
        if quantity is not None:
            yield here, quantity, field, value
        elif isinstance(value, BaseModel):
            yield from walk_fields(value, here)
        elif isinstance(value, tuple):
            for entry, place in _entries(value, here):
                yield from walk_fields(entry, place)


@cache
def _fields(model: type[BaseModel]) -> tuple[tuple[str, FieldInfo, Quantity | None], ...]:
    """Fields of a table with the marker of each that is a quantity."""
    return tuple(
        (name, field, next((mark for mark in field.metadata if isinstance(mark, Quantity)), None))
        for name, field in model.model_fields.items()
    )


def with_values(model: BaseModel, values: Mapping[str, Any], path: str = "") -> Any:
    """A model with values put at paths as :func:`walk` prints them, unchecked: they may be arrays."""
    if not values:
        return model
    update: dict[str, Any] = {}
    for name in type(model).model_fields:
        here = f"{path}.{name}" if path else name
        if here in values:
            update[name] = values[here]
        elif below := {key: value for key, value in values.items() if key.startswith(here)}:
            value = getattr(model, name)
            if isinstance(value, BaseModel):
                update[name] = with_values(value, below, here)
            elif isinstance(value, tuple):
                update[name] = tuple(with_values(entry, below, place) for entry, place in _entries(value, here))
    return model.model_copy(update=update) if update else model


def _entries(value: tuple[Any, ...], path: str) -> Iterator[tuple[BaseModel, str]]:
    for i, entry in enumerate(value):
        if isinstance(entry, BaseModel):
            label = getattr(entry, "name", None)
            yield entry, f"{path}['{label}']" if label else f"{path}[{i + 1}]"


def typical_of(model: CaseFile, path: str) -> Sourced | None:
    """The stored typical value behind an input that the case does not give."""
    section, _, key = path.partition(".")
    if section in ("site", "compressed_air", "tariffs"):
        return load("plant").get(key)
    for option in model.options:
        place = f"options['{option.name}']"
        if path == f"{place}.capital_factor":
            return load("plant")["capital_factor"]
        if path.startswith(f"{place}.central."):
            key = path.rpartition(".")[2]
            return load("plant").get(key) or load("plant").get(f"central_{key}")
        dryers = {f"{place}.inputs.": option.type}
        dryers |= {f"{place}.machines[{i + 1}].inputs.": m.type for i, m in enumerate(option.machines)}
        for prefix, kind in dryers.items():
            if path.startswith(prefix):
                return load(f"dryers/{kind}").get(path.removeprefix(prefix))
    return None


def written(document: Any, path: str) -> Any:
    """What the document says at a path as :func:`walk` prints it; None where it says nothing."""
    here = document
    for name, index, label in _parts(path):
        if name:
            here = here.get(name) if isinstance(here, Mapping) else None
        elif not isinstance(here, list):  # a sum instead of lines of capital
            return here if index == "1" else None
        elif index:
            here = here[int(index) - 1] if int(index) <= len(here) else None
        else:
            here = next((entry for entry in here if _name(entry) == label), None)
        if here is None:
            return None
    return here


def by_name(document: Any, path: str) -> str:
    """A path with the name of an entry in place of its number, where the entry has one, as :func:`walk` prints it."""
    here, found = document, ""
    for key, number, label in _parts(path):
        if key:
            here, found = here.get(key) if isinstance(here, Mapping) else None, f"{found}.{key}".lstrip(".")
            continue
        listed = here if isinstance(here, list) else []
        at = int(number) - 1 if number else next((i for i, entry in enumerate(listed) if _name(entry) == label), -1)
        here = listed[at] if 0 <= at < len(listed) else None
        named = label or (_name(here) if isinstance(here, Mapping) and "name" in here else "")
        found += f"['{named}']" if named else f"[{number}]"
    return found


@lru_cache(maxsize=4096)
def _parts(path: str) -> tuple[tuple[str, str, str], ...]:
    """The key, the number or the name in each part of a path."""
    return tuple(_PART.findall(path))


def changed(document: Mapping[str, Any], changes: Mapping[str, Any]) -> dict[str, Any]:
    """A copy of a document with values put at paths as error messages print them; None removes a value.

    Another value takes the place of a whole table: the range, basis and note there belong to the old one.

    Raises
    ------
    UnknownNameError
        No such path.
    """
    after: dict[str, Any] = copied(document)
    for path, value in changes.items():
        _put(after, path, value)
    return after


def copied(written: Any) -> Any:
    """A copy of what TOML can say: tables, lists and values that cannot be changed; quicker than `copy.deepcopy`."""
    if isinstance(written, Mapping):
        return {key: copied(value) for key, value in written.items()}
    if isinstance(written, list):
        return [copied(value) for value in written]
    return written


def rows(document: Mapping[str, Any], path: str) -> list[dict[str, Any]]:
    """Entries of a list in a document; none where there is no list of tables."""
    found = written(document, path)
    listed = found if isinstance(found, list) else []
    return [dict(row) for row in listed] if all(isinstance(row, Mapping) for row in listed) else []


def name_of(row: Mapping[str, Any]) -> str:
    """Name of an entry; a hopper need not have one."""
    return str(row.get("name", UNNAMED))


def as_written(value: float, kind: str, system: str, digits: int = 10) -> str:
    """A quantity in SI as it is put into a case."""
    unit = shown_unit(kind, system)
    return f"{to_unit(value, kind, unit):.{digits}g} {unit}".strip()


def _names(entries: Any) -> list[str]:
    return [_name(entry) for entry in entries] if isinstance(entries, list) else []


def _name(entry: Any) -> str:
    return name_of(entry) if isinstance(entry, Mapping) else ""


def _put(document: dict[str, Any], path: str, value: Any) -> None:
    """Set one value in a document; None removes it."""
    parts: list[str | int] = []
    at = 0
    for match in _PART.finditer(path):
        if match.start() != at:
            break
        at = match.end()
        parts.append(match[1] if match[1] else int(match[2]) - 1 if match[2] else f"'{match[3]}")
    if at != len(path) or not parts or not isinstance(parts[-1], str):
        raise UnknownNameError(f"'{path}' is not the path of a value in a case")
    here: Any = document
    for part in parts[:-1]:
        if isinstance(part, str) and part.startswith("'"):
            names = _names(here)
            if part[1:] not in names:
                raise UnknownNameError(f"'{path}': there is no entry of that name{nearest(part[1:], names)}")
            part = names.index(part[1:])
        if isinstance(part, str) and isinstance(here, dict):
            here = here.setdefault(part, {})
        elif isinstance(part, int) and isinstance(here, list) and part < len(here):
            here = here[part]
        else:
            raise UnknownNameError(f"'{path}': there is no such entry")
    if not isinstance(here, dict):
        raise UnknownNameError(f"'{path}': there is no such entry")
    if value is None:
        here.pop(parts[-1], None)
    elif not (isinstance(here.get(parts[-1]), dict) and here[parts[-1]].get("value") == value):
        here[parts[-1]] = copied(value)


def long_path(short: str) -> str:
    places: dict[str, list[str]] = {}
    for section in _SECTIONS:
        start = "hoppers[1]" if section == "hoppers" else section
        for model in models_in(CaseFile.model_fields[section].annotation):
            for key in model.model_fields:
                places.setdefault(key, []).append(f"{start}.{key}")
    if short not in places:
        raise UnknownNameError(f"'{short}' is not a key of a case{nearest(short, list(places))}")
    if len(places[short]) > 1:
        raise UnknownNameError(f"'{short}' may mean {' or '.join(places[short])}; write the path")
    return places[short][0]


def models_in(annotation: Any) -> Iterator[type[BaseModel]]:
    """The tables that an annotation allows, without those inside them."""
    if isinstance(annotation, type) and issubclass(annotation, BaseModel):
        yield annotation
    for inner in get_args(annotation):
        yield from models_in(inner)
