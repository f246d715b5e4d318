"""What a visitor could try: messages, addresses, names and files that the dashboards must not fall for.

Whatever is tried, the server's standard error stays empty: the fixture sees to that when it stops the server.
"""

from __future__ import annotations

import json
import re
import socket
import uuid
from contextlib import closing
from http.client import HTTPConnection
from urllib.parse import urlsplit

import pytest
import websocket
from visitor import Visitor

from dashboards.upload import LIMIT


@pytest.fixture(scope="module")
def visitor(server):
    with Visitor(server.url) as visitor:
        visitor.look()
        yield visitor


def ask(server, path: str, method: str = "GET", body: bytes | None = None, **headers: str):
    with closing(HTTPConnection(urlsplit(server.url).netloc, timeout=60)) as connection:
        connection.request(method, path, body=body, headers=headers)
        response = connection.getresponse()
        return response, response.read()


# ---------- messages to the kernel ----------

CODE = "open('/tmp/dryer-attack', 'w'); print(6 * 7)"
FORBIDDEN = {
    "execute_request": {"code": CODE, "silent": False, "user_expressions": {"x": "6*7"}},
    "complete_request": {"code": "impo", "cursor_pos": 4},
    "inspect_request": {"code": "print", "cursor_pos": 3, "detail_level": 1},
    "history_request": {"output": True, "raw": True, "hist_access_type": "tail", "n": 9},
    "is_complete_request": {"code": "1"},
    "debug_request": {"type": "request", "seq": 1, "command": "initialize", "arguments": {}},
    "input_reply": {"value": CODE},
    "interrupt_request": {},
    "create_subshell_request": {},
    "usage_request": {},
    "shutdown_request": {"restart": True},
    "comm_open": {"comm_id": "c", "target_name": "jupyter.widget", "data": {"state": {"_model_name": "OutputModel"}}},
    "comm_msg": {},
    "comm_info_requests": {},
}


@pytest.mark.parametrize("channel", ["shell", "control", "stdin", "iopub"])
@pytest.mark.parametrize("kind", FORBIDDEN)
def test_only_messages_of_widgets_reach_the_kernel(visitor, kind, channel):
    before = len(visitor.heard)
    sent = visitor.send(kind, FORBIDDEN[kind], channel=channel)
    visitor.settle(visitor.send("kernel_info_request", {}))  # whose answer comes behind
    assert sent not in [message["parent_header"].get("msg_id") for message in visitor.heard[before:]]


def test_nor_do_they_in_the_form_that_browsers_use(visitor):
    """Parts behind a table of their places: the kernel gets them as they are."""
    address = f"ws://{visitor.host}/api/kernels/{visitor.kernel}/channels?session_id={uuid.uuid4().hex}"
    with closing(
        websocket.create_connection(address, subprotocols=["v1.kernel.websocket.jupyter.org"], timeout=30)
    ) as browser:

        def send(kind: str, content: dict) -> None:
            head = {"msg_id": kind, "msg_type": kind, "session": "a", "username": "", "version": "5.3", "date": ""}
            parts = [b"shell", *(json.dumps(part).encode() for part in (head, {}, {}, content))]
            first = 8 * (len(parts) + 2)
            places = [first + sum(map(len, parts[:i])) for i in range(len(parts) + 1)]
            browser.send_binary(b"".join(n.to_bytes(8, "little") for n in (len(places), *places)) + b"".join(parts))

        for kind, content in FORBIDDEN.items():
            send(kind, content)
        send("kernel_info_request", {})
        heard = b""
        while b"kernel_info_reply" not in heard:
            heard += browser.recv()
    assert not [kind for kind in FORBIDDEN if kind.replace("request", "reply").encode() in heard]
    assert b"execute_input" not in heard


@pytest.mark.parametrize(
    "junk",
    ["", "no JSON", "[]", "{}", '{"channel": "shell"}', '{"channel": "shell", "header": 1}', b"\x00" * 9, b"\xff" * 40],
)
def test_who_sends_what_is_no_message_is_sent_away(visitor, junk):
    address = f"ws://{visitor.host}/api/kernels/{visitor.kernel}/channels?session_id={uuid.uuid4().hex}"
    with closing(websocket.create_connection(address, timeout=30)) as other:
        (other.send_binary if isinstance(junk, bytes) else other.send)(junk)
        while (frame := other.recv_frame()).opcode not in (websocket.ABNF.OPCODE_CLOSE,):
            pass
        assert frame.data[:2] == (1007).to_bytes(2, "big")
    visitor.settle(visitor.send("kernel_info_request", {}))  # the page beside it goes on


def test_a_message_above_the_limit_closes_that_socket_only(visitor):
    from dashboards.server import MESSAGE_LIMIT

    address = f"ws://{visitor.host}/api/kernels/{visitor.kernel}/channels?session_id={uuid.uuid4().hex}"
    with closing(websocket.create_connection(address, timeout=30)) as other:
        other.sock.sendall(b"\x82\xff" + (MESSAGE_LIMIT + 1).to_bytes(8, "big") + b"mask")  # the head of such a message
        with pytest.raises((OSError, websocket.WebSocketException)):
            visitor.wait_for_end(other)
    visitor.settle(visitor.send("kernel_info_request", {}))


# ---------- values that no control of the page would send ----------

FORM = {"_model_name": "AnyModel", "parts": "hoppers[1].throughput"}
THROUGHPUT = {"id": "hoppers[1].throughput", "part": "value"}


def answer(visitor) -> str:
    return visitor.states[visitor.find(value='id="answer"')]["value"]


@pytest.mark.parametrize(
    "message",
    [
        *({"text": text} for text in ("1e300", "-1", "nan", "9" * 100_000, "<script>alert(1)</script>", None, 5)),
        *({"text": text} for text in ({"value": [1]}, ["1"] * 10_000)),
        {"part": "low", "text": "<script>alert(1)</script>"},
        {"part": "__init__", "text": "5"},
        {"id": "hoppers[1]", "text": "5"},
        {"id": "case.name", "text": "5"},
        {"id": None, "text": "5"},
        {"shape": "", "text": "5"},
        {"id": "load", "text": "1000000"},
        {"id": "hoppers[1].resin", "text": "../../sources"},
        {"id": "site.climate", "text": "/etc/passwd"},
        {"id": "tariffs.electricity:tariff", "text": "/etc/passwd"},
    ],
    ids=lambda message: str(message)[:30],
)
def test_an_entry_that_is_none_leaves_the_answer(visitor, message):
    visitor.look()
    before = answer(visitor)
    visitor.enter(**message)
    assert answer(visitor) == before
    shown = [s.get("value") for s in visitor.states.values() if s.get("_model_name") == "HTMLModel"]
    assert not [html for html in shown if "<script>alert" in str(html) or "root:" in str(html)]
    undo = visitor.find(_model_name="ButtonModel", description="Undo")
    if not visitor.states[undo]["disabled"]:
        visitor.tell(undo, {"event": "click"})
    assert answer(visitor) == before


@pytest.mark.parametrize(
    "state",
    [
        {"parts": None},
        pytest.param({"parts": [5]}, marks=pytest.mark.thorough),
        {"parts": [{"id": "<script>", "kind": "field", "as": "text", "label": 5}]},
        pytest.param({"shape": 5}, marks=pytest.mark.thorough),
        {"no_such_trait": 1},
        pytest.param({"layout": "IPY_MODEL_none"}, marks=pytest.mark.thorough),
        {"_model_module": "other", "_view_name": "../../x"},
    ],
    ids=lambda state: str(state)[:30],
)
def test_a_trait_that_no_page_sets_leaves_the_answer(visitor, state):
    visitor.look()
    before, form = answer(visitor), visitor.find(**FORM)
    visitor.put(form, **state)
    visitor.tell(form, {"shape": "", **THROUGHPUT, "text": "70"})
    visitor.put(visitor.find(_model_name="ToggleButtonsModel", description="Units"), index=1)  # drawn anew
    visitor.put(visitor.find(_model_name="ToggleButtonsModel", description="Units"), index=0)
    visitor.look()
    assert answer(visitor) == before
    visitor.find(**FORM)


def test_messages_of_widgets_that_do_not_exist_or_cannot_be_made(visitor):
    for kind, content in (
        ("comm_msg", {"comm_id": "none", "data": {}}),
        ("comm_close", {"comm_id": "none", "data": {}}),
        ("comm_open", {"comm_id": uuid.uuid4().hex, "target_name": "none", "data": {}}),
        ("comm_open", {"comm_id": uuid.uuid4().hex, "target_name": "os.system", "target_module": "os", "data": {}}),
        ("comm_open", {"comm_id": uuid.uuid4().hex, "target_name": "jupyter.widget", "data": {"state": {}}}),
        ("comm_msg", {"comm_id": visitor.find(**FORM), "data": {"method": "update", "state": 5}}),
        ("comm_msg", {"comm_id": visitor.find(**FORM), "data": {"method": "update", "buffer_paths": [["a"]]}}),
        ("comm_info_request", {"target_name": 5}),
    ):
        visitor.send(kind, content)
        visitor.settle(visitor.send("kernel_info_request", {}))
    before = answer(visitor)
    visitor.look()
    assert answer(visitor) == before


# ---------- files from a visitor ----------


def upload(visitor, label: str, name: str, data: bytes) -> str:
    """What is wrong with a file, in the page's words."""
    button = visitor.find(_model_name="AnyModel", label=label)
    visitor.put(button, problem="")
    visitor.tell(button, {"name": name}, data)
    return visitor.states[button]["problem"]


def test_a_file_above_the_limit_is_told_in_words_whatever_the_page_says_the_limit_is(visitor):
    button = visitor.find(_model_name="AnyModel", label="Open a case file")
    visitor.put(button, limit=10**12)
    said = upload(visitor, "Open a case file", "../../big.toml", b"#" * (LIMIT + 1))
    assert said == "big.toml has 10.0 MB; at most 10 MB are taken."


@pytest.mark.parametrize(
    ("data", "said"),
    [
        (b"PK\x03\x04" + bytes(range(256)) * 4, "is not UTF-8 text"),
        (b"\x1f\x8b\x08" + b"\0" * 100, "is not UTF-8 text"),
        (b"\0" * 1000, "is not valid TOML"),
        (b"a = " + b"[" * 100_000, "nested too deeply"),
        (b"[a]\n" * 100_000, "is not valid TOML"),
        (b"x" * 3_000_000, "more than 2000000 bytes"),
        (b'[plant_load]\nfile = "/etc/passwd"\n', "is no file that can be read from a page"),
    ],
    ids=["zip", "gzip", "zeros", "nested", "twice", "long", "names a file"],
)
def test_files_that_are_none_are_told_in_words(visitor, data, said):
    before = answer(visitor)
    words = upload(visitor, "Open a case file", "a.toml", data)
    assert said in words
    assert "root:" not in words
    assert answer(visitor) == before


# ---------- addresses ----------

DISK = ("etc/passwd", "pyproject.toml", "dashboards/server.py", "compare.ipynb")
UP = ("../" * 12, "..%2f" * 12, "%2e%2e/" * 12, "..%5c" * 12, "%252e%252e%252f" * 12, "/", "//", "%00/", "....//" * 12)
UNDER = ("/", "/plotly/", "/voila/static/", "/voila/templates/", "/voila/templates/dryer/static/", "/voila/files/")
UNDER += ("/voila/labextensions/", "/voila/api/themes/", "/static/", "/files/", "/api/contents/", "/compare/")


@pytest.mark.parametrize("under", UNDER)
def test_no_way_up_leads_to_a_file(server, under):
    for up in UP:
        for target in DISK:
            response, body = ask(server, f"{under}{up}{target}")
            assert response.status in (302, 400, 403, 404, 405), (under, up, target, response.status)
            assert b"root:" not in body
            assert b"build-backend" not in body
            assert b"Voil" not in body


@pytest.mark.parametrize(
    ("method", "path"),
    [
        ("POST", "/api/kernels"),
        ("POST", "/api/kernels/{kernel}/restart"),
        ("POST", "/api/kernels/{kernel}/interrupt"),
        ("DELETE", "/api/kernels/{kernel}"),
        ("POST", "/voila/api/shutdown/{kernel}"),
        ("POST", "/api/terminals"),
        ("POST", "/api/sessions"),
        ("POST", "/api/shutdown"),
        ("PUT", "/api/contents/a.ipynb"),
        ("POST", "/voila/api/contents"),
        ("GET", "/api/terminals"),
        ("GET", "/api/sessions"),
        ("GET", "/api/config"),
        ("GET", "/voila/query/{kernel}"),
        ("GET", "/voila/execution/{kernel}"),
        ("GET", "/terminals/websocket/1"),
        ("GET", "/voila/templates/a"),
        ("GET", "/voila/templates/dryer/index.html.j2"),
        ("GET", "/login?next=//plant.example"),
        ("GET", "/logout"),
        ("GET", "/voila/labextensions/none.js"),
        ("TRACE", "/"),
        ("POST", "/compare"),
    ],
)
def test_nothing_else_can_be_done(server, visitor, method, path):
    """Without the token of the page's own cookie, as another site's form would ask."""
    response, _ = ask(server, path.format(kernel=visitor.kernel), method, b"{}" if method != "GET" else None)
    assert response.status in (302, 400, 403, 404, 405, 501)
    visitor.settle(visitor.send("kernel_info_request", {}))


def test_a_large_body_is_refused_unread(server):
    try:
        response, _ = ask(server, "/voila/api/shutdown/a", "POST", b"x" * 200_000)
    except OSError:  # closed before all was sent
        return
    assert response.status in (400, 413)


def test_ending_a_kernel_that_is_none(server):
    token = "0" * 32
    response, _ = ask(server, "/voila/api/shutdown/none", "POST", Cookie=f"_xsrf={token}", **{"X-XSRFToken": token})
    assert response.status == 404


@pytest.mark.parametrize(
    "path", ["/", "/compare", "/none/at/all", "/api/kernels/none", "/voila/query/a", "/api/kernels"]
)
def test_every_page_says_what_it_may_load(server, path):
    response, _ = ask(server, path)
    assert "default-src 'self'" in response.headers["Content-Security-Policy"]
    assert response.headers["X-Content-Type-Options"] == "nosniff"


def test_requests_that_are_none(server):
    parts = urlsplit(server.url)
    for junk in (
        b"\0\1\2\r\n\r\n",
        b"GET /\r\n\r\n",
        b"GET / HTTP/9\r\n\r\n",
        b"GET / HTTP/1.1\r\nHost: a\r\nHost: b\r\n\r\n",
    ):
        with closing(socket.create_connection((parts.hostname, parts.port), timeout=30)) as raw:
            raw.sendall(junk)
            raw.shutdown(socket.SHUT_WR)
            assert not re.match(rb"HTTP/1.\d 2", raw.recv(1000))


# ---------- other sites, other names ----------


@pytest.mark.parametrize(
    ("origin", "host"),
    [("http://plant.example", None), ("null", None), ("http://127.0.0.1:1", None), (None, "plant.example")],
)
def test_a_page_of_another_site_gets_no_socket(visitor, origin, host):
    address = f"ws://{visitor.host}/api/kernels/{visitor.kernel}/channels"
    for path in (address, address.replace("/api/kernels/", "/voila/query/").removesuffix("/channels")):
        with pytest.raises(websocket.WebSocketBadStatusException) as refused:
            websocket.create_connection(path, origin=origin or f"http://{host}", host=host, timeout=30)
        assert refused.value.status_code in (403, 404)


@pytest.mark.parametrize("path", ["/compare", "/", "/voila/query/a", "/api/kernels/a"])
def test_another_name_for_this_computer_gets_no_page(server, path):
    response, body = ask(server, path, Host="plant.example")
    assert response.status == 403
    assert b"kernelId" not in body


# ---------- leaving ----------


def test_a_page_that_goes_while_its_kernel_speaks(server):
    """The kernel's answers come upon a socket that is closed, or closing: no line on standard error."""
    visitor = Visitor(server.url)
    visitor.look()
    for value in range(60, 66):
        form, typed = visitor.entry(text=str(value))
        visitor.send("comm_msg", {"comm_id": form, "data": {"method": "custom", "content": typed}})
    raw = visitor.socket.sock
    # The network is gone: a reset, no farewell.
    raw.setsockopt(socket.SOL_SOCKET, socket.SO_LINGER, b"\1\0\0\0\0\0\0\0")
    raw.close()
    with closing(HTTPConnection(visitor.host, timeout=60)) as connection:
        token = "0" * 32
        headers = {"Cookie": f"_xsrf={token}", "X-XSRFToken": token}
        connection.request("POST", f"/voila/api/shutdown/{visitor.kernel}", headers=headers)
        assert connection.getresponse().status == 204
