"""Molar mass lost to water in the melt."""

from __future__ import annotations

import tomllib
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from energy.errors import OutOfRangeError
from energy.resins.hydrolysis import molar_mass_loss

ROWS = tomllib.loads((Path(__file__).parents[1] / "published" / "diffusion.toml").read_text("utf-8"))["hydrolysis"]


@pytest.mark.parametrize(
    "row",
    [
        pytest.param(row, marks=pytest.mark.published(row["source"], where=row["where"], quoted=row["quoted"]))
        for row in ROWS
    ],
)
def test_printed_losses(row):
    assert 100.0 * molar_mass_loss(1e-6 * row["moisture_ppm"]) == pytest.approx(row["loss_percent"], abs=0.051)


@given(st.floats(0.0, 0.01), st.floats(0.0, 0.01), st.floats(5.0, 100.0))
def test_bounds_and_monotony(one, other, mass):
    drier, wetter = sorted((one, other))
    less, more = molar_mass_loss(np.array([drier, wetter]), mass)
    assert 0.0 <= less <= more < 1.0
    assert less == molar_mass_loss(drier, mass)


def test_limits():
    assert molar_mass_loss(0.0) == 0.0
    # As many water molecules as chains: each is cut in two.
    assert molar_mass_loss(0.01801528 / 25.0, 25.0) == pytest.approx(0.5)


def test_refused():
    with pytest.raises(OutOfRangeError, match="moisture = -1 kg/kg"):
        molar_mass_loss(-1.0)
    with pytest.raises(OutOfRangeError, match="molar mass = 0 kg/mol"):
        molar_mass_loss(5e-5, 0.0)
    assert np.isnan(molar_mass_loss([5e-5, 2.0], on_range="nan")).tolist() == [False, True]
