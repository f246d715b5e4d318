"""Undo after another view was visited: one step at a time, in a real browser, for a case that holds a year of readings."""

from __future__ import annotations

from urllib.parse import urljoin

import pytest
import tomli_w

from energy.study.case import load_case

THROUGHPUT = '[id$="-hoppers[1].throughput"]'


@pytest.mark.browser
def test_one_undo_takes_back_one_step_after_another_view(browser_page, server, tmp_path):
    day = " ".join(f"{180.25 + 25 * min(hour, 24 - hour):.2f}" for hour in range(24) for _ in range(2))
    held = {"start": "2026-01-01T00:00:00-06:00", "step": "30 min", "power": [day] * 365}
    document = load_case("demo").with_({"plant_load": {"readings": held, "zone": "Etc/GMT+6"}}).document
    own = tmp_path / "held.toml"
    own.write_text(tomli_w.dumps(dict(document)), encoding="utf-8")
    assert own.stat().st_size > 100_000
    expect = pytest.importorskip("playwright.sync_api").expect
    page = browser_page
    page.goto(urljoin(server.url, "compare"))
    page.locator(THROUGHPUT).wait_for(timeout=60_000)
    page.locator("input[type=file]").last.set_input_files(own)
    page.get_by_text("held.toml was opened").wait_for(timeout=60_000)
    opened = page.locator(THROUGHPUT).input_value()
    kept = page.locator("[data-kept]")
    for text in ("30", "33"):
        before = kept.get_attribute("data-kept")
        page.locator(THROUGHPUT).fill(text)
        page.locator(THROUGHPUT).press("Enter")
        expect(kept).not_to_have_attribute("data-kept", before, timeout=60_000)
    page.goto(urljoin(server.url, "bill"))
    page.get_by_text("Your changes of the last time").wait_for(timeout=60_000)
    page.goto(urljoin(server.url, "compare"))
    page.get_by_text("Undo takes the last of them back").wait_for(timeout=60_000)
    for text in ("30", opened):
        page.get_by_role("button", name="Undo", exact=True).click()
        expect(page.locator(THROUGHPUT)).to_have_value(text, timeout=60_000)
    assert page.get_by_role("button", name="Undo", exact=True).is_disabled()
