"""What is known: resins and dryer types, each value with its range and source."""

from __future__ import annotations

from energy import dryers
from energy.resins.properties import load_resin, resin_names
from energy.sources import Sourced, load

FOLLOW = "Values are typical: follow the resin producer's drying sheet."


def number(value: object) -> str:
    """A stored value as short text."""
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, float | int):
        return f"{value:.6g}"
    return str(value)


def sheet(entries: dict[str, Sourced]) -> list[str]:
    """One line per stored value: name, value with range and unit, where it comes from."""
    lines = []
    for key, entry in entries.items():
        span = "" if entry.low is None else f" ({number(entry.low)} to {number(entry.high)})"
        value = f"{number(entry.value)}{span} {entry.unit}".strip()
        note = f"; {entry.note}" if entry.note and entry.source is not None else ""
        lines.append(f"  {key.replace('_', ' '):32s} {value:32s} {entry.citation()}{note}")
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
    return "\n".join([f"{resin.abbreviation}: {resin.name}", *sheet(dict(resin.data)), "", FOLLOW])


def types_text() -> str:
    """All dryer types with their typical inputs."""
    lines = []
    for kind, module in dryers.TYPES.items():
        lines += [f"{kind}: {module.LABEL}", *sheet(dict(load(f"dryers/{kind}"))), ""]
    return "\n".join(lines).rstrip()
