"""Every view by the rules of WCAG 2.1 A and AA as axe-core checks them, light and dark, and its fit on narrow screens."""

from __future__ import annotations

from urllib.parse import urljoin

import pytest

from dashboards import launch
from energy import compare, load_case, write_report

LOOKED_AT = {
    "": ".way",
    "compare": "#answer",
    "bill": "table.t",
    "capital-request": ".paper figure",
    "walkthrough": "#answer, .answer",
}
"""Address of each view and what stands on it once it is complete."""
WIDTHS = (1440, 1024, 820, 390)
RULES = {"resultTypes": ["violations"], "runOnly": ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa"]}


def test_no_view_is_left_out():
    assert set(LOOKED_AT) == {"", *(stem for _, stem, _ in launch.VIEWS)}


def _serious(page):
    """Findings that keep somebody out, each with the markup it is about."""
    from axe_playwright_python.sync_playwright import Axe

    found = Axe().run(page, options=RULES).response["violations"]
    return [
        (v["id"], v["help"], [node["html"][:200] for node in v["nodes"]][:5])
        for v in found
        if v["impact"] in ("serious", "critical")
    ]


@pytest.mark.browser
@pytest.mark.published(
    "W3C, Web Content Accessibility Guidelines 2.1",
    where="levels A and AA, as axe-core tests them",
    quoted="no serious finding",
)
@pytest.mark.parametrize("view", list(LOOKED_AT))
def test_a_view_keeps_nobody_out_and_fits_every_screen(view, browser_page, server):
    page = browser_page
    page.goto(urljoin(server.url, view))
    page.locator(LOOKED_AT[view]).first.wait_for(timeout=120_000)
    assert _serious(page) == []
    wide = {}
    for width in WIDTHS:
        page.set_viewport_size({"width": width, "height": 900})
        page.wait_for_timeout(300)
        wide[width] = page.evaluate("document.documentElement.scrollWidth")
    assert wide == {width: width for width in WIDTHS}


@pytest.mark.thorough
@pytest.mark.browser
@pytest.mark.parametrize("view", list(LOOKED_AT))
def test_a_view_keeps_nobody_out_in_the_dark(view, browser_page, server):
    page = browser_page
    page.goto(urljoin(server.url, view))
    page.locator(LOOKED_AT[view]).first.wait_for(timeout=120_000)
    page.locator("#mode").click()
    assert page.locator("html").get_attribute("data-mode") == "dark"
    assert _serious(page) == []


@pytest.mark.browser
def test_the_request_as_a_web_page_keeps_nobody_out(browser_page, tmp_path, faults):
    page, target = browser_page, tmp_path / "request.html"
    write_report(compare(load_case("one-machine")), target, short=True)
    page.goto(target.as_uri())
    assert page.locator("h1").count() == 1
    assert _serious(page) == []
    faults[:] = [fault for fault in faults if target.name not in fault]  # a file, not a request to elsewhere
