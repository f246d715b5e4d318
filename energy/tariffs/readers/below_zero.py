"""Readings below zero, told with their size and time."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from energy.tariffs.readers.series import Series
from energy.units import to_unit

LISTED = 3
"""Readings that are listed one by one; of more the first, the last and the lowest."""


def told(series: Series) -> Series:
    """The same readings, with a note of those below zero."""
    said = below_zero(series)
    return replace(series, notes=(*series.notes, said)) if said else series


def below_zero(series: Series) -> str:
    """Which readings are negative, how much and when; empty where none is."""
    at = np.flatnonzero(series.amount < 0.0)
    if not at.size:
        return ""
    if at.size == 1:
        return f"1 reading is negative: {_one(series, int(at[0]))}; it is counted as it stands"
    if at.size <= LISTED:
        listed = ", ".join(_one(series, i) for i in at.tolist())
        return f"{at.size} readings are negative: {listed}; they are counted as they stand"
    lowest = int(at[np.argmin(series.amount[at])])
    first, last = (series.show(series.start[i]) for i in at[[0, -1]])
    return f"{at.size:,} readings are negative, from {first} to {last}, the lowest {_one(series, lowest)}; they are counted as they stand"


def _one(series: Series, i: int) -> str:
    return f"{size(series, i)} at {series.show(series.start[i])}"


def size(series: Series, i: int) -> str:
    """One reading with its unit, of electricity with its mean power too."""
    amount = float(series.amount[i])
    if series.counted == "volume":
        return f"{amount:,.6g} m³"
    if series.counted != "energy":
        return f"{to_unit(amount, 'energy', 'kWh'):,.6g} {'kvarh' if series.counted == 'reactive energy' else 'kVAh'}"
    energy = f"{to_unit(amount, 'energy', 'kWh'):,.6g} kWh"
    if series.commodity not in (None, "electricity"):
        return energy
    return f"{energy} ({series.power[i] / 1e3:,.6g} kW)"
