"""The years of options beside each other, as though each were a draw of one option: one bill for all of them, and what it says of each."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace
from typing import Any, TypeVar

import numpy as np

from energy.dryers.base import Array
from energy.study.cost import RunningCost
from energy.study.year import Year
from energy.tariffs import Saving

Key = TypeVar("Key")


def beside(years: Sequence[Year]) -> Year:
    """Years as one, each at a place of the first axis; of what an option does not have it takes nothing. States are left out."""
    return Year(
        energy=_tables([year.energy for year in years]),
        peak=_tables([year.peak for year in years]),
        energy_in=_tables([year.energy_in for year in years]),
        peak_in=_tables([year.peak_in for year in years]),
        heat_in=_tables([year.heat_in for year in years]),
        heat_out=_tables([year.heat_out for year in years]),
        states={},
        resin=np.array([year.resin for year in years]),
        free_air=np.array([year.free_air for year in years]),
        least=np.array([year.least for year in years]),
        water=np.array([year.water for year in years]),
        hall_air=_tables([year.hall_air for year in years]),
    )


def _tables(tables: Sequence[Mapping[Key, Array]]) -> dict[Key, Array]:
    nothing = np.zeros(12)
    keys = dict.fromkeys(key for table in tables for key in table)
    return {key: np.array([table.get(key, nothing) for table in tables]) for key in keys}


def cost_of(cost: RunningCost, place: int, uses: Iterable[str]) -> RunningCost:
    """The cost of the option at one place.

    Parameters
    ----------
    cost : RunningCost
        Of options beside each other.
    place : int
    uses : iterable of str
        End uses that go through its meters, in the order of its own year.
    """
    by_use = {use: amount[place] for use, amount in cost.by_end_use.items()}
    own = [*dict.fromkeys(uses), *(use for use, amount in by_use.items() if amount != 0.0), "maintenance"]
    lines = ((line, clause, amount[place]) for line, clause, amount in cost.lines)
    return RunningCost(
        annual={name: amount[place] for name, amount in cost.annual.items()},
        by_end_use={use: by_use[use] for use in dict.fromkeys(own)},
        lines=tuple(line for line in lines if line[2] != 0.0),
    )


def saving_of(saving: Saving, place: int) -> Saving:
    """The saving of the option at one place."""

    def own(amount: Any) -> Any:
        return amount[place] if np.ndim(amount) else amount

    return replace(
        saving,
        lines=tuple(
            line._replace(
                first_year=own(line.first_year),
                steady=own(line.steady),
                before=own(line.before),
                quantity=own(line.quantity),
            )
            for line in saving.lines
        ),
        demand_possible=own(saving.demand_possible),
        average_estimate=own(saving.average_estimate),
    )
