"""Pressure at an altitude against the printed table."""

from __future__ import annotations

import pytest
from air_states import rows

from energy.air import atmosphere


@pytest.mark.parametrize("row", rows("altitude"))
def test_pressure_at_altitude(row):
    assert atmosphere.pressure_at_altitude(row["metre"]) == pytest.approx(row["pascal"], abs=1.0)
