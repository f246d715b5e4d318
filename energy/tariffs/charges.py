"""The charges a tariff is made of: each a frozen record with a tag that turns a load into lines of a bill.

A new charge is one more class here and one more name in `Charge`. It must name its clause on every line, and
be zero for a load of zero unless it is fixed.
"""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from functools import lru_cache
from typing import Annotated, Literal, NamedTuple, TypeAlias, get_args

import numpy as np
from pydantic import BaseModel, ConfigDict, Field

from energy.errors import EnergyError, UnitError
from energy.tariffs.load import Array, Load
from energy.units import Quantity, from_unit

Amount: TypeAlias = float | Array
Text = Annotated[str, Field(min_length=1)]
MONEY = "money"
"""Unit of a line whose quantity is an amount of money; the bill puts its currency there."""


class Line(NamedTuple):  # a comparison makes some thousands; three times as fast as a frozen dataclass
    """One line of a bill. Quantity and rate are counted in `unit`; amount = quantity x rate."""

    month: int | None
    """1 to 12; None for a line of the whole year."""
    line: str
    """Label of the charge."""
    clause: str
    """Where the tariff says so."""
    quantity: Amount
    unit: str
    rate: float
    amount: Amount
    """Float, or array of the draws of the load. [money]"""
    charge: str
    """Id of the charge."""


class Common(BaseModel):
    """The keys that every charge has."""

    model_config = ConfigDict(frozen=True, extra="forbid")

    id: Annotated[str, Field(min_length=1, pattern=r"^[A-Za-z0-9][A-Za-z0-9_-]*$")]
    """Name by which other charges refer to this one."""
    label: Text
    """What the bill calls it."""
    clause: Text
    """Clause of the tariff it stands in."""
    source: Text
    """Document and date it was taken from; "invented" for an example."""


class Fixed(Common):
    """A fixed amount every month."""

    type: Literal["fixed"] = "fixed"
    per_month: Annotated[float, Quantity("money", label="Amount per month"), Field(ge=0)]
    """[money]"""

    def lines(self, load: Load, previous_lines: Sequence[Line]) -> list[Line]:
        """Twelve lines, whatever the load."""
        return _monthly(self, np.ones(12), "month", self.per_month)


class EnergyFlat(Common):
    """One price per energy; gas is counted on the higher heating value."""

    type: Literal["energy-flat"] = "energy-flat"
    price: Annotated[float, Quantity("price per energy", label="Price", shown="money/kWh"), Field(ge=0)]
    """[money/J]"""

    def lines(self, load: Load, previous_lines: Sequence[Line]) -> list[Line]:
        """Twelve lines: energy x price."""
        return _priced(self, _needed(self, load.energy, "energy"), self.price, "energy", "kWh")


class RiderPerEnergy(Common):
    """An adjustment per energy, such as a fuel factor or a levy; may be negative."""

    type: Literal["rider-per-energy"] = "rider-per-energy"
    price: Annotated[float, Quantity("price per energy", label="Price", shown="money/kWh")]
    """[money/J]"""

    def lines(self, load: Load, previous_lines: Sequence[Line]) -> list[Line]:
        """Twelve lines: energy x price."""
        return _priced(self, _needed(self, load.energy, "energy"), self.price, "energy", "kWh")


class DemandFlat(Common):
    """One price per power of the month's 15-minute peak."""

    type: Literal["demand-flat"] = "demand-flat"
    price: Annotated[float, Quantity("price per power", label="Price", shown="money/kW/month"), Field(ge=0)]
    """[money/W/month]"""

    def lines(self, load: Load, previous_lines: Sequence[Line]) -> list[Line]:
        """Twelve lines: peak x price."""
        return _priced(self, _needed(self, load.peak, "monthly peak power"), self.price, "power", "kW")


class VolumeFlat(Common):
    """One price per volume, of water for instance."""

    type: Literal["volume-flat"] = "volume-flat"
    price: Annotated[float, Quantity("price per volume", label="Price", shown="money/m3"), Field(ge=0)]
    """[money/m3]"""

    def lines(self, load: Load, previous_lines: Sequence[Line]) -> list[Line]:
        """Twelve lines: volume x price."""
        return _priced(self, _needed(self, load.volume, "volume"), self.price, "volume", "m3")


class TaxPercent(Common):
    """A share of charges that stand before it."""

    type: Literal["tax-percent"] = "tax-percent"
    share: Annotated[float, Quantity("share", label="Share", shown="%")]
    """[-]"""
    of: Annotated[tuple[str, ...], Field(min_length=1)]
    """Ids of the charges it is levied on."""

    def lines(self, load: Load, previous_lines: Sequence[Line]) -> list[Line]:
        """One line for each month of the lines it is levied on."""
        levied: dict[int | None, Amount] = {}
        for line in previous_lines:
            if line.charge in self.of:
                levied[line.month] = levied.get(line.month, 0.0) + line.amount
        return [_line(self, month, base, MONEY, float(self.share)) for month, base in levied.items()]


Charge: TypeAlias = Fixed | EnergyFlat | RiderPerEnergy | DemandFlat | VolumeFlat | TaxPercent
"""Any charge."""
CHARGE_TYPES: Mapping[str, type[BaseModel]] = {
    charge.model_fields["type"].default: charge for charge in get_args(Charge)
}
"""Every type of charge by its tag."""


def _needed(charge: Common, quantity: Array | None, name: str) -> Array:
    if quantity is None:
        raise EnergyError(f"charge '{charge.id}' ({charge.label}) needs the {name}, which this load does not have")
    return quantity


def _priced(charge: Common, quantity: Array, price: float, kind: str, usual: str) -> list[Line]:
    """Lines counted in the unit the price is written in, so that they can be laid beside the printed bill."""
    unit, factor = _unit(getattr(price, "text", ""), kind, usual)
    return _monthly(charge, quantity / factor, unit, price * factor)


@lru_cache(maxsize=1024)
def _unit(text: str, kind: str, usual: str) -> tuple[str, float]:
    """Unit below the stroke in the text of a price, and its size in SI; else the usual unit."""
    written = re.sub(r"\s*(?:/|\bper\b)\s*(?:month|year)$", "", text)
    written = re.split(r"/|\bper\b", written, maxsplit=1)[-1].strip()
    try:
        return written, from_unit(1.0, kind, written)
    except UnitError:  # no text, or a multiple such as "1000 gal" that only a price may have
        return usual, from_unit(1.0, kind, usual)


def _monthly(charge: Common, quantity: Array, unit: str, rate: float) -> list[Line]:
    months = quantity.tolist() if quantity.ndim == 1 else np.moveaxis(quantity, -1, 0)
    return [_line(charge, month, one, unit, float(rate)) for month, one in enumerate(months, start=1)]


def _line(charge: Common, month: int | None, quantity: Amount, unit: str, rate: float) -> Line:
    return Line(
        month=month,
        line=charge.label,
        clause=charge.clause,
        quantity=quantity,
        unit=unit,
        rate=rate,
        amount=quantity * rate,
        charge=charge.id,
    )
