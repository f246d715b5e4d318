"""Bodies that dry, their series, and the printed tables of diffusion: made for several tests."""

from __future__ import annotations

import tomllib
from pathlib import Path

import numpy as np
import pytest
from scipy.special import jn_zeros

from energy.resins.diffusion import cylinder, plane_sheet, short_cylinder, sphere

TABLES = tomllib.loads((Path(__file__).parents[1] / "published" / "diffusion.toml").read_text("utf-8"))
ONES = (1.0, 2.0)  # a cylinder as long as wide, on the radius
SHAPES = {"sphere": (sphere, ()), "cylinder": (cylinder, ()), "plane_sheet": (plane_sheet, ())}
ALL_SHAPES = SHAPES | {"short_cylinder": (short_cylinder, ONES)}
HOUR = 3600.0

ORDER = np.arange(1.0, 4001.0)
SERIES = {  # 4000 terms: decay and weight of each
    "sphere": ((ORDER * np.pi) ** 2, 6.0 / (ORDER * np.pi) ** 2),
    "cylinder": (jn_zeros(0, 4000) ** 2, 4.0 / jn_zeros(0, 4000) ** 2),
    "plane_sheet": (((ORDER - 0.5) * np.pi) ** 2, 2.0 / ((ORDER - 0.5) * np.pi) ** 2),
}


def rows(table: str) -> list:
    def mark(row):
        return pytest.mark.published(row["source"], where=row["where"], quoted=row["quoted"])

    return [
        pytest.param(row, marks=mark(row), id=str(row.get("material", next(iter(row.values())))))
        for row in TABLES[table]
    ]
