"""A dryer's year is billed as the comparison bills it: with a floor of demand and the load of the plant around it."""

from __future__ import annotations

import pytest
from cases import HOPPER as PLACE
from cases import PRESENT, case
from dryer_read import HOPPER

from energy.study.compare import compare
from energy.study.readings import Readings
from energy.walkthrough.walk import walk

HELD = {"clause": "1", "source": "invented"}
PLANT = [{"month": m, "energy": "200 MWh", "peak": "500 kW"} for m in range(1, 13)]


def contracted(floor: str, *options: str, **changes: object):
    """One machine at 90 kg/h for 6,000 h in a plant of 500 kW, at 0.20 USD/kWh and 10 USD/kW a month above a floor."""
    tariff = {
        "name": "contracted", "commodity": "electricity", "currency": "USD", "source": "invented", "demand_window": "15 min",
        "charges": [
            {**HELD, "type": "energy-flat", "id": "energy", "label": "Energy", "price": "0.20 USD/kWh"},
            {**HELD, "type": "demand-flat", "id": "demand", "label": "Demand", "price": "10 USD/kW/month", "floor": {"minimum": floor}},
        ],
    }  # fmt: skip
    given = {
        "own_tariffs": [tariff],
        "tariffs": {"electricity": "contracted"},
        "plant_load": {"months": PLANT},
        f"options['{PRESENT}'].built_for": None,
    }
    return case(PRESENT, *options, changes={**given, **changes})


READ = Readings(hopper=HOPPER, throughput="90 kg/h", power="9 kW")


@pytest.mark.common_practice("arithmetic by hand")
def test_a_floor_above_the_peak_leaves_no_demand_to_the_dryer():
    by_floor = {floor: walk(contracted(f"{floor} kW"), READ).year for floor in (1, 495, 500, 600)}
    energy = {floor: year.energy / 3.6e6 * 0.20 for floor, year in by_floor.items()}
    demand = {floor: year.cost - energy[floor] for floor, year in by_floor.items()}
    assert demand[500] == pytest.approx(0.0, abs=1.0)
    assert demand[600] == pytest.approx(0.0, abs=1.0)
    assert demand[495] == pytest.approx(12 * 5 * 10.0, abs=1.0)  # the dryer's peak is more than 5 kW
    assert demand[1] > 12 * 9 * 10.0  # a peak above its mean power
    # Above the floor the first kilowatts less are saved whole, below it none.
    assert by_floor[600].price * 3.6e6 == pytest.approx(0.20, rel=1e-6)
    assert by_floor[1].price * 3.6e6 > 0.22
    assert by_floor[495].price == pytest.approx(by_floor[1].price, rel=1e-6)


@pytest.mark.common_practice("arithmetic by hand")
def test_a_saving_is_billed_and_not_priced_at_that_of_a_little_less():
    little, all_ = (walk(contracted("495 kW"), READ).year.worth(watts) for watts in (1000.0, 9000.0))
    # 1 kW in all 6,000 h, and about as much of a peak of 10 to 20 kW as of the mean of 9 kW.
    assert 1200.0 + 12 * 10.0 < little[1] < 1200.0 + 12 * 20.0 / 9.0 * 10.0
    # Of all the dryer's peak no more than 5 kW are billed.
    assert all_[1] - all_[0] / 3.6e6 * 0.20 == pytest.approx(12 * 5 * 10.0, abs=1.0)


@pytest.mark.parametrize("floor", ["1 kW", "495 kW", "600 kW"])
def test_what_nothing_was_read_of_costs_what_the_comparison_counts(floor):
    at = contracted(floor, **{f"{PLACE}.throughput": "80 kg/h"})
    year, counted = walk(at, Readings(hopper=HOPPER)).year, compare(at).baseline
    assert year.cost == pytest.approx(
        counted.total_cost - 3600.0, rel=1e-3
    )  # upkeep of 3,600 USD a year, in the example


def test_an_airflow_that_the_plant_cannot_feed_leaves_a_walkthrough():
    small = [{"month": m, "energy": "8 MWh", "peak": "60 kW"} for m in range(1, 13)]
    at = contracted("1 kW", plant_load={"months": small})
    few, much = (
        walk(at, Readings(hopper=HOPPER, throughput="90 kg/h", **air)) for air in ({}, {"air_flow": "1500 kg/h"})
    )
    # 1500 kg/h warmed by 60 K are 25 kW, 12.5 MWh in the 500 h of a month: the bill is that of the model, by the power found.
    assert much.year.cost / few.year.cost == pytest.approx(much.balance.power.value / few.balance.power.value, rel=1e-3)
