"""A visitor without a browser: opens a page, speaks with its kernel over the websocket as the page would, or worse."""

from __future__ import annotations

import json
import re
import time
import uuid
from collections.abc import Callable, Sequence
from contextlib import closing
from http.client import HTTPConnection
from typing import Any
from urllib.parse import urlsplit

import websocket
from jupyter_server.services.kernels.connection.base import deserialize_binary_message, serialize_binary_message

CONFIG = re.compile(r'id="jupyter-config-data"[^>]*>(.*?)</script>', re.S)


class Visitor:
    """One page: its kernel, its widgets by their model's identity, and what it has been told."""

    def __init__(self, url: str, view: str = "compare", **headers: str) -> None:
        self.headers = headers
        self.host = urlsplit(url).netloc
        self.base = urlsplit(url).path.rstrip("/")
        with closing(HTTPConnection(self.host, timeout=300)) as connection:
            connection.request("GET", f"{self.base}/{view}", headers=headers)
            response = connection.getresponse()
            self.page = response.read().decode()
        assert response.status == 200, response.status
        self.kernel = json.loads(CONFIG.search(self.page)[1])["kernelId"]
        self.session = uuid.uuid4().hex
        self.states: dict[str, dict[str, Any]] = {}
        self.heard: list[dict[str, Any]] = []
        address = f"ws://{self.host}{self.base}/api/kernels/{self.kernel}/channels?session_id={self.session}"
        self.socket = websocket.create_connection(address, timeout=300, origin=f"http://{self.host}", header=headers)

    def __enter__(self) -> Visitor:
        return self

    def __exit__(self, *_: object) -> None:
        self.leave()

    def leave(self) -> None:
        """As the page does on its way out: end the kernel, close the socket."""
        token = "0" * 32
        with closing(HTTPConnection(self.host, timeout=60)) as connection:
            connection.request(
                "POST",
                f"{self.base}/voila/api/shutdown/{self.kernel}",
                headers={"Cookie": f"_xsrf={token}", "X-XSRFToken": token, **self.headers},
            )
            assert connection.getresponse().status in (204, 404)
        self.socket.close()

    # ---------- messages ----------

    def send(self, kind: str, content: dict[str, Any], *, channel: str = "shell", buffers: Sequence[bytes] = ()) -> str:
        """Send a message; returns its identity."""
        identity = uuid.uuid4().hex
        message = {
            "channel": channel,
            "header": {
                "msg_id": identity,
                "msg_type": kind,
                "session": self.session,
                "username": "",
                "version": "5.3",
                "date": "2026-01-01T00:00:00Z",
            },
            "parent_header": {},
            "metadata": {"version": "1.0.0"},  # of the protocol by which widgets tell their states
            "content": content,
        }
        if buffers:
            self.socket.send_binary(serialize_binary_message({**message, "buffers": buffers}))
        else:
            self.socket.send(json.dumps(message))
        return identity

    def listen(self, until: Callable[[dict[str, Any]], bool], seconds: float = 300) -> dict[str, Any]:
        """Take in messages until one is as wanted."""
        end = time.monotonic() + seconds
        while time.monotonic() < end:
            self.socket.settimeout(max(end - time.monotonic(), 0.01))
            raw = self.socket.recv()
            if not raw:
                raise ConnectionError("the server closed the connection")
            message = json.loads(raw) if isinstance(raw, str) else deserialize_binary_message(raw)
            self.heard.append({**message, "buffers": None})
            content = message["content"]
            data = content.get("data", {}) if isinstance(content.get("data"), dict) else {}
            if message["header"]["msg_type"] == "comm_open":
                self.states[content["comm_id"]] = dict(data.get("state", {}))
            elif message["header"]["msg_type"] == "comm_msg" and data.get("method") in ("update", "echo_update"):
                self.states.setdefault(content["comm_id"], {}).update(data["state"])
            elif message["header"]["msg_type"] == "comm_msg" and data.get("method") == "update_states":
                for name, model in data["states"].items():
                    self.states[name] = dict(model["state"])
            if until(message):
                return message
        raise TimeoutError("not told in time")

    @staticmethod
    def wait_for_end(socket: websocket.WebSocket) -> None:
        """Take in frames until the connection ends, with the error that says so."""
        while socket.recv_frame():
            pass

    def settle(self, identity: str) -> None:
        """Wait until the kernel has dealt with a message."""
        self.listen(
            lambda m: (
                m["parent_header"].get("msg_id") == identity
                and m["header"]["msg_type"] == "status"
                and m["content"]["execution_state"] == "idle"
            )
        )

    # ---------- widgets ----------

    def look(self) -> None:
        """Learn every widget's state, as the page does when it opens."""
        comm = uuid.uuid4().hex
        self.send("comm_open", {"comm_id": comm, "target_name": "jupyter.widget.control", "data": {}})
        self.send("comm_msg", {"comm_id": comm, "data": {"method": "request_states"}})
        self.listen(lambda m: (m["content"].get("data") or {}).get("method") == "update_states")

    def find(self, **traits: Any) -> str:
        """The one widget with these traits; their texts are looked for in the traits."""

        def fits(state: dict[str, Any]) -> bool:
            return all(str(v) in str(state.get(k)) for k, v in traits.items())

        [found] = [name for name, state in self.states.items() if fits(state)]
        return found

    def put(self, comm: str, **state: Any) -> None:
        """Set traits of a widget, and wait until the kernel is done with it."""
        self.settle(self.send("comm_msg", {"comm_id": comm, "data": {"method": "update", "state": state}}))

    def tell(self, comm: str, content: Any, *buffers: bytes) -> None:
        """Send a widget a message of its own, and wait until the kernel is done with it."""
        data = {"method": "custom", "content": content}
        self.settle(self.send("comm_msg", {"comm_id": comm, "data": data}, buffers=buffers))

    def entry(self, **message: Any) -> tuple[str, dict[str, Any]]:
        """The form of the Compare page, and what it sends when a throughput is typed in, or something else."""
        form = self.find(_model_name="AnyModel", parts="hoppers[1].throughput")
        usual = {"shape": self.states[form]["shape"], "id": "hoppers[1].throughput", "part": "value"}
        return form, {**usual, **message}

    def enter(self, **message: Any) -> None:
        """Type something into that form, and wait until the answer has followed."""
        self.tell(*self.entry(**message))
