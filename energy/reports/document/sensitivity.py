"""Section on what moves the worth: ranges one at a time, break-evens, scenarios, chance."""

from __future__ import annotations

import math
from collections.abc import Iterator

import numpy as np

from energy.reports.document import chance, swings, worth
from energy.reports.document.own_scenarios import NOTE, own_scenarios
from energy.reports.document.proposal import Proposal
from energy.reports.document.records import Block, Bullets, Chart, Paragraph, Swings, Table
from energy.reports.document.words import amount, percent
from energy.reports.paid_back import paid_back
from energy.study.compare import OptionResult


def sensitivity(p: Proposal, option: OptionResult, odds: chance.Odds | None) -> Iterator[Block]:
    m = option.measures
    assert m is not None
    found, left_out = swings.swings(p.comparison, option)
    shown = found[:12]
    yield Chart(
        title="What moves the net present value, one input at a time",
        alt="Tornado chart. "
        + "; ".join(f"{s.label}: {amount(s.low)} to {amount(s.high)} {p.currency}" for s in shown)
        + ".",
        drawing=Swings(
            labels=tuple(s.label for s in shown),
            low=tuple(s.low for s in shown),
            high=tuple(s.high for s in shown),
            middle=m.npv,
            axis=f"Net present value, {p.currency}",
        ),
    )
    yield Paragraph(
        text="Ranges in words are those of the case, each run through the whole model with everything else held; ±20 % and ±2 points "
        "are common tests, not known ranges." + (f" Not varied: {'; '.join(left_out)}." if left_out else ""),
        style="note",
    )
    yield Paragraph(text="Break-evens", style="heading")
    yield Bullets(items=tuple(_break_evens(p, option)))
    scenarios, own = worth.scenarios(p.comparison, option), own_scenarios(p, option)
    # A retrofit follows the load as the present dryers do, since it is of them.
    grows = not option.option.retrofit and any(
        s.name == worth.HALF and s.saving > max(scenarios[0].saving, 0.0) for s in scenarios
    )
    yield Table(
        title="Scenarios",
        head=(
            "If",
            f"Saving a year {p.currency}",
            f"Net present value {p.currency}",
            "Capital over saving, years",
            "Simple payback years",
            "Discounted payback years",
        ),
        rows=(
            _row(scenarios[0].name, scenarios[0]),
            *(_row(s.title, s.result) for s in own),
            *(_row(s.name, s) for s in scenarios[1:]),
        ),
        weights=(2.6, 1, 1, 1, 1.15, 1.15),
        strong=(0,),
        note=(f"{NOTE} The others are common tests. " if own else "")
        + "Each line moves what it names and leaves the rest. At half the throughput energy, water and their bills move; capital stays as quoted, "
        "and upkeep and overhauls stay, because the dryers are those for full throughput"
        + ("; the saving grows, since the present dryers follow the load less." if grows else ".")
        + " A dearer machine leaves more at the end of the study "
        "and, after tax, has more deducted.",
    )
    yield Paragraph(text="Chance", style="heading")
    if odds is None:
        yield Paragraph(
            text="Without a simulation as it stands here: the ranges above are taken one at a time and say nothing of how likely they are."
        )
    else:
        yield from odds.blocks()


def _row(name: str, s: worth.Scenario | None) -> tuple[str, ...]:
    """A line of the table; dashes where there is no answer."""
    if s is None:
        return (name, *["–"] * 5)
    years = (paid_back(s, name) for name in worth.PAYBACKS)
    return (name, amount(s.saving), amount(s.npv), *years)


def _break_evens(p: Proposal, option: OptionResult) -> Iterator[str]:
    even = worth.break_evens(p.comparison, option)
    if option.capital:
        gap = even.capital / option.capital - 1.0
        side = "above" if gap >= 0 else "below"
        yield f"The net present value is zero at a capital of {p.money(even.capital)}, {percent(abs(gap))} {side} the estimate."
    else:
        yield "No extra capital is needed."
    if even.savings < 1.0:
        yield f"All yearly savings may fall to {percent(max(even.savings, 0.0))} of those worked out before it is zero."
    elif math.isfinite(even.savings):
        yield f"All yearly savings would have to be {even.savings:.2f} times those worked out to bring it to zero."
    elif even.extra >= 1.0:
        yield f"The extra running cost may rise to {percent(even.extra)} of that worked out before it is zero."
    elif even.extra >= 0.0:
        yield f"The extra running cost would have to fall to {percent(even.extra)} of that worked out to bring it to zero."
    if math.isfinite(even.energy):
        yield (
            "The saving on energy and water alone could vanish without bringing it below zero."
            if even.energy <= 0
            else f"For energy and water alone that point lies at {percent(even.energy)} of the saving worked out."
        )
    least = worth.least_throughput(p.comparison, option)
    if math.isfinite(least):
        half = float(worth.npv_at(p.comparison, option, np.array([0.5]))[0])
        point = (
            f"stays above zero down to {percent(worth.LEAST)} of the throughput"
            if least == 0.0
            else f"is zero at {percent(least)} of the throughput"
        )
        yield (
            f"If all hoppers run slower in the machines as they are built, present and new, the net present value {point}; "
            f"at half the throughput it is {p.money(half)}."
        )
