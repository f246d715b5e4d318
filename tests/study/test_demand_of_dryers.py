"""What dryers add to the demand of a plant that is read by the interval: by hand, from the plant without any dryers."""

from __future__ import annotations

import numpy as np
import pytest
from cases import HOPPER, NEW, PRESENT, WHEEL, document, readings

from energy.study import meter
from energy.study.case import build
from energy.study.compare import compare

DAY = {
    "calendar.production_hours": None,
    "calendar.shifts": [{"name": "day", "days": ["mon", "tue", "wed", "thu", "fri"], "start": "06:00", "end": "22:00"}],
    "calendar.standby_up_to": "100 h",  # no starts of the calendar
    "tariffs.power_factor": "90 %",
    "plant_load": {"file": "readings.csv", "zone": "UTC"},
    f"{HOPPER}.running": "40 %",
    f"{HOPPER}.campaigns": 12,
}
FLAT, TOU = "flat-electricity", "time-of-use-electricity"  # 13 USD for a kW of the month's demand


def beside(folder, tariff=FLAT, **changes):
    of = document(PRESENT, NEW, WHEEL, changes={**DAY, "tariffs.electricity": tariff, **changes})
    return compare(build(of, folder=folder, file="case.toml"))


def of_state(option, quantity, state):
    found = getattr(option.year, quantity)
    return sum((v for (at, _, carrier), v in found.items() if (at, carrier) == (state, "electricity")), np.zeros(12))


def mean_of(option):
    """Mean power in production by month, with the starts after a change of material, whose hour no clock tells. [W]"""
    energy = of_state(option, "energy_in", "production") + of_state(option, "energy_in", "start")
    return energy / (3600.0 * np.array([hours(month) for month in range(12)]))


def most_of(option):
    """Highest power in production by month, starts too. [W]"""
    return np.maximum(of_state(option, "peak_in", "production"), of_state(option, "peak_in", "start"))


def demand(option):
    return sum(line.amount for line in option.bill if "emand" in line.line)


def hours(month):
    """Of production in a month of 2026: 16 on each weekday."""
    first = np.datetime64(f"2026-{month + 1:02d}-01")
    last = np.datetime64(f"2026-{month + 2:02d}-01") if month < 11 else np.datetime64("2027-01-01")
    days = np.arange(first, last)
    return 16.0 * np.count_nonzero((days.astype(int) + 3) % 7 < 5)


@pytest.mark.parametrize("share", [100, 50, 0])
def test_every_dryer_adds_its_own_power_to_the_plant_without_dryers(tmp_path, share):
    """A hopper that runs in 40 % of the time has a mean far below its peak. The plant peaks in production.

    Its demand without dryers is 400 kW less the mean of the present ones and the share of what their peak stands above it;
    each option adds its own mean and the same share of its own. No option saves more than the present ones cost.
    """
    readings(tmp_path)
    found = beside(tmp_path, **{"tariffs.coincidence": f"{share} %"})
    costs = {}
    for option in found.options:
        mean, most = mean_of(option), most_of(option)
        assert np.all(mean < 0.6 * most)
        costs[option.name] = 13.0 * np.sum(mean + share / 100.0 * (most - mean)) / 1e3
        assert demand(option) == pytest.approx(costs[option.name], rel=1e-9)
    assert min(costs.values()) > 0.0
    for option in found.options[1:]:
        saved = option.savings["electricity"].of_group("demand")
        assert saved == pytest.approx(costs[PRESENT] - costs[option.name], rel=1e-9)
        assert saved < costs[PRESENT]


def test_the_present_dryers_are_on_the_bill_that_the_plant_has(tmp_path):
    """Their load is that of the readings: 400 kW in every month, however much of it is theirs."""
    readings(tmp_path)
    for share in ("100 %", "0 %"):
        found = beside(tmp_path, **{"tariffs.coincidence": share})
        tariff, year = found.case.tariffs["electricity"], found.baseline.year
        load, _ = meter.loads(found.case, tariff, year, year, ("electricity",))
        np.testing.assert_allclose(load.peak, 400e3, rtol=1e-12)


def test_a_demand_is_not_below_the_mean_power_of_its_price_period(tmp_path):
    """A plant that reads 400 kW throughout. On-peak in July it produces: without the dryers it takes their mean less, by that at least."""
    steady = {"start": "2026-01-01T00:00:00-05:00", "step": "60 min", "power": [" ".join(["400"] * 24)] * 365}
    found = beside(tmp_path, TOU, plant_load={"readings": steady, "zone": "America/New_York"})
    tariff, year = found.case.tariffs["electricity"], found.baseline.year
    load, bare = meter.loads(found.case, tariff, year, year, ("electricity",))
    on_peak = tariff.price_calendar.cells.index("summer on-peak")
    mean = float(mean_of(found.baseline)[6])
    assert float(most_of(found.baseline)[6]) > 1.5 * mean
    assert bare.cell_peak[6, on_peak] == pytest.approx(400e3 - mean, rel=1e-9)
    assert load.cell_peak[6, on_peak] == pytest.approx(400e3, rel=1e-9)


def test_a_plant_that_reads_less_than_its_dryers_peak_has_no_demand_below_zero(tmp_path):
    """It reads 1 kW above the mean of its dryers: nothing is left without them, and each option still adds something."""
    readings(tmp_path)
    present = beside(tmp_path).baseline
    power = float(np.max(mean_of(present))) / 1e3 + 1.0
    assert power < float(np.min(most_of(present))) / 1e3
    readings(tmp_path, quiet=power, busy=power)
    found = beside(tmp_path)
    assert all(demand(option) > 0.0 for option in found.options)
    for option in found.options[1:]:
        assert option.savings["electricity"].of_group("demand") < demand(found.baseline)
