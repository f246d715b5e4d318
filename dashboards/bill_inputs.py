"""What of a month's bill can be typed in, by tariff."""

from __future__ import annotations

from dataclasses import dataclass

from energy.errors import UnitError
from energy.tariffs import Tariff
from energy.tariffs.determinants import DemandKeys
from energy.units import from_unit


@dataclass(frozen=True, slots=True)
class Input:
    """A quantity to type in: its key, label, kind and the unit of a bare number."""

    key: str
    label: str
    kind: str
    unit: str
    hint: str = ""


def energy_unit(tariff: Tariff) -> str:
    """Unit in which the tariff counts energy."""
    for charge in tariff.charges:
        text = getattr(getattr(charge, "price", None), "text", "")
        blocks = [getattr(b.price, "text", "") for b in getattr(charge, "blocks", ())]
        for written in (text, *blocks):
            unit = written.rpartition("/")[2].strip()
            try:
                from_unit(1.0, "energy", unit)
            except UnitError:
                continue
            return unit
    return "kWh"


def bill_inputs(tariff: Tariff, cells_of_month: list[str]) -> list[Input]:
    """What can be typed in of a month's bill, with the price cells that occur in it."""
    unit = energy_unit(tariff)
    if tariff.commodity == "water":
        return [Input("volume", "Volume", "volume", "m3")]
    cells = cells_of_month if tariff.commodity == "electricity" else []
    or_below = "Or by period below." if len(cells) > 1 else ""
    found = [Input("energy", "Energy", "energy", unit, or_below)]
    if tariff.gas is not None:
        found.append(Input("volume", "Volume through the meter, instead of energy", "volume", "m3"))
    if any(charge.type == "capacity" for charge in tariff.charges):
        found.append(Input("daily_peak", "Highest day", "energy", unit))
    if tariff.commodity != "electricity":
        return found
    found.append(Input("peak", "Highest demand", "power", "kW", or_below))
    if len(cells) > 1:
        found += [Input(f"energy {cell}", f"Energy, {cell}", "energy", unit) for cell in cells]
        found += [Input(f"peak {cell}", f"Highest demand, {cell}", "power", "kW") for cell in cells]
    found.append(Input("power_factor", "Power factor", "share", ""))
    if any(isinstance(c, DemandKeys) and c.ratchet for c in tariff.charges):
        hint = "For the ratchet; blank: no month before was higher."
        found.append(Input("earlier_peak", "Highest demand of the months before", "power", "kW", hint))
    return found
