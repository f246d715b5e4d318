"""What is packed is whole: built, installed into an environment of its own, and used from another folder."""

from __future__ import annotations

import os
import re
import shutil
import signal
import subprocess
import sys
import sysconfig
import tarfile
import venv
import zipfile
from importlib.metadata import version
from pathlib import Path
from threading import Timer
from urllib.request import urlopen

import pytest

ROOT = Path(__file__).parents[1]
BACKEND = 77  # first setuptools that reads this pyproject.toml
LEFT_OUT = shutil.ignore_patterns(".*", "__pycache__", "build", "dist", "*.egg-info", "mutants")

pytestmark = [pytest.mark.thorough, pytest.mark.xdist_group("packed")]


def run(*command, cwd, env=None, timeout=300):
    """Standard output of a command that succeeds without a word on standard error."""
    done = subprocess.run(command, cwd=cwd, env=env, capture_output=True, text=True, timeout=timeout)
    assert done.returncode == 0, f"{command}: {done.stdout}\n{done.stderr}"
    assert done.stderr == ""
    return done.stdout


def build(what, folder, into):
    """Path of the source distribution or the wheel made from a folder by the backend named in pyproject.toml."""
    into.mkdir(exist_ok=True)
    code = f"import setuptools.build_meta as backend; backend.build_{what}({str(into)!r})"
    done = subprocess.run([sys.executable, "-c", code], cwd=folder, capture_output=True, text=True, timeout=300)
    assert done.returncode == 0, done.stderr
    (made,) = into.iterdir()
    return made


@pytest.fixture(scope="module")
def sources(tmp_path_factory):
    """The source distribution, built from a copy of the project."""
    if int(version("setuptools").split(".")[0]) < BACKEND:
        pytest.skip(f"setuptools is older than {BACKEND}: pip install -e '.[test]'")
    place = tmp_path_factory.mktemp("sources")
    shutil.copytree(ROOT, place / "copy", ignore=LEFT_OUT)
    return build("sdist", place / "copy", place / "made")


@pytest.fixture(scope="module")
def wheel(sources, tmp_path_factory):
    """The wheel, built from nothing but the source distribution."""
    place = tmp_path_factory.mktemp("wheel")
    with tarfile.open(sources) as archive:
        archive.extractall(place, filter="data")
    (folder,) = place.iterdir()
    return build("wheel", folder, place / "made")


@pytest.fixture(scope="module")
def installed(wheel, tmp_path_factory):
    """A fresh environment with the wheel; what it depends on is taken from this one."""
    place = tmp_path_factory.mktemp("environment")
    venv.create(place, with_pip=False)
    scripts = place / ("Scripts" if os.name == "nt" else "bin")
    pip = [sys.executable, "-m", "pip", "--python", scripts / "python", "install", "--quiet", "--no-deps", "--no-index"]
    run(*pip, "--disable-pip-version-check", wheel, cwd=place)
    own = run(scripts / "python", "-c", "import sysconfig; print(sysconfig.get_path('purelib'))", cwd=place).strip()
    paths = [p for p in sys.path if p and Path(p).name in ("site-packages", "dist-packages")]
    # Folders in such a file are searched last, and what they hold of this kind is not followed: no editable project.
    (Path(own) / "dependencies.pth").write_text("\n".join(paths), encoding="utf-8")
    env = {key: value for key, value in os.environ.items() if key != "PYTHONPATH"}
    shares = [Path(sysconfig.get_path("data")), *(Path(p).parents[2] for p in paths)]
    env["JUPYTER_PATH"] = os.pathsep.join(str(share / "share" / "jupyter") for share in shares)
    elsewhere = tmp_path_factory.mktemp("elsewhere")
    for package in ("energy", "dashboards", "tariffs_demo"):
        found = run(scripts / "python", "-c", f"import {package}; print({package}.__path__[0])", cwd=elsewhere, env=env)
        assert Path(found.strip()).is_relative_to(place.resolve())
    return scripts, env, elsewhere


def test_sources_and_wheel_hold_every_file_of_the_packages(sources, wheel):
    ours = {
        str(path.relative_to(ROOT))
        for top in ("energy", "dashboards", "tariffs_demo")
        for path in (ROOT / top).rglob("*")
        if path.is_file() and not {"__pycache__", ".ipynb_checkpoints"} & set(path.parts)
    }
    pictures = {name for name in ours if name.startswith(str(Path("dashboards") / "images"))}  # of the README alone
    with tarfile.open(sources) as archive:
        packed = {str(Path(*Path(name).parts[1:])) for name in archive.getnames()}
    assert ours - pictures - packed == set()
    assert {"README.md", "pyproject.toml"} <= packed
    with zipfile.ZipFile(wheel) as archive:
        packed = {str(Path(name)) for name in archive.namelist()}
    assert ours - pictures - packed == set()
    strangers = {name for name in packed if not name.startswith(("energy", "dashboards", "tariffs_demo", "pellet_"))}
    assert strangers == set()


def test_the_demo_is_compared(installed):
    scripts, env, elsewhere = installed
    printed = run(scripts / "dryer-energy", "compare", "demo", cwd=elsewhere, env=env)
    assert "four hoppers" in printed
    assert re.search(r"^Central wheel, variable speed +caution +\d+\.\d", printed, re.M)
    assert run(scripts / "dryer-energy", "resins", "PC", cwd=elsewhere, env=env).startswith("PC")


@pytest.mark.parametrize(
    ("ending", "begin"), [("pdf", b"%PDF-"), ("xlsx", b"PK\x03\x04"), ("html", b"<!DOCTYPE html>")]
)
def test_the_request_is_written(installed, ending, begin):
    scripts, env, elsewhere = installed
    target = elsewhere / f"request.{ending}"
    run(scripts / "dryer-energy", "report", "demo", "--to", target, "--draws", "64", cwd=elsewhere, env=env)
    written = target.read_bytes()
    assert written[: len(begin)].lower() == begin.lower()
    assert len(written) > 20_000


def test_a_bill_is_worked_out_on_a_demo_tariff(installed):
    scripts, env, elsewhere = installed
    command = ("bill", "flat-electricity", "--constant", "400 kW", "--year", "2026")
    assert "kWh" in run(scripts / "dryer-energy", *command, cwd=elsewhere, env=env)


def test_the_dashboards_answer(installed):
    scripts, env, elsewhere = installed
    command = [scripts / "dryer-energy", "dashboard", "--no-browser", "--port", "0"]
    with subprocess.Popen(
        command, cwd=elsewhere, env=env, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True
    ) as server:
        watchdog = Timer(120, server.kill)
        watchdog.start()
        try:
            url = server.stdout.readline().split()[1]
            with urlopen(url, timeout=60) as answer:
                start = answer.read().decode()
            with urlopen(f"{url}compare", timeout=100) as answer:
                page = answer.read().decode()
            assert 'href="/compare"' in start or 'href="compare"' in start
            assert "application/vnd.jupyter.widget-view+json" in page  # the notebook ran to its end
            assert "Traceback" not in page
        finally:
            server.send_signal(signal.SIGINT)
            _, errors = server.communicate(timeout=60)
            watchdog.cancel()
    assert errors == ""
