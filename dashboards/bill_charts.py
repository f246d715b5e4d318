"""Charts of a tariff and its bill as plotly figures in plain dictionaries; the page adds fonts and background."""

from __future__ import annotations

from calendar import month_abbr
from dataclasses import dataclass

import numpy as np

from dashboards import palette
from dashboards.charts import LINES, Figure
from dashboards.markup import escape
from energy.tariffs import Bill, Tariff, quarter_hours
from energy.units import to_unit
from energy.units.currencies import decimals

DAYS = {"Monday to Friday": range(5), "Saturday": range(5, 6), "Sunday": range(6, 7)}
"""Days whose prices are drawn, by their name on the page."""
MONTHS = [*month_abbr[1:]]
_SCALE = [[0.0, palette.BLUE], [0.5, palette.SKY_BLUE], [1.0, palette.YELLOW]]
"""From little to much; lightness rises with it, so that it reads without colours too."""
_PATTERNS = ("", "/", ".", "x", "-")


@dataclass(frozen=True, slots=True)
class Grid:
    """The price cell that prevails at each hour of each month, for some days of the week."""

    cell: np.ndarray
    """Shape (12, 24)."""
    price: np.ndarray
    """Shape (12, 24). [money per `unit`]"""


def grid(tariff: Tariff, prices: np.ndarray, year: int, days: str, unit: str) -> Grid:
    """Prices by month and hour.

    Parameters
    ----------
    tariff : Tariff
    prices : ndarray, shape (12, cells)
        [money/J]
    year : int
    days : str
        A key of `DAYS`; holidays among them do not prevail.
    unit : str
        Unit of energy.
    """
    calendar = tariff.price_calendar
    clock = quarter_hours(year, calendar.time_zone)
    on = np.isin(clock.weekday, [*DAYS[days]])
    count = len(calendar.cells)
    code = ((clock.month * 24 + clock.quarter // 4) * count + calendar.cell_at(clock))[on]
    cell = np.bincount(code, minlength=12 * 24 * count).reshape(12, 24, count).argmax(-1)
    by_unit = prices / float(to_unit(1.0, "energy", unit))
    return Grid(cell=cell, price=by_unit[np.arange(12)[:, None], cell])


def price_map(tariff: Tariff, drawn: Grid, days: str, unit: str, ends: tuple[float, float]) -> Figure:
    """Price of one more unit of energy, hour by month; colours between the lowest and highest price of all days."""
    cells = [escape(name, quote=False) for name in tariff.price_calendar.cells]
    low, high = ends
    money = f"{tariff.currency}/{unit}"
    return {
        "data": [
            {
                "type": "heatmap",
                "x": [f"{hour:02d}" for hour in range(24)],
                "y": MONTHS,
                "z": np.round(drawn.price, 6).tolist(),
                "text": [[cells[c] for c in row] for row in drawn.cell],
                "zmin": low,
                "zmax": high,
                "colorscale": _SCALE,
                "xgap": 1,
                "ygap": 1,
                "colorbar": {"title": {"text": money}, "thickness": 14, "outlinewidth": 0, "tickformat": ".4~g"},
                "hovertemplate": f"%{{y}}, {days}, from %{{x}}:00<br>%{{z:.5~g}} {money}<br>%{{text}}<extra></extra>",
            }
        ],
        "layout": {
            "height": 350,
            "margin": {"l": 8, "r": 8, "t": 8, "b": 52},
            "xaxis": {
                "title": {"text": "hour of the day on the tariff's clock, from"},
                "type": "category",
                "showgrid": False,
            },
            "yaxis": {"autorange": "reversed", "type": "category", "showgrid": False},
        },
    }


def by_month(year: Bill) -> Figure:
    """A year's bill, months stacked by line."""
    labels = [*year.by_label()]
    data = []
    for i, label in enumerate(labels):
        amounts = np.zeros(12)
        for line in year.lines:
            if line.line == label:
                amounts[line.month - 1] += float(line.amount)
        data.append(
            {
                "type": "bar",
                "name": escape(label, quote=False),
                "x": MONTHS,
                "y": amounts.tolist(),
                "marker": {"color": LINES[i % len(LINES)], "pattern": {"shape": _PATTERNS[i // len(LINES) % 5]}},
                "hovertemplate": f"%{{x}}: %{{y:,.{decimals(year.currency)}f}} {year.currency}<extra>%{{fullData.name}}</extra>",
            }
        )
    return {
        "data": data,
        "layout": {
            "height": 360,
            "barmode": "relative",
            "yaxis": {"title": {"text": f"{year.currency} a month"}},
            "xaxis": {"type": "category"},
        },
    }
