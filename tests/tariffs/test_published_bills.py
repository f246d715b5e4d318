"""Bills printed or prescribed by sources outside the project, on tariffs of every kind."""

from __future__ import annotations

import numpy as np
import pytest
from tariff_samples import KWH, in_june, tariff_of

from energy.tariffs import Load, bill

DEMAND = {"type": "demand-flat", "id": "demand", "price": "1 USD/kW"}


def june(rate, history=None, **quantities):
    """June's bill of a load that is there in June only; power factors hold all year."""
    factor = quantities.pop("power_factor", None)
    fields = {key: in_june(value) for key, value in quantities.items()}
    if factor is not None:
        fields["power_factor"] = np.full(12, factor)
    return bill(rate, Load(**fields), history).of_month(6)


def billed(power, factor, **rule):
    """Billed demand in kW under a power-factor rule."""
    (line,) = june(tariff_of({**DEMAND, "power_factor": rule}), peak=power, power_factor=factor).lines
    return line.quantity


@pytest.mark.published(
    "Teaching sheet on variable block pricing",
    where="550 kW, 160 000 kWh, first 200 kWh/kW at 0.07, rest at 0.04: 7700 + 2000",
    quoted="read in reference table",
)
def test_hours_use_blocks():
    rate = tariff_of(
        {**DEMAND, "price": "0 USD/kW"},
        {
            "type": "hours-use-blocks",
            "id": "energy",
            "demand": "demand",
            "blocks": [{"up_to": "200 h", "price": "0.07 USD/kWh"}, {"price": "0.04 USD/kWh"}],
        },
    )
    made = june(rate, energy=160_000 * KWH, peak=550e3)
    assert [line.amount for line in made.lines if line.charge == "energy"] == pytest.approx([7700, 2000], rel=1e-12)


@pytest.mark.published(
    "Kimberly, Electrical Engineering",
    where="ex. 14-2: 6400 kWh, 50.6 kW, 126.5 h use, 0.0375, 12 % discount",
    quoted="read in reference table",
)
def test_discount_after_hours_use():
    rate = tariff_of(
        {**DEMAND, "price": "0 USD/kW"},
        {
            "type": "hours-use-blocks",
            "id": "energy",
            "demand": "demand",
            "blocks": [{"up_to": "126.5 h", "price": "0.0375 USD/kWh"}, {"price": "9 USD/kWh"}],
        },
        {"type": "discount", "id": "discount", "share": "12 %", "of": ["energy"]},
    )
    made = june(rate, energy=6400 * KWH, peak=50.6e3).by_charge()
    assert made["energy"] == pytest.approx(240.00, abs=0.005)
    assert made["energy"] + made["discount"] == pytest.approx(211.20, abs=0.005)


@pytest.mark.published(
    "Utility page on power factor",
    where="1000 kW, 750 kvar, a third of kW free, 0.40 per kvar: printed 166.68 after rounding 416.7",
    quoted="read in reference table",
)
def test_reactive_demand_above_a_free_share():
    third = {"free_share": f"{100 / 3!r} %"}
    rate = tariff_of({"type": "reactive-demand", "id": "kvar", "price": "0.40 USD/kvar", **third})
    (line,) = june(rate, energy=1000 * KWH, peak=1e6, apparent_peak=1.25e6).lines
    assert (line.unit, line.quantity) == ("kvar", pytest.approx(416.7, abs=0.05))
    assert line.amount == pytest.approx(166.67, abs=0.005)
    (line,) = june(rate, energy=1000 * KWH, peak=1e6, power_factor=0.8).lines
    assert line.amount == pytest.approx(166.67, abs=0.005)


@pytest.mark.published(
    "Article on power factor",
    where="4855.68 kW at 0.7997333: 95 % of kVA = 5768.04, excess 912.36 kW",
    quoted="read in reference table",
)
def test_share_of_apparent_power():
    demand = billed(4855.68e3, 0.7997333, rule="share-of-apparent", target="95 %")
    assert demand == pytest.approx(5768.04, abs=0.005)
    assert demand - 4855.68 == pytest.approx(912.36, abs=0.005)


@pytest.mark.published(
    "Article on power factor",
    where="800 kW at 0.8, target 0.9, 10 per kW: billed 900 kW, extra 1000",
    quoted="read in reference table",
)
def test_target_over_power_factor():
    assert billed(800e3, 0.8, rule="target-over-factor", target="90 %") == pytest.approx(900, rel=1e-12)
    assert billed(800e3, 0.95, rule="target-over-factor", target="90 %") == pytest.approx(800, rel=1e-12)


@pytest.mark.published(
    "Posted large general service tariff",
    where="100 + 0.04362/kWh + 17.25/kW, kW x (1 + (0.90 - PF)); 900 kW, 400 000 kWh, PF 0.84",
    quoted="tariff read, bill computed, in reference table",
)
def test_demand_raised_by_the_missing_power_factor():
    rate = tariff_of(
        {"type": "fixed", "id": "customer", "per_month": "100 USD"},
        {"type": "energy-flat", "id": "energy", "price": "0.04362 USD/kWh"},
        {
            **DEMAND,
            "price": "17.25 USD/kW",
            "power_factor": {"rule": "added-per-point", "target": "90 %"},
        },
    )
    total = june(rate, energy=400_000 * KWH, peak=900e3, power_factor=0.84).total
    assert total == pytest.approx(34_004.50, abs=0.005)


@pytest.mark.published(
    "Posted industrial tariff",
    where="275 + 10/kW, 200/200/over h at 0.077/0.051/0.044, +2 % kW per 1 % under 95 %; 250 kW, PF 0.91, 120 000 kWh",
    quoted="tariff read, bill computed, in reference table",
)
@pytest.mark.parametrize(("counted", "total"), [("billed", 10_415.00), ("measured", 10_255.00)])
def test_blocks_by_adjusted_or_by_metered_demand(counted, total):
    rate = tariff_of(
        {"type": "fixed", "id": "customer", "per_month": "275 USD"},
        {
            **DEMAND,
            "price": "10 USD/kW",
            "power_factor": {"rule": "added-per-point", "target": "95 %", "added": 2, "whole_points": True},
        },
        {
            "type": "hours-use-blocks",
            "id": "energy",
            "demand": "demand",
            "counted": counted,
            "blocks": [
                {"up_to": "200 h", "price": "0.077 USD/kWh"},
                {"up_to": "400 h", "price": "0.051 USD/kWh"},
                {"price": "0.044 USD/kWh"},
            ],
        },
    )
    made = june(rate, energy=120_000 * KWH, peak=250e3, power_factor=0.91)
    assert next(line.quantity for line in made.lines if line.charge == "demand") == pytest.approx(270, rel=1e-12)
    assert made.total == pytest.approx(total, abs=0.005)


@pytest.mark.published(
    "Posted large power rate",
    where="150 + 0.0291/kWh + (3.79 + 1.09 + 1.40)/kW, credit 0.005/kW per whole hour over 365; 1800 kW, 900 000 kWh",
    quoted="tariff read, bill computed, in reference table",
)
def test_load_factor_credit():
    rate = tariff_of(
        {"type": "fixed", "id": "customer", "per_month": "150 USD"},
        {"type": "energy-flat", "id": "energy", "price": "0.0291 USD/kWh"},
        {**DEMAND, "price": "3.79 USD/kW"},
        {**DEMAND, "id": "transmission", "price": "1.09 USD/kW"},
        {**DEMAND, "id": "distribution", "price": "1.40 USD/kW"},
        {"type": "load-factor-credit", "id": "credit", "price": "0.005 USD/kW", "over": "365 h", "demand": "demand"},
    )
    made = june(rate, energy=900_000 * KWH, peak=1800e3)
    assert made.by_charge()["credit"] == pytest.approx(-1800 * 135 * 0.005, rel=1e-12)
    assert made.total == pytest.approx(36_429.00, abs=0.005)


@pytest.mark.published(
    "Slides of a municipal advisory service on electric bills",
    where="first 50 kW free: 59.7 kW billed of 109.7; first 15 000 kWh and 20 080 more; 85 % of kVA at PF 84.4 %",
    quoted="read in reference table",
)
def test_free_demand_and_blocks_of_energy():
    rate = tariff_of(
        {**DEMAND, "free": "50 kW", "power_factor": {"rule": "share-of-apparent", "target": "85 %"}},
        {
            "type": "energy-blocks",
            "id": "energy",
            "blocks": [{"up_to": "15000 kWh", "price": "0.1 USD/kWh"}, {"price": "0.05 USD/kWh"}],
        },
    )
    demand, first, rest = june(rate, energy=35_080 * KWH, peak=109.7e3, power_factor=0.85).lines
    assert demand.quantity == pytest.approx(59.7, abs=1e-9)
    assert (first.quantity, rest.quantity) == (pytest.approx(15_000), pytest.approx(20_080))
    # At a power factor of 84.4 % the rule bites: 0.85 / 0.844 x 109.7 = 110.480 kW.
    assert june(rate, energy=1.0, peak=109.7e3, power_factor=0.844).lines[0].quantity == pytest.approx(60.480, abs=5e-4)


@pytest.mark.published(
    "Primer on gas billing", where="37 ccf x 1.085 = 40 therm (40.145)", quoted="read in reference table"
)
def test_gas_metered_in_hundreds_of_cubic_feet():
    rate = tariff_of(
        {"type": "energy-flat", "id": "gas", "price": "1 USD/therm"},
        commodity="gas",
        gas={"heating_value": "1.085 therm/ccf"},
    )
    (line,) = june(rate, volume=37 * 100 * 0.3048**3).lines
    assert (line.unit, line.quantity) == ("therm", pytest.approx(40.145, abs=5e-4))


@pytest.mark.published(
    "Guide to gas bills",
    where="100 m3 x 1.02264 x 39.3 / 3.6 = 1116.382 kWh; 100 hundred cubic feet 3161.242 kWh with the exact foot",
    quoted="read in reference table; the second computed there",
)
@pytest.mark.parametrize(("volume", "kwh"), [(100.0, 1116.382), (100 * 2.831685, 3161.242)])
def test_gas_metered_in_cubic_metres(volume, kwh):
    rate = tariff_of(
        {"type": "energy-flat", "id": "gas", "price": "0.05 USD/kWh"},
        {"type": "volume-flat", "id": "network", "price": "0.02 USD/m3"},
        commodity="gas",
        gas={"heating_value": "39.3 MJ/m3", "volume_factor": 1.02264},
    )
    gas, network = june(rate, volume=volume).lines
    assert gas.quantity == pytest.approx(kwh, abs=1e-3)
    # The other way round: energy known, the meter's volume billed.
    assert june(rate, energy=gas.quantity * KWH).lines[1].quantity == pytest.approx(volume, rel=1e-12)
    assert network.quantity == volume


@pytest.mark.published(
    "Frequently asked questions of a national laboratory on demand ratchets",
    where="80 % of the highest of the previous 11 months: 1000 kW bills 800 kW",
    quoted="read in reference table",
)
def test_ratchet_of_the_eleven_months_before():
    rate = tariff_of({**DEMAND, "ratchet": {"share": "80 %", "months_back": 11}})
    peak = np.full(12, 300e3)
    peak[2] = 1000e3
    first = [line.quantity for line in bill(rate, Load(peak=peak), np.full(12, 300e3)).lines]
    assert first == pytest.approx([300, 300, 1000, *[800] * 9])
    steady = [line.quantity for line in bill(rate, Load(peak=peak), "steady").lines]
    assert steady == pytest.approx([800, 800, 1000, *[800] * 9])
    # April looks back on the eleven months from May of the year before: its March of the year before is forgotten.
    later = [line.quantity for line in bill(rate, Load(peak=np.full(12, 300e3)), peak).lines]
    assert later == pytest.approx([800, 800, *[300] * 10])
    limited = tariff_of({**DEMAND, "ratchet": {"share": "80 %", "peaks_of": [6, 7], "applies_in": [8]}})
    peak[6] = 700e3
    quantities = [line.quantity for line in bill(limited, Load(peak=peak), "steady").lines]
    assert quantities == pytest.approx([300, 300, 1000, 300, 300, 300, 700, 560, 300, 300, 300, 300])


@pytest.mark.common_practice("arithmetic by hand on the rules as the reference table words them")
def test_floors_rounding_tiers_losses_and_minimum():
    rate = tariff_of(
        {
            **DEMAND,
            "price": "2 USD/kW",
            "floor": {"contract": "500 kW", "share": "60 %", "minimum": "50 kW", "months": [6]},
        },
        {
            "type": "demand-blocks",
            "id": "tiers",
            "rounding": "1 kW",
            "round_to": "up",
            "blocks": [{"up_to": "100 kW", "price": "5 USD/kW"}, {"price": "3 USD/kW"}],
        },
        {"type": "minimum-bill", "id": "minimum", "price": "9 USD/kW", "demand": "demand", "of": ["demand", "tiers"]},
        losses={"energy": "1 %", "demand": "2 %"},
    )
    load = Load(peak=np.full(12, 120e3), energy=np.ones(12))
    made = bill(rate, load)
    # June: 60 % of 500 = 300 kW x 2; 120 kW x 1.02 = 122.4 -> 123 kW: 100 x 5 + 23 x 3; minimum 9 x 300 = 2700.
    assert made.of_month(6).by_charge() == pytest.approx({"demand": 600, "tiers": 569, "minimum": 2700 - 600 - 569})
    # July: 122.4 kW x 2 = 244.80 and 569 against 9 x 122.4 = 1101.60.
    assert made.of_month(7).by_charge() == pytest.approx({"demand": 244.8, "tiers": 569, "minimum": 287.8})


def test_a_price_that_changes_in_the_month_is_charged_by_days():
    rate = tariff_of(
        {"type": "energy-flat", "id": "old", "price": "0.10 USD/kWh", "valid_to": "2026-06-10"},
        {"type": "energy-flat", "id": "new", "price": "0.13 USD/kWh", "valid_from": "2026-06-11"},
    )
    made = bill(rate, Load(energy=np.full(12, 3000 * KWH), year=2026))
    # 3000 kWh over 30 days: 1000 kWh x 0.10 + 2000 kWh x 0.13.
    assert made.of_month(6).total == pytest.approx(100 + 260)
    assert [line.charge for line in made.of_month(5).lines] == ["old"]
    assert [line.charge for line in made.of_month(7).lines] == ["new"]


def test_rounding_is_half_up_and_taxes_follow_the_rounded_lines():
    rate = tariff_of(
        {"type": "energy-flat", "id": "energy", "price": "0.005 USD/kWh"},
        {"type": "tax-percent", "id": "tax", "share": "50 %", "of": ["energy"]},
    )
    made = bill(rate, Load(energy=in_june(3 * KWH)), rounded=True).of_month(6)
    # 3 kWh x 0.005 = 0.015 -> 0.02; half of 0.02 = 0.01, where half of 0.015 would be 0.0075.
    assert [str(line.amount) for line in made.lines] == ["0.02", "0.01"]
    assert str(made.total) == "0.03"
