"""What a little more energy costs on a tariff, hour by hour of the clock."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import Any

import numpy as np

from energy.errors import EnergyError
from energy.tariffs.bill import bill
from energy.tariffs.load import Array, Load
from energy.tariffs.tariff import Tariff


def marginal_energy_price(tariff: Tariff, load: Load) -> Array:
    """What the bill rises by when a little more energy is taken in a price cell and the peaks stay.

    Parameters
    ----------
    tariff : Tariff
    load : Load
        Without draws; energy that is known by month only is spread over the hours of the clock. The year is taken to
        repeat itself.

    Returns
    -------
    ndarray, shape (12, cells)
        Riders, blocks and taxes included; NaN where a cell does not occur. [money/J]

    Raises
    ------
    EnergyError
        A load without energy, or one that this tariff cannot bill.

    Notes
    -----
    The bill is a straight line between the ends of its blocks, so the step of 1 kWh only has to be small.
    """
    step, calendar = 3.6e6, tariff.price_calendar
    if load.energy is None or load.year is None:
        raise EnergyError("a price of energy by hour needs a load with energy and a year")
    time = calendar.time(load.year)
    by_cell = load.cell_energy
    if by_cell is None:
        by_cell = load.energy[:, None] * time / time.sum(-1, keepdims=True)
    base = replace(load, cells=calendar.cells, cell_energy=by_cell)
    more = by_cell + step * np.eye(len(calendar.cells))[:, None, :]
    before = _by_month(bill(tariff, base, "steady").lines, ())
    after = bill(tariff, replace(base, cell_energy=more, energy=more.sum(-1)), "steady")
    rise = _by_month(after.lines, more.shape[:1]) - before[:, None]
    return np.where(time > 0, rise / step, np.nan)


def _by_month(lines: Sequence[Any], draws: tuple[int, ...]) -> Array:
    """Sum of the lines of each month, shape (12, draws)."""
    sums = np.zeros((12, *draws))
    for line in lines:
        sums[line.month - 1] += line.amount
    return sums
