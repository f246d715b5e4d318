"""The plant's own load at its meter, and a dryer's energy found again in it month by month: by hand."""

from __future__ import annotations

from datetime import datetime
from zoneinfo import ZoneInfo

import numpy as np
import pytest
from cases import NEW, PRESENT, case, document, readings

from energy import tariffs
from energy.errors import CaseError
from energy.plant.calendar import STATES
from energy.study import meter
from energy.study.case import build
from energy.study.compare import compare
from energy.study.year import PRODUCTION
from energy.tariffs import Tariff, load_tariff

KWH = 3.6e6
WEEKDAYS = ["mon", "tue", "wed", "thu", "fri"]
DAY = {
    "calendar.production_hours": None,
    "calendar.shifts": [{"name": "day", "days": WEEKDAYS, "start": "06:00", "end": "22:00"}],
    "calendar.standby_up_to": "10 h",
    "tariffs.power_factor": "90 %",
}
MONTHS = [{"month": m, "energy": "200 MWh", "peak": "450 kW"} for m in range(1, 13)]
FLAT, TOU = "flat-electricity", "time-of-use-electricity"
BY_KVA = Tariff.model_validate(
    {
        "name": "By kVA",
        "commodity": "electricity",
        "currency": "USD",
        "source": "invented",
        "charges": [
            {"type": "energy-flat", "id": "energy", "label": "Energy", "clause": "1", "source": "invented", "price": "0.08 USD/kWh"},
            {"type": "demand-flat", "id": "demand", "label": "Demand", "clause": "2", "source": "invented", "price": "10 USD/kVA/month"},
        ],
    }
)  # fmt: skip


def by_month(tariff=FLAT, **changes):
    return case(
        PRESENT, NEW, changes={**DAY, "tariffs.electricity": tariff, "plant_load": {"months": MONTHS}, **changes}
    )


def by_readings(folder, busy=400.0, quiet=300.0, **changes):
    """A plant on quarter hours of universal time: busy from 6 to 22 on weekdays."""
    months = readings(folder, quiet, busy)
    given = {**DAY, "tariffs.electricity": FLAT, "plant_load": {"file": "readings.csv", "zone": "UTC"}, **changes}
    of = build(document(PRESENT, NEW, changes=given), folder=folder, file="case.toml")
    return of, np.array(months)  # kWh


def test_the_load_of_a_plant_by_month_is_what_its_months_say():
    of = by_month()
    load, remarks = meter.plant_load(of, of.tariffs["electricity"])
    np.testing.assert_allclose(load.energy, 200e3 * KWH)
    np.testing.assert_allclose(load.peak, 450e3)
    np.testing.assert_allclose(load.power_factor, 0.9)
    assert remarks == ()
    other, _ = meter.plant_load(of, of.tariffs["electricity"], power_factor=0.7)
    np.testing.assert_allclose(other.power_factor, 0.7)


def test_by_the_clock_a_month_is_spread_over_its_hours():
    """June 2026: on-peak from 12 to 20 on 22 weekdays, 176 of 720 hours; its peak may fall into any period that occurs."""
    of = by_month(TOU)
    load, (remark,) = meter.plant_load(of, of.tariffs["electricity"])
    assert remark == (
        "The plant is known by month: energy is spread over the hours of the clock, the peak may fall into any period."
    )
    cells = list(load.cells)
    on_peak = cells.index("summer on-peak")
    assert load.cell_energy[5, on_peak] == pytest.approx(200e3 * KWH * 176 / 720, rel=1e-9)
    np.testing.assert_allclose(load.cell_energy.sum(-1), 200e3 * KWH)
    np.testing.assert_allclose(load.cell_peak[load.cell_energy > 0.0], 450e3)
    assert load.cell_peak[0, on_peak] == 0.0
    assert "energy is spread over the hours of the clock" in remark
    assert meter.spread_over_the_clock(by_month(), load_tariff(FLAT)) == ""


def test_energy_on_top_stands_in_its_month_and_in_the_hours_of_the_clock():
    """By hand, as above: 176 of the 720 hours of June are on-peak; of less than nothing there is none."""
    of = by_month(TOU)
    tariff = of.tariffs["electricity"]
    load, _ = meter.plant_load(of, tariff)
    on_peak = list(load.cells).index("summer on-peak")
    more = meter.with_more(of, tariff, load, np.full(12, 50e3 * KWH))
    np.testing.assert_allclose(more.energy, 250e3 * KWH)
    assert more.cell_energy[5, on_peak] == pytest.approx(250e3 * KWH * 176 / 720, rel=1e-9)
    np.testing.assert_array_equal(more.cell_peak, load.cell_peak)
    less = meter.with_more(of, tariff, load, np.full(12, -300e3 * KWH))
    assert not less.energy.any()
    assert not less.cell_energy.any()


def test_the_load_of_a_plant_on_readings_is_theirs(tmp_path):
    of, energy = by_readings(tmp_path)
    load, remarks = meter.plant_load(of, of.tariffs["electricity"], power_factor=0.8)
    total = load.energy if load.cell_energy is None else load.cell_energy.sum(-1)
    peak = load.peak if load.cell_peak is None else load.cell_peak.max(-1)
    np.testing.assert_allclose(total, energy * KWH, rtol=1e-9)
    np.testing.assert_allclose(peak, 400e3)
    np.testing.assert_allclose(load.power_factor, 0.8)
    assert remarks == ()


def test_a_case_without_a_plants_load_has_none():
    of = case(PRESENT, NEW, changes=DAY)
    with pytest.raises(meter.BillError, match="the case has none") as said:
        meter.plant_load(of, of.tariffs["electricity"])
    assert said.value.place == "plant_load"


@pytest.mark.parametrize("weeks", [[], [27, 28, 29]])
def test_a_dryers_energy_is_found_again_in_the_readings_of_each_month(tmp_path, weeks):
    """Dryers off for three weeks of July take nothing of the plant's readings then, and all of their own in other months."""
    of, readings = by_readings(tmp_path, **{"calendar.shutdown_weeks": weeks})
    result = compare(of)
    carriers = ("electricity", "compressed air")
    taken = [
        sum(v for k, v in o.year.energy.items() if k[1] in carriers) for o in (result.baseline, result.option(NEW))
    ]
    beside, bare = meter.loads(of, of.tariffs["electricity"], result.option(NEW).year, result.baseline.year, carriers)
    np.testing.assert_allclose(bare.cell_energy.sum(-1), readings * KWH - taken[0], rtol=1e-9)
    np.testing.assert_allclose(beside.cell_energy.sum(-1), readings * KWH - taken[0] + taken[1], rtol=1e-9)


def test_a_power_factor_that_is_missing_is_told_with_its_key():
    months = {"tariffs.electricity": "apparent-power-electricity", "tariffs.power_factor": None}
    with pytest.raises(CaseError, match=r"power factor.*; give tariffs\.power_factor$"):
        compare(by_month(**months))


def test_electricity_of_the_cooling_plant_is_billed_when_it_is_taken():
    """A tower with pumps, priced by the clock: what all price periods hold is the dryers' own and the tower's."""
    plant = {
        "site.climate": "temperate",
        "site.hall_temperature": None,
        "site.hall_dew_point": None,
        "tariffs.cooling": None,
        "tariffs.water": "4 USD/m3",
        "cooling": {"medium": "tower water", "tower_fan_share": "1 %", "pump_share": "4 %"},
    }
    of = case(PRESENT, NEW, changes={**DAY, "tariffs.electricity": TOU, **plant})
    result = compare(of)
    year = result.option(NEW).year
    with_, _ = meter.loads(of, of.tariffs["electricity"], year, result.baseline.year, ("electricity",))
    own = sum(v for (use, c), v in year.energy.items() if c == "electricity" and use != "cooling")
    tower = year.energy["cooling", "cooling"] * (0.04 + 0.01 * 1.04)  # fans 1 % of heat and pumps
    assert float(tower.sum()) > 0.0
    np.testing.assert_allclose(with_.cell_energy.sum(-1), own + tower, rtol=1e-9)
    in_states = sum(v for (_, use, c), v in year.energy_in.items() if (use, c) == ("cooling", "electricity"))
    np.testing.assert_allclose(in_states, tower, rtol=1e-9)
    assert float(year.peak["cooling", "electricity"].max()) > 0.0
    for state in ("production", "standby"):
        highest = 0.0504 * year.peak_in[state, "cooling", "cooling"]
        np.testing.assert_allclose(year.peak_in[state, "cooling", "electricity"], highest, rtol=1e-9)
    np.testing.assert_allclose(year.peak["cooling", "electricity"], 0.0504 * year.peak["cooling", "cooling"], rtol=1e-9)


def test_readings_of_universal_time_meet_shifts_on_the_clock_of_the_tariff(tmp_path):
    """New York, whose clock is changed twice: the year begins at 05:00 of universal time, and months by its clock hold all energy."""
    zone = ZoneInfo("America/New_York")
    times = np.arange(np.datetime64("2026-01-01T05:00"), np.datetime64("2027-01-01T05:00"), np.timedelta64(15, "m"))
    here = [datetime.fromtimestamp(int(t) * 60, zone) for t in times.astype(np.int64)]
    power = np.array([400.0 if t.weekday() < 5 and 6 <= t.hour < 22 else 300.0 for t in here])
    month = np.array([t.month - 1 for t in here])
    rows = [f"{str(t).replace('T', ' ')}Z,{p}" for t, p in zip(times, power, strict=True)]
    (tmp_path / "readings.csv").write_text("\n".join(["time,kW", *rows]))
    given = {**DAY, "tariffs.electricity": TOU, "plant_load": {"file": "readings.csv", "zone": "UTC"}}
    of = build(document(PRESENT, NEW, changes=given), folder=tmp_path, file="case.toml")
    result, carriers = compare(of), ("electricity", "compressed air")
    taken = [
        sum(v for k, v in o.year.energy.items() if k[1] in carriers) for o in (result.baseline, result.option(NEW))
    ]
    beside, bare = meter.loads(of, of.tariffs["electricity"], result.option(NEW).year, result.baseline.year, carriers)
    readings = np.array([power[month == m].sum() / 4 for m in range(12)]) * KWH
    np.testing.assert_allclose(bare.cell_energy.sum(-1), readings - taken[0], rtol=1e-9)
    np.testing.assert_allclose(beside.cell_energy.sum(-1), readings - taken[0] + taken[1], rtol=1e-9)
    np.testing.assert_allclose(beside.power_factor, 0.9)


def test_nothing_is_said_of_the_clock_where_no_plant_is_known(tmp_path):
    assert meter.spread_over_the_clock(case(PRESENT, NEW, changes=DAY), load_tariff(TOU)) == ""
    of, _ = by_readings(tmp_path)
    assert meter.spread_over_the_clock(of, load_tariff(TOU)) == ""


def test_a_hall_that_is_cooled_is_priced_on_a_tariff_by_the_clock():
    """By hand: a third of the summer's heat at the mean price of July's hours, 184 of 744 on-peak, and its neighbours' alike."""
    hall = {"site.climate": "temperate", "site.hall_temperature": None, "site.hall_dew_point": None}
    cooled = {"cooling_months": "1", "cooling_performance": "3", "heating_months": "0"}
    option = compare(
        case(PRESENT, NEW, changes={**DAY, **hall, "tariffs.electricity": TOU, "building": cooled})
    ).option(NEW)
    (effect,) = [line.amount for line in option.bill if line.line == "Hall cooling added"]
    left = ("resin", "evaporated water", "aftercooler", "flue gas", "compressor house")
    july = float(sum(heat for name, heat in option.year.heat_out.items() if name not in left)[6]) / 3.0 / KWH
    # 23 weekdays of 8 h; Independence Day of 2026 is a Saturday.
    assert effect == pytest.approx(1.06 * july * (184 * 0.165 + 560 * 0.078) / 744, rel=1e-9)


def test_how_far_peaks_stand_above_the_mean_is_of_each_month_by_itself():
    """Months of a climate differ: peak over the highest mean power of a state, both of that month."""
    hall = {"site.climate": "cold", "site.hall_temperature": None, "site.hall_dew_point": None}
    of = case(PRESENT, NEW, changes={**DAY, **hall, "tariffs.electricity": TOU})
    year = compare(of).option(NEW).year
    own = meter._dryers(of, of.tariffs["electricity"], year, ("electricity",))
    np.testing.assert_allclose(own["most"].max(-1), year.most(("electricity",)), rtol=1e-9)
    assert np.ptp(own["power"].max(-1)) > 1.0


@pytest.mark.parametrize("own", [2022, 2024, 2026])
def test_readings_of_another_year_meet_the_shifts_of_their_own_weekdays(own):
    """At noon dryers run from Monday to Friday, on the first and the last days of the readings too."""
    of = case(PRESENT, NEW, changes={**DAY, "case.year": own})
    for year in range(2019, 2030):
        clock = tariffs.quarter_hours(year, None)
        at_noon = meter._states_at(of, clock)[clock.quarter == 4 * 12]
        days = np.arange(np.datetime64(f"{year}-01-01"), np.datetime64(f"{year + 1}-01-01"))
        np.testing.assert_array_equal(at_noon == STATES.index(PRODUCTION), np.is_busday(days), err_msg=f"{year}")


def test_hours_without_shifts_fall_evenly_into_the_hours_of_the_clock():
    """July 2026: on-peak from 12 to 20 on 23 weekdays, 184 of 744 hours; the highest power may fall into either."""
    of = case(PRESENT, NEW, changes={"tariffs.electricity": TOU, "tariffs.power_factor": "90 %"})
    compared, tariff = compare(of), of.tariffs["electricity"]
    for option in compared.options:
        load, none = meter.loads(of, tariff, option.year, compared.baseline.year, ("electricity",))
        cells = [list(load.cells).index(f"summer {name}") for name in ("on-peak", "off-peak")]
        july = sum(v[6] for (_, carrier), v in option.year.energy.items() if carrier == "electricity")
        assert load.cell_energy[6, cells] == pytest.approx([july * 184 / 744, july * 560 / 744], rel=1e-9)
        assert load.cell_peak[6, cells] == pytest.approx([option.year.most(("electricity",))[6]] * 2, rel=1e-9)
        assert not none.cell_energy.any()


def test_on_readings_demand_is_what_the_dryers_add_to_the_highest_of_the_plant(tmp_path):
    """By hand: the plant is busy at 400 kW with the present dryer at work, at its highest power where all coincides; each option's stands in its place."""
    of, _ = by_readings(tmp_path, **{"calendar.standby_up_to": "100 h", "tariffs.coincidence": "100 %"})
    compared = compare(of)

    for option in compared.options:
        highest = sum(v for k, v in option.year.peak_in.items() if k[0] == "production" and k[2] == "electricity")
        (line,) = (line for line in option.bill if "item 3" in line.clause)
        assert line.amount == pytest.approx(13.0 * float(highest.sum()) / 1e3, rel=1e-6), option.name


def test_two_prices_by_the_clock_ask_for_it_and_one_does_not():
    """A day and a night price are two; one price for all hours is one."""
    assert not meter.needs_clock(BY_KVA)
    own = {"id": "clock", "label": "By the clock", "clause": "1", "source": "invented", "type": "energy-time-of-use"}
    prices = [
        {"periods": [f"year {name}"], "price": f"{price} USD/kWh"} for name, price in (("day", 0.2), ("night", 0.1))
    ]
    days = ["mon", "tue", "wed", "thu", "fri", "sat", "sun"]
    calendar = {
        "rest": "night",
        "seasons": {"year": ["01-01 to 12-31"]},
        "windows": [{"period": "day", "seasons": ["year"], "days": days, "hours": ["08:00-20:00"]}],
    }
    by_day = {"name": "Day and night", "commodity": "electricity", "currency": "USD", "source": "invented"}
    tariff = Tariff.model_validate({**by_day, "calendar": calendar, "charges": [{**own, "prices": prices}]})
    assert len(tariff.price_calendar.cells) == 2
    assert meter.needs_clock(tariff)


def test_a_plant_spread_over_the_clock_may_be_less_than_its_dryers_in_the_day_alone():
    """6 MWh a month are more than the present dryer's 5, but its share of the on-peak hours is less than what runs by day takes."""
    months = [{**row, "energy": "6 MWh"} for row in MONTHS]
    present = compare(by_month(FLAT, plant_load={"months": months})).baseline
    assert max(sum(v for (_, c), v in present.year.energy.items() if c == "electricity")) < 5.1e3 * KWH
    with pytest.raises(CaseError, match=r"plant_load: the plant takes less in some month"):
        compare(by_month(TOU, plant_load={"months": months}))


def test_a_plant_that_takes_less_than_its_dryers_in_one_month_alone_is_refused(tmp_path):
    """The present dryer takes some 10 MWh a month: less than that in February is no plant, by its months or by its readings."""
    months = [{**row, "energy": "1 MWh"} if row["month"] == 2 else row for row in MONTHS]
    for tariff in (FLAT, TOU):
        with pytest.raises(CaseError, match=r"plant_load: the plant takes less in some month"):
            compare(by_month(tariff, plant_load={"months": months}))
    by_readings(tmp_path)
    path = tmp_path / "readings.csv"
    lines = path.read_text().splitlines()
    path.write_text("\n".join(f"{line.split(',')[0]},1.0" if line.startswith("2026-02") else line for line in lines))
    given = {**DAY, "tariffs.electricity": FLAT, "plant_load": {"file": "readings.csv", "zone": "UTC"}}
    of = build(document(PRESENT, NEW, changes=given), folder=tmp_path, file="case.toml")
    with pytest.raises(CaseError, match=r"plant_load: the plant takes less in some month"):
        compare(of)
