"""Years of service begin with the service: what is left at the end, and what is replaced meanwhile; each against hand arithmetic."""

from __future__ import annotations

import numpy as np
import pytest
from cases import PRESENT, WHEEL, case, document

from energy.study.case import build
from energy.study.compare import compare
from energy.study.life_cycle import YEAR, conventions
from energy.study.spread import uncertain_inputs
from energy.study.uncertainty import outcomes

AT = f"options['{WHEEL}']"
BASE = {
    "finance.years": 10,
    f"{AT}.capital": [
        {"item": "Exchanger", "amount": "265000 USD", "count": 2},
        {"item": "Installation", "amount": "95000 USD", "part": "installation"},
    ],
    f"{AT}.life": 12,
    f"{AT}.replacements": [],
    f"options['{PRESENT}'].replacements": [],
}
WHEELS = [{"item": "Wheel", "every": 4, "amount": "900 USD"}]
BEDS = [{"item": "Beds", "every": 3, "next_due": 1, "amount": "700 USD"}]


def streams(**changes):
    given = {f"finance.{key}": value for key, value in changes.items()}
    return compare(case(PRESENT, WHEEL, changes={**BASE, **given})).option(WHEEL).measures.streams


def replaced(option_changes, **finance):
    given = {f"finance.{key}": value for key, value in finance.items()}
    of = compare(case(PRESENT, WHEEL, changes={**BASE, **option_changes, **given}))
    found = of.option(WHEEL).measures.streams["replacements"]
    return {year: float(amount) for year, amount in enumerate(found) if amount}, of


@pytest.mark.parametrize(
    ("finance", "left"),
    [
        ({}, 2 / 12),
        ({"delay": "5 year", "capital_year": 5}, 7 / 12),  # five years used
        ({"delay": "3 year"}, 5 / 12),  # seven years used, paid for in year 0
        ({"delay": "2.5 year", "capital_year": 2}, 4.5 / 12),
        ({"capital_year": 1}, 2 / 12),  # it serves from the base date and is paid for later
    ],
)
def test_what_is_left_is_what_of_its_life_was_not_served(finance, left):
    found = streams(rate_basis="nominal", inflation="4 %", **finance)["residual"]
    assert found[-1] == pytest.approx(530_000 * left * 1.04**10, rel=1e-12)
    assert not found[:-1].any()


def test_the_value_left_of_a_machine_that_starts_in_year_5():
    found = streams(rate_basis="nominal", inflation="4 %", delay="5 year", capital_year=5)["residual"][-1]
    assert found == pytest.approx(457_642, abs=1.0)


def test_a_new_machine_is_replaced_so_many_years_after_it_started():
    of_wheel = {f"{AT}.replacements": WHEELS}
    assert replaced(of_wheel)[0] == {4: -900, 8: -900}
    assert replaced(of_wheel, delay="3 year")[0] == {7: -900}
    assert replaced(of_wheel, delay="0.5 year")[0] == {4: -900, 8: -900}  # 4.5 and 8.5, each to the earlier year's end
    assert replaced(of_wheel, delay="0.6 year")[0] == {5: -900, 9: -900}
    due = {f"{AT}.replacements": [{**WHEELS[0], "next_due": 5}]}
    assert replaced(due, delay="3 year")[0] == {5: -900, 9: -900}  # a date that is stated stays


def test_what_falls_due_before_the_start_is_spent_in_any_case():
    of_beds = {f"options['{PRESENT}'].replacements": BEDS}
    assert replaced(of_beds)[0] == {1: 700, 4: 700, 7: 700}
    assert replaced(of_beds, delay="1 year")[0] == {1: 700, 4: 700, 7: 700}
    found, of = replaced(of_beds, delay="3 year")
    assert found == {4: 700, 7: 700}
    # What is saved is the difference of the two life-cycle costs, with a late start too.
    wheel = of.option(WHEEL)
    assert wheel.measures.npv == pytest.approx(of.baseline.life_cycle_cost - wheel.life_cycle_cost, abs=0.01)
    assert any("replacements that fall due before that are left out" in said for said in conventions(of.case))
    assert any("service begins with the savings" in said for said in conventions(of.case))
    assert not any("service begins with the savings" in said for said in conventions(replaced(of_beds)[1].case))


def test_dryers_that_run_already_go_on_with_their_years_and_those_to_be_bought_do_not():
    """By hand, every four years: of what runs already years 4 and 8; of what is bought to start in year 3 year 7 alone."""
    of_beds = {f"options['{PRESENT}'].replacements": [{"item": "Beds", "every": 4, "amount": "700 USD"}]}
    assert replaced(of_beds, delay="3 year")[0] == {4: 700, 8: 700}
    bought = {f"options['{PRESENT}'].capital": "5000 USD"}
    assert replaced({**of_beds, **bought}, delay="3 year")[0] == {7: 700}


@pytest.mark.parametrize("life", ["life", None])
def test_of_a_machine_without_a_life_nothing_is_left_however_late_it_starts(life):
    """By hand: 530,000 USD of equipment with 12 years of service, of which it has served 7 when the study ends, or no life."""
    changes = {**BASE, "finance.delay": "3 year", f"options['{PRESENT}'].capital": None}
    of = compare(case(PRESENT, WHEEL, changes={**changes, **({} if life else {f"{AT}.life": None})})).option(WHEEL)
    left = of.measures.streams.get("residual", np.zeros(11))
    assert left[-1] == pytest.approx(530_000 * 5 / 12 if life else 0.0, rel=1e-12)


def test_a_retrofit_goes_on_with_the_years_of_the_present_dryers():
    whole = document(PRESENT, WHEEL, changes={**BASE, "finance.delay": "3 year"})
    beds = [{"item": "Beds", "every": 4, "amount": "700 USD"}]
    whole["options"][0]["replacements"] = beds
    retrofit = {
        "name": "Jacket",
        "type": whole["options"][0]["type"],
        "retrofit": True,
        "capital": "1000 USD",
        "life": 12,
    }
    found = compare(build({**whole, "options": [whole["options"][0], retrofit]}, file="case.toml")).option("Jacket")
    assert not found.measures.streams["replacements"].any()  # years 4 and 8 of both
    assert found.measures.streams["residual"][-1] == pytest.approx(1000 * 5 / 12, rel=1e-12)


def test_a_start_that_is_drawn_moves_both():
    changes = {**BASE, f"{AT}.replacements": WHEELS, f"options['{PRESENT}'].replacements": BEDS}
    ranged = {"value": "2 year", "low": "0 year", "high": "4 year", "basis": "assumption"}
    of = case(PRESENT, WHEEL, changes={**changes, "finance.delay": ranged})
    (entry,) = [one for one in uncertain_inputs(of)[0] if one.name == "finance.delay"]
    points = np.array([[0.1], [0.5], [0.8]])
    drawn = outcomes(of, [entry], points, [WHEEL]).npv[WHEEL]
    for point, npv in zip(points[:, 0], drawn, strict=True):
        years = float(entry.distribution.quantile(point)) / YEAR
        alone = case(PRESENT, WHEEL, changes={**changes, "finance.delay": f"{years!r} year"})
        assert npv == pytest.approx(compare(alone).option(WHEEL).measures.npv, rel=1e-9)


def test_a_life_that_ends_within_the_study_counts_from_the_start():
    def told(**finance):
        given = {f"finance.{key}": value for key, value in finance.items()}
        of = compare(case(PRESENT, WHEEL, changes={**BASE, f"{AT}.life": 8, **given})).option(WHEEL)
        return [note.text for note in of.notes if note.check == "years of service"]

    assert len(told()) == 1
    assert told(delay="2 year") == []
    assert len(told(delay="1 year")) == 1
