"""Cost against throughput, every dryer built for each throughput, and where the ranking turns."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from energy import finance
from energy.dryers.base import Array
from energy.errors import ModelError, OutOfRangeError
from energy.sources import load
from energy.study.case import Case
from energy.study.compare import Comparison, year_of
from energy.study.cost import running_cost
from energy.study.duty import duties_of
from energy.study.life_cycle import life_cycle_cost, owned
from energy.study.machines import machines_of
from energy.study.option_sections import Option
from energy.study.steps import Steps, finished


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
    """A quarter to three times the throughput of all hoppers, evenly on a logarithmic scale, its own among them. [kg/s]"""
    below, above = (
        np.geomspace(0.25, 1.0, points // 2, endpoint=False),
        np.geomspace(1.0, 3.0, points - points // 2),
    )
    return total_throughput(case) * np.concatenate([below, above])


def total_throughput(case: Case) -> float:
    """Of all hoppers. [kg/s]"""
    return sum(float(hopper.throughput) for hopper in case.model.hoppers)


def sweep(comparison: Comparison, flows: Array | None = None) -> Sweep:
    """Cost of every option at other throughputs.

    Each dryer is built for each throughput (hopper, airflow, beds, motors by the model); its capital is scaled with the
    six-tenths rule from the throughput it is quoted for, its maintenance and replacements are left as they are. The baseline is
    there already, and retrofits are of it: they stay as big as they are and run at part load below that; of more they are asked
    as far as the case does.

    Parameters
    ----------
    comparison : Comparison
    flows : ndarray, shape (n,), optional
        [kg/s]

    Returns
    -------
    Sweep
    """
    return finished(sweep_in_steps(comparison, flows))


def sweep_in_steps(comparison: Comparison, flows: Array | None = None) -> Steps[Sweep]:
    """As `sweep`, one option at each step."""
    flows = throughputs(comparison.case) if flows is None else flows
    cost = {}
    for result in comparison.ranked():
        yield
        try:
            cost[result.name] = _yearly(comparison, result.option, flows)
        except (ModelError, OutOfRangeError):  # at some of them; told by the ones that can be run
            cost[result.name] = np.concatenate([_one_yearly(comparison, result.option, flow) for flow in flows])
    return Sweep(throughput=flows, cost=cost, break_evens=tuple(_break_evens(flows, cost)))


def _yearly(comparison: Comparison, option: Option, flows: Array) -> Array:
    case = comparison.case
    years, rate = case.model.finance.years, case.model.finance.rate
    scale = flows / total_throughput(case)
    there = option.baseline or option.retrofit
    if there:
        fits = scale <= _room(case, option) * (1.0 + 1e-9)
        if not fits.all():
            cost = np.full(flows.shape, np.nan)
            cost[fits] = _yearly(comparison, option, flows[fits]) if fits.any() else []
            return cost
    duties = duties_of(case, scale[:, None, None])
    grown = np.ones_like(scale) if there else scale
    year = year_of(case, option, machines_of(case, option, duties, grown[:, None, None]))
    running = running_cost(case, option.maintenance, year, comparison.baseline.year)
    exponent = load("factors")["capital_scale_exponent"].si
    over_quote = grown if there or option.capital_for is None else flows / float(option.capital_for)
    whole = life_cycle_cost(case, owned(case, option, running, option.capital_total * over_quote**exponent))
    return finance.equivalent_annual_cost(rate, whole, years)


def _room(case: Case, option: Option) -> float:
    """How many times the throughput of the case is asked of the machines of an option at most: what they are built for. [-]"""
    if option.arrangement == "central":
        return 1.0
    own = {machine.hopper: machine for machine in option.machines}
    room = []
    for hopper in case.model.hoppers:
        built = own.get(hopper.name, option).built_for
        room.append(1.0 if built is None else float(built / hopper.throughput))
    return max(1.0, min(room))


def _one_yearly(comparison: Comparison, option: Option, flow: float) -> Array:
    try:
        return _yearly(comparison, option, np.array([flow]))
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
