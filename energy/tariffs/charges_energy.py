"""Charges for a quantity of energy or volume."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Annotated, ClassVar, Literal, Self

import numpy as np
from pydantic import BaseModel, Field, model_validator

from energy.tariffs.common import (
    RECORD,
    RISING,
    Array,
    Billing,
    Common,
    EnergyPrice,
    Group,
    OneLine,
    Per,
    Row,
    Text,
    in_blocks,
    in_cells,
    limits_in,
    monthly,
    needed,
    occurring,
    priced,
    text_of,
)
from energy.tariffs.load import Load
from energy.units import Quantity, show

FreePrice = Annotated[EnergyPrice, Field(ge=0)]
VolumePrice = Annotated[float, Quantity("price per volume", label="Price", shown="money/m3"), Field(ge=0)]


_ONCE = np.ones(12)


class Fixed(Common):
    """A fixed amount every month or day; one of the two."""

    type: Literal["fixed"] = "fixed"
    GROUP: ClassVar[Group] = "fixed"
    per_month: Annotated[float | None, Quantity("money", label="Amount per month"), Field(ge=0)] = None
    """[money]"""
    per_day: Annotated[float | None, Quantity("money", label="Amount per day"), Field(ge=0)] = None
    """[money]"""

    @model_validator(mode="after")
    def _one(self) -> Self:
        if (self.per_month is None) == (self.per_day is None):
            raise ValueError("write per_month or per_day, one of them")
        return self

    def rows(self, load: Load, billing: Billing) -> list[Row]:
        """One row, whatever the load."""
        if self.per_month is not None:
            return [monthly(self, _ONCE, "month", self.per_month)]
        return [monthly(self, billing.days, "day", float(self.per_day or 0.0))]

    def describe(self) -> str:
        """Its price in a few words."""
        if self.per_month is not None:
            return f"{text_of(self.per_month, 'money')} a month fixed"
        return f"{text_of(self.per_day or 0.0, 'money')} a day fixed"


class EnergyFlat(Common):
    """One price per energy; gas is counted on the higher heating value."""

    type: Literal["energy-flat"] = "energy-flat"
    GROUP: ClassVar[Group] = "energy"
    price: FreePrice
    """[money/J]"""

    def rows(self, load: Load, billing: Billing) -> list[Row]:
        """One row: energy x price."""
        return [priced(self, needed(self, load.energy, "energy"), self.price, "energy", "kWh")]

    def describe(self) -> str:
        """Its price in a few words."""
        return text_of(self.price, "price per energy")


class EnergyPeriod(BaseModel):
    """A price per energy in some seasons and periods."""

    model_config = RECORD

    periods: Annotated[tuple[OneLine, ...], Field(min_length=1)]
    """Names of periods, seasons, or both together such as "summer on-peak"."""
    price: FreePrice
    """[money/J]"""
    name: str = ""
    """What the bill calls it; the periods by default."""


class EnergyTimeOfUse(Common):
    """A price per energy for every period of the price calendar; seasonal prices are written alike."""

    type: Literal["energy-time-of-use"] = "energy-time-of-use"
    GROUP: ClassVar[Group] = "energy"
    prices: Annotated[tuple[EnergyPeriod, ...], Field(min_length=1)]

    def rows(self, load: Load, billing: Billing) -> list[Row]:
        """A row for each price, of the months it occurs in."""
        found: list[Row] = []
        for entry in self.prices:
            cells = billing.calendar.select(entry.periods)
            energy = in_cells(self, billing, load, "energy", cells)
            name = entry.name or ", ".join(entry.periods)
            months = occurring(billing, cells)
            found.append(priced(self, energy, entry.price, "energy", "kWh", name=name, months=months))
        return found

    def describe(self) -> str:
        """Its prices in a few words."""
        return "; ".join(
            f"{text_of(p.price, 'price per energy')} {p.name or ', '.join(p.periods)}" for p in self.prices
        )


class EnergyBlock(BaseModel):
    """A price per energy up to a cumulative limit."""

    model_config = RECORD

    up_to: Annotated[float | None, Quantity("energy", label="Upper limit", shown="kWh"), Field(gt=0)] = None
    """[J]"""
    price: FreePrice
    """[money/J]"""


class EnergyBlocks(Common):
    """Prices per energy in blocks with cumulative limits."""

    type: Literal["energy-blocks"] = "energy-blocks"
    GROUP: ClassVar[Group] = "energy"
    blocks: Annotated[tuple[EnergyBlock, ...], *RISING]
    per: Per = "month"
    periods: tuple[str, ...] = ()
    """Seasons and periods whose energy is counted; empty for all."""

    def rows(self, load: Load, billing: Billing) -> list[Row]:
        """A row for each block, of the months that reach it."""
        cells = billing.calendar.select(self.periods)
        energy = in_cells(self, billing, load, "energy", cells)
        limits = limits_in(self.blocks, self.per, billing.days)
        return _reached(self, in_blocks(energy, limits), self.blocks, "energy", "kWh", occurring(billing, cells))

    def describe(self) -> str:
        """Its prices in a few words."""
        of = f" {', '.join(self.periods)}" if self.periods else ""
        return f"{_stairs(self.blocks, 'price per energy', 'energy', 'kWh')}, limits per {self.per}{of}"


class HoursBlock(BaseModel):
    """A price per energy up to so many hours' use of the demand."""

    model_config = RECORD

    up_to: Annotated[float | None, Quantity("time", label="Upper limit", shown="h"), Field(gt=0)] = None
    """Energy per demand in a month. [s]"""
    price: FreePrice
    """[money/J]"""


class HoursUseBlocks(Common):
    """Prices per energy in blocks of hours' use, kWh per kW of demand: demand decides the size of the blocks."""

    type: Literal["hours-use-blocks"] = "hours-use-blocks"
    GROUP: ClassVar[Group] = "energy"
    blocks: Annotated[tuple[HoursBlock, ...], *RISING]
    demand: Text
    """Id of the demand charge before it."""
    counted: Literal["billed", "measured"] = "billed"
    """Whether the demand is taken with its power-factor, ratchet and floor adjustments or as measured."""
    periods: tuple[str, ...] = ()
    """Seasons and periods whose energy is counted; empty for all."""

    def rows(self, load: Load, billing: Billing) -> list[Row]:
        """A row for each block, of the months that reach it."""
        cells = billing.calendar.select(self.periods)
        energy = in_cells(self, billing, load, "energy", cells)
        demand = getattr(billing.demands[self.demand], self.counted)
        energy, demand = np.broadcast_arrays(energy, demand)
        limits = [(block.up_to or 0.0) * demand for block in self.blocks[:-1]]
        return _reached(self, in_blocks(energy, limits), self.blocks, "energy", "kWh", occurring(billing, cells))

    def describe(self) -> str:
        """Its prices in a few words."""
        return f"{_stairs(self.blocks, 'price per energy', 'time', 'h')} use of the {self.counted} demand"


class VolumeFlat(Common):
    """One price per volume, of water for instance, or of gas as it goes through the meter."""

    type: Literal["volume-flat"] = "volume-flat"
    GROUP: ClassVar[Group] = "volume"
    price: VolumePrice
    """[money/m3]"""

    def rows(self, load: Load, billing: Billing) -> list[Row]:
        """One row: volume x price."""
        return [priced(self, needed(self, load.volume, "volume"), self.price, "volume", "m3")]

    def describe(self) -> str:
        """Its price in a few words."""
        return text_of(self.price, "price per volume")


class VolumeBlock(BaseModel):
    """A price per volume up to a cumulative limit."""

    model_config = RECORD

    up_to: Annotated[float | None, Quantity("volume", label="Upper limit", shown="m3"), Field(gt=0)] = None
    """[m3]"""
    price: VolumePrice
    """[money/m3]"""


class VolumeBlocks(Common):
    """Prices per volume in blocks with cumulative limits."""

    type: Literal["volume-blocks"] = "volume-blocks"
    GROUP: ClassVar[Group] = "volume"
    blocks: Annotated[tuple[VolumeBlock, ...], *RISING]
    per: Per = "month"

    def rows(self, load: Load, billing: Billing) -> list[Row]:
        """A row for each block, of the months that reach it."""
        volume = needed(self, load.volume, "volume")
        limits = limits_in(self.blocks, self.per, billing.days)
        return _reached(self, in_blocks(volume, limits), self.blocks, "volume", "m3", range(12))

    def describe(self) -> str:
        """Its prices in a few words."""
        return f"{_stairs(self.blocks, 'price per volume', 'volume', 'm3')}, limits per {self.per}"


def _reached(
    charge: Common,
    parts: Sequence[Array],
    blocks: Sequence[EnergyBlock | HoursBlock | VolumeBlock],
    kind: str,
    usual: str,
    months: Sequence[int],
) -> list[Row]:
    """Rows of the blocks; a block that no draw reaches is left out, but for the first."""
    found: list[Row] = []
    for number, (part, block) in enumerate(zip(parts, blocks, strict=True), start=1):
        kept = [m for m in months if number == 1 or np.any(part[..., m] != 0.0)]
        row = priced(charge, part, block.price, kind, usual, name=f"block {number}", months=kept)
        found.append(row._replace(interleaved=True))
    return found


def _stairs(
    blocks: Sequence[EnergyBlock | HoursBlock | VolumeBlock], price_kind: str, limit_kind: str, unit: str
) -> str:
    def limit(block: EnergyBlock | HoursBlock | VolumeBlock) -> str:
        if block.up_to is None:
            return "beyond"
        return f"to {getattr(block.up_to, 'text', '') or show(block.up_to, limit_kind, unit, digits=6)}"

    return ", ".join(f"{text_of(block.price, price_kind)} {limit(block)}" for block in blocks)
