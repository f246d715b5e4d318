"""Where, within its range, one input alone turns the recommendation."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from energy.study.case import Case
from energy.study.distributions import Array, Distribution
from energy.study.spread import Uncertain
from energy.study.uncertainty import outcomes

ENOUGH = 1.0  # money of net savings within which a break-even is found
EDGE = 0.005  # a break-even is looked for in all but this share of the cases at either end


@dataclass(frozen=True, slots=True, kw_only=True)
class BreakEvenValue:
    """Value of an input at which another option becomes the best of those that dry, all others at their values."""

    input: str
    label: str
    kind: str
    value: float
    """[SI]"""
    now: float
    """Its stated value. [SI]"""
    of: str
    """The option whose value it is, where dryers share the input with another value each; empty where they share the value."""
    instead: str
    """The option that is best beyond it; empty where none dries."""


def break_even_values(
    case: Case, option: str, inputs: Sequence[Uncertain], candidates: Sequence[str], steps: int = 16
) -> tuple[BreakEvenValue, ...]:
    """Where, within its range, each input alone turns the recommendation away from an option.

    Inputs that turn it nowhere are not in the answer; of several turns the nearest to the stated value is not promised.

    Parameters
    ----------
    case : Case
    option : str
        Recommended at the stated values.
    inputs : sequence of Uncertain
    candidates : sequence of str
        Options the decision is between.
    steps : int
        At most, of the false position between the stated value and the end of the range.
    """

    def lead(at: Array, which: Sequence[int], names: Sequence[str]) -> tuple[Array, list[str]]:
        """Net savings of the option over those of the best other that dries, and its name. [money]"""
        points = np.full((len(which), len(inputs)), np.nan)
        points[np.arange(len(which)), which] = at
        found = outcomes(case, inputs, points, names)
        others = [name for name in names if name != option]
        worth = np.array([np.where(found.dries[n], found.npv[n], -np.inf) for n in (option, *others)])
        best = worth[1:].max(axis=0)
        dry = np.isfinite(worth[0])
        ahead = np.where(dry, np.where(dry, worth[0], 0.0) - best, -np.inf)
        told = [others[i] if np.isfinite(b) else "" for i, b in zip(worth[1:].argmax(axis=0), best, strict=True)]
        return np.where(found.answered[option], ahead, np.nan), told

    if not inputs or len(candidates) < 2:
        return ()
    every = list(range(len(inputs)))
    # The stated values, then every input at either end of its range.
    ends, told = lead(
        np.array([np.nan, *[EDGE] * len(every), *[1.0 - EDGE] * len(every)]), [0, *every, *every], candidates
    )
    now, ends, told = ends[0], ends[1:], told[1:]
    if not now > 0.0:
        return ()
    found = []
    turned = np.flatnonzero(ends < 0.0)
    which = [int(i) % len(every) for i in turned]
    near = list(dict.fromkeys([option, *(told[i] for i in turned if told[i])]))
    inner, outer = (
        np.array([_place(inputs[i].at(option)) for i in which]),
        np.where(turned < len(every), EDGE, 1.0 - EDGE),
    )
    ahead, behind = np.full(len(which), now), ends[turned]
    instead = [told[i] for i in turned]
    for step in range(steps):
        if not which or len(near) < 2 or np.all((np.abs(behind) < ENOUGH) | (np.abs(outer - inner) < 2.0**-10)):
            break
        with np.errstate(invalid="ignore"):
            straight = (inner * behind - outer * ahead) / (behind - ahead)
        halved = ~np.isfinite(straight) | (step % 3 == 2)
        middle = np.where(halved, 0.5 * (inner + outer), straight)
        here, names = lead(middle, which, near)
        same = here > ENOUGH  # who is ahead by less has turned: the false position may land on the very place
        inner, ahead = np.where(same, middle, inner), np.where(same, here, ahead)
        outer, behind = np.where(same, outer, middle), np.where(same, behind, here)
        instead = [old if s else new for s, old, new in zip(same, instead, names, strict=True)]
    for i, at, name in zip(which, outer, instead, strict=True):
        entry = inputs[i]
        own = entry.at(option)
        found.append(
            BreakEvenValue(
                input=entry.name,
                label=entry.label,
                kind=entry.kind,
                value=float(own.quantile(at)),
                now=own.value,
                of=entry.whose(option),
                instead=name,
            )
        )
    return tuple(found)


def _place(spread: Distribution) -> float:
    """Probability of being below the stated value."""
    if spread.shape != "triangular":
        return 0.5
    return float(np.clip((spread.value - spread.low) / (spread.high - spread.low), EDGE, 1.0 - EDGE))
