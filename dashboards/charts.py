"""Charts of a comparison as plotly figures in plain dictionaries; the page adds fonts and background."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

import numpy as np

from dashboards import palette
from energy.reports.amounts import three_digits
from energy.study import predicted_moisture
from energy.study.compare import KWH, Comparison, OptionResult, Served
from energy.study.load import LoadCurve
from energy.study.sweep import Sweep, total_throughput
from energy.units import shown_unit, to_unit

Figure = dict[str, Any]
DASHES = ("solid", "dash", "dot", "dashdot", "longdash", "longdashdot")
LINES = (
    palette.BLUE,
    palette.VERMILLION,
    palette.BLUISH_GREEN,
    palette.REDDISH_PURPLE,
    palette.ORANGE,
    palette.SKY_BLUE,
    palette.GREY,
    palette.BLACK,
)


def styles(comparison: Comparison) -> dict[str, dict[str, Any]]:
    """Line of each option: the same in every chart, told apart by dashes as well as colour."""
    return {
        o.name: {"color": LINES[i % len(LINES)], "dash": DASHES[i % len(DASHES)], "width": 2.5}
        for i, o in enumerate(comparison.options)
    }


def annual_cost(comparison: Comparison) -> Figure:
    """Running cost of each option, stacked by what the money is spent on; hatched where it does not dry."""
    options = comparison.in_order()[::-1]
    fails = {o.name: o.verdict.overall == "fail" for o in options}
    labels = {o.name: o.name + (" (does not dry)" if fails[o.name] else "") for o in options}
    uses = [use for use in palette.END_USE_COLOURS if any(o.cost_by_end_use.get(use, 0.0) > 0 for o in options)]
    dried = sorted(options, key=lambda o: fails[o.name])  # the first bar is that of the legend
    data: list[dict[str, Any]] = [
        {
            "type": "bar",
            "orientation": "h",
            "name": use,
            "y": [labels[o.name] for o in dried],
            "x": [o.cost_by_end_use.get(use, 0.0) for o in dried],
            "marker": {
                "color": palette.END_USE_COLOURS[use],
                "pattern": {"shape": [palette.VERDICT_PATTERNS["fail" if fails[o.name] else "pass"] for o in dried]},
            },
            "hovertemplate": f"%{{y}}<br>{use}: %{{x:,.0f}} {comparison.case.currency} a year<extra></extra>",
        }
        for use in uses
    ]
    totals = {
        "type": "scatter",
        "mode": "text",
        "y": [labels[o.name] for o in options],
        "x": [o.total_cost for o in options],
        "text": [f" {o.total_cost:,.0f}" for o in options],
        "textposition": "middle right",
        "cliponaxis": False,
        "showlegend": False,
        "hoverinfo": "skip",
    }
    top = max(o.total_cost for o in options)
    return {
        "data": [*data, totals],
        "layout": {
            "barmode": "stack",
            "height": 110 + 40 * len(options),
            "xaxis": {"title": {"text": f"{comparison.case.currency} a year"}, "range": [0, 1.02 * top]},
            "margin": {"l": 8, "r": 64, "t": 8, "b": 8},  # room for the longest bar's total on a phone
            "yaxis": {"categoryorder": "array", "categoryarray": [labels[o.name] for o in options]},
        },
    }


def heat_flow(option: OptionResult, system: str, resin: float) -> Figure:
    """Where the heat goes: the closed balance of one option, per resin.

    Parameters
    ----------
    option : OptionResult
    system : {"si", "us"}
    resin : float
        Resin dried in the year. [kg]
    """
    unit = shown_unit("specific energy", system)

    def size(joules: float) -> float:
        return float(to_unit(joules / resin, "specific energy", unit))

    sources = {k: size(v) for k, v in option.heat_in.items() if v > 0}
    sinks = {k: size(v) for k, v in option.heat_out.items() if v > 0}
    # What comes back from a stream colder than the hall is heat that the hall gives.
    sources |= {f"hall, by {k}": -size(v) for k, v in option.heat_out.items() if v < 0}
    colours = {
        "process heater": palette.END_USE_COLOURS["process heat"],
        "regeneration heater": palette.END_USE_COLOURS["regeneration"],
        "process blower": palette.END_USE_COLOURS["process blower"],
        "regeneration blower": palette.END_USE_COLOURS["regeneration blower"],
        "compressor electricity": palette.END_USE_COLOURS["compressed air"],
        "aftercooler": palette.END_USE_COLOURS["cooling"],
        "resin": palette.YELLOW,
        "evaporated water": palette.BLUE,
    }
    names = [*sources, "dryer", *sinks]
    values = [*sources.values(), sum(sources.values()), *sinks.values()]
    centre = len(sources)
    links = [(i, centre, v) for i, v in enumerate(sources.values())]
    links += [(centre, centre + 1 + i, v) for i, v in enumerate(sinks.values())]
    tint = [_tint(colours.get(names[a if b == centre else b], palette.GREY)) for a, b, _ in links]
    return {
        "data": [
            {
                "type": "sankey",
                "valueformat": ",.3~g",
                "valuesuffix": f" {unit}",
                "node": {
                    "label": [
                        f"{n} {three_digits(v)} {unit if n == 'dryer' else ''}".strip()
                        for n, v in zip(names, values, strict=True)
                    ],
                    "color": [colours.get(n, palette.GREY) for n in names],
                    "pad": 18,
                    "thickness": 14,
                },
                "link": {
                    "source": [a for a, _, _ in links],
                    "target": [b for _, b, _ in links],
                    "value": [v for _, _, v in links],
                    "color": tint,
                },
            }
        ],
        "layout": {"height": 420, "margin": {"l": 8, "r": 8, "t": 16, "b": 16}},
    }


def _tint(colour: str) -> str:
    r, g, b = (int(colour[i : i + 2], 16) for i in (1, 3, 5))
    return f"rgba({r},{g},{b},0.35)"


def moisture(served: Served) -> Figure | None:
    """Moisture against time in the hopper, with target, floor and both clocks; None where the resin's data are missing."""
    duty, m = served.duty, served.verdict.moisture
    times = np.linspace(0.02, 2.0, 61) * m.residence
    lines = predicted_moisture.curve(duty, served.operation, served.machine.inputs, times)
    if lines is None:
        return None
    hours = times / 3600.0
    ppm = {k: to_unit(v, "moisture", "ppm") for k, v in lines.items()}
    target = float(to_unit(m.target, "moisture", "ppm"))
    data: list[Figure] = [
        {
            "type": "scatter",
            "name": "range of the diffusion data",
            "x": [*hours, *hours[::-1]],
            "y": [*ppm["high"], *ppm["low"][::-1]],
            "fill": "toself",
            "fillcolor": _tint(palette.SKY_BLUE),
            "line": {"width": 0},
            "hoverinfo": "skip",
        },
        curve(
            "predicted", hours, ppm["predicted"], palette.BLUE, "solid", "%{y:,.0f} ppm from a hopper for %{x:.2f} h"
        ),
        curve("target", hours[[0, -1]], [target, target], palette.VERMILLION, "dash", "target %{y:,.0f} ppm"),
    ]
    low = min(target, float(ppm["low"][-1]))
    if m.floor is not None and m.floor > 0:
        floor = float(to_unit(m.floor, "moisture", "ppm"))
        low = min(low, floor)
        data.append(
            curve("driest this air allows", hours[[0, -1]], [floor, floor], palette.GREY, "dot", "%{y:,.1f} ppm")
        )
    clocks = [("pellets stay", m.residence, "bottom")]
    if m.diffusion_time:
        clocks.append(("diffusion alone", m.diffusion_time, "bottom"))
    top = float(ppm["high"][0])
    return {
        "data": data,
        "layout": {
            "height": 340,
            "xaxis": {
                "title": {"text": "hours in the hopper"},
                "range": [0, float(hours[-1])],
            },
            "yaxis": {
                "title": {"text": "ppm, wet basis"},
                "type": "log",
                "tickvals": [1, 2, 5, 10, 20, 50, 100, 200, 500, 1000, 2000, 5000, 10000, 20000, 50000],
                "range": [np.log10(max(low, 0.1)) - 0.3, np.log10(top) + 0.15],
            },
            "shapes": [
                {
                    "type": "line",
                    "x0": t / 3600,
                    "x1": t / 3600,
                    "y0": 0,
                    "y1": 1,
                    "yref": "paper",
                    "line": {"dash": "dashdot", "width": 1.5, "color": palette.GREY},
                }
                for _, t, _ in clocks
            ],
            "annotations": [
                {
                    "x": t / 3600,
                    "y": 0.02,
                    "yref": "paper",
                    "text": f" {text}",
                    "xanchor": "left",
                    "yanchor": anchor,
                    "showarrow": False,
                }
                for text, t, anchor in clocks
            ],
        },
    }


def cost_by_throughput(comparison: Comparison, costs: Sweep, system: str) -> Figure:
    """Yearly cost with capital against throughput, every dryer built for each; break-even points marked."""
    unit = shown_unit("mass flow", system)
    flows = to_unit(costs.throughput, "mass flow", unit)
    lines = styles(comparison)
    data = [
        curve(name, flows, cost, **_pen(lines[name]), hover=f"%{{y:,.0f}} at %{{x:.4g}} {unit}")
        for name, cost in costs.cost.items()
    ]
    if costs.break_evens:
        at = [float(to_unit(b.throughput, "mass flow", unit)) for b in costs.break_evens]
        cost = [float(np.interp(b.throughput, costs.throughput, costs.cost[b.above])) for b in costs.break_evens]
        data.append(
            {
                "type": "scatter",
                "mode": "markers",
                "name": "the cheapest changes",
                "x": at,
                "y": cost,
                "text": [f"below: {b.below}<br>above: {b.above}" for b in costs.break_evens],
                "marker": {
                    "symbol": "diamond",
                    "size": 12,
                    "color": palette.YELLOW,
                    "line": {"width": 1.5, "color": palette.BLACK},
                },
                "hovertemplate": f"%{{x:.4g}} {unit}<br>%{{text}}<extra></extra>",
            }
        )
    now = float(to_unit(total_throughput(comparison.case), "mass flow", unit))
    return {
        "data": data,
        "layout": {
            "height": 380,
            "xaxis": {"title": {"text": f"throughput of the plant, {unit}"}, "rangemode": "tozero"},
            "yaxis": {"title": {"text": f"{comparison.case.currency} a year"}, "rangemode": "tozero"},
            "shapes": [
                {
                    "type": "line",
                    "x0": now,
                    "x1": now,
                    "y0": 0,
                    "y1": 1,
                    "yref": "paper",
                    "line": {"dash": "dot", "width": 1.5, "color": palette.GREY},
                }
            ],
            "annotations": [
                {
                    "x": now,
                    "y": 1,
                    "yref": "paper",
                    "text": " this case",
                    "xanchor": "left",
                    "yanchor": "top",
                    "showarrow": False,
                }
            ],
        },
    }


def energy_by_load(comparison: Comparison, loads: LoadCurve, system: str) -> Figure:
    """Energy per kilogram of every option against its load, on a logarithmic scale."""
    unit = shown_unit("specific energy", system)
    lines = styles(comparison)
    data = [
        curve(
            o.name + (" (does not dry)" if o.verdict.overall == "fail" else ""),
            100.0 * loads.load,
            to_unit(loads.energy[o.name], "specific energy", unit),
            **_pen(lines[o.name]),
            hover=f"%{{y:,.3~g}} {unit} at %{{x:.0f}} % load",
        )
        for o in comparison.in_order()
    ]
    return {
        "data": data,
        "layout": {
            "height": 380,
            "xaxis": {"title": {"text": "load, % of the throughput"}, "range": [0, 102]},
            "yaxis": {
                "title": {"text": unit},
                "type": "log",
                "tickvals": [10, 20, 50, 100, 200, 500, 1000, 2000, 5000],
            },
        },
    }


MONTHS = ("Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec")


def energy_by_month(option: OptionResult) -> Figure:
    """Electricity and fuel of one option month by month, stacked by end use."""
    data = []
    for use, colour in palette.END_USE_COLOURS.items():
        parts = [v for (u, carrier), v in option.year.energy.items() if u == use and carrier != "cooling"]
        if not parts or not np.any(sum(parts)):
            continue
        amounts = (sum(parts) + 0.0 * option.year.resin) / KWH
        data.append(
            {
                "type": "bar",
                "name": use,
                "x": list(MONTHS),
                "y": [float(v) for v in amounts],
                "marker": {"color": colour},
                "hovertemplate": f"%{{x}}<br>{use}: %{{y:,.0f}} kWh<extra></extra>",
            }
        )
    return {
        "data": data,
        "layout": {"barmode": "stack", "height": 320, "yaxis": {"title": {"text": "kWh a month"}}},
    }


def cumulative_cash(comparison: Comparison) -> Figure:
    """Money in hand against the baseline, year by year."""
    years = comparison.case.model.finance.years
    lines = styles(comparison)
    data = []
    for o in comparison.in_order():
        if o.measures is None or o.verdict.overall == "fail" or not o.priced:
            continue
        total = np.cumsum(o.measures.cash_flow)
        data.append(
            curve(
                o.name,
                np.arange(total.size),
                total,
                **_pen(lines[o.name]),
                hover=f"%{{y:,.0f}} {comparison.case.currency} after %{{x}} years",
            )
        )
    return {
        "data": data,
        "layout": {
            "height": 380,
            "xaxis": {"title": {"text": "year"}, "dtick": max(1, -(-years // 12)), "range": [0, years + 0.2]},
            "yaxis": {
                "title": {"text": f"{comparison.case.currency}, not discounted"},
                "zeroline": True,
                "zerolinewidth": 2,
            },
        },
    }


def _pen(style: Mapping[str, Any]) -> dict[str, Any]:
    return {"colour": style["color"], "dash": style["dash"]}


def curve(name: str, x: Any, y: Any, colour: str, dash: str, hover: str) -> Figure:
    """A line of a chart, with what is told of the point under the pointer."""
    return {
        "type": "scatter",
        "mode": "lines",
        "name": name,
        "x": [float(v) for v in x],
        "y": [float(v) for v in y],
        "line": {"color": colour, "dash": dash, "width": 2.5},
        "hovertemplate": f"{name}<br>{hover}<extra></extra>",
    }
