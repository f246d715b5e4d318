"""Readings of the plant that are of no day of the case's year are told."""

from __future__ import annotations

import numpy as np
import pytest

from energy.reports.document.baseline import scope
from energy.reports.document.proposal import proposal
from energy.study.case import load_case
from energy.study.compare import compare
from energy.study.plant_clock import of_another_year
from energy.study.references import readings_table
from energy.tariffs.readers import Series

NEW_YORK = "America/New_York"


def hours(first: str, last: str) -> Series:
    """Hours of 400 kW on the clock of New York in winter, five hours behind UTC."""
    ends = [int(np.datetime64(day, "s").astype(int)) + 5 * 3600 for day in (first, last)]
    start = np.arange(ends[0], ends[1], 3600)
    return Series(start=start, step=3600, amount=np.full(start.size, 400e3 * 3600.0), zone=NEW_YORK)


@pytest.mark.parametrize(
    ("first", "last", "year", "told"),
    [
        ("2025-01-01", "2026-01-01", 2025, ""),
        ("2025-01-01", "2026-01-01", 2026, "The plant's readings are of 2025, and the case is of 2026: "),
        ("2024-04-01", "2025-04-01", 2025, ""),
        ("2024-04-01", "2025-04-01", 2026, "The plant's readings are of 2024 and 2025, and the case is of 2026: "),
    ],
)
def test_the_years_of_the_readings_are_told_where_the_case_is_of_another(first, last, year, told):
    said = of_another_year(hours(first, last), year)
    assert said.startswith(told)
    assert bool(said) == bool(told)
    assert of_another_year(None, year) == ""


def test_it_is_a_note_of_the_comparison_and_stands_in_the_request():
    demo = load_case("demo")
    assert demo.model.case.year == 2026
    read = {
        "plant_load": {"readings": readings_table(hours("2025-01-01", "2026-01-01")), "zone": NEW_YORK},
        "tariffs.electricity": "flat-electricity",
    }
    for year in (2026, 2025):
        made = compare(demo.with_({**read, "case.year": year}))
        notes = [n.text for n in made.ranked()[0].notes if "readings are of 2025" in n.text]
        frame = next(b.text for b in scope(proposal(made)) if getattr(b, "topic", "") == "Time frame.")
        assert len(notes) == (year == 2026)
        assert ("The plant's readings are of 2025" in frame) == (year == 2026)
