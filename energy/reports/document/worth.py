"""What moves the worth of an option: scenarios and break-evens about its net present value."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace

import numpy as np

from energy import finance
from energy.dryers.base import BEYOND_MODEL, Array
from energy.errors import ModelError, OutOfRangeError
from energy.finance import CashFlow
from energy.study.case import Case
from energy.study.compare import Comparison, OptionResult, compare, year_of
from energy.study.cost import RunningCost, running_cost
from energy.study.duty import duties_of
from energy.study.life_cycle import against_baseline, escalation, measures_of
from energy.study.life_cycle_measures import Measures
from energy.study.machines import machines_of
from energy.study.option_sections import CapitalLine, Option, Part
from energy.units import SI

TEST = 0.20
"""Common test of a forecast where no range is known. [-]"""
ENERGY = ("electricity", "gas", "water")
SAVINGS = (*ENERGY, "maintenance")
EXTRA = "Extra running cost"
"""What a saving is called that is none."""
HALF = "Half the throughput in the machines as bought"
MODEL_ALONE = "Present dryers by the model alone, not by their meter"
LEAST = 0.1
"""Throughput below which no break-even is looked for, over that of the case. [-]"""


@dataclass(frozen=True, slots=True, kw_only=True)
class Scenario:
    name: str
    saving: float
    """Of a year at prices of year 0. [money]"""
    npv: float
    simple: float
    """Capital over net saving of a year; NaN where there is none. [year]"""
    payback: float
    """Overhauls and price rises counted; NaN where there is none. [year]"""
    discounted: float
    at_once: frozenset[str] = frozenset()
    """Which of these are none since no extra money is ever owed while some is saved, by name."""


def flow_of(
    comparison: Comparison,
    option: OptionResult,
    *,
    saved: Mapping[str, float] | None = None,
    capital: float = 0.0,
    reserve: float = 0.0,
    changes: Mapping[str, object] | None = None,
    case: Case | None = None,
) -> CashFlow:
    """The cash flow against the baseline, with something changed; taxes and residual value follow.

    Parameters
    ----------
    comparison : Comparison
    option : OptionResult
    saved : mapping of float, optional
        By carrier, the saving over that worked out. [-]
    capital : float
        On top of the option's, for the same parts. [money]
    reserve : float
        Spent on top, with nothing left of it at the end. [money]
    changes : mapping, optional
        Fields of the option and of the baseline that take other values.
    case : Case, optional
        With other money terms.
    """
    base, saved = comparison.baseline, saved or {}
    cost = {k: np.asarray(v - saved.get(k, 1.0) * (v - option.annual_cost[k])) for k, v in base.annual_cost.items()}
    late = {k: saved.get(k, 1.0) * v for k, v in _late(option).items()}
    mine: Option = option.option.model_copy(update=dict(changes or {}))
    kept = capital * float(mine.equipment_share)
    more: dict[Part, float] = {"equipment": kept, "installation": capital - kept, "contingency": reserve}
    lines = tuple(
        CapitalLine.model_construct(item="Change", amount=SI(spent / float(mine.capital_factor)), part=part)
        for part, spent in more.items()
        if spent
    )
    if lines:
        mine = mine.model_copy(update={"capital": (*mine.capital, *lines)})
    return against_baseline(
        case or comparison.case,
        mine,
        RunningCost(annual=cost, by_end_use={}, lines=()),
        base.option.model_copy(update=dict(changes or {})),
        RunningCost(annual={k: np.asarray(v) for k, v in base.annual_cost.items()}, by_end_use={}, lines=()),
        late,
    )


def _late(option: OptionResult) -> dict[str, Array]:
    """By carrier, what the first year saves more than the later ones. [money]"""
    return {k: np.asarray(s.first_year - s.steady) for k, s in option.savings.items()}


def with_finance(case: Case, **changes: float) -> Case:
    """The case with other terms of money."""
    return replace(case, model=case.model.model_copy(update={"finance": case.model.finance.model_copy(update=changes)}))


def scenarios(comparison: Comparison, option: OptionResult) -> list[Scenario]:
    """As worked out; each doubt by itself; all doubts together and the opposite; half the throughput. None without a change."""
    case, share, streams = comparison.case, 100 * TEST, flow_of(comparison, option).streams
    extra, reserve = TEST * option.capital, float(case.model.request.contingency) * option.capital
    saving = comparison.baseline.total_cost - option.total_cost
    # Worse is less of a saving, and more of what an option costs on top.
    bad = -TEST if saving >= 0.0 else TEST
    less, more = (dict.fromkeys(SAVINGS, 1.0 + change) for change in (bad, -bad))
    what, down, up = ("Savings", "lower", "higher") if saving >= 0.0 else (EXTRA, "higher", "lower")

    def of(name: str, flow: CashFlow, share: float = 1.0, case: Case = case) -> Scenario:
        return scenario(name, share * saving, measures_of(case, flow, share * saving))

    found = [
        of("As worked out", flow_of(comparison, option)),
        of(f"{what} {share:.0f} % {down}", flow_of(comparison, option, saved=less), 1 + bad),
        of(f"Capital {share:.0f} % higher", flow_of(comparison, option, capital=extra)),
    ]
    if reserve > 0:
        found.append(of("Contingency spent in full", flow_of(comparison, option, reserve=reserve)))
    if any(escalation(case).values()):
        level = with_finance(case, **{f"escalation_{k}": 0.0 for k in ("electricity", "gas", "other")})
        found.append(of("Prices stay level", flow_of(comparison, option, case=level), case=level))
    for key, words, changes in (
        ("replacements", "No replacements counted", {"replacements": ()}),
        ("residual", "Nothing left at the end", {"life": None}),
        ("incentive", "No incentive", {"incentive": 0.0}),
    ):
        if np.any(streams[key] != 0.0):
            found.append(of(words, flow_of(comparison, option, changes=changes)))
    worse = flow_of(comparison, option, saved=less, capital=extra)
    better = flow_of(comparison, option, saved=more, capital=-extra)
    found.append(of(f"{what} {share:.0f} % {down} and capital {share:.0f} % higher", worse, 1 + bad))
    found.append(of(f"{what} {share:.0f} % {up} and capital {share:.0f} % lower", better, 1 - bad))
    if (half := _at_half(comparison, option)) is not None:
        found.append(half)
    if (unmetered := by_model_alone(comparison, option)) is not None:
        found.append(unmetered)
    usual = found[0]
    return [usual, *(s for s in found[1:] if abs(s.npv - usual.npv) + abs(s.saving - usual.saving) > 0.005)]


PAYBACKS = {"simple": "capital_over_saving", "payback": "payback", "discounted": "discounted_payback"}
"""Paybacks of a scenario, and what the measures call them."""


def scenario(name: str, saving: float, m: Measures) -> Scenario:
    return Scenario(
        name=name,
        saving=saving,
        npv=m.npv,
        simple=m.capital_over_saving,
        payback=m.payback,
        discounted=m.discounted_payback,
        at_once=frozenset(own for own, name in PAYBACKS.items() if name in m.at_once),
    )


def by_model_alone(comparison: Comparison, option: OptionResult) -> Scenario | None:
    """The present dryers as the model has them, without what only their meter shows; None where they are not metered."""
    if BEYOND_MODEL not in comparison.baseline.heat_out:
        return None
    plain = {"metered_over_model": 1.0}
    options = tuple(
        o.model_copy(update={**plain, "machines": tuple(m.model_copy(update=plain) for m in o.machines)})
        for o in comparison.case.model.options
    )
    case = comparison.case
    made = compare(replace(case, model=case.model.model_copy(update={"options": options})))
    m = made.option(option.name).measures
    assert m is not None
    return scenario(MODEL_ALONE, made.baseline.total_cost - made.option(option.name).total_cost, m)


def npv_of(comparison: Comparison, flow: CashFlow) -> float:
    return measures_of(comparison.case, flow).npv


@dataclass(frozen=True, slots=True, kw_only=True)
class BreakEvens:
    """Where the net present value is zero, everything else left alone; NaN where no change brings it there."""

    capital: float
    """Of the option. [money]"""
    savings: float
    """All yearly savings over those worked out. [-]"""
    extra: float
    """Running cost on top of the present over that worked out, where there is no saving. [-]"""
    energy: float
    """Saving of energy and water over that worked out. [-]"""


def break_evens(comparison: Comparison, option: OptionResult) -> BreakEvens:
    """The net present value is linear in each of them."""
    assert option.measures is not None
    npv, step = option.measures.npv, 1000.0
    per_capital = (npv - npv_of(comparison, flow_of(comparison, option, capital=step))) / step

    def factor(keys: tuple[str, ...], sign: float = 1.0) -> float:
        saved = npv - npv_of(comparison, flow_of(comparison, option, saved=dict.fromkeys(keys, 0.0)))
        return 1.0 - npv / saved if sign * saved > 0 else np.nan

    return BreakEvens(
        capital=option.capital + npv / per_capital,
        savings=factor(SAVINGS),
        extra=factor(SAVINGS, -1.0),
        energy=factor(ENERGY),
    )


def npv_at(comparison: Comparison, option: OptionResult, scale: Array) -> Array:
    """Net present value where all hoppers run at another throughput in the machines that were bought.

    The rest of the plant's load stays, and so does what a ratchet costs in the first year.

    Parameters
    ----------
    comparison : Comparison
    option : OptionResult
    scale : ndarray, shape (n,)
        Throughput over that of the case, at most 1. [-]

    Returns
    -------
    ndarray, shape (n,)
        [money]

    Raises
    ------
    ModelError, OutOfRangeError
        The model has no answer at one of them.
    """
    case, flow = comparison.case, _at_throughput(comparison, option, scale)[0]
    return finance.npv(case.model.finance.rate, flow.flows, timing=case.model.finance.timing, at_year_end=flow.one_time)


def _at_throughput(comparison: Comparison, option: OptionResult, scale: Array) -> tuple[CashFlow, Array]:
    """The cash flow and the saving of a year at other throughputs; as `npv_at`."""
    case, base = comparison.case, comparison.baseline
    duties = duties_of(case, scale[:, None, None])

    def cost(o: OptionResult) -> RunningCost:
        return running_cost(
            case, o.option.maintenance, year_of(case, o.option, machines_of(case, o.option, duties)), base.year
        )

    mine, theirs = cost(option), cost(base)
    flow = against_baseline(case, option.option, mine, base.option, theirs, _late(option))
    return flow, np.asarray(theirs.total - mine.total)


def _at_half(comparison: Comparison, option: OptionResult) -> Scenario | None:
    """All hoppers at half the throughput in the machines that were bought; None where the model has no answer."""
    try:
        flow, saving = _at_throughput(comparison, option, np.array([0.5]))
    except (ModelError, OutOfRangeError):
        return None
    years = comparison.case.model.finance.years + 1
    streams = {k: np.broadcast_to(v, (1, years))[0] for k, v in flow.streams.items()}
    half = float(np.ravel(saving)[0])
    m = measures_of(comparison.case, CashFlow(streams=streams), half)
    return scenario(HALF, half, m)


def least_throughput(comparison: Comparison, option: OptionResult, cells: int = 16) -> float:
    """Throughput over the case's at which the net present value falls to zero.

    Returns
    -------
    float
        0 where it stays above zero down to `LEAST`; NaN where it is not above zero now or the model has no answer on
        the way. [-]
    """
    assert option.measures is not None
    if not option.measures.npv > 0.0:
        return np.nan
    low, high = LEAST, 1.0
    for _ in range(2):  # the cell with the highest crossing is cut once more
        scale = np.linspace(low, high, cells + 1)
        try:
            worth = npv_at(comparison, option, scale)
        except (ModelError, OutOfRangeError):
            return np.nan
        crossing = np.flatnonzero(worth <= 0.0)
        if not crossing.size:
            return 0.0
        i = int(crossing[-1])
        low, high = float(scale[i]), float(scale[i + 1])
    return float(low - (high - low) * worth[i] / (worth[i + 1] - worth[i]))
