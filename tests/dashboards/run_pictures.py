"""Pictures of every view and state, for a person to look at: ``python tests/dashboards/run_pictures.py FOLDER``.

Each view at four widths, light and dark, complete; Compare also waiting, with a bad value, and without its kernel; on paper as PDF.
"""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path
from typing import Any
from urllib.parse import urljoin

from playwright.sync_api import sync_playwright
from test_accessible import LOOKED_AT, WIDTHS

FLAGS = ["--headless", "--no-sandbox", "--disable-gpu"]
PATIENCE = 180_000  # ms


def every_view(browser: Any, address: str, folder: Path) -> None:
    for view, mark in LOOKED_AT.items():
        name = view or "start"
        page = browser.new_page(viewport={"width": WIDTHS[0], "height": 1000})
        page.goto(urljoin(address, view), timeout=PATIENCE)
        page.locator(mark).first.wait_for(timeout=PATIENCE)
        page.wait_for_timeout(3000)
        page.pdf(path=folder / f"{name}-paper.pdf", format="A4")
        for mode in ("light", "dark"):
            for width in WIDTHS:
                page.set_viewport_size({"width": width, "height": 1000})
                page.wait_for_timeout(800)
                page.screenshot(path=folder / f"{name}-{width}-{mode}.png", full_page=True)
            page.locator("#mode").click()
        page.close()
        print(name, flush=True)


def other_states(browser: Any, address: str, folder: Path) -> None:
    page = browser.new_page(viewport={"width": WIDTHS[0], "height": 1000})
    page.goto(urljoin(address, "compare"), wait_until="commit", timeout=PATIENCE)
    page.wait_for_timeout(700)
    page.screenshot(path=folder / "compare-waiting.png")
    page.locator("#answer").wait_for(timeout=PATIENCE)
    field = page.get_by_label("Throughput (kg/h)").first
    field.fill("none")
    field.press("Enter")
    page.locator(".stale").first.wait_for(timeout=PATIENCE)
    page.screenshot(path=folder / "compare-bad-value.png")
    page.context.set_offline(True)
    page.evaluate("() => { window.WebSocket = class { constructor() { throw Error(); } }; }")
    page.locator(".lost").wait_for(timeout=PATIENCE)
    page.screenshot(path=folder / "compare-disconnected.png")
    page.close()


def main(folder: Path) -> None:
    folder.mkdir(parents=True, exist_ok=True)
    command = [sys.executable, "-m", "energy.cli", "dashboard", "--no-browser", "--port", "0"]
    with subprocess.Popen(command, stdout=subprocess.PIPE, text=True) as server, sync_playwright() as playwright:
        try:
            address = server.stdout.readline().split()[1]
            browser = playwright.chromium.launch(executable_path="/usr/bin/chromium", args=FLAGS)
            every_view(browser, address, folder)
            other_states(browser, address, folder)
            browser.close()
        finally:
            server.terminate()


if __name__ == "__main__":
    main(Path(sys.argv[1]))
