"""A simulation as text for a terminal, and as JSON."""

from __future__ import annotations

import json
from typing import Any

from energy.study.distributions import WORDS
from energy.study.paths import walk
from energy.study.sensitivity import Reading
from energy.study.simulate import Percentiles, Simulation
from energy.study.uncertainty import Uncertain
from energy.units import show

READINGS = 12


def to_text(simulation: Simulation) -> str:
    """Spread and chances of every option, in numbers and words, the inputs behind them, and what to measure next."""
    case, currency = simulation.case, simulation.case.currency
    lines = [
        f"{case.name}: {simulation.draws:,} draws of {len(simulation.inputs)} uncertain inputs, seed {simulation.seed}",
        "",
        f"P10 / P50 / P90 against the baseline; money in {currency}",
        f"{'option':32s} {'dries':>6s} {'saving a year':>28s} {'net savings':>31s} {'payback, years':>21s} {'never':>6s} {'best':>6s}",
    ]
    for option in simulation.options:
        lines.append(
            f"{option.name[:32]:32s} {_percent(option.dries_share):>6s} {_triple(option.saving, 0):>28s} "
            f"{_triple(option.net_savings, 0):>31s} {_triple(option.payback, 1):>21s} "
            f"{_percent(option.never_share):>6s} {_percent(option.cheapest):>6s}"
            if not option.baseline
            else f"{option.name[:32]:32s} {_percent(option.dries_share):>6s} {'baseline':>28s} "
            f"{'':>31s} {'':>21s} {'':>6s} {_percent(option.cheapest):>6s}"
        )
    lines += [
        "dries: draws in which it dries; never: draws without a payback within the study period; best: draws in which it",
        "has the lowest life-cycle cost of the options that dry.",
        "",
        *simulation.sentences(),
        "",
        f"What to measure next, before deciding on {simulation.recommended} (worth of knowing, in {currency}; fall of the spread of "
        "its net savings):",
    ]
    for reading in _telling(simulation):
        lines.append(
            f"  {reading.label} [{reading.input}]: {reading.worth:,.0f}; {100 * reading.spread_cut:.1f} %. {reading.how}"
        )
    if not _telling(simulation):
        lines.append("  nothing: no reading would change the decision or narrow the result.")
    typical = [entry for entry in simulation.inputs if entry.name.startswith(("typical ", "resin "))]
    lines += ["", "Uncertain inputs of the case (low, value, high):"]
    for entry in simulation.inputs:
        if entry in typical:
            continue
        spread = entry.distribution
        ends = [_shown(simulation, x, entry) for x in (spread.low, spread.value, spread.high)]
        lines.append(f"  {entry.name}: {', '.join(ends)}; {entry.basis}: {WORDS[spread.shape]}")
    lines.append(
        f"and {len(typical)} typical values of dryers and resins with their stored ranges, listed by dryer-energy types and "
        "dryer-energy resins."
    )
    if simulation.held:
        lines.append("Taken at their value in spite of a range: " + ", ".join(simulation.held) + ".")
    lines.append(
        "Inputs are independent; a typical value left as it is counts as one input for all dryers, a resin's value for all "
        "its hoppers. Prices of the tariffs are taken as they are."
    )
    return "\n".join(lines)


def to_json(simulation: Simulation) -> str:
    """The simulation as JSON; None is null, money and years are plain numbers."""
    options = []
    for option in simulation.options:
        options.append(
            {
                "name": option.name,
                "baseline": option.baseline,
                "answered_share": option.answered_share,
                "dries_share": option.dries_share,
                "saving_per_year": _dict(option.saving),
                "net_savings": _dict(option.net_savings),
                "payback_years": _dict(option.payback),
                "never_share": option.never_share,
                "payback_within": {str(year): share for year, share in option.payback_within.items()},
                "npv_positive": option.npv_positive,
                "cheapest": option.cheapest,
            }
        )
    said: dict[str, Any] = {
        "case": simulation.case.name,
        "currency": simulation.case.currency,
        "draws": simulation.draws,
        "seed": simulation.seed,
        "recommended": simulation.recommended,
        "options": options,
        "measure_next": [
            {
                "input": reading.input,
                "label": reading.label,
                "how": reading.how,
                "accuracy": reading.accuracy,
                "worth": reading.worth,
                "spread_cut": reading.spread_cut,
                "wrong_cut": reading.wrong_cut,
            }
            for reading in simulation.measure_next
        ],
        "sentences": simulation.sentences(),
        "held": list(simulation.held),
    }
    return json.dumps(said, indent=2, ensure_ascii=False, allow_nan=False)


def _shown(simulation: Simulation, value: float, entry: Uncertain) -> str:
    model = simulation.case.model
    field = next((q for path, q, _ in walk(model) if path == entry.name), None)
    unit = field.shown if field is not None and field.shown and model.case.units == "si" else model.case.units
    return show(value, entry.kind, unit, currency=simulation.case.currency)


def _telling(simulation: Simulation) -> list[Reading]:
    return [r for r in simulation.measure_next if r.worth >= 0.5 or r.spread_cut >= 0.005][:READINGS]


def _dict(found: Percentiles) -> dict[str, float | None]:
    return {"p10": found.p10, "p50": found.p50, "p90": found.p90}


def _triple(found: Percentiles, digits: int) -> str:
    return " / ".join("never" if x is None else f"{x:,.{digits}f}" for x in (found.p10, found.p50, found.p90))


def _percent(share: float) -> str:
    return f"{100 * share:.0f} %"
