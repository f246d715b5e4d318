"""The example cases give what they gave; where they do not, key_results.toml has a reason for it."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

import pytest
from key_results import CASES, differences, kept, key_results


@pytest.mark.parametrize("name", CASES)
def test_key_results_are_those_that_were_given_a_reason(name):
    changed = list(differences(kept()[name], key_results(name)))
    assert changed == [], 'python tests/regression --because "..." takes them over, with the reason'


def test_every_change_has_a_date_and_a_reason():
    changes = kept()["change"]
    assert changes
    assert [c["date"] for c in changes] == sorted(c["date"] for c in changes)
    assert all(len(c["why"]) >= 20 for c in changes)


def test_a_change_is_noticed():
    assert list(differences({"a": {"x": 1.0}}, {"a": {"x": 1.00005}})) == []
    assert list(differences({"a": {"x": 1.0}}, {"a": {"x": 1.001}})) == ["a, x: 1 is now 1.001"]
    assert list(differences({"a": {"x": [1.0, "none"]}}, {"a": {"x": [1.0, 2.0]}})) == ["a, x 2: none is now 2.0"]
    assert list(differences({"a": {}}, {"a": {}, "b": {}})) == ["b: missing is now {}"]


def test_nothing_is_taken_over_without_a_reason():
    done = subprocess.run(
        [sys.executable, Path(__file__).parent, "--because", "so"], capture_output=True, text=True, timeout=60
    )
    assert done.returncode == 2
    assert "a reason in a sentence" in done.stderr


def test_the_readme_prints_these_results():
    readme = (Path(__file__).parents[2] / "README.md").read_text(encoding="utf-8")
    rows = [[cell.strip() for cell in line.strip("|").split("|")] for line in readme.splitlines()]
    printed = {row[0]: row[1:] for row in rows if len(row) == 7 and row[2].replace(".", "").isdigit()}
    results = kept()["demo"]
    assert printed.keys() == results.keys()
    for name, values in results.items():
        dries, energy, cost, capital, payback, life_cycle = printed[name]
        assert dries == values["dries"]
        assert energy == f"{values['Wh_per_kg']:.1f}"
        money = tuple(f"{values[key]:,.0f}" for key in ("running_cost", "capital", "life_cycle_cost"))
        assert (cost, capital, life_cycle) == money
        if payback.endswith("years"):
            assert payback == f"{values['payback_years']:.1f} years"
