"""Which tariffs a sheet can express, and the quantities it bills."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from energy.dryers.base import Array
from energy.study import meter
from energy.study.compare import Comparison
from energy.tariffs import Load, Tariff, bill
from energy.tariffs.adjustments import Discount, RiderPercent, RiderPerEnergy, TaxPercent
from energy.tariffs.charges import Charge
from energy.tariffs.charges_demand import DemandFlat
from energy.tariffs.charges_energy import EnergyFlat, Fixed, VolumeFlat
from energy.tariffs.common import unit_of
from energy.tariffs.determinants import is_apparent
from energy.units import from_unit

KWH, KW, CUBIC, GALLONS = "kWh", "kW billed", "m³", "gal"
VOLUMES = {"si": (CUBIC, "m3"), "us": (GALLONS, "gal")}
"""What volumes are told in by the units of the case, as printed and as written."""
NOTE = "prices by period, block, ratchet or power factor are not for a sheet: yearly amounts only, moved together by the factor above"


@dataclass(frozen=True, slots=True, kw_only=True)
class SheetCharge:
    """A charge as quantity times price; a share of other charges has no unit."""

    key: str
    """Name of the price in the workbook."""
    id: str
    label: str
    clause: str
    price: float
    """In `unit`, or a share."""
    unit: str
    quantity: str = ""
    factor: float = 1.0
    """Units per unit of the quantity."""
    of: tuple[str, ...] | None = None
    taken_off: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Meter:
    """A meter's share of a yearly cost: as formulas, or as values where a sheet cannot express its tariff."""

    carrier: str
    title: str
    charges: tuple[SheetCharge, ...]
    quantities: tuple[Mapping[str, Array], ...]
    """Of each option, what the dryers add, by month."""
    values: tuple[tuple[tuple[str, str, float], ...], ...]
    """Of each option: line, clause, amount of the year."""
    note: str = ""

    @property
    def lines(self) -> tuple[tuple[str, str], ...]:
        """Line and clause of all values, each once."""
        return tuple(dict.fromkeys((line, clause) for option in self.values for line, clause, _ in option))


def meters_of(comparison: Comparison) -> list[Meter]:
    """The meters of a case with a tariff, and the tower's water."""
    case, present = comparison.case, comparison.baseline.year
    volume = VOLUMES[case.model.case.units]
    found = []
    for name, tariff, carriers in meter.meters(case):
        if tariff is None:
            continue
        pairs = [meter.loads(case, tariff, o.year, present, carriers) for o in comparison.options]
        title = "Cooling" if name == "water" else name.capitalize()
        found.append(_meter(name, title, tariff, pairs, volume))
    water = case.tariffs.get("water")
    if water is not None and any(np.any(o.year.water > 0) for o in comparison.options):
        pairs = [(Load(volume=o.year.water), Load(volume=0.0 * o.year.water)) for o in comparison.options]
        found.append(_meter("water", "Tower water", water, pairs, volume))
    return found


def _meter(carrier: str, title: str, tariff: Tariff, pairs: list[tuple[Load, Load]], volume: tuple[str, str]) -> Meter:
    charges = sheet_charges(tariff, title, volume)
    if charges is not None:
        used = {charge.quantity for charge in charges if charge.quantity}
        quantities = tuple({name: _added(name, *pair) for name in used_in_order(used)} for pair in pairs)
        return Meter(carrier=carrier, title=title, charges=charges, quantities=quantities, values=((),) * len(pairs))
    values, quantities_ = [], []
    for one, none in pairs:
        sums: dict[tuple[str, str], float] = {}
        for load, sign in ((one, 1.0), (none, -1.0)):
            for line in bill(tariff, load, "steady").lines:
                key = (line.line, line.clause)
                sums[key] = sums.get(key, 0.0) + sign * float(line.amount)
        values.append(tuple((*key, amount) for key, amount in sums.items() if abs(amount) > 5e-7))
        quantities_.append(
            {KWH: _added(KWH, one, none)} if one.energy is not None else {volume[0]: _added(volume[0], one, none)}
        )
    return Meter(
        carrier=carrier, title=title, charges=(), quantities=tuple(quantities_), values=tuple(values), note=NOTE
    )


def used_in_order(used: set[str]) -> list[str]:
    """Quantities in a fixed order."""
    return [name for name in (KWH, KW, CUBIC, GALLONS) if name in used]


def _added(name: str, one: Load, none: Load) -> Array:
    """What the dryers add to a load, shape (12,)."""
    gallon = float(from_unit(1.0, "volume", "gal"))
    known = {KWH: ("energy", 3.6e6), KW: ("peak", 1e3), CUBIC: ("volume", 1.0), GALLONS: ("volume", gallon)}
    field, unit = known[name]
    return np.asarray(getattr(one, field) - getattr(none, field)) / unit


def sheet_charges(
    tariff: Tariff, title: str, volume: tuple[str, str] = VOLUMES["si"]
) -> tuple[SheetCharge, ...] | None:
    """The charges as quantity times price; None where one of them is more than that."""
    if len(tariff.price_calendar.cells) > 1 or tariff.losses is not None or tariff.gas is not None:
        return None
    found: list[SheetCharge] = []
    for charge in tariff.charges:
        if charge.months or charge.valid_from or charge.valid_to:
            return None
        if isinstance(charge, Fixed):
            continue  # paid either way
        made = _sheet_charge(charge, re.sub(r"\W+", "_", f"{title}_{len(found) + 1}_price".lower()), volume)
        if made is None:
            return None
        found.append(made)
    return tuple(found)


def _sheet_charge(charge: Charge, key: str, volume: tuple[str, str]) -> SheetCharge | None:
    kinds = {EnergyFlat: (KWH, "energy", "kWh"), RiderPerEnergy: (KWH, "energy", "kWh")}
    kinds |= {VolumeFlat: (volume[0], "volume", volume[1]), DemandFlat: (KW, "demand", "kW")}
    if isinstance(charge, RiderPercent | TaxPercent | Discount):
        return SheetCharge(
            key=key, id=charge.id, label=charge.label, clause=charge.clause, price=float(charge.share), unit="",
            of=tuple(charge.of), taken_off=isinstance(charge, Discount),
        )  # fmt: skip
    if isinstance(charge, DemandFlat) and (
        is_apparent(charge.price)
        or charge.periods
        or charge.power_factor
        or charge.ratchet
        or charge.floor
        or charge.rounding
        or charge.free
    ):
        return None
    if type(charge) not in kinds:
        return None
    assert isinstance(charge, EnergyFlat | RiderPerEnergy | VolumeFlat | DemandFlat)
    quantity, kind, usual = kinds[type(charge)]
    unit, size = unit_of(getattr(charge.price, "text", ""), kind, usual)
    per = float(from_unit(1.0, kind, usual)) / size  # the usual unit is that of the quantity
    return SheetCharge(
        key=key, id=charge.id, label=charge.label, clause=charge.clause, price=float(charge.price) * size, unit=unit,
        quantity=quantity, factor=per,
    )  # fmt: skip
