"""What moves the worth of an option: scenarios, break-evens and swings about its net present value."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace

import numpy as np

from energy.dryers.base import Array
from energy.errors import EnergyError
from energy.finance import CashFlow
from energy.study.case import Case, build
from energy.study.compare import Comparison, OptionResult, compare
from energy.study.cost import RunningCost, against_baseline, escalation, measures_of
from energy.study.distributions import Distribution
from energy.study.paths import walk, written
from energy.study.schema import CapitalLine, Option
from energy.study.uncertainty import Uncertain, outcomes
from energy.units import SI, Quantity

TEST = 0.20
"""Common test of a forecast where no range is known. [-]"""
ENERGY = ("electricity", "gas", "water")
SAVINGS = (*ENERGY, "maintenance")
MOST = 16
"""Inputs varied at most, each by two runs of the engine."""
LEAST = 0.1
"""Throughput below which no break-even is looked for, over that of the case. [-]"""


@dataclass(frozen=True, slots=True, kw_only=True)
class Scenario:
    name: str
    saving: float
    """Of a year at prices of year 0. [money]"""
    npv: float
    payback: float
    """Simple; NaN where there is none. [year]"""
    discounted: float


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
        On top of the option's. [money]
    changes : mapping, optional
        Fields of the option and of the baseline that take other values.
    case : Case, optional
        With other money terms.
    """
    base, saved = comparison.baseline, saved or {}
    cost = {k: np.asarray(v - saved.get(k, 1.0) * (v - option.annual_cost[k])) for k, v in base.annual_cost.items()}
    late = {k: np.asarray(saved.get(k, 1.0) * (s.first_year - s.steady)) for k, s in option.savings.items()}
    mine: Option = option.option.model_copy(update=dict(changes or {}))
    if capital:
        mine = mine.model_copy(
            update={"capital": (*mine.capital, CapitalLine.model_construct(item="Change", amount=SI(capital)))}
        )
    return against_baseline(
        case or comparison.case,
        mine,
        RunningCost(annual=cost, by_end_use={}, lines=()),
        base.option.model_copy(update=dict(changes or {})),
        RunningCost(annual={k: np.asarray(v) for k, v in base.annual_cost.items()}, by_end_use={}, lines=()),
        late,
    )


def with_finance(case: Case, **changes: float) -> Case:
    """The case with other terms of money."""
    return replace(case, model=case.model.model_copy(update={"finance": case.model.finance.model_copy(update=changes)}))


def scenarios(comparison: Comparison, option: OptionResult) -> list[Scenario]:
    """As worked out; each doubt by itself; all doubts together and the opposite."""
    case, share, streams = comparison.case, 100 * TEST, flow_of(comparison, option).streams
    extra, reserve = TEST * option.capital, float(case.model.request.contingency) * option.capital
    less, more = (dict.fromkeys(SAVINGS, 1.0 + sign * TEST) for sign in (-1, 1))
    saving = comparison.baseline.total_cost - option.total_cost

    def of(name: str, flow: CashFlow, share: float = 1.0, case: Case = case) -> Scenario:
        m = measures_of(case, flow)
        return Scenario(
            name=name, saving=share * saving, npv=m.npv, payback=m.simple_payback, discounted=m.discounted_payback
        )

    found = [
        of("As worked out", flow_of(comparison, option)),
        of(f"Savings {share:.0f} % lower", flow_of(comparison, option, saved=less), 1 - TEST),
        of(f"Capital {share:.0f} % higher", flow_of(comparison, option, capital=extra)),
    ]
    if reserve > 0:
        found.append(of("Contingency spent in full", flow_of(comparison, option, capital=reserve)))
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
    return found


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

    Parameters
    ----------
    comparison : Comparison
    option : OptionResult
    scale : ndarray, shape (n,)
        Throughput over that of the case, above `LEAST` and at most 1. [-]

    Returns
    -------
    ndarray, shape (n,)
        [money]; NaN where the model has no answer.
    """
    places = {}
    for hopper in comparison.case.model.hoppers:
        flow = float(hopper.throughput)
        spread = Distribution(shape="uniform", low=LEAST * flow, value=flow, high=flow)
        places[f"hoppers['{hopper.name}'].throughput"] = spread
    falling = Uncertain(name="throughput", label="Throughput", kind="mass flow", basis="assumption", places=places)
    below = (scale - LEAST) / (1.0 - LEAST)  # the lower half of the distribution is even from LEAST to 1
    return outcomes(comparison.case, [falling], 0.5 * below[:, None], [option.name]).npv[option.name]


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
    low, high = LEAST + 1e-6, 1.0
    for _ in range(2):  # the cell with the highest crossing is cut once more
        scale = np.linspace(low, high, cells + 1)
        worth = npv_at(comparison, option, scale)
        crossing = np.flatnonzero(~(worth > 0.0))
        if not crossing.size:
            return 0.0
        i = int(crossing[-1])
        if np.isnan(worth[i]):
            return np.nan
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
    found, left_out = [], []
    ranged = list(_ranged(case, option, comparison.baseline))
    pair = _pair(case, option, comparison.baseline)
    known = set()
    for path, quantity, raw in ranged[:MOST]:
        ends = []
        try:
            for key in ("low", "high"):
                changed = compare(pair.with_({path: raw[key]})).option(option.name).measures
                assert changed is not None
                ends.append(changed.npv)
        except EnergyError as error:
            left_out.append(
                f"{_words(path, quantity)}: cannot be varied by itself ({str(error).splitlines()[0].rpartition(': ')[2]})"
            )
            continue
        if max(abs(end - measures.npv) for end in ends) > 0.5:
            found.append(
                Swing(label=f"{_words(path, quantity)}, {raw['low']} to {raw['high']}", low=ends[0], high=ends[1])
            )
            known.add(path.rpartition(".")[2])
    left_out += [f"{_words(path, quantity)}: more than {MOST} ranges" for path, quantity, _ in ranged[MOST:]]
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


def _pair(case: Case, option: OptionResult, base: OptionResult) -> Case:
    """The case with the two options that are compared."""
    document = dict(case.document)
    document["options"] = [raw for raw in document["options"] if raw["name"] in (option.name, base.name)]
    document.pop("request", None)
    return build(document, folder=case.folder, file=case.file)


def _ranged(case: Case, option: OptionResult, base: OptionResult) -> Iterator[tuple[str, Quantity, Mapping[str, str]]]:
    ours = tuple(f"options['{o.name}']." for o in (option, base))
    for path, quantity, _ in walk(case.model):
        raw = written(case.document, path)
        if not isinstance(raw, Mapping) or "low" not in raw or "high" not in raw:
            continue
        if path.startswith("options[") and not path.startswith(ours):
            continue
        if path.startswith("compressed_air") and not option.carrier("compressed air") + base.carrier("compressed air"):
            continue
        yield path, quantity, raw


def _words(path: str, quantity: Quantity) -> str:
    """A quantity with the hopper or option it belongs to."""
    owner = path.partition("['")[2].partition("']")[0]
    return f"{owner}: {(quantity.label or path).lower()}" if owner else quantity.label or path
