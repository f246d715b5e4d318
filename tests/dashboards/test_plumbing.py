"""The page around the views: what is served and what is not, start and stop, the pieces a view is built from without a browser."""

from __future__ import annotations

import gzip
import json
import re
import socket
import subprocess
import sys
import tomllib
from contextlib import closing
from datetime import UTC, datetime
from http.client import HTTPConnection, HTTPResponse
from importlib import resources
from itertools import product
from pathlib import Path
from urllib.parse import urlsplit

import numpy as np
import pytest

from dashboards import launch, palette
from dashboards.case_bar import Keeper
from dashboards.case_state import CaseState
from dashboards.download import Download
from dashboards.heartbeat import Heartbeat
from dashboards.plotview import PlotView
from dashboards.server import Kernel
from energy.errors import EnergyError

ROOT = Path(__file__).resolve().parents[2]
DASHBOARDS = ROOT / "dashboards"
STYLE = (DASHBOARDS / "share/jupyter/voila/templates/dryer/static/style.css").read_text(encoding="utf-8")


# ---------- colours ----------


@pytest.mark.published(
    "Okabe & Ito 2008, Color Universal Design",
    where="figure 'Colorblind barrier-free color pallet', RGB (0-255)",
    quoted="from memory",
)
@pytest.mark.parametrize(
    ("name", "rgb"),
    [
        ("BLACK", (0, 0, 0)),
        ("ORANGE", (230, 159, 0)),
        ("SKY_BLUE", (86, 180, 233)),
        ("BLUISH_GREEN", (0, 158, 115)),
        ("YELLOW", (240, 228, 66)),
        ("BLUE", (0, 114, 178)),
        ("VERMILLION", (213, 94, 0)),
        ("REDDISH_PURPLE", (204, 121, 167)),
    ],
)
def test_palette_is_the_published_one(name, rgb):
    assert bytes.fromhex(getattr(palette, name)[1:]) == bytes(rgb)


def test_every_end_use_has_its_own_colour():
    assert len(set(palette.END_USE_COLOURS.values())) == len(palette.END_USE_COLOURS) == 12


def test_style_sheet_has_the_palette():
    colours = dict(re.findall(r"--oi-([a-z-]+): (#\w+);", STYLE))
    assert colours == {
        name.lower().replace("_", "-"): value.lower()
        for name, value in vars(palette).items()
        if name.isupper() and isinstance(value, str)
    }


def css_colours(selector: str) -> dict[str, str]:
    block = STYLE.split(f"{selector} {{", 1)[1].split("}", 1)[0]
    return dict(re.findall(r"--([a-z-]+): (#[0-9a-f]{6});", block))


def contrast(first: str, second: str) -> float:
    """Contrast ratio of WCAG 2.2, definitions "contrast ratio" and "relative luminance"."""

    def luminance(colour: str) -> float:
        shares = np.frombuffer(bytes.fromhex(colour[1:]), np.uint8) / 255
        linear = np.where(shares <= 0.04045, shares / 12.92, ((shares + 0.055) / 1.055) ** 2.4)
        return float(linear @ [0.2126, 0.7152, 0.0722])

    dark, light = sorted((luminance(first), luminance(second)))
    return (light + 0.05) / (dark + 0.05)


@pytest.mark.published(
    "WCAG 2.2", where="success criteria 1.4.3 (text 4.5) and 1.4.11 (controls 3)", quoted="from memory"
)
@pytest.mark.parametrize("selector", [":root", ':root[data-mode="dark"]'])
def test_text_and_controls_stand_out(selector):
    colours = css_colours(selector)
    for ink, ground in product(("ink", "soft", "accent", "good", "warn", "bad"), ("card", "bg")):
        assert contrast(colours[ink], colours[ground]) >= 4.5, (ink, ground)
    assert contrast(colours["edge"], colours["card"]) >= 3
    assert contrast(colours["accent-ink"], colours["accent"]) >= 4.5
    assert contrast(colours["card"], colours["bad"]) >= 4.5


def test_a_kernel_looked_at_before_it_has_started_counts_as_new():
    assert abs((datetime.now(UTC) - Kernel().last_activity).total_seconds()) < 5


# ---------- pieces, without a kernel ----------


def test_plotview_sends_plain_json():
    figure = {"data": [{"y": np.array([1.0, np.nan])}], "layout": {"template": {"data": {}}, "title": {"text": "x"}}}
    view = PlotView(figure, "words")
    assert json.loads(json.dumps(view.figure, allow_nan=False))["layout"] == {"title": {"text": "x"}}
    assert "template" in figure["layout"], "the caller's figure is left alone"
    assert view.alt == "words"


def test_plotview_keeps_its_words_unless_told():
    view = PlotView({"data": []}, "words")
    view.show({"data": [{"y": [1]}]})
    assert view.figure["data"] == [{"y": [1]}]
    assert view.alt == "words"
    view.show({"data": []}, "others")
    assert view.alt == "others"


def test_plotview_takes_plotly_figures():
    graph_objects = pytest.importorskip("plotly.graph_objects")
    figure = PlotView(graph_objects.Figure(graph_objects.Bar(y=["a"], x=[2.0]))).figure
    assert figure["data"][0]["type"] == "bar"
    assert "template" not in figure["layout"]


@pytest.fixture
def sent(monkeypatch) -> list[tuple]:
    messages: list[tuple] = []
    for piece in (Download, Heartbeat):
        monkeypatch.setattr(piece, "send", lambda _self, content, buffers=None: messages.append((content, buffers)))
    return messages


def test_download_sends_the_file(sent):
    Download(lambda: b"bytes", lambda: "a.pdf", "application/pdf")._answer(None, "wanted", None)
    assert sent == [({"kind": "file", "name": "a.pdf", "mime": "application/pdf"}, [b"bytes"])]


def failing(error: Exception):
    def make() -> bytes:
        raise error

    return make


def test_download_says_our_errors_in_their_words(sent):
    Download(failing(EnergyError("no price")), "a", "b")._answer(None, "wanted", None)
    assert sent == [({"kind": "problem", "text": "no price"}, None)]


def test_download_keeps_the_inside_of_other_errors_to_itself(sent, caplog):
    Download(failing(KeyError("/secret/path")), "a", "b")._answer(None, "wanted", None)
    [(message, _)] = sent
    assert message["kind"] == "problem"
    assert "secret" not in message["text"]
    assert "/secret/path" in caplog.text


def test_heartbeat_answers_only_what_it_knows(sent):
    heart = Heartbeat()
    heart._answer(None, {"other": 1}, None)
    assert sent == []
    heart._answer(None, "ping", None)
    assert sent == [("pong", None)]


def test_notebooks_are_one_cell_without_output():
    for path in DASHBOARDS.glob("*.ipynb"):
        notebook = json.loads(path.read_text(encoding="utf-8"))
        [cell] = notebook["cells"]
        module = path.stem.removeprefix("capital-")
        assert "".join(cell["source"]) == f"from dashboards.{module} import app\n\napp()"
        assert cell["outputs"] == []
        assert cell["execution_count"] is None
        assert notebook["metadata"]["title"]
        assert notebook["metadata"]["kernelspec"]["name"] == "python3"


def test_a_wheel_takes_every_file_of_the_page_along():
    package_data = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["tool"]["setuptools"][
        "package-data"
    ]
    taken = {Path(pattern).suffix for pattern in package_data["dashboards"]} | {".py"}
    others = {"__pycache__", "images"}  # images are for the README
    files = [path for path in DASHBOARDS.rglob("*") if path.is_file() and not others & set(path.parts)]
    assert {path.suffix for path in files} <= taken


# ---------- refusals ----------


def refusal(capsys, *arguments, **options) -> str:
    """The one line that `serve` writes when it cannot serve."""
    assert launch.serve(*arguments, **options) == 2
    out, err = capsys.readouterr()
    assert out == ""
    [line] = err.splitlines()
    return line


@pytest.mark.parametrize("ip", ["0.0.0.0", "::", "192.0.2.7", "plant.example", ""])
def test_serves_no_other_computer(capsys, ip):
    assert "password" in refusal(capsys, None, 0, False, ip=ip)


def test_port_in_use(capsys):
    with closing(socket.create_server(("127.0.0.1", 0))) as taken:
        port = taken.getsockname()[1]
        line = refusal(capsys, None, port, False)
    assert f"Port {port} on 127.0.0.1 is in use" in line
    assert "--port 0" in line


def test_no_such_port(capsys):
    assert "65535" in refusal(capsys, None, 70000, False)


def test_missing_case_file(capsys, tmp_path):
    assert "no such file" in refusal(capsys, tmp_path / "none.toml", 0, False)


@pytest.mark.thorough
def test_an_example_is_served_by_its_name():
    command = [sys.executable, "-m", "energy", "dashboard", "one-machine", "--no-browser", "--port", "0"]
    with subprocess.Popen(command, stdout=subprocess.PIPE, text=True, cwd=launch.HERE.parent) as served:
        try:
            assert served.stdout.readline().startswith("Dashboards: http://127.0.0.1:")
        finally:
            served.terminate()


# ---------- what is served, and what is not ----------


def get(server, path: str, **headers: str) -> tuple[HTTPResponse, bytes]:
    with closing(HTTPConnection(urlsplit(server.url).netloc, timeout=30)) as connection:
        connection.request("GET", path, headers=headers)
        response = connection.getresponse()
        return response, response.read()


@pytest.fixture(scope="module")
def first_page(server) -> tuple[HTTPResponse, str]:
    response, body = get(server, "/compare")
    return response, body.decode()


def test_page_forbids_other_hosts(first_page):
    response, _ = first_page
    policy = dict(part.split(" ", 1) for part in response.headers["Content-Security-Policy"].split("; "))
    assert policy["default-src"] == policy["connect-src"] == "'self'"
    assert "unsafe-eval" not in policy["script-src"]
    assert not [part for part in policy.values() if re.search(r"https?:|wss?:|\*", part)]
    assert response.headers["X-Content-Type-Options"] == "nosniff"


def test_page_links_to_no_other_host(first_page):
    _, page = first_page
    links = re.findall(r"""(?:src|href)=["']([^"']*)""", page)
    assert any("plotly" in link for link in links)
    assert not [link for link in links if re.match(r"(\w+:)?//", link)]


@pytest.mark.parametrize("view", [pytest.param("bill", marks=pytest.mark.thorough), "walkthrough"])
def test_every_view_is_linked_and_closed_alike(server, first_page, view):
    response, body = get(server, f"/{view}")
    page = body.decode()
    assert response.status == 200
    assert response.headers["Content-Security-Policy"] == first_page[0].headers["Content-Security-Policy"]
    assert "import app" not in page
    for shown in (page, first_page[1]):
        assert re.findall(r'<a href="(/[\w-]*)"', shown) == ["/", *(f"/{stem}" for _, stem, _ in launch.VIEWS)]


def test_the_start_page_names_every_view_and_the_case_without_a_kernel(server):
    before = len(server.kernels())
    response, body = get(server, "/")
    page = body.decode()
    assert response.status == 200
    assert "import app" not in page
    assert "the demo plant" in page
    assert 'data-mark="demo"' in page
    for name, stem, sentence in launch.VIEWS:
        assert re.search(rf'<a class="card way" href="/{stem}"><h2>{name}</h2><p>{re.escape(sentence)}</p>', page)
    assert "follow the resin producer" in page
    assert len(server.kernels()) <= before + 1  # the one that is kept ready


def test_the_mark_of_a_case_file_is_that_of_what_it_holds(tmp_path, monkeypatch):
    one, other = tmp_path / "one.toml", tmp_path / "other.toml"
    one.write_bytes(b"a")
    other.write_bytes(b"a")
    assert launch.case_mark(str(one)) == launch.case_mark(str(other))
    other.write_bytes(b"b")
    assert launch.case_mark(str(one)) != launch.case_mark(str(other))
    assert launch.case_mark(None) == "demo"
    monkeypatch.setenv(launch.CASE_VARIABLE, str(one))
    state = CaseState("one-machine")
    keeper = Keeper(state)
    state.set({"hoppers[1].throughput": "95 kg/h"})
    assert keeper.file_mark == launch.case_mark(str(one))


def test_page_shows_no_source(first_page):
    assert "import app" not in first_page[1]


@pytest.mark.parametrize(
    "query", ["?template=reveal", pytest.param("?theme=dark", marks=pytest.mark.thorough), "?voila-template=classic"]
)
def test_address_bar_overrides_nothing(server, first_page, query):
    def head(page: str) -> str:
        return page.split("</head>")[0]

    response, body = get(server, f"/compare{query}")
    assert response.status == 200
    assert head(body.decode()) == head(first_page[1])


@pytest.mark.parametrize(
    "path", ["compare.ipynb", "bill.ipynb", "compare.py", "launch.py", "static/plotview.js", "../pyproject.toml"]
)
def test_no_file_of_the_folder_is_served(server, path):
    response, _ = get(server, f"/voila/files/{path}")
    assert response.status == 403
    response, _ = get(server, f"/{path}")
    assert response.status in (302, 403, 404)
    if response.status == 302:
        assert response.headers["Location"].startswith("/voila/files/")


@pytest.mark.parametrize(
    "path", ["/api/contents", "/api/kernels", "/api/kernelspecs", "/voila/tree", "/voila/render/compare.ipynb"]
)
def test_no_other_interface_answers(server, path):
    response, _ = get(server, path)
    assert response.status in (302, 403, 404)
    if response.status == 302:
        assert response.headers["Location"].startswith("/voila/files/")


def test_other_names_for_this_computer_are_refused(server):
    # A page of another site could have its own name point to 127.0.0.1 and read the dashboards.
    response, _ = get(server, "/", Host="plant.example")
    assert response.status == 403


def test_plotly_comes_from_the_installed_package(server, first_page):
    [path] = re.findall(r'href="(/plotly/[^"]*)"', first_page[1])
    response, body = get(server, path, **{"Accept-Encoding": "gzip"})
    assert response.headers["Content-Encoding"] == "gzip"
    assert gzip.decompress(body) == (resources.files("plotly") / "package_data" / "plotly.min.js").read_bytes()
    year = 365 * 24 * 3600
    assert int(re.search(r"max-age=(\d+)", response.headers["Cache-Control"])[1]) >= year


@pytest.mark.thorough
def test_ctrl_c_leaves_nothing_behind(serving):
    with serving() as server:
        get(server, "/compare")
        kernels = server.kernels()
        assert kernels
        [scratch] = {Path(kernel.environ()["IPYTHONDIR"]) for kernel in kernels}
        assert scratch.is_dir()
    # `serving` itself sees to the exit status, the kernels and standard error.
    assert not scratch.exists()


@pytest.mark.thorough
def test_ctrl_c_while_the_first_kernel_starts(serving):
    with serving():
        pass  # `serving` itself sees to the exit status, the kernels and standard error.
