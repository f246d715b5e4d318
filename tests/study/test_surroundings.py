"""What dryers ask of the plant around them: cooling, compressed air, the hall; recomputed by plain arithmetic."""

from __future__ import annotations

import numpy as np
import pytest
from cases import AIR, NEW, PRESENT, WHEEL, case

from energy.air import atmosphere
from energy.errors import CaseError
from energy.plant.climate import sample_climate
from energy.reports.comparison_json import to_dict
from energy.reports.comparison_text import to_text
from energy.study.compare import compare
from energy.study.duty import duties_of

KWH = 3.6e6
TEMPERATE = {"site.climate": "temperate", "site.hall_temperature": None, "site.hall_dew_point": None}
OWN = {**TEMPERATE, "tariffs.cooling": None}


def plant(*options, **changes):
    return case(*(options or (PRESENT, NEW)), changes=changes)


def tower(**values):
    return {**OWN, "cooling": {"medium": "tower water", **values}, "tariffs.water": "4 USD/m3"}


def test_a_tower_takes_its_fans_pumps_and_water():
    of = plant(**tower(tower_fan_share="1 %", pump_share="2 %", evaporated_share="80 %", cycles="4"))
    with_tower, free = compare(of), compare(plant(**OWN, **{"site.cooling_water_temperature": "20 degC"}))
    for option in with_tower.options:
        heat = option.carrier("cooling")
        assert heat > 0
        # Pumps 2 % of the heat; fans 1 % of heat and pumps.
        assert option.energy["cooling", "electricity"] == pytest.approx(heat * (0.02 + 0.01 * 1.02), rel=1e-9)
        # 80 % of heat and pumps evaporates water of about 2.45 MJ/kg at 20 degC, a third of that is drained.
        litres = 0.8 * 1.02 * heat / 2.45e6 * 4 / 3 / 998.2
        assert option.year.water.sum() == pytest.approx(litres, rel=0.01)
        assert option.annual_cost["water"] == pytest.approx(4.0 * option.year.water.sum(), rel=1e-9)
        bought = sum(v for (_, carrier), v in option.energy.items() if carrier != "cooling")
        assert sum(float(v) for v in option.year.by_state().values()) == pytest.approx(bought, rel=1e-12)
        assert option.annual_cost["electricity"] > free.option(option.name).annual_cost["electricity"]


def test_tower_water_follows_the_wet_bulb_month_by_month():
    (duty,) = duties_of(plant(**tower(tower_approach="4 K", coldest_tower_water="8 degC")))
    climate = sample_climate("temperate", pressure=float(atmosphere.pressure_at_altitude(150.0)))
    summer = int(np.argmax(climate.outdoor_temperature))
    assert duty.coolant_temperature.min() == pytest.approx(281.15)
    assert (
        climate.outdoor_dew_point[summer] + 4
        < duty.coolant_temperature[summer]
        < climate.outdoor_temperature[summer] + 4
    )


def test_a_chiller_takes_more_than_a_tower():
    cold = {
        **OWN,
        "cooling": {
            "medium": "chilled water",
            "coefficient_of_performance": "4",
            "condenser": "outdoor air",
            "pump_share": "0 %",
        },
    }
    chilled, towered = compare(plant(**cold)), compare(plant(**tower()))
    for option in chilled.options:
        assert option.energy["cooling", "electricity"] == pytest.approx(option.carrier("cooling") / 4.0, rel=1e-9)
        assert option.year.water.sum() == 0.0
        assert (
            option.energy["cooling", "electricity"] > 2 * towered.option(option.name).energy["cooling", "electricity"]
        )


def test_a_cooler_in_hall_air_needs_no_water():
    of = compare(
        plant(
            NEW,
            WHEEL,
            **TEMPERATE,
            **{f"options['{NEW}'].baseline": True, f"options['{WHEEL}'].inputs": {"cooler": "hall air"}},
        )
    )
    wheel = of.option(WHEEL)
    assert wheel.carrier("cooling") == 0.0
    assert wheel.annual_cost["water"] == 0.0
    assert wheel.energy["cooling", "electricity"] > 0.0
    assert wheel.heat_out["aftercooler, to hall air"] > 0.0


def test_heat_in_the_hall_saves_heating():
    building = {"heating_months": "6", "heating_efficiency": "0.8", "usable_share": "50 %", "heating_carrier": "gas"}
    off, on = compare(plant(**TEMPERATE)), compare(plant(**TEMPERATE, building=building))
    for option in on.options:
        climate = (
            option.duty.hall_temperature
        )  # the coldest six months outdoors are January to April, November, December
        assert climate.shape == (12,)
        to_hall = {
            k: v for k, v in option.year.heat_out.items()
            if k not in ("resin", "evaporated water", "aftercooler", "flue gas", "compressor house")
        }  # fmt: skip
        winter = sum(v[[0, 1, 2, 3, 10, 11]].sum() for v in to_hall.values())
        saved = winter * 0.5 / 0.8 / (1e6 * 1055.05585262) * 8.50  # flat-gas, USD/MMBtu
        before = off.option(option.name).annual_cost["gas"]
        assert before - option.annual_cost["gas"] == pytest.approx(saved, rel=1e-9)
        assert "for heating saved" in option.notes[-1].text
        assert "not counted" in off.option(option.name).notes[-1].text
        assert option.verdict == off.option(option.name).verdict


HOUSE = {
    "compressed_air.installed_capacity": "5 m3/min FAD",
    "compressed_air.present_flow": "3 m3/min FAD",
    "compressed_air.capital_if_larger": "30000 USD",
}


def test_a_bigger_compressor_is_a_finding_and_a_line_of_capital():
    sea = {"site.altitude": "0 m"}  # where a data sheet holds as it is printed
    plain, short = (compare(plant(PRESENT, AIR, **changes, **sea)).option(AIR) for changes in ({}, HOUSE))
    added = float(np.max(plain.operation.sizing["compressed_air"])) * 60
    assert added > 2.0
    assert short.capital == plain.capital + 30000
    assert short.option.capital[-1].item == "Bigger compressor"
    assert any("Needs a bigger compressor" in note.text for note in short.notes)
    # 2 m3/min at the load/unload slope of 0.75, the rest at full specific power; 4 % for the air dryer.
    per_volume = 6.6 * 60e3 * 1.04 * (0.75 * 2.0 + (added - 2.0)) / added
    assert short.carrier("compressed air") / short.year.free_air.sum() == pytest.approx(per_volume, rel=1e-6)
    assert short.verdict == plain.verdict
    roomy = {**HOUSE, "compressed_air.installed_capacity": "12 m3/min FAD", **sea}
    enough = compare(plant(PRESENT, AIR, **roomy)).option(AIR)
    assert enough.capital == plain.capital
    assert enough.total_cost == pytest.approx(plain.total_cost, rel=1e-12)


def test_a_known_cost_of_air_stands_in_for_its_electricity():
    known = {
        "compressed_air.specific_power": None,
        "compressed_air.control": None,
        "compressed_air.maintenance": None,
        "compressed_air.cost": "0.02 USD/m3",
    }
    option = compare(plant(PRESENT, AIR, **known)).option(AIR)
    air = option.year.free_air.sum() * 0.02
    assert option.cost_by_end_use["compressed air"] == pytest.approx(air, rel=1e-12)
    assert any(
        line.line == "Compressed air at its known cost" and line.amount == pytest.approx(air) for line in option.bill
    )
    assert sum(option.cost_by_end_use.values()) == pytest.approx(option.total_cost, rel=1e-12)
    assert "at its known cost" in to_text(compare(plant(PRESENT, AIR, **known)), "si")


def test_what_the_plant_gives_is_in_the_json_and_no_part_of_the_verdict():
    told = to_dict(compare(plant(PRESENT, AIR, **HOUSE)))["options"][1]
    assert {f["check"] for f in told["plant"]} >= {"compressed-air capacity", "heat to the hall"}
    assert not {f["check"] for f in told["plant"]} & {f["check"] for f in told["findings"]}
    months = told["energy_by_month_and_use_kwh"]
    assert sum(map(sum, months.values())) == pytest.approx(told["energy_kwh"]["total"], rel=1e-9)


ROWS = [{"month": m + 1, "outdoor_temperature": f"{t} degC", "outdoor_dew_point": f"{t - 5} degC"}
        for m, t in enumerate([0, 2, 5, 9, 14, 17, 19, 18, 15, 10, 5, 2])]  # fmt: skip
MONTHS = {"site.hall_temperature": None, "site.hall_dew_point": None}


def test_twelve_months_typed_in():
    rows = [dict(row) for row in ROWS]
    rows[6] |= {"hall_temperature": "31 degC", "hall_dew_point": "17 degC"}
    (duty,) = duties_of(plant(**MONTHS, **{"site.months": rows}))
    assert duty.hall_temperature[6] == pytest.approx(304.15)
    assert duty.hall_dew_point[6] == pytest.approx(290.15)
    assert duty.hall_temperature[5] == pytest.approx(273.15 + 17 + 4)  # outdoor air warmed by the hall's gain of 4 K
    assert duty.hall_temperature[0] == pytest.approx(273.15 + 18)  # heated


@pytest.mark.parametrize(
    ("changes", "told"),
    [
        ({**MONTHS, "site.months": ROWS[:11]}, r"site.months: .*December"),
        ({**MONTHS, "site.months": [*ROWS, ROWS[0]]}, r"site.months: .*January"),
        ({"site.months": ROWS}, r"site.hall_temperature: stands beside a climate"),
        ({**TEMPERATE, "site.months": ROWS}, r"site.months: stand beside a climate"),
        ({"cooling": {"medium": "tower water"}}, r"tariffs.cooling: stands beside \[cooling\]"),
        ({**OWN, "cooling": {"medium": "tower water"}}, r"tariffs.water: is missing; the cooling tower draws make-up water, which needs a price$"),
        ({**OWN, "cooling": {"medium": "chilled water"}}, r"tariffs.water: is missing; .* draws none: set cooling.condenser = 'outdoor air'$"),
        ({**OWN, "cooling": {"medium": "hall air"}}, r"cooling.medium: hall air cools single dryers"),
        ({**OWN, "cooling": {"medium": "ice"}}, r"cooling.medium: 'ice' is not one of"),
        ({"building": {}, "tariffs.gas": None}, r"tariffs.gas: is missing; the hall is heated with gas"),
        ({"building": {"heating_months": "14"}}, r"building.heating_months: '14' is not allowed"),
    ],
)  # fmt: skip
def test_what_cannot_be_is_named(changes, told):
    with pytest.raises(CaseError, match=told):
        plant(**changes)


def test_a_hall_that_is_only_cooled_needs_no_price_of_gas():
    found = compare(
        plant(**{**TEMPERATE, "building": {"heating_months": "0", "cooling_months": "12"}, "tariffs.gas": None})
    )
    assert any(line.line == "Hall cooling added" and line.amount > 0.0 for o in found.options for line in o.bill)
