"""What the result hangs on: tornado, Sobol indices, the worth of a reading, scenarios."""

from __future__ import annotations

from collections.abc import Callable, Collection, Sequence
from dataclasses import dataclass

import numpy as np

from energy.errors import CaseError, EnergyError
from energy.sources import load
from energy.study.case import Case, wrong_changes
from energy.study.compare import Comparison, compare
from energy.study.distributions import COVERED, Array, normal_score, probabilities
from energy.study.scenarios import in_one_line, under
from energy.study.spread import Uncertain, values_of
from energy.study.uncertainty import Outcomes, outcomes

LOW, HIGH = 0.1, 0.9
BY_CHANCE = 0.05
"""Of the cases in which inputs of no account are taken to count, all of them together; by judgement, as is usual. [-]"""


@dataclass(frozen=True, slots=True, kw_only=True)
class Swing:
    """Net savings of an option with one input at its P10 and P90 and all others at their values. [money]"""

    input: str
    label: str
    at_low: float
    at_high: float

    @property
    def width(self) -> float:
        return abs(self.at_high - self.at_low)


@dataclass(frozen=True, slots=True, kw_only=True)
class Reading:
    """What it is worth to measure an input before deciding."""

    input: str
    label: str
    how: str
    accuracy: float
    """Relative, holds 95 of 100 times. [-]"""
    of_range: bool
    """Relative to the width of the range, as for a temperature, and not to the value."""
    worth: float
    """Expected value of the information. [money]"""
    spread_cut: float
    """Fall of the standard deviation of the net savings of the recommended option. [-]"""
    wrong_cut: float
    """Fall of the chance that another option would have been better. [-]"""
    explains: float
    """Share of the variance of those net savings that the input explains alone. [-]"""


@dataclass(frozen=True, slots=True, kw_only=True)
class Doubt:
    """How far one input alone decides whether an option dries."""

    input: str
    label: str
    explains: float
    """Share of the variance of drying or not. [-]"""


def tornado(case: Case, option: str, inputs: Sequence[Uncertain]) -> tuple[Swing, ...]:
    """Net savings of an option over the P10 to P90 of each input alone, widest first; NaN where there is no answer."""
    points = np.full((2 * len(inputs), len(inputs)), np.nan)
    for i in range(len(inputs)):
        points[2 * i : 2 * i + 2, i] = LOW, HIGH
    npv = outcomes(case, inputs, points, [option]).npv[option]
    swings = [
        Swing(input=entry.name, label=entry.label, at_low=float(npv[2 * i]), at_high=float(npv[2 * i + 1]))
        for i, entry in enumerate(inputs)
    ]
    return tuple(sorted(swings, key=lambda swing: -np.nan_to_num(swing.width, nan=np.inf)))


def sobol_indices(model: Callable[[Array], Array], count: int, draws: int, seed: int) -> tuple[Array, Array]:
    """First-order and total-effect indices of a model's inputs.

    Parameters
    ----------
    model : callable
        From probabilities of shape (n, count) to results of shape (n,).
    count : int
        Inputs.
    draws : int
        Points of each of the two samples; draws * (count + 2) runs in all.
    seed : int

    Returns
    -------
    first, total : ndarray, shape (count,)
        Share of the variance that the input explains alone, and with all it interacts with.

    Source
    ------
    Saltelli, A. et al.: Comput. Phys. Commun. 181 (2010) 259-270, table 2, eq. b and f (Jansen), from memory.
    """
    both = probabilities(draws, 2 * count, seed)
    one, two = both[:, :count], both[:, count:]
    mixed = np.repeat(one[None], count, axis=0)
    for i in range(count):
        mixed[i, :, i] = two[:, i]
    results = model(np.concatenate([one, two, mixed.reshape(-1, count)])).reshape(count + 2, draws)
    keep = np.isfinite(results).all(axis=0)
    a, b, ab = results[0, keep], results[1, keep], results[2:, keep]
    whole = np.concatenate([a, b])
    variance = np.var(whole)
    if not variance > 0.0:
        return np.zeros(count), np.zeros(count)
    first = np.mean((b - whole.mean()) * (ab - a), axis=1) / variance
    total = 0.5 * np.mean((a - ab) ** 2, axis=1) / variance
    return first, total


def total_effects(
    case: Case, option: str, inputs: Sequence[Uncertain], among: Sequence[str], draws: int = 128, seed: int = 1
) -> dict[str, float]:
    """Total-effect index of some of the inputs on an option's net savings, the others at their values."""
    chosen = [i for i, entry in enumerate(inputs) if entry.name in among]

    def model(points: Array) -> Array:
        full = np.full((len(points), len(inputs)), np.nan)
        full[:, chosen] = points
        return outcomes(case, inputs, full, [option]).npv[option]

    total = sobol_indices(model, len(chosen), draws, seed)[1]
    return {inputs[i].name: float(effect) for i, effect in zip(chosen, total, strict=True)}


def measure_next(
    inputs: Sequence[Uncertain],
    points: Array,
    results: Outcomes,
    candidates: Sequence[str],
    recommended: str,
    seed: int,
    of_no_account: Collection[str] = (),
    baseline: str = "",
) -> tuple[Reading, ...]:
    """What each input would be worth measuring, dearest first.

    A reading is the input's own value with the instrument's error on it; what is expected of each option once it is known
    is the regression of the results on it (a cubic in its normal score), so the draws already made are enough.

    Parameters
    ----------
    inputs : sequence of Uncertain
    points : ndarray, shape (n, inputs)
        Their probabilities in the draws.
    results : Outcomes
        Of those draws.
    candidates : sequence of str
        Options the decision is between.
    recommended : str
        That would be chosen now.
    seed : int
        Of the instruments' errors.
    of_no_account : collection of str
        Inputs that no option reads: prices drawn together with others seem to tell of them.
    baseline : str
        Against which net savings count. What an input of other options seems to tell of their spread is chance.

    Source
    ------
    Strong, M.; Oakley, J. E.; Brennan, A.: Med. Decis. Making 34 (2014) 311-326 and, with the error of the
    reading, 35 (2015) 570-583; from memory.
    """
    keep = np.all([results.answered[name] for name in candidates], axis=0)
    worth = np.array([results.npv[name][keep] for name in candidates])
    best = results.best(candidates)[keep]
    right = (best == np.arange(len(candidates))[:, None]) + 0.0
    mine = list(candidates).index(recommended)
    spread = float(np.std(worth[mine])) if keep.any() else 0.0
    if keep.sum() < 20 or spread == 0.0:
        return ()
    generator = np.random.default_rng(seed)
    stored = load("measurements")

    def known(score: Array) -> tuple[float, float, float]:
        """Worth, fall of the chance of a wrong choice, and share of the variance explained by knowing a score."""
        basis = np.linalg.qr(np.stack([score**k for k in range(4)], axis=1))[0]
        expected, sure = (table @ basis @ basis.T for table in (worth, right))
        gains = [float(t.max(axis=0).mean() - t.mean(axis=1).max()) for t in (expected, sure)]
        return gains[0], gains[1], float(np.var(expected[mine]) / spread**2)

    # Draws are few: what a score that has nothing to do with the results seems to tell is taken off.
    chance = np.mean([known(generator.standard_normal(keep.sum())) for _ in range(16)], axis=0)
    readings = []
    for i, entry in enumerate(inputs):
        if entry.name in of_no_account or not any(_concerns(path, candidates) for path in entry.places):
            continue
        error = generator.standard_normal(keep.sum())
        entry_of = stored.get(entry.name.rpartition(".")[2].removeprefix("typical "), stored["other"])
        value = values_of([entry], points[keep, i : i + 1])[next(iter(entry.places))]
        read = value * (1.0 + float(entry_of.si) / float(normal_score(0.5 + 0.5 * COVERED)) * error)
        if entry.kind == "temperature":  # relative to the range: a share of an absolute temperature means nothing
            spread_of = entry.distribution.high - entry.distribution.low
            read = value + float(entry_of.si) * spread_of * error
        score = normal_score((np.argsort(np.argsort(read, kind="stable"), kind="stable") + 0.5) / read.size)
        gain, surer, explained = (max(0.0, float(x)) for x in np.array(known(score)) - chance)
        if not any(_concerns(path, [recommended, baseline]) for path in entry.places):
            explained = 0.0
        readings.append(
            Reading(
                input=entry.name,
                label=entry.label,
                how=str(entry_of.note),
                accuracy=float(entry_of.si),
                of_range=entry.kind == "temperature",
                worth=gain,
                spread_cut=float(1.0 - np.sqrt(max(0.0, 1.0 - explained))),
                wrong_cut=surer,
                explains=explained,
            )
        )
    return tuple(sorted(readings, key=lambda r: (-r.worth, -r.spread_cut)))


def doubts_of_drying(
    inputs: Sequence[Uncertain], points: Array, results: Outcomes, option: str, least: float = 0.03
) -> tuple[Doubt, ...]:
    """Inputs that alone decide whether an option dries, weightiest first; none where it always or never does.

    An input is named where what it seems to explain stands out from what so many draws show by chance: all inputs together,
    one of no account is named in `BY_CHANCE` of the cases.

    Parameters
    ----------
    inputs : sequence of Uncertain
    points : ndarray, shape (n, inputs)
        Their probabilities in the draws.
    results : Outcomes
        Of those draws.
    option : str
    least : float
        Share of the variance below which an input is not named. [-]

    Source
    ------
    Correlation ratio over classes of equal size, less what classes of that number seem to explain by chance (adjusted
    coefficient of determination), both from memory. Of an outcome that is so or not, the number of draws times the ratio is
    Pearson's chi-square of classes against outcome; its limit is shared out among the inputs after Bonferroni; from memory.
    """
    from scipy.special import chdtri

    keep = results.answered[option]
    dry = results.dries[option][keep] + 0.0
    classes = int(np.clip(dry.size // 32, 2, 16))  # by judgement: 32 draws or more tell a share of each
    if dry.size < 64 or not 0.0 < dry.mean() < 1.0:
        return ()
    found = []
    asked = [i for i, entry in enumerate(inputs) if any(_concerns(path, [option]) for path in entry.places)]
    by_chance = float(chdtri(classes - 1, BY_CHANCE / max(1, len(asked)))) / dry.size
    for i in asked:
        entry = inputs[i]
        order = np.argsort(points[keep, i], kind="stable")
        left = sum(float(part.var()) * part.size for part in np.array_split(dry[order], classes))
        unexplained = left / (dry.var() * dry.size)
        share = 1.0 - unexplained * (dry.size - 1) / (dry.size - classes)
        if share >= least and 1.0 - unexplained > by_chance:
            found.append(Doubt(input=entry.name, label=entry.label, explains=float(share)))
    return tuple(sorted(found, key=lambda doubt: -doubt.explains))


def _concerns(path: str, names: Sequence[str]) -> bool:
    """Does an input count for any of these options?"""
    return not path.startswith("options[") or any(path.startswith(f"options['{name}']") for name in names)


def run_scenarios(case: Case) -> dict[str, Comparison | str]:
    """The comparison under each of the case's scenarios that changes anything, by name; why there is none where it has no answer.

    Raises
    ------
    CaseError
        A scenario's change is not valid; the message names the scenario.
    """
    found: dict[str, Comparison | str] = {}
    for scenario in case.model.scenarios:
        try:
            other = under(case, scenario.changes)
        except EnergyError as error:
            if wrong := wrong_changes(case, scenario.name, scenario.changes, error):
                raise CaseError(wrong, file=case.file) from error
            found[scenario.name] = in_one_line(error)  # what follows of it is not, such as a dryer too small for it
            continue
        if other.model == case.model:
            continue
        try:
            found[scenario.name] = compare(other)
        except EnergyError as error:
            found[scenario.name] = in_one_line(error)
    return found
