"""A visitor's own tariff, meter and weather become part of the case: on Compare, and from Bill for every view."""

from __future__ import annotations

import json
import re
import tomllib
from pathlib import Path

import numpy as np
import pytest

from dashboards.bill_state import State as BillState
from dashboards.inputs import Inputs
from dashboards.state import MONTHS, State
from dashboards.upload import LIMIT
from energy.study.case import build, load_case
from energy.study.compare import compare
from energy.tariffs import tariff_from

ROOT = Path(__file__).resolve().parents[2]
FLAT = (ROOT / "tariffs_demo/flat-electricity.toml").read_text(encoding="utf-8").split("[worked]")[0]
OWN = FLAT.replace('name = "Flat electricity (invented)"', 'name = "Plant <b>tariff"').replace("0.115 USD", "0.23 USD")
METER = "time,kW\n" + "\n".join(
    f"{t}-05:00,{300 + 60 * np.sin(i / 9):.1f}"
    for i, t in enumerate(
        np.arange(np.datetime64("2026-01-01T00:00"), np.datetime64("2027-01-01T00:00"), np.timedelta64(1, "h"))
    )
)


@pytest.fixture
def state():
    return State("one-machine")


@pytest.fixture
def inputs(state):
    panel = Inputs(state)
    for fold in ("more-prices", "hall", "plant_load"):
        panel.unfold(fold)
    return panel


def costs_told(notice):
    found = re.search(r"Present [\w ]+: ([\d,]+) USD a year before, ([\d,]+) USD a year now", notice)
    return [float(text.replace(",", "")) for text in found.groups()]


def total(state):
    return [option.total_cost for option in state.comparison.options]


def test_a_tariff_file_becomes_the_case_s_and_travels_with_it(inputs, state):
    assert "Plant <b>tariff" in OWN
    inputs.form.upload("own-tariff", "own.toml", OWN.encode())
    assert state.problems == ()
    assert state.case.tariffs["electricity"].name == "Plant <b>tariff"
    beside = load_case("one-machine").with_(
        {"own_tariffs": [tomllib.loads(OWN)], "tariffs.electricity": "Plant <b>tariff"}
    )
    assert total(state) == pytest.approx([o.total_cost for o in compare(beside).options], rel=1e-12)
    again = State("one-machine")
    again.take_up(state.kept())
    assert total(again) == total(state)
    choice = inputs.form.find("tariffs.electricity:tariff")
    assert ["Plant <b>tariff", "Plant <b>tariff"] in [list(option) for option in choice["options"]]
    assert choice["value"] == "Plant <b>tariff"
    assert "Tariff: Flat electricity (invented) before, Plant <b>tariff now" in state.notice
    before, now = costs_told(state.notice)
    assert before < now < 2 * before  # the price is twice what it was; maintenance is not
    state.undo()
    assert state.case.tariffs["electricity"].name != "Plant <b>tariff"


def test_a_second_file_of_the_same_name_takes_the_place_of_the_first(inputs, state):
    inputs.form.upload("own-tariff", "own.toml", OWN.encode())
    inputs.form.upload("own-tariff", "own.toml", OWN.replace("0.23 USD", "0.46 USD").encode())
    assert len(state.document["own_tariffs"]) == 1
    assert "0.46" in json.dumps(state.document["own_tariffs"][0], default=str)


@pytest.mark.parametrize(
    ("name", "data", "told"),
    [
        ("own.txt", b"", "own.txt: is neither a tariff file (.toml) nor a rate record (.json)"),
        ("own.toml", b'name = "x"\n', "own.toml: commodity: is missing"),
        ("own.toml", OWN.replace("USD", "EUR").encode(), "is in EUR, the case in USD"),
        ("own.toml", b"#" * (LIMIT + 1), "own.toml has 10.0 MB; at most 10 MB are taken."),
    ],
)
def test_a_tariff_that_cannot_be_used_is_told_beside_the_button_and_changes_nothing(inputs, state, name, data, told):
    before = state.document
    inputs.form.upload("own-tariff", name, data)
    assert told in inputs.form.find("own-tariff")["problem"]
    assert state.document == before
    assert (state.problems, state.undoable) == ((), 0)


def test_an_upload_for_no_such_place_is_dropped(inputs, state):
    before = state.document
    inputs.form.upload("tariffs.electricity", "own.toml", OWN.encode())
    inputs.form._take(None, {"id": "own-tariff", "part": "file", "text": "x", "shape": inputs.form.shape}, [])
    assert state.document == before


def test_readings_of_a_meter_become_the_plant_s_load(inputs, state):
    state.set({"calendar.production_hours": None, "calendar.shifts": [{"name": "day", "days": ["mon"], "start": "06:00", "end": "22:00"}]})  # fmt: skip
    state.set({"tariffs.electricity": "flat-electricity"})
    inputs.form.upload("meter", "meter.csv", METER.encode())
    assert "open the file on Bill" in inputs.form.find("meter")["problem"]  # neither tariff nor file names a clock
    state.set({"tariffs.electricity": "time-of-use-electricity"})
    inputs.form.upload("meter", "meter.csv", METER.encode())
    assert inputs.form.find("meter")["problem"] == ""
    assert state.case.readings is not None
    assert state.case.readings.total == pytest.approx(8760 * 300 * 3.6e6, rel=1e-3)  # the mean of a sine is nothing
    assert inputs.form.find("plant_load:kind")["value"] == "readings"
    # 8,760 h of 300 kW, with a swing of 60 kW around it.
    assert "Plant: left out before, 2,628 MWh a year with at most 360 kW now" in state.notice
    again = build(tomllib.loads(state.toml().decode()))
    assert [o.total_cost for o in compare(again).options] == total(state)


def test_twelve_months_of_a_file_can_be_edited_like_those_typed_in(inputs, state):
    table = "month,kWh,kW\n" + "\n".join(f"{m},200000,450" for m in range(1, 13))
    inputs.form.upload("meter", "months.csv", table.encode())
    assert inputs.form.find("plant_load.months[3].energy")["value"] == "200000"


def test_a_weather_file_becomes_months_that_rest_on_it(inputs, state):
    """Twelve months of one air each: their means are those airs."""
    days = (31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31)
    rows = [
        f"{m + 1:02d}/{d + 1:02d}/1999,{h + 1:02d}:00,{m + 5}.0,{m}.0,1013"
        for m in range(12) for d in range(days[m]) for h in range(24)
    ]  # fmt: skip
    head = "Date (MM/DD/YYYY),Time (HH:MM),Dry-bulb (C),Dew-point (C),Pressure (mbar)"
    text = "\n".join(["724290,DAYTON,OH,-5.0,39.900,-84.217,306", head, *rows])
    inputs.form.upload("weather", "dayton.csv", text.encode())
    assert inputs.form.find("weather")["problem"] == ""
    assert state.problems == ()
    assert state.climate == MONTHS
    # The case had one hall air: 24 degC, dew point 12 degC.
    assert re.search(r"Hall, mean of the year: 24 °C before, [\d.]+ °C now; dew point: 12 °C before", state.notice)
    np.testing.assert_allclose(state.case.climate.outdoor_temperature, 278.15 + np.arange(12), atol=1e-6)
    first = state.document["site"]["months"][0]["outdoor_temperature"]
    assert (first["basis"], "dayton.csv" in first["note"]) == ("read", True)
    inputs.form.upload("weather", "half.csv", text[:9000].encode())
    assert inputs.form.find("weather")["problem"].startswith("half.csv: ")
    assert state.climate == MONTHS


# ---------- from Bill ----------


@pytest.fixture
def bill():
    return BillState("one-machine")


def test_a_tariff_laid_beside_a_bill_can_be_made_the_case_s(bill):
    assert not bill.usable  # the case's already
    assert bill.upload_tariff("own.toml", OWN.encode()) == ""
    assert bill.usable
    bill.use_tariff()
    assert bill.problems == {}
    assert (bill.chosen, bill.usable) == ("case electricity", False)
    assert bill.case.tariffs["electricity"].name == bill.tariff.name == "Plant <b>tariff"
    assert "Plant <b>tariff is now the case's tariff for electricity" in bill.behind.notice
    assert "Tariff: Flat electricity (invented) before, Plant <b>tariff now" in bill.behind.notice
    compared = State("one-machine")
    compared.take_up(bill.behind.kept())
    assert compared.case.tariffs["electricity"].name == "Plant <b>tariff"


def test_a_demo_tariff_is_taken_by_its_name(bill):
    bill.choose("apparent-power-electricity")
    bill.use_tariff()
    assert "give tariffs.power_factor" in bill.problems["tariff"]  # the case has none
    bill.choose("block-gas")
    bill.use_tariff()
    assert (bill.problems, bill.case.model.tariffs.gas) == ({}, "block-gas")
    assert not bill.usable


def test_a_tariff_that_the_case_cannot_take_is_told_and_left(bill):
    before = bill.behind.document
    bill.upload_tariff("own.toml", OWN.replace("USD", "EUR").encode())
    bill.use_tariff()
    assert "is in EUR, the case in USD" in bill.problems["tariff"]
    assert bill.behind.document == before
    assert bill.chosen == "upload"


def test_readings_laid_on_a_tariff_can_be_made_the_plant_s():
    bill = BillState()
    bill.set("read zone", "Etc/GMT+5")
    bill.upload_readings("meter.csv", METER.encode())
    bill.use_readings()
    assert bill.problems == {}
    assert bill.on_plant
    # The demo's twelve months, added up: 2,193 MWh and a peak of 590 kW in July.
    assert (
        "Plant: 2,193 MWh a year with at most 590 kW before, 2,628 MWh a year with at most 360 kW" in bill.behind.notice
    )
    assert bill.case.readings.source == "meter.csv"
    assert bill.load.energy.sum() == pytest.approx(8760 * 300 * 3.6e6, rel=1e-3)


def test_what_another_view_changed_is_taken_over(bill):
    other = State("one-machine")
    other.set({"own_tariffs": [tomllib.loads(OWN)], "tariffs.electricity": "Plant <b>tariff"})
    bill.swap.choose("New twin tower")
    bill.swap.ask(bill.tariff)
    bill.behind.take_up(other.kept())
    assert bill.chosen == "case electricity"  # nothing was chosen yet, and the case has a tariff of its own
    assert bill.tariff.model_dump() == tariff_from(tomllib.loads(OWN)).model_dump()
    assert bill.swap.made is None


def test_what_was_chosen_on_the_bill_stays_when_the_case_changes(bill):
    bill.choose("flat-gas")
    bill.behind.set({"own_tariffs": [tomllib.loads(OWN)], "tariffs.electricity": "Plant <b>tariff"})
    assert bill.chosen == "flat-gas"
    assert ("the case's electricity: Plant <b>tariff", "case electricity") in bill.choices()
