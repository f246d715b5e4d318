"""The least sweep of a membrane: the bound that any purge obeys."""

from __future__ import annotations

import numpy as np
import pytest
from CoolProp.CoolProp import PropsSI
from hypothesis import given
from hypothesis import strategies as st

from energy.equipment.membrane import least_sweep_share

ATM, PSI = 101325.0, 6894.757


@pytest.mark.parametrize(
    ("psig", "percent"),
    [
        pytest.param(
            *v,
            marks=pytest.mark.published(
                "Water balance of a purge",
                where=f"all water removed at {v[0]} psig",
                quoted="computed in reference table",
            ),
        )
        for v in ((80, 15.5), (100, 12.8), (120, 10.9))
    ],
)
def test_bound_for_full_removal(psig, percent):
    assert 100 * least_sweep_share(ATM + psig * PSI, ATM, 870.0, 0.0) == pytest.approx(percent, abs=0.06)


@given(st.floats(3e5, 1.3e6), st.floats(6e4, ATM), st.floats(275, 310), st.floats(0.0, 1.0))
def test_the_sweep_just_carries_the_water(supply, atmosphere, dew, left):
    """Sweep saturated, at the feed's own vapour pressure, takes away what feed and product differ by."""
    inlet = PropsSI("P", "T", dew, "Q", 1, "Water")
    share = least_sweep_share(supply, atmosphere, inlet, left * inlet)
    # Mole ratios without the small vapour share in the total: water per air is p_w / p on either side.
    carried = share * inlet / atmosphere
    # The difference of two nearly equal shares keeps the rounding of each.
    assert carried == pytest.approx(inlet / supply - left * inlet / supply, rel=1e-12, abs=1e-15 * inlet / supply)
    assert 0 <= share <= atmosphere / supply


def test_array_equals_each_scalar():
    supply, outlet = np.array([5e5, 8e5]), np.array([[0.0], [125.0], [760.0]])
    share = least_sweep_share(supply, ATM, 760.0, outlet)
    assert share.shape == (3, 2)
    for i, j in np.ndindex(3, 2):
        assert share[i, j] == least_sweep_share(supply[j], ATM, 760.0, outlet[i, 0])
    assert share[2].tolist() == [0, 0]
