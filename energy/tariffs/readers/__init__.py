"""Readers for a plant's own load: interval readings in ESPI XML or CSV, or a table of twelve months; and for metered periods."""

from __future__ import annotations

from energy.tariffs.readers.espi import read_espi
from energy.tariffs.readers.interval_csv import read_interval_csv
from energy.tariffs.readers.metered_periods import metered_periods_from_text, read_metered_periods
from energy.tariffs.readers.monthly_table import MonthlyTable, read_monthly_table
from energy.tariffs.readers.series import Series

__all__ = [
    "MonthlyTable",
    "Series",
    "metered_periods_from_text",
    "read_espi",
    "read_interval_csv",
    "read_metered_periods",
    "read_monthly_table",
]
