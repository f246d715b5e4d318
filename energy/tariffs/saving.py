"""What a change of load saves on a tariff, line by line: two bills of the same months, never an average price."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, Literal, NamedTuple

import numpy as np
from numpy.typing import ArrayLike

from energy.errors import EnergyError
from energy.tariffs.bill import Bill, History, bill
from energy.tariffs.load import Array, Load
from energy.tariffs.tariff import Tariff
from energy.units.kinds import TABLES

AVERAGE_TOLERANCE = 0.10
"""Error of the average-price estimate from which it is worth a word. [-]"""


class SavingLine(NamedTuple):
    """What one line of the bill falls by over a year. [money/year]"""

    line: str
    clause: str
    charge: str
    group: str
    """fixed, energy, demand, volume, adjustment or tax."""
    first_year: Any
    """Float, or array of draws; ratchets still stand at the peaks before the change."""
    steady: Any


@dataclass(frozen=True, slots=True, kw_only=True)
class Saving:
    """What a change of load saves in a year; amounts are floats, or arrays of draws."""

    currency: str
    lines: tuple[SavingLine, ...]
    demand_possible: Array | float
    """What the demand lines would save if the fall of power counted in full at their rates. [money/year]"""
    average_estimate: Array | float
    """Bill before over energy before, times the energy saved. [money/year]"""

    @property
    def first_year(self) -> Any:
        """Saving of the first year. [money/year]"""
        return sum(line.first_year for line in self.lines)

    @property
    def steady(self) -> Any:
        """Saving of every later year. [money/year]"""
        return sum(line.steady for line in self.lines)

    def of_group(self, group: str, which: Literal["first_year", "steady"] = "steady") -> Any:
        """Saving on the charges of one group. [money/year]"""
        return sum(getattr(line, which) for line in self.lines if line.group == group)

    def demand_realised(self, which: Literal["first_year", "steady"] = "steady") -> Any:
        """Share of the possible demand saving that the bill gives back; NaN where nothing is possible. [-]"""
        return _ratio(self.of_group("demand", which), self.demand_possible)

    @property
    def average_error(self) -> Any:
        """Average-price estimate over the steady saving, less 1; NaN where nothing is saved. [-]"""
        return _ratio(self.average_estimate, self.steady) - 1.0

    @property
    def average_misleads(self) -> Any:
        """Whether that error is above `AVERAGE_TOLERANCE`."""
        return np.abs(self.average_error) > AVERAGE_TOLERANCE


def saving(
    tariff: Tariff,
    before: Load,
    after: Load,
    history_before: History = "steady",
    *,
    power_saved: ArrayLike | None = None,
) -> Saving:
    """The fall of a bill from one load to another.

    Parameters
    ----------
    tariff : Tariff
    before, after : Load
        The same months without and with the change.
    history_before : Load, array_like or "steady"
        The twelve months before the change; by default like `before`.
    power_saved : array_like, shape (..., 12), optional
        Fall of the power of what was changed, whenever it happens; the fall of the month's peak by default. [W]

    Returns
    -------
    Saving
        First year, with ratchets that still remember the peaks before, and every later year.

    Raises
    ------
    EnergyError
        As `bill`.
    """
    earlier: History = before if isinstance(history_before, str) and history_before == "steady" else history_before
    if earlier is None:
        raise EnergyError('a saving needs the twelve months before the change; give them, or "steady"')
    bills = {
        "first before": bill(tariff, before, earlier),
        "first after": bill(tariff, after, earlier),
        "steady before": bill(tariff, before, "steady"),
        "steady after": bill(tariff, after, "steady"),
    }
    amounts = {name: _by_line(made) for name, made in bills.items()}
    groups: dict[str, str] = {charge.id: charge.GROUP for charge in tariff.charges}
    keys = dict.fromkeys(key for listed in amounts.values() for key in listed)
    lines = tuple(
        SavingLine(
            *key,
            group=groups[key[2]],
            first_year=amounts["first before"].get(key, 0.0) - amounts["first after"].get(key, 0.0),
            steady=amounts["steady before"].get(key, 0.0) - amounts["steady after"].get(key, 0.0),
        )
        for key in keys
    )
    fall: Any = np.zeros(12)
    if power_saved is not None:
        fall = np.asarray(power_saved, dtype=float)
    elif before.peak is not None and after.peak is not None:
        fall = before.peak - after.peak
    estimate: Any = 0.0
    if before.energy is not None and after.energy is not None:
        saved = (before.energy - after.energy).sum(-1)
        estimate = _ratio(bills["steady before"].total, before.energy.sum(-1)) * saved
    return Saving(
        currency=tariff.currency,
        lines=lines,
        demand_possible=_possible(bills["steady before"], groups, np.broadcast_to(fall, (*np.shape(fall)[:-1], 12))),
        average_estimate=estimate,
    )


def _by_line(made: Bill) -> dict[tuple[str, str, str], Any]:
    added: dict[tuple[str, str, str], Any] = {}
    for line in made.lines:
        key = (line.line, line.clause, line.charge)
        added[key] = added.get(key, 0.0) + line.amount
    return added


def _possible(made: Bill, groups: dict[str, str], fall: Array) -> Any:
    """Fall of power at the rate of each demand line, of blocks the last one reached, month by month."""
    rates: dict[tuple[str, str, int | None], float] = {}
    for line in made.lines:
        if groups[line.charge] == "demand" and line.unit in _POWERS:
            rates[line.charge, line.line.partition(": block ")[0], line.month] = line.rate / _POWERS[line.unit].factor
    return sum((rate * fall[..., month - 1] for (_, _, month), rate in rates.items() if month is not None), start=0.0)


_POWERS = TABLES["demand"]


def _ratio(part: Any, whole: Any) -> Any:
    part, whole = np.broadcast_arrays(np.asarray(part, dtype=float), np.asarray(whole, dtype=float))
    found = np.divide(part, whole, out=np.full(part.shape, np.nan), where=whole != 0.0)
    return float(found) if found.ndim == 0 else found
