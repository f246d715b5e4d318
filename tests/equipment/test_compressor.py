"""What a cubic metre of compressed air takes in electricity."""

from __future__ import annotations

import tomllib
from pathlib import Path

import numpy as np
import pytest

from energy.equipment import compressor
from energy.errors import UnknownNameError

TABLES = tomllib.loads((Path(__file__).parents[1] / "published" / "equipment.toml").read_text("utf-8"))


def rows(table):
    return [
        pytest.param(r, id=r["where"], marks=pytest.mark.published(r["source"], where=r["where"], quoted=r["quoted"]))
        for r in TABLES[table]
    ]


PSI, CUBIC_FOOT = 6894.757, 0.3048**3
KILOWATT_PER_100_CFM = 1e3 / (100 * CUBIC_FOOT / 60)  # in J/m3


@pytest.mark.parametrize("row", rows("specific_power"))
def test_specific_power_and_efficiency_belong_together(row):
    discharge = 1e5 + row["psig"] * PSI
    specific = row["kilowatt_per_100_cfm"] * KILOWATT_PER_100_CFM
    assert compressor.implied_efficiency(specific, discharge) == pytest.approx(row["efficiency"], abs=6e-4)
    # Three digits of efficiency are 0.08 % of specific power.
    back = compressor.specific_power_from_efficiency(discharge, row["efficiency"])
    assert back == pytest.approx(specific, rel=9e-4)


@pytest.mark.published(
    "ideal gas law, dry air",
    where="1 scfm at 14.5 psia and 68 degF is 5.6084e-4 kg/s",
    quoted="computed in reference table",
)
def test_free_air():
    # The reference of ISO 1217 is 1 bar, 14.5038 psia. Real air is 0.02 to 0.03 % denser than the ideal gas here.
    flow = compressor.free_air_flow(5.6084e-4 * 1e5 / (14.5 * PSI))
    assert flow == pytest.approx(CUBIC_FOOT / 60, rel=3e-4)


PART_LOAD = [
    ("modulating", 0.85, "modulation at 50 % is about 85 %: read"),
    ("load-unload", 0.625, "ideal load/unload 0.25 + 0.75 c: from memory"),
    ("variable-speed", 0.55, "variable speed 0.10 + 0.90 c: from memory"),
]


@pytest.mark.parametrize(
    ("control", "half"),
    [
        pytest.param(c, h, id=c, marks=pytest.mark.published("Part load of compressors", where=c, quoted=q))
        for c, h, q in PART_LOAD
    ],
)
def test_part_load(control, half):
    assert compressor.power_share(0.5, control) == pytest.approx(half, abs=5e-3)
    share = np.array([0.0, 0.3, 0.7, 1.0])
    power = compressor.power_share(share, control)
    assert power[-1] == pytest.approx(1.0, rel=1e-12)
    # One more cubic metre takes the slope, everywhere the same.
    assert np.diff(power) / np.diff(share) == pytest.approx([compressor.marginal_share(control)] * 3)


def test_an_unknown_control_is_refused():
    for function in (lambda c: compressor.power_share(0.5, c), compressor.marginal_share):
        with pytest.raises(UnknownNameError, match=r"'modulation' is not one of .*; did you mean 'modulating'\?"):
            function("modulation")


@pytest.mark.published(
    "US DOE Compressed Air Tip Sheet 1",
    where="200 hp, 215 bhp, 6800 h: 48,792.33 + 2,272.19 USD",
    quoted="inputs read in two reprints, those of the unloaded state from memory; result computed in reference table",
)
def test_yearly_cost_of_a_compressor():
    cost = compressor.motor_energy_cost(
        215 * 746.0, 6800 * 3600.0, 0.05 / 3.6e6, np.array([0.85, 0.15]), np.array([1.0, 0.25]), np.array([0.95, 0.90])
    )
    assert cost == pytest.approx([48792.33, 2272.19], abs=0.006)
    assert cost.sum() == pytest.approx(51064.52, abs=0.006)
