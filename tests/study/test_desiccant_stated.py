"""Desiccant far from what a duty needs is told beside the result, and counted as stated."""

from __future__ import annotations

import pytest
from cases import PRESENT, case

from energy.cli import main
from energy.study.compare import compare
from energy.study.desiccant_stated import CHECK, notes


def shop(**inputs: object):
    return case(PRESENT, changes={f"options['{PRESENT}'].inputs": inputs, f"options['{PRESENT}'].built_for": None})


def told(of) -> list[str]:
    return [note.text for option in notes(of) for note in option]


NEEDED = float(compare(shop()).baseline.sizing["desiccant"])


@pytest.mark.parametrize(
    ("factor", "said"),
    [
        (10.0, "is 10 times what this duty needs"),
        (4.5, "is 4.5 times what this duty needs"),
        (0.1, "is 10 times less than this duty needs"),
    ],
)
def test_a_slip_of_ten_is_told(factor, said):
    one = shop(desiccant_mass=f"{factor * NEEDED:.6g} kg")
    [text] = told(one)
    assert said in text
    assert text.endswith(": a slip of ten?")
    assert text.startswith("“Desiccant in each dryer, all its beds together” (desiccant_mass), ")
    if factor > 1.0:  # told with the result, not refused; and counted as it stands
        counted = compare(one).baseline
        assert [note.text for note in counted.notes if note.check == CHECK] == [text]
        assert float(counted.sizing["desiccant"]) == pytest.approx(factor * NEEDED, rel=1e-3)


def test_the_check_of_a_case_tells_it_too(tmp_path, capsys):
    file = tmp_path / "shop.toml"
    file.write_text(shop(desiccant_mass=f"{10 * NEEDED:.6g} kg").to_toml())
    assert main(["check", str(file)]) == 0
    assert f"{PRESENT}: “Desiccant in each dryer, all its beds together” (desiccant_mass)" in capsys.readouterr().out


@pytest.mark.parametrize("factor", [3.5, 1.0, 0.3])
def test_a_generous_or_a_scanty_bed_is_none(factor):
    assert told(shop(desiccant_mass=f"{factor * NEEDED:.6g} kg")) == []
    assert told(shop()) == []


def test_beds_of_a_timer_that_was_read_are_none():
    """A walkthrough leaves desiccant as it is and brings the timer to what was read: an hour for four asks for a quarter of it."""
    assert told(shop(desiccant_mass=f"{NEEDED:.6g} kg", cycle_time="50 min")) == []
