"""What moves the worth of an option: scenarios, break-evens and swings about its net present value."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass

import numpy as np

from energy import finance
from energy.dryers.base import Array
from energy.errors import EnergyError
from energy.study.case import Case, build
from energy.study.compare import Comparison, OptionResult, compare
from energy.study.cost import escalation
from energy.study.paths import walk, written
from energy.units import Quantity

TEST = 0.20
"""Common test of a forecast where no range is known. [-]"""
SAVINGS = ("electricity", "gas", "water", "maintenance", "ratchet")
MOST = 16
"""Inputs varied at most, each by two runs of the engine."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Scenario:
    name: str
    saving: float
    """Of year 1. [money]"""
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


def scenario(name: str, rate: float, streams: Mapping[str, Array]) -> Scenario:
    """The measures of a changed cash flow; payback without residual value, as in the comparison."""
    flows = np.asarray(sum(streams.values()))
    returned = flows - streams["residual"]
    lumps = streams["replacements"]
    return Scenario(
        name=name,
        saving=float(sum(streams[key][1] for key in SAVINGS if key in streams)),
        npv=float(finance.npv(rate, flows)),
        payback=float(finance.simple_payback(returned, at_year_end=lumps)),
        discounted=float(finance.discounted_payback(rate, returned, at_year_end=lumps)),
    )


def _scaled(streams: Mapping[str, Array], saving: float = 1.0, capital: float = 0.0) -> dict[str, Array]:
    """Savings multiplied; capital changed by an amount in year 0."""
    found = {key: value * (saving if key in SAVINGS else 1.0) for key, value in streams.items()}
    found["capital"] = found["capital"].copy()
    found["capital"][0] -= capital
    return found


def scenarios(comparison: Comparison, option: OptionResult) -> list[Scenario]:
    """As worked out; each doubt by itself; all doubts together and the opposite."""
    case, measures = comparison.case, option.measures
    assert measures is not None
    rate, streams, share = case.model.finance.rate, measures.streams, 100 * TEST
    capital, reserve = option.capital, float(case.model.request.contingency) * option.capital

    def of(name: str, changed: Mapping[str, Array]) -> Scenario:
        return scenario(name, rate, changed)

    found = [of("As worked out", streams)]
    found.append(of(f"Savings {share:.0f} % lower", _scaled(streams, 1 - TEST)))
    found.append(of(f"Capital {share:.0f} % higher", _scaled(streams, capital=TEST * capital)))
    if reserve > 0:
        found.append(of("Contingency spent in full", _scaled(streams, capital=reserve)))
    rises = {key: rise for key, rise in escalation(case).items() if rise != 0.0}
    if rises:
        year = np.arange(streams["capital"].size)
        level = {k: v / (1.0 + rises[k]) ** year if k in rises else v for k, v in streams.items()}
        found.append(of("Prices stay level", level))
    for key, words in (
        ("replacements", "No replacements counted"),
        ("residual", "Nothing left at the end"),
        ("incentive", "No incentive"),
    ):
        if np.any(streams[key] != 0.0):
            found.append(of(words, {**streams, key: 0.0 * streams[key]}))
    worse = _scaled(streams, 1 - TEST, TEST * capital)
    better = _scaled(streams, 1 + TEST, -TEST * capital)
    found.append(of(f"Savings {share:.0f} % lower and capital {share:.0f} % higher", worse))
    found.append(of(f"Savings {share:.0f} % higher and capital {share:.0f} % lower", better))
    return found


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
    """Closed forms, since the net present value is linear in each of them."""
    measures, given = option.measures, comparison.case.model.finance
    assert measures is not None
    present = {key: float(finance.npv(given.rate, flow)) for key, flow in measures.streams.items()}
    life = option.option.life
    left = 0.0 if life is None else float(finance.residual_value(1.0, life, given.years))
    per_capital = 1.0 - left * (1.0 + given.rate) ** -given.years

    def factor(keys: tuple[str, ...]) -> float:
        saved = sum(present.get(key, 0.0) for key in keys)
        return 1.0 - measures.npv / saved if saved > 0 else np.nan

    return BreakEvens(
        capital=option.capital + measures.npv / per_capital,
        savings=factor(SAVINGS),
        energy=factor(("electricity", "gas", "water", "ratchet")),
    )


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
    rate, streams, share = case.model.finance.rate, measures.streams, f"±{100 * TEST:.0f} %"
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
        worth = float(finance.npv(rate, streams[key]))
        if key == "capital":
            worth += float(finance.npv(rate, streams["residual"]))
        if abs(worth) * TEST > 0.5 and not (key == "maintenance" and "maintenance" in known):
            low, high = (measures.npv + sign * TEST * worth for sign in (-1, 1))
            found.append(Swing(label=f"{words}, {share}", low=low, high=high))
    rates = [float(finance.npv(rate + step, measures.cash_flow)) for step in (-0.02, 0.02)]
    found.append(Swing(label="Discount rate, ±2 points", low=rates[0], high=rates[1]))
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
