"""A simulation as text for a terminal, and as JSON."""

from __future__ import annotations

import json
import math
import re
from typing import Any

from energy.reports.answer import sentences
from energy.reports.inputs import machine_part, machine_places
from energy.reports.paid_back import in_years
from energy.reports.rows import joined
from energy.reports.scenario_words import told
from energy.study.break_even import BreakEvenValue
from energy.study.case import Case
from energy.study.compare import Comparison
from energy.study.distributions import WORDS
from energy.study.paths import walk
from energy.study.schema import CaseFile
from energy.study.sensitivity import HIGH, LOW, Doubt, Reading, Swing
from energy.study.simulate import OptionChances, Percentiles, Sensitivity, Simulation, of_hundred
from energy.study.spread import Uncertain, groups
from energy.units import show, usual_unit

READINGS = SWINGS = 12
DOUBTS = 4
OF_ACCOUNT = 0.1
"""Worth of a reading over that of the dearest, below which it is told only where it narrows the result; by judgement. [-]"""
NARROWS, NARROWS_LEAST = 0.02, 0.0005
"""Fall of the spread that is of account by itself, and the least that prints as more than 0.0 %; by judgement. [-]"""
NEAR_THE_MIDDLE = (0.35, 0.65)  # of the draws lie below; by judgement


def answer_with_chance(simulation: Simulation) -> str:
    """The answer of the comparison, and how likely the recommended option is to be worth it."""
    return f"{sentences(simulation.comparison)[0]} {simulation.chance()}"


def _chances(option: OptionChances, held_out: bool) -> str:
    """One option of the table; of one that is not held out, whether it dries alone, as on the page."""
    dries, cheapest = _percent(option.dries_share), _percent(option.cheapest)
    if option.baseline:
        money = ["baseline", "", "", "", "", ""]
    elif not held_out:
        money, cheapest = ["-"] * 6, "-"
    else:
        in_time = "" if option.payback_accepted is None else _percent(option.payback_accepted)
        spread = [_triple(option.saving), _triple(option.net_savings), _triple(option.payback, years=True)]
        money = [*spread, in_time, _percent(option.npv_positive), _percent(option.never_share)]
    cells = [f"{text:>{width}s}" for text, width in zip(money, (28, 31, 27, 8, 6, 6), strict=True)]
    return f"{option.name[:32]:32s} {dries:>6s} {' '.join(cells)} {cheapest:>6s}"


def to_text(simulation: Simulation, sensitivity: Sensitivity | None = None) -> str:
    """Spread and chances of every option, what to measure next, and what the result hangs on where that was run."""
    case, currency = simulation.case, simulation.case.currency
    lines = [
        f"{case.name}: {simulation.draws:,} draws of {len(simulation.inputs)} uncertain inputs, seed {simulation.seed}",
        "",
        answer_with_chance(simulation),
        "",
        f"P10 / P50 / P90 against the baseline; money in {currency}",
        f"{'option':32s} {'dries':>6s} {'saving a year':>28s} {'net savings':>31s} {'payback, years':>27s} {'in time':>8s} "
        f"{'NPV>0':>6s} {'never':>6s} {'best':>6s}",
    ]
    held_out = {o.name for o in simulation.comparison.options if o.held_out}
    lines += [_chances(option, option.name in held_out) for option in simulation.options]
    lines += [
        "dries: draws in which it dries; in time: paid back within the longest payback accepted; NPV>0: in which its net",
        "savings are above 0; never: without a payback within the study period; best: in which it has the lowest life-cycle",
        "cost of the options that dry. -: no money is said of what is not expected to dry, or has no capital yet.",
        *simulation.unanswered(),
        *filter(None, [stated_among(simulation), seldom_best(simulation)]),
        *[text for said in [doubt_of_drying(simulation)] if said for text in ("", said)],
        "",
        *_next(simulation),
    ]
    if sensitivity is not None:
        lines += _hangs_on(simulation, sensitivity)
    typical = [entry for entry in simulation.inputs if entry.name.startswith(("typical ", "resin "))]
    lines += ["", "Uncertain inputs of the case (low, value, high):"]
    for entry in simulation.inputs:
        if entry in typical:
            continue
        spread = entry.distribution
        ends = [shown_value(simulation, x, entry) for x in (spread.low, spread.value, spread.high)]
        lines.append(f"  {entry.name}: {', '.join(ends)}; {entry.basis}: {WORDS[spread.shape]}")
    lines.append(
        f"and {len(typical)} typical values of dryers and resins with their stored ranges, listed by dryer-energy types and "
        "dryer-energy resins."
    )
    if simulation.held:
        lines.append("Taken at their value in spite of a range: " + ", ".join(simulation.held) + ".")
    together = [f"{name} (correlation {share:g})" for name, (_, share) in groups(simulation.inputs).items()]
    lines.append(
        "A typical value left as it is counts as one input for all dryers, a resin's value for all its hoppers."
        + (f" Together rise and fall: {', '.join(together)}; all else is independent." if together else "")
    )
    return "\n".join(lines)


def _next(simulation: Simulation) -> list[str]:
    """What to measure before deciding."""
    if len(simulation.candidates) < 2:
        return ["Nothing to decide on: no other option is expected to dry and has a price."]
    lines = [
        f"What to measure next, before deciding on {simulation.recommended} (accuracy 95 of 100 times; worth: what choosing after the reading brings over",
        "choosing now; spread: by how much the standard deviation of its net savings falls):",
        f"  {'worth, ' + simulation.case.currency:>11s} {'spread':>7s} {'to':>7s}  reading",
    ]
    for reading in telling(simulation):
        to, _, of = accuracy_in_words(reading).partition(" of ")
        lines.append(
            f"  {reading.worth:>11,.0f} {-100 * reading.spread_cut:>5.1f} % {to:>7s}  {reading.label} [{reading.input}]"
            f"{' (of ' + of + ')' if of else ''}. {reading.how}"
        )
    lines += [f"  {said}" for said in [worth_of_readings(simulation)] if said]
    return (
        lines
        if telling(simulation)
        else [*lines, "  nothing: no reading would change the decision or narrow the result."]
    )


def _hangs_on(simulation: Simulation, sensitivity: Sensitivity) -> list[str]:
    """Tornado, break-even values and scenarios."""
    currency, best = simulation.case.currency, simulation.recommended
    by_name = {entry.name: entry for entry in simulation.inputs}

    def shown(entry: Uncertain, value: float) -> str:
        return shown_value(simulation, value, entry)

    lines = [
        "",
        f"Net savings of {best} with one input at its P10 and at its P90, in {currency} (share of the variance with all it "
        "interacts with):",
    ]
    for swing in widest(sensitivity):
        entry = by_name[swing.input]
        p10, p90 = (shown(entry, float(entry.at(best).quantile(p))) for p in (LOW, HIGH))
        effect = sensitivity.total_effects.get(swing.input)
        lines.append(
            f"  {swing.label} [{swing.input}], {p10} to {p90}{_of(entry.whose(best))}: {amount(swing.at_low)} to {amount(swing.at_high)}"
            + ("" if effect is None else f" ({100 * effect:.0f} %)")
        )
    if not sensitivity.tornado:
        lines = []
    if len(simulation.candidates) > 1:
        lines += ["", f"Where {simulation.choice} stops being the best that dries, one input alone:"]
        for turn in sensitivity.break_evens:
            then = f"then {turn.instead}" if turn.instead else "then none dries"
            lines.append(
                f"  {turn.label} [{turn.input}]: {shown(by_name[turn.input], turn.value)}{_of(turn.of)}; {then}"
            )
        if not sensitivity.break_evens:
            lines.append("  nowhere within the ranges.")
    names = [scenario.name for scenario in simulation.case.model.scenarios]
    if names:
        lines += [
            "",
            "Scenarios (capital stays as quoted and present dryers as big as they are, also where a throughput changes):",
        ]
    for name in names:
        found = sensitivity.scenarios.get(name)
        lines.append(f"  {name}: {'no change entered' if found is None else told(simulation.case, found)}")
    return lines


def doubt_of_drying(simulation: Simulation) -> str:
    """What decides whether the recommended option dries, and what would settle it; empty where the draws agree."""
    option = simulation.option(simulation.recommended)
    verdict = simulation.comparison.option(option.name).verdict
    if not 0.0 < option.dries_share < 1.0 and not verdict.by_practice:
        return ""
    named = [f"{_with_hopper(d)} ({_percent(d.explains)})" for d in simulation.doubts[:DOUBTS]]
    base = simulation.comparison.baseline
    together = simulation.dries_where(option.name, base.name)
    alike = (
        ""
        if option.baseline or together is None
        else f" Counting only the cases in which what stands there now ({base.name}) dries, as sound parts and moisture readings of today "
        f"would show, it does in {of_hundred(together)}."
    )
    most = f" What it hangs on most, one input alone: {', '.join(named)}." if named else ""
    practice = " A case counts as dried where the diffusion data reach the target or where temperature, time, air and moisture are those of practice."
    if option.data_share != option.dries_share:
        practice = practice[:-1] + f"; by the data alone it dries in {of_hundred(option.data_share)}."
    if verdict.by_practice:
        known = joined(
            ["on the best estimate the diffusion data miss the target"] * verdict.disputed
            + ["there are no diffusion data"] * verdict.unknown
        )
        practice += f" On the stated values it is practice that speaks for it; {known}."
    return (
        f"Whether {option.name} dries is open: {simulation.drying_share(option.name)}.{alike}{most}{practice} A meter does not settle that, and no worth "
        "below counts it: dry each resin on trial for the time and with the air planned, and titrate the moisture of pellets at "
        "the hopper's outlet (Karl Fischer, ISO 15512)."
    )


def _with_hopper(doubt: Doubt) -> str:
    """What decides, and at which hopper where it is of one."""
    found = re.match(r"hoppers\['(.*)'\]\.", doubt.input)
    return f"{doubt.label} at {found[1]}" if found else doubt.label


def stated_among(simulation: Simulation) -> str:
    """Where the saving at the stated values lies among the draws; empty where it is near their middle."""
    name = simulation.recommended
    option, result = simulation.option(name), simulation.comparison.option(name)
    if option.baseline or option.saving.p50 is None:
        return ""
    stated = simulation.comparison.baseline.total_cost - result.total_cost
    below = float((simulation.outcomes.saving[name][simulation.outcomes.answered[name]] < stated).mean())
    if NEAR_THE_MIDDLE[0] <= below <= NEAR_THE_MIDDLE[1]:
        return ""
    what, side = ("saving", "less") if stated >= 0.0 else ("extra running cost", "more")
    return (
        f"The {what} of “{name}” at the stated values is {abs(stated):,.0f} {simulation.case.currency} a year; it is {side} than that in "
        f"{100.0 * below:.0f} of 100 simulated cases: ranges that reach further to one side than to the other move the middle."
    )


def turns_in(turn: BreakEvenValue, model: CaseFile) -> str:
    """Where an input belongs at which the choice turns, and whose value is told where that is not one for all."""
    return f"{place_in_words(turn.input, model)}{_of(turn.of)}"


def _of(option: str) -> str:
    return f", in {option}" if option else ""


def place_in_words(name: str, model: CaseFile) -> str:
    """Where an uncertain input belongs: the option, dryer, hopper or resin in its path, or the part of the case."""
    if machine := machine_part(name):
        return machine_places(model)[machine]
    if "['" in name:
        return name.split("['", 1)[1].split("']", 1)[0]
    if name.startswith("typical "):
        return "all dryers"
    if name.startswith("resin "):
        return name.removeprefix("resin ").split(".")[0]
    return name.split(".")[0].replace("_", " ")


def widest(sensitivity: Sensitivity) -> list[Swing]:
    return [swing for swing in sensitivity.tornado if not swing.width < 0.5][:SWINGS]


def amount(value: float) -> str:
    return "no answer" if math.isnan(value) else f"{value:,.0f}"


def accuracy_in_words(reading: Reading) -> str:
    return f"{100 * reading.accuracy:.2g} %" + (" of its range" if reading.of_range else "")


def to_json(simulation: Simulation, sensitivity: Sensitivity | None = None) -> str:
    """The simulation as JSON; None is null, money and years are plain numbers, inputs in SI."""
    options = []
    for option in simulation.options:
        options.append(
            {
                "name": option.name,
                "baseline": option.baseline,
                "answered_share": option.answered_share,
                "dries_share": option.dries_share,
                "dries_by_data_share": option.data_share,
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
        "answer": answer_with_chance(simulation),
        "recommended": simulation.recommended,
        "options": options,
        "measure_next": [
            {
                "input": reading.input,
                "label": reading.label,
                "how": reading.how,
                "accuracy": reading.accuracy,
                "of_range": reading.of_range,
                "worth": reading.worth,
                "spread_cut": reading.spread_cut,
                "wrong_cut": reading.wrong_cut,
            }
            for reading in simulation.measure_next
        ],
        "drying": {
            "sentence": doubt_of_drying(simulation) or None,
            "hangs_on": [{"input": d.input, "label": d.label, "explains": d.explains} for d in simulation.doubts],
        },
        "sentences": simulation.sentences(),
        "held": list(simulation.held),
    }
    if sensitivity is not None:
        said |= _json_hangs_on(simulation.case, sensitivity)
    return json.dumps(said, indent=2, ensure_ascii=False, allow_nan=False)


def _json_hangs_on(case: Case, sensitivity: Sensitivity) -> dict[str, Any]:
    return {
        "tornado": [
            {
                "input": s.input,
                "label": s.label,
                "net_savings_at_p10": None if math.isnan(s.at_low) else s.at_low,
                "net_savings_at_p90": None if math.isnan(s.at_high) else s.at_high,
                "total_effect": sensitivity.total_effects.get(s.input),
            }
            for s in sensitivity.tornado
        ],
        "break_evens": [
            {
                "input": b.input,
                "label": b.label,
                "kind": b.kind,
                "value": b.value,
                "now": b.now,
                "of": b.of or None,
                "instead": b.instead or None,
            }
            for b in sensitivity.break_evens
        ],
        "scenarios": [_scenario(case, name, found) for name, found in sensitivity.scenarios.items()],
    }


def _scenario(case: Case, name: str, found: Comparison | str) -> dict[str, Any]:
    options = () if isinstance(found, str) else found.options
    return {
        "name": name,
        "answer": told(case, found),
        "net_savings": {o.name: o.measures.npv for o in options if o.measures is not None},
    }


def shown_value(simulation: Simulation, value: float, entry: Uncertain) -> str:
    model = simulation.case.model
    place = next(iter(entry.places))
    if place.startswith("resin "):  # as its sheet has it
        key = place.rpartition(".")[2]
        stored = next(r.data[key] for r in simulation.case.resins if place == f"resin {r.abbreviation}.{key}")
        return show(value, entry.kind, usual_unit(entry.kind, stored.unit, model.case.units))
    field = next((q for path, q, _ in walk(model) if path == place), None)
    unit = usual_unit(entry.kind, "" if field is None else field.shown, model.case.units, simulation.case.currency)
    return show(value, entry.kind, unit)


def telling(simulation: Simulation) -> list[Reading]:
    """Readings of account: that narrow the result, or narrow it a little and are of some worth beside the dearest."""
    least = max([0.5, *(OF_ACCOUNT * r.worth for r in simulation.measure_next[:1])])
    return [
        r
        for r in simulation.measure_next
        if r.spread_cut >= NARROWS or (r.worth >= least and r.spread_cut >= NARROWS_LEAST)
    ][:READINGS]


def worth_of_readings(simulation: Simulation) -> str:
    """That no reading is expected to change the choice, where it is so; else empty."""
    found = telling(simulation)
    if not found or any(reading.worth >= 0.5 for reading in found):
        return ""
    of = "its savings" if simulation.choice == simulation.recommended else f"the savings of {simulation.recommended}"
    return f"None of these is expected to change the choice of {simulation.choice}; they tell {of} more closely."


def seldom_best(simulation: Simulation) -> str:
    """That another option than the one chosen is the best in more of the draws; empty where it is not so."""
    other, chosen = (simulation.option(name) for name in (simulation.most_often, simulation.choice))
    if other.cheapest <= chosen.cheapest or not simulation.comparison.option(chosen.name).held_out:
        return ""
    return (
        f"{other.name} is the best of those that dry in {of_hundred(other.cheapest)} simulated cases, {chosen.name}, the best on the stated values, in "
        f"{of_hundred(chosen.cheapest)}."
    )


def _dict(found: Percentiles) -> dict[str, float | None]:
    return {"p10": found.p10, "p50": found.p50, "p90": found.p90}


def _triple(found: Percentiles, *, years: bool = False) -> str:
    return " / ".join(in_years(x) if years or x is None else f"{x:,.0f}" for x in (found.p10, found.p50, found.p90))


def _percent(share: float) -> str:
    return f"{100 * share:.0f} %"
