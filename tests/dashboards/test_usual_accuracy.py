"""Hints of what an instrument is usually off by, beside the readings of the Walkthrough view."""

from __future__ import annotations

from dashboards.walkthrough import View
from dashboards.walkthrough_state import WalkState


def test_a_small_moisture_may_be_off_by_what_an_analyser_tells_apart_and_the_hint_says_so():
    view = View(WalkState("demo"))
    assert view._readings["outlet_moisture"].hint.endswith("Usually ± 10 %, at least 20 ppm.")
    assert view._readings["power"].hint.endswith("Usually ± 2 %.")
    assert view._readings["process_temperature"].hint.endswith("Usually ± 1.5 K.")
