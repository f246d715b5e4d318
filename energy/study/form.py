"""What can be asked for in a part of a case: its fields with label, kind of entry and allowed range, read from the schema."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from functools import cache
from types import UnionType
from typing import Any, Literal, Union, get_args, get_origin

from pydantic import BaseModel
from pydantic.fields import FieldInfo

from energy.units import Quantity, show

_WORDS = {"gt": "more than", "ge": "at least", "lt": "less than", "le": "at most"}


@dataclass(frozen=True, slots=True, kw_only=True)
class Entry:
    """One field that can be filled in."""

    key: str
    label: str
    entry: Literal[
        "quantity", "choice", "whole number", "text", "truth", "several", "whole numbers", "numbers", "texts"
    ]
    """``several``: any of the choices."""
    quantity: Quantity | None = None
    choices: tuple[str, ...] = ()
    default: str = ""
    """Of a choice or a whole number that is left out; empty where there is none."""
    needed: bool = False
    limits: tuple[tuple[str, float], ...] = ()
    """("at least", 0.0) and the like; of a quantity in SI."""

    def allowed(self, unit: str, currency: str = "") -> str:
        """The range allowed, in words and in a unit; empty where there is no limit."""
        kind = "" if self.quantity is None else self.quantity.kind
        shown = [
            f"{word} {show(limit, kind, unit, digits=4).replace('money', currency) if kind else f'{limit:g}'}"
            for word, limit in self.limits
        ]
        return " and ".join(shown)


@cache
def entries(model: type[BaseModel]) -> dict[str, Entry]:
    """Every field of a model that holds no further table, by its key."""
    return {entry.key: entry for key, field in model.model_fields.items() for entry in _entry(key, field)}


def _entry(key: str, field: FieldInfo) -> Iterator[Entry]:
    if key == "kind":  # chosen by the type
        return
    quantity = next((m for m in field.metadata if isinstance(m, Quantity)), None)
    label = quantity.label if quantity is not None else field.title or key.replace("_", " ").capitalize()
    kind, choices = _kind(field.annotation) if quantity is None else ("quantity", ())
    if kind is None:
        return
    default = field.default if isinstance(field.default, str | int) and kind in ("choice", "whole number") else ""
    limits = tuple(
        (word, float(limit))
        for m in field.metadata
        for name, word in _WORDS.items()
        if (limit := getattr(m, name, None)) is not None
    )
    yield Entry(
        key=key,
        label=label,
        entry=kind,  # type: ignore[arg-type]
        quantity=quantity,
        choices=choices,
        default=str(default),
        needed=field.is_required(),
        limits=limits,
    )


def _kind(annotation: Any) -> tuple[str | None, tuple[str, ...]]:
    """How a field is filled in, and its choices; None where it is a table of its own."""
    origin, inner = get_origin(annotation), get_args(annotation)
    if origin in (Union, UnionType):
        kinds = [_kind(a) for a in inner if a is not type(None)]
        return kinds[0] if len(kinds) == 1 else (None, ())
    if origin is Literal:
        return "choice", tuple(str(word) for word in inner)
    if origin is tuple and inner[0] is float:
        return "numbers", ()
    if origin is tuple:
        kind, choices = _kind(inner[0])
        return {"choice": "several", "text": "texts", "whole number": "whole numbers"}.get(str(kind)), choices
    plain = {str: "text", int: "whole number", bool: "truth"}
    return plain.get(annotation), ()
