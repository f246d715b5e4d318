"""Key results of the example cases as the engine works them out, to be laid beside those kept in key_results.toml."""

from __future__ import annotations

import math
import tomllib
from collections.abc import Iterator, Mapping
from pathlib import Path
from typing import Any

import energy
from energy.units import to_unit

FILE = Path(__file__).with_name("key_results.toml")
CASES = ("demo", "one-machine")
TOLERANCE = 1e-4  # of the value kept
DIGITS = 7

HEAD = """\
# Key results of the two example cases.
#
# These values are the engine's own. They are here so that a change is noticed; they prove nothing to be right.
# What is right is tested against published values, balances and independent methods everywhere else in tests/.
#
# Written by `python tests/regression --why "REASON"`, which adds what changed and why below; not to be edited by hand.
#
# Per option: dries (verdict in a word), Wh_per_kg, yearly_cost, capital, life_cycle_cost (money of the case), payback
# (simple payback in years; inf: none; left out for the present dryers), peak_kW (highest 15-minute electrical power),
# moisture_percent (predicted for the worst month, dry basis, by hopper; left out where the resin's data do not tell).

"""

Results = dict[str, Any]


def worked_out(case: str) -> Results:
    """Key results of an example case by option, rounded to seven digits."""
    found: Results = {}
    for option in energy.compare(energy.load_case(case)).options:
        values: Results = {
            "dries": option.verdict.word,
            "Wh_per_kg": to_unit(option.specific_energy, "specific energy", "Wh/kg"),
            "yearly_cost": option.total_cost,
            "capital": option.capital,
            "life_cycle_cost": option.life_cycle_cost,
            "peak_kW": option.peak / 1e3,
            "moisture_percent": {
                served.hopper.name: 100.0 * served.verdict.moisture.predicted
                for served in option.served
                if served.verdict.moisture.predicted is not None
            },
        }
        if option.measures is not None:
            values["payback"] = option.measures.simple_payback
        found[option.name] = _rounded(values)
    return found


def _rounded(given: Any) -> Any:
    if isinstance(given, Mapping):
        return {key: _rounded(value) for key, value in given.items()}
    return given if isinstance(given, str) else float(f"{float(given):.{DIGITS - 1}e}")


def kept() -> Results:
    """The file: ``change``, a list of what changed when and why, and ``results`` by case and option."""
    return tomllib.loads(FILE.read_text(encoding="utf-8"))


def differences(before: Any, now: Any, place: str = "") -> Iterator[str]:
    """Where two sets of results differ by more than the tolerance, with both values."""
    if isinstance(before, Mapping) and isinstance(now, Mapping):
        for key in dict.fromkeys((*before, *now)):
            where = f"{place}, {key}" if place else key
            if key not in now:
                yield f"{where}: gone"
            elif key not in before:
                yield f"{where}: new"
            else:
                yield from differences(before[key], now[key], where)
    elif not _same(before, now):
        share = ""
        if all(isinstance(v, float) and math.isfinite(v) for v in (before, now)) and before:
            share = f" ({100.0 * (now / before - 1.0):+.3g} %)"
        yield f"{place}: {_shown(before)} -> {_shown(now)}{share}"


def _same(before: Any, now: Any) -> bool:
    if isinstance(before, str) or isinstance(now, str):
        return bool(before == now)
    if math.isnan(before) or math.isnan(now):
        return math.isnan(before) and math.isnan(now)
    return math.isclose(before, now, rel_tol=TOLERANCE, abs_tol=1e-12)


def _shown(value: Any) -> str:
    return value if isinstance(value, str) else f"{value:.{DIGITS}g}"
