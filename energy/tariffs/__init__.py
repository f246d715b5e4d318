"""Tariffs and bills: charges applied in order to the monthly load of one meter."""

from __future__ import annotations

from energy.tariffs.around import Around, around
from energy.tariffs.bill import Bill, bill
from energy.tariffs.calendar import PriceCalendar
from energy.tariffs.charges import CHARGE_TYPES, Charge
from energy.tariffs.clock import clock_at, quarter_hours
from energy.tariffs.coarse import fitted
from energy.tariffs.common import Line
from energy.tariffs.crossing import Crossing, cross, cross_time, load_from_periods, load_from_series
from energy.tariffs.load import Load
from energy.tariffs.rate_json import load_rate_json, read_rate_document
from energy.tariffs.reader import demo_tariffs, load_tariff, read_tariff_document, tariff_from, wrong_holidays
from energy.tariffs.saving import Saving, saving
from energy.tariffs.tariff import Tariff, Worked, simple_tariff, simple_water_tariff

__all__ = [
    "CHARGE_TYPES",
    "Around",
    "Bill",
    "Charge",
    "Crossing",
    "Line",
    "Load",
    "PriceCalendar",
    "Saving",
    "Tariff",
    "Worked",
    "around",
    "bill",
    "clock_at",
    "cross",
    "cross_time",
    "demo_tariffs",
    "fitted",
    "load_from_periods",
    "load_from_series",
    "load_rate_json",
    "load_tariff",
    "quarter_hours",
    "read_rate_document",
    "read_tariff_document",
    "saving",
    "simple_tariff",
    "simple_water_tariff",
    "tariff_from",
    "wrong_holidays",
]
