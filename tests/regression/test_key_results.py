"""The example cases' key results are what they were; a change has to be wanted and said."""

from __future__ import annotations

import importlib.util
from pathlib import Path

import key_results
import pytest

SPEC = importlib.util.spec_from_file_location("rewriting", Path(__file__).with_name("__main__.py"))
rewriting = importlib.util.module_from_spec(SPEC)
SPEC.loader.exec_module(rewriting)


@pytest.mark.parametrize("case", key_results.CASES)
def test_unchanged_key_results(case):
    told = list(key_results.differences(key_results.kept()["results"][case], key_results.worked_out(case)))
    assert told == [], 'if this is wanted: python tests/regression --why "REASON"'


def test_every_change_says_when_what_and_why():
    changes = key_results.kept()["change"]
    assert changes
    for change in changes:
        assert change.keys() == {"date", "what", "why"}
        assert change["what"]
        assert len(change["why"].split()) >= rewriting.FEWEST_WORDS
    assert [c["date"] for c in changes] == sorted(c["date"] for c in changes)
    assert "engine's own" in key_results.FILE.read_text(encoding="utf-8").split("\n\n")[0]


BEFORE = {"A": {"dries": "pass", "yearly_cost": 1000.0, "payback": float("inf"), "moisture_percent": {"M": 0.02}}}


def with_(**changes):
    return {"A": {**BEFORE["A"], **changes}}


@pytest.mark.parametrize(
    ("now", "told"),
    [
        (BEFORE, []),
        (with_(yearly_cost=1000.09), []),
        (with_(yearly_cost=1000.11), ["A, yearly_cost: 1000 -> 1000.11 (+0.011 %)"]),
        (with_(dries="fail"), ["A, dries: pass -> fail"]),
        (with_(payback=7.0), ["A, payback: inf -> 7"]),
        (with_(payback=float("nan")), ["A, payback: inf -> nan"]),
        (with_(moisture_percent={}), ["A, moisture_percent, M: gone"]),
        ({**BEFORE, "B": {}}, ["B: new"]),
    ],
)
def test_a_change_is_told_where_it_is(now, told):
    assert list(key_results.differences(BEFORE, now)) == told


@pytest.fixture
def small(tmp_path, monkeypatch):
    """A file of its own with an engine that answers 1000, then 1100."""
    answers = {"demo": with_(), "one-machine": with_()}
    monkeypatch.setattr(key_results, "FILE", tmp_path / "key_results.toml")
    monkeypatch.setattr(key_results, "worked_out", answers.__getitem__)
    assert rewriting.main(["--why", "the first values of all"]) == 0
    answers["demo"] = with_(yearly_cost=1100.0)
    return key_results.FILE


@pytest.mark.parametrize("why", [[], ["--why", ""], ["--why", "because"], ["--why", "  . . "]])
def test_nothing_is_rewritten_without_a_reason(small, capsys, why):
    before = small.read_bytes()
    assert rewriting.main(why) == 1
    assert small.read_bytes() == before
    assert "say why" in capsys.readouterr().err


def test_a_reason_is_kept_beside_what_changed(small):
    assert rewriting.main(["--why", "blowers were counted twice"]) == 0
    assert rewriting.main(["--why", "nothing has changed since"]) == 0
    first, second = key_results.kept()["change"]
    assert first["what"] == ["first values"]
    assert second["what"] == ["demo, A, yearly_cost: 1000 -> 1100 (+10 %)"]
    assert second["why"] == "blowers were counted twice"
    assert key_results.kept()["results"]["demo"] == with_(yearly_cost=1100.0)
    assert key_results.kept()["results"]["one-machine"] == BEFORE


def test_the_readme_prints_these_results():
    readme = (Path(__file__).parents[2] / "README.md").read_text(encoding="utf-8")
    rows = [[cell.strip() for cell in line.strip("|").split("|")] for line in readme.splitlines()]
    printed = {row[0]: row[1:] for row in rows if len(row) == 7 and row[2].replace(".", "").isdigit()}
    results = key_results.kept()["results"]["demo"]
    assert printed.keys() == results.keys()
    for name, kept in results.items():
        dries, energy, cost, capital, payback, life_cycle = printed[name]
        assert dries == kept["dries"]
        assert energy == f"{kept['Wh_per_kg']:.1f}"
        assert (cost, capital, life_cycle) == tuple(
            f"{kept[key]:,.0f}" for key in ("yearly_cost", "capital", "life_cycle_cost")
        )
        if payback.endswith("years"):
            assert payback == f"{kept['payback']:.1f} years"
