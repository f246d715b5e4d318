"""How soon the page answers, beside a page with one bare widget; on demand: ``pytest tests/dashboards/run_page_speed.py -n 0 -s``.

Each pair is measured in turn in one run, the least of each counts; on a machine that does nothing else.
"""

from __future__ import annotations

import json
import time
from urllib.parse import urljoin

import pytest

ROUNDS = 5
MOVES = 9
HELD = 250  # ms that a hand halts before it lets a slider go, by judgement
BARE = {
    "cells": [
        {
            "cell_type": "code",
            "execution_count": None,
            "id": "bare",
            "metadata": {},
            "outputs": [],
            "source": "import ipywidgets as w\n"
            "slider, echo = w.IntSlider(description='Move'), w.HTML('<b id=answer>0</b>')\n"
            "slider.observe(lambda c: setattr(echo, 'value', f\"<b id=answer>{c['new']}</b>\"), 'value')\n"
            "display(w.VBox([slider, echo]))",
        }
    ],
    "metadata": {"kernelspec": {"display_name": "Python 3", "language": "python", "name": "python3"}},
    "nbformat": 4,
    "nbformat_minor": 5,
}


@pytest.fixture(scope="module")
def bare(serving, tmp_path_factory):
    """The same server with a page that holds one widget and what repeats it; its kernel is kept ready as well."""
    folder = tmp_path_factory.mktemp("bare")
    (folder / "bare.ipynb").write_text(json.dumps(BARE))
    code = (
        "import sys; from dashboards import launch; "
        f"launch.VIEWS = (('Bare', {str(folder / 'bare')!r}, ''),); sys.exit(launch.serve(None, 0, False))"
    )
    with serving("-c", code) as running:
        yield running


def seconds_to_answer(page, url: str) -> float:
    began = time.perf_counter()
    page.goto(url)
    page.locator("#answer").wait_for(timeout=120_000)
    took = time.perf_counter() - began
    page.goto("about:blank")
    time.sleep(8)  # another kernel is made ready meanwhile
    return took


def test_first_answer(open_page, server, bare):
    """Wanted: 2 times a bare page; never worse than 3 times."""
    ours, floor = [], []
    for _ in range(ROUNDS):
        for url, times in ((urljoin(server.url, "compare"), ours), (urljoin(bare.url, "bare"), floor)):
            page = open_page(viewport={"width": 1440, "height": 1000})
            times.append(seconds_to_answer(page, url))
            page.close()
    print(
        f"\nfirst answer {min(ours):.2f} s, a bare page {min(floor):.2f} s: {min(ours) / min(floor):.2f} times (reach 2, worst 3)"
    )
    assert min(ours) <= 3.0 * min(floor)


def test_slider_to_chart(open_page, server, bare):
    """Wanted: 150 ms; never worse than 300 ms. As a hand does it, and where it is let go at a place it never stood at."""
    page = open_page(viewport={"width": 1440, "height": 1000})
    page.goto(urljoin(server.url, "compare"))
    page.locator("#answer").wait_for(timeout=120_000)
    time.sleep(20)  # the simulation's first stage
    slider = page.get_by_label("Load of every hopper, %")
    for said, held in ((f"held for {HELD} ms, then let go", HELD), ("let go at once", 0)):
        # The chart of costs, which is that of this move: curves of the move before may be drawn meanwhile.
        ours = sorted(moved(slider, "[data-drawn][aria-label^='Running cost']", held) for _ in range(MOVES))
        print(
            f"\nslider {said}, to first chart redrawn: {ours[0]:.0f} ms at least, {ours[MOVES // 2]:.0f} in the middle, "
            f"longest {ours[-1]:.0f} ms (reach 150, worst 300)"
        )


def moved(slider, marks: str, held: int) -> float:
    """From letting the slider go, so long after its last step, to the next drawing of a chart. [ms]"""
    return float(
        slider.evaluate(
            """async (slider, [marks, held]) => {
                const charts = [...document.querySelectorAll(marks)];
                const before = charts.map((chart) => chart.dataset.drawn);
                slider.dispatchEvent(new Event("pointerdown"));
                slider.value = Number(slider.value) - 1;
                if (held) {
                    slider.dispatchEvent(new Event("input", { bubbles: true }));
                    await new Promise((resolve) => setTimeout(resolve, held));
                }
                const began = performance.now();
                slider.dispatchEvent(new Event("change", { bubbles: true }));
                while (charts.every((chart, i) => chart.dataset.drawn === before[i])) {
                    await new Promise((resolve) => requestAnimationFrame(resolve));
                    if (performance.now() - began > 20000) return 20000;
                }
                return performance.now() - began;
            }""",
            [marks, held],
        )
    )
