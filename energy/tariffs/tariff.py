"""What stands in a tariff file."""

from __future__ import annotations

import datetime
from collections.abc import Mapping
from typing import Annotated, Any, Literal, Self, TypeAlias, get_args

from pydantic import BaseModel, Field, model_validator

from energy.errors import EnergyError, UnitError, nearest
from energy.tariffs.calendar import ALWAYS, PriceCalendar
from energy.tariffs.charges import Charge, DemandFlat, EnergyFlat
from energy.tariffs.charges_demand import Capacity, DemandPeriod, DemandTimeOfUse
from energy.tariffs.charges_energy import EnergyPeriod, EnergyTimeOfUse
from energy.tariffs.common import RECORD, OneLine, Text
from energy.tariffs.determinants import DemandKeys
from energy.units import KINDS, SI, Quantity, parse

Commodity: TypeAlias = Literal["electricity", "gas", "water", "cooling"]


class Worked(BaseModel):
    """A month's load and the bill worked out for it by hand, in a year that repeats itself."""

    model_config = RECORD

    month: Annotated[int, Field(ge=1, le=12)] = 6
    """1 to 12; no other month has a load."""

    energy: Annotated[float | None, Quantity("energy", label="Energy", shown="kWh"), Field(ge=0)] = None
    """[J]"""
    peak: Annotated[float | None, Quantity("power", label="Peak", shown="kW"), Field(ge=0)] = None
    """[W]"""
    volume: Annotated[float | None, Quantity("volume", label="Volume", shown="m3"), Field(ge=0)] = None
    """[m3]"""
    daily_peak: Annotated[float | None, Quantity("energy", label="Highest day", shown="kWh"), Field(ge=0)] = None
    """[J]"""
    power_factor: Annotated[float | None, Quantity("share", label="Power factor"), Field(gt=0, le=1)] = None
    """[-]"""
    energy_in: dict[str, Annotated[float, Quantity("energy", label="Energy", shown="kWh"), Field(ge=0)]] = Field(
        default_factory=dict
    )
    """Energy by price cell, in place of `energy`. [J]"""
    peak_in: dict[str, Annotated[float, Quantity("power", label="Peak", shown="kW"), Field(ge=0)]] = Field(
        default_factory=dict
    )
    """Peak by price cell, in place of `peak`. [W]"""
    lines: dict[str, Annotated[float, Quantity("money", label="Amount")]] = Field(default_factory=dict)
    """Amounts by id of the charge. [money]"""
    total: Annotated[float, Quantity("money", label="Total")]
    """[money]"""


class Losses(BaseModel):
    """What is added to the metered quantities before they are billed, for metering below the billed voltage."""

    model_config = RECORD

    energy: Annotated[float, Quantity("share", label="Added to energy", shown="%"), Field(gt=-1)] = 0.0
    """[-]"""
    demand: Annotated[float, Quantity("share", label="Added to demand", shown="%"), Field(gt=-1)] = 0.0
    """[-]"""


class GasMeter(BaseModel):
    """How the volume that a gas meter shows becomes energy: volume x volume_factor x heating_value."""

    model_config = RECORD

    heating_value: Annotated[float, Quantity("heating value", label="Heating value", shown="MJ/m3"), Field(gt=0)]
    """Energy per volume, on the basis the prices are written in. [J/m3]"""
    volume_factor: Annotated[float, Quantity("ratio", label="Pressure and temperature factor"), Field(gt=0)] = 1.0
    """Volume at the condition of the heating value over that at the meter. [-]"""


class Tariff(BaseModel):
    """A tariff as written in its file; every price in SI."""

    model_config = RECORD

    name: OneLine
    commodity: Commodity
    currency: Annotated[str, Field(pattern=r"^[A-Z]{3}$")]
    invented: bool = False
    """Made up to show how a tariff is written: not a price anybody is charged."""
    note: str = ""
    valid_from: datetime.date | None = None
    valid_to: datetime.date | None = None
    source: Text
    """Document and date it was taken from."""
    calendar: PriceCalendar | None = None
    """When which price holds; without one, one price cell."""
    demand_window: Annotated[float, Quantity("time", label="Demand window", shown="min")] = SI(900.0, "15 min")
    """Time over which the demand is a mean: 15, 30 or 60 min. [s]"""
    losses: Losses | None = None
    gas: GasMeter | None = None
    """Only for gas that is metered by volume."""
    charges: Annotated[tuple[Annotated[Charge, Field(discriminator="type")], ...], Field(min_length=1)]
    """In the order in which they are charged."""
    worked: Worked | None = None

    @model_validator(mode="after")
    def _consistent(self) -> Self:
        found: list[str] = []
        before: list[str] = []
        demands: list[str] = []
        if float(self.demand_window) not in (900.0, 1800.0, 3600.0):
            found.append(f"demand_window: {self.demand_window / 60:g} min is not allowed; write 15, 30 or 60 min")
        elif self.calendar is not None and self.demand_window > self.calendar.step:
            found.append(
                f"demand_window: the calendar's periods change within a window of {self.demand_window / 60:g} min; "
                f"they change at multiples of {self.calendar.step / 60:g} min"
            )
        for charge in self.charges:
            key = f"charges.{charge.id}"
            if charge.id in before:
                found.append(f"{key}: two charges have this id; each needs its own")
            for name in getattr(charge, "of", ()):
                if name not in before:
                    found.append(
                        f"{key}.of: '{name}' is not a charge that stands before it"
                        f"{nearest(name, before)}; those are {', '.join(before) or 'none'}"
                    )
            demand = getattr(charge, "demand", None)
            if demand is not None and demand not in demands:
                found.append(
                    f"{key}.demand: '{demand}' is not a demand charge that stands before it"
                    f"{nearest(demand, demands)}; those are {', '.join(demands) or 'none'}"
                )
            found += [f"{key}.{line}" for line in _wrong_periods(charge, self.price_calendar)]
            before.append(charge.id)
            demands += [charge.id] if isinstance(charge, DemandKeys) else []
            found += _other_currency(charge, f"{key}.", self.currency)
        if self.worked:
            found += _other_currency(self.worked, "worked.", self.currency)
            found += [
                f"worked.lines: '{name}' is not the id of a charge{nearest(name, before)}"
                for name in self.worked.lines
                if name not in before
            ]
        if self.worked:
            for field in ("energy_in", "peak_in"):
                found += [
                    f"worked.{field}: '{name}' is not a price cell{nearest(name, self.price_calendar.cells)}"
                    for name in getattr(self.worked, field)
                    if name not in self.price_calendar.cells
                ]
        if self.valid_from and self.valid_to and self.valid_to < self.valid_from:
            found.append(f"valid_to: {self.valid_to} lies before valid_from, {self.valid_from}")
        if found:
            raise ValueError("\n".join(found))
        return self

    @property
    def looks_back(self) -> bool:
        """Does a charge count what was metered in earlier months?"""
        return any(
            (isinstance(charge, DemandKeys) and charge.ratchet is not None)
            or (isinstance(charge, Capacity) and charge.ratchet_share is not None)
            for charge in self.charges
        )

    def on_clock(self, zone: str | None, *, instead: bool = False) -> Tariff:
        """The same tariff by the clock of a zone (IANA name), where it names no clock of its own, or instead of it."""
        own = self.price_calendar.time_zone
        if zone is None or own == zone or (own is not None and not instead):
            return self
        calendar = self.price_calendar.model_dump(exclude_unset=True) | {"time_zone": zone}
        return self.model_copy(update={"calendar": PriceCalendar.model_validate(calendar)})

    @property
    def price_calendar(self) -> PriceCalendar:
        """Its calendar, or the one with a single price cell."""
        return self.calendar if self.calendar is not None else ALWAYS

    def describe(self) -> tuple[str, ...]:
        """What each charge costs, in a few words."""
        return tuple(charge.describe().replace("money", self.currency) for charge in self.charges)


def simple_tariff(commodity: str, currency: str, price: float, demand: float | None = None) -> Tariff:
    """A tariff of one price per energy, and of one per demand where that is charged.

    Parameters
    ----------
    commodity : {"electricity", "gas", "water", "cooling"}
        What is bought.
    currency : str
        Three-letter code.
    price : float
        Price per energy, 0 or more; billed in the unit of its text, where it has one. [money/J]
    demand : float, optional
        Price per month's highest 15-minute demand, 0 or more; of apparent power where its text is per kVA. [money/W/month]

    Returns
    -------
    Tariff
        With the charge "energy", and "demand" where that has a price.
    """

    def as_written(amount: float) -> SI:
        return amount if isinstance(amount, SI) else SI(amount)

    name = f"{commodity.capitalize()} at one price"
    given = {"clause": "price given", "source": "price given"}
    charges: list[Charge] = [EnergyFlat(id="energy", label=name, price=as_written(price), **given)]
    if demand is not None:
        charges.append(DemandFlat(id="demand", label="Demand at one price", price=as_written(demand), **given))
    return Tariff.model_validate(
        {
            "name": name,
            "commodity": commodity,
            "currency": currency,
            "charges": tuple(charges),
            "source": "price given",
        }
    )


def simple_water_tariff(currency: str, price: str) -> Tariff:
    """A tariff of one price per volume, written such as "3.20 USD/m3"."""
    charge = {"type": "volume-flat", "id": "water", "label": "Water at one price", "clause": "price given"}
    return Tariff.model_validate(
        {
            "name": "Water at one price",
            "commodity": "water",
            "currency": currency,
            "charges": ({**charge, "source": "price given", "price": price},),
            "source": "price given",
        }
    )


def _wrong_periods(charge: Charge, calendar: PriceCalendar) -> list[str]:
    """Names of periods that do not exist, prices that share a cell, and cells without a price per energy."""
    found: list[str] = []
    ratchet = getattr(charge, "ratchet", None)
    named = {"periods": getattr(charge, "periods", ()), "ratchet.periods": getattr(ratchet, "periods", ())}
    prices: tuple[EnergyPeriod | DemandPeriod, ...] = ()
    if isinstance(charge, EnergyTimeOfUse | DemandTimeOfUse):
        prices = charge.prices
    named |= {f"prices.{number}.periods": entry.periods for number, entry in enumerate(prices, start=1)}
    for key, names in named.items():
        try:
            calendar.select(names)
        except EnergyError as error:
            found.append(f"{key}: {error}")
    if found or not prices:
        return found
    owner: dict[int, int] = {}
    for number, entry in enumerate(prices, start=1):
        for cell in calendar.select(entry.periods):
            if cell in owner:
                found.append(f"prices: '{calendar.cells[cell]}' has two prices, number {owner[cell]} and {number}")
            owner[cell] = number
    missing = [name for cell, name in enumerate(calendar.cells) if cell not in owner]
    if missing and isinstance(charge, EnergyTimeOfUse):
        found.append(f"prices: there is no price for {', '.join(missing)}")
    return found


def _other_currency(record: BaseModel, key: str, currency: str) -> list[str]:
    """What is wrong with the currencies in the texts of a record's amounts."""
    found = []
    for name, field in type(record).model_fields.items():
        value = getattr(record, name)
        for number, entry in enumerate(value if isinstance(value, tuple) else (), start=1):
            if isinstance(entry, BaseModel):
                found += _other_currency(entry, f"{key}{name}.{number}.", currency)
        entries = value.items() if isinstance(value, Mapping) else [("", value)]
        kinds = [mark.kind for mark in (*field.metadata, *_marks(field.annotation)) if isinstance(mark, Quantity)]
        for entry, amount in entries:
            if not kinds or not KINDS[kinds[0]].si.startswith("money") or not getattr(amount, "text", ""):
                continue
            try:
                parse(amount.text, kinds[0], currency=currency)
            except UnitError as error:
                found.append(f"{key}{name}{f'.{entry}' if entry else ''}: {error}")
    return found


def _marks(annotation: Any) -> list[Any]:
    """Marks inside an annotation such as dict[str, Annotated[float, mark]]."""
    marks = list(getattr(annotation, "__metadata__", ()))
    for inner in get_args(annotation):
        marks += _marks(inner)
    return marks
