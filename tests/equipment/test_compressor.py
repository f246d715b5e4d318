"""What a cubic metre of compressed air takes in electricity."""

from __future__ import annotations

import tomllib
from pathlib import Path

import numpy as np
import pytest

from energy.equipment import compressor
from energy.errors import OutOfRangeError, UnknownNameError

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


@pytest.mark.published(
    "compressed-air formula page",
    where="reference B13: 50 hp x .746 x 2080 h x .06/.90",
    quoted="page prints 5172.26, cut off; 5172.27 rounded",
)
def test_yearly_cost_of_a_compressor_at_full_load():
    cost = compressor.motor_energy_cost(50 * 746.0, 2080 * 3600.0, 0.06 / 3.6e6, 1.0, 1.0, 0.90)
    assert cost == pytest.approx(5172.265, abs=0.006)


HALF_LOAD = [
    ("modulating", 0.85, "modulation at 50 % is about 85 %: read"),
    ("load-unload", 0.55, "load/unload with adequate storage about 55 %: read"),
    ("load-unload", 0.735, "5 gal/cfm of receiver 0.70 to 0.77: from memory, weak"),
    ("variable-speed", 0.55, "variable speed 0.10 + 0.90 c: from memory"),
]


@pytest.mark.parametrize(
    ("control", "half"),
    [
        pytest.param(c, h, id=f"{c} {h}", marks=pytest.mark.published("Part load of compressors", where=c, quoted=q))
        for c, h, q in HALF_LOAD
    ],
)
def test_published_half_loads_lie_within_the_tolerance(control, half):
    low, likely, high = (idle + (1 - idle) * 0.5 for idle in compressor.idle_share(control))
    assert low - 1e-12 <= half <= high + 1e-12
    assert low < likely < high


@pytest.mark.published(
    "Part load of compressors",
    where="modulating: 0.85 of power at half flow; 1.00 at full flow",
    quoted="modulation at 50 % is about 85 %: read; the rest is arithmetic",
)
def test_added_air_takes_less_than_the_average():
    """100 kW at 15 m3/min: half the flow takes 85 kW, all of it 100 kW; the 7.5 m3/min between take 15 kW."""
    full, half, kilowatt = 0.25, 0.125, 1e3
    plant = full, 100 * kilowatt / full, "modulating"
    assert compressor.house_power([half, full], *plant) == pytest.approx([85 * kilowatt, 100 * kilowatt], rel=5e-3)
    assert compressor.marginal_power(half, half, *plant) == pytest.approx(15 * kilowatt / half, rel=3e-2)  # 0.5 of 15
    assert compressor.house_power(half, *plant) / half == pytest.approx(85 * kilowatt / half, rel=5e-3)


def test_air_beyond_the_capacity_takes_full_specific_power():
    """60 kW at 10 m3/min, load/unload: from 8 to 10 the slope 0.75 of 6 kW, the 2 beyond 6 kW: 9 + 12 kW."""
    minute = 1 / 60.0
    plant = 10 * minute, 60e3 / (10 * minute), "load-unload"
    assert compressor.marginal_power(8 * minute, 4 * minute, *plant) == pytest.approx(21e3 / (4 * minute), rel=1e-12)
    flows = np.linspace(0, 20, 41) * minute
    assert np.all(np.diff(compressor.house_power(flows, *plant)) > 0)
    assert compressor.house_power(flows, *plant) == pytest.approx(
        [float(compressor.house_power(f, *plant)) for f in flows], rel=1e-12
    )
    assert compressor.marginal_power(8 * minute, -3 * minute, *plant) == pytest.approx(0.75 * 60e3 / (10 * minute))


def test_flows_that_cannot_be_are_refused():
    for flow, capacity in ((-0.1, 1.0), (0.5, 0.0)):
        with pytest.raises(OutOfRangeError, match="must be 0 or more, and the capacity more than 0"):
            compressor.house_power(flow, capacity, 4e5, "full load")
    with pytest.raises(OutOfRangeError, match="no flow is added"):
        compressor.marginal_power([0.5, 0.5], [0.1, 0.0], 1.0, 4e5, "full load")


SAVINGS = [(110.0, 100.0, 5.15, 0.005), (100.0, 98.0, 1.13, 0.005), (125.0, 100.0, 11.5, 0.05)]


@pytest.mark.parametrize(
    ("supply", "needed", "percent", "half_digit"),
    [
        pytest.param(
            *row,
            id=f"{row[0]:g} to {row[1]:g} psig",
            marks=pytest.mark.published(
                "Isentropic work from 1 bar, 20 degC", where=f"{row[0]:g} to {row[1]:g} psig", quoted="reference B3"
            ),
        )
        for row in SAVINGS
    ],
)
def test_pressure_above_the_need(supply, needed, percent, half_digit):
    high, low = (1e5 + p * PSI for p in (supply, needed))
    assert 100 * compressor.pressure_saving(high, low) == pytest.approx(percent, abs=1.02 * half_digit)
    # "1 % per 2 psi", of the trade press: within a seventh over these spans.
    assert 100 * compressor.pressure_saving(high, low) == pytest.approx((supply - needed) / 2, rel=0.14)
