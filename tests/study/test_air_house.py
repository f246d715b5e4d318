"""The plant's compressor house: enough air, what more of it takes, a known cost, a plausible one."""

from __future__ import annotations

import CoolProp.CoolProp as cp
import numpy as np
import pytest
from cases import AIR, PRESENT, case

from energy.errors import CaseError, OutOfRangeError
from energy.study import air_house, air_price
from energy.study.compare import compare
from energy.study.duty import compressed_air
from energy.study.price_sections import CompressedAir
from energy.tariffs import simple_tariff

MINUTE, KWH = 1 / 60.0, 3.6e6
KILOWATT_MINUTE = 60e3  # kW per m3/min in J/m3
BASE = {"pressure": "7 bar(g)", "pressure_dew_point": "3 degC", "air_dryer_share": "0 %"}
NAMEPLATE = {**BASE, "specific_power": "6 kW/(m3/min)", "control": "load-unload"}
HOUSE = {**NAMEPLATE, "installed_capacity": "12 m3/min FAD", "present_flow": "9 m3/min FAD"}
KNOWN = {"pressure": "7 bar(g)", "pressure_dew_point": "3 degC", "cost": "0.012 USD/m3"}


def house(given, price=0.12 / KWH, atmosphere=101325.0):
    return air_house.house_of(CompressedAir.model_validate(given), atmosphere, price)


def test_enough_air():
    """9 + 1 of 12 m3/min is 83 %."""
    said = air_house.finding(house(HOUSE), 1 * MINUTE, "si")
    assert (said.verdict, said.unit) == ("pass", "m3/min free air")
    assert (said.value, said.limit) == pytest.approx((10.0, 12.0))
    assert said.text == "The compressors would deliver 10 m³/min of 12 m³/min, 83 %; now 9 m³/min."
    assert air_house.extra_capital(house({**HOUSE, "capital_if_larger": "30000 USD"}), 1 * MINUTE) == 0.0


def test_little_left_for_peaks():
    """9 + 2.5 of 12 m3/min is 96 %."""
    said = air_house.finding(house(HOUSE), 2.5 * MINUTE, "si")
    assert said.verdict == "caution"
    assert "96 %" in said.text
    assert said.text.endswith("That leaves little for peaks; log the flow over a week.")


def test_a_bigger_compressor_is_needed():
    """9 + 6 of 12 m3/min: 3 are missing, a quarter of what is installed."""
    said = air_house.finding(house(HOUSE), 6 * MINUTE, "si")
    assert said.verdict == "caution"
    assert said.text == (
        "Needs a bigger compressor: 9 m³/min in use and 6 m³/min added are 3 m³/min or 25 % more than the 12 m³/min installed."
        " Its price is not in the capital; give it as capital_if_larger."
    )
    priced = house({**HOUSE, "capital_if_larger": "30000 USD"})
    assert air_house.missing_flow(priced, 6 * MINUTE) == pytest.approx(3 * MINUTE)
    assert air_house.extra_capital(priced, 6 * MINUTE) == 30000.0
    assert air_house.finding(priced, 6 * MINUTE, "si").text.endswith("12 m³/min installed.")
    in_feet = air_house.finding(priced, 6 * MINUTE, "us")
    assert (in_feet.value, in_feet.limit) == pytest.approx((15 / 0.3048**3, 12 / 0.3048**3))


def test_far_more_than_is_installed_is_told_in_plain_figures():
    """9 + 18 of 12 m3/min: 15 or 125 % too many, to two digits."""
    assert "15 m³/min or 120 % more" in air_house.finding(house(HOUSE), 18 * MINUTE, "si").text


def test_purge_is_drawn_from_the_compressors_too():
    """With a fifth purged, 2.4 m3/min at the dryer are 3 at the compressors: just what is free."""
    purged = house({**HOUSE, "purge_share": "20 %"})
    assert air_house.missing_flow(purged, 2.4 * MINUTE) == 0.0
    assert air_house.missing_flow(purged, 3.2 * MINUTE) == pytest.approx(1 * MINUTE)
    # Each cubic metre at the dryer: 6 kW x slope 0.75 / 0.8.
    assert air_house.marginal_power(purged) == pytest.approx(6 * 0.75 / 0.8 * KILOWATT_MINUTE, rel=1e-12)


def test_marginal_and_average():
    """72 kW at 12 m3/min. At 9: 72 x (0.25 + 0.75 x 0.75) = 58.5 kW, 6.5 each; one more takes 4.5.

    6 more: 3 at 4.5 and 3 at 6 kW.
    """
    plant = house(HOUSE)
    assert air_house.average_power(plant) == pytest.approx(6.5 * KILOWATT_MINUTE, rel=1e-12)
    assert air_house.marginal_power(plant, 1 * MINUTE) == pytest.approx(4.5 * KILOWATT_MINUTE, rel=1e-12)
    assert air_house.marginal_power(plant, 6 * MINUTE) == pytest.approx(5.25 * KILOWATT_MINUTE, rel=1e-12)
    said = air_house.cost_of_more(plant, 1 * MINUTE, "si")
    assert (said.value, said.limit, said.unit) == (pytest.approx(4.5), pytest.approx(6.5), "kW/(m3/min)")
    # Idle shares of 0.5 and 0.1: 6 x 0.5 and 6 x 0.9.
    assert "4.5 kW/(m³/min) under load-unload control (3 kW/(m³/min) to 5.4 kW/(m³/min)" in said.text


def test_a_load_told_as_a_share_is_the_flow():
    shares = {k: v for k, v in HOUSE.items() if k != "present_flow"} | {"present_share": "75 %"}
    assert house(shares).present_flow == pytest.approx(9 * MINUTE)
    assert house({**HOUSE, "present_flow": "0 m3/min FAD"}).present_flow == 0.0
    assert air_house.average_power(house({**HOUSE, "present_flow": "0 m3/min FAD"})) is None


def test_what_is_not_told_is_not_judged():
    plant = house(NAMEPLATE)
    assert air_house.finding(plant, 5 * MINUTE, "si") is None
    assert air_house.average_power(plant) is None
    unknown = air_house.finding(house({**NAMEPLATE, "installed_capacity": "12 m3/min FAD"}), 5 * MINUTE, "si")
    assert (unknown.verdict, unknown.value) == ("caution", None)
    assert "how much is in use is not given" in unknown.text
    assert air_house.finding(house(HOUSE), 0.0, "si") is None
    gone = air_house.finding(house(HOUSE), -10 * MINUTE, "si")
    assert "less than what the present machines take" in gone.text


def isentropic(pressure):
    """kW per m3/min of real air from 1 bar, 20 degC."""
    first = cp.PropsSI("H", "T", 293.15, "P", 1e5, "Air")
    entropy = cp.PropsSI("S", "T", 293.15, "P", 1e5, "Air")
    work = cp.PropsSI("H", "P", pressure, "S", entropy, "Air") - first
    return work * cp.PropsSI("D", "T", 293.15, "P", 1e5, "Air") / KILOWATT_MINUTE


@pytest.mark.published("CoolProp, Air", where="isentropic work, 1 bar 20 degC to 7 bar(g)", quoted="computed")
def test_least_power():
    # Ideal gas is within 0.05 %, by the reference.
    assert house(NAMEPLATE).least_power / KILOWATT_MINUTE == pytest.approx(isentropic(801325.0), rel=5e-4)


@pytest.mark.published(
    "Package specific powers of the trade",
    where="reference B3: 15 (two-stage) to 28 (poor) kW/100 cfm at 100 psig; 16 to 20 usual",
    quoted="read and from memory; 28 kW/100 cfm is 9.9 kW/(m3/min)",
)
@pytest.mark.parametrize(
    ("figure", "grade", "words"),
    [
        (10, "caution", "too little to be true"),
        (14, "caution", "better than packages are"),
        (16, "pass", "packages at this pressure take"),
        (20, "pass", "packages at this pressure take"),
        (27.5, "pass", "packages at this pressure take"),
        (30, "caution", "a poor package"),
    ],
)
def test_a_plausible_specific_power(figure, grade, words):
    given = {**BASE, "pressure": "7.8948 bar(a)", "specific_power": f"{figure} kW/100 cfm"}
    said = air_house.plausible(house(given), "us")
    assert (said.verdict, said.unit) == (grade, "kW/100 cfm")
    assert said.value == pytest.approx(figure)
    assert said.limit == pytest.approx(28, abs=0.3)  # stored as an efficiency of two digits
    assert words in said.text


@pytest.mark.published(
    "Cost of compressed air",
    where="reference B3: 18 kW/100 cfm = 0.1059 kWh/m3 = 0.30 USD/1000 ft3 at 0.10 USD/kWh",
    quoted="computed; the older tip sheet prints 15 to 30 cents per 1000 ft3",
)
def test_a_known_cost_implies_a_specific_power():
    given = {**KNOWN, "pressure": "100 psig", "cost": "0.30 USD/1000 ft3"}
    section = CompressedAir.model_validate(given)
    implied = air_price.implied(section, 0.10 / KWH)
    assert implied / KWH == pytest.approx(0.1059, abs=6e-5)
    plant = house(given, 0.10 / KWH)
    said = air_house.plausible(plant, "us")
    assert said.value == pytest.approx(18.0, rel=1e-9)
    assert said.verdict == "pass"
    assert "at this price of electricity" in said.text
    assert air_house.marginal_power(plant, 1.0) == implied == air_house.average_power(plant)
    assert air_house.cost_of_more(plant, 1.0, "us") is None
    dear = air_house.plausible(house(given, 0.02 / KWH), "us")
    assert dear.verdict == "caution"
    assert "holds more than electricity" in dear.text
    for price in (None, 0.0, float("nan")):
        with pytest.raises(OutOfRangeError, match="electricity has no price above 0"):
            air_price.implied(section, price)


def test_known_cost_prices_free_air():
    """5 m3/min through 500 h a month: 150,000 m3; 1.8 million a year at 0.012 USD."""
    sent = np.full((2, 12), 5.0 * 60 * 500) * [[1.0], [2.0]]
    assert air_price.known_cost(CompressedAir.model_validate(KNOWN), sent) == pytest.approx([21600.0, 43200.0])
    assert air_price.known_cost(CompressedAir.model_validate(NAMEPLATE), sent) is None
    assert air_price.known_cost(None, sent) is None


def test_price_of_a_steady_kilowatt():
    hours = np.array([500.0, 0.0, *[500.0] * 10])
    flat = simple_tariff("electricity", "USD", 0.12 / KWH)
    assert air_price.electricity_price(flat, hours * 3600) == pytest.approx(0.12 / KWH, rel=1e-12)
    assert np.isnan(air_price.electricity_price(flat, 0.0 * hours))
    demo = case(PRESENT, AIR)  # 0.115 USD/kWh and 13 USD/kW/month, through 6000 h
    seconds = np.asarray(demo.calendar.production)
    assert air_price.electricity_price(demo.tariffs["electricity"], seconds) == pytest.approx(
        (0.115 + 12 * 13.0 / 6000) / KWH, rel=1e-12
    )


def test_a_known_cost_in_a_case():
    """kWh of air = cost / price of electricity, whatever the tariff."""
    known = case(PRESENT, AIR, changes={"compressed_air": KNOWN, "tariffs.electricity": "0.12 USD/kWh"})
    assert float(compressed_air(known).marginal_power) == pytest.approx(0.1 * KWH, rel=1e-12)
    option = compare(known).option(AIR)
    air = float(option.year.free_air.sum())
    assert option.carrier("compressed air") == pytest.approx(0.1 * KWH * air, rel=1e-9)
    # At one price per kWh and nothing else, air's electricity costs what the air costs.
    cost = float(air_price.known_cost(known.model.compressed_air, option.year.free_air))
    assert option.carrier("compressed air") / KWH * 0.12 == pytest.approx(cost, rel=1e-9)


def test_pressure_reserve():
    """110 psig where 100 are needed: 10 psi, 5.15 % of compressor power by the reference."""
    gauges = {**NAMEPLATE, "pressure": "8.5842 bar(a)", "pressure_needed": "7.8948 bar(a)"}
    said = air_house.pressure_reserve(house(gauges), "us")
    assert (said.verdict, said.unit) == ("pass", "psi")
    assert said.value == pytest.approx(10.0, abs=2e-3)
    assert said.text.endswith("10 psi above what is needed; without that the compressors would take 5.1 % less.")
    short = air_house.pressure_reserve(house({**NAMEPLATE, "pressure_needed": "7.5 bar(g)"}), "si")
    assert short.verdict == "caution"
    assert "0.5 bar below what is needed" in short.text
    assert air_house.pressure_reserve(house(NAMEPLATE), "si") is None


def test_gauges_count_from_the_air_around_them():
    high = house({**NAMEPLATE, "pressure_needed": "6 bar(g)"}, atmosphere=84556.0)
    assert (high.pressure, high.pressure_needed) == pytest.approx((784556.0, 684556.0))


@pytest.mark.common_practice("a refrigerated air dryer reaches 35 degF or 1.7 degC of pressure dew point")
def test_a_dew_point_below_freezing_needs_a_desiccant_air_dryer():
    dry = {**NAMEPLATE, "pressure_dew_point": "-40 degC"}
    assert air_house.air_dryer(house(dry), "si").verdict == "caution"
    assert air_house.air_dryer(house({**dry, "purge_share": "15 %"}), "si") is None
    assert air_house.air_dryer(house({**dry, "air_dryer_share": "12 %"}), "si") is None
    assert air_house.air_dryer(house(NAMEPLATE), "si") is None
    checks = [f.check for f in air_house.findings(house({**HOUSE, **dry}), 6 * MINUTE, "si")]
    assert checks == ["compressed-air capacity", "power of added air", "specific power of air", "air dryer of the net"]


def said(given, **changes):
    with pytest.raises(CaseError) as error:
        case(PRESENT, AIR, changes={"compressed_air": {**given, **changes}})
    return str(error.value).removeprefix("case.toml: ")


@pytest.mark.parametrize(
    ("changes", "line"),
    [
        (
            {"present_flow": "13 m3/min FAD"},
            "compressed_air.present_flow: 13 m³/min FAD is above the installed capacity of 12 m³/min FAD; up to that is allowed",
        ),
        ({"cost": "0.02 USD/m3"}, "compressed_air.cost: specific_power and cost are given; one of specific_power"),
        (
            {"purge_share": "100 %"},
            "compressed_air.purge_share: '100 %' is not allowed; Air dryer's purge over its inlet",
        ),
        ({"present_share": "50 %"}, "compressed_air.present_share: stands beside present_flow; leave one of them out"),
        (
            {"installed_capacity": None},
            "compressed_air.present_flow: needs installed_capacity beside it, such as 12 m3/min FAD",
        ),
        ({"installed_capacity": "12 m3/min"}, "does not say at which condition the gas is counted"),
        (
            {"capital_if_larger": "30000 EUR"},
            "compressed_air.capital_if_larger: Capital if a bigger compressor is needed",
        ),
        ({"specific_power": None}, "compressed_air.specific_power: none is given; one of specific_power"),
    ],
)
def test_bad_input_is_named(changes, line):
    given = {k: v for k, v in {**HOUSE, **changes}.items() if v is not None}
    assert line in said(given)


@pytest.mark.parametrize(
    ("key", "value"), [("control", "modulating"), ("air_dryer_share", "5 %"), ("purge_share", "15 %")]
)
def test_a_known_cost_has_part_load_and_air_dryer_in_it(key, value):
    expected = f"compressed_air.{key}: stands beside the known cost of air, which has it in; leave it out"
    assert said(KNOWN, **{key: value}) == expected


def test_a_known_cost_where_electricity_is_free_is_told_by_its_key():
    free = case(PRESENT, AIR, changes={"compressed_air": KNOWN, "tariffs.electricity": "0 USD/kWh"})
    with pytest.raises(CaseError, match=r"compressed_air.cost: electricity has no price above 0"):
        compare(free)


@pytest.mark.parametrize("tariff", ["time-of-use-electricity", "apparent-power-electricity"])
def test_a_known_cost_on_a_tariff_that_has_no_one_price_is_told_by_its_key_with_a_way_out(tariff):
    priced = case(PRESENT, AIR, changes={"compressed_air": KNOWN, "tariffs.electricity": tariff})
    with pytest.raises(
        CaseError,
        match=r"compressed_air\.cost: what electricity .* give specific_power or isentropic_efficiency instead \(",
    ):
        compare(priced)
