"""What a saving is worth on a tariff: first year and steady state, by line, against the average price."""

from __future__ import annotations

import numpy as np
import pytest
from tariff_samples import KWH, tariff_of

from energy.errors import EnergyError
from energy.tariffs import Load, load_tariff, saving

RATE = tariff_of(
    {"type": "fixed", "id": "customer", "per_month": "500 USD"},
    {"type": "energy-flat", "id": "energy", "price": "0.08 USD/kWh"},
    {"type": "demand-flat", "id": "demand", "price": "10 USD/kW", "ratchet": {"share": "80 %"}},
    {"type": "tax-percent", "id": "tax", "share": "5 %", "of": ["energy", "demand"]},
)
BEFORE = Load(energy=np.full(12, 100_000 * KWH), peak=np.full(12, 400e3))
AFTER = Load(energy=np.full(12, 90_000 * KWH), peak=np.full(12, 300e3))


@pytest.mark.common_practice("arithmetic by hand")
def test_first_year_and_steady_state_line_by_line():
    made = saving(RATE, BEFORE, AFTER)
    by_charge = {line.charge: (line.first_year, line.steady) for line in made.lines}
    # Energy 10,000 kWh x 0.08 x 12 = 9,600. Demand: steady 100 kW x 10 x 12 = 12,000; in the first year the ratchet
    # of 80 % of 400 = 320 kW holds for the eleven months that look back on the year before, and the twelfth pays for
    # its own 300 kW: 11 x 80 x 10 + 100 x 10 = 9,800.
    assert by_charge["customer"] == (0, 0)
    assert by_charge["energy"] == pytest.approx((9_600, 9_600))
    assert by_charge["demand"] == pytest.approx((9_800, 12_000))
    assert by_charge["tax"] == pytest.approx((970, 1_080))
    assert (made.first_year, made.steady) == pytest.approx((20_370, 22_680))
    assert made.demand_realised() == pytest.approx(1.0)
    assert made.demand_realised("first_year") == pytest.approx(9_800 / 12_000)


def test_the_average_price_is_set_against_the_saving():
    made = saving(RATE, BEFORE, Load(energy=AFTER.energy, peak=BEFORE.peak), power_saved=np.full(12, 100e3))
    # Bill before: 12 x (500 + 1.05 x (8,000 + 4,000)) = 157,200, so 0.131 a kWh, times 120,000 kWh = 15,720;
    # saved are 1.05 x 9,600 = 10,080, for no kW fell at the peak.
    assert made.steady == pytest.approx(10_080)
    assert made.average_estimate == pytest.approx(15_720)
    assert made.average_error == pytest.approx(15_720 / 10_080 - 1)
    assert made.average_misleads
    assert made.demand_realised() == 0.0
    assert made.demand_possible == pytest.approx(12_000)


@pytest.mark.published(
    "Case of an air compressor in a public guide",
    where="416 088 / 3 422 957 kWh = 0.1216 used for a load whose peak kW did not change",
    quoted="read in reference table",
)
def test_average_price_of_a_read_case():
    # Only the mean price is printed; here 30 % of the bill is demand.
    kwh, amount = 3_422_957, 416_088
    rate = tariff_of(
        {"type": "energy-flat", "id": "energy", "price": f"{0.7 * amount / kwh!r} USD/kWh"},
        {"type": "demand-flat", "id": "demand", "price": f"{0.3 * amount / 12 / 500!r} USD/kW"},
    )
    before = Load(energy=np.full(12, kwh / 12 * KWH), peak=np.full(12, 500e3))
    after = Load(energy=before.energy - np.full(12, 1000 * KWH), peak=before.peak)
    made = saving(rate, before, after)
    assert made.average_estimate / 12_000 == pytest.approx(0.1216, abs=5e-5)
    assert made.average_error == pytest.approx(1 / 0.7 - 1)


def test_history_may_be_given_and_must_be_there():
    higher = saving(RATE, BEFORE, AFTER, np.full(12, 500e3))
    # 80 % of 500 kW = 400 kW: before and after both pay 400 kW for eleven months, then 400 and 300.
    assert higher.of_group("demand", "first_year") == pytest.approx(1_000)
    assert higher.of_group("demand") == pytest.approx(12_000)
    with pytest.raises(EnergyError, match="a saving needs the twelve months before"):
        saving(RATE, BEFORE, AFTER, None)


def test_draws_and_nothing_saved():
    factors = np.array([[1.0], [0.9]])
    made = saving(RATE, BEFORE, Load(energy=BEFORE.energy * factors, peak=BEFORE.peak * factors))
    assert made.steady == pytest.approx([0.0, 1.05 * (9_600 + 400 * 12 * 0.1 * 10)])
    assert np.isnan(made.average_error[0])


def test_the_same_swap_is_worth_differently_on_every_example():
    worth = {}
    for name in ("flat-electricity", "time-of-use-electricity", "hours-use-electricity", "apparent-power-electricity"):
        loads = [
            Load(
                energy=np.full(12, kwh * KWH),
                peak=np.full(12, kw * 1e3),
                power_factor=np.full(12, 0.85),
                year=2026,
                spread="clock hours",
            )
            for kwh, kw in ((100_000, 400), (80_000, 360))
        ]
        worth[name] = saving(load_tariff(name), *loads).steady
    assert len({round(value) for value in worth.values()}) == 4
    assert min(worth.values()) > 0


@pytest.mark.common_practice("arithmetic by hand")
@pytest.mark.parametrize(
    ("charge", "full"),
    [
        # 100 kW less at a power factor of 80 % are 125 kVA; 125 x 10 x 12 = 15,000.
        ({"type": "demand-flat", "price": "10 USD/kVA"}, 15_000),
        ({"type": "demand-blocks", "blocks": [{"up_to": "50 kVA", "price": "8 USD/kVA"}, {"price": "10 USD/kVA"}]}, 15_000),
        # kW x 90 / 80: 112.5 x 10 x 12 = 13,500.
        ({"type": "demand-flat", "price": "10 USD/kW", "power_factor": {"rule": "target-over-factor", "target": "90 %"}}, 13_500),
        # 75 kvar by the triangle of 100 kW and 125 kVA, 30 of them free: 45 x 2 x 12 = 1,080.
        ({"type": "reactive-demand", "price": "2 USD/kvar", "free_share": "30 %"}, 1_080),
    ],
)  # fmt: skip
def test_the_demand_saving_that_is_possible_is_counted_as_the_charge_bills_it(charge, full):
    rate = tariff_of({"type": "energy-flat", "id": "energy", "price": "0.08 USD/kWh"}, {"id": "demand", **charge})
    loads = [Load(energy=load.energy, peak=load.peak, power_factor=np.full(12, 0.80)) for load in (BEFORE, AFTER)]
    made = saving(rate, *loads)
    assert made.of_group("demand") == pytest.approx(full)
    assert made.demand_possible == pytest.approx(full)
    assert made.demand_realised() == pytest.approx(1.0)


def test_an_average_price_that_goes_the_wrong_way_is_no_percentage():
    flat = tariff_of(
        {"type": "energy-flat", "id": "energy", "price": "0.10 USD/kWh"},
        {"type": "demand-flat", "id": "demand", "price": "10 USD/kW"},
    )
    more = Load(energy=np.full(12, 101_000 * KWH), peak=np.full(12, 380e3))
    # Before 10,000 + 4,000 = 14,000 a month, 0.14 a kWh: 1,000 kWh more would be 140; the bill falls by 200 - 100.
    for loads, sign in (((BEFORE, more), 1), ((more, BEFORE), -1)):
        made = saving(flat, *loads)
        assert made.steady == pytest.approx(sign * 1_200)
        assert made.average_estimate * sign < 0
        assert made.average_wrong_way
        assert made.average_misleads
        assert np.isnan(made.average_error)
    assert saving(flat, BEFORE, more).average_estimate == pytest.approx(-1_680)
    assert not saving(flat, BEFORE, AFTER).average_wrong_way
