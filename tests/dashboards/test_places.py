"""How many pages may be open at once, and what the next visitor is told."""

from __future__ import annotations

import asyncio
import time
from contextlib import closing
from http.client import HTTPConnection
from urllib.parse import urljoin, urlsplit

import pytest
from conftest import DASHBOARD
from visitor import Visitor

from dashboards import launch, memory, places


class Kernels(dict):
    """Stands for Voilà's kernel manager: kernels by their identity, and tasks that make the next ones ready."""

    def __init__(self, count: int, *waiting: asyncio.Future) -> None:
        super().__init__((str(number), None) for number in range(count))
        self._pools = {"compare.ipynb": list(waiting)}


def test_places_are_taken_by_kernels_that_serve_and_by_pages_on_their_way():
    ready, starting = (asyncio.Future(loop=asyncio.new_event_loop()) for _ in range(2))
    ready.set_result({})
    assert places.taken(Kernels(1, ready), set()) == 0
    assert places.taken(Kernels(3, ready), set()) == 2
    assert places.taken(Kernels(3, starting), {1, 2}) == 5
    for future in (ready, starting):
        future.get_loop().close()


@pytest.mark.parametrize(("size", "most"), [(None, 20), (16e9, 53), (1e9, 4)])
def test_places_follow_the_memory_of_the_computer(monkeypatch, size, most):
    monkeypatch.setattr(memory, "of_computer", lambda: size)
    assert places.usual_most() == most


@pytest.mark.parametrize(("told", "most"), [("3000000000\n", 10), ("max\n", None), ("9223372036854771712\n", None)])
def test_places_follow_the_memory_of_a_container(monkeypatch, tmp_path, told, most):
    monkeypatch.setattr(memory, "CONTAINER", ())
    without = places.usual_most()
    limit = tmp_path / "memory.max"
    limit.write_text(told)
    monkeypatch.setattr(memory, "CONTAINER", (tmp_path / "none", limit))
    assert places.usual_most() == (without if most is None else min(most, without))


def test_no_place_at_all_is_refused(capsys):
    assert launch.serve(None, 0, False, most_pages=0) == 2
    assert "--pages 0: nobody could open a page" in capsys.readouterr().err


def ask(server, path: str) -> tuple[int, str, str | None]:
    with closing(HTTPConnection(urlsplit(server.url).netloc, timeout=60)) as connection:
        connection.request("GET", path)
        response = connection.getresponse()
        return response.status, response.read().decode(), response.headers["Retry-After"]


@pytest.mark.thorough
def test_who_finds_no_place_is_told_so_and_gets_the_next_one(serving):
    with serving(*DASHBOARD, "--pages", "2") as server:
        first, second = Visitor(server.url), Visitor(server.url, "bill")
        time.sleep(10)  # another kernel is made ready, which is nobody's
        status, page, again = ask(server, "/walkthrough")
        assert (status, again) == (503, "5")
        assert "2 pages are open, as many as may be at once" in page
        assert '<meta http-equiv="refresh" content="5">' in page
        assert ask(server, "/")[0] == 200
        second.leave()
        with Visitor(server.url, "walkthrough") as third:  # it takes the place: the visitor asserts its status
            assert ask(server, "/compare")[0] == 503
            third.look()
        first.leave()


@pytest.mark.thorough
@pytest.mark.browser
def test_a_page_without_a_place_opens_by_itself(serving, browser_page, faults):
    with serving(*DASHBOARD, "--pages", "1") as server:
        with Visitor(server.url, "bill"):
            browser_page.goto(urljoin(server.url, "compare"))
            browser_page.get_by_text("One page is open, and no more may be at once").wait_for()
            assert browser_page.locator("h1").inner_text() == "No place left"
            assert any("503" in fault for fault in faults)
            faults.clear()
        browser_page.locator("#answer").wait_for(timeout=120_000)
        browser_page.goto(urljoin(server.url, "bill"))  # asked for before the page that is left lets its place go
        browser_page.locator(".app .card").first.wait_for(timeout=120_000)
        browser_page.goto("about:blank")
        faults.clear()  # refused for a moment
