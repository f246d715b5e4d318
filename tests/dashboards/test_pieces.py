"""The pieces a view is built from, in the browser: one page that holds one of each, and pages whose kernel comes and goes."""

from __future__ import annotations

from pathlib import Path
from urllib.parse import urljoin

import psutil
import pytest

ROOT = Path(__file__).resolve().parents[2]


@pytest.fixture(scope="module")
def pieces(serving, tmp_path_factory):
    """A page with one of each piece, and a case file."""
    case = tmp_path_factory.mktemp("case") / "my case.toml"
    case.touch()
    program = (
        "import sys; from pathlib import Path; from dashboards import launch;"
        f"launch.VIEWS = (('Pieces', {str(ROOT / 'tests/dashboards/pieces')!r}, ''),);"
        f"sys.exit(launch.serve(Path({str(case)!r}), 0, False))"
    )
    with serving("-c", program) as running:
        yield running


def kernel_of(page, server) -> psutil.Process:
    identity = page.evaluate("JSON.parse(document.getElementById('jupyter-config-data').textContent).kernelId")
    [kernel] = [kernel for kernel in server.kernels() if any(identity in item for item in kernel.cmdline())]
    return kernel


@pytest.mark.browser
def test_page_works_without_a_network(server, browser_page):
    requests: list[str] = []
    browser_page.on("request", lambda request: requests.append(request.url))
    browser_page.goto(urljoin(server.url, "compare"))
    browser_page.wait_for_selector(".app .card")
    browser_page.wait_for_selector(".plot-view [data-drawn] .main-svg")
    assert browser_page.locator("#skeleton").count() == 0
    assert browser_page.locator("h1").inner_text() == "Pellet dryers compared"
    assert browser_page.evaluate("document.documentElement.scrollWidth") == 1440
    assert len(requests) > 20, "the watch over requests sees them"


@pytest.mark.browser
def test_policy_stops_a_request_to_elsewhere(server, browser_page, faults):
    browser_page.goto(urljoin(server.url, "compare"))
    assert browser_page.evaluate("fetch('https://192.0.2.1/').then(() => 'sent', () => 'stopped')") == "stopped"
    assert faults
    assert all("Content Security Policy" in fault for fault in faults)
    faults.clear()


@pytest.mark.browser
@pytest.mark.thorough
def test_case_reaches_the_kernel(pieces, browser_page):
    browser_page.goto(urljoin(pieces.url, "pieces"))
    assert browser_page.locator("#case").inner_text().endswith("my case.toml")
    assert browser_page.title() == "Pieces & <parts>"


@pytest.mark.browser
@pytest.mark.thorough
def test_download_saves_the_bytes(pieces, browser_page):
    from pieces import EIGHT_MEGABYTES

    browser_page.goto(urljoin(pieces.url, "pieces"))
    with browser_page.expect_download() as started:
        browser_page.get_by_role("button", name="Good").click()
    assert started.value.suggested_filename == "case.bin"
    assert Path(started.value.path()).read_bytes() == EIGHT_MEGABYTES
    browser_page.get_by_role("button", name="Good").wait_for()


@pytest.mark.browser
def test_download_shows_its_problem_as_text(pieces, browser_page):
    browser_page.goto(urljoin(pieces.url, "pieces"))
    browser_page.get_by_role("button", name="Bad").click()
    problem = browser_page.get_by_role("alert")
    problem.wait_for()
    assert problem.inner_text() == "the option <b>Hot air</b> has no price"


@pytest.mark.browser
def test_chart_follows_value_and_colours(pieces, browser_page):
    browser_page.goto(urljoin(pieces.url, "pieces"))
    chart = browser_page.locator(".plot-view [role=img]")
    browser_page.wait_for_selector(".plot-view [data-drawn='1']")
    assert chart.get_attribute("aria-label") == "Three bars"
    heights = chart.locator(".bars .point path").evaluate_all("paths => paths.map(path => path.getBBox().height > 0)")
    assert heights == [True, False, True], "NaN has no bar"
    slider = browser_page.get_by_role("slider", name="Residence time")
    slider.press("ArrowRight")
    browser_page.wait_for_selector(".plot-view [data-drawn='2']")
    assert chart.get_attribute("aria-label") == "One bar"

    def ink() -> str:
        return chart.locator(".ytick text").first.evaluate("node => getComputedStyle(node).fill")

    light = ink()
    browser_page.get_by_role("button", name="Dark").click()
    browser_page.wait_for_selector(".plot-view [data-drawn='3']")
    assert ink() != light
    browser_page.reload()
    assert browser_page.evaluate("document.documentElement.dataset.mode") == "dark"


@pytest.mark.browser
def test_widgets_whose_modules_are_slow_to_read_hear_the_kernel(pieces, browser_page):
    browser_page.add_init_script(
        """const make = URL.createObjectURL;
        URL.createObjectURL = (blob) => {
            URL.createObjectURL = make;
            for (const until = performance.now() + 2500; performance.now() < until; );
            return make(blob);
        };"""
    )
    browser_page.goto(urljoin(pieces.url, "pieces"))
    browser_page.wait_for_selector(".plot-view [data-drawn='1']")
    browser_page.get_by_role("slider", name="Residence time").press("ArrowRight")
    browser_page.wait_for_selector(".plot-view [data-drawn='2']")
    with browser_page.expect_download():
        browser_page.get_by_role("button", name="Good").click()


@pytest.mark.browser
@pytest.mark.thorough
def test_pressed_button_is_told(pieces, browser_page):
    browser_page.goto(urljoin(pieces.url, "pieces"))
    browser_page.get_by_role("button", name="US").click()
    browser_page.get_by_role("button", name="US", pressed=True).wait_for()
    browser_page.get_by_role("button", name="SI", pressed=False).wait_for()


@pytest.mark.browser
@pytest.mark.thorough
def test_paper_is_light_and_shows_the_whole_page(pieces, open_page):
    page = open_page(color_scheme="dark")
    page.goto(urljoin(pieces.url, "pieces"))
    page.wait_for_selector(".plot-view [data-drawn]")
    assert page.evaluate("document.documentElement.dataset.mode") == "dark"
    page.evaluate(
        "window.modes = []; addEventListener('modechange', () => modes.push(document.documentElement.dataset.mode))"
    )
    page.pdf()
    assert page.evaluate("modes") == ["light", "dark"]


@pytest.mark.browser
@pytest.mark.parametrize(
    "moment",
    ["#skeleton", pytest.param(".app .card", marks=pytest.mark.thorough)],
    ids=["while waiting", "with widgets"],
)
def test_leaving_the_page_ends_its_kernel(server, browser_page, moment):
    browser_page.goto(urljoin(server.url, "compare"), wait_until="domcontentloaded")
    browser_page.wait_for_selector(moment)
    kernel = kernel_of(browser_page, server)
    browser_page.goto("about:blank")
    assert psutil.wait_procs([kernel], timeout=10)[0]


@pytest.mark.browser
def test_banner_when_the_kernel_is_gone(server, browser_page, faults):
    browser_page.goto(urljoin(server.url, "compare"))
    browser_page.wait_for_selector(".app .card")
    assert browser_page.locator(".lost").count() == 0
    kernel_of(browser_page, server).kill()
    browser_page.wait_for_selector(".lost", timeout=15_000)
    faults.clear()  # the page's own complaints about the lost connection
    browser_page.get_by_role("button", name="Start again").click()
    browser_page.wait_for_selector(".app .card")
    assert browser_page.locator(".lost").count() == 0
