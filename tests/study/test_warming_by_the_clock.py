"""A start from cold takes as many hours as its heater needs, and each of them is billed at its own price."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from cases import NEW, PRESENT, case

from energy import tariffs
from energy.plant.calendar import operating_year
from energy.plant.shifts import Shift, Shifts
from energy.study import meter
from energy.study.compare import compare

HOURS = ("first", "second", "third", "fourth", "fifth")
WEEKDAYS = ["mon", "tue", "wed", "thu", "fri"]
COLD = {  # off every night: five starts a week, at six
    "calendar.production_hours": None,
    "calendar.shifts": [{"name": "day", "days": WEEKDAYS, "start": "06:00", "end": "22:00"}],
    "calendar.standby_up_to": "0 h",
}


def by_the_hour(window="15 min"):
    """A price period for each of the first five hours of production."""
    return tariffs.Tariff.model_validate(
        {
            "name": "Hour by hour (invented)",
            "commodity": "electricity",
            "currency": "USD",
            "source": "invented",
            "demand_window": window,
            "calendar": {
                "rest": "later",
                "windows": [
                    {"period": name, "hours": [f"{6 + i:02d}:00-{7 + i:02d}:00"]} for i, name in enumerate(HOURS)
                ],
            },
            "charges": [
                {
                    "type": "energy-flat",
                    "id": "energy",
                    "label": "Energy",
                    "clause": "1",
                    "source": "invented",
                    "price": "1 USD/kWh",
                }
            ],
        }
    )


def hour_by_hour(warm_hours, window="15 min"):
    """January of a dryer whose warming asks for so many hours of all that its heater has to spare: means and peaks of the first five hours above
    production, over that room; and what production has above its own power. [-]"""
    of = case(PRESENT, NEW, changes=COLD)
    result, tariff = compare(of), by_the_hour(window)
    year = result.option(NEW).year
    carriers = ("electricity", "compressed air")
    time = of.calendar.production[0]
    made, high = (
        sum(v[0] for k, v in table.items() if k[0] == "production" and k[2] == "electricity")
        for table in (year.energy_in, year.peak_in)
    )
    start_peak = sum(v[0] for k, v in year.peak_in.items() if k[0] == "start" and k[2] == "electricity")
    starts = of.calendar.starts[0]
    room = start_peak - made / time
    wanted = warm_hours * 3600.0 * room * starts
    warm = sum(v[0] for k, v in year.energy_in.items() if k[0] == "start" and k[2] == "electricity")
    year = replace(
        year,
        energy_in={
            key: value * wanted / warm if key[0] == "start" and key[2] == "electricity" else value
            for key, value in year.energy_in.items()
        },
    )
    load, _ = meter.loads(of, tariff, year, result.baseline.year, carriers)
    cells = [tariff.price_calendar.cells.index(name) for name in HOURS]
    days = starts * 3600.0  # production begins on as many days as there are starts
    standing = load.cell_energy[0, tariff.price_calendar.cells.index("later")]  # eleven hours of production a day
    base = standing / (11 * days)
    above = (load.cell_energy[0, cells] / days - base) / room
    peaks = (load.cell_peak[0, cells] - high) / (start_peak - high)
    return above, peaks, (base - made / time) / room, time / (starts * 3600.0)


@pytest.mark.parametrize(
    ("warm_hours", "window", "means", "peaks"),
    [
        (0.5, "15 min", [0.5, 0, 0, 0, 0], [1, 0, 0, 0, 0]),
        (1.0, "15 min", [1, 0, 0, 0, 0], [1, 0, 0, 0, 0]),
        (1.1, "15 min", [1, 0.1, 0, 0, 0], [1, 0.4, 0, 0, 0]),  # six minutes of a window of fifteen
        (1.1, "30 min", [1, 0.1, 0, 0, 0], [1, 0.2, 0, 0, 0]),
        (2.5, "15 min", [1, 1, 0.5, 0, 0], [1, 1, 1, 0, 0]),
        (4.0, "15 min", [1, 1, 1, 1, 0], [1, 1, 1, 1, 0]),
    ],
)
def test_warming_falls_into_the_hours_that_the_heater_needs(warm_hours, window, means, peaks):
    found, high, rest, _ = hour_by_hour(warm_hours, window)
    assert found == pytest.approx(means, abs=1e-9)
    assert high == pytest.approx(peaks, abs=1e-9)
    assert rest == pytest.approx(0.0, abs=1e-9)


def test_what_takes_longer_than_four_hours_is_spread_over_production():
    found, high, rest, hours = hour_by_hour(6.0)
    assert hours == pytest.approx(16.0)
    assert found == pytest.approx([1, 1, 1, 1, 0], abs=1e-9)
    assert rest == pytest.approx((6.0 - 4.0) / 16.0)
    assert high == pytest.approx([1, 1, 1, 1, 0], abs=1e-9)


def test_quarter_hours_after_a_start_are_counted_while_production_lasts():
    """A shift of two and a half hours on the first working day of 2026, a Thursday; off before and after it."""
    shift = Shift(weekdays=("thu",), start="06:00", end="08:30")
    year = operating_year(2026, Shifts(shifts=(shift,), standby_up_to=0.0))
    assert year.quarters is not None
    first_day = year.quarters[0]
    assert first_day[24:34].tolist() == [3] * 4 + [4] * 4 + [5] * 2
    assert not np.any(np.delete(first_day, np.arange(24, 34)))


def test_a_dryer_kept_hot_has_no_hour_of_a_start():
    shift = Shift(weekdays=tuple(WEEKDAYS), start="06:00", end="22:00")
    year = operating_year(2026, Shifts(shifts=(shift,), standby_up_to=100 * 3600.0))
    assert year.quarters is not None
    assert set(np.unique(year.quarters).tolist()) == {1, 2}
