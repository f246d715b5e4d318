"""What moves the worth of an option, one input at a time."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace

import numpy as np

from energy.reports.document.worth import TEST, flow_of, npv_of, with_finance
from energy.reports.print_signs import pretty
from energy.reports.simulation import place_in_words
from energy.study.case import Case
from energy.study.compare import Comparison, OptionResult
from energy.study.life_cycle import measures_of
from energy.study.paths import walk, written
from energy.study.spread import uncertain_inputs
from energy.study.uncertainty import Uncertain, outcomes

MOVED = {
    "capital": ("Capital", ""),
    "electricity": ("Electricity saved", "Extra electricity"),
    "gas": ("Gas saved", "Extra gas"),
    "water": ("Cooling saved", "Extra cooling"),
    "maintenance": ("Maintenance saved", "Extra maintenance"),
    "replacements": ("Replacements spared", "Extra replacements"),
}
"""Money that is moved by itself: its name where it is saved, and where it comes on top."""
END = 1e-12
"""Probability of the end of an even range. [-]"""


@dataclass(frozen=True, slots=True, kw_only=True)
class Swing:
    """Net present value with an input low and high. [money]"""

    label: str
    low: float
    high: float


def swings(comparison: Comparison, option: OptionResult) -> tuple[list[Swing], list[str]]:
    """One input at a time: the case's stated ranges through the engine, money without a stated range by a common test.

    Returns
    -------
    swings : list of Swing
        Widest first.
    left_out : list of str
        Inputs with a range that were not varied, and why.
    """
    case, measures = comparison.case, option.measures
    assert measures is not None
    streams, share = measures.streams, f"±{100 * TEST:.0f} %"
    entries, left_out = _ranged(case, option, comparison.baseline)
    points = np.full((2 * len(entries), len(entries)), np.nan)
    for i in range(len(entries)):
        points[2 * i : 2 * i + 2, i] = END, 1.0 - END
    ends = outcomes(case, entries, points, [option.name]).npv[option.name]
    found, known = [], set()
    for i, entry in enumerate(entries):
        low, high = float(ends[2 * i]), float(ends[2 * i + 1])
        if not np.isfinite([low, high]).all():
            left_out.append(f"{_words(entry, case)}: the model has no answer at an end of its range")
        elif max(abs(low - measures.npv), abs(high - measures.npv)) > 0.5:
            raw = written(case.document, entry.name)
            assert isinstance(raw, Mapping)
            found.append(
                Swing(label=pretty(f"{_words(entry, case)}, {raw['low']} to {raw['high']}"), low=low, high=high)
            )
            known.add(entry.name.rpartition(".")[2])
    for key, words in MOVED.items():
        if key == "maintenance" and "maintenance" in known:
            continue
        if key == "capital":
            steps = [flow_of(comparison, option, capital=sign * TEST * option.capital) for sign in (-1, 1)]
            low, high = (npv_of(comparison, flow) for flow in steps)
        elif key == "replacements":
            part = TEST * (measures.npv - npv_of(comparison, flow_of(comparison, option, changes={key: ()})))
            low, high = measures.npv - part, measures.npv + part
        else:
            steps = [flow_of(comparison, option, saved={key: 1.0 + sign * TEST}) for sign in (-1, 1)]
            low, high = (npv_of(comparison, flow) for flow in steps)
        if np.any(streams[key] != 0.0) and abs(high - low) > 1.0:
            told = words[0] if float(np.sum(streams[key])) >= 0.0 or key == "capital" else words[1]
            found.append(Swing(label=f"{told}, {share}", low=low, high=high))
    rates = [case.model.finance.rate + step for step in (-0.02, 0.02)]
    low, high = (measures_of(with_finance(case, rate=rate), flow_of(comparison, option)).npv for rate in rates)
    found.append(Swing(label="Discount rate, ±2 points", low=low, high=high))
    return sorted(found, key=lambda s: -abs(s.high - s.low)), left_out


def _ranged(case: Case, option: OptionResult, base: OptionResult) -> tuple[list[Uncertain], list[str]]:
    """Inputs with a range in the case that count for the two options, even between its ends; and those that are held."""

    def counts(path: str) -> bool:
        raw = written(case.document, path)
        ours = not path.startswith("options[") or path.startswith(
            tuple(f"options['{o.name}']." for o in (option, base))
        )
        air = not path.startswith("compressed_air") or option.carrier("compressed air") + base.carrier("compressed air")
        return isinstance(raw, Mapping) and "low" in raw and "high" in raw and ours and bool(air)

    inputs, held = uncertain_inputs(case)
    even = [
        replace(entry, places={path: replace(spread, shape="uniform") for path, spread in entry.places.items()})
        for entry in inputs
        if counts(entry.name)
    ]
    labels = {path: quantity.label for path, quantity, _ in walk(case.model)}
    return even, [f"{labels[path]}: taken at its value" for path in held if counts(path)]


def _words(entry: Uncertain, case: Case) -> str:
    """An input with the hopper, option or dryer it belongs to."""
    owner = place_in_words(entry.name, case.model) if "['" in entry.name else ""
    return f"{owner}: {entry.label.lower()}" if owner else entry.label
