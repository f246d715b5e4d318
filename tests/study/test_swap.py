"""A swap of dryers on any tariff: the bill before and after by line, in words, and the payback tariff by tariff."""

from __future__ import annotations

import numpy as np
import pytest
from cases import HOT, NEW, PRESENT, WHEEL, case, document, readings

from energy.errors import CaseError, EnergyError, UnknownNameError
from energy.reports.swap import sentences, why
from energy.study.case import build
from energy.study.compare import compare
from energy.study.meter import plant_load
from energy.study.swap import Swap, on_other_tariffs, swap
from energy.tariffs import Load, Tariff, bill, load_tariff, saving

KWH = 3.6e6
COMMON = {"clause": "Clause 1", "source": "invented"}
RATCHET = Tariff.model_validate(
    {
        "name": "By hand",
        "commodity": "electricity",
        "currency": "USD",
        "source": "invented",
        "charges": [
            {**COMMON, "type": "fixed", "id": "customer", "label": "Customer", "per_month": "500 USD"},
            {**COMMON, "type": "energy-flat", "id": "energy", "label": "Energy", "price": "0.08 USD/kWh"},
            {**COMMON, "type": "demand-flat", "id": "demand", "label": "Demand", "price": "10 USD/kW",
             "ratchet": {"share": "80 %"}},
            {**COMMON, "type": "tax-percent", "id": "tax", "label": "Tax", "share": "5 %", "of": ["energy", "demand"]},
        ],
    }
)  # fmt: skip
PLANT = [{"month": m, "energy": "200 MWh", "peak": "450 kW"} for m in range(1, 13)]


def of(*options, **changes):
    given = {"tariffs.power_factor": "90 %", "plant_load": {"months": PLANT}}
    return case(PRESENT, *options, changes={**given, **changes})


@pytest.mark.common_practice("arithmetic by hand")
def test_why_each_line_falls():
    """10,000 kWh and 100 kW less a month; the tax is on 12 x (800 + 1,000) = 21,600 less."""
    before = Load(energy=np.full(12, 100_000 * KWH), peak=np.full(12, 400e3))
    made = saving(RATCHET, before, Load(energy=np.full(12, 90_000 * KWH), peak=np.full(12, 300e3)))
    later = "; in the first year the peaks before still count"
    assert {line.line: why(line, "USD") for line in made.lines} == {
        "Customer": "whatever the load",
        "Energy": "120,000 kWh less at 0.08 USD/kWh",
        "Demand": f"100 kW less on average in 12 months at 10 USD/kW{later}",
        "Tax": f"5 % of lines that come to 21,600.00 less{later}",
    }
    assert [line.before for line in made.lines] == pytest.approx([6_000, 96_000, 48_000, 7_200])
    assert made.before == pytest.approx(157_200)
    same = saving(RATCHET, before, Load(energy=np.full(12, 90_000 * KWH), peak=before.peak))
    assert why(next(line for line in same.lines if line.charge == "demand"), "USD") == "stays as it is"


def test_a_swap_is_what_the_case_says_with_that_tariff():
    made = swap(of(NEW, WHEEL), NEW, load_tariff("time-of-use-electricity"))
    told = compare(of(NEW, WHEEL, **{"tariffs.electricity": "time-of-use-electricity"})).option(NEW)
    assert made.saving.steady == pytest.approx(told.savings["electricity"].steady, rel=1e-12)
    assert made.option.measures.payback == pytest.approx(told.measures.payback, rel=1e-12)
    assert made.saving.before - made.saving.steady > 0.0


def test_the_same_swap_pays_back_differently_on_every_demo_tariff():
    found = on_other_tariffs(of(NEW), NEW)
    assert all(isinstance(one, Swap) for one in found)
    assert {one.tariff.commodity for one in found} == {"electricity"}  # no gas is burnt
    assert len({round(one.option.measures.payback_on_savings, 2) for one in found}) == len(found) == 4
    gas = [one for one in on_other_tariffs(of(HOT), HOT) if one.tariff.commodity == "gas"]
    assert [one.tariff.name for one in gas] == [load_tariff(n).name for n in ("block-gas", "flat-gas")]
    assert all(one.saving.steady < 0.0 for one in gas)  # gas is bought that was not bought before
    assert sentences(gas[0])[0].startswith(f"{HOT} fails to dry the resin")
    assert "there is no average price" in " ".join(sentences(gas[0]))


def test_a_tariff_that_cannot_bill_the_swap_is_told_among_the_others():
    found = on_other_tariffs(of(NEW, **{"tariffs.power_factor": None}), NEW)
    told = [one for one in found if isinstance(one, str)]
    assert len(told) == 2
    assert all("tariffs.electricity: 'Electricity by " in text and "power factor" in text for text in told)


def test_a_swap_that_does_not_touch_a_meter():
    made = swap(of(NEW), NEW, load_tariff("block-gas"))
    assert made.saving is None
    assert sentences(made) == [f"Neither {NEW} nor {PRESENT} uses gas: this bill stays as it is."]


@pytest.mark.parametrize(
    ("option", "tariff", "error", "told"),
    [
        (PRESENT, "flat-electricity", UnknownNameError, f"'{PRESENT}' is not an option to swap to"),
        ("Nothing", "flat-electricity", UnknownNameError, "'Nothing' is not an option to swap to"),
        (NEW, "flat-water", EnergyError, "prices water; a swap is billed on electricity or gas"),
    ],
)
def test_what_cannot_be_swapped_is_told(option, tariff, error, told):
    with pytest.raises(error, match=told):
        swap(of(NEW), option, load_tariff(tariff))


def test_a_tariff_in_another_currency():
    with pytest.raises(EnergyError, match="'By hand' counts in EUR, the case in USD"):
        swap(of(NEW), NEW, RATCHET.model_copy(update={"currency": "EUR"}))


def test_tariffs_in_other_currencies_are_named_once_and_those_after_them_are_tried():
    """Two own tariffs in other money stand before all demo tariffs: these are billed none the less."""
    others = [
        {"name": f"In {currency}", "commodity": "electricity", "currency": currency, "source": "invented", "charges": [
            {**COMMON, "type": "energy-flat", "id": "energy", "label": "Energy", "price": f"0.08 {currency}/kWh"}]}
        for currency in ("INR", "EUR")
    ]  # fmt: skip
    found = on_other_tariffs(of(NEW, own_tariffs=others), NEW)
    assert [one for one in found if isinstance(one, str)] == [
        "Tariffs in EUR and INR are left out: the case counts in USD."
    ]
    assert sum(isinstance(one, Swap) for one in found) == sum(
        isinstance(one, Swap) for one in on_other_tariffs(of(NEW), NEW)
    )


def test_an_invented_tariff_of_another_clock_is_billed_by_that_of_the_readings(tmp_path):
    """Readings of a year of universal time do not make a year of New York; whoever tries the demo tariff on them wants to see its prices."""
    readings(tmp_path)
    plant = {
        "calendar.production_hours": None,
        "calendar.shifts": [
            {"name": "day", "days": ["mon", "tue", "wed", "thu", "fri"], "start": "06:00", "end": "22:00"}
        ],
        "plant_load": {"file": "readings.csv", "zone": "UTC"},
    }
    plant_read = build(
        document(PRESENT, WHEEL, changes={**plant, "tariffs.electricity": "flat-electricity"}),
        folder=tmp_path,
        file="case.toml",
    )
    tried = load_tariff("time-of-use-electricity")
    made = swap(plant_read, WHEEL, tried)
    assert made.moved_to == "UTC"
    assert "on the clock of the plant's readings, UTC." in " ".join(sentences(made))
    assert float(made.saving.steady) > 0.0
    with pytest.raises(
        CaseError,
        match=r"is not whole: .*is billed by the clock of America/New_York, the readings are of UTC: .* a day more at either end",
    ):
        swap(plant_read, WHEEL, tried.model_copy(update={"invented": False}))
    assert swap(plant_read, WHEEL, load_tariff("flat-electricity")).moved_to == ""


def test_sums_of_a_swap_are_not_rounded_like_a_bill_and_say_so():
    """By the clock with a tax: the printed bill rounds 12 months of every line, the swap nothing."""
    tariff = load_tariff("time-of-use-electricity")
    made = swap(of(NEW), NEW, tariff)
    load, _ = plant_load(of(NEW), tariff)
    printed = bill(tariff, load, "steady", rounded=True)
    gap = abs(float(printed.total) - made.saving.before)
    assert 0.0 < gap <= 0.005 * len(printed.lines)
    assert made.saving.before == pytest.approx(float(bill(tariff, load, "steady").total), abs=1e-6)
    assert (
        "a bill rounds every line of every month to cents, so that its sum may be a few cents off."
        in sentences(made)[0]
    )


def test_the_bill_before_a_swap_has_the_factor_of_the_whole_bill_too():
    plain, dearer = (
        swap(of(NEW, **changes), NEW, load_tariff("flat-electricity"))
        for changes in ({}, {"tariffs.electricity_factor": "120 %"})
    )
    # 12 months of 200,000 kWh at 0.115, 450 kW at 13 and 90 USD of the demo tariff.
    assert plain.saving.before == pytest.approx(12 * (200_000 * 0.115 + 450 * 13 + 90))
    assert dearer.saving.before == pytest.approx(1.2 * plain.saving.before)
    assert dearer.saving.steady == pytest.approx(1.2 * plain.saving.steady)
    assert "All amounts are 120 % of what the tariff says, as the case counts its bills." in sentences(dearer)
    assert not [text for text in sentences(plain) if "of what the tariff says" in text]
