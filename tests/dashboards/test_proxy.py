"""The example of DEVELOPERS.md for a team: a proxy on the same computer that asks for a password, with the same headers."""

from __future__ import annotations

import asyncio
import base64
from collections.abc import Iterator
from threading import Thread
from urllib.parse import urlsplit

import pytest
import websocket
from tornado.httpclient import AsyncHTTPClient, HTTPRequest
from tornado.httpserver import HTTPServer
from tornado.netutil import bind_sockets
from tornado.web import Application, HTTPError, RequestHandler
from tornado.websocket import WebSocketHandler, websocket_connect
from visitor import Visitor

PASSWORD = {"Authorization": "Basic " + base64.b64encode(b"plant:word").decode()}
PASSED = ("Cookie", "X-XSRFToken", "Content-Type", "Accept-Encoding")


def watched(handler: RequestHandler) -> None:
    """The proxy's own share: who asks, and from which site."""
    if handler.request.headers.get("Authorization") != PASSWORD["Authorization"]:
        raise HTTPError(401)
    if handler.request.headers.get("Origin", handler.settings["site"]) != handler.settings["site"]:
        raise HTTPError(403)


class Pages(RequestHandler):
    def check_xsrf_cookie(self) -> None:  # that is for the server behind to check
        pass

    async def _pass_on(self) -> None:
        watched(self)
        given = self.request.headers
        answer = await AsyncHTTPClient().fetch(
            f"http://{self.settings['behind']}{self.request.uri}",
            method=self.request.method,
            body=self.request.body or (b"" if self.request.method == "POST" else None),
            headers={name: given[name] for name in PASSED if name in given},  # Host is that of the server behind
            request_timeout=300,
            follow_redirects=False,
            raise_error=False,
        )
        self.set_status(answer.code, answer.reason)
        for name in ("Content-Type", "Content-Security-Policy"):
            if name in answer.headers:
                self.set_header(name, answer.headers[name])
        if answer.body:
            self.write(answer.body)

    get = post = _pass_on


class Sockets(WebSocketHandler):
    async def prepare(self) -> None:
        watched(self)

    def check_origin(self, origin: str) -> bool:
        return origin == self.settings["site"]

    async def open(self) -> None:
        behind = self.settings["behind"]
        request = HTTPRequest(f"ws://{behind}{self.request.uri}", headers={"Origin": f"http://{behind}"})
        self.other = await websocket_connect(request, on_message_callback=self._back)

    def _back(self, message: bytes | str | None) -> None:
        if message is None:
            self.close()
        else:
            self.write_message(message, binary=isinstance(message, bytes))

    async def on_message(self, message: bytes | str) -> None:
        await self.other.write_message(message, binary=isinstance(message, bytes))

    def on_close(self) -> None:
        if hasattr(self, "other"):
            self.other.close()


@pytest.fixture(scope="module")
def proxy(server) -> Iterator[str]:
    """Address of the proxy."""
    loop = asyncio.new_event_loop()
    [listening] = bind_sockets(0, "127.0.0.1")
    address = f"127.0.0.1:{listening.getsockname()[1]}"

    async def start() -> HTTPServer:
        settings = {"behind": urlsplit(server.url).netloc, "site": f"http://{address}"}
        made = HTTPServer(Application([(r"/api/kernels/.*/channels", Sockets), (r"/.*", Pages)], **settings))
        made.add_socket(listening)
        return made

    thread = Thread(target=loop.run_forever)
    thread.start()
    made = asyncio.run_coroutine_threadsafe(start(), loop).result(30)
    yield f"http://{address}/"

    async def stop() -> None:
        made.stop()
        await made.close_all_connections()

    asyncio.run_coroutine_threadsafe(stop(), loop).result(30)
    loop.call_soon_threadsafe(loop.stop)
    thread.join(30)
    loop.close()


def test_a_member_of_the_team_works_through_the_proxy(server, proxy):
    with Visitor(proxy, **PASSWORD) as visitor:
        visitor.look()
        before = visitor.states[visitor.find(value='id="answer"')]["value"]
        visitor.enter(text="45")
        assert visitor.states[visitor.find(value='id="answer"')]["value"] != before
        with pytest.raises(websocket.WebSocketBadStatusException, match="401"):
            websocket.create_connection(f"ws://{visitor.host}/api/kernels/{visitor.kernel}/channels", timeout=30)
        with pytest.raises(websocket.WebSocketBadStatusException, match="403"):
            websocket.create_connection(
                f"ws://{visitor.host}/api/kernels/{visitor.kernel}/channels",
                origin="http://plant.example", header=PASSWORD, timeout=30,
            )  # fmt: skip
        # Without the proxy's headers the server behind refuses.
        with pytest.raises(websocket.WebSocketBadStatusException, match="403"):
            websocket.create_connection(
                f"ws://{urlsplit(server.url).netloc}/api/kernels/{visitor.kernel}/channels",
                origin="http://dryers.plant.example", host="dryers.plant.example", timeout=30,
            )  # fmt: skip


def test_who_has_no_password_gets_no_page(proxy):
    with pytest.raises(AssertionError, match="401"):
        Visitor(proxy)
