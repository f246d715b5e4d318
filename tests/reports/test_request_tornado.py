"""The tornado of the capital request: all of its texts stand on the paper, in the signs of print."""

from __future__ import annotations

import cases
import pytest
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.figure import Figure

from energy.reports.document import charts, swings
from energy.reports.document.records import Swings
from energy.study.compare import compare

pytestmark = pytest.mark.xdist_group("document")
LONG = "Present dryers of the first hall: regeneration heat leaving with the exhaust, 30 % to 50 %"


def test_axis_title_and_labels_stay_on_the_paper():
    drawing = Swings(
        labels=(LONG, "Capital, ±20 %"), low=(-1e6, 0.0), high=(9e6, 4e6), middle=2e6, axis="Net present value, USD"
    )
    figure = Figure(figsize=(charts.WIDTH, 2.6), layout="constrained")
    FigureCanvasAgg(figure)
    axes = figure.add_subplot()
    charts._swings(axes, drawing)
    figure.draw_without_rendering()
    paper = figure.bbox
    for text in (axes.xaxis.label, *axes.get_yticklabels()):
        box = text.get_window_extent()
        assert box.x0 >= paper.x0
        assert box.x1 <= paper.x1
    assert axes.get_position().width > 0.5  # the bars keep half of the width


def test_ranges_of_temperature_are_told_in_the_signs_of_print():
    span = {"value": "25 degC", "low": "15 degC", "high": "35 degC", "basis": "measured"}
    found = compare(cases.case(cases.PRESENT, cases.WHEEL, changes={"site.hall_temperature": span}))
    labels = [s.label for s in swings.swings(found, found.option(cases.WHEEL))[0]]
    assert "Hall temperature, 15 °C to 35 °C" in labels
    assert not any("degC" in label for label in labels)
