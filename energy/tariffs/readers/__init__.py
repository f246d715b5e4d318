"""Readers for a plant's own load: interval readings in ESPI XML or CSV, or a table of twelve months."""

from __future__ import annotations

from energy.tariffs.readers.espi import read_espi
from energy.tariffs.readers.interval_csv import read_interval_csv
from energy.tariffs.readers.monthly_table import MonthlyTable, read_monthly_table
from energy.tariffs.readers.series import Series

__all__ = ["MonthlyTable", "Series", "read_espi", "read_interval_csv", "read_monthly_table"]
