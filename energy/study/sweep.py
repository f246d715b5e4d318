"""Cost against throughput, every dryer built for each throughput, and where the ranking turns."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from energy import dryers, finance
from energy.dryers.base import Array
from energy.sources import load
from energy.study.case import Case
from energy.study.compare import Comparison, life_cycle_cost, running_cost
from energy.study.duty import duty_of, month_seconds


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
    """Running cost and capital as a level yearly amount, by option, shape (n,). [money/year]"""
    break_evens: tuple[BreakEven, ...]


def throughputs(case: Case, points: int = 41) -> Array:
    """A quarter to three times the case's throughput, evenly on a logarithmic scale, the case's own among them. [kg/s]"""
    now = float(case.model.hoppers[0].throughput)
    below, above = (
        np.geomspace(0.25, 1.0, points // 2, endpoint=False),
        np.geomspace(1.0, 3.0, points - points // 2),
    )
    return now * np.concatenate([below, above])


def sweep(comparison: Comparison, flows: Array | None = None) -> Sweep:
    """Cost of every option at other throughputs.

    Each dryer is built for each throughput (hopper, airflow, beds, motors by the model); its capital is scaled with the
    six-tenths rule from the case's own figure, its maintenance and replacements are left as they are. The baseline's
    capital is spent already.

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
    duty, seconds = duty_of(case, flows[:, None]), month_seconds(case)
    years, rate = case.model.finance.years, case.model.finance.rate
    exponent = load("factors")["capital_scale_exponent"].si
    size = (flows / float(case.model.hoppers[0].throughput)) ** exponent
    cost = {}
    for result in comparison.ranked():
        option = result.option
        operation = dryers.TYPES[option.type].Dryer(option.inputs).run(duty)
        running = running_cost(case, option, operation, seconds)
        whole = life_cycle_cost(case, option, running, option.capital_total * size)
        cost[option.name] = finance.equivalent_annual_cost(rate, whole, years)
    return Sweep(throughput=flows, cost=cost, break_evens=tuple(_break_evens(flows, cost)))


def _break_evens(flows: Array, cost: dict[str, Array]) -> list[BreakEven]:
    names = list(cost)
    if not names:
        return []
    table = np.array([cost[n] for n in names])
    cheapest = table.argmin(axis=0)
    found = []
    for i in np.flatnonzero(np.diff(cheapest)):
        one, two = cheapest[i], cheapest[i + 1]
        gap = table[one] - table[two]
        at = flows[i] + (flows[i + 1] - flows[i]) * gap[i] / (gap[i] - gap[i + 1])
        found.append(BreakEven(throughput=float(at), below=names[one], above=names[two]))
    return found
