"""What every type of charge must do, run over all of them."""

from __future__ import annotations

import re

import numpy as np
import pytest
from pydantic import BaseModel, ValidationError
from tariff_samples import OWN, random_load, scaled, tariff_with

from energy.errors import EnergyError
from energy.tariffs import CHARGE_TYPES, Load, bill

STANDS_WITHOUT_LOAD = {"fixed", "minimum-bill"}
CREDITS = {"rider-per-energy", "rider-percent", "discount", "load-factor-credit"}
CELLS = ("summer on-peak", "summer off-peak", "winter shoulder", "winter off-peak")
RANDOM = np.random.default_rng(9)
FULL = random_load(RANDOM, CELLS)
EARLIER = random_load(RANDOM, CELLS)
ZERO = scaled(FULL, 0.0)

every_type = pytest.mark.parametrize("kind", list(CHARGE_TYPES))


def own_total(kind, load, history="steady"):
    return bill(tariff_with(kind), load, history).by_charge().get("it", 0.0)


def test_every_type_has_an_example():
    assert set(OWN) == set(CHARGE_TYPES)


def test_the_example_calendar_has_the_cells_of_the_loads():
    assert tariff_with("fixed").price_calendar.cells == CELLS


@every_type
def test_bill_is_the_sum_of_its_lines_and_each_amount_is_quantity_times_rate(kind):
    made = bill(tariff_with(kind), FULL, EARLIER)
    assert made.total == pytest.approx(sum(line.amount for line in made.lines), rel=1e-14)
    assert made.total == pytest.approx(sum(made.by_label().values()), rel=1e-13)
    assert made.total == pytest.approx(sum(made.by_charge().values()), rel=1e-13)
    assert made.total == pytest.approx(sum(made.of_month(month).total for month in range(1, 13)), rel=1e-13)
    for line in made.lines:
        assert line.amount == pytest.approx(line.quantity * line.rate, rel=1e-14)
    assert made.by_charge()["it"] != 0.0


@every_type
def test_the_rows_of_a_bill_hold_its_lines(kind):
    made = bill(tariff_with(kind), FULL, EARLIER)
    by_line = {}
    for line in made.lines:
        key = line.line, line.clause, line.charge
        by_line[key] = by_line.get(key, 0.0) + line.amount
    assert made.by_line() == by_line
    assert sum(len(row.months) for row in made.rows) == len(made.lines)
    if "blocks" in kind:
        months = [line.month for line in made.lines if line.charge == "it"]
        assert months == sorted(months)
        assert len(months) > 12


@every_type
def test_a_year_that_repeats_itself_is_billed_as_with_itself_as_history(kind):
    assert bill(tariff_with(kind), FULL, "steady").lines == bill(tariff_with(kind), FULL, scaled(FULL, 1.0)).lines


@every_type
def test_a_load_of_zero_leaves_fixed_and_minimum_charges_only(kind):
    assert (own_total(kind, ZERO) != 0.0) == (kind in STANDS_WITHOUT_LOAD)


@every_type
def test_only_a_tariff_that_looks_back_asks_for_earlier_months(kind):
    tariff, before = tariff_with(kind), scaled(FULL, 3.0)
    changed = bill(tariff, FULL, before).total != bill(tariff, FULL, "steady").total
    assert changed == tariff.looks_back


@every_type
def test_every_line_names_its_charge_clause_month_and_unit(kind):
    lines = [line for line in bill(tariff_with(kind), FULL, EARLIER).lines if line.charge == "it"]
    assert {line.month for line in lines} == set(range(1, 13))
    assert {line.clause for line in lines} == {"Clause 7"}
    assert all(line.line.startswith("The charge") and line.unit for line in lines)


@every_type
def test_a_misspelt_key_is_refused(kind):
    with pytest.raises(ValidationError, match="claus"):
        tariff_with(kind, claus="7")


@every_type
def test_draws_on_leading_axes_equal_one_load_at_a_time(kind):
    load, earlier = random_load(RANDOM, CELLS, 2, 3), random_load(RANDOM, CELLS, 2, 3)
    whole = np.broadcast_to(bill(tariff_with(kind), load, earlier).total, (2, 3))
    for at in np.ndindex(2, 3):
        one, before = (
            Load(
                cells=CELLS,
                **{
                    key: getattr(draws, key)[at]
                    for key in ("cell_energy", "cell_peak", "volume", "daily_peak", "power_factor")
                },
                year=2026,
            )
            for draws in (load, earlier)
        )
        assert whole[at] == pytest.approx(bill(tariff_with(kind), one, before).total, rel=1e-13)


@every_type
def test_more_load_never_lowers_a_bill_but_for_credits(kind):
    amounts = [bill(tariff_with(kind), scaled(FULL, factor), EARLIER).total for factor in np.linspace(0.0, 2.0, 21)]
    assert kind in CREDITS or (np.diff(amounts) >= -1e-9).all()
    if kind not in CREDITS:  # energy alone, the peaks as they are
        more = Load(
            **{key: getattr(FULL, key) for key in ("cells", "cell_peak", "power_factor", "daily_peak", "year")},
            volume=FULL.volume * 1.3,
            cell_energy=FULL.cell_energy * 1.3,
        )
        assert bill(tariff_with(kind), more, EARLIER).total >= bill(tariff_with(kind), FULL, EARLIER).total


@every_type
def test_a_month_is_billed_the_same_whatever_the_others_hold(kind):
    changes = {"ratchet": None} if kind == "demand-flat" else {"ratchet_share": None} if kind == "capacity" else {}
    rate = tariff_with(kind, **changes)
    whole = bill(rate, FULL)
    for month in range(12):
        only = np.arange(12) == month
        alone = Load(
            cells=CELLS,
            cell_energy=FULL.cell_energy * only[:, None],
            cell_peak=FULL.cell_peak * only[:, None],
            volume=FULL.volume * only,
            daily_peak=FULL.daily_peak * only,
            power_factor=FULL.power_factor,
            year=2026,
        )
        part = bill(rate, alone).of_month(month + 1)
        assert part.total == pytest.approx(whole.of_month(month + 1).total, rel=1e-13)


@every_type
def test_rounded_lines_agree_to_a_cent(kind):
    exact, printed = (bill(tariff_with(kind), FULL, EARLIER, rounded=r) for r in (False, True))
    for one, other in zip(exact.lines, printed.lines, strict=True):
        assert abs(one.amount - float(other.amount)) <= 0.01
        assert other.amount == round(other.amount, 2)
    assert printed.total == sum(line.amount for line in printed.lines)


@every_type
def test_charges_are_frozen(kind):
    charge = tariff_with(kind).charges[-1]
    assert isinstance(charge, BaseModel)
    with pytest.raises(ValidationError, match="frozen"):
        charge.label = "Other"


@every_type
def test_a_charge_says_in_a_few_words_what_it_costs(kind):
    said = tariff_with(kind).describe()[-1]
    texts = re.findall(r"'((?:-)?[\d.]+ [^']*)'", str(list(OWN[kind].values())))
    prices = [text for text in texts if "USD" in text]
    assert all(price in said for price in prices)
    assert prices or "%" in said


@every_type
def test_the_months_of_a_charge_are_the_months_it_is_charged_in(kind):
    made = bill(tariff_with(kind, months=[1, 7]), FULL, EARLIER)
    usual = bill(tariff_with(kind), FULL, EARLIER)
    for month in range(1, 13):
        of_it = [line for line in made.of_month(month).lines if line.charge == "it"]
        expected = [line for line in usual.of_month(month).lines if line.charge == "it" and month in (1, 7)]
        assert of_it == expected


@pytest.mark.parametrize(
    ("kind", "load", "words"),
    [
        ("demand-flat", Load(energy=np.ones(12)), "charge 'kw' (Demand) needs the monthly peak power"),
        ("volume-flat", Load(energy=np.ones(12), peak=np.ones(12)), "charge 'it' (The charge) needs the volume"),
        ("fixed", Load(volume=np.ones(12)), "charge 'base' (Base) needs the energy"),
        ("demand-flat", Load(energy=np.ones(12), peak=np.ones(12)), "needs the power factor or reactive energy"),
        ("reactive-demand", Load(energy=np.ones(12), peak=np.ones(12)), "needs the power factor, reactive energy"),
        ("capacity", Load(energy=np.ones(12), peak=np.ones(12)), "needs the highest energy of a day"),
        ("energy-time-of-use", Load(energy=np.ones(12), peak=np.ones(12)), "needs the load by time of use"),
        (
            "demand-time-of-use",
            Load(energy=np.ones(12), peak=np.ones(12), spread="clock hours"),
            "charge 'it' (The charge) needs the year of the load",
        ),
    ],
)
def test_a_quantity_the_load_lacks_is_named(kind, load, words):
    with pytest.raises(EnergyError, match=re.escape(words)):
        bill(tariff_with(kind), load, "steady")


@pytest.mark.parametrize("kind", ["demand-flat", "capacity"])
def test_a_ratchet_without_history_is_refused(kind):
    with pytest.raises(EnergyError, match=r"charge 'it' \(The charge\) has a ratchet and needs"):
        bill(tariff_with(kind), FULL)
    with pytest.raises(EnergyError, match="'stedy' is not a history"):
        bill(tariff_with(kind), FULL, "stedy")


def test_cells_of_another_calendar_are_refused():
    other = random_load(RANDOM, ("day", "night"))
    with pytest.raises(EnergyError, match="known in the price cells day, night, but the tariff has summer on-peak"):
        bill(tariff_with("energy-time-of-use"), other)


def test_draws_are_not_rounded():
    with pytest.raises(EnergyError, match="only a bill of single numbers can be rounded"):
        bill(tariff_with("energy-flat"), random_load(RANDOM, CELLS, 2), rounded=True)


@pytest.mark.parametrize("kind", ["fixed", "energy-flat", "demand-flat", "volume-flat", "reactive-demand", "capacity"])
def test_only_a_rider_may_be_negative(kind):
    (key, text), *_ = OWN[kind].items()
    with pytest.raises(ValidationError, match="greater than or equal to 0"):
        tariff_with(kind, **{key: f"-{text}"})
    assert own_total("rider-per-energy", FULL) < 0
