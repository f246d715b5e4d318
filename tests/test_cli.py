"""The command line: what each command prints, and that bad input is a line on standard error and status 2."""

from __future__ import annotations

import json
import os
import subprocess
import sys
from pathlib import Path
from types import SimpleNamespace

import pytest

from energy import cli
from energy.cli import main
from energy.study import simulate
from energy.study.case import example_text

ROOT = Path(__file__).parents[1]


def run(*arguments, **environment):
    """The command in a process of its own."""
    return subprocess.run(
        [sys.executable, "-W", "error", "-m", "energy", *arguments],
        cwd=ROOT,
        capture_output=True,
        timeout=60,
        env={**os.environ, "PYTHONPATH": str(ROOT), **environment},
    )


@pytest.fixture
def said(capsys):
    """Run in this process: status, standard output, standard error."""

    def call(*arguments):
        try:
            status = main([str(a) for a in arguments])
        except SystemExit as end:  # argparse
            status = end.code
        out, err = capsys.readouterr()
        return SimpleNamespace(status=status, out=out, err=err)

    return call


@pytest.fixture
def broken(tmp_path):
    """A case that compares, with one thing put in place of another."""

    def write(old, new):
        text = example_text("one-machine")
        assert old in text
        path = tmp_path / "broken.toml"
        path.write_text(text.replace(old, new, 1), encoding="utf-8")
        return path

    return write


# ---------------------------------------------------------------- new, compare, check


def test_a_new_case_compares_as_it_stands_in_an_empty_folder(said, tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    written = said("new", "my.toml")
    assert (written.status, written.err) == (0, "")
    assert "dryer-energy compare my.toml" in written.out
    assert [p.name for p in tmp_path.iterdir()] == ["my.toml"]
    text = (tmp_path / "my.toml").read_text(encoding="utf-8")
    assert text.count("#") >= 3
    assert "invented" in text
    compared = said("compare", "my.toml")
    assert (compared.status, compared.err) == (0, "")
    assert compared.out == said("compare", "demo").out
    checked = said("check", "my.toml")
    assert (checked.status, checked.err) == (0, "")
    assert checked.out.startswith("my.toml: valid. Example moulding plant")


def test_new_keeps_a_file_that_exists_unless_forced(said, tmp_path):
    path = tmp_path / "my.toml"
    path.write_text("mine", encoding="utf-8")
    refused = said("new", path)
    assert refused.status == 2
    assert refused.err == f"{path}: exists already; choose another name or say --force\n"
    assert path.read_text(encoding="utf-8") == "mine"
    assert said("new", path, "--force").status == 0
    assert path.read_text(encoding="utf-8") == example_text("demo")


@pytest.mark.parametrize("where", ["no such folder/my.toml", "."])
def test_new_where_nothing_can_be_written(said, tmp_path, monkeypatch, where):
    monkeypatch.chdir(tmp_path)
    refused = said("new", where, "--force")
    assert refused.status == 2
    assert refused.err.startswith(f"{where}: cannot be written (")
    assert list(tmp_path.iterdir()) == []


def test_new_of_an_example_that_does_not_exist(said, tmp_path):
    refused = said("new", tmp_path / "my.toml", "--example", "dmo")
    assert (refused.status, refused.out) == (2, "")
    assert refused.err == "'dmo' is not an example; known: demo, one-machine; did you mean 'demo'?\n"
    assert list(tmp_path.iterdir()) == []


def test_compare_in_either_units(said):
    # The caution that names regeneration air has both.
    si, us = (said("compare", "demo", "--units", units).out.split("Hot surfaces")[0] for units in ("si", "us"))
    assert "Wh/kg" in si
    assert "°C" in si
    assert "°F" not in si
    assert "Wh/lb" in us
    assert "°F" in us
    assert "°C" not in us


def test_compare_as_json(said):
    result = json.loads(said("compare", "demo", "--json").out)
    assert result["options"][0]["name"] == "Present dryers"
    assert len(result["options"]) == 10


def test_the_same_case_gives_the_same_bytes():
    first, second = (run("compare", "demo", "--json", PYTHONHASHSEED=seed) for seed in ("1", "2"))
    assert first.returncode == second.returncode == 0
    assert first.stderr == second.stderr == b""
    assert first.stdout == second.stdout
    assert json.loads(first.stdout)["options"]


def test_check_lists_every_input_and_stars_what_is_assumed(said):
    out = said("check", "demo").out
    for told in (
        "  hoppers['Machine 1'].throughput ",
        "  hoppers['Machine 2'].levels[1].share ",
        "* hoppers['Machine 4'].running ",
        "* options['Rotating beds'].inputs.leak_share ",
        "  options['Present dryers'].machines[2].built_for ",
        "* options['Central wheel, variable speed'].central.conveying_load ",
        "* tariff electricity.energy.price ",
        "* resin PC.bulk_density ",
    ):
        assert sum(line.startswith(told) for line in out.splitlines()) == 1, told
    assert "weighed over one shift" in out
    assert "(marked *)" in out


def test_resins_and_types(said):
    assert said("resins").out.count(" h ") == 21
    sheet = said("resins", "pc")
    assert sheet.out.startswith("PC: polycarbonate\n")
    assert "follow the resin producer's drying sheet" in sheet.out
    assert said("types").out.count(": desiccant") == 3
    refused = said("resins", "PCC")
    assert (refused.status, refused.out) == (2, "")
    assert refused.err.startswith("resin 'PCC' is not known; did you mean 'PC'?; known: ABS, ")


# ---------------------------------------------------------------- bad input

THROUGHPUT = 'throughput = { value = "90 kg/h"'
BAD = [
    (THROUGHPUT, 'throughput = { value = "-5 kg/h"', "hoppers['Machine 7'].throughput: '-5 kg/h' is not allowed; "),
    (
        THROUGHPUT,
        'throughput = { value = "90 kW"',
        "hoppers['Machine 7'].throughput: Throughput: '90 kW' is not a mass",
    ),
    ('resin = "PC"', 'resin = "PCC"', "hoppers['Machine 7'].resin: resin 'PCC' is not known; did you mean 'PC'?"),
    (
        'type = "hot-air"',
        'type = "hot-iar"',
        "options['Hot air, gas-fired'].type: 'hot-iar' is not a dryer type; known",
    ),
    ("baseline = true", "", "options: no option is the baseline"),
    ("[calendar]", "[calendar", "is not valid TOML: "),
    (
        '{ heat_source = "gas" }',
        "{ air_resin_ratio = 1.0 }",
        "options['Hot air, gas-fired'].inputs.air_resin_ratio: an air",
    ),
    (
        'electricity = "flat-electricity"',
        'electricity = "0.12 USD/kWh"\nelectricity_demand = "9 USD/kVA/month"',
        "tariffs.electricity: 'Electricity at one price': charge 'demand' (Demand at one price) needs the power factor, reactive energy or apparent "
        "power, which this load does not have; give tariffs.power_factor\n",
    ),
]


@pytest.mark.parametrize("command", ["compare", "check"])
@pytest.mark.parametrize(("old", "new", "told"), BAD, ids=[told[:40] for _, _, told in BAD])
def test_bad_input_is_one_line_and_status_2(said, broken, tmp_path, command, old, new, told):
    path = broken(old, new)
    refused = said(command, path)
    assert refused.status == 2
    assert refused.out == ""
    assert refused.err.startswith(f"{path}: {told}")
    assert refused.err.count("\n") == 1
    assert [p.name for p in tmp_path.iterdir()] == ["broken.toml"]


def test_files_that_are_no_case(said, tmp_path):
    (tmp_path / "binary.toml").write_bytes(bytes(range(256)))
    for path, told in (
        (tmp_path, "cannot be read (Is a directory)"),
        (tmp_path / "none.toml", "cannot be read (No such file or directory)"),
        (tmp_path / "binary.toml", "is not UTF-8 text; save it as UTF-8"),
    ):
        refused = said("compare", path)
        assert (refused.status, refused.out, refused.err) == (2, "", f"{path}: {told}\n")


def test_a_process_of_its_own_ends_alike(broken):
    path = broken(THROUGHPUT, 'throughput = { value = "0 kg/h"')
    refused = run("compare", str(path), "--json")
    assert refused.returncode == 2
    assert refused.stdout == b""
    assert refused.stderr.decode().startswith(f"{path}: hoppers['Machine 7'].throughput: '0 kg/h' is not allowed; ")
    assert b"Traceback" not in refused.stderr


@pytest.mark.parametrize("arguments", [(), ("compar", "demo"), ("compare",), ("compare", "demo", "--units", "metric")])
def test_a_command_that_is_none(said, arguments):
    refused = said(*arguments)
    assert refused.status == 2
    assert refused.out == ""
    assert "dryer-energy" in refused.err
    assert "Traceback" not in refused.err


# ---------------------------------------------------------------- terminals and pipes


def test_a_terminal_without_a_degree_sign_gets_its_table():
    printed = run("compare", "one-machine", PYTHONIOENCODING="ascii")
    assert (printed.returncode, printed.stderr) == (0, b"")
    assert b"dew point of 12 ?C" in printed.stdout


def test_a_walkthrough_saved_without_a_file_says_what_it_takes(capsys):
    assert main(["walkthrough", "demo", "--save"]) == 2
    told = capsys.readouterr().err.splitlines()
    assert len(told) == 1
    assert told[0].startswith("--save: name the file to write the case to")


def test_a_reader_that_stops_early_sees_no_error():
    command = f'"{sys.executable}" -m energy check demo | head -1'
    done = subprocess.run(["sh", "-c", command], cwd=ROOT, capture_output=True, timeout=60)
    assert done.stdout.startswith(b"demo: valid.")
    assert done.stderr == b""


@pytest.mark.skipif(not Path("/dev/full").exists(), reason="needs a device that is always full, which Linux has")
def test_a_full_disk_is_one_line():
    with open("/dev/full", "wb") as full:
        done = subprocess.run(
            [sys.executable, "-m", "energy", "check", "demo"], cwd=ROOT, stdout=full, stderr=subprocess.PIPE, timeout=60
        )
    assert done.returncode == 2
    assert done.stderr == b"output: cannot be written (No space left on device)\n"


# ---------------------------------------------------------------- dashboard


@pytest.fixture
def launched(monkeypatch):
    """What the launcher is asked to serve."""
    asked = []

    def serve(path, port, open_browser, *, most_pages):
        asked.append((path, port, open_browser, most_pages))
        return 0

    monkeypatch.setitem(sys.modules, "dashboards.launch", SimpleNamespace(serve=serve))
    return asked


def test_dashboard_serves_the_example_or_a_case(said, launched, broken):
    path = broken("6000 h", "5900 h")
    assert said("dashboard").status == 0
    assert said("dashboard", "demo", "--port", "0", "--no-browser").status == 0
    assert said("dashboard", path, "--port", "9000", "--pages", "7").status == 0
    assert launched == [(None, 8866, True, None), (None, 0, False, None), (path.resolve(), 9000, True, 7)]


def test_dashboard_of_a_bad_case_serves_nothing(said, launched, broken):
    path = broken("6000 h", "6000 kg")
    refused = said("dashboard", path)
    assert (refused.status, refused.err.count("\n")) == (2, 1)
    assert refused.err.startswith(f"{path}: calendar.production_hours: ")
    assert launched == []


def test_the_command_line_draws_as_often_as_everything_else():
    assert cli.DRAWS == simulate.DRAWS
