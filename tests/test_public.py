"""The public names, and what importing and starting costs."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

import pytest

import energy

ROOT = Path(__file__).parents[1]


def modules_after(code):
    """Names of the modules that a fresh interpreter has loaded after running code."""
    done = subprocess.run(
        [sys.executable, "-W", "error", "-c", f"{code}\nimport sys\nprint(' '.join(sys.modules), file=sys.stderr)"],
        cwd=ROOT,
        capture_output=True,
        text=True,
        check=True,
        timeout=60,
    )
    return {name.partition(".")[0] for name in done.stderr.split()}


def test_public_names():
    assert energy.__all__ == [
        *("Case", "CaseError", "Comparison", "EnergyError", "Simulation"),
        *("compare", "load_case", "simulate", "write_report"),
    ]
    for name in energy.__all__:
        assert getattr(energy, name).__doc__
        assert name in dir(energy)
    assert not hasattr(energy, "no_such_name")


def test_public_names_are_those_of_their_modules():
    from energy.study import case, compare

    assert energy.load_case is case.load_case
    assert energy.Case is case.Case
    assert energy.compare is compare.compare
    assert energy.Comparison is compare.Comparison
    assert issubclass(energy.CaseError, energy.EnergyError)


def test_the_readme_in_python():
    frame = energy.compare(energy.load_case("one-machine").with_(throughput="120 kg/h")).to_frame()
    usual = energy.compare(energy.load_case("one-machine")).to_frame()
    column = "running cost [USD/year]"
    new = ~frame["baseline"]  # the present machine is oversize and blows the same air at either throughput
    assert (frame[column][new] > usual[column][new]).all()
    bought = ["electricity [kWh/year]", "compressed-air electricity [kWh/year]", "gas [kWh/year]"]
    assert (frame[bought].sum(axis=1) > usual[bought].sum(axis=1)).all()


@pytest.mark.parametrize(
    "code", ["import energy", "from energy.cli import main\ntry: main(['--help'])\nexcept SystemExit: pass"]
)
def test_help_loads_nothing_heavy(code):
    assert not modules_after(code) & {"numpy", "pandas", "pint", "pydantic", "plotly", "scipy"}


def test_comparing_loads_neither_tables_nor_charts_nor_a_units_library():
    commands = (["compare", "demo"], ["compare", "demo", "--json"], ["check", "demo"])
    loaded = modules_after(f"from energy.cli import main\nfor command in {commands}: main(command)")
    assert "numpy" in loaded
    assert not loaded & {"pandas", "plotly", "pint", "scipy", "ipywidgets", "IPython", "matplotlib"}


def test_version_is_the_distributions():
    import tomllib

    project = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["project"]
    assert energy.__version__ == project["version"]
    assert project["scripts"] == {"dryer-energy": "energy.cli:main"}
