"""Gas that the plant burns besides its dryers: which block of the tariff theirs falls into, and who pays the fixed charges."""

from __future__ import annotations

import pytest
from cases import HOT, NEW, PRESENT, case

from energy.errors import CaseError
from energy.plant.climate import sample_climate
from energy.study.compare import compare

GJ = 1e9
TARIFF = {
    "name": "Gas in blocks",
    "commodity": "gas",
    "currency": "USD",
    "source": "invented",
    "charges": [
        {
            "type": "fixed",
            "id": "supply",
            "label": "Supply",
            "clause": "1",
            "source": "invented",
            "per_month": "100 USD",
        },
        {
            "type": "energy-blocks",
            "id": "gas",
            "label": "Gas",
            "clause": "2",
            "source": "invented",
            "blocks": [{"up_to": "500 GJ", "price": "16.8 USD/GJ"}, {"price": "14.2 USD/GJ"}],
        },
    ],
}


def on(**changes):
    return compare(case(PRESENT, NEW, HOT, changes={"own_tariffs": [TARIFF], "tariffs.gas": TARIFF["name"], **changes}))


def burned(found):
    return found.carrier("gas") / GJ


@pytest.mark.parametrize(("plant", "price"), [(None, 16.8), ("100 GJ", 16.8), ("800 GJ", 14.2)])
def test_a_dryer_pays_the_price_of_the_block_that_its_gas_falls_into(plant, price):
    option = on(**({} if plant is None else {"tariffs.plant_gas": plant})).option(HOT)
    assert 10.0 < burned(option) / 12.0 < 400.0
    assert option.annual_cost["gas"] == pytest.approx(price * burned(option), rel=1e-6)


def test_across_the_limit_of_a_block_each_part_pays_its_own():
    option = on(**{"tariffs.plant_gas": "490 GJ"}).option(HOT)
    months = option.year.energy["process heat", "gas"] / GJ
    by_hand = sum(min(m, 10.0) * 16.8 + max(m - 10.0, 0.0) * 14.2 for m in months)
    assert months.min() > 10.0
    assert option.annual_cost["gas"] == pytest.approx(by_hand, rel=1e-6)


def test_blocks_by_volume_hang_on_the_plants_gas_too():
    blocks = {
        "type": "volume-blocks",
        "blocks": [{"up_to": "13000 m3", "price": "0.64 USD/m3"}, {"price": "0.54 USD/m3"}],
    }
    charges = [TARIFF["charges"][0], {**TARIFF["charges"][1], **blocks}]
    by_volume = {**TARIFF, "charges": charges, "gas": {"heating_value": "38 MJ/m3"}}
    told = {note.check: note.text for note in on(own_tariffs=[by_volume]).option(HOT).notes}
    assert "The gas tariff has blocks by volume, which depend on the whole plant's gas" in told["plant gas"]


def test_what_nobody_said_of_the_gas_is_told():
    told = {note.check: note.text for note in on().option(HOT).notes}
    assert "which depend on the whole plant's gas; without tariffs.plant_gas" in told["plant gas"]
    assert "1,200 USD a year count as paid anyway" in told["fixed charges of gas"]
    stated = {note.check for note in on(**{"tariffs.plant_gas": "800 GJ"}).option(HOT).notes}
    assert not stated & {"plant gas", "fixed charges of gas"}
    burning = on(**{f"options['{PRESENT}'].inputs.heat_source": "gas"}).option(HOT)
    assert "fixed charges of gas" not in {note.check for note in burning.notes}


def test_less_gas_than_the_present_dryers_burn_is_refused():
    with pytest.raises(
        CaseError, match=r"tariffs\.plant_gas: the plant takes less in some month than its present dryers"
    ):
        on(**{"tariffs.plant_gas": "1 GJ", f"options['{PRESENT}'].inputs.heat_source": "gas"})


@pytest.mark.parametrize(("plant", "price"), [(None, 16.8), ("100 GJ", 16.8), ("800 GJ", 14.2)])
def test_heating_that_is_saved_has_the_price_of_the_block_that_it_falls_into(plant, price):
    """By hand: half of the heat to the hall in the five coldest months over 0.8; a plant far above the first block saves in the second."""
    hall = {"site.climate": "temperate", "site.hall_temperature": None, "site.hall_dew_point": None}
    warm = {"heating_months": "5", "heating_efficiency": "0.8", "usable_share": "50 %", "heating_carrier": "gas"}
    option = on(**hall, building=warm, **({} if plant is None else {"tariffs.plant_gas": plant})).option(NEW)
    left = ("resin", "evaporated water", "aftercooler", "flue gas", "compressor house")
    to_hall = sum(heat for name, heat in option.year.heat_out.items() if name not in left)
    coldest = sample_climate("temperate", pressure=99_500.0).outdoor_temperature.argsort()[:5]
    saved = float(to_hall[coldest].sum()) * 0.5 / 0.8 / GJ
    told = next(line.amount for line in option.bill if line.line == "Hall heating saved")
    assert told == pytest.approx(-price * saved, rel=1e-9)


@pytest.mark.parametrize("plant", [None, "800 GJ"])
def test_a_charge_for_the_highest_gas_of_a_month_counts_all_of_it(plant):
    """By hand: 3 USD for each kilowatt of the month's highest 15 minutes; what coincides with peaks of electricity has no say."""
    demand = {**TARIFF["charges"][0], "type": "demand-flat", "id": "most", "price": "3 USD/kW/month"}
    del demand["per_month"]
    tariff = {**TARIFF, "charges": [demand]}
    changes = {"own_tariffs": [tariff], "tariffs.gas": tariff["name"], "tariffs.coincidence": "60 %"}
    option = compare(
        case(PRESENT, HOT, changes={**changes, **({} if plant is None else {"tariffs.plant_gas": plant})})
    ).option(HOT)
    highest = float(option.year.most(("gas",)).sum()) / 1e3
    assert highest > 12.0
    assert option.annual_cost["gas"] == pytest.approx(3.0 * highest, rel=1e-9)
