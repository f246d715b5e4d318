"""Bills against published ones, the worked bills of the examples, and the load record."""

from __future__ import annotations

import numpy as np
import pytest
from tariff_samples import KWH, in_june, tariff_of, worked_load

from energy.errors import OutOfRangeError
from energy.tariffs import Load, bill, demo_tariffs, load_tariff, simple_tariff
from energy.units import parse


@pytest.mark.published(
    "Energy Management Handbook (Turner), ch. 18",
    where="sec. 18.5.1, June bill",
    quoted="read in reference table",
)
def test_handbook_bill_line_by_line():
    rate = tariff_of(
        {"type": "fixed", "id": "customer", "per_month": "3.74 USD"},
        {"type": "energy-flat", "id": "energy", "price": "0.09444 USD/kWh"},
        {"type": "rider-per-energy", "id": "fuel", "price": "-0.017192 USD/kWh"},
        # The source prints the demand line only: 262.34 for 30 kW.
        {"type": "demand-flat", "id": "demand", "price": "8.744667 USD/kW"},
    )
    june = bill(rate, Load(energy=in_june(17_588 * KWH), peak=in_june(30e3))).of_month(6)
    printed = {"customer": 3.74, "energy": 1661.01, "fuel": -302.37, "demand": 262.34}
    for line in june.lines:
        assert line.amount == pytest.approx(printed[line.charge], abs=0.006)
    assert june.total == pytest.approx(1624.72, abs=0.006)


@pytest.mark.published(
    "Tutorial on writing utility rates in a public rate database",
    where="first example: 12 a month + 500 kWh at 0.10",
    quoted="read in reference table",
)
def test_tutorial_bill():
    rate = tariff_of(
        {"type": "fixed", "id": "fixed", "per_month": "12 USD"},
        {"type": "energy-flat", "id": "energy", "price": "0.10 USD/kWh"},
    )
    assert bill(rate, Load(energy=in_june(500 * KWH))).of_month(6).total == pytest.approx(62.00, abs=1e-9)


@pytest.mark.published(
    "Public compressed-air formula page",
    where="50 hp, 2080 h, 0.06 per kWh, efficiency 0.90: printed 5172.26",
    quoted="read in reference table",
)
def test_cost_of_a_compressor():
    energy = 50 * 746.0 * 2080 * 3600 / 0.90  # the page takes 0.746 kW for a horsepower
    one_price = simple_tariff("electricity", "USD", parse("0.06 USD/kWh", "price per energy"))
    total = bill(one_price, Load(energy=np.full(12, energy / 12))).total
    assert total == pytest.approx(5172.267, abs=0.001)
    assert total == pytest.approx(5172.26, abs=0.01)  # cut off there, not rounded


@pytest.mark.published(
    "Guide to gas bills",
    where="100 m3 x 1.02264 x 39.3 MJ/m3 / 3.6 = 1116.382 kWh",
    quoted="read in reference table",
)
def test_gas_counted_in_kilowatt_hours():
    rate = tariff_of({"type": "energy-flat", "id": "gas", "price": "0.05 USD/kWh"}, commodity="gas")
    (line,) = bill(rate, Load(energy=in_june(100 * 1.02264 * 39.3e6))).of_month(6).lines
    assert (line.unit, line.quantity) == ("kWh", pytest.approx(1116.382, abs=6e-4))


@pytest.mark.published(
    "NIST SP 811 (2008), appendix B.8",
    where="therm and Btu, International Table",
    quoted="computed with pint",
)
@pytest.mark.parametrize(
    ("price", "unit", "kwh"),
    [
        ("0.9 USD/therm", "therm", 29.30711),
        ("9 USD per MMBtu", "MMBtu", 293.0711),
        ("0.03 USD/kWh", "kWh", 1.0),
    ],
)
def test_a_line_is_counted_in_the_unit_its_price_is_written_in(price, unit, kwh):
    rate = tariff_of({"type": "energy-flat", "id": "gas", "price": price}, commodity="gas")
    (line,) = bill(rate, Load(energy=in_june(1000 * kwh * KWH))).of_month(6).lines
    assert line.unit == unit
    assert line.quantity == pytest.approx(1000, rel=2e-7)  # seven digits are printed
    assert line.rate == pytest.approx(float(price.split()[0]), rel=1e-12)


def test_demand_per_year_is_shown_per_month():
    rate = tariff_of({"type": "demand-flat", "id": "demand", "price": "156 USD/kW/year"})
    (line,) = bill(rate, Load(peak=in_june(200e3))).of_month(6).lines
    assert (line.unit, line.quantity, line.rate) == ("kW", pytest.approx(200), pytest.approx(13))


def test_water_priced_per_many_gallons_is_counted_in_cubic_metres():
    rate = tariff_of({"type": "volume-flat", "id": "water", "price": "12 USD/1000 gal"}, commodity="water")
    (line,) = bill(rate, Load(volume=in_june(3.785411784))).of_month(6).lines
    assert line.unit == "m3"
    assert line.amount == pytest.approx(12, rel=1e-9)


def test_tax_on_tax_follows_the_order_of_the_file():
    rate = tariff_of(
        {"type": "fixed", "id": "customer", "per_month": "100 USD"},
        {"type": "energy-flat", "id": "energy", "price": "0.10 USD/kWh"},
        {"type": "tax-percent", "id": "city", "share": "10 %", "of": ["energy"]},
        {"type": "tax-percent", "id": "state", "share": "5 %", "of": ["energy", "city"]},
    )
    june = bill(rate, Load(energy=in_june(2000 * KWH))).of_month(6)
    assert june.by_label() == pytest.approx({"customer": 100, "energy": 200, "city": 20, "state": 11})
    tax = june.lines[-1]
    assert (tax.unit, tax.quantity, tax.rate) == ("USD", pytest.approx(220), pytest.approx(0.05))


def test_a_saving_is_worth_the_difference_of_two_bills_not_the_average_price():
    rate = load_tariff("flat-electricity")
    full = bill(rate, Load(energy=np.full(12, 100_000 * KWH), peak=np.full(12, 250e3)))
    saved = bill(rate, Load(energy=np.full(12, 90_000 * KWH), peak=np.full(12, 250e3)))
    # By hand: 10,000 kWh x 0.115 a month; the peak has not changed. The average price would claim 1,484.
    assert full.total - saved.total == pytest.approx(12 * 1150)


@pytest.mark.parametrize("name", demo_tariffs())
def test_worked_bill_of_each_example(name):
    rate = load_tariff(name)
    worked = rate.worked
    assert worked is not None
    june = bill(rate, worked_load(rate), "steady").of_month(worked.month)
    assert june.by_charge() == pytest.approx(worked.lines, rel=1e-12)
    assert june.total == pytest.approx(worked.total, rel=1e-12)
    assert june.currency == rate.currency
    printed = bill(rate, worked_load(rate), "steady", rounded=True).of_month(worked.month)
    assert float(printed.total) == pytest.approx(worked.total, abs=0.005)


@pytest.mark.common_practice("arithmetic done by hand from the prices in the files' comments")
def test_worked_bills_are_those_of_the_comments():
    totals = {name: load_tariff(name).worked.total for name in demo_tariffs()}
    assert totals == pytest.approx(
        {
            "apparent-power-electricity": 0.97 * (2_940 + 2_750) * 1.04 + 140 * 1.04,
            "block-gas": 120 + 3_600 + 6_100 + 720 + 79.59 * 25,
            "flat-cooling": 20_000 * 0.03,
            "flat-electricity": 90 + 11_500 + 3_250,
            "flat-gas": 60 + 10_200,
            "flat-water": 25 + 480 + 615 + 54.75,
            "hours-use-electricity": 180 + 2_565 + 5_076 + 2_806 - 300,
            "time-of-use-electricity": 250 + (1_485 + 2_418 + 1_680 + 900) * 1.06,
        }
    )


def test_amounts_of_a_single_load_are_plain_numbers():
    made = bill(load_tariff("flat-electricity"), Load(energy=np.ones(12), peak=np.ones(12)))
    assert {type(line.amount) for line in made.lines} == {float}
    assert type(made.total) is float


@pytest.mark.parametrize(
    ("fields", "words"),
    [
        ({"energy": np.ones(11)}, "last axis must be 12 months"),
        ({"peak": 5.0}, "peak power of a load has shape"),
        ({"volume": [*np.ones(11), -1.0]}, "volume of a load = -1 must be 0 or more"),
    ],
)
def test_impossible_loads_are_refused(fields, words):
    with pytest.raises(OutOfRangeError, match=words):
        Load(**fields)


def test_unknown_quantities_stay_unknown():
    energy = np.ones(12)
    energy[3] = np.nan
    assert np.isnan(bill(simple_tariff("electricity", "USD", 1e-8), Load(energy=energy)).total)


@pytest.mark.parametrize("price", ["1e30 USD/kWh", "1e-300 USD/kWh"])
def test_an_amount_that_has_no_cents_is_refused(price):
    rate = tariff_of({"type": "energy-flat", "id": "energy", "price": price})
    load = Load(energy=in_june(500 * KWH))
    if price == "1e-300 USD/kWh":
        assert bill(rate, load, rounded=True).total == 0
        return
    with pytest.raises(OutOfRangeError, match=r"comes to 5e\+32, which no bill does; check the prices"):
        bill(rate, load, rounded=True)
