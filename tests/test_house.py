"""The house: what stands where, who imports whom, and what no file may hold."""

from __future__ import annotations

import json
import re
import subprocess
import sys
import tomllib
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[1]
TOP = {"README.md", "DEVELOPERS.md", "pyproject.toml", "energy", "dashboards", "tests", "tariffs_demo"}
MADE_BY_TOOLS = re.compile(r"\..*|__pycache__|build|dist|mutants|screenshots|.*\.egg-info")
TEXT = {".py", ".md", ".toml", ".ipynb", ".json", ".js", ".css", ".j2", ".txt", ".svg", ""}


def files():
    """Every text file of the project."""
    for top in (*sorted(TOP), ".ci", ".gitignore"):
        place = ROOT / top
        for path in sorted(place.rglob("*")) if place.is_dir() else [place] if place.exists() else []:
            if path.is_file() and path.suffix in TEXT and "__pycache__" not in path.parts:
                yield path


def test_nothing_is_added_to_the_top_level():
    extra = {p.name for p in ROOT.iterdir() if not MADE_BY_TOOLS.fullmatch(p.name)} - TOP
    assert extra == set()
    assert {p.name for p in ROOT.iterdir()} >= {"pyproject.toml", "energy", "dashboards", "tests", "tariffs_demo"}


def test_layers_are_kept():
    done = subprocess.run(
        [sys.executable, "-c", "from importlinter.cli import lint_imports_command as run; run(['--no-cache'])"],
        cwd=ROOT,
        capture_output=True,
        text=True,
        timeout=120,
    )
    assert done.returncode == 0, done.stdout
    assert "2 kept, 0 broken" in done.stdout


NOTEBOOKS = sorted(p for p in (ROOT / "dashboards").rglob("*.ipynb") if ".ipynb_checkpoints" not in p.parts)


@pytest.mark.parametrize("path", NOTEBOOKS, ids=lambda p: p.name)
def test_notebooks_are_one_code_cell_without_output(path):
    cells = json.loads(path.read_text(encoding="utf-8"))["cells"]
    assert [c["cell_type"] for c in cells] == ["code"]
    assert cells[0]["outputs"] == []
    assert cells[0]["execution_count"] is None
    source = "".join(cells[0]["source"])
    assert re.fullmatch(
        r"from dashboards\.\w+ import app; app\(\)", source.strip().replace("\n", "; ").replace("; ; ", "; ")
    )


def test_there_is_a_notebook():
    assert NOTEBOOKS


def test_no_file_holds_a_path_of_somebodys_machine():
    # Written so that this file does not hold one itself.
    local = re.compile(r"(?<![\w.])/(?:home|Users|work|root|mnt)/[\w.]" + r"|[A-Z]:\\+Users\\")
    found = [
        f"{path.relative_to(ROOT)}: {match[0]}"
        for path in files()
        if path != Path(__file__)
        for match in local.finditer(path.read_text(encoding="utf-8"))
    ]
    assert found == []


def test_every_data_file_is_packed():
    package = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["tool"]["setuptools"]["package-data"]
    packed = {p for pattern in package["energy"] for p in (ROOT / "energy").glob(pattern)}
    data = {p for p in (ROOT / "energy" / "data").rglob("*") if p.is_file()}
    assert data
    assert data <= packed
    assert set((ROOT / "tariffs_demo").glob("*.toml")) <= {
        p for pattern in package["tariffs_demo"] for p in (ROOT / "tariffs_demo").glob(pattern)
    }
