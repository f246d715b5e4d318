"""How long it takes, beside the least that numpy or Python would need: ratios hold where seconds do not.

Not part of the tests. With the `benchmark` extra:

    pytest -n 0 tests/benchmarks/bench_*.py

prints one table: what was measured, the floor under it, their ratio, what it should reach and what it must never exceed.
Times are of the processor, those of processes started included, so that others at work disturb less (POSIX only).
"""

from __future__ import annotations

import os
import subprocess
import sys
from collections.abc import Callable
from dataclasses import fields, replace
from itertools import count

import numpy as np
import pytest

import energy
from energy import finance, tariffs
from energy.air import moist, water_vapour
from energy.resins import diffusion
from energy.study import uncertainty

RNG = np.random.default_rng(1)
Row = Callable[..., None]


def fresh(name: str) -> Callable[[], energy.Case]:
    """Checked cases of one kind, no two with the same air: nothing is known from the one before."""
    case, altitudes = energy.load_case(name), count(100)
    made = iter([case.with_({"site.altitude": f"{next(altitudes)} m"}) for _ in range(12)])
    return lambda: next(made)


def test_moist_air(row: Row) -> None:
    n = 1_000_000
    t, dew, p = RNG.uniform(300.0, 420.0, n), RNG.uniform(233.0, 290.0, n), np.full(n, 101325.0)
    w = water_vapour.humidity_ratio(dew, p)

    def floor() -> None:
        np.exp(w), np.log(t), np.log(p), w.copy(), t.copy(), p.copy()

    row(
        "humidity ratio, enthalpy and dew point, a state of 1e6",
        lambda: (water_vapour.humidity_ratio(dew, p), moist.enthalpy(t, w), water_vapour.dew_point(w, p)),
        floor,
        reach="10x",
        worst="20x",
        per=n,
    )


@pytest.mark.parametrize("source", ["cells", "cells of draws", "intervals", "intervals of draws"])
def test_bill(row: Row, source: str) -> None:
    tariff = tariffs.load_tariff("time-of-use-electricity")
    clock = tariffs.quarter_hours(2026, tariff.price_calendar.time_zone)
    power = RNG.uniform(2e5, 5e5, clock.day.size)
    start = int(np.datetime64("2026-01-01T05:00", "s").astype(int)) + 900 * np.arange(power.size)

    def load(of: np.ndarray) -> tariffs.Load:
        return tariffs.load_from_series(start, of, tariff, step=900.0)

    name = "a year's bill from 35,040 intervals"
    if source == "intervals":
        row(name, lambda: tariffs.bill(tariff, load(power), "steady"), _sums(power), **BILL)
        return
    if source == "intervals of draws":
        drawn_power = RNG.uniform(0.9, 1.1, (64, 1)) * power
        ours = lambda: tariffs.bill(tariff, load(drawn_power), "steady")  # noqa: E731
        row(f"{name}, one of 64 at once", ours, _sums(drawn_power), per=64, **BILL)
        return
    known = load(power)
    name = "a year's bill from its table of price cells"
    if source == "cells":
        row(name, lambda: tariffs.bill(tariff, known, "steady"), _sums(power), **BILL)
        return
    draws = 1024
    factor = RNG.uniform(0.9, 1.1, draws)
    quantities = {f.name: getattr(known, f.name) for f in fields(known)}
    scaled = {
        key: factor.reshape(-1, *(1,) * value.ndim) * value
        for key, value in quantities.items()
        if isinstance(value, np.ndarray)
    }
    drawn = replace(known, **scaled)
    row(
        f"{name}, one of {draws:,} at once",
        lambda: tariffs.bill(tariff, drawn, "steady"),
        _sums(power),
        per=draws,
        floor_per=1,
        **BILL,
    )


BILL = {"reach": "1x", "worst": "5x", "rounds": 100}


def _sums(power: np.ndarray) -> Callable[[], object]:
    return lambda: (power.sum(-1), power.max(-1))


def test_rates_of_return(row: Row) -> None:
    n = 100_000
    flows = np.concatenate([-RNG.uniform(5e4, 2e5, (n, 1)), RNG.uniform(5e3, 4e4, (n, 15))], axis=1)
    row(
        "NPV and IRR with its count of roots, a flow of 1e5, 15 years",
        lambda: (finance.npv(0.08, flows), finance.irr(flows)),
        lambda: flows @ np.ones(16),
        reach="1 us",
        worst="4 us",
        per=n,
        rounds=3,
    )


def test_diffusion(row: Row) -> None:
    n = 100_000
    passed = 10.0 ** RNG.uniform(-9.0, -5.0, n)
    row(
        "moisture left in a short cylinder, a case of 1e5",
        lambda: diffusion.short_cylinder(passed, 1.5e-3, 3e-3),
        lambda: np.exp(passed),
        reach="60x",
        worst="150x",
        per=n,
    )


@pytest.mark.parametrize("name", ["one-machine", "demo"])
@pytest.mark.parametrize("kind", ["checked case", "once more, machines known", "from its file, machines known"])
def test_compare(row: Row, name: str, kind: str) -> None:
    case, cases = energy.load_case(name), fresh(name)
    work = {
        "checked case": lambda: energy.compare(cases()),
        "once more, machines known": lambda: energy.compare(case),
        "from its file, machines known": lambda: energy.compare(energy.load_case(name)),
    }
    limits = ("30 ms", "80 ms") if kind.startswith("from") else ("5 ms", "15 ms")
    row(f"compare {name} ({MACHINES[name]} machines): {kind}", work[kind], reach=limits[0], worst=limits[1], rounds=10)


MACHINES = {"one-machine": 9, "demo": 41}


@pytest.mark.parametrize(("name", "draws"), [("one-machine", 8192), ("demo", 1024)])
def test_simulate(row: Row, name: str, draws: int) -> None:
    case = energy.load_case(name)
    inputs, _ = uncertainty.uncertain_inputs(case)
    points = uncertainty.correlated(inputs, uncertainty.probabilities(draws, len(inputs), 1))
    alone = fresh(name)
    row(
        f"a draw of {name}, {draws:,} at once; floor: a comparison alone",
        lambda: uncertainty.outcomes(case, inputs, points),
        lambda: energy.compare(alone()),
        reach="0.1 ms",
        worst="0.3 ms",
        rounds=1,
        per=draws,
        floor_per=1.0,
    )


@pytest.mark.parametrize(
    ("name", "arguments", "floor", "reach", "worst"),
    [
        ("dryer-energy --help; floor: Python", ("--help",), "pass", "3x", "6x"),
        (
            "dryer-energy compare one-machine; floor: import numpy",
            ("compare", "one-machine"),
            "import numpy",
            "4x",
            "8x",
        ),
        ("dryer-energy compare demo; floor: import numpy", ("compare", "demo"), "import numpy", "4x", "8x"),
    ],
)
def test_command_line(row: Row, name: str, arguments: tuple[str, ...], floor: str, reach: str, worst: str) -> None:
    # As installed: modules are compiled by the first run, which is not counted.
    compiled = {key: value for key, value in os.environ.items() if key != "PYTHONDONTWRITEBYTECODE"}

    def run(*command: str) -> Callable[[], object]:
        return lambda: subprocess.run([sys.executable, *command], check=True, capture_output=True, env=compiled)

    row(name, run("-m", "energy.cli", *arguments), run("-c", floor), reach=reach, worst=worst, rounds=5)
