"""Tariffs and readings that stand in the case itself: the same answer as from files beside it, the same care with mistakes."""

from __future__ import annotations

import json
import tomllib
from importlib import resources

import numpy as np
import pytest
from cases import NEW, PRESENT, case

from energy import tariffs
from energy.errors import CaseError, EnergyError
from energy.study.case import build
from energy.study.compare import compare
from energy.study.price_sections import PlantReadings
from energy.study.references import files_named, readings_table, series_of
from energy.tariffs.readers import Series, read_interval_csv

TOU = "time-of-use-electricity"
SHIFTS = {
    "calendar.production_hours": None,
    "calendar.shifts": [{"name": "day", "days": ["mon", "tue", "wed"], "start": "06:00", "end": "22:00"}],
}


def written(name, currency="USD"):
    text = resources.files("tariffs_demo").joinpath(f"{name}.toml").read_text(encoding="utf-8").replace("USD", currency)
    return tomllib.loads(text) | {"name": "Plant electricity"}


def costs(of):
    return [option.total_cost for option in compare(of).options]


def with_own(*own, named="Plant electricity", **changes):
    return case(PRESENT, NEW, changes={**SHIFTS, "own_tariffs": list(own), "tariffs.electricity": named, **changes})


def test_a_tariff_in_the_case_bills_like_the_same_one_by_name():
    own = with_own(written(TOU))
    assert costs(own) == pytest.approx(costs(with_own(named=TOU)), rel=1e-12)
    assert own.tariffs["electricity"].name == "Plant electricity"
    assert "tariffs.electricity" not in files_named(own.document)


def test_a_case_with_a_tariff_of_its_own_is_written_and_read_again():
    own = with_own(written(TOU))
    again = build(tomllib.loads(own.to_toml()))
    assert costs(again) == costs(own)


def test_a_tariff_whose_name_begins_like_a_price_is_found_by_its_name():
    own = with_own(written(TOU) | {"name": "2026 rate"}, named="2026 rate")
    assert own.tariffs["electricity"].name == "2026 rate"


@pytest.mark.parametrize(
    ("own", "told"),
    [
        ([{}], r"own_tariffs\[1\].name: is missing"),
        ([written(TOU) | {"charges": []}], r"own_tariffs\['Plant electricity'\].charges: must not be empty|charges: "),
        ([written(TOU) | {"prise": 1}], r"own_tariffs\['Plant electricity'\].prise: "),
        ([written(TOU), written(TOU)], r"own_tariffs\['Plant electricity'\].name: two tariffs have this name"),
        ([written("flat-gas")], r"tariffs.electricity: 'Plant electricity' is a tariff for gas"),
        ([written(TOU, "EUR")], r"tariffs.electricity: 'Plant electricity' is in EUR, the case in USD"),
        (["text"], r"own_tariffs\[1\]: 'text' is not a table"),
    ],
)
def test_a_tariff_that_cannot_be_used_is_told_where_it_stands(own, told):
    with pytest.raises(CaseError, match=told):
        with_own(*own)


def test_a_rate_record_can_stand_in_a_case(tmp_path):
    record = {"label": "1", "name": "Record", "energyratestructure": [[{"rate": 0.11}]],
              "energyweekdayschedule": [[0] * 24] * 12, "energyweekendschedule": [[0] * 24] * 12, "demandwindow": 30}  # fmt: skip
    path = tmp_path / "rate.json"
    path.write_text(json.dumps(record))
    document, _ = tariffs.read_rate_document(path)
    own = build(tomllib.loads(with_own(document, named="Record").to_toml()))
    assert own.tariffs["electricity"].model_dump() == tariffs.load_rate_json(path)[0].model_dump()


# ---------- readings ----------


def meter(folder, offset="-06:00"):
    """A year of quarter hours by a clock without daylight saving, in a file."""
    times = np.arange(np.datetime64("2026-01-01T00:00"), np.datetime64("2027-01-01T00:00"), np.timedelta64(15, "m"))
    power = 300.0 + 100.0 * np.sin(np.arange(times.size) / 40.0)
    path = folder / "readings.csv"
    lines = (f"{t}{offset},{p:.1f}" for t, p in zip(times, power, strict=True))
    path.write_text("\n".join(["time,kW", *lines]))
    return path


def test_readings_in_the_case_bill_like_the_file_they_were_taken_from(tmp_path):
    series = read_interval_csv(meter(tmp_path))
    changes = {**SHIFTS, "tariffs.electricity": TOU, "tariffs.power_factor": "90 %", "calendar.standby_up_to": "100 h"}
    zone = "Etc/GMT+6"  # six hours behind, without daylight saving; the tariff of this test has no clock of its own
    own = written(TOU)
    del own["calendar"]["time_zone"]
    own["calendar"].pop("holidays", None)
    changes |= {"own_tariffs": [own], "tariffs.electricity": "Plant electricity"}
    inside = case(PRESENT, NEW, changes={**changes, "plant_load": {"readings": readings_table(series), "zone": zone}})
    again = build(tomllib.loads(inside.to_toml()))
    document = dict(case(PRESENT, NEW, changes=changes).document)
    beside = build(document | {"plant_load": {"file": "readings.csv", "zone": zone}}, folder=tmp_path)
    assert again.readings is not None
    np.testing.assert_allclose(again.readings.power, beside.readings.power, rtol=1e-4)
    assert costs(again) == pytest.approx(costs(beside), rel=1e-6)
    assert again.readings.source == "readings.csv"


@pytest.mark.parametrize(
    ("changes", "told"),
    [
        ({"power": ["1 2 x 4"]}, "power: 'x' is no number of kW"),
        ({"power": ["1 2 nan"]}, "readings must be finite"),
        ({"power": ["1 2e308 3"]}, r"power: '2e308' kW is no power of a plant; at most 1,000,000,000 kW is taken"),
        ({"power": [" "]}, "n > 0"),
        ({"start": "2026-01-01T00:00:00"}, "has no offset from UTC"),
    ],
)
def test_readings_that_cannot_be_used_are_told(changes, told):
    given = {"start": "2026-01-01T00:00:00Z", "step": "15 min", "power": ["1 2 3"], **changes}
    with pytest.raises(EnergyError, match=told):
        series_of(PlantReadings.model_validate(given), None)


@pytest.mark.parametrize(
    ("start", "step", "counted", "told"),
    [
        ([0, 900, 2700], 900, "energy", "without a gap"),
        ([0, 900, 1800], [900, 900, 1800], "energy", "of one length"),
        ([0, 900, 1800], 900, "volume", "holds volume"),
    ],
)
def test_readings_that_a_case_cannot_hold_are_refused(start, step, counted, told):
    with pytest.raises(EnergyError, match=told):
        readings_table(Series(start=start, step=step, amount=[1.0, 2.0, 3.0], counted=counted))


def test_a_tariff_without_a_clock_takes_that_of_the_readings(tmp_path):
    """Months of readings in Chicago are not those of UTC: without the zone, six hours of January would be missing."""
    given = {"start": "2026-01-01T00:00:00-06:00", "step": "60 min", "power": ["400 " * 24] * 365}
    changes = {**SHIFTS, "tariffs.electricity": "flat-electricity"}
    changes["plant_load"] = {"readings": given, "zone": "America/Chicago"}
    assert all(cost > 0 for cost in costs(case(PRESENT, NEW, changes=changes)))
    changes["plant_load"] = {"readings": given}
    with pytest.raises(CaseError, match=r"plant_load.readings: 2026-01 is not whole: 738 of its 744 h"):
        compare(case(PRESENT, NEW, changes=changes))
