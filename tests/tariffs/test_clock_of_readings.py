"""By which clock readings are billed: the tariff's, that of their file, or UTC where their stamps are in it."""

from __future__ import annotations

import datetime

import pytest

from dashboards.bill_state import State
from energy.cli import main
from energy.errors import CaseError
from energy.tariffs import load_tariff
from energy.tariffs.known_load import read_load

FLAT, BY_THE_CLOCK = (load_tariff(name) for name in ("flat-electricity", "time-of-use-electricity"))


def readings(path, ending, first=datetime.datetime(2025, 12, 31)):
    """400 kW in every hour of 2026 and a day around it, and 1000 kW in the first hour of 2026 by UTC."""
    last, rows = datetime.datetime(2027, 1, 2), ["time,kW"]
    while first < last:
        rows.append(f"{first:%Y-%m-%dT%H:%M}{ending},{1000 if first == datetime.datetime(2026, 1, 1) else 400}")
        first += datetime.timedelta(hours=1)
    path.write_text("\n".join(rows), encoding="utf-8")
    return path


def test_stamps_in_utc_need_no_zone(tmp_path):
    found = read_load(readings(tmp_path / "utc.csv", "Z"), FLAT, 2026)
    assert found.load.energy.sum() / 3.6e6 == pytest.approx(8760 * 400 + 600)
    assert found.load.energy[0] / 3.6e6 == pytest.approx(744 * 400 + 600)
    (said,) = [text for text in found.cautions if "UTC" in text]
    assert said.startswith("The time stamps are in UTC and neither the file nor the tariff names another clock")


@pytest.mark.parametrize("ending", ["Z", "+00:00", "-06:00"])
def test_the_clock_of_the_tariff_is_enough(tmp_path, ending):
    found = read_load(readings(tmp_path / "meter.csv", ending), BY_THE_CLOCK, 2026)
    # The hour from 0:00 UTC is still in 2025 by the clock of New York; from 0:00 of UTC-6 it is in 2026.
    more = 600 if ending == "-06:00" else 0
    assert found.load.energy.sum() / 3.6e6 == pytest.approx(8760 * 400 + more)
    assert not [text for text in found.cautions if "zone" in text or "UTC" in text]


def test_where_neither_names_a_clock_it_is_said(tmp_path):
    path = readings(tmp_path / "offset.csv", "-06:00")
    with pytest.raises(
        CaseError, match="neither the file nor the tariff names the clock that months and days go by; say zone="
    ):
        read_load(path, FLAT, 2026)
    found = read_load(path, FLAT, 2026, zone="America/Chicago")
    assert found.load.energy[0] / 3.6e6 == pytest.approx(744 * 400 + 600)


def test_the_command_names_its_option(tmp_path, capsys):
    path = readings(tmp_path / "offset.csv", "-06:00")
    assert main(["bill", "flat-electricity", "--load", str(path), "--year", "2026"]) != 0
    told = capsys.readouterr().err
    assert "names the clock that months and days go by; say --zone 'America/Chicago' or the zone of your clock" in told
    assert main(["bill", "flat-electricity", "--load", str(readings(path, "Z")), "--year", "2026"]) == 0
    assert "months, days and hours are those of UTC" in capsys.readouterr().out


def test_the_page_bills_stamps_in_utc(tmp_path):
    state = State()
    state.choose("flat-electricity")
    state.set("year", "2026")
    assert state.upload_readings("utc.csv", readings(tmp_path / "utc.csv", "Z").read_bytes()) == ""
    assert any("are those of UTC" in note for note in state.notes)
    told = state.upload_readings("offset.csv", readings(tmp_path / "offset.csv", "-06:00").read_bytes())
    assert told.endswith("say under Time zone of the stamps: 'America/Chicago' or the zone of your clock")


def test_a_year_in_utc_that_begins_late_asks_for_the_clock(tmp_path):
    path = readings(tmp_path / "utc.csv", "Z", first=datetime.datetime(2026, 1, 1, 6))
    with pytest.raises(
        CaseError, match=r"lacks 6 h of readings.*since neither the file nor the tariff names another; say zone="
    ):
        read_load(path, FLAT, 2026)
    found = read_load(path, FLAT, 2026, zone="America/Chicago")
    assert found.load.energy.sum() / 3.6e6 == pytest.approx(8760 * 400)
