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
        assert {line.clause for line in option.bill if line.line.startswith("Hall ")} == {"building"}


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


def own_tariff(commodity, **charges):
    """Charges by type and price; each has its type for its line, and its place for its clause."""
    listed = [
        {
            "type": kind.replace("_", "-"),
            "id": f"c{i}",
            "label": f"Own {kind}",
            "clause": f"§ {i}",
            "source": "invented",
            **more,
        }
        for i, (kind, more) in enumerate(charges.items(), 1)
    ]
    return {
        "name": f"Own {commodity}",
        "commodity": commodity,
        "currency": "USD",
        "source": "invented",
        "charges": listed,
    }


ENERGY, DEMAND = {"price": "0.06 USD/kWh"}, {"price": "10 USD/kW/month"}


def test_every_line_of_the_bill_counts_the_factor_on_its_price():
    """By hand: kilowatt-hours times a price and kilowatts times another, by one and a half; each with its own words."""
    own = own_tariff("electricity", energy_flat=ENERGY, demand_flat=DEMAND)
    changes = {**PRICED, "own_tariffs": [own], "tariffs.electricity": own["name"], "tariffs.electricity_demand": None}
    for option in compare(case(PRESENT, NEW, changes={**changes, "tariffs.electricity_factor": "150 %"})).options:
        energy = sum(float(v.sum()) for (_, carrier), v in option.year.energy.items() if carrier == "electricity") / KWH
        peaks = float(option.year.most(("electricity",)).sum()) / 1e3
        bill = {(line.line, line.clause): line.amount for line in option.bill}
        assert bill == {
            ("Own energy_flat", "§ 1"): pytest.approx(1.5 * 0.06 * energy, rel=1e-9),
            ("Own demand_flat", "§ 2"): pytest.approx(1.5 * 10.0 * peaks, rel=1e-9),
        }
        assert option.annual_cost["electricity"] == pytest.approx(sum(bill.values()), rel=1e-9)


@pytest.mark.parametrize("prices", [(), (0.06, 0.04)])
def test_uses_share_all_charges_for_energy_and_those_for_demand(prices):
    """By hand, as above: with no charge for energy at all the peaks share the whole bill; several are one price."""
    own = own_tariff("electricity", demand_flat=DEMAND)
    more = [own_tariff("electricity", energy_flat={"price": f"{price} USD/kWh"})["charges"][0] for price in prices]
    own["charges"] += [{**charge, "id": f"e{i}", "clause": f"§ 1{i}"} for i, charge in enumerate(more)]
    changes = {**PRICED, "own_tariffs": [own], "tariffs.electricity": own["name"], "tariffs.electricity_demand": None}
    for option in compare(case(PRESENT, NEW, changes=changes)).options:
        of_year = option.year
        uses = [key for key in of_year.energy if key[1] == "electricity"]
        demand = 10.0 * float(of_year.most(("electricity",)).sum()) / 1e3
        peaks = {key: float(of_year.peak[key].sum()) for key in uses}
        for key in uses:
            energy = sum(prices) * float(of_year.energy[key].sum()) / KWH
            cost = energy + demand * peaks[key] / sum(peaks.values())
            assert option.cost_by_end_use[key[0]] == pytest.approx(cost, rel=1e-9), (option.name, key)


def test_gas_by_volume_and_by_its_highest_day_is_shared_like_energy_and_peaks():
    """By hand: 0.40 USD for each cubic metre of 36 MJ goes by the energy of heater and regeneration, the rest by their peaks."""
    own = own_tariff("gas", volume_flat={"price": "0.40 USD/m3"}, capacity={"price": "0.5 USD/kWh"})
    own |= {"gas": {"heating_value": "36 MJ/m3"}}
    fired = {f"options['{NEW}'].inputs.{key}": "gas" for key in ("heat_source", "regeneration_heat_source")}
    option = compare(
        case(PRESENT, NEW, changes={**PRICED, **fired, "own_tariffs": [own], "tariffs.gas": own["name"]})
    ).option(NEW)
    uses = [key for key in option.year.energy if key[1] == "gas"]
    assert len(uses) == 2
    energy, peak = ({key[0]: float(of[key].sum()) for key in uses} for of in (option.year.energy, option.year.peak))
    by_volume = 0.40 * sum(energy.values()) / 36e6
    by_day = option.annual_cost["gas"] - by_volume
    assert by_day > 10.0
    for use, burnt in energy.items():
        cost = by_volume * burnt / sum(energy.values()) + by_day * peak[use] / sum(peak.values())
        assert peak[use] / sum(peak.values()) != pytest.approx(burnt / sum(energy.values()), rel=1e-3)
        assert option.cost_by_end_use[use] == pytest.approx(cost, rel=1e-9), use


def test_upkeep_of_the_compressors_goes_by_the_air_sent():
    """By hand: a quarter of a cent for each cubic metre, beside the dryer's own upkeep; a dryer without air pays none."""
    changes = {**PRICED, "compressed_air.maintenance": "0.0025 USD/m3"}
    compared = compare(case(PRESENT, AIR, changes={**changes, f"options['{AIR}'].maintenance": "300 USD/year"}))
    option, present = compared.option(AIR), compared.option(PRESENT)
    sent = float(option.year.free_air.sum())
    assert sent > 1e5
    assert option.annual_cost["maintenance"] == pytest.approx(300.0 + 0.0025 * sent, rel=1e-9)
    assert option.cost_by_end_use["maintenance"] == pytest.approx(300.0)
    assert sum(option.cost_by_end_use.values()) == pytest.approx(option.total_cost, rel=1e-12)
    assert present.annual_cost["maintenance"] == float(present.option.maintenance)
    assert "compressed air" not in present.cost_by_end_use


def test_where_the_cost_of_air_is_known_the_bill_has_the_other_electricity_alone():
    """By hand: 0.02 USD for each cubic metre, and for all but the air 0.10 a kilowatt-hour and 10 a kilowatt; 0.03 for heat to the water."""
    known = {f"compressed_air.{key}": None for key in ("specific_power", "control", "maintenance")}
    changes = {**PRICED, **known, "compressed_air.cost": "0.02 USD/m3", "tariffs.cooling": "0.03 USD/kWh"}
    for option in compare(case(PRESENT, AIR, changes=changes)).options:
        energy = sum(float(v.sum()) for (_, carrier), v in option.year.energy.items() if carrier == "electricity") / KWH
        peaks = float(option.year.most(("electricity",)).sum()) / 1e3
        heat = sum(float(v.sum()) for (_, carrier), v in option.year.energy.items() if carrier == "cooling") / KWH
        air = 0.02 * float(option.year.free_air.sum())
        assert (air > 1000.0, heat > 1000.0) == (option.name == AIR, option.name == PRESENT)
        assert option.annual_cost["electricity"] == pytest.approx(0.10 * energy + 10.0 * peaks + air, rel=1e-9)
        assert option.annual_cost["water"] == pytest.approx(0.03 * heat, rel=1e-9)
        assert [line.amount for line in option.bill if line.clause == "compressed_air.cost"] == ([air] if air else [])
