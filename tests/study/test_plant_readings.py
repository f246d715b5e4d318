"""Interval readings of a plant that are below its own dryers, below zero or alone far above all others: told, by hand."""

from __future__ import annotations

import numpy as np
import pytest
from cases import NEW, PRESENT, document, readings

from energy.reports.answer import sentences
from energy.reports.comparison_text import to_text
from energy.study import meter
from energy.study.case import build
from energy.study.compare import compare

DAY = {
    "calendar.production_hours": None,
    "calendar.shifts": [{"name": "day", "days": ["mon", "tue", "wed", "thu", "fri"], "start": "06:00", "end": "22:00"}],
    "calendar.standby_up_to": "100 h",  # hot through nights and weekends: no starts
    "tariffs.power_factor": "90 %",
    "tariffs.electricity": "flat-electricity",
    "plant_load": {"file": "readings.csv", "zone": "UTC"},
}
PRODUCTION = 261 * 16.0  # hours of 2026, which has 261 weekdays
STANDBY = 8760.0 - PRODUCTION


def beside(folder):
    return compare(build(document(PRESENT, NEW, changes=DAY), folder=folder, file="case.toml"))


def kwh(found, *states):
    """Electricity of the present dryers in a year."""
    of = found.baseline.year.energy_in
    return sum(float(np.sum(v)) for (state, _, c), v in of.items() if state in states and c == "electricity") / 3.6e6


def notes(found, name=NEW):
    return [note.text for note in found.option(name).notes if note.check == "plant readings"]


@pytest.fixture
def standing_by(tmp_path):
    """A plant of 400 kW while it produces, and else by some part of a year's energy below the present dryers' mean."""
    readings(tmp_path)
    found = beside(tmp_path)
    total, idle = kwh(found, "production", "standby"), kwh(found, "standby")

    def make(share):
        quiet = (idle - share * total) / STANDBY
        assert 0.0 < quiet < idle / STANDBY
        readings(tmp_path, quiet=quiet)
        return beside(tmp_path), share * total

    return make


def test_readings_far_below_the_present_dryers_are_told_with_the_answer(standing_by):
    """In all 4,584 h of standby, of 8,760 h in which dryers that are never off run: 52 %."""
    found, short = standing_by(0.08)
    (said,) = [s for s in sentences(found) if "readings are below" in s]
    assert STANDBY == 4584.0
    assert (
        f"below what its present dryers take by the model in 4,584 h of the 8,760 h in which they run (52 %), by {short:,.0f} kWh, 8 % of what they take"
        in said
    )
    for cause in (
        "a wrong unit or factor",
        "a meter that these dryers are not on",
        "stood still",
        "power made on the site",
    ):
        assert cause in said
    assert said.endswith("check the readings first.")
    assert sentences(found).index(said) == 1
    assert notes(found) == []


def test_readings_somewhat_below_are_told_beside_the_result(standing_by):
    found, short = standing_by(0.03)
    assert not any("readings are below" in s for s in sentences(found))
    for name in (PRESENT, NEW):
        (said,) = notes(found, name)
        assert f"by {short:,.0f} kWh, 3 % of what they take" in said
    assert to_text(found, "si").count("readings are below") == 1


def test_short_differences_are_those_of_a_mean_and_not_told(standing_by):
    found, _ = standing_by(0.005)
    assert notes(found) == []
    assert "readings are below" not in to_text(found, "si")


def test_readings_above_the_dryers_are_not_doubted(tmp_path):
    readings(tmp_path)
    found = beside(tmp_path)
    assert notes(found) == []
    assert "readings are below" not in to_text(found, "si")


def test_a_slip_of_ten_and_a_wrong_sign_are_told_in_a_comparison_and_on_the_plants_bill(tmp_path):
    """A quarter of an hour at 400 kW is 100 kWh: ten times that 1,000 kWh; with a wrong sign -100 kWh."""
    readings(tmp_path)
    path = tmp_path / "readings.csv"
    text = path.read_text()
    for stamp, wrong in (("2026-06-10 10:00Z", "4000.0"), ("2026-09-10 10:00Z", "-400.0")):
        assert f"{stamp},400.0" in text
        text = text.replace(f"{stamp},400.0", f"{stamp},{wrong}")
    path.write_text(text)
    found = beside(tmp_path)
    negative = "1 reading is negative: -100 kWh (-400 kW) at 2026-09-10T10:00Z; it is counted as it stands."
    high = "One reading stands far above all others of its month: 1,000 kWh (4,000 kW) in the 15 minutes from 2026-06-10T10:00Z, 10 times the next highest"
    for name in (PRESENT, NEW):
        first, second = notes(found, name)
        assert first == f"Of the plant's readings {negative}"
        assert second.startswith(high)
    assert to_text(found, "si").count(high) == 1
    _, remarks = meter.plant_load(found.case, found.case.tariffs["electricity"])
    assert remarks[0] == negative
    assert remarks[1].startswith(high)
