"""The charges a tariff is made of: each a frozen record with a tag that turns a load into rows of a bill.

A new charge is one more class in one of the modules listed here and one more name in `Charge`. It must name its
clause on every line, say in `describe` what it costs, and be zero for a load of zero unless it is fixed or a minimum.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import TypeAlias, get_args

from pydantic import BaseModel

from energy.tariffs.adjustments import (
    Carbon,
    Discount,
    LoadFactorCredit,
    MinimumBill,
    RiderPercent,
    RiderPerEnergy,
    TaxPercent,
)
from energy.tariffs.charges_demand import Capacity, DemandBlocks, DemandFlat, DemandTimeOfUse, ReactiveDemand
from energy.tariffs.charges_energy import (
    EnergyBlocks,
    EnergyFlat,
    EnergyTimeOfUse,
    Fixed,
    HoursUseBlocks,
    VolumeBlocks,
    VolumeFlat,
)

Charge: TypeAlias = (
    Fixed
    | EnergyFlat
    | EnergyTimeOfUse
    | EnergyBlocks
    | HoursUseBlocks
    | RiderPerEnergy
    | Carbon
    | DemandFlat
    | DemandTimeOfUse
    | DemandBlocks
    | ReactiveDemand
    | Capacity
    | VolumeFlat
    | VolumeBlocks
    | RiderPercent
    | Discount
    | LoadFactorCredit
    | MinimumBill
    | TaxPercent
)
"""Any charge."""
CHARGE_TYPES: Mapping[str, type[BaseModel]] = {
    charge.model_fields["type"].default: charge for charge in get_args(Charge)
}
"""Every type of charge by its tag."""
