"""The same sums in plain Python, value by value, and the same yearly bill in a spreadsheet: how much faster the engine is.

Each pair is first seen to give the same. Run with the other benchmarks; the spreadsheet needs LibreOffice.
"""

from __future__ import annotations

import itertools
import math
import time
from collections.abc import Callable, Sequence
from pathlib import Path

import numpy as np
import pytest
import spreadsheet
import xlsxwriter

from energy import finance, tariffs
from energy.air import moist, water_vapour
from energy.resins import diffusion

RNG = np.random.default_rng(2)
Row = Callable[..., None]
BESIDE_PYTHON = {"reach": "0.01x", "worst": "0.033x"}


def horner(x: float, coefficients: Sequence[float]) -> float:
    total = 0.0
    for coefficient in reversed(coefficients):
        total = total * x + coefficient
    return total


def log_saturation(t: float) -> float:
    """ASHRAE Fundamentals 2017, ch. 1, eqs 5 and 6."""
    if t < 273.16:
        series = (6.3925247, -9.677843e-3, 6.2215701e-7, 2.0747825e-9, -9.484024e-13)
        return -5.6745359e3 / t + horner(t, series) + 4.1635019 * math.log(t)
    series = (1.3914993, -4.8640239e-2, 4.1764768e-5, -1.4452093e-8)
    return -5.8002206e3 / t + horner(t, series) + 6.5459673 * math.log(t)


def log_enhancement(t: float, p_sat: float, p: float) -> float:
    u = 273.15 / t - 1.0
    far = horner(u, (3.513592e-3, 9.435476e-3, 9.649186e-3, 2.636076e-3))
    near = horner(u, (6.092705e-2, 2.422666e-1, 2.633967e-1))
    return 1e-5 * (p - p_sat) * (far + p_sat / p * near + 9.543999e-11 * p)


def humidity_ratio(dew: float, p: float) -> float:
    p_sat = math.exp(log_saturation(dew))
    p_w = p_sat * math.exp(log_enhancement(dew, p_sat, p))
    return 0.621945 * p_w / (p - p_w)


def enthalpy(t: float, w: float) -> float:
    t -= 273.15
    return t * horner(t, (1005.6468, 7.70487e-3, 1.349173e-4)) + w * (2501e3 + 1860.0 * t)


def dew_point(w: float, p: float) -> float:
    """The temperature whose humidity ratio it is, by secants on its logarithm."""
    wanted = math.log(w)
    low, high = 230.0, 290.0
    f_low, f_high = math.log(humidity_ratio(low, p)) - wanted, math.log(humidity_ratio(high, p)) - wanted
    while abs(high - low) > 1e-6:
        low, f_low, high = high, f_high, high - f_high * (high - low) / (f_high - f_low)
        f_high = math.log(humidity_ratio(high, p)) - wanted
    return high


def test_moist_air(row: Row) -> None:
    n, few = 100_000, 1_000
    t, dew, p = RNG.uniform(300.0, 420.0, n), RNG.uniform(233.0, 290.0, n), np.full(n, 101325.0)
    w = water_vapour.humidity_ratio(dew, p)
    one_by_one = list(zip(t[:few].tolist(), dew[:few].tolist(), w[:few].tolist(), strict=True))

    def plain() -> list[tuple[float, float, float]]:
        return [(humidity_ratio(d, 101325.0), enthalpy(a, b), dew_point(b, 101325.0)) for a, d, b in one_by_one]

    def ours() -> tuple[np.ndarray, ...]:
        return water_vapour.humidity_ratio(dew, p), moist.enthalpy(t, w), water_vapour.dew_point(w, p)

    for mine, theirs in zip(ours(), zip(*plain(), strict=True), strict=True):
        np.testing.assert_allclose(mine[:few], theirs, rtol=1e-7)
    row(
        "humidity ratio, enthalpy and dew point; floor: plain Python",
        ours,
        plain,
        per=n,
        floor_per=few,
        **BESIDE_PYTHON,
    )


def short_cylinder(passed: float, radius: float, length: float) -> float:
    """Sums of exponentials; below a Fourier number of 0.02 more of them than the engine takes."""
    sheet = cylinder = 0.0
    fo = passed / (0.5 * length) ** 2
    for k in range(1, 400, 2):
        term = 8.0 / (k * math.pi) ** 2 * math.exp(-((0.5 * k * math.pi) ** 2) * fo)
        sheet += term
        if term < 1e-12:
            break
    fo = passed / radius**2
    for zero in diffusion.BESSEL_ZEROS:
        term = 4.0 / zero**2 * math.exp(-(zero**2) * fo)
        cylinder += term
        if term < 1e-12:
            break
    return sheet * cylinder


def test_diffusion(row: Row) -> None:
    n, few = 100_000, 1_000
    passed = RNG.uniform(0.05, 0.6, n) * 1.5e-3**2
    one_by_one = passed[:few].tolist()

    def plain() -> list[float]:
        return [short_cylinder(value, 1.5e-3, 3e-3) for value in one_by_one]

    def ours() -> np.ndarray:
        return diffusion.short_cylinder(passed, 1.5e-3, 3e-3)

    np.testing.assert_allclose(ours()[:few], plain(), rtol=1e-8)
    row("moisture left in a short cylinder; floor: plain Python", ours, plain, per=n, floor_per=few, **BESIDE_PYTHON)


def rate_of_return(flows: Sequence[float]) -> float:
    """Newton's steps on the present value, from its only change of sign."""
    changes = sum(a < 0.0 <= b or b < 0.0 <= a for a, b in itertools.pairwise(flows))
    if changes != 1:
        return math.nan
    rate = 0.1
    for _ in range(50):
        value = slope = 0.0
        for year, flow in enumerate(flows):
            present = flow / (1.0 + rate) ** year
            value += present
            slope -= year * present / (1.0 + rate)
        step = value / slope
        rate -= step
        if abs(step) < 1e-12:
            break
    return rate


def test_rates_of_return(row: Row) -> None:
    n, few = 100_000, 500
    flows = np.concatenate([-RNG.uniform(5e4, 2e5, (n, 1)), RNG.uniform(5e3, 4e4, (n, 15))], axis=1)
    one_by_one = flows[:few].tolist()

    def plain() -> list[tuple[float, float]]:
        return [(sum(f / 1.08**y for y, f in enumerate(own)), rate_of_return(own)) for own in one_by_one]

    def ours() -> tuple[np.ndarray, np.ndarray]:
        return finance.npv(0.08, flows), finance.irr(flows)[0]

    for mine, theirs in zip(ours(), zip(*plain(), strict=True), strict=True):
        np.testing.assert_allclose(mine[:few], theirs, rtol=1e-8, atol=1e-8)
    row("NPV and IRR, 15 years; floor: plain Python", ours, plain, per=n, floor_per=few, rounds=3, **BESIDE_PYTHON)


KWH = 3.6e6


class Year:
    """Readings of a year by quarter of an hour and the time-of-use tariff of the demo, in the words of its own file."""

    def __init__(self) -> None:
        self.tariff = tariffs.load_tariff("time-of-use-electricity")
        calendar = self.tariff.price_calendar
        clock = tariffs.quarter_hours(2026, calendar.time_zone)
        self.start, self.power = clock.time, RNG.uniform(2e5, 5e5, clock.time.size)
        self.month, self.cell, self.cells = clock.month, calendar.cell_at(clock), calendar.cells

    def bill(self, power: np.ndarray) -> tariffs.Bill:
        load = tariffs.load_from_series(self.start, power, self.tariff, step=900.0)
        return tariffs.bill(self.tariff, load, "steady")


ENERGY_PRICE = {"summer on-peak": 0.165, "winter on-peak": 0.128, "summer off-peak": 0.078, "winter off-peak": 0.078}
DEMAND_PRICE = {"summer on-peak": 14.0, "winter on-peak": 9.0}


def plain_bill(power: Sequence[float], month: Sequence[int], cell: Sequence[int], cells: Sequence[str]) -> float:
    energy = [[0.0] * len(cells) for _ in range(12)]
    peak = [[0.0] * len(cells) for _ in range(12)]
    for value, m, c in zip(power, month, cell, strict=True):
        energy[m][c] += value
        if value > peak[m][c]:
            peak[m][c] = value
    highest = [max(row) / 1e3 for row in peak]
    total = 0.0
    for m in range(12):
        taxed = sum(e * 900.0 / KWH * ENERGY_PRICE[name] for e, name in zip(energy[m], cells, strict=True))
        taxed += sum(p / 1e3 * DEMAND_PRICE.get(name, 0.0) for p, name in zip(peak[m], cells, strict=True))
        ratchet = 0.8 * max(highest[(m - back) % 12] for back in range(1, 12))
        taxed += 6.0 * max(highest[m], ratchet)
        total += 250.0 + 1.06 * taxed
    return total


def test_bill(row: Row) -> None:
    year, draws = Year(), 64
    power = RNG.uniform(0.9, 1.1, (draws, 1)) * year.power
    lists = [of.tolist() for of in (power[0], year.month, year.cell)]
    assert plain_bill(*lists, year.cells) == pytest.approx(float(year.bill(power).total[0]), rel=1e-9)
    row(
        "a year's bill from 35,040 intervals, 64 at once; floor: plain Python",
        lambda: year.bill(power),
        lambda: plain_bill(*lists, year.cells),
        per=draws,
        floor_per=1,
        **BESIDE_PYTHON,
    )


def bare_bill(year: Year) -> Callable[[np.ndarray], float]:
    """The amount of the year in the fewest calls of numpy, all else of this one tariff laid out before: no lines, no checks."""
    code = year.month * len(year.cells) + year.cell
    run = np.flatnonzero(np.diff(code, prepend=-1))
    price = np.array([ENERGY_PRICE[name] for name in year.cells])[year.cell[run]] * 900.0 / KWH
    of_month = np.flatnonzero(np.diff(year.month[run], prepend=-1))
    order = np.argsort(code[run], kind="stable")
    codes, first = np.unique(code[run][order], return_index=True)
    demand = np.array([DEMAND_PRICE.get(name, 0.0) for name in year.cells])[codes % len(year.cells)] / 1e3
    month = np.flatnonzero(np.diff(codes // len(year.cells), prepend=-1))
    others = (np.arange(12)[:, None] + np.arange(1, 12)) % 12

    def amount(power: np.ndarray) -> float:
        energy = np.add.reduceat(np.add.reduceat(power, run) * price, of_month)
        highest = np.maximum.reduceat(np.maximum.reduceat(power, run)[order], first)
        peak = np.maximum.reduceat(highest, month)
        billed = np.maximum(peak, 0.8 * peak[others].max(-1))
        taxed = energy + np.add.reduceat(highest * demand, month) + 6e-3 * billed
        return float(12 * 250.0 + 1.06 * taxed.sum())

    return amount


def test_bill_beside_bare_numpy(row: Row) -> None:
    """What is left for months, lines and checks of a bill that may take five floors."""
    year = Year()
    bare = bare_bill(year)
    assert bare(year.power) == pytest.approx(float(year.bill(year.power).total), rel=1e-12)
    row(
        "the amount alone of that bill, this one tariff in bare numpy",
        lambda: bare(year.power),
        lambda: (year.power.sum(), year.power.max()),
        rounds=100,
        reach="1x",
        worst="5x",
    )


HOURS = 8_760
BOOKS = 40


def hourly(year: Year) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Month, price cell and mean power of each hour; the prices change on whole hours only."""
    return year.month[::4], year.cell[::4], year.power.reshape(HOURS, 4).mean(1)


def workbook(path: Path, year: Year, rows: int, bills: int) -> None:
    """Hours on the first sheets, one for each bill; bills by sums and maxima over the first `rows` hours on the last."""
    month, cell, power = hourly(year)
    with xlsxwriter.Workbook(path) as book:
        total = book.add_worksheet("total")
        for number in range(bills):
            sheet = book.add_worksheet(f"hours{number}")
            sheet.write_column(0, 0, month + 1)
            sheet.write_column(0, 1, [year.cells[c] for c in cell])
            sheet.write_column(0, 2, power * (1.0 + 0.001 * number) / 1e3)
            write_bill(sheet, year.cells, rows)
            total.write_formula(number, 0, f"=SUM('hours{number}'!N1:N12)", None, 0)


def write_bill(sheet: xlsxwriter.worksheet.Worksheet, cells: Sequence[str], rows: int) -> None:
    """Columns: energies E to H, peaks I to L, highest M, amount N."""
    of_month, of_cell, power = f"$A$1:$A${rows}", f"$B$1:$B${rows}", f"$C$1:$C${rows}"
    for m in range(12):
        line = m + 1
        for place, name in enumerate(cells):
            where = f'{of_month},{line},{of_cell},"{name}"'
            sheet.write_formula(m, 4 + place, f"=SUMIFS({power},{where})", None, 0)
            sheet.write_formula(m, 8 + place, f"=_xlfn.MAXIFS({power},{where})", None, 0)
        sheet.write_formula(m, 12, f"=MAX(I{line}:L{line})", None, 0)
        energy = "+".join(f"{c}{line}*{ENERGY_PRICE[name]}" for c, name in zip("EFGH", cells, strict=True))
        demand = "+".join(f"{c}{line}*{DEMAND_PRICE.get(name, 0.0)}" for c, name in zip("IJKL", cells, strict=True))
        others = ",".join(f"M{other + 1}" for other in range(12) if other != m)
        facility = f"6*MAX(M{line},0.8*MAX({others}))"
        sheet.write_formula(m, 13, f"=250+1.06*({energy}+{demand}+{facility})", None, 0)


@pytest.mark.skipif(spreadsheet.SOFFICE is None, reason="LibreOffice (soffice) is not installed")
def test_bill_beside_a_spreadsheet(row: Row, tmp_path: Path) -> None:
    """What its sums over the hours take: the time of a workbook less that of one whose sums look at one hour only; the middle of three."""
    year, took, totals = Year(), [], {}
    for turn in range(3):
        seconds = {}
        for hours in (HOURS, 1):
            folder = tmp_path / f"{turn}-{hours}"
            folder.mkdir()
            workbook(folder / "bills.xlsx", year, hours, BOOKS)
            started = time.perf_counter()
            totals[hours] = float(spreadsheet.recalculated(folder)["bills"]["total"][0][0])
            seconds[hours] = time.perf_counter() - started
        took.append(seconds[HOURS] - seconds[1])
    start, power = year.start[::4], hourly(year)[2]
    tariff = year.tariff.model_copy(update={"demand_window": 3600})

    def ours() -> float:
        load = tariffs.load_from_series(start, power, tariff, step=3600.0)
        return float(tariffs.bill(tariff, load, "steady").total)

    assert ours() == pytest.approx(totals[HOURS], rel=1e-6)
    row(
        "a year's bill from 8,760 hours; floor: a spreadsheet",
        ours,
        known_floor=float(np.median(took)) / BOOKS,
        rounds=100,
        reach="0.002x",
        worst="0.0033x",
    )
