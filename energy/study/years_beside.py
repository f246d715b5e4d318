"""The years of options beside each other, as though each were a draw of one option: one bill for all of them, and what it says of each."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from typing import Any, TypeVar, overload

import numpy as np

from energy.dryers.base import Array
from energy.study.cost import RunningCost
from energy.study.year import Year
from energy.tariffs import Saving
from energy.tariffs.saving import SavingLine

Key = TypeVar("Key")


def beside(years: Sequence[Year], by_clock: bool) -> Year:
    """Years as one, each at a place of the first axis; of what an option does not have it takes nothing.

    States and the heat that goes in are left out: no bill asks for them. Of the energy in each state only one by the clock does.
    """
    return Year(
        energy=_tables([year.energy for year in years]),
        peak=_tables([year.peak for year in years]),
        energy_in=_tables([year.energy_in for year in years]) if by_clock else {},
        peak_in=_tables([year.peak_in for year in years]),
        heat_in={},
        # In one order whichever options there are, so that their sums are the same to the last digit.
        heat_out=dict(sorted(_tables([year.heat_out for year in years]).items())),
        states={},
        resin=np.array([year.resin for year in years]),
        free_air=np.array([year.free_air for year in years]),
        least=np.array([year.least for year in years]),
        water=np.array([year.water for year in years]),
        hall_air=_tables([year.hall_air for year in years]),
    )


def _tables(tables: Sequence[Mapping[Key, Array]]) -> dict[Key, Array]:
    nothing = np.zeros(12)
    keys = list(dict.fromkeys(key for table in tables for key in table))
    if not keys:
        return {}
    months = np.concatenate([table.get(key, nothing) for key in keys for table in tables])
    return dict(zip(keys, months.reshape(len(keys), len(tables), 12), strict=True))


def costs_of(cost: RunningCost, uses: Sequence[Iterable[str]]) -> list[RunningCost]:
    """The cost of each option.

    Parameters
    ----------
    cost : RunningCost
        Of options beside each other.
    uses : sequence of iterable of str
        Of each option the end uses that go through its meters, in the order of its own year.
    """
    annual, by_use = ({k: v.tolist() for k, v in table.items()} for table in (cost.annual, cost.by_end_use))
    lines = [(line, clause, amounts.tolist()) for line, clause, amounts in cost.lines]
    found = []
    for place, own in enumerate(uses):
        listed = [*own, *(use for use, amounts in by_use.items() if amounts[place] != 0.0), "maintenance"]
        found.append(
            RunningCost(
                annual={name: amounts[place] for name, amounts in annual.items()},
                by_end_use={use: by_use[use][place] for use in dict.fromkeys(listed)},
                lines=tuple((line, clause, amounts[place]) for line, clause, amounts in lines if amounts[place] != 0.0),
            )
        )
    return found


def savings_of(saving: Saving, count: int) -> list[Saving]:
    """The saving of each of so many options, of that of the options beside each other."""
    possible, estimate = _each(saving.demand_possible, count), _each(saving.average_estimate, count)
    sums = {name: _each(getattr(saving, name), count) for name in ("before", "first_year", "steady")}
    found = []
    for place in range(count):
        own = Saving(
            currency=saving.currency,
            lines=_Lines(saving.lines, place),
            demand_possible=possible[place],
            average_estimate=estimate[place],
        )
        # The sums are known, so that no lines are made for them.
        vars(own).update({name: amounts[place] for name, amounts in sums.items()})
        found.append(own)
    return found


def _each(amount: Any, count: int) -> list[float]:
    """An amount of each option; one that all have is that of each."""
    return amount.tolist() if isinstance(amount, np.ndarray) and amount.ndim else [float(amount)] * count


class _Lines(Sequence[SavingLine]):
    """The lines of one option, of those of the options beside each other: made when they are read, since of few options they are."""

    def __init__(self, lines: Sequence[SavingLine], place: int) -> None:
        self._lines, self._place = lines, place

    def __len__(self) -> int:
        return len(self._lines)

    @overload
    def __getitem__(self, at: int) -> SavingLine: ...

    @overload
    def __getitem__(self, at: slice) -> Sequence[SavingLine]: ...

    def __getitem__(self, at: int | slice) -> SavingLine | Sequence[SavingLine]:
        if isinstance(at, slice):
            return [self[i] for i in range(len(self))[at]]
        line = self._lines[at]
        own = (
            float(x[self._place] if np.ndim(x) else x)
            for x in (line.first_year, line.steady, line.before, line.quantity)
        )
        first_year, steady, before, quantity = own
        return line._replace(first_year=first_year, steady=steady, before=before, quantity=quantity)
