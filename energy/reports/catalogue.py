"""What is known: resins and dryer types, each value with its range and source."""

from __future__ import annotations

from collections.abc import Container, Iterator, Mapping
from typing import get_args

from pydantic import BaseModel

from energy import dryers
from energy.resins.properties import FOR_REFERENCE, load_resin, resin_names
from energy.sources import Sourced, load
from energy.units import Quantity

FOLLOW = "Values are typical: follow the resin producer's drying sheet."

OWN = "Values of your own go under these keys into own_resin of a hopper; those for reference are not taken there."


def number(value: object) -> str:
    """A stored value as short text."""
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, float | int):
        return f"{value:.6g}"
    return str(value)


def sheet(entries: Mapping[str, Sourced], for_reference: Container[str] = ()) -> list[str]:
    """One line per stored value: its key, value with range and unit, where it comes from, and whether it is for reference only."""
    lines = []
    for key, entry in entries.items():
        span = "" if entry.low is None else f" ({number(entry.low)} to {number(entry.high)})"
        value = f"{number(entry.value)}{span} {entry.unit}".strip()
        note = f"; {entry.note}" if entry.note and entry.source is not None else ""
        only = "; for reference: no result rests on it" if key in for_reference else ""
        lines.append(f"  {key:32s} {value:32s} {entry.citation()}{note}{only}")
    return lines


def resins_text() -> str:
    """All resins, one line each."""
    width = max(len(load_resin(name).name) for name in resin_names())
    lines = [f"{'':8s} {'resin':{width}s} {'dry at':>9s} {'for':>6s} {'target':>9s}  hygroscopic"]
    for name in resin_names():
        r = load_resin(name)
        target = f"{1e6 * r.target_moisture / (1 + r.target_moisture):,.0f} ppm"
        lines.append(
            f"{name:8s} {r.name:{width}s} {r.drying_temperature - 273.15:6.0f} °C {r.residence_time / 3600:4.0f} h "
            f"{target:>9s}  {number(r.hygroscopic)}"
        )
    return "\n".join([*lines, "", FOLLOW, "One sheet with sources: dryer-energy resins PC"])


def resin_text(name: str) -> str:
    """The sheet of one resin."""
    resin = load_resin(name)
    return "\n".join([f"{resin.abbreviation}: {resin.name}", *sheet(resin.data, FOR_REFERENCE), "", OWN, FOLLOW])


def types_text() -> str:
    """All dryer types with their typical inputs."""
    lines = []
    for kind, module in dryers.TYPES.items():
        stored = load(f"dryers/{kind}")
        lines += [f'type = "{kind}": {module.LABEL}', *sheet(stored)]
        lines += [f"  {key:32s} {text}" for key, text in _free(module.Inputs, stored)]
        lines.append("")
    return "\n".join(lines).rstrip()


def _free(inputs: type[BaseModel], stored: Mapping[str, Sourced]) -> Iterator[tuple[str, str]]:
    """Inputs without a stored value: choices among words, and what is worked out unless it is given."""
    for key, field in inputs.model_fields.items():
        if key in stored or key == "kind":
            continue
        words = [word for word in get_args(field.annotation) if isinstance(word, str)]
        if words:
            yield key, f"{' | '.join(words)}; {field.default} where nothing is said"
        else:
            quantity = next(m for m in field.metadata if isinstance(m, Quantity))
            yield key, f"{quantity.label}: worked out where nothing is said"
