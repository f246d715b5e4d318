"""What moves the worth of an option: scenarios, break-evens and swings about its net present value."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace

import numpy as np

from energy import finance
from energy.dryers.base import BEYOND_MODEL, Array
from energy.errors import ModelError, OutOfRangeError
from energy.finance import CashFlow
from energy.reports.print_signs import pretty
from energy.reports.simulation import place_in_words
from energy.study.case import Case
from energy.study.compare import Comparison, OptionResult, compare, year_of
from energy.study.cost import RunningCost, running_cost
from energy.study.duty import duties_of
from energy.study.life_cycle import against_baseline, escalation, measures_of
from energy.study.life_cycle_measures import Measures
from energy.study.machines import machines_of
from energy.study.option_sections import CapitalLine, Option, Part
from energy.study.paths import walk, written
from energy.study.spread import uncertain_inputs
from energy.study.uncertainty import Uncertain, outcomes
from energy.units import SI

TEST = 0.20
"""Common test of a forecast where no range is known. [-]"""
ENERGY = ("electricity", "gas", "water")
SAVINGS = (*ENERGY, "maintenance")
END = 1e-12
"""Probability of the end of an even range. [-]"""
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


@dataclass(frozen=True, slots=True, kw_only=True)
class Swing:
    """Net present value with an input low and high. [money]"""

    label: str
    low: float
    high: float


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
    less, more = (dict.fromkeys(SAVINGS, 1.0 + sign * TEST) for sign in (-1, 1))
    saving = comparison.baseline.total_cost - option.total_cost

    def of(name: str, flow: CashFlow, share: float = 1.0, case: Case = case) -> Scenario:
        return scenario(name, share * saving, measures_of(case, flow, share * saving))

    found = [
        of("As worked out", flow_of(comparison, option)),
        of(f"Savings {share:.0f} % lower", flow_of(comparison, option, saved=less), 1 - TEST),
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
    found.append(of(f"Savings {share:.0f} % lower and capital {share:.0f} % higher", worse, 1 - TEST))
    found.append(of(f"Savings {share:.0f} % higher and capital {share:.0f} % lower", better, 1 + TEST))
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
    energy: float
    """Saving of energy and water over that worked out. [-]"""


def break_evens(comparison: Comparison, option: OptionResult) -> BreakEvens:
    """The net present value is linear in each of them."""
    assert option.measures is not None
    npv, step = option.measures.npv, 1000.0
    per_capital = (npv - npv_of(comparison, flow_of(comparison, option, capital=step))) / step

    def factor(keys: tuple[str, ...]) -> float:
        saved = npv - npv_of(comparison, flow_of(comparison, option, saved=dict.fromkeys(keys, 0.0)))
        return 1.0 - npv / saved if saved > 0 else np.nan

    return BreakEvens(capital=option.capital + npv / per_capital, savings=factor(SAVINGS), energy=factor(ENERGY))


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
    names = {"capital": "Capital", "electricity": "Electricity saved", "gas": "Gas saved", "water": "Cooling saved"}
    names |= {"maintenance": "Maintenance saved", "replacements": "Replacements spared"}
    for key, words in names.items():
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
            found.append(Swing(label=f"{words}, {share}", low=low, high=high))
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
