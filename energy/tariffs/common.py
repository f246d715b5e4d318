"""What every charge shares: its keys, the lines it makes, and what it may ask of a load."""

from __future__ import annotations

import datetime
import re
from collections.abc import Sequence
from dataclasses import dataclass, field
from functools import lru_cache
from itertools import pairwise
from typing import Annotated, Any, ClassVar, Literal, NamedTuple, Self, TypeAlias

import numpy as np
from pydantic import AfterValidator, BaseModel, ConfigDict, Field, model_validator

from energy.errors import EnergyError, UnitError
from energy.tariffs.calendar import PriceCalendar
from energy.tariffs.load import Array, Load
from energy.units import Quantity, from_unit, show

Amount: TypeAlias = Any
"""Money: a float, an array of the draws of the load, or a Decimal on a rounded bill."""
Text = Annotated[str, Field(min_length=1)]
OneLine = Annotated[str, Field(min_length=1, pattern=r"^[^\x00-\x1f\x7f]*[^\x00-\x20\x7f][^\x00-\x1f\x7f]*$")]
"""What stands in a line of a bill."""
Month = Annotated[int, Field(ge=1, le=12)]
Group: TypeAlias = Literal["fixed", "energy", "demand", "volume", "adjustment", "tax"]
RECORD = ConfigDict(frozen=True, extra="forbid")
MONEY = "money"
"""Unit of a line whose quantity is an amount of money; the bill puts its currency there."""

EnergyPrice = Annotated[float, Quantity("price per energy", label="Price", shown="money/kWh")]
PowerPrice = Annotated[float, Quantity("price per power", label="Price", shown="money/kW/month")]


class Line(NamedTuple):
    """One line of a bill. Quantity and rate are counted in `unit`; amount = quantity x rate."""

    month: int
    """1 to 12."""
    line: str
    """Label of the charge."""
    clause: str
    """Where the tariff says so."""
    quantity: float | Array
    unit: str
    rate: float
    amount: Amount
    """[money]"""
    charge: str
    """Id of the charge."""


class Row(NamedTuple):
    """The lines of a charge that share label, unit and rate. Quantities and amounts are told month by month."""

    line: str
    clause: str
    charge: str
    unit: str
    rate: float
    months: Sequence[int]
    """1 to 12, in the order of the lines."""
    quantity: Sequence[Any]
    """Of each of these months."""
    amount: Sequence[Amount]
    """Of each of these months. [money]"""
    interleaved: bool = False
    """On the bill all rows of the charge stand together month by month, as blocks do."""

    def lines(self) -> list[Line]:
        """Its lines, a month each."""
        told = zip(self.months, self.quantity, self.amount, strict=True)
        return [Line(m, self.line, self.clause, q, self.unit, self.rate, a, self.charge) for m, q, a in told]


class Common(BaseModel):
    """The keys that every charge has."""

    model_config = RECORD
    GROUP: ClassVar[Group]
    """What a saving on the charge comes from."""

    id: Annotated[str, Field(min_length=1, pattern=r"^[A-Za-z0-9][A-Za-z0-9_-]*$")]
    """Name by which other charges refer to this one."""
    label: OneLine
    """What the bill calls it."""
    clause: OneLine
    """Clause of the tariff it stands in."""
    source: Text
    """Document and date it was taken from; "invented" for an example."""
    months: tuple[Month, ...] = ()
    """Months in which it is charged, 1 to 12; empty for all."""
    valid_from: datetime.date | None = None
    """First day it holds; a month that it holds in part is charged by its days."""
    valid_to: datetime.date | None = None
    """Last day it holds."""

    @model_validator(mode="after")
    def _dates(self) -> Self:
        if self.valid_from and self.valid_to and self.valid_to < self.valid_from:
            raise ValueError(f"valid_to, {self.valid_to}, lies before valid_from, {self.valid_from}")
        return self


class Determinant(NamedTuple):
    """A demand as later charges count on it, shape (..., 12). [W or VA]"""

    billed: Array
    measured: Array


@dataclass(slots=True, kw_only=True)
class Billing:
    """What a charge may look at besides the load."""

    calendar: PriceCalendar
    load: Load
    """As it is billed: losses added, gas both as volume and as energy."""
    earlier: Load | None
    """The twelve months before."""
    rows: list[Row] = field(default_factory=list)
    """Of the charges before."""
    demands: dict[str, Determinant] = field(default_factory=dict)
    """Billed demands by id of the charge."""

    @property
    def days(self) -> Array:
        """Days of each month."""
        return month_days(self.load.year)


@lru_cache(maxsize=64)
def month_days(year: int | None) -> Array:
    """Days of each month; without a year, of one of 365 days."""
    first = [datetime.date(year or 2025, month, 1).toordinal() for month in range(1, 13)]
    return np.diff([*first, datetime.date((year or 2025) + 1, 1, 1).toordinal()]).astype(float)


def needed(charge: Common, quantity: Array | None, name: str) -> Array:
    """A quantity of the load, or the error that names the charge which counts it."""
    if quantity is None:
        raise EnergyError(f"charge '{charge.id}' ({charge.label}) needs the {name}, which this load does not have")
    return quantity


def share_of_time(charge: Common, billing: Billing, load: Load, cells: Sequence[int]) -> Array:
    """Share of each month's clock hours in some cells, shape (12,); for loads known by month only."""
    time = billing.calendar.time(load.year or 2025)
    share = time[:, list(cells)].sum(-1) / time.sum(-1)
    if ((share > 0) & (share < 1)).any():
        if load.spread is None:
            raise EnergyError(
                f"charge '{charge.id}' ({charge.label}) needs the load by time of use, but this one is known by month "
                "only; give operating periods or interval readings, or let it be spread over the hours of the clock"
            )
        if load.year is None:
            raise EnergyError(f"charge '{charge.id}' ({charge.label}) needs the year of the load, to spread it")
    return share


def in_cells(
    charge: Common, billing: Billing, load: Load, kind: Literal["energy", "peak"], cells: Sequence[int]
) -> Array:
    """Energy, or highest power, in some price cells of each month, shape (..., 12)."""
    by_cell, whole = (load.cell_energy, load.energy) if kind == "energy" else (load.cell_peak, load.peak)
    known = billing.calendar.cells
    if by_cell is not None:
        if load.cells != known:
            raise EnergyError(
                f"the load is known in the price cells {', '.join(load.cells)}, "
                f"but the tariff has {', '.join(known)}; cross it with this tariff's calendar"
            )
        if len(cells) == 1 != len(known):
            return by_cell[..., cells[0]]
        if len(cells) != len(known):
            how = np.add if kind == "energy" else np.maximum
            return np.asarray(how.reduce(by_cell.take(cells, axis=-1), axis=-1))
    whole = needed(charge, whole, _NAMES[kind])
    if len(cells) == len(known):
        return whole
    share = share_of_time(charge, billing, load, cells)
    return np.where(share > 0, whole * (share if kind == "energy" else 1.0), 0.0)


_NAMES = {"energy": "energy", "peak": "monthly peak power"}


def occurring(billing: Billing, cells: Sequence[int]) -> list[int]:
    """Months, from 0, in which some price cells occur."""
    return billing.calendar.months_of(tuple(cells), billing.load.year or 2025)


def priced(
    charge: Common,
    quantity: Array,
    price: float,
    kind: str,
    usual: str,
    *,
    name: str = "",
    months: Sequence[int] = range(12),
) -> Row:
    """A row counted in the unit the price is written in, so that it can be laid beside the printed bill."""
    unit, factor = unit_of(getattr(price, "text", ""), kind, usual)
    return monthly(charge, quantity / factor, unit, price * factor, name=name, months=months)


@lru_cache(maxsize=1024)
def unit_of(text: str, kind: str, usual: str) -> tuple[str, float]:
    """Unit below the stroke in the text of a price, and its size in SI; else the usual unit."""
    written = re.sub(r"\s*(?:/|\bper\b)\s*(?:month|year)$", "", text)
    written = re.split(r"/|\bper\b", written, maxsplit=1)[-1].strip()
    try:
        return written, from_unit(1.0, kind, written)
    except UnitError:  # no text, or a multiple such as "1000 gal" that only a price may have
        return usual, from_unit(1.0, kind, usual)


ALL_YEAR = range(1, 13)


def monthly(
    charge: Common,
    quantity: Array,
    unit: str,
    rate: float,
    *,
    name: str = "",
    months: Sequence[int] = range(12),
) -> Row:
    """A row of quantities of shape (..., 12) in some months, from 0."""
    told: Sequence[int] = ALL_YEAR
    if quantity.ndim == 1:
        by_month: Sequence[Any] = quantity.tolist()
        if len(months) < len(ALL_YEAR):
            told, by_month = [month + 1 for month in months], [by_month[month] for month in months]
        return row_of(charge, told, by_month, unit, float(rate), name)
    first = quantity.transpose(-1, *range(quantity.ndim - 1))
    if len(months) < len(ALL_YEAR):
        told, first = [month + 1 for month in months], first[list(months)]
    label = f"{charge.label}: {name}" if name else charge.label
    return Row(label, charge.clause, charge.id, unit, float(rate), told, list(first), list(first * float(rate)))


def row_of(
    charge: Common, months: Sequence[int], quantity: Sequence[Any], unit: str, rate: float, name: str = ""
) -> Row:
    """A row of a charge in some months, 1 to 12; `name` says which of its prices."""
    label = f"{charge.label}: {name}" if name else charge.label
    return Row(label, charge.clause, charge.id, unit, rate, months, quantity, [value * rate for value in quantity])


def text_of(price: float, kind: str) -> str:
    """A price as it was written, or in the unit it is shown in."""
    return getattr(price, "text", "") or show(float(price), kind, "si")


def check_limits(limits: Sequence[float | None]) -> None:
    """Refuse blocks out of order.

    Raises
    ------
    ValueError
        A block without limit that is not the last, a last one with a limit, or limits that do not rise.
    """
    if any(limit is None for limit in limits[:-1]) or (limits and limits[-1] is not None):
        raise ValueError("every block but the last needs up_to, and the last must have none")
    whole = [float(limit) for limit in limits[:-1] if limit is not None]
    for number, (low, high) in enumerate(zip([0.0, *whole], whole, strict=False), start=1):
        if high <= low:
            raise ValueError(f"up_to of block {number} does not lie above the one before it; blocks must rise")


def _rising(blocks: tuple[Any, ...]) -> tuple[Any, ...]:
    check_limits([block.up_to for block in blocks])
    return blocks


RISING = (Field(min_length=1), AfterValidator(_rising))
"""What the blocks of a charge must be: cumulative limits that rise, and a last one without."""

Per: TypeAlias = Literal["month", "30 days", "day"]
"""What the limits of blocks hold for; "30 days" prorates them by the days of the month."""


def limits_in(blocks: Sequence[Any], per: Per, days: Array) -> list[Array]:
    """Limits of all blocks but the last in each month, shape (12,)."""
    scale = {"month": np.ones(12), "30 days": days / 30.0, "day": days}[per]
    return [(block.up_to or 0.0) * scale for block in blocks[:-1]]


def in_blocks(quantity: Array, limits: Sequence[Array | float]) -> list[Array]:
    """What of a quantity lies in each block.

    Parameters
    ----------
    quantity : ndarray, shape (..., 12)
    limits : sequence of array_like
        Upper limits of all blocks but the last, cumulative.

    Returns
    -------
    list of ndarray
        One for each block; they add up to the quantity.
    """
    below = [np.zeros_like(quantity), *(np.minimum(quantity, limit) for limit in limits), quantity]
    return [high - low for low, high in pairwise(below)]
