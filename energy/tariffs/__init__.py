"""Tariffs and bills: charges applied in order to the monthly load of one meter."""

from __future__ import annotations

from energy.tariffs.bill import Bill, bill
from energy.tariffs.charges import (
    CHARGE_TYPES,
    Charge,
    DemandFlat,
    EnergyFlat,
    Fixed,
    Line,
    RiderPerEnergy,
    TaxPercent,
    VolumeFlat,
)
from energy.tariffs.load import Load
from energy.tariffs.reader import demo_tariffs, load_tariff
from energy.tariffs.tariff import Tariff, Worked, simple_tariff, simple_water_tariff

__all__ = [
    "CHARGE_TYPES",
    "Bill",
    "Charge",
    "DemandFlat",
    "EnergyFlat",
    "Fixed",
    "Line",
    "Load",
    "RiderPerEnergy",
    "Tariff",
    "TaxPercent",
    "VolumeFlat",
    "Worked",
    "bill",
    "demo_tariffs",
    "load_tariff",
    "simple_tariff",
    "simple_water_tariff",
]
