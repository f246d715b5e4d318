"""Fixtures for tests against the running dashboards, with and without a browser; everything stays on this computer."""

from __future__ import annotations

import os
import shutil
import signal
import subprocess
import sys
import tempfile
from collections.abc import Callable, Iterator
from contextlib import AbstractContextManager, contextmanager, suppress
from dataclasses import dataclass
from pathlib import Path
from threading import Timer
from typing import Any
from urllib.parse import urlsplit

import psutil
import pytest

ROOT = Path(__file__).resolve().parents[2]
DASHBOARD = ("-m", "energy.cli", "dashboard", "--no-browser", "--port", "0")
FLAGS = (
    "--headless",
    "--no-sandbox",
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
    "--host-resolver-rules=MAP * ~NOTFOUND, EXCLUDE 127.0.0.1",
)


@dataclass(frozen=True)
class Server:
    """A running server: its address, and its process for those who look for kernels."""

    url: str
    process: psutil.Popen

    def kernels(self) -> list[psutil.Process]:
        found = []
        for child in self.process.children(recursive=True):
            with suppress(psutil.NoSuchProcess):  # ended meanwhile
                if "ipykernel_launcher" in child.cmdline():
                    found.append(child)
        return found


@contextmanager
def _serving(*arguments: str) -> Iterator[Server]:
    if signal.getsignal(signal.SIGINT) == signal.SIG_IGN:  # a background shell's children would ignore it as well
        signal.signal(signal.SIGINT, signal.default_int_handler)
    path = os.pathsep.join(filter(None, (str(ROOT), os.environ.get("PYTHONPATH"))))
    with (
        tempfile.TemporaryFile("w+") as errors,
        psutil.Popen(
            [sys.executable, *(arguments or DASHBOARD)],
            env=os.environ
            | {"PYTHONPATH": path, "DRYER_ENERGY_PATIENCE": "0"},  # few draws: the tests have others to do
            stdout=subprocess.PIPE,
            stderr=errors,
            text=True,
        ) as process,
    ):
        watchdog = Timer(60, process.kill)
        watchdog.start()
        announced = process.stdout.readline()  # ends empty if the process ends
        watchdog.cancel()
        try:
            if not announced:
                errors.seek(0)
                pytest.fail(f"the server did not start:\n{errors.read()}")
            server = Server(announced.split()[1], process)
            yield server
            kernels = server.kernels()
            process.send_signal(signal.SIGINT)
            assert process.wait(timeout=20) == 0
            assert not psutil.wait_procs(kernels, timeout=5)[1], "kernels outlive the server"
            errors.seek(0)
            assert errors.read() == ""
        finally:
            if process.poll() is None:
                process.kill()


@pytest.fixture(scope="session")
def serving() -> Callable[..., AbstractContextManager[Server]]:
    """Run `python ...` that serves on a free port (`dryer-energy dashboard` if nothing is said); afterwards stop it as
    Ctrl-C does, and see that it ends well, silently, and with its kernels."""
    return _serving


@pytest.fixture(scope="session")
def server() -> Iterator[Server]:
    """The dashboards with the demo case."""
    with _serving() as running:
        yield running


@pytest.fixture(scope="session")
def chromium() -> str:
    """Path of Chromium; the tests that need it are skipped where it is missing, unless it is required."""
    found = shutil.which("chromium", path=os.pathsep.join(("/usr/bin", os.environ.get("PATH", ""))))
    if found:
        return found
    reason = "Chromium is not installed (Debian: apt-get install chromium)"
    if os.environ.get("DRYER_ENERGY_REQUIRE_BROWSER"):
        pytest.fail(f"{reason}, and DRYER_ENERGY_REQUIRE_BROWSER is set")
    pytest.skip(reason)


@pytest.fixture
def faults() -> list[str]:
    """Page errors, console errors and requests to elsewhere so far; a test that provokes some clears the list."""
    return []


@pytest.fixture
def open_page(chromium: str, faults: list[str]) -> Iterator[Callable[..., Any]]:
    """Opens a page in a fresh browser (options as of playwright's ``new_context``); the test fails on any fault."""
    from playwright.sync_api import sync_playwright

    def watch_request(url: str) -> None:
        parts = urlsplit(url)
        if parts.scheme not in ("data", "blob", "about") and parts.hostname != "127.0.0.1":
            faults.append(f"request to elsewhere: {url}")

    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=chromium, args=FLAGS)

        def open_page(**options: Any) -> Any:
            page = browser.new_context(**options).new_page()
            page.on("pageerror", lambda error: faults.append(f"page error: {error}"))
            page.on("console", lambda message: faults.append(message.text) if message.type == "error" else None)
            page.on("request", lambda request: watch_request(request.url))
            page.on("websocket", lambda socket: watch_request(socket.url))
            return page

        yield open_page
        for context in browser.contexts:
            for page in context.pages:
                page.goto("about:blank")  # leaving the page ends its kernel
        browser.close()
    assert not faults


@pytest.fixture
def browser_page(open_page: Callable[..., Any]) -> Any:
    """A page of 1440 by 900 in a fresh browser; see :func:`open_page`."""
    return open_page(viewport={"width": 1440, "height": 900})
