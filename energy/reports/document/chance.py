"""What a simulation says of an option, where one was run."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from energy.errors import EnergyError
from energy.reports import simulation as told
from energy.reports.document.records import Block, Bullets, Chart, Curve, Lines, Paragraph, Table
from energy.reports.document.words import amount, one_place, percent
from energy.reports.print_signs import pretty
from energy.study.break_even import break_even_values
from energy.study.compare import Comparison, OptionResult
from energy.study.simulate import OptionChances, Simulation, dries_in, of_hundred

MOST = 8
"""Rows of a table at most."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Odds:
    """The part of a simulation that is about one option."""

    simulation: Simulation
    option: OptionChances

    def draws(self, share: float) -> str:
        """Such as "8 of 100 simulated cases"."""
        return f"{of_hundred(share)} simulated cases"

    def payback(self) -> str:
        """Chance of the payback that the case accepts; nothing where it names none."""
        share, longest = self.option.payback_accepted, self.simulation.case.model.finance.maximum_payback
        return "" if share is None or longest is None else f"within {_years(longest)} in {self.draws(share)}"

    def dries(self) -> str:
        return f"It {dries_in(self.option)}."

    def sentences(self) -> Iterator[str]:
        o, simulation, currency = self.option, self.simulation, self.simulation.case.currency
        worth = o.net_savings
        if worth.p10 is not None and worth.p50 is not None and worth.p90 is not None:
            low, middle, high = (amount(float(f"{x:.3g}")) for x in (worth.p10, worth.p50, worth.p90))
            yield (
                f"In {simulation.draws:,} draws of {len(simulation.inputs)} uncertain inputs together the net present value lies "
                f"between {low} and {high} {currency} in eight of ten; half of the draws lie above {middle}."
            )
        yield f"It is above zero in {self.draws(o.npv_positive)}; in {self.draws(o.never_share)} the money never comes back."
        within = [
            f"{years} years in {self.draws(share)}"
            for years, share in o.payback_within.items()
            if 0.005 < share < 0.995
        ]
        if within:
            yield f"The money is back within {', '.join(within)}."
        yield (
            f"{self.dries()} In {self.draws(o.cheapest)} it has the lowest life-cycle cost of the options that dry. Money is "
            "counted in every draw, also in those in which it does not dry."
        )
        if o.answered_share < 1.0:
            yield f"The model had an answer in {percent(o.answered_share)} of the draws; only those are counted."

    def blocks(self) -> Iterator[Block]:
        """Chances in words, the spread of the cash, what turns the choice and what to measure before it."""
        simulation, name = self.simulation, self.option.name
        currency = simulation.case.currency
        yield Bullets(items=tuple(self.sentences()))
        cash = simulation.cumulative_cash(name)
        if np.isfinite(cash["p50"]).all():
            year = tuple(range(cash["p50"].size))
            low, middle, high = (tuple(float(x) for x in cash[key]) for key in ("p10", "p50", "p90"))
            yield Chart(
                title="Cash added up, spread of the draws",
                alt=f"Cumulative cash over {year[-1]} years, undiscounted, residual value in the last: at the end half of the draws "
                f"lie above {amount(middle[-1])}, eight of ten between {amount(low[-1])} and {amount(high[-1])} {currency}.",
                drawing=Lines(
                    curves=(Curve(name="half of the draws above", x=year, y=middle, marker="o"),),
                    x_axis="year",
                    y_axis=currency,
                    band=("eight of ten draws", year, low, high),
                ),
            )
        if simulation.recommended == name:
            by_name = {entry.name: entry for entry in simulation.inputs}
            turns = break_even_values(simulation.case, name, simulation.inputs, simulation.candidates)
            rows = [
                (_name(simulation, t.label, t.input, t.of), pretty(told.shown_value(simulation, t.now, by_name[t.input])),
                 pretty(told.shown_value(simulation, t.value, by_name[t.input])), t.instead or "none dries")
                for t in turns[:MOST]
            ]  # fmt: skip
            yield Table(
                title="Where one input alone, within its range, turns the choice",
                head=("Input", "Now", "Turns at", "Then best of those that dry"),
                rows=tuple(rows),
                align="lrrl",
                weights=(2.6, 1.2, 1.2, 2.2),
                note=f"{len(turns) - MOST} more inputs, not shown, turn it too." if len(turns) > MOST else "",
            )
        trial = told.doubt_of_drying(simulation) if simulation.recommended == name else ""
        if trial:
            yield Paragraph(text=trial)
        readings = told.telling(simulation)[:MOST]
        if not readings:
            yield Paragraph(text="No reading before the decision would change it or narrow the result.")
        yield Table(
            title="What to measure or ask before the decision",
            head=("Reading", "How", f"Worth of knowing {currency}", "Spread falls by"),
            rows=tuple(
                (_name(simulation, r.label, r.input), r.how, amount(r.worth), one_place(r.spread_cut)) for r in readings
            ),
            align="llrr",
            weights=(2, 3.6, 1, 0.9),
            note=" ".join(filter(None, [told.worth_of_readings(simulation), _WORTH])),
        )


_WORTH = (
    "Worth: what choosing after the reading is expected to bring over choosing now; spread: standard deviation of the net "
    "present value."
)


def _name(simulation: Simulation, label: str, path: str, of: str = "") -> str:
    """An input with the option, dryer or hopper it belongs to, and the option whose value is told."""
    place = told.place_in_words(path, simulation.case.model) + (f", in {of}" if of else "")
    own = "['" in path or path.startswith("typical ")
    return label if label.endswith(place) or not own else f"{label} ({place})"


def _years(seconds: float) -> str:
    from energy.study.life_cycle import YEAR

    number = f"{seconds / YEAR:.3g}"
    return f"{number} year" if number == "1" else f"{number} years"


def drawn(simulation: Simulation | None) -> str:
    """The part of a document's mark that tells which chances it holds."""
    return "no simulation" if simulation is None else f"{simulation.draws:,} draws, seed {simulation.seed}"


def of(simulation: Simulation | None, comparison: Comparison, option: OptionResult | None) -> Odds | None:
    """The part of a simulation that is about an option; None without one.

    Raises
    ------
    EnergyError
        The simulation is of another case.
    """
    if simulation is None or option is None:
        return None
    if simulation.case.document != comparison.case.document:
        raise EnergyError("the simulation is of another case than the comparison; simulate and compare the same case")
    return Odds(simulation=simulation, option=simulation.option(option.name))
