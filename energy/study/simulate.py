"""A case under uncertainty: how far the results spread, and with what chance each option is worth its money."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from energy.study.break_even import BreakEvenValue, break_even_values
from energy.study.case import Case
from energy.study.compare import Comparison, compare
from energy.study.distributions import Array, probabilities
from energy.study.life_cycle import YEAR
from energy.study.sensitivity import (
    Doubt,
    Reading,
    Swing,
    doubts_of_drying,
    measure_next,
    run_scenarios,
    tornado,
    total_effects,
)
from energy.study.spread import correlated, uncertain_inputs
from energy.study.uncertainty import Outcomes, Progress, Uncertain, check_draws, outcomes

DRAWS, SEED = 1024, 1
FEWEST = 20  # draws of which a share is taken, by judgement
NEARLY_ALL = 0.98  # share of the draws with an answer from which a share needs no word of what it is of, by judgement
WIDEST = 8  # inputs of which the total effect is worked out
BILLS = ("electricity", "gas", "water")
"""Bills that have a factor on their prices."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Percentiles:
    """One case in ten is below the first, half below the second, nine in ten below the third; None: no number there."""

    p10: float | None
    p50: float | None
    p90: float | None


@dataclass(frozen=True, slots=True, kw_only=True)
class OptionChances:
    """An option over the draws that the model had an answer for. Against the baseline."""

    name: str
    baseline: bool
    answered_share: float
    """Draws with an answer; in the others an input or a state left the range of the model."""
    dries_share: float
    """By the diffusion data, or as practice has it."""
    data_share: float
    """By the data alone."""
    saving: Percentiles
    """Of a year. [money]"""
    net_savings: Percentiles
    """Present value over the study period. [money]"""
    payback: Percentiles
    """None where so many draws never pay back. [year]"""
    never_share: float
    """Draws that do not pay back within the study period."""
    payback_within: Mapping[int, float]
    """Whole years -> share of the draws paid back by then."""
    payback_accepted: float | None
    """Share paid back within the case's longest acceptable payback; None where the case names none."""
    npv_positive: float
    cheapest: float
    """Draws in which it has the lowest life-cycle cost of the options that dry, of those in which all have an answer."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Sensitivity:
    """What the result of the recommended option hangs on, one input at a time and in named sets of changes."""

    tornado: tuple[Swing, ...]
    """Widest first."""
    total_effects: Mapping[str, float]
    """Of the widest: share of the variance that is theirs with all they interact with, as if independent. [-]"""
    break_evens: tuple[BreakEvenValue, ...]
    scenarios: Mapping[str, Comparison | str]
    """By name; why there is none where a scenario has no answer."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Simulation:
    """All options over the same draws."""

    comparison: Comparison
    """At the stated values."""
    draws: int
    seed: int
    inputs: tuple[Uncertain, ...]
    held: tuple[str, ...]
    """Paths with a range that are taken at their value."""
    options: tuple[OptionChances, ...]
    recommended: str
    """The best on the stated values of those that would be bought and are expected to dry; the baseline where there is none."""
    candidates: tuple[str, ...]
    """What it stands against, itself included: options as far up in what dries, and the baseline."""
    measure_next: tuple[Reading, ...]
    doubts: tuple[Doubt, ...]
    """What decides whether the recommended option dries."""
    points: Array
    """Probability of each input in each draw, shape (draws, inputs)."""
    outcomes: Outcomes

    @property
    def case(self) -> Case:
        return self.comparison.case

    @property
    def choice(self) -> str:
        """The best on the stated values, be it the baseline; the baseline too where nothing is expected to dry."""
        ranked = [option.name for option in self.comparison.ranked() if option.held_out]
        return ranked[0] if ranked else self.comparison.baseline.name

    @property
    def most_often(self) -> str:
        """The option that is the best of those that dry in most of the draws."""
        return max(self.options, key=lambda option: option.cheapest).name

    def option(self, name: str) -> OptionChances:
        return next(option for option in self.options if option.name == name)

    def sentences(self) -> list[str]:
        """What the draws say, in words."""
        return [sentence for option in self.options for sentence in _sentences(self.case, option, self.draws)]

    def unanswered(self) -> list[str]:
        """For each option with draws that had no answer, how many they were."""
        return [sentence for option in self.options for sentence in _unanswered(option, self.draws)]

    def drying_share(self, name: str) -> str:
        """In how many of the draws an option dries, in words."""
        return f"it does in {_cases(self.option(name).dries_share)}"

    def dries_where(self, name: str, other: str) -> float | None:
        """Share of the draws in which another option dries that an option dries in; None where they are too few."""
        results = self.outcomes
        known = results.answered[name] & results.dries[other]
        return float(np.mean(results.dries[name][known])) if known.sum() >= FEWEST else None

    def chance(self, name: str | None = None) -> str:
        """The chances of an option, the recommended one when left out, in a sentence."""
        return _sentences(self.case, self.option(name or self.recommended), self.draws)[0]

    def cumulative_cash(self, name: str) -> dict[str, Array]:
        """Money added up to the end of each year: its P10, P50 and P90, shape (years + 1,). [money]"""
        added = np.cumsum(self.outcomes.flows[name][self.outcomes.answered[name]], axis=-1)
        if not len(added):
            added = np.full((1, self.case.model.finance.years + 1), np.nan)
        return dict(zip(("p10", "p50", "p90"), np.quantile(added, (0.1, 0.5, 0.9), axis=0), strict=True))

    def paid_back(self, name: str, years: Array | Sequence[float]) -> Array:
        """Share of the draws in which an option has paid back within so many years, shape of `years`. [-]"""
        payback = self.outcomes.payback[name][self.outcomes.answered[name]]
        within = np.searchsorted(np.sort(payback), np.asarray(years, float), side="right")
        return np.asarray(within / max(1, payback.size))

    def tornado(self, name: str | None = None) -> tuple[Swing, ...]:
        """Net savings over the P10 to P90 of each input alone, widest first."""
        return tornado(self.case, name or self.recommended, self.inputs)

    def sensitivity(self) -> Sensitivity:
        """Tornado and total effects of the recommended option, where the choice turns, scenarios: some seconds of work."""
        swings: tuple[Swing, ...] = ()
        effects: dict[str, float] = {}
        turns: tuple[BreakEvenValue, ...] = ()
        if len(self.candidates) > 1:
            swings = self.tornado()
            widest = [swing.input for swing in swings[:WIDEST] if swing.width > 0.0]
            effects = total_effects(self.case, self.recommended, self.inputs, widest, seed=self.seed)
            turns = break_even_values(self.case, self.choice, self.inputs, self.candidates)
        return Sensitivity(tornado=swings, total_effects=effects, break_evens=turns, scenarios=run_scenarios(self.case))


def simulate(case: Case, draws: int = DRAWS, seed: int = SEED, *, progress: Progress | None = None) -> Simulation:
    """Draw every uncertain input at once and run the whole chain on each draw.

    Parameters
    ----------
    case : Case
    draws : int
        A power of two draws evenly (scrambled Sobol points); others are a Latin hypercube.
    seed : int
        The same case, draws and seed give the same numbers.
    progress : callable, optional
        Called between blocks of draws with the share that is done; what it raises ends the simulation.

    Raises
    ------
    CaseError
        A case that has no answer at its stated values, or a number of draws or a seed that is not allowed.
    """
    check_draws(case, draws, seed)
    comparison = compare(case)
    inputs, held = uncertain_inputs(case)
    points = correlated(inputs, probabilities(draws, len(inputs), seed))
    results = outcomes(case, inputs, points, progress=progress)
    names = [option.name for option in comparison.options if option.priced]
    best = results.best(names)
    # Who is best is asked where all have an answer: one is not better for what the model cannot say of another.
    able = [name for name in names if results.answered[name].any()]
    all_there = np.logical_and.reduce([results.answered[name] for name in able])
    base = comparison.baseline.name
    recommended, candidates = _decision(comparison)
    bills = [comparison.option(name).annual_cost for name in {*candidates, base}]
    not_bought = [f"tariffs.{bill}_factor" for bill in BILLS if not any(cost.get(bill, 0.0) for cost in bills)]
    return Simulation(
        comparison=comparison,
        draws=draws,
        seed=seed,
        inputs=inputs,
        held=held,
        options=tuple(
            _chances(case, results, (best == i)[all_there], name, name == base) for i, name in enumerate(names)
        ),
        recommended=recommended,
        candidates=tuple(candidates),
        measure_next=measure_next(inputs, points, results, candidates, recommended, seed, not_bought, base),
        doubts=doubts_of_drying(inputs, points, results, recommended),
        points=points,
        outcomes=results,
    )


def _decision(comparison: Comparison) -> tuple[str, list[str]]:
    """The option recommended on the stated values, and those it stands against: as far up in what dries as any."""
    ranked = [o for o in comparison.ranked() if not o.option.baseline and o.held_out]
    base = comparison.baseline.name
    if not ranked:
        return base, [base]
    group = [o for o in ranked if o.verdict.severity[:3] == ranked[0].verdict.severity[:3]]
    return group[0].name, [*(o.name for o in group), base]


def _chances(case: Case, results: Outcomes, cheapest: NDArray[np.bool_], name: str, baseline: bool) -> OptionChances:
    """Of one option; `cheapest` says in which of the draws that all have an answer for it is the best."""
    there = results.answered[name]
    saving, npv, payback = (table[name][there] for table in (results.saving, results.npv, results.payback))
    longest = case.model.finance.maximum_payback
    limit = None if longest is None else float(longest) / YEAR
    return OptionChances(
        name=name,
        baseline=baseline,
        answered_share=float(np.mean(there)),
        dries_share=_share(results.dries[name][there]),
        data_share=_share(results.by_data[name][there]),
        saving=_percentiles(saving),
        net_savings=_percentiles(npv),
        payback=_percentiles(payback),
        never_share=_share(np.isinf(payback)),
        payback_within={year: _share(payback <= year) for year in range(1, case.model.finance.years + 1)},
        payback_accepted=None if limit is None else _share(payback <= limit),
        npv_positive=_share(npv > 0.0),
        cheapest=_share(cheapest),
    )


def _share(true: NDArray[np.bool_]) -> float:
    return float(np.mean(true)) if true.size else 0.0


def _percentiles(values: Array) -> Percentiles:
    if not values.size:
        return Percentiles(p10=None, p50=None, p90=None)
    # A payback may be infinite: no interpolation between draws.
    found = [float(v) for v in np.quantile(values, (0.1, 0.5, 0.9), method="inverted_cdf")]
    p10, p50, p90 = (v if np.isfinite(v) else None for v in found)
    return Percentiles(p10=p10, p50=p50, p90=p90)


def _sentences(case: Case, option: OptionChances, draws: int) -> list[str]:
    if option.baseline:
        return [f"{option.name}: {dries_in(option)}{_of_those(option, draws)}."]
    limit = case.model.finance.maximum_payback
    said = []
    if limit is not None and option.payback_accepted is not None:
        said.append(f"in {_cases(option.payback_accepted)} the money is back within {float(limit) / YEAR:.3g} years")
    said.append(f"{'in' if not said else 'and in'} {_cases(option.npv_positive)} it is worth more than it costs")
    sentences = [f"{option.name}: {' '.join(said)}; it {dries_in(option, '')}{_of_those(option, draws)}."]
    if option.never_share > 0.0:
        sentences.append(
            f"{option.name} does not pay back within the {case.model.finance.years} years of the study in "
            f"{_cases(option.never_share)}."
        )
    return [*sentences, *_unanswered(option, draws)]


def _unanswered(option: OptionChances, draws: int) -> list[str]:
    if option.answered_share == 1.0:
        return []
    missing = draws - _answered(option, draws)
    return [f"{option.name}: {missing} of {draws:,} draws left the range of the model and are not counted."]


def _answered(option: OptionChances, draws: int) -> int:
    return round(option.answered_share * draws)


def _of_those(option: OptionChances, draws: int) -> str:
    """What the shares are of, where the model has no answer for some of the draws."""
    if option.answered_share >= NEARLY_ALL:
        return ""
    return f" (of the {_answered(option, draws):,} of {draws:,} simulated cases that the model has an answer for)"


def dries_in(option: OptionChances, cases: str = " simulated cases") -> str:
    """In how many of the draws an option dries, in words; with what counts as dried where practice counts for more than the data do."""
    said = f"dries in {of_hundred(option.dries_share)}{cases}"
    if option.data_share == option.dries_share:
        return said
    return f"{said}, by the diffusion data or as practice does (by the data alone in {of_hundred(option.data_share)})"


def _cases(share: float) -> str:
    return f"{of_hundred(share)} simulated cases"


def of_hundred(share: float) -> str:
    """A share in words; never all or none where a few draws say otherwise."""
    hundred = round(100.0 * share)
    if 0.0 < share < 0.01:
        return "fewer than 1 of 100"
    if share < 1.0 and hundred == 100:
        return "more than 99 of 100"
    return f"{hundred} of 100"
