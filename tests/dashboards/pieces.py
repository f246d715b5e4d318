"""A page that holds one of each piece, for the tests of the plumbing."""

from __future__ import annotations

import math
import os

import ipywidgets as widgets

from dashboards.download import Download
from dashboards.heartbeat import Heartbeat
from dashboards.launch import CASE_VARIABLE
from dashboards.page import show
from dashboards.plotview import PlotView
from energy.errors import EnergyError

EIGHT_MEGABYTES = bytes(range(256)) * 31_250


def refuse() -> bytes:
    raise EnergyError("the option <b>Hot air</b> has no price")


def app() -> None:
    slider = widgets.FloatSlider(value=4, min=1, max=8, description="Residence time")
    system = widgets.ToggleButtons(options=["SI", "US"], description="Units")
    chart = PlotView({"data": [{"type": "bar", "y": [1.0, math.nan, 3.0]}]}, "Three bars")
    slider.observe(lambda change: chart.show({"data": [{"type": "bar", "y": [change["new"]]}]}, "One bar"), "value")
    show(
        widgets.VBox(
            [
                widgets.HTML(f"<p id='case'>{os.environ.get(CASE_VARIABLE)}</p>"),
                slider,
                system,
                chart,
                Download(lambda: EIGHT_MEGABYTES, lambda: "case.bin", "application/octet-stream", label="Good"),
                Download(refuse, "never.bin", "application/octet-stream", label="Bad"),
                Heartbeat(),
            ]
        )
    )
