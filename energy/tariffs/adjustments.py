"""Charges on charges and other adjustments: riders, discounts, credits, minimum bill, carbon, taxes."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Annotated, Any, ClassVar, Literal, Self

import numpy as np
from pydantic import Field, model_validator

from energy.tariffs.common import (
    ALL_YEAR,
    MONEY,
    Array,
    Billing,
    Common,
    EnergyPrice,
    Group,
    PowerPrice,
    Row,
    Text,
    monthly,
    needed,
    priced,
    row_of,
    text_of,
)
from energy.tariffs.load import Load
from energy.units import Quantity

Of = Annotated[tuple[str, ...], Field(min_length=1)]


class RiderPerEnergy(Common):
    """An adjustment or tax per energy, such as a fuel factor or a levy; may be negative."""

    type: Literal["rider-per-energy"] = "rider-per-energy"
    GROUP: ClassVar[Group] = "energy"
    price: EnergyPrice
    """[money/J]"""

    def rows(self, load: Load, billing: Billing) -> list[Row]:
        """One row: energy x price."""
        return [priced(self, needed(self, load.energy, "energy"), self.price, "energy", "kWh")]

    def describe(self) -> str:
        """Its price in a few words."""
        return text_of(self.price, "price per energy")


class ShareOfCharges(Common):
    """The keys of a share of charges that stand before it."""

    SIGN: ClassVar[float] = 1.0
    share: Annotated[float, Quantity("share", label="Share", shown="%")]
    """[-]"""
    of: Of
    """Ids of the charges it is a share of."""

    def rows(self, load: Load, billing: Billing) -> list[Row]:
        """One row, of the months of the rows it is a share of."""
        sums = _sums(billing, self.of)
        return [row_of(self, [*sums], [*sums.values()], MONEY, self.SIGN * float(self.share))]

    def describe(self) -> str:
        """Its share in a few words."""
        return f"{100 * self.share:.3g} %{' off' if self.SIGN < 0 else ''}"


class RiderPercent(ShareOfCharges):
    """A share of charges that stand before it, such as a surcharge or a gross rate; may be negative."""

    type: Literal["rider-percent"] = "rider-percent"
    GROUP: ClassVar[Group] = "adjustment"


class Discount(ShareOfCharges):
    """A share taken off charges that stand before it, for voltage or ownership of a transformer for instance."""

    type: Literal["discount"] = "discount"
    GROUP: ClassVar[Group] = "adjustment"
    SIGN: ClassVar[float] = -1.0
    share: Annotated[float, Quantity("share", label="Share", shown="%"), Field(ge=0, le=1)]
    """[-]"""


class TaxPercent(ShareOfCharges):
    """A tax: a share of charges that stand before it."""

    type: Literal["tax-percent"] = "tax-percent"
    GROUP: ClassVar[Group] = "tax"


class LoadFactorCredit(Common):
    """A credit per kW of demand for each whole hour of use above a number of hours."""

    type: Literal["load-factor-credit"] = "load-factor-credit"
    GROUP: ClassVar[Group] = "adjustment"
    price: Annotated[PowerPrice, Field(ge=0)]
    """For each hour. [money/W/month]"""
    over: Annotated[float, Quantity("time", label="Hours of use", shown="h"), Field(ge=0)]
    """Energy over billed demand from which it is given. [s]"""
    demand: Text
    """Id of the demand charge before it."""

    def rows(self, load: Load, billing: Billing) -> list[Row]:
        """One row: demand x hours x price, taken off."""
        demand = billing.demands[self.demand].billed
        hours = whole_hours_over(needed(self, load.energy, "energy"), demand, float(self.over))
        return [monthly(self, demand / 1e3 * hours, "kW x h", -1e3 * self.price)]

    def describe(self) -> str:
        """Its price in a few words."""
        return f"{text_of(self.price, 'price per power')} off for each whole hour of use over {self.over / 3600:g}"


class MinimumBill(Common):
    """What is missing to a least amount, on the charges that stand before it."""

    type: Literal["minimum-bill"] = "minimum-bill"
    GROUP: ClassVar[Group] = "adjustment"
    per_month: Annotated[float | None, Quantity("money", label="Amount per month"), Field(ge=0)] = None
    """[money]"""
    per_day: Annotated[float | None, Quantity("money", label="Amount per day"), Field(ge=0)] = None
    """[money]"""
    price: Annotated[PowerPrice | None, Field(ge=0)] = None
    """Amount per billed demand; the greatest of the amounts counts. [money/W/month]"""
    demand: str | None = None
    """Id of the demand charge before it, for `price`."""
    of: Of
    """Ids of the charges that count towards it."""

    @model_validator(mode="after")
    def _whole(self) -> Self:
        if self.per_month is None and self.per_day is None and self.price is None:
            raise ValueError("write per_month, per_day or price")
        if (self.price is None) != (self.demand is None):
            raise ValueError("price and demand go together")
        return self

    def rows(self, load: Load, billing: Billing) -> list[Row]:
        """One row, of the months that fall short."""
        least: Array = np.full(12, float(self.per_month or 0.0))
        least = np.maximum(least, float(self.per_day or 0.0) * billing.days)
        if self.price is not None and self.demand is not None:
            least = np.maximum(least, float(self.price) * billing.demands[self.demand].billed)
        reached = _sums(billing, self.of)
        short = {}
        for month in range(12):
            missing = np.maximum(least[..., month] - reached.get(month + 1, 0.0), 0.0)
            if np.any(missing != 0.0):
                short[month + 1] = missing if np.ndim(missing) else float(missing)
        return [row_of(self, [*short], [*short.values()], MONEY, 1.0)]

    def describe(self) -> str:
        """Its amounts in a few words."""
        parts = [
            f"{text_of(amount, 'money')} a {unit}"
            for amount, unit in ((self.per_month, "month"), (self.per_day, "day"))
            if amount is not None
        ]
        parts += [text_of(self.price, "price per power")] if self.price is not None else []
        return f"at least {' or '.join(parts)}"


class Carbon(Common):
    """A price on the carbon dioxide of the energy."""

    type: Literal["carbon"] = "carbon"
    GROUP: ClassVar[Group] = "energy"
    price: Annotated[float, Quantity("price per mass", label="Price of carbon", shown="money/t"), Field(ge=0)]
    """[money/kg]"""
    emission_factor: Annotated[float, Quantity("emission factor", label="Emission factor", shown="kg/kWh"), Field(ge=0)]
    """[kg/J]"""

    def rows(self, load: Load, billing: Billing) -> list[Row]:
        """One row: mass x price."""
        mass = needed(self, load.energy, "energy") * float(self.emission_factor)
        return [priced(self, mass, self.price, "mass", "t")]

    def describe(self) -> str:
        """Its price in a few words."""
        return f"{text_of(self.price, 'price per mass')} at {text_of(self.emission_factor, 'emission factor')}"


def whole_hours_over(energy: Array, demand: Array, over: float) -> Array:
    """Whole hours by which the hours' use of a demand exceed a number.

    Parameters
    ----------
    energy : ndarray, shape (...)
        [J]
    demand : ndarray, shape (...)
        [W]
    over : float
        [s]

    Returns
    -------
    ndarray, shape (...)
        0 where there is no demand. [h]
    """
    energy, demand = np.broadcast_arrays(energy, demand)
    use = np.divide(energy, demand, out=np.zeros(energy.shape), where=demand > 0)
    return np.maximum(np.floor((use - over) / 3600.0 + 1e-9), 0.0)


def _sums(billing: Billing, of: Sequence[str]) -> dict[int, Any]:
    """Amounts of some charges by month, 1 to 12."""
    sums: list[Any] = [None] * (len(ALL_YEAR) + 1)  # by place: this is done for every bill
    for row in billing.rows:
        if row.charge in of:
            for month, amount in zip(row.months, row.amount, strict=True):
                before = sums[month]
                sums[month] = amount if before is None else before + amount
    return {month: amount for month, amount in enumerate(sums) if amount is not None}
