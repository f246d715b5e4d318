"""Charges for the highest power: demand, reactive demand, and the highest day of gas."""

from __future__ import annotations

from functools import reduce
from typing import Annotated, ClassVar, Literal, Self

import numpy as np
from pydantic import BaseModel, Field, model_validator

from energy.tariffs.common import (
    RECORD,
    RISING,
    Array,
    Billing,
    Common,
    Determinant,
    EnergyPrice,
    Group,
    OneLine,
    PowerPrice,
    Row,
    in_blocks,
    in_cells,
    monthly,
    needed,
    occurring,
    priced,
    text_of,
)
from energy.tariffs.determinants import (
    DemandKeys,
    Share,
    apparent_demand,
    billed_demand,
    check_units,
    is_apparent,
    no_history,
    ratchet_level,
)
from energy.tariffs.load import Load
from energy.units import Quantity, show

DemandPrice = Annotated[PowerPrice, Field(ge=0)]


class DemandFlat(DemandKeys):
    """One price per kW or kVA of the month's highest demand, or of that in some periods."""

    type: Literal["demand-flat"] = "demand-flat"
    price: DemandPrice
    """Written per kVA it bills apparent power. [money/W/month]"""
    periods: tuple[str, ...] = ()
    """Seasons and periods in which the highest is looked for; empty for all."""

    @model_validator(mode="after")
    def _units(self) -> Self:
        check_units(self, self.price)
        return self

    def rows(self, load: Load, billing: Billing) -> list[Row]:
        """One row: demand x price."""
        cells = billing.calendar.select(self.periods)
        found = billed_demand(self, billing, cells, is_apparent(self.price))
        billing.demands[self.id] = found
        return [priced(self, _paid(self, found.billed), self.price, *_UNIT, months=occurring(billing, cells))]

    def describe(self) -> str:
        """Its price in a few words."""
        of = f" {', '.join(self.periods)}" if self.periods else ""
        return f"{text_of(self.price, 'price per power')}{of}{_conditions(self)}"


class DemandPeriod(BaseModel):
    """A price per demand in some seasons and periods."""

    model_config = RECORD

    periods: Annotated[tuple[OneLine, ...], Field(min_length=1)]
    """Names of periods, seasons, or both together such as "summer on-peak"."""
    price: DemandPrice
    """[money/W/month]"""
    name: str = ""
    """What the bill calls it; the periods by default."""


class DemandTimeOfUse(DemandKeys):
    """A price for the highest demand within each of some periods; floor, ratchet and free part hold for each."""

    type: Literal["demand-time-of-use"] = "demand-time-of-use"
    prices: Annotated[tuple[DemandPeriod, ...], Field(min_length=1)]

    @model_validator(mode="after")
    def _units(self) -> Self:
        for entry in self.prices:
            check_units(self, entry.price)
        if len({is_apparent(entry.price) for entry in self.prices}) > 1:
            raise ValueError("prices per kW and per kVA do not stand in one charge; write two")
        return self

    def rows(self, load: Load, billing: Billing) -> list[Row]:
        """A row for each price, of the months it occurs in."""
        found: list[Row] = []
        totals: list[Determinant] = []
        for entry in self.prices:
            cells = billing.calendar.select(entry.periods)
            demand = billed_demand(self, billing, cells, is_apparent(entry.price))
            totals.append(demand)
            name, months = entry.name or ", ".join(entry.periods), occurring(billing, cells)
            found.append(priced(self, _paid(self, demand.billed), entry.price, *_UNIT, name=name, months=months))
        billing.demands[self.id] = Determinant(
            billed=reduce(np.maximum, [d.billed for d in totals]),
            measured=reduce(np.maximum, [d.measured for d in totals]),
        )
        return found

    def describe(self) -> str:
        """Its prices in a few words."""
        prices = (f"{text_of(p.price, 'price per power')} {p.name or ', '.join(p.periods)}" for p in self.prices)
        return f"{'; '.join(prices)}{_conditions(self)}"


class DemandBlock(BaseModel):
    """A price per demand up to a cumulative limit."""

    model_config = RECORD

    up_to: Annotated[float | None, Quantity("demand", label="Upper limit", shown="kW"), Field(gt=0)] = None
    """[W or VA]"""
    price: DemandPrice
    """[money/W/month]"""


class DemandBlocks(DemandKeys):
    """Prices per demand in blocks with cumulative limits, counted from the end of the free part."""

    type: Literal["demand-blocks"] = "demand-blocks"
    blocks: Annotated[tuple[DemandBlock, ...], *RISING]
    periods: tuple[str, ...] = ()
    """Seasons and periods in which the highest is looked for; empty for all."""

    @model_validator(mode="after")
    def _units(self) -> Self:
        for block in self.blocks:
            check_units(self, block.price, [other.up_to for other in self.blocks])
        return self

    def rows(self, load: Load, billing: Billing) -> list[Row]:
        """A row for each block, of the months that reach it."""
        cells = billing.calendar.select(self.periods)
        demand = billed_demand(self, billing, cells, is_apparent(self.blocks[0].price))
        billing.demands[self.id] = demand
        parts = in_blocks(_paid(self, demand.billed), [float(block.up_to or 0.0) for block in self.blocks[:-1]])
        found: list[Row] = []
        for number, (part, block) in enumerate(zip(parts, self.blocks, strict=True), start=1):
            months = [m for m in occurring(billing, cells) if number == 1 or np.any(part[..., m] != 0.0)]
            row = priced(self, part, block.price, *_UNIT, name=f"block {number}", months=months)
            found.append(row._replace(interleaved=True))
        return found

    def describe(self) -> str:
        """Its prices in a few words."""
        steps = (
            f"{text_of(b.price, 'price per power')} {'beyond' if b.up_to is None else f'to {_shown(b.up_to)}'}"
            for b in self.blocks
        )
        return f"{', '.join(steps)}{_conditions(self)}"


class ReactiveDemand(Common):
    """A price per kvar of the reactive power beside the highest demand, above a free share of its kW."""

    type: Literal["reactive-demand"] = "reactive-demand"
    GROUP: ClassVar[Group] = "demand"
    price: DemandPrice
    """[money/var/month]"""
    free_share: Annotated[float, Quantity("share", label="Free share of kW", shown="%"), Field(ge=0)]
    """[-]"""

    @model_validator(mode="after")
    def _units(self) -> Self:
        text = getattr(self.price, "text", "")
        if text and "var" not in text.lower():
            raise ValueError(f"'{text}' is not a price per reactive power; write it per kvar")
        return self

    def rows(self, load: Load, billing: Billing) -> list[Row]:
        """One row: excess x price."""
        cells = billing.calendar.select(())
        real = in_cells(self, billing, load, "peak", cells)
        apparent = apparent_demand(self, billing, load, cells)
        excess = reactive_excess(real, apparent, float(self.free_share))
        return [monthly(self, excess / 1e3, "kvar", 1e3 * self.price)]

    def describe(self) -> str:
        """Its price in a few words."""
        return f"{text_of(self.price, 'price per power')} above {100 * self.free_share:.3g} % of kW"


class Capacity(Common):
    """A monthly price per energy of the highest day, as gas capacity is sold."""

    type: Literal["capacity"] = "capacity"
    GROUP: ClassVar[Group] = "demand"
    price: Annotated[EnergyPrice, Field(ge=0)]
    """For each month, per energy of the highest day. [money/J]"""
    contract: Annotated[float | None, Quantity("energy", label="Contract", shown="MMBtu"), Field(ge=0)] = None
    """Quantity a day that is billed at least. [J]"""
    ratchet_share: Share | None = None
    """Share of the highest day of the eleven months before that is billed at least. [-]"""

    def rows(self, load: Load, billing: Billing) -> list[Row]:
        """One row: highest day x price."""
        quantity = needed(self, load.daily_peak, "highest energy of a day")
        if self.ratchet_share is not None:
            if billing.earlier is None:
                raise no_history(self)
            earlier = needed(self, billing.earlier.daily_peak, "highest energy of a day of the year before")
            quantity = np.maximum(quantity, ratchet_level(earlier, quantity, float(self.ratchet_share), 11, ()))
        quantity = np.maximum(quantity, float(self.contract or 0.0))
        return [priced(self, quantity, self.price, "energy", "kWh")]

    def describe(self) -> str:
        """Its price in a few words."""
        contract = f", at least {_shown(self.contract, 'energy', 'kWh')}" if self.contract is not None else ""
        return f"{text_of(self.price, 'price per energy')} of the highest day, a month{contract}"


def reactive_excess(real: Array, apparent: Array, free_share: float) -> Array:
    """Reactive power above a free share of the real power.

    Parameters
    ----------
    real, apparent : ndarray, shape (...)
        [W], [VA]
    free_share : float
        [-]

    Returns
    -------
    ndarray, shape (...)
        [var]
    """
    reactive = np.sqrt(np.maximum(apparent**2 - real**2, 0.0))
    return np.asarray(np.maximum(reactive - free_share * real, 0.0))


def bills_apparent(charge: DemandKeys) -> bool:
    """Whether a charge counts kVA."""
    prices = [
        getattr(charge, "price", None),
        *(e.price for e in (*getattr(charge, "prices", ()), *getattr(charge, "blocks", ()))),
    ]
    return any(is_apparent(price) for price in prices if price is not None)


_UNIT = ("demand", "kW")


def _paid(charge: DemandKeys, billed: Array) -> Array:
    return np.maximum(billed - float(charge.free), 0.0) if charge.free is not None else billed


def _shown(value: float, kind: str = "demand", unit: str = "kW") -> str:
    return getattr(value, "text", "") or show(value, kind, unit, digits=6)


def _conditions(charge: DemandKeys) -> str:
    """Floor, ratchet, power factor, free part and rounding in a few words."""
    found = []
    if charge.power_factor is not None:
        found.append(f"power factor under {100 * charge.power_factor.target:.3g} % raises it")
    if charge.ratchet is not None:
        found.append(f"ratchet {100 * charge.ratchet.share:.3g} % of {charge.ratchet.months_back} months")
    if charge.floor is not None:
        f = charge.floor
        parts = [] if f.contract is None else [f"{100 * f.share:.3g} % of {_shown(f.contract)} contracted"]
        parts += [] if f.minimum is None else [_shown(f.minimum)]
        found.append(f"at least {' or '.join(parts)}")
    if charge.free is not None:
        found.append(f"first {_shown(charge.free)} free")
    if charge.rounding is not None:
        found.append(f"in steps of {_shown(charge.rounding)}")
    return f" ({', '.join(found)})" if found else ""
