"""States of air that several tests take, and the printed tables of moist air."""

from __future__ import annotations

import tomllib
from pathlib import Path

import numpy as np
import pytest

TABLES = tomllib.loads((Path(__file__).parents[1] / "published" / "moist_air.toml").read_text("utf-8"))
ATM = 101325.0


def rows(table):
    return [
        pytest.param(
            row,
            id=row["where"],
            marks=pytest.mark.published(row["source"], where=row["where"], quoted=row["quoted"]),
        )
        for row in TABLES[table]
    ]


def kelvin(celsius):
    return celsius + 273.15


# Values inside the range of every function that takes them.
T_ANY = np.array([173.15, 233.15, 273.15, 273.16, 300.0, 372.0, 453.15])
T_DEW = np.array([173.15, 233.15, 253.15, 273.16, 280.0, 300.0, 340.0])
W_ANY = np.array([1e-6, 1e-4, 2e-3, 0.01, 0.03, 0.2, 1.0])
P_ANY = np.array([ATM, 84556.0, 8e5, 5e4, 1.3e6, ATM, 1.6e6])
