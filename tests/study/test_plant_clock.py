"""Stamps of the plant's readings without an offset: on the tariff's own clock, and said so; else told how to write it in a case."""

from __future__ import annotations

import datetime
from importlib import resources

import pytest
import tomli_w

import energy
from energy.errors import CaseError
from energy.reports.comparison_text import to_text
from energy.reports.tables import clock_taken
from energy.study.compare import compare

TARIFF = (resources.files("energy").parent / "tariffs_demo" / "time-of-use-electricity.toml").read_text(
    encoding="utf-8"
)


@pytest.fixture
def beside(tmp_path):
    """A case with a year of hourly readings beside it, and the tariff's clock."""

    def make(zone="", clock="Asia/Kolkata", offset=""):
        start = datetime.datetime(2026, 1, 1)
        rows = [f"{start + datetime.timedelta(hours=i):%Y-%m-%d %H:%M}{offset},{200 + i % 24}" for i in range(8760)]
        (tmp_path / "meter.csv").write_text("start,kWh\n" + "\n".join(rows) + "\n", encoding="utf-8")
        tariff = "\n".join(line for line in TARIFF.splitlines() if not line.startswith("time_zone"))
        if clock:
            tariff = tariff.replace("[calendar]", f'[calendar]\ntime_zone = "{clock}"')
        (tmp_path / "own.toml").write_text(tariff, encoding="utf-8")
        document = energy.load_case("demo").with_({"tariffs.electricity": "time-of-use-electricity"}).document
        given = {**document, "tariffs": {**document["tariffs"], "electricity": "own.toml"}}
        given["plant_load"] = {"file": "meter.csv", **({"zone": zone} if zone else {})}
        (tmp_path / "case.toml").write_text(tomli_w.dumps(given), encoding="utf-8")
        return energy.load_case(tmp_path / "case.toml")

    return make


def test_stamps_without_an_offset_are_on_the_tariffs_clock_and_that_is_said(beside):
    case = beside()
    # Midnight of 1 January in India is 18:30 of the day before in UTC.
    assert int(case.readings.start[0]) == int(datetime.datetime(2025, 12, 31, 18, 30, tzinfo=datetime.UTC).timestamp())
    said = "The time stamps of meter.csv have no offset and are read on the tariff's own clock, Asia/Kolkata."
    assert clock_taken(case) == said
    assert said in to_text(compare(case), "si")


def test_a_clock_that_is_stated_goes_first_and_nothing_is_said(beside):
    case = beside(zone="UTC")
    assert int(case.readings.start[0]) == int(datetime.datetime(2026, 1, 1, tzinfo=datetime.UTC).timestamp())
    assert clock_taken(case) == ""
    case = beside(offset="Z")
    assert int(case.readings.start[0]) == int(datetime.datetime(2026, 1, 1, tzinfo=datetime.UTC).timestamp())
    assert clock_taken(case) == ""
    assert clock_taken(energy.load_case("demo")) == ""


def test_where_no_clock_is_known_the_key_of_the_case_is_told(beside):
    with pytest.raises(CaseError) as caught:
        beside(clock="")
    (problem,) = caught.value.problems
    assert problem.key == "plant_load.file"
    assert 'write the zone of the clock they show under [plant_load], such as zone = "Asia/Kolkata"' in problem.message
    assert "say" not in problem.message
