"""Key results of the example cases, read from them and from the file that keeps them."""

from __future__ import annotations

import tomllib
from collections.abc import Iterator
from pathlib import Path
from typing import Any

from energy import compare, load_case

KEPT = Path(__file__).with_name("key_results.toml")
CASES = ("demo", "one-machine")
TOLERANCE = 1e-4  # relative


def key_results(name: str) -> dict[str, dict[str, Any]]:
    """By option of an example case, what a decision rests on; "none" where there is no number."""
    case = load_case(name)
    result = compare(case)
    found = {}
    for option in result.options:
        measures = option.measures
        moisture = [served.verdict.moisture.predicted for served in option.served]
        found[option.name] = {
            "dries": option.verdict.word,
            "Wh_per_kg": option.specific_energy / 3600.0,
            "running_cost": option.total_cost,
            "capital": option.capital,
            "life_cycle_cost": option.life_cycle_cost,
            "peak_kW": option.peak / 1e3,
            "payback_years": "none" if measures is None else measures.payback,
            "net_savings": "none" if measures is None else measures.npv,
            "moisture_left": ["none" if x is None else 100.0 * x for x in moisture],
        }
        for key, value in found[option.name].items():
            found[option.name][key] = _plain(value)
    return found


def _plain(value: Any) -> Any:
    """As the file can hold it: seven digits, and a word where there is no number."""
    if isinstance(value, list):
        return [_plain(entry) for entry in value]
    if isinstance(value, str):
        return value
    number = float(f"{float(value):.7g}")
    return "none" if number != number else number


def kept() -> dict[str, Any]:
    return tomllib.loads(KEPT.read_text(encoding="utf-8"))


def differences(old: Any, new: Any, place: str = "") -> Iterator[str]:
    """What is not the same any more, in words."""
    if isinstance(old, dict) and isinstance(new, dict):
        for key in {**old, **new}:
            yield from differences(old.get(key, "missing"), new.get(key, "missing"), f"{place}, {key}".lstrip(", "))
    elif isinstance(old, list) and isinstance(new, list) and len(old) == len(new):
        for i, pair in enumerate(zip(old, new, strict=True), start=1):
            yield from differences(*pair, f"{place} {i}")
    elif isinstance(old, float) and isinstance(new, float):
        if abs(new - old) > TOLERANCE * max(abs(old), 1e-6):
            yield f"{place}: {old:g} is now {new:g}"
    elif old != new:
        yield f"{place}: {old} is now {new}"
