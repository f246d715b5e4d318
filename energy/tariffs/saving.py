"""What a change of load saves on a tariff, line by line: two bills of the same months, never an average price."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import Any, Literal, NamedTuple

import numpy as np
from numpy.typing import ArrayLike

from energy.errors import EnergyError
from energy.tariffs.bill import Bill, History, RowKey, bill
from energy.tariffs.charges import Charge
from energy.tariffs.charges_demand import ReactiveDemand, bills_apparent, reactive_excess
from energy.tariffs.common import Row
from energy.tariffs.determinants import DemandKeys, raised_demand
from energy.tariffs.load import Array, Load, power_factor
from energy.tariffs.tariff import Tariff
from energy.units.kinds import REACTIVE, TABLES, Scale

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
    before: Any
    """What the line is before the change. [money/year]"""
    quantity: Any
    """What its quantity falls by, summed over its months, in `unit`."""
    unit: str
    """As on the bill; the currency for a share of other lines."""
    rates: tuple[float, ...]
    """Its different rates in the year."""
    months: int
    """In how many it is billed."""


@dataclass(frozen=True, kw_only=True)
class Saving:
    """What a change of load saves in a year; amounts are floats, or arrays of draws."""

    currency: str
    lines: Sequence[SavingLine]
    demand_possible: Array | float
    """What the demand lines would save if the fall of power counted in full at their rates. [money/year]"""
    average_estimate: Array | float
    """Bill before over energy before, times the energy saved. [money/year]"""

    @cached_property
    def before(self) -> Any:
        """Bill before the change. [money/year]"""
        return sum(line.before for line in self.lines)

    @cached_property
    def first_year(self) -> Any:
        """Saving of the first year. [money/year]"""
        return sum(line.first_year for line in self.lines)

    @cached_property
    def steady(self) -> Any:
        """Saving of every later year. [money/year]"""
        return sum(line.steady for line in self.lines)

    def of_group(self, group: str, which: Literal["first_year", "steady"] = "steady") -> Any:
        """Saving on the charges of one group. [money/year]"""
        return sum(getattr(line, which) for line in self.lines if line.group == group)

    def demand_realised(self, which: Literal["first_year", "steady"] = "steady") -> Any:
        """Share of the possible demand saving that the bill gives back; NaN where nothing is possible. [-]"""
        return _ratio(self.of_group("demand", which), self.demand_possible)

    @cached_property
    def average_wrong_way(self) -> Any:
        """Whether the average price would have the bill rise where it falls, or fall where it rises."""
        return self.average_estimate * self.steady < 0.0

    @cached_property
    def average_error(self) -> Any:
        """Average-price estimate over the steady saving, less 1; NaN where nothing is saved or the two go opposite ways. [-]"""
        ratio = _ratio(self.average_estimate, self.steady)
        if isinstance(ratio, float):
            return np.nan if self.average_wrong_way else ratio - 1.0
        return np.where(self.average_wrong_way, np.nan, ratio - 1.0)

    @cached_property
    def average_misleads(self) -> Any:
        """Whether that error is above `AVERAGE_TOLERANCE`, or not even the sign is right."""
        return self.average_wrong_way | (np.abs(self.average_error) > AVERAGE_TOLERANCE)


def saving(
    tariff: Tariff,
    before: Load,
    after: Load,
    history_before: History = "steady",
    *,
    power_saved: ArrayLike | None = None,
    steady: tuple[Bill, Bill] | None = None,
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
    steady : tuple of two Bill, optional
        The bills of both loads in a year that repeats itself, where they are known.

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
    known = steady or tuple(bill(tariff, load, "steady") for load in (before, after))
    now, then = known
    first = now, then
    if tariff.looks_back:
        first = now if earlier is before else bill(tariff, before, earlier), bill(tariff, after, earlier)
    by_line = now.by_line(), then.by_line()
    by_line_first = first[0].by_line(), first[1].by_line()
    quantities = _quantities(now), _quantities(then)
    described = _described((*now.rows, *then.rows))
    groups: dict[str, str] = {charge.id: charge.GROUP for charge in tariff.charges}
    keys = dict.fromkeys(key for listed in (*by_line, *by_line_first) for key in listed)

    def fallen(pair: tuple[Mapping[RowKey, Any], Mapping[RowKey, Any]], key: RowKey) -> Any:
        return pair[0].get(key, 0.0) - pair[1].get(key, 0.0)

    lines = []
    for key in keys:
        steady_fall = fallen(by_line, key)
        lines.append(
            SavingLine(
                *key,
                group=groups[key[2]],
                first_year=fallen(by_line_first, key) if tariff.looks_back else steady_fall,
                steady=steady_fall,
                before=by_line[0].get(key, 0.0),
                quantity=fallen(quantities, key),
                **described.get(key, {"unit": "", "rates": (), "months": 0}),
            )
        )
    fall: Any = np.zeros(12)
    if power_saved is not None:
        fall = np.asarray(power_saved, dtype=float)
    elif before.peak is not None and after.peak is not None:
        fall = before.peak - after.peak
    estimate: Any = 0.0
    if before.energy is not None and after.energy is not None:
        saved = (before.energy - after.energy).sum(-1)
        estimate = _ratio(now.total, before.energy.sum(-1)) * saved
    return Saving(
        currency=tariff.currency,
        lines=tuple(lines),
        demand_possible=_possible(tariff, before, now, np.broadcast_to(fall, (*np.shape(fall)[:-1], 12))),
        average_estimate=estimate,
    )


def _quantities(made: Bill) -> dict[RowKey, Any]:
    """Quantity of the year of each line."""
    added: dict[RowKey, Any] = {}
    for row in made.rows:
        added[row[:3]] = sum(row.quantity, start=added.get(row[:3], 0.0))
    return added


def _described(rows: Sequence[Row]) -> dict[RowKey, dict[str, Any]]:
    """Unit, different rates and number of months of each line."""
    found: dict[RowKey, list[Row]] = {}
    for row in rows:
        found.setdefault(row[:3], []).append(row)
    return {
        key: {
            "unit": listed[0].unit,
            "rates": tuple(dict.fromkeys(row.rate for row in listed)),
            "months": len({month for row in listed for month in row.months}),
        }
        for key, listed in found.items()
    }


def _possible(tariff: Tariff, load: Load, made: Bill, fall: Array) -> Any:
    """Fall of power at the rate of each demand line, of blocks the last one reached, month by month; counted as the charge bills it."""
    counted = {charge.id: _as_billed(charge, load, fall) for charge in tariff.charges if charge.GROUP == "demand"}
    rates: dict[tuple[str, str, int], float] = {}
    for row in made.rows:
        if row.charge in counted and row.unit in _POWERS:
            rate, name = row.rate / _POWERS[row.unit].factor, row.line.partition(": block ")[0]
            rates |= {(row.charge, name, month): rate for month in row.months}
    return sum((rate * counted[charge][..., month - 1] for (charge, _, month), rate in rates.items()), start=0.0)


def _as_billed(charge: Charge, load: Load, fall: Array) -> Array:
    """A fall of power in what a demand charge counts: kVA, kvar above the free share, or kW raised for a low power factor."""
    factor = power_factor(load)
    if factor is None:  # no charge asks for it
        return fall
    if isinstance(charge, ReactiveDemand):
        return np.sign(fall) * reactive_excess(np.abs(fall), np.abs(fall) / factor, float(charge.free_share))
    if not isinstance(charge, DemandKeys):
        return fall
    if bills_apparent(charge):
        return fall / factor
    return fall if charge.power_factor is None else raised_demand(fall, factor, charge.power_factor)


_POWERS = TABLES["demand"] | {unit: Scale(factor) for unit, factor in REACTIVE.items()}


def _ratio(part: Any, whole: Any) -> Any:
    if isinstance(part, float) and isinstance(whole, float):
        return float(part / whole) if whole else np.nan
    part, whole = np.broadcast_arrays(np.asarray(part, dtype=float), np.asarray(whole, dtype=float))
    found = np.divide(part, whole, out=np.full(part.shape, np.nan), where=whole != 0.0)
    return float(found) if found.ndim == 0 else found
