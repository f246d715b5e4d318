"""The table of the benchmarks: ours, the floor under it, their ratio, what it should reach and must never exceed."""

from __future__ import annotations

import resource
from collections.abc import Callable, Iterator
from dataclasses import dataclass

import pytest

Row = Callable[..., None]


@dataclass(frozen=True)
class Measured:
    """One line of the table; times of one case. [s]"""

    name: str
    ours: float
    floor: float | None
    reach: str
    worst: str

    def line(self) -> str:
        floor = ratio = ""
        if self.floor is not None:
            floor, ratio = _short(self.floor), f"{self.ours / self.floor:.3g}x"
        return f"{self.name:<62} {_short(self.ours):>9} {floor:>9} {ratio:>8}  {self.reach:>7}  {self.worst:>7}"


def _short(seconds: float) -> str:
    for factor, unit in ((1e9, "ns"), (1e6, "us"), (1e3, "ms")):
        if seconds * factor < 1000.0:
            return f"{seconds * factor:.3g} {unit}"
    return f"{seconds:.3g} s"


@pytest.fixture(scope="session")
def table(request: pytest.FixtureRequest) -> Iterator[list[Measured]]:
    rows: list[Measured] = []
    yield rows
    with request.config.pluginmanager.getplugin("capturemanager").global_and_fixture_disabled():
        print(f"\n\n{'':<62} {'ours':>9} {'floor':>9} {'ratio':>8}  {'reach':>7}  {'worst':>7}")
        for row in rows:
            print(row.line())


@pytest.fixture
def row(benchmark: Callable[..., object], table: list[Measured]) -> Row:
    """Measures one line: ours and its floor in turn, the least of each counts; others may be at work beside."""

    def measure(
        name: str,
        ours: Callable[[], object],
        floor: Callable[[], object] | None = None,
        *,
        reach: str,
        worst: str,
        rounds: int = 7,
        per: float = 1.0,
        floor_per: float | None = None,
        known_floor: float | None = None,
    ) -> None:
        """Times are told for one of `per` cases in a call; the floor's for one of `floor_per`, the same if left out.

        A floor that was measured in another way, of one case, is given as `known_floor`. [s]
        """
        times: list[float] = []
        floors: list[float] = []

        def once() -> None:
            times.append(_seconds(ours))
            if floor is not None:
                floors.append(_seconds(floor))

        benchmark.pedantic(once, rounds=rounds, warmup_rounds=min(1, rounds - 1))
        least = min(floors) / (floor_per or per) if floors else known_floor
        table.append(Measured(name, min(times) / per, least, reach, worst))

    return measure


def _seconds(work: Callable[[], object]) -> float:
    before = _worked()
    work()
    return _worked() - before


def _worked() -> float:
    used = [resource.getrusage(who) for who in (resource.RUSAGE_SELF, resource.RUSAGE_CHILDREN)]
    return sum(u.ru_utime + u.ru_stime for u in used)
