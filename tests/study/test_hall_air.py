"""Hall air that dryers blow outdoors, what the hall's heating is worth on the bill, and its CO2; worked out by plain arithmetic."""

from __future__ import annotations

import numpy as np
import pytest
from cases import AIR, HOT, NEW, PRESENT, case, document

from energy.study.case import build
from energy.study.compare import compare
from energy.study.spread import uncertain_inputs
from energy.study.uncertainty import outcomes

KWH, GJ, MMBTU = 3.6e6, 1e9, 1055.05585262e6
OUTDOORS = [-14, -11, -5, 2, 8, 13, 16, 15, 9, 3, -6, -12]
ROWS = [
    {
        "month": m + 1,
        "outdoor_temperature": f"{t} degC",
        "outdoor_dew_point": f"{t - 5} degC",
        "hall_temperature": "21 degC",
        "hall_dew_point": "5 degC",
    }
    for m, t in enumerate(OUTDOORS)
]
HALL = {"site.hall_temperature": None, "site.hall_dew_point": None}
MONTHS = {**HALL, "site.months": ROWS}
COLDEST = [0, 1, 2, 3, 9, 10, 11]
BUILDING = {"heating_months": "7", "heating_efficiency": "0.82", "heating_carrier": "gas", "process_exhaust": "outside"}
INTAKE = f"options['{HOT}'].inputs.intake"


def on(*options, **changes):
    return compare(case(*(options or (PRESENT, HOT)), changes={**MONTHS, **changes}))


COOLED = {
    "process_exhaust": "hall",
    "heating_months": "0",
    "cooling_months": "3",
    "cooling_performance": "4",
    "heating_carrier": "gas",
}


def line(option, name):
    return sum(entry.amount for entry in option.bill if entry.line == name)


def fresh(option, months):
    """Heat that warms a year's hall air from outdoors to 21 degC, dry air of 1.006 kJ/(kg K). [J]"""
    return sum(option.year.hall_air["exhaust air"][m] * 1006.0 * (21 - OUTDOORS[m]) for m in months)


SATURATED = {5: 0.005425, 10: 0.007661, 11: 0.008197, 15: 0.010694, 25: 0.020173}
"""Humidity ratio of saturated air at 101.325 kPa and these degC, ASHRAE Fundamentals 2017, ch. 1, table 2 (from memory)."""


def condensed(air, outdoors, hall):
    """Heat to be taken from air of one dew point in degC that a hall at 21 degC is to have at another; its water leaves at the latter. [J]"""
    return air * max(SATURATED[outdoors] - SATURATED[hall], 0.0) * (2501e3 + 1860.0 * 21.0 - 4186.0 * hall)


@pytest.mark.parametrize("kept", [15, 25])
def test_a_chiller_dries_the_air_that_replaces_what_is_blown_out_of_a_hall_kept_drier(kept):
    """A humid coast, 25 degC at a dew point of 25 degC all year, hall at 21 degC: at a dew point of 15 degC most of its cooling is water."""
    rows = [
        {
            **row,
            "outdoor_temperature": "25 degC",
            "outdoor_dew_point": "25 degC",
            "hall_dew_point": f"{min(kept, 15)} degC",
        }
        for row in ROWS
    ]
    if kept == 25:
        rows = [{**row, "outdoor_dew_point": "15 degC"} for row in rows]
    hall = {**COOLED, "process_exhaust": "outside", "cooling_months": "12", "heating_carrier": "electricity"}
    option = on(building=hall, **{"site.months": rows, "site.altitude": "0 m"}).option(HOT)
    air = option.year.hall_air["exhaust air"].sum()
    wet = SATURATED[25 if kept == 15 else 15]
    sensible = air * (1006.0 + 1860.0 * wet) * (25 - 21)
    latent = condensed(air, 25, 15) if kept == 15 else 0.0
    note = next(n.text for n in option.notes if n.check == "heat to the hall")
    said = float(note.split("heated months, ")[1].split(" kWh")[0].replace(",", ""))
    assert said == pytest.approx((sensible + latent) / 4.0 / KWH, rel=0.01)
    assert ("to cool and dry it" in note) == (kept == 15)
    assert latent == 0.0 or latent > 4.0 * sensible


def test_hall_air_blown_outdoors_is_replaced_by_air_that_the_heating_warms():
    inside, out = (on(building={**BUILDING, "process_exhaust": place}).option(HOT) for place in ("hall", "outside"))
    # All air of the hopper is hall air: as much as the dryer's air flow in its hours.
    flow = float(np.max(out.operation.air_flow))
    air = out.year.hall_air["exhaust air"]
    assert air.sum() / flow / 3600.0 == pytest.approx(
        6000.0, rel=1e-6
    )  # the production of the case, full air all the time
    gas = fresh(out, COLDEST) / 0.82
    # The humidity of the air makes up to half a hundredth more.
    assert out.hall["gas"] - inside.hall["gas"] > gas
    worth = line(out, "Outdoor air for the hall, heating")
    assert worth == pytest.approx(gas / MMBTU * 8.50, rel=0.008)  # flat-gas, USD/MMBtu
    assert line(inside, "Outdoor air for the hall, heating") == 0.0
    assert line(out, "Hall heating saved") > line(inside, "Hall heating saved")  # less heat stays: a smaller credit
    assert out.heat_out == inside.heat_out
    assert out.energy == inside.energy
    (note,) = (n.text for n in out.notes if n.check == "heat to the hall")
    assert "The dryers blow hall air outdoors, " in note
    assert note.endswith("of gas to warm it in the heated months.")
    assert "blow hall air" not in next(n.text for n in inside.notes if n.check == "heat to the hall")


@pytest.mark.parametrize(("year", "hours"), [(2026, 8760), (2028, 8784)])
def test_means_of_a_year_are_over_its_hours(year, hours):
    """A leap year has 24 hours more; the air blown out stands in the sentence as its mean."""
    option = on(building=BUILDING, **{"case.year": year, "calendar.production_hours": "8000 h"}).option(HOT)
    (note,) = (n for n in option.notes if n.check == "heat to the hall")
    sentence = f"In the hall that is {note.value / hours:.3g} kW on average."
    assert sentence in note.text
    assert sentence != f"In the hall that is {note.value / (8760 + 8784 - hours):.3g} kW on average."
    air = float(option.year.hall_air["exhaust air"].sum()) / hours
    assert f"blow hall air outdoors, {air:.3g} kg/h on average," in note.text


def test_a_hall_that_is_kept_cooler_than_outdoors_is_not_taken_to_be_warm():
    """Three cooled months at 31 °C outdoors and 21 °C in the hall; that the other months are colder than it has no say."""
    rows = [{**row, "outdoor_temperature": "31 degC"} if row["month"] in (6, 7, 8) else row for row in ROWS]
    for option in on(building=COOLED, **{"site.months": rows}).options:
        assert not any("taken to be warmer than outdoors" in note.text for note in option.notes)


def test_each_option_is_told_its_own_heat_in_the_hall():
    """What the sentence counts is what the bill spares, over the price of gas."""
    compared = on(building=BUILDING)
    told = []
    for option in compared.options:
        (note,) = (n.text for n in option.notes if n.check == "heat to the hall")
        spared = -line(option, "Hall heating saved") / 8.50 * MMBTU / KWH
        told.append(float(note.partition("Counted: ")[2].partition(" kWh")[0].replace(",", "")))
        assert told[-1] == pytest.approx(spared, rel=0.005)
    assert len({*told}) == 2


def test_without_a_building_its_effect_is_said_to_be_missing():
    (note,) = (n for n in on().option(HOT).notes if n.check == "heat to the hall")
    told = "on average. Its effect on hall heating and cooling is not counted: the case says nothing of how the hall is heated and cooled."
    assert note.text.endswith(told)


def test_how_warm_a_hall_is_taken_to_be_in_cooled_months_is_told():
    rows = [{**row, "hall_temperature": "31 degC"} if row["month"] == 7 else row for row in ROWS]
    (note,) = (
        n for n in on(building=COOLED, **{"site.months": rows}).option(HOT).notes if n.check == "heat to the hall"
    )
    assert "the hall is taken to be warmer than outdoors, up to 31 °C, as one that is only aired" in note.text


def test_in_cooled_months_colder_air_helps_and_warmer_air_costs():
    damp = [{**row, "hall_dew_point": "11 degC"} for row in ROWS]  # as damp as the air of July: nothing to dry
    warm = [dict(row) for row in damp]
    warm[6] |= {"outdoor_temperature": "31 degC"}
    cooled = {**BUILDING, "heating_months": "0", "cooling_months": "2", "cooling_performance": "4"}
    option = on(building=cooled, **{"site.months": warm}).option(HOT)
    # July outdoors at 31, August at 15 degC; the hall is at 21.
    air = option.year.hall_air["exhaust air"]
    load = air[6] * 1006.0 * 10.0 - air[7] * 1006.0 * 6.0
    assert line(option, "Outdoor air for the hall, cooling") == pytest.approx(load / 4 / KWH * 0.12, rel=0.03)
    assert line(option, "Outdoor air for the hall, heating") == 0.0
    colder = on(building=cooled, **{"site.months": damp}).option(HOT)
    assert line(colder, "Outdoor air for the hall, cooling") < 0.0
    (note,) = (n.text for n in colder.notes if n.check == "heat to the hall")
    assert "of electricity less, since it is colder than the hall, in the cooled ones." in note


@pytest.mark.parametrize("exhaust", ["outside", "hall"])
def test_air_from_outdoors_takes_none_of_the_halls(exhaust):
    option = on(building={**BUILDING, "process_exhaust": exhaust}, **{INTAKE: "outdoors"}).option(HOT)
    assert not option.year.hall_air
    assert line(option, "Outdoor air for the hall, heating") == 0.0


def test_expanded_air_is_none_of_the_halls():
    option = on(PRESENT, AIR, building=BUILDING).option(AIR)
    assert not option.year.hall_air
    assert line(option, "Outdoor air for the hall, heating") == 0.0


def test_regeneration_takes_air_where_its_exhaust_is_led_out():
    led, kept = (
        on(PRESENT, NEW, building={**BUILDING, "regeneration_exhaust": p}).baseline for p in ("outside", "hall")
    )
    air = led.year.hall_air["regeneration exhaust"]
    gas = sum(air[m] * 1006.0 * (21 - OUTDOORS[m]) for m in COLDEST) / 0.82
    assert gas > 0.0
    assert line(led, "Outdoor air for the hall, heating") == pytest.approx(gas / MMBTU * 8.50, rel=0.008)
    assert line(kept, "Outdoor air for the hall, heating") == 0.0


def test_without_a_climate_it_is_said_not_to_be_counted():
    option = compare(case(PRESENT, HOT, changes={"building": BUILDING})).option(HOT)
    assert line(option, "Outdoor air for the hall, heating") == 0.0
    (note,) = (n.text for n in option.notes if n.check == "heat to the hall")
    assert "What warming that takes is not counted: the case knows no air outdoors." in note


BLOCKS = {
    "name": "Gas in two blocks",
    "commodity": "gas",
    "currency": "USD",
    "source": "invented",
    "charges": [
        {
            "type": "energy-blocks",
            "id": "gas",
            "label": "Gas",
            "clause": "1",
            "source": "invented",
            "blocks": [{"up_to": "500 GJ", "price": "16.8 USD/GJ"}, {"price": "14.2 USD/GJ"}],
        },
    ],
}


def on_blocks(plant, *options, **changes):
    inside = {**BUILDING, "process_exhaust": "hall", "usable_share": "60 %"}
    gas = {"own_tariffs": [BLOCKS], "tariffs.gas": BLOCKS["name"]}
    gas |= {} if plant is None else {"tariffs.plant_gas": plant}
    return on(*options, **{**gas, "building": inside, **changes})


def bill_of(months):
    """Of a year's gas by month. [GJ] to [USD]"""
    return sum(min(m, 500.0) * 16.8 + max(m - 500.0, 0.0) * 14.2 for m in months)


def saved_by(option, *led_out):
    """Gas that the heat in the hall saves by month. [GJ]"""
    away = ("resin", "evaporated water", "aftercooler", "flue gas", "compressor house", *led_out)
    heat = sum(v for k, v in option.year.heat_out.items() if k not in away)
    return np.array([heat[m] * 0.6 / 0.82 / GJ if m in COLDEST else 0.0 for m in range(12)])


@pytest.mark.parametrize(("plant", "price"), [(None, 16.8), ("100 GJ", 16.8), ("800 GJ", 14.2)])
def test_heating_saved_is_worth_the_block_that_the_plants_gas_falls_into(plant, price):
    # Present and new dryers are electric: the plant's gas is the hall's and that of others.
    for option in on_blocks(plant, PRESENT, NEW).options:
        saved = saved_by(option)
        assert 1.0 < saved.sum() < 300.0
        assert option.annual_cost["gas"] == pytest.approx(-saved.sum() * price, rel=1e-9)


def test_that_the_hall_is_billed_alone_is_told():
    told = {n.check: n.text for n in on_blocks(None, PRESENT, NEW).option(NEW).notes}
    assert (
        "without tariffs.plant_gas the heating of the hall is billed as if nothing else burned gas" in told["plant gas"]
    )
    assert "plant gas" not in {n.check for n in on_blocks("800 GJ", PRESENT, NEW).option(NEW).notes}


@pytest.mark.parametrize("plant", [None, "498 GJ"])
def test_draws_at_the_stated_values_are_the_comparison(plant):
    found = on_blocks(
        plant, PRESENT, NEW, HOT, **{"building.process_exhaust": "outside", "building.cooling_months": "3"}
    )
    inputs, _ = uncertain_inputs(found.case)
    drawn = outcomes(found.case, inputs, np.full((3, len(inputs)), np.nan))
    for name in (NEW, HOT):
        saving = found.baseline.total_cost - found.option(name).total_cost
        assert drawn.saving[name] == pytest.approx(np.full(3, saving), rel=1e-9)


def test_across_a_block_the_bill_of_the_plant_is_what_changes():
    """The plant's 499 GJ are what it burns with the present dryers in its hall."""
    found = on_blocks("499 GJ", PRESENT, NEW)
    present, new = found.baseline, found.option(NEW)

    before, after = saved_by(present), saved_by(new)
    assert before.max() > 1.0  # without them the plant would be in the second block
    bare = 499.0 + before
    assert present.annual_cost["gas"] == pytest.approx(bill_of(np.full(12, 499.0)) - bill_of(bare), rel=1e-9)
    assert new.annual_cost["gas"] == pytest.approx(bill_of(bare - after) - bill_of(bare), rel=1e-9)


def test_gas_of_the_dryers_and_of_the_hall_fill_the_blocks_together():
    found = on_blocks("498 GJ", PRESENT, HOT, **{"building.process_exhaust": "outside"})
    present, hot = found.baseline, found.option(HOT)
    own = hot.year.energy["process heat", "gas"] / GJ
    air = [fresh(hot, [m]) / 0.82 / GJ if m in COLDEST else 0.0 for m in range(12)]
    # What the plant burns now, less the present dryers' part in the hall, plus the new one's gas and part.
    bare = 498.0 + saved_by(present)
    whole = bare + own + air - saved_by(hot, "exhaust air")
    assert hot.annual_cost["gas"] == pytest.approx(bill_of(whole) - bill_of(bare), rel=5e-3)
    assert bare.min() < 500.0 < bare.max()  # so that it matters where each starts


def test_electricity_that_cools_the_hall_has_the_price_of_its_block():
    electric = {
        **BLOCKS,
        "name": "Power in two blocks",
        "commodity": "electricity",
        "charges": [
            {
                **BLOCKS["charges"][0],
                "blocks": [{"up_to": "100000 kWh", "price": "0.20 USD/kWh"}, {"price": "0.05 USD/kWh"}],
            }
        ],
    }
    months = [{"month": m + 1, "energy": "300 MWh", "peak": "700 kW"} for m in range(12)]
    on_plant = {"own_tariffs": [electric], "tariffs.electricity": electric["name"], "plant_load": {"months": months}}
    option = on(PRESENT, NEW, building=COOLED, **on_plant).option(NEW)
    away = ("resin", "evaporated water", "aftercooler", "flue gas", "compressor house")
    heat = sum(v for k, v in option.year.heat_out.items() if k not in away)
    by_hand = heat[[5, 6, 7]].sum() / 4 / KWH * 0.05  # June to August; 200 MWh deep in the second block
    assert line(option, "Hall cooling added") == pytest.approx(by_hand, rel=1e-9)


@pytest.mark.parametrize("known", ["nothing", "months", "readings"])
def test_cooling_is_billed_by_the_hours_of_the_clock_whatever_is_known_of_the_plant(known, tmp_path):
    plants = {
        "nothing": {},
        "months": {
            "plant_load": {"months": [{"month": m, "energy": "300 MWh", "peak": "450 kW"} for m in range(1, 13)]}
        },
        "readings": {"plant_load": {"file": "readings.csv", "zone": "UTC"}},
    }
    times = np.arange(
        np.datetime64("2026-01-01T05:00"), np.datetime64("2027-01-01T05:00"), np.timedelta64(15, "m")
    )  # New York
    rows = "\n".join(f"{str(t).replace('T', ' ')}Z,400" for t in times)
    (tmp_path / "readings.csv").write_text(f"time,kW\n{rows}")
    shifts = [{"name": "day", "days": ["mon", "tue", "wed", "thu", "fri"], "start": "06:00", "end": "22:00"}]
    day = {"calendar.production_hours": None, "calendar.shifts": shifts}
    power = {"tariffs.electricity": "time-of-use-electricity", "tariffs.power_factor": "90 %", "building": COOLED}
    changes = {**MONTHS, **day, **power, "building.cooling_months": "1", **plants[known]}
    option = compare(build(document(PRESENT, NEW, changes=changes), folder=tmp_path, file="case.toml")).option(NEW)
    away = ("resin", "evaporated water", "aftercooler", "flue gas", "compressor house")
    heat = sum(v for k, v in option.year.heat_out.items() if k not in away)
    # July 2026 has 23 working days of 8 h on-peak and 744 h in all; 6 % tax; demand is left alone.
    price = (184 * 0.165 + 560 * 0.078) / 744 * 1.06
    assert line(option, "Hall cooling added") == pytest.approx(heat[6] / 4 / KWH * price, rel=1e-6)


def test_co2_has_what_the_money_counts_of_the_hall():
    cooled = {**BUILDING, "process_exhaust": "outside", "cooling_months": "2", "cooling_performance": "4"}
    grid = {"finance.electricity_emission": "0.4 kg/kWh"}
    with_hall, without = on(building=cooled, **grid), on(**grid)
    for option in with_hall.options:
        alone = without.option(option.name)
        assert alone.hall == {}
        air = option.year.hall_air.get("exhaust air", np.zeros(12))
        gas = option.hall["gas"]
        away = ("resin", "evaporated water", "aftercooler", "flue gas", "compressor house", "exhaust air")
        heat = sum(v for k, v in option.year.heat_out.items() if k not in away)
        drawn = sum(air[m] * 1006.0 * (21 - OUTDOORS[m]) for m in COLDEST) / 0.82
        assert gas == pytest.approx(drawn - heat[COLDEST].sum() * 0.6 / 0.82, rel=0.02, abs=0.008 * drawn)
        dried = sum(condensed(air[m], OUTDOORS[m] - 5, 5) for m in (6, 7))
        power = (heat[[6, 7]].sum() - sum(air[m] * 1006.0 * (21 - OUTDOORS[m]) for m in (6, 7)) + dried) / 4
        assert option.hall["electricity"] == pytest.approx(power, rel=0.03, abs=50 * KWH)
        # 53.06 kg/MMBtu of gas, EPA.
        more = gas / MMBTU * 53.06 + option.hall["electricity"] / KWH * 0.4
        assert option.emissions - alone.emissions == pytest.approx(more, rel=2e-3)
    assert with_hall.baseline.emissions < without.baseline.emissions  # its heat stays in the hall
