"""A reading that stands alone far above all others of its month is told, by hand; how a plant starts and stops is not."""

from __future__ import annotations

import numpy as np
import pytest

from energy.tariffs import load_tariff
from energy.tariffs.known_load import read_load
from energy.tariffs.lone import lone
from energy.tariffs.readers import Series, read_espi

FLAT = load_tariff("flat-electricity")  # demand of 15 minutes
HALF_HOURS = FLAT.model_copy(update={"demand_window": 1800.0})
START = int(np.datetime64("2026-01-01T00:00", "s").astype(int))


def day_and_night(step=1800, days=60):
    """330 kW from 6 to 22, 60 kW else. [W]"""
    hour = np.arange(days * 86400 // step) * step / 3600 % 24
    return np.where((hour >= 6) & (hour < 22), 330e3, 60e3)


def series(power, step=1800, zone="UTC"):
    return Series(start=START + step * np.arange(power.size), step=step, amount=power * step, zone=zone)


def at(day, hour, step=1800):
    return int((day * 24 + hour) * 3600 // step)


def test_a_half_hour_times_ten_is_told_with_its_time_and_size():
    power = day_and_night()
    power[at(9, 10)] = 3300e3  # 1650 kWh, ten times 330 kW
    assert lone(series(power), HALF_HOURS) == (
        "One reading stands far above all others of its month: 1,650 kWh (3,300 kW) in the 30 minutes from 2026-01-10T10:00Z, "
        "10 times the next highest; right before and after it stand 330 and 330 kW. Check it: it sets that month's demand.",
    )


def test_one_of_the_night_is_told_though_it_is_not_ten_times_the_day():
    power = day_and_night()
    power[at(40, 2)] = 600e3
    (said,) = lone(series(power), HALF_HOURS)
    assert "300 kWh (600 kW) in the 30 minutes from 2026-02-10T02:00Z, 1.8 times the next highest" in said


def test_two_of_a_month_do_not_hide_each_other():
    power = day_and_night()
    power[[at(3, 10), at(20, 2)]] = 3300e3, 600e3
    said = lone(series(power), HALF_HOURS)
    assert [s[s.index("from 2026") : s.index("Z")] for s in said] == ["from 2026-01-04T10:00", "from 2026-01-21T02:00"]


@pytest.mark.parametrize(
    "changed",
    [
        {},
        {at(9, 10): 900e3},  # 2.7 times its neighbours
        {at(9, 2): 400e3},  # at night, 1.2 times the day
        {at(9, 10): 3300e3, at(9, 10) + 1: 3300e3},  # an hour
        {at(day, 2): 600e3 for day in (1, 5, 8, 12)},  # four nights of a month: it runs so
        dict.fromkeys(range(at(5, 0), at(7, 0)), 0.0),  # a cut
    ],
)
def test_what_a_plant_does_is_not_told(changed):
    power = day_and_night()
    for place, value in changed.items():
        power[place] = value
    assert lone(series(power), HALF_HOURS) == ()


def test_the_first_and_the_last_reading_have_one_neighbour():
    power = day_and_night()
    power[[0, -1]] = 3000e3
    said = lone(series(power), HALF_HOURS)
    assert len(said) == 2
    assert all("right before and after it stand 60 kW" in s for s in said)


def test_readings_shorter_than_the_demand_window_are_taken_together():
    """A minute of 3,300 kW is on no bill: with 14 of 330 kW the quarter hour has 528 kW. A whole quarter is told as one."""
    power = day_and_night(step=60, days=40)
    power[at(9, 10, 60)] = 3300e3
    assert lone(series(power, 60), FLAT) == ()
    power[at(9, 10, 60) : at(9, 10, 60) + 15] = 3300e3
    (said,) = lone(series(power, 60), FLAT)
    assert "825 kWh (3,300 kW) in the 15 minutes from 2026-01-10T10:00Z" in said


def test_months_are_those_of_the_tariffs_clock():
    """At 23:30 on 31 January of universal time it is 1 February in Berlin, where nothing else is as high in that month."""
    power = np.full(60 * 48, 60e3)
    power[at(5, 10)] = 500e3
    power[at(30, 23.5)] = 500e3
    said = lone(series(power), HALF_HOURS.on_clock("Europe/Berlin"))
    assert ["8.3 times" in s for s in said] == [True, True]
    assert len(lone(series(power[: 31 * 48]), HALF_HOURS)) == 2


def test_a_bill_of_readings_tells_it(tmp_path):
    power = day_and_night(days=365)
    power[at(9, 10)] = 3300e3
    power[at(12, 1)] = -60e3
    times = np.datetime64("2026-01-01T00:00") + np.timedelta64(30, "m") * np.arange(power.size)
    rows = [f"{t}Z,{p / 2e3:g}" for t, p in zip(times, power, strict=True)]
    (tmp_path / "plant.csv").write_text("\n".join(["t,kWh", *rows]))
    said = read_load(tmp_path / "plant.csv", HALF_HOURS, 2026).cautions
    assert any("1,650 kWh (3,300 kW) in the 30 minutes from 2026-01-10T10:00Z" in s for s in said)
    assert "1 reading is negative: -30 kWh (-60 kW) at 2026-01-13T01:00Z; it is counted as it stands." in said


def test_negative_readings_of_an_espi_file_are_told_too(tmp_path):
    """Watt hours by the hour: -2,000 of them are -2 kWh, at a mean of -2 kW."""
    values = "".join(
        f"<IntervalReading><timePeriod><duration>3600</duration><start>{START + i * 3600}</start></timePeriod><value>{v}</value></IntervalReading>"
        for i, v in enumerate((1000, -2000, 1000))
    )
    kind = "<ReadingType><accumulationBehaviour>4</accumulationBehaviour><powerOfTenMultiplier>0</powerOfTenMultiplier><uom>72</uom></ReadingType>"
    entries = f"<entry><content>{kind}</content></entry><entry><content><IntervalBlock>{values}</IntervalBlock></content></entry>"
    (tmp_path / "plant.xml").write_text(f'<?xml version="1.0"?><feed xmlns="urn:feed">{entries}</feed>')
    (series,) = read_espi(tmp_path / "plant.xml")
    assert series.notes[-1] == "1 reading is negative: -2 kWh (-2 kW) at 2026-01-01T01:00Z; it is counted as it stands"
