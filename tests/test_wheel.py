"""The package as built: installed from its wheel, away from the checkout, it compares, reports and serves."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
import tarfile
import urllib.request
import venv
import zipfile
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[1]
DATA = (".toml", ".typ", ".ipynb", ".j2", ".css", ".js", ".json", "py.typed")


@pytest.fixture(scope="module")
def built(tmp_path_factory):
    """Folder with wheel and sdist, made from a copy: building writes into the folder it builds from."""
    folder = tmp_path_factory.mktemp("built")
    copy = folder / "copy"
    subprocess.run(["git", "clone", "--quiet", ROOT, copy], check=True)
    make = (
        "import setuptools.build_meta as b, sys; print(b.build_sdist(sys.argv[1])); print(b.build_wheel(sys.argv[1]))"
    )
    subprocess.run([sys.executable, "-c", make, folder], cwd=copy, check=True, capture_output=True, timeout=300)
    return folder


@pytest.fixture(scope="module")
def installed(built, tmp_path_factory):
    """`dryer-energy` of an environment with the wheel in it and the packages of this one beside it."""
    place = tmp_path_factory.mktemp("installed")
    venv.create(place, with_pip=False, symlinks=True)
    [packages] = place.glob("lib/python*/site-packages")
    [wheel] = built.glob("*.whl")
    with zipfile.ZipFile(wheel) as files:
        files.extractall(packages)
    others = [p for p in sys.path if p.endswith("site-packages")]
    (packages / "others.pth").write_text("\n".join(others), encoding="utf-8")
    return place / "bin" / "python"


def run(python, folder, *arguments):
    environment = {k: v for k, v in os.environ.items() if k != "PYTHONPATH"}
    return subprocess.run(
        [python, "-m", "energy.cli", *arguments],
        cwd=folder,
        env=environment,
        capture_output=True,
        text=True,
        timeout=180,
    )


@pytest.mark.thorough
def test_the_wheel_has_every_file_of_data(built):
    [wheel], [source] = built.glob("*.whl"), built.glob("*.tar.gz")
    tracked = subprocess.run(["git", "ls-files"], cwd=ROOT, check=True, capture_output=True, text=True).stdout.split(
        "\n"
    )
    wanted = {
        f for f in tracked if f.startswith(("energy/", "dashboards/", "tariffs_demo/")) and f.endswith((*DATA, ".py"))
    }
    assert wanted - set(zipfile.ZipFile(wheel).namelist()) == set()
    inside = {name.partition("/")[2] for name in tarfile.open(source).getnames()}
    assert wanted - inside == set()


@pytest.mark.thorough
def test_the_installed_wheel_compares_reports_and_serves(installed, tmp_path):
    where = run(installed, tmp_path, "--help")
    assert where.returncode == 0, where.stderr
    origin = subprocess.run(
        [installed, "-c", "import energy; print(energy.__file__)"],
        cwd=tmp_path,
        capture_output=True,
        text=True,
        check=True,
    ).stdout
    assert origin.startswith(str(installed.parents[1]))
    compared = run(installed, tmp_path, "compare", "demo")
    assert compared.returncode == 0, compared.stderr
    assert "Central wheel, variable speed" in compared.stdout
    for ending in (".html", ".xlsx", ".pdf"):
        made = run(installed, tmp_path, "report", "one-machine", "--to", f"request{ending}", "--short")
        assert made.returncode == 0, made.stderr
        assert (tmp_path / f"request{ending}").stat().st_size > 5000
    environment = {k: v for k, v in os.environ.items() if k != "PYTHONPATH"}
    command = [installed, "-m", "energy.cli", "dashboard", "--no-browser", "--port", "0"]
    with subprocess.Popen(command, cwd=tmp_path, env=environment, stdout=subprocess.PIPE, text=True) as server:
        try:
            url = server.stdout.readline().split()[1]
            for view, word in (("", "Compare"), ("compare", "skeleton")):
                with urllib.request.urlopen(url + view, timeout=60) as page:
                    assert word in page.read().decode()
        finally:
            server.send_signal(signal.SIGINT)
            server.wait(timeout=30)
