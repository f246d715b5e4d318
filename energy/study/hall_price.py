"""What the heating and cooling of the hall that the dryers change is worth on the bills of the plant."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import pairwise

import numpy as np

from energy.dryers.base import Array
from energy.study import meter
from energy.study.bills import Bills
from energy.study.case import Case
from energy.study.year import Year
from energy.tariffs import Load, Tariff


def of_hall(bills: Bills, year: Year) -> Iterator[tuple[str, str, Array]]:
    """Name of the yearly cost, line of the bill and amount of what an option changes in the hall. [money]

    The amount is what the bill changes by on top of what the meter sees with the option's dryers. Where the whole plant is
    known, its gas or electricity holds what the present dryers change in the hall, so that is taken off first. Where it is
    not, the hall's stands on top of the dryers' own.
    """
    case = bills.case
    effect, present = bills.hall_effect(year), bills.hall_effect(bills.present)
    if effect is None or present is None:
        return
    for name, tariff, carriers in meter.meters(case):
        changes, there = effect.changes(name), present.taken(name)
        if tariff is None or not any(np.any(energy) for energy in (there, *(energy for _, energy in changes))):
            continue
        load, bill = bills.of(name, tariff, carriers, year)
        if meter.has_plant(case, tariff.commodity):
            bare = bills.load_without(name, tariff, carriers, year), bills.without(name, tariff, carriers, year)
            amounts = _in_turn(case, tariff, load, [-there, *(energy for _, energy in changes)])
            # Without any dryers the hall takes what it takes without theirs.
            amounts[-1] = amounts[-1] + amounts[0] - (_total(case, tariff, bare[0], -there) - bare[1].total)
            del amounts[0]
        else:
            amounts = [_on_top(case, tariff, load, np.asarray(bill.total), energy) for _, energy in changes]
        factor = meter.price_factor(case, name)
        for (line, _), amount in zip(changes, amounts, strict=True):
            if np.any(amount):
                yield name, line, np.asarray(amount * factor)


def _in_turn(case: Case, tariff: Tariff, load: Load, changes: list[Array]) -> list[Array]:
    """What each change adds to the bill after those before it."""
    sums = [np.zeros(12), *(np.asarray(sum(changes[: i + 1])) for i in range(len(changes)))]
    totals = [_total(case, tariff, load, energy) for energy in sums]
    return [after - before for before, after in pairwise(totals)]


def _on_top(case: Case, tariff: Tariff, load: Load, without: Array, energy: Array) -> Array:
    """What energy adds to the bill of a load; less of it takes off what it would add."""
    more, less = (
        _total(case, tariff, load, part) - without if np.any(part) else 0.0 * without
        for part in (np.maximum(energy, 0.0), np.maximum(-energy, 0.0))
    )
    return np.asarray(more - less)


def _total(case: Case, tariff: Tariff, load: Load, energy: Array) -> Array:
    return np.asarray(meter.billed(tariff, meter.with_more(case, tariff, load, energy)).total)
