"""Charts of a simulation as plotly figures in plain dictionaries."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from dashboards import palette
from dashboards.charts import Figure, curve, styles
from energy.reports.simulation import place_in_words, widest
from energy.study.life_cycle import YEAR
from energy.study.simulate import Sensitivity, Simulation

BAND = "rgba(0, 114, 178, 0.22)"  # palette.BLUE, seen through
QUARTERS = 4


def cash_band(simulation: Simulation, name: str) -> Figure:
    """Money added up year by year: 8 of 10 simulated cases lie in the band; beside it that of the stated values."""
    found = simulation.cumulative_cash(name)
    measures = simulation.comparison.option(name).measures
    years = np.arange(found["p50"].size)
    currency = simulation.case.currency
    edge = {"color": palette.BLUE, "width": 1}

    def line(values: Sequence[float], **rest: object) -> Figure:
        return {"type": "scatter", "mode": "lines", "x": years.tolist(), "y": [float(v) for v in values], **rest}

    hover = f"%{{y:,.0f}} {currency} after %{{x}} years<extra></extra>"
    data = [
        line(found["p10"], line=edge, showlegend=False, name="P10", hovertemplate=f"P10: {hover}"),
        line(
            found["p90"],
            line=edge,
            fill="tonexty",
            fillcolor=BAND,
            name="8 of 10 simulated cases",
            hovertemplate=f"P90: {hover}",
        ),
        line(
            found["p50"],
            line={"color": palette.BLUE, "width": 2.5},
            name="half of them below",
            hovertemplate=f"P50: {hover}",
        ),
    ]
    if measures is not None:
        data.append(
            line(
                np.cumsum(measures.cash_flow).tolist(),
                line={"color": palette.VERMILLION, "width": 2.5, "dash": "dash"},
                name="at the stated values",
                hovertemplate=f"stated values: {hover}",
            )
        )
    return {
        "data": data,
        "layout": {
            "height": 380,
            "xaxis": {"title": {"text": "year"}, "dtick": max(1, -(-years.size // 12)), "range": [0, years.size - 0.8]},
            "yaxis": {"title": {"text": f"{currency}, not discounted"}, "zeroline": True, "zerolinewidth": 2},
        },
    }


def payback_chances(simulation: Simulation) -> Figure:
    """Share of the simulated cases in which each option has paid back, against time."""
    years = simulation.case.model.finance.years
    at = np.linspace(0.0, years, QUARTERS * years + 1)
    lines = styles(simulation.comparison)
    limit = simulation.case.model.finance.maximum_payback
    accepted = None if limit is None else float(limit) / YEAR
    data = [
        curve(
            option.name,
            at,
            100.0 * simulation.paid_back(option.name, at),
            colour=lines[option.name]["color"],
            dash=lines[option.name]["dash"],
            hover="paid back within %{x:.3g} years in %{y:.0f} of 100",
        )
        for option in simulation.options
        if not option.baseline and option.answered_share and option.dries_share
    ]
    layout: Figure = {
        "height": 380,
        "xaxis": {"title": {"text": "years"}, "range": [0, years], "dtick": max(1, -(-years // 12))},
        "yaxis": {"title": {"text": "paid back, of 100 simulated cases"}, "range": [0, 102]},
    }
    if accepted is not None:
        layout["shapes"] = [
            {"type": "line", "x0": accepted, "x1": accepted, "y0": 0, "y1": 1, "yref": "paper", "line": {"dash": "dot"}}
        ]
        layout["annotations"] = [
            {
                "x": accepted,
                "y": 1,
                "yref": "paper",
                "text": f" accepted: {accepted:.3g} years",
                "showarrow": False,
                "xanchor": "left",
                "yanchor": "top",
            }
        ]
    return {"data": data, "layout": layout}


def tornado(simulation: Simulation, sensitivity: Sensitivity) -> Figure:
    """Net savings of the recommended option with one input at its P10 and at its P90, widest on top."""
    swings = [s for s in widest(sensitivity) if np.isfinite(s.width)][::-1]
    measures = simulation.comparison.option(simulation.recommended).measures
    stated = 0.0 if measures is None else float(measures.npv)
    currency = simulation.case.currency
    labels = [_wrapped(f"{s.label} · {place_in_words(s.input, simulation.case.model)}") for s in swings]
    data = [
        {
            "type": "bar",
            "orientation": "h",
            "name": f"input at its {name}",
            "y": labels,
            "x": [end - stated for end in ends],
            "base": stated,
            "customdata": ends,
            "marker": {"color": colour, "pattern": {"shape": shape}},
            "hovertemplate": f"%{{y}}<br>at its {name}: net savings %{{customdata:,.0f}} {currency}<extra></extra>",
        }
        for name, ends, colour, shape in (
            ("P10", [s.at_low for s in swings], palette.ORANGE, "/"),
            ("P90", [s.at_high for s in swings], palette.BLUE, ""),
        )
    ]
    return {
        "data": data,
        "layout": {
            "barmode": "overlay",
            "height": 130 + 36 * len(swings),
            "xaxis": {"title": {"text": f"net savings of {simulation.recommended}, {currency}"}},
            "yaxis": {"categoryorder": "array", "categoryarray": labels},
            "shapes": [
                {"type": "line", "x0": 0, "x1": 0, "y0": 0, "y1": 1, "yref": "paper", "line": {"width": 2}},
            ],
        },
    }


def _wrapped(text: str, width: int = 34) -> str:
    lines = [""]
    for word in text.split():
        if lines[-1] and len(lines[-1]) + len(word) >= width:
            lines.append("")
        lines[-1] = f"{lines[-1]} {word}".strip()
    return "<br>".join(lines)
