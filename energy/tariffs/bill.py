"""A tariff applied to a load: the bill, line by line."""

from __future__ import annotations

import datetime
import itertools
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from decimal import ROUND_HALF_UP, Decimal
from functools import cached_property
from typing import Any, Literal, TypeAlias, TypeVar

import numpy as np

from energy.errors import EnergyError, OutOfRangeError, UnknownNameError
from energy.tariffs.common import MONEY, Amount, Billing, Common, Line, Row, month_days
from energy.tariffs.load import Array, Load
from energy.tariffs.tariff import Tariff
from energy.units.currencies import decimals

History: TypeAlias = Load | Array | Sequence[float] | Literal["steady"] | None
"""The twelve months before: their load, their twelve peaks in W, or the same load again."""
RowKey: TypeAlias = tuple[str, str, str]
"""Label, clause and charge of a row."""
Key = TypeVar("Key")


@dataclass(frozen=True, kw_only=True)
class Bill:
    """A year's bill of one meter."""

    tariff: str
    commodity: str
    currency: str
    rows: tuple[Row, ...]
    """The lines by label and rate: a year's bill in a few rows."""

    @property
    def lines(self) -> tuple[Line, ...]:
        """Its lines, charge by charge and month by month."""
        found: list[Line] = []
        for (_, interleaved), rows in itertools.groupby(self.rows, key=lambda row: (row.charge, row.interleaved)):
            own = [line for row in rows for line in row.lines()]
            found += sorted(own, key=lambda line: line.month) if interleaved else own
        return tuple(found)

    @cached_property
    def total(self) -> Amount:
        """Sum of the lines. [money]"""
        return _sum([amount for row in self.rows for amount in row.amount])

    def by_label(self) -> dict[str, Amount]:
        """Sum of the lines of each label, in the order of the bill. [money]"""
        return self._by(lambda row: row.line)

    def by_charge(self) -> dict[str, Amount]:
        """Sum of the lines of each charge, by its id. [money]"""
        return self._by(lambda row: row.charge)

    def by_line(self) -> Mapping[RowKey, Amount]:
        """Amount of the year by label, clause and charge, in the order of the bill. [money]"""
        return self._by_line

    @cached_property
    def _by_line(self) -> Mapping[RowKey, Amount]:
        return self._by(lambda row: row[:3])

    def _by(self, key: Callable[[Row], Key]) -> dict[Key, Amount]:
        amounts: dict[Key, list[Amount]] = {}
        for row in self.rows:
            amounts.setdefault(key(row), []).extend(row.amount)
        return {name: _sum(listed) for name, listed in amounts.items()}

    def of_month(self, month: int) -> Bill:
        """The lines of one month, 1 to 12."""
        return replace(self, rows=tuple(_only(row, [month]) for row in self.rows if month in row.months))


def _sum(amounts: Sequence[Amount]) -> Amount:
    start = Decimal("0.00") if amounts and isinstance(amounts[0], Decimal) else 0.0
    return sum(amounts, start=start)


def bill(tariff: Tariff, load: Load, history: History = None, *, rounded: bool = False) -> Bill:
    """Apply every charge of a tariff, in its order, to a load.

    Parameters
    ----------
    tariff : Tariff
        The tariff.
    load : Load
        Monthly quantities, draws on leading axes. [J], [W], [m3]
    history : Load, array_like of shape (..., 12), or "steady", optional
        The twelve months before, which a ratchet looks back on; as an array their peaks [W]. "steady" takes the
        load itself: the year repeats itself.
    rounded : bool
        Round every line half up to cents (whole yen, by the currency) and count taxes on rounded lines, as a printed bill does; amounts are
        then Decimal.

    Returns
    -------
    Bill
        Its amounts have the leading axes of the load. [money]

    Raises
    ------
    EnergyError
        A charge counts a quantity which the load does not have, a ratchet misses its history, or draws are to be
        rounded.

    Notes
    -----
    What a saving is worth is the difference of two bills, never an average price.
    """
    metered = _metered(tariff, load)
    billing = Billing(calendar=tariff.price_calendar, load=metered, earlier=_earlier(tariff, metered, history))
    for charge in tariff.charges:
        made: list[Row] = charge.rows(billing.load, billing)
        if charge.months or charge.valid_from or charge.valid_to:
            made = _in_force(charge, made, load.year)
        for row in made:
            if row.unit == MONEY:
                row = row._replace(unit=tariff.currency)
            if row.months:
                billing.rows.append(_rounded(row, tariff.currency) if rounded else row)
    rows = billing.rows
    if rounded:
        rows = [row._replace(amount=[_cents(amount, tariff.currency) for amount in row.amount]) for row in rows]
    return Bill(tariff=tariff.name, commodity=tariff.commodity, currency=tariff.currency, rows=tuple(rows))


def _metered(tariff: Tariff, load: Load) -> Load:
    """The load as it is billed: losses added; of gas both volume and energy, where the meter's factors are known."""
    changes: dict[str, Any] = {}
    if tariff.gas is not None:
        content = float(tariff.gas.heating_value) * float(tariff.gas.volume_factor)
        if load.energy is None and load.volume is not None:
            changes["energy"] = load.volume * content
        elif load.volume is None and load.energy is not None:
            changes["volume"] = load.energy / content
    if tariff.losses is not None:
        added = dict.fromkeys(("energy", "cell_energy", "daily_peak", "reactive_energy"), tariff.losses.energy)
        added |= dict.fromkeys(("peak", "cell_peak", "apparent_peak"), tariff.losses.demand)
        for name, share in added.items():
            if getattr(load, name) is not None:
                changes[name] = getattr(load, name) * (1.0 + float(share))
    return replace(load, **changes) if changes else load


def _earlier(tariff: Tariff, metered: Load, history: History) -> Load | None:
    if history is None:
        return None
    if isinstance(history, str):
        if history != "steady":
            raise UnknownNameError(f"'{history}' is not a history; give a Load, twelve peaks, or \"steady\"")
        return metered
    if isinstance(history, Load):
        return _metered(tariff, history)
    peaks = Load(peak=np.asarray(history, dtype=float), power_factor=metered.power_factor, spread=metered.spread)
    return _metered(tariff, replace(peaks, year=metered.year))


def _in_force(charge: Common, rows: Sequence[Row], year: int | None) -> list[Row]:
    """Rows in the months in which a charge holds, by the days it holds in them."""
    share = np.ones(12)
    if charge.valid_from or charge.valid_to:
        if year is None:
            raise EnergyError(
                f"charge '{charge.id}' ({charge.label}) holds between dates and needs the year of the load"
            )
        edges = datetime.date(year, 1, 1).toordinal() + np.append(0, np.cumsum(month_days(year)))
        first = charge.valid_from.toordinal() if charge.valid_from else edges[0]
        last = charge.valid_to.toordinal() + 1 if charge.valid_to else edges[-1]
        share = np.maximum(np.minimum(edges[1:], last) - np.maximum(edges[:-1], first), 0.0) / np.diff(edges)
    parts = {m: float(part) for m, part in enumerate(share, start=1) if part and m in (charge.months or range(1, 13))}
    kept = (_only(row, [month for month in row.months if month in parts]) for row in rows)
    return [
        row._replace(
            quantity=[q * parts[m] for m, q in zip(row.months, row.quantity, strict=True)],
            amount=[a * parts[m] for m, a in zip(row.months, row.amount, strict=True)],
        )
        for row in kept
    ]


def _only(row: Row, months: Sequence[int]) -> Row:
    """A row in some of its months."""
    at = [row.months.index(month) for month in months]
    return row._replace(months=months, quantity=[row.quantity[i] for i in at], amount=[row.amount[i] for i in at])


def _cents(amount: Amount, currency: str) -> Decimal:
    """Half up to cents, or what the currency has for them; nine decimals first, so that 2.675 stored as 2.67499999999999982 is still a half."""
    return Decimal(f"{float(amount):.9f}").quantize(Decimal(1).scaleb(-decimals(currency)), ROUND_HALF_UP)


def _rounded(row: Row, currency: str) -> Row:
    for amount in row.amount:
        if np.ndim(amount):
            raise EnergyError(f"'{row.line}' is known as draws; only a bill of single numbers can be rounded")
        if not abs(amount) < 1e15:
            message = (
                f"'{row.line}' comes to {amount:.3g}, which no bill does; check the prices of the tariff and the load"
            )
            raise OutOfRangeError(message)
    return row._replace(amount=[float(_cents(amount, currency)) for amount in row.amount])
