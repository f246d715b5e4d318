"""Cost against throughput, every dryer built for each throughput, and where the ranking turns."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from energy import finance
from energy.dryers.base import Array
from energy.errors import ModelError, OutOfRangeError
from energy.sources import load
from energy.study.case import Case
from energy.study.compare import Comparison, life_cycle_cost, running_cost, year_of
from energy.study.duty import MONTHS, duty_of, option_duty, with_design
from energy.study.schema import Option


@dataclass(frozen=True, slots=True, kw_only=True)
class BreakEven:
    """Throughput at which the cheapest option changes. [kg/s]"""

    throughput: float
    below: str
    above: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Sweep:
    """Yearly cost of each option that does not fail to dry, against throughput."""

    throughput: Array
    """shape (n,). [kg/s]"""
    cost: dict[str, Array]
    """Running cost and capital as a level yearly amount, by option, shape (n,); NaN where the model has no answer for a
    dryer of that size. [money/year]"""
    break_evens: tuple[BreakEven, ...]


def throughputs(case: Case, points: int = 41) -> Array:
    """A quarter to three times the case's throughput, evenly on a logarithmic scale, its own among them. [kg/s]"""
    now = float(case.model.hoppers[0].throughput)
    below, above = (
        np.geomspace(0.25, 1.0, points // 2, endpoint=False),
        np.geomspace(1.0, 3.0, points - points // 2),
    )
    return now * np.concatenate([below, above])


def sweep(comparison: Comparison, flows: Array | None = None) -> Sweep:
    """Cost of every option at other throughputs.

    Each dryer is built for each throughput (hopper, airflow, beds, motors by the model); its capital is scaled with the
    six-tenths rule from the case's own figure, its maintenance and replacements are left as they are. The baseline is
    there already: it stays as big as it is, runs at part load below that and cannot do more.

    Parameters
    ----------
    comparison : Comparison
    flows : ndarray, shape (n,), optional
        [kg/s]

    Returns
    -------
    Sweep
    """
    case = comparison.case
    flows = throughputs(case) if flows is None else flows
    cost = {}
    for result in comparison.ranked():
        try:
            cost[result.name] = _yearly(case, result.option, flows)
        except (ModelError, OutOfRangeError):  # at some of them; told by the ones that can be run
            cost[result.name] = np.concatenate([_one_yearly(case, result.option, flow) for flow in flows])
    return Sweep(throughput=flows, cost=cost, break_evens=tuple(_break_evens(flows, cost)))


def _yearly(case: Case, option: Option, flows: Array) -> Array:
    years, rate = case.model.finance.years, case.model.finance.rate
    now = float(case.model.hoppers[0].throughput)
    built = now if option.built_for is None else float(option.built_for)
    duty, scale = duty_of(case, flows[:, None]), flows / now
    if option.baseline:
        if flows.max() > built * (1.0 + 1e-9):
            fits = flows <= built * (1.0 + 1e-9)
            cost = np.full(flows.shape, np.nan)
            cost[fits] = _yearly(case, option, flows[fits]) if fits.any() else []
            return cost
        duty, scale = option_duty(duty, option.model_copy(update={"built_for": built})), np.ones_like(flows)
    elif option.built_for is not None:
        size = flows[:, None] * built / now * np.ones(MONTHS)
        duty = with_design(replace(duty, design_throughput=size))
    running = running_cost(case, option, year_of(case, option, duty))
    exponent = load("factors")["capital_scale_exponent"].si
    whole = life_cycle_cost(case, option, running, option.capital_total * scale**exponent)
    return finance.equivalent_annual_cost(rate, whole, years)


def _one_yearly(case: Case, option: Option, flow: float) -> Array:
    try:
        return _yearly(case, option, np.array([flow]))
    except (ModelError, OutOfRangeError):
        return np.array([np.nan])


TELLING = 0.02  # costs nearer than this share of each other are not told apart: a crossing there is no break-even


def _differ(gap: Array, cost: Array) -> bool:
    """Do two costs differ by a telling share somewhere on this side of a crossing?"""
    share = np.abs(gap / cost)
    return bool(np.nanmax(share, initial=0.0) >= TELLING)


def _break_evens(flows: Array, cost: dict[str, Array]) -> list[BreakEven]:
    names = list(cost)
    if not names:
        return []
    table = np.array([cost[n] for n in names])
    cheapest = np.where(np.isnan(table), np.inf, table).argmin(axis=0)
    found = []
    for i in np.flatnonzero(np.diff(cheapest)):
        one, two = cheapest[i], cheapest[i + 1]
        gap = table[one] - table[two]
        if np.isnan(gap[i : i + 2]).any():
            continue  # one of them cannot be run on this side: the ranking turns, but not where costs are equal
        if not (_differ(gap[: i + 1], table[one][: i + 1]) and _differ(gap[i + 1 :], table[one][i + 1 :])):
            continue
        at = flows[i] + (flows[i + 1] - flows[i]) * gap[i] / (gap[i] - gap[i + 1])
        found.append(BreakEven(throughput=float(at), below=names[one], above=names[two]))
    return found
