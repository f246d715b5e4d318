"""What every type of charge must do, run over all of them."""

from __future__ import annotations

import re

import numpy as np
import pytest
from pydantic import BaseModel, ValidationError

from energy.errors import EnergyError
from energy.tariffs import CHARGE_TYPES, Load, Tariff, bill

COMMON = {"id": "it", "label": "The charge", "clause": "Clause 7", "source": "invented"}
OWN = {
    "fixed": {"per_month": "90 USD"},
    "energy-flat": {"price": "0.115 USD/kWh"},
    "rider-per-energy": {"price": "-0.004 USD/kWh"},
    "demand-flat": {"price": "13 USD/kW/month"},
    "volume-flat": {"price": "3.20 USD/m3"},
    "tax-percent": {"share": "6 %", "of": ["base"]},
}
"""An example of the keys of each type; a new type needs one here."""
STANDS_WITHOUT_LOAD = {"fixed"}
BASE = {
    **COMMON,
    "id": "base",
    "label": "Base",
    "clause": "Clause 1",
    "type": "energy-flat",
    "price": "0.1 USD/kWh",
}

RANDOM = np.random.default_rng(9)
FULL = Load(
    energy=RANDOM.uniform(1e10, 1e12, 12),
    peak=RANDOM.uniform(1e5, 1e6, 12),
    volume=RANDOM.uniform(1.0, 90.0, 12),
)
ZERO = Load(energy=np.zeros(12), peak=np.zeros(12), volume=np.zeros(12))

every_type = pytest.mark.parametrize("kind", list(CHARGE_TYPES))


def tariff_with(kind, **changes):
    charge = {**COMMON, **OWN[kind], "type": kind} | changes
    return Tariff.model_validate(
        {
            "name": "T",
            "commodity": "electricity",
            "currency": "USD",
            "source": "test",
            "charges": [BASE, charge],
        }
    )


def test_every_type_has_an_example():
    assert set(OWN) == set(CHARGE_TYPES)


@every_type
def test_bill_is_the_sum_of_its_lines_and_each_amount_is_quantity_times_rate(kind):
    made = bill(tariff_with(kind), FULL)
    assert made.total == pytest.approx(sum(line.amount for line in made.lines), rel=1e-14)
    assert made.total == pytest.approx(sum(made.by_label().values()), rel=1e-14)
    assert made.total == pytest.approx(sum(made.of_month(month).total for month in range(1, 13)), rel=1e-14)
    for line in made.lines:
        assert line.amount == pytest.approx(line.quantity * line.rate, rel=1e-14)
    assert made.by_label()["The charge"] != 0.0


@every_type
def test_a_load_of_zero_leaves_fixed_charges_only(kind):
    amounts = bill(tariff_with(kind), ZERO).by_label()
    assert (amounts["The charge"] != 0.0) == (kind in STANDS_WITHOUT_LOAD)


@every_type
def test_every_line_names_its_charge_clause_month_and_unit(kind):
    lines = [line for line in bill(tariff_with(kind), FULL).lines if line.charge == "it"]
    assert [line.month for line in lines] == list(range(1, 13))
    assert {(line.line, line.clause) for line in lines} == {("The charge", "Clause 7")}
    assert all(line.unit for line in lines)


@every_type
def test_a_misspelt_key_is_refused(kind):
    with pytest.raises(ValidationError, match="claus"):
        tariff_with(kind, claus="7")


@every_type
def test_draws_on_leading_axes_equal_one_load_at_a_time(kind):
    load = Load(
        energy=RANDOM.uniform(1e10, 1e12, (2, 3, 12)),
        peak=RANDOM.uniform(1e5, 1e6, (2, 3, 12)),
        volume=RANDOM.uniform(1.0, 90.0, (2, 3, 12)),
    )
    whole = np.broadcast_to(bill(tariff_with(kind), load).total, (2, 3))
    for at in np.ndindex(2, 3):
        one = Load(energy=load.energy[at], peak=load.peak[at], volume=load.volume[at])
        assert whole[at] == pytest.approx(bill(tariff_with(kind), one).total, rel=1e-13)


@every_type
def test_charges_are_frozen(kind):
    charge = tariff_with(kind).charges[1]
    assert isinstance(charge, BaseModel)
    with pytest.raises(ValidationError, match="frozen"):
        charge.label = "Other"


@pytest.mark.parametrize(
    ("kind", "load", "words"),
    [
        ("demand-flat", Load(energy=np.ones(12)), "charge 'it' (The charge) needs the monthly peak power"),
        ("volume-flat", Load(energy=np.ones(12)), "charge 'it' (The charge) needs the volume"),
        ("fixed", Load(volume=np.ones(12)), "charge 'base' (Base) needs the energy"),
    ],
)
def test_a_quantity_the_load_lacks_is_named(kind, load, words):
    with pytest.raises(EnergyError, match=re.escape(words)):
        bill(tariff_with(kind), load)


@pytest.mark.parametrize("kind", ["fixed", "energy-flat", "demand-flat", "volume-flat"])
def test_only_a_rider_may_be_negative(kind):
    (key, text), *_ = OWN[kind].items()
    with pytest.raises(ValidationError, match="greater than or equal to 0"):
        tariff_with(kind, **{key: f"-{text}"})
    assert bill(tariff_with("rider-per-energy"), FULL).by_label()["The charge"] < 0
