"""What stands in a tariff file."""

from __future__ import annotations

import datetime
from collections.abc import Mapping
from typing import Annotated, Any, Literal, Self, TypeAlias, get_args

from pydantic import BaseModel, ConfigDict, Field, model_validator

from energy.errors import UnitError, nearest
from energy.tariffs.charges import Charge, EnergyFlat, TaxPercent, Text
from energy.units import KINDS, SI, Quantity, parse

Commodity: TypeAlias = Literal["electricity", "gas", "water", "cooling"]


class Worked(BaseModel):
    """A month's load and the bill worked out for it by hand."""

    model_config = ConfigDict(frozen=True, extra="forbid")

    energy: Annotated[float | None, Quantity("energy", label="Energy", shown="kWh"), Field(ge=0)] = None
    """[J]"""
    peak: Annotated[float | None, Quantity("power", label="Peak", shown="kW"), Field(ge=0)] = None
    """[W]"""
    volume: Annotated[float | None, Quantity("volume", label="Volume", shown="m3"), Field(ge=0)] = None
    """[m3]"""
    lines: dict[str, Annotated[float, Quantity("money", label="Amount")]] = Field(default_factory=dict)
    """Amounts by id of the charge. [money]"""
    total: Annotated[float, Quantity("money", label="Total")]
    """[money]"""


class Tariff(BaseModel):
    """A tariff as written in its file; every price in SI."""

    model_config = ConfigDict(frozen=True, extra="forbid")

    name: Text
    commodity: Commodity
    currency: Annotated[str, Field(pattern=r"^[A-Z]{3}$")]
    invented: bool = False
    """Made up to show how a tariff is written: not a price anybody is charged."""
    note: str = ""
    valid_from: datetime.date | None = None
    valid_to: datetime.date | None = None
    source: Text
    """Document and date it was taken from."""
    charges: Annotated[tuple[Annotated[Charge, Field(discriminator="type")], ...], Field(min_length=1)]
    """In the order in which they are charged."""
    worked: Worked | None = None

    @model_validator(mode="after")
    def _consistent(self) -> Self:
        found: list[str] = []
        before: list[str] = []
        for charge in self.charges:
            if charge.id in before:
                found.append(f"charges.{charge.id}: two charges have this id; each needs its own")
            if isinstance(charge, TaxPercent):
                found += [
                    f"charges.{charge.id}.of: '{name}' is not a charge that stands before it"
                    f"{nearest(name, before)}; those are {', '.join(before) or 'none'}"
                    for name in charge.of
                    if name not in before
                ]
            before.append(charge.id)
            found += _other_currency(charge, f"charges.{charge.id}.", self.currency)
        if self.worked:
            found += _other_currency(self.worked, "worked.", self.currency)
            found += [
                f"worked.lines: '{name}' is not the id of a charge{nearest(name, before)}"
                for name in self.worked.lines
                if name not in before
            ]
        if self.valid_from and self.valid_to and self.valid_to < self.valid_from:
            found.append(f"valid_to: {self.valid_to} lies before valid_from, {self.valid_from}")
        if found:
            raise ValueError("\n".join(found))
        return self


def simple_tariff(commodity: str, currency: str, price: float) -> Tariff:
    """A tariff of one price per energy.

    Parameters
    ----------
    commodity : {"electricity", "gas", "water", "cooling"}
        What is bought.
    currency : str
        Three-letter code.
    price : float
        Price per energy, 0 or more. [money/J]

    Returns
    -------
    Tariff
        With the single charge "energy".
    """
    name = f"{commodity.capitalize()} at one price"
    charge = EnergyFlat(id="energy", label=name, clause="price given", source="price given", price=SI(price))
    return Tariff.model_validate(
        {
            "name": name,
            "commodity": commodity,
            "currency": currency,
            "charges": (charge,),
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


def _other_currency(record: BaseModel, key: str, currency: str) -> list[str]:
    """What is wrong with the currencies in the texts of a record's amounts."""
    found = []
    for name, field in type(record).model_fields.items():
        value = getattr(record, name)
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
