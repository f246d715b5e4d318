"""Voilà with safe settings: everything from this computer, nothing but the page, on a socket that is open already."""

from __future__ import annotations

import asyncio
import json
import logging
import os
import shutil
import signal
import socket
from asyncio import Future
from collections.abc import Callable, Sequence
from datetime import UTC, datetime
from importlib import metadata, resources
from pathlib import Path
from typing import Any

import traitlets
from jinja2 import DictLoader, Environment
from jupyter_server.base.handlers import JupyterHandler
from jupyter_server.services.kernels.connection.base import deserialize_binary_message, deserialize_msg_from_ws_v1
from jupyter_server.services.kernels.kernelmanager import ServerKernelManager
from tornado.httpserver import HTTPServer
from tornado.httputil import HTTPServerRequest
from tornado.ioloop import IOLoop, PeriodicCallback
from tornado.routing import Matcher, Rule
from tornado.web import (
    ErrorHandler,
    Finish,
    GZipContentEncoding,
    HTTPError,
    RequestHandler,
    StaticFileHandler,
)
from tornado.websocket import WebSocketClosedError
from traitlets.config import Config
from voila.app import Voila
from voila.static_file_handler import TemplateStaticFileHandler
from voila.tornado.kernel_websocket_handler import VoilaKernelWebsocketHandler

from dashboards.launch import VIEWS
from dashboards.memory import give_back_memory, set_aside_what_stays, use_one_heap
from dashboards.places import View
from dashboards.plain_pages import STYLES, Start

HEADERS = {
    # Voilà's page holds inline scripts, and its modules arrive as blobs; all else must come from this server.
    "Content-Security-Policy": "; ".join(
        (
            "default-src 'self'",
            "script-src 'self' 'unsafe-inline' blob:",
            "style-src 'self' 'unsafe-inline'",
            "img-src 'self' data: blob:",
            "font-src 'self' data:",
            "connect-src 'self'",
            "object-src 'none'",
            "base-uri 'self'",
            "form-action 'self'",
            "frame-ancestors 'self'",
        )
    ),
    "X-Content-Type-Options": "nosniff",
    "Referrer-Policy": "same-origin",
}
MESSAGE_LIMIT = 32 * 2**20
"""Largest websocket message. [byte] An upload travels in one message; above the limit it would fail in silence."""
HELD = 75
"""How long after a page has gone all that it was made of is. [s]"""
LARGEST_BODY = 100_000
"""Largest body of a request. [byte] All that a page posts is that its kernel can end."""


class QuickCompression(GZipContentEncoding):
    """Compression at the quick end: less than half the time of the default, for one sixth more bytes."""

    GZIP_LEVEL = 1


class Kernel(ServerKernelManager):
    """A kernel that is not interrupted just before it is ended, which it would complain about on the terminal."""

    async def _async_interrupt_kernel(self) -> None:
        if not self.shutting_down:
            await super()._async_interrupt_kernel()

    @traitlets.default("last_activity")
    def _not_heard_of_yet(self) -> datetime:
        """Of a kernel that is looked at before it has started: now, or the search for idle ones would stumble over it."""
        return datetime.now(UTC)


class Channels(VoilaKernelWebsocketHandler):
    """The socket between a page and its kernel; a page that goes on to another view meanwhile is no error."""

    async def pre_get(self) -> None:
        await super().pre_get()
        if self.connection is None:
            raise Finish

    def write_message(self, message: bytes | str | dict[str, Any], binary: bool = False) -> Future[None] | None:
        """Send to the page; what the kernel still says to one that has gone is lost, be it gone before or meanwhile."""
        try:
            sending = super().write_message(message, binary)
        except WebSocketClosedError:
            return None
        if sending is not None:
            sending.add_done_callback(lambda sent: sent.cancelled() or sent.exception())  # asked for: not logged
        return sending

    def on_message(self, ws_message: bytes | str) -> None:
        """Take a message of the page; who sends what is none is sent away, what no page here asks for goes nowhere."""
        try:
            if _wanted(ws_message, self.selected_subprotocol):
                super().on_message(ws_message)
        except Exception:
            self.close(1007, "not a message for a kernel")

    def on_close(self) -> None:
        """Forget the page at once: its next sign of life, half a minute away, would hold all that it was made of."""
        super().on_close()
        if self.ping_callback is not None:
            self.ping_callback.stop()
        IOLoop.current().call_later(HELD, give_back_memory)


def _wanted(message: bytes | str, protocol: str | None) -> bool:
    """Is it one of the messages that the widgets of a page send? A page makes no widgets, it asks for those there are."""
    if protocol is None:
        read = deserialize_binary_message(message) if isinstance(message, bytes) else json.loads(message)
        header, content = read["header"], read["content"]
    else:
        header, content = (json.loads(part) for part in deserialize_msg_from_ws_v1(message)[1][0:4:3])
    kind, comm, data = header["msg_type"], content.get("comm_id"), content.get("data")
    if kind in ("comm_msg", "comm_open"):
        if not isinstance(comm, str) or not isinstance(data, dict):
            return False
        return bool(kind == "comm_msg" or content.get("target_name") == "jupyter.widget.control")
    return kind in ("comm_close", "comm_info_request", "kernel_info_request")


class TemplateFiles(TemplateStaticFileHandler):
    """Files of the page's template; an address that cannot be one is told so, not an error of the server."""

    def parse_url_path(self, url_path: str) -> str:
        try:
            parsed = str(super().parse_url_path(url_path))
            self.get_absolute_path("", parsed)
        except (ValueError, AssertionError):
            raise HTTPError(404) from None
        return parsed


class OddMethod(Matcher):
    """Requests that are no GET, POST or the like, which a page of Voilà cannot even refuse."""

    def match(self, request: HTTPServerRequest) -> dict[str, Any] | None:
        return None if request.method in RequestHandler.SUPPORTED_METHODS else {}


class Nothing(JupyterHandler):
    """Stands at addresses of Voilà that no page here asks for."""

    def get(self, *_: str) -> None:
        raise HTTPError(404)


class Dashboards(Voila):
    """Voilà with our headers, plotly.js from the installed plotly package, and a stop that leaves no kernel behind."""

    socket: socket.socket
    views: tuple[Path, ...] = ()
    most_pages: int
    announce: Callable[[], None]

    def init_settings(self) -> dict[str, Any]:
        settings: dict[str, Any] = super().init_settings()
        # The stock page of an error asks for files that are not served here.
        plain = DictLoader(
            {"error.html": "<!doctype html><title>{{ status_code }}</title>{{ status_code }}: {{ status_message }}"}
        )
        return settings | {
            "jinja2_env": Environment(loader=plain, autoescape=True),
            "headers": HEADERS,
            "most_pages": self.most_pages,
            "pages_under_way": set(),
            "transforms": [QuickCompression],
            "websocket_max_message_size": MESSAGE_LIMIT,
            "allow_remote_access": False,  # refuses a Host header that is not this computer
        }

    def init_handlers(self) -> list[Any]:
        folder = resources.files("plotly") / "package_data"
        first = (r"/", Start, {"resources": {**self.voila_configuration.resources, "base_url": self.base_url}})
        views = [(rf"/{path.stem}", View, self._view(path)) for path in self.views]
        scripts = (r"/plotly/(plotly\.min\.js)", StaticFileHandler, {"path": str(folder)})
        channels = (r"/api/kernels/(?P<kernel_id>\w+-\w+-\w+-\w+-\w+)/channels", Channels)
        files = (r"/voila/templates/(.*)", TemplateFiles)
        # What a page was asked with, by its kernel: kept for ever, and told to whoever asks.
        requests = (r"/voila/query/(.*)", Nothing)
        odd = (
            r"(?i)/(.*%(?:00|0a|0d).*|login|logout)",
            Nothing,
        )  # no file's name and no header holds these; nobody logs in
        method = Rule(OddMethod(), ErrorHandler, {"status_code": 405})
        return [method, odd, first, scripts, channels, files, requests, *views, *super().init_handlers()]

    def _view(self, notebook: Path) -> dict[str, Any]:
        """What serves a notebook at its own address, as Voilà serves its only one at the root."""
        return {
            "notebook_path": os.path.relpath(notebook, self.root_dir),
            "template_paths": self.template_paths,
            "config": self.config,
            "voila_configuration": self.voila_configuration,
        }

    def listen(self) -> None:
        self.socket.setblocking(False)
        HTTPServer(self.app, max_body_size=LARGEST_BODY).add_socket(self.socket)
        self.ioloop = IOLoop.current()
        self.ioloop.add_callback(self.announce)
        # Not as a KeyboardInterrupt, which would strike in the middle of some task.
        loop = self.ioloop.asyncio_loop
        for name in (signal.SIGINT, signal.SIGTERM):
            signal.signal(name, lambda *_: loop.call_soon_threadsafe(loop.stop))
        if os.name == "nt":  # a waiting loop does not see Ctrl-C there
            PeriodicCallback(lambda: None, 500).start()
        set_aside_what_stays()
        try:
            self.ioloop.start()
        finally:
            self.stop()

    def stop(self) -> None:
        for name in (signal.SIGINT, signal.SIGTERM):  # already at it
            signal.signal(name, signal.SIG_IGN)
        # Of work that still waits for kernels, which are ended now:
        logging.getLogger("asyncio").setLevel(logging.CRITICAL)
        self.ioloop.asyncio_loop.run_until_complete(self._end_kernels())
        shutil.rmtree(self.connection_dir, ignore_errors=True)

    async def _end_kernels(self) -> None:
        starting = [task for pool in self.kernel_manager._pools.values() for task in pool]
        if starting:  # a kernel cannot be ended before it has started
            await asyncio.wait(starting, timeout=20)
        await self.kernel_manager.shutdown_all(now=True)


def configuration(*, ip: str, port: int) -> Config:
    """Settings that keep the server closed: no file, no other template, no source, no traceback, no idle kernel."""
    config = Config()
    config.Voila.ip = ip
    config.Voila.port = port
    config.Voila.log_level = logging.ERROR
    page = config.VoilaConfiguration
    page.template = "dryer"
    # The version in the address lets the browser keep the file until plotly changes.
    page.resources = {
        "styles": list(STYLES),
        "plotly_js": f"/plotly/plotly.min.js?v={metadata.version('plotly')}",
        "views": [{"name": name, "address": stem, "sentence": sentence} for name, stem, sentence in VIEWS],
    }
    page.strip_sources = True
    page.show_tracebacks = False
    page.allow_template_override = "NO"
    page.allow_theme_override = "NO"
    page.extension_allowlist = [
        "@jupyter-widgets/jupyterlab-manager",
        "@voila-dashboards/widgets-manager8",
        "anywidget",
    ]
    page.file_allowlist = [r"(?!)"]  # matches nothing: no file of the notebook's folder is served
    page.preheat_kernel = True
    page.default_pool_size = 1
    # Messages of the widgets may still be on their way when the cell ends: on a busy machine for longer than the 4 s after
    # which the page would be shown without them, and stay empty.
    config.VoilaExecutor.iopub_timeout = 120
    kernels = config.MappingKernelManager
    kernels.kernel_manager_class = f"{__name__}.Kernel"
    kernels.cull_idle_timeout = 3600
    kernels.cull_interval = 60
    config.KernelManager.autorestart = False  # a restarted kernel has lost its page
    if os.name == "posix":
        config.KernelManager.transport = "ipc"  # files of this user only, no ports between server and kernels
    return config


def run(notebooks: Sequence[Path], listening: socket.socket, most_pages: int, announce: Callable[[], None]) -> None:
    """Serve the first page, and notebooks by their name, on a listening socket until Ctrl-C or a termination signal.

    The first of them has a kernel ready for the next visitor. Calls `announce` once ready.
    """
    use_one_heap()
    logging.getLogger("tornado").setLevel(logging.ERROR)
    ip, port = listening.getsockname()[:2]
    app = Dashboards(config=configuration(ip=ip, port=port))
    app.config_file_paths = []  # neither the user's settings nor a voila.py in the current folder
    app.socket, app.announce, app.views, app.most_pages = listening, announce, tuple(notebooks), most_pages
    app.initialize([str(notebooks[0])])
    app.start()
