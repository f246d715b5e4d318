"""What each end use of a dryer costs, by hand: energy by its kilowatt-hours, demand by its share of the peaks."""

from __future__ import annotations

import pytest
from cases import AIR, NEW, PRESENT, case

from energy.plant.climate import sample_climate
from energy.study.compare import compare

KWH = 3.6e6
PRICED = {
    "tariffs.electricity": "0.10 USD/kWh",
    "tariffs.electricity_demand": "10 USD/kW/month",
    "tariffs.cooling": None,
}


@pytest.mark.parametrize("factor", [1.0, 1.5])
def test_each_use_pays_for_its_energy_and_its_part_of_the_peak(factor):
    of = case(PRESENT, NEW, AIR, changes={**PRICED, "tariffs.electricity_factor": f"{100 * factor} %"})
    for option in compare(of).options:
        of_year = option.year
        uses = [key for key in of_year.energy if key[1] in ("electricity", "compressed air")]
        assert len(uses) >= 2
        peaks = {key: float(of_year.peak[key].sum()) / 1e3 for key in uses}  # twelve months of kW
        demand = 10.0 * float(of_year.most(("electricity", "compressed air")).sum()) / 1e3
        by_hand = {}
        for key in uses:
            energy = 0.10 * float(of_year.energy[key].sum()) / KWH
            cost = factor * (energy + demand * peaks[key] / sum(peaks.values()))
            by_hand[key[0]] = by_hand.get(key[0], 0.0) + cost
        for use, cost in by_hand.items():
            told = option.cost_by_end_use[use]
            if use == "compressed air":
                told -= option.annual_cost["maintenance"] - float(option.option.maintenance)  # of the compressor
            assert told == pytest.approx(cost, rel=1e-9), (option.name, use)


CLIMATE = {"site.climate": "temperate", "site.hall_temperature": None, "site.hall_dew_point": None}
HALL = {"heating_months": "5", "heating_efficiency": "0.8", "usable_share": "50 %", "heating_carrier": "gas",
        "cooling_months": "3", "cooling_performance": "3"}  # fmt: skip


def test_heat_in_the_hall_saves_gas_in_winter_and_costs_electricity_in_summer():
    """By hand: five months at half of the heat over 0.8, three months at a third of it; both stand on the bill."""
    shared = {**CLIMATE, **PRICED, "tariffs.gas": "0.05 USD/kWh"}
    off, on = (compare(case(PRESENT, NEW, changes={**shared, **more})) for more in ({}, {"building": HALL}))
    for option in on.options:
        left = ("resin", "evaporated water", "aftercooler", "flue gas", "compressor house")
        to_hall = sum(heat for name, heat in option.year.heat_out.items() if name not in left)
        warmth = sample_climate("temperate", pressure=99_500.0).outdoor_temperature.argsort()
        saved = 0.05 * float(to_hall[warmth[:5]].sum()) * 0.5 / 0.8 / KWH
        added = 0.10 * float(to_hall[warmth[-3:]].sum()) / 3.0 / KWH
        before = off.option(option.name)
        assert before.annual_cost["gas"] - option.annual_cost["gas"] == pytest.approx(saved, rel=1e-9)
        rise = option.annual_cost["electricity"] - before.annual_cost["electricity"]
        assert rise == pytest.approx(added, rel=1e-9)
        assert option.cost_by_end_use["hall"] == pytest.approx(added - saved, rel=1e-9)
        lines = {line.line: line.amount for line in option.bill}
        assert lines["Hall heating saved"] == pytest.approx(-saved, rel=1e-9)
        assert lines["Hall cooling added"] == pytest.approx(added, rel=1e-9)


def test_water_of_a_tower_and_upkeep_are_uses_of_their_own():
    tower = {"medium": "tower water", "tower_fan_share": "0 %", "pump_share": "0 %"}
    changes = {
        **CLIMATE,
        **PRICED,
        "cooling": tower,
        "tariffs.water": "4 USD/m3",
        f"options['{NEW}'].maintenance": "700 USD/year",
    }
    option = compare(case(PRESENT, NEW, changes=changes)).option(NEW)
    water = 4.0 * float(option.year.water.sum())
    assert water > 1.0
    assert {line.line: line.amount for line in option.bill}["Water for the cooling tower"] == pytest.approx(water)
    assert option.cost_by_end_use["cooling"] == pytest.approx(water, rel=1e-9)
    assert option.cost_by_end_use["maintenance"] == pytest.approx(700.0)


@pytest.mark.parametrize("factor", [1.0, 1.5])
def test_the_fixed_charge_of_water_is_paid_without_the_tower(factor):
    """By hand: 50 USD a month whatever is drawn, 4 USD for each cubic metre; only these are the tower's."""
    water = {
        "name": "Water",
        "commodity": "water",
        "currency": "USD",
        "source": "invented",
        "charges": [
            {"type": "fixed", "id": "f", "label": "Meter", "clause": "1", "source": "invented", "per_month": "50 USD"},
            {
                "type": "volume-flat",
                "id": "v",
                "label": "Water",
                "clause": "2",
                "source": "invented",
                "price": "4 USD/m3",
            },
        ],
    }
    changes = {
        **CLIMATE,
        **PRICED,
        "cooling": {"medium": "tower water"},
        "own_tariffs": [water],
        "tariffs.water": "Water",
    }
    of = case(PRESENT, NEW, changes={**changes, "tariffs.water_factor": f"{100 * factor} %"})
    option = compare(of).option(NEW)
    assert option.annual_cost["water"] == pytest.approx(factor * 4.0 * float(option.year.water.sum()), rel=1e-9)
    assert option.annual_cost["water"] > 1.0
    chilled = {"cooling": {"medium": "chilled water", "condenser": "outdoor air"}}
    dry = compare(of.with_(chilled)).option(NEW)
    assert dry.annual_cost["water"] == 0.0
    assert "Water for the cooling tower" not in {line.line for line in dry.bill}
