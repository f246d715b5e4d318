"""Twenty visitors at once, and a server that dies; on demand: ``pytest tests/dashboards/run_visitors.py -n 0 -s``."""

from __future__ import annotations

import json
import re
import socket
import sys
import time
from concurrent.futures import ThreadPoolExecutor
from contextlib import closing, contextmanager
from urllib.parse import urljoin

import psutil
import pytest
from conftest import DASHBOARD, ROOT
from visitor import Visitor

from dashboards.state import State
from energy.study.case import load_case
from energy.study.compare import compare

VISITORS = 20
MOST_TIMES_A_BARE_KERNEL = 3
"""Memory of a visitor, "never worse than"."""
SERVER_LEFT, SERVER_GROWTH = 1.3, 1.03
"""How many times its start size the server may be when all visitors have gone, and its size then when more have come and gone."""


def costs(markup: str) -> dict[str, str]:
    """Running cost of each option as the table on the page prints it."""
    rows = re.findall(r'<tr data-option="([^"]*)">(.*?)</tr>', markup, re.S)
    return {name: re.sub("<.*?>", "", re.findall(r"<td.*?>(.*?)</td>", row, re.S)[1]) for name, row in rows}


def printed(comparison) -> dict[str, str]:
    return {o.name: f"{o.total_cost:,.0f}" for o in comparison.options}


def shown(visitor: Visitor) -> dict[str, str]:
    return costs(visitor.states[visitor.find(value="<tr data-option=")]["value"])


def memory(process: psutil.Process) -> float:
    """Memory that would be free without the process. [byte]"""
    return float(process.memory_full_info().uss)


def bare_kernel() -> float:
    """Of a kernel that shows one widget. [byte]"""
    from jupyter_client.manager import start_new_kernel

    manager, client = start_new_kernel()
    try:
        client.execute_interactive("import ipywidgets; ipywidgets.IntSlider()", timeout=60)
        return memory(psutil.Process(manager.provisioner.process.pid))
    finally:
        client.stop_channels()
        manager.shutdown_kernel(now=True)


def quiet(server, count: int, seconds: float = 60) -> None:
    """Wait until so many kernels are left, and none of them works."""
    end = time.monotonic() + seconds
    while time.monotonic() < end:
        kernels = server.kernels()
        if len(kernels) <= count and sum(k.cpu_percent(0.2) for k in kernels) < 10:
            return
    pytest.fail(f"{len(server.kernels())} kernels after {seconds} s")


def test_twenty_at_once_each_with_a_case_of_its_own(serving):
    first = printed(compare(load_case("demo")))

    def own(number: int) -> dict[str, str]:
        state = State("demo" if number % 2 else "one-machine")
        state.set({"hoppers[1].throughput": f"{(50 if number % 2 else 60) + number} kg/h"})
        return printed(state.comparison)

    expected = [own(number) for number in range(VISITORS)]
    bare = bare_kernel()
    with serving() as server:
        time.sleep(10)  # the first kernel has come
        quiet(server, 1)
        start = memory(server.process)

        def come(number: int) -> tuple[Visitor, float]:
            begin = time.monotonic()
            visitor = Visitor(server.url)
            visitor.look()
            assert shown(visitor) == first, f"visitor {number}"
            return visitor, time.monotonic() - begin

        def work(visitor: Visitor, number: int) -> dict[str, str]:
            if number % 2:  # changes the case
                visitor.enter(text=str(50 + number))
            else:  # brings another
                text = load_case("one-machine").with_(throughput=f"{60 + number} kg/h").to_toml()
                visitor.tell(visitor.find(label="Open a case file"), {"name": f"{number}.toml"}, text.encode())
            return shown(visitor)

        with ThreadPoolExecutor(VISITORS) as threads:
            visitors, waits = zip(*threads.map(come, range(VISITORS)), strict=True)
            seen = list(threads.map(work, visitors, range(VISITORS)))
        for number, visitor in enumerate(visitors):
            visitor.look()
            assert seen[number] == shown(visitor) == expected[number], f"visitor {number}"
        assert len({json.dumps(s) for s in seen}) == VISITORS

        mine = [k for k in server.kernels() if any(v.kernel in item for v in visitors for item in k.cmdline())]
        sizes = sorted(memory(kernel) for kernel in mine)
        full = memory(server.process)
        assert len(sizes) == VISITORS

        for visitor in visitors:
            visitor.leave()
        assert not psutil.wait_procs(mine, timeout=30)[1], "kernels outlive their pages"
        quiet(server, 1)
        time.sleep(80)  # connections that have ended are held for a minute, and then their memory is given back
        end = memory(server.process)
        with ThreadPoolExecutor(VISITORS) as threads:
            for visitor, _ in list(threads.map(come, range(VISITORS // 2))):
                visitor.leave()
        quiet(server, 1)
        time.sleep(80)
        again = memory(server.process)
        print(
            f"\nfirst answers after {min(waits):.0f} to {max(waits):.0f} s"
            f"\na visitor: {sizes[0] / 1e6:.0f} to {sizes[-1] / 1e6:.0f} MB; a bare kernel with a widget: {bare / 1e6:.0f} MB; "
            f"ratio {sizes[VISITORS // 2] / bare:.2f}"
            f"\nthe server: {start / 1e6:.0f} MB at first, {full / 1e6:.0f} with all, {end / 1e6:.0f} after them, "
            f"{again / 1e6:.0f} after {VISITORS // 2} more"
        )
        assert sizes[VISITORS // 2] < MOST_TIMES_A_BARE_KERNEL * bare
        assert end < SERVER_LEFT * start
        assert again < SERVER_GROWTH * end


@contextmanager
def _killable(port: int):
    with psutil.Popen(
        [sys.executable, *DASHBOARD[:-1], str(port)], cwd=ROOT, stdout=-1, stderr=-3, text=True
    ) as process:
        try:
            assert process.stdout.readline()
            yield process
        finally:
            kernels = process.children(recursive=True)
            process.kill()
            assert not psutil.wait_procs(kernels, timeout=30)[1], "kernels outlive a server that was killed"


@pytest.mark.browser
def test_after_a_server_was_killed_the_unsaved_case_is_there_again(open_page, faults):
    with closing(socket.create_server(("127.0.0.1", 0))) as free:
        port = free.getsockname()[1]
    address = urljoin(f"http://127.0.0.1:{port}/", "compare")
    page = open_page(viewport={"width": 1440, "height": 900})
    with _killable(port):
        page.goto(address, timeout=120_000)
        page.locator("#answer").wait_for(timeout=120_000)
        field = page.get_by_label("Throughput (kg/h)")
        field.fill("51")
        field.press("Enter")
        page.wait_for_function("() => JSON.parse(localStorage.getItem('dryer-cases'))?.[0]?.changed", timeout=120_000)
    page.locator(".lost").wait_for(timeout=60_000)
    with _killable(port):
        page.get_by_role("button", name="Start again").click(timeout=120_000)
        page.get_by_text("Your changes of the last time").wait_for(timeout=120_000)
        assert page.get_by_label("Throughput (kg/h)").input_value() == "51"
        assert page.locator(".lost").count() == 0
        page.goto("about:blank")
        faults.clear()  # the page's own complaints about the lost connection
