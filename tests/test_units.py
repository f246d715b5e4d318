"""The border between text and SI: traps, published constants, round trips, sentences, pydantic."""

from __future__ import annotations

import copy
import pickle
import re
import subprocess
import sys
from typing import Annotated

import numpy as np
import pint
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from pydantic import BaseModel, ConfigDict, Field, ValidationError

from energy.errors import UnitError
from energy.units import KINDS, SI, Quantity, _parse, from_unit, parse, show, shown_unit, to_unit, with_unit
from energy.units.days import iso_day
from energy.units.kinds import TABLES

PINT = pint.UnitRegistry()
"""Pint as it comes, not the registry of the code under test."""

# What the table means, in names that pint as it comes understands.
_NAMES = """
degC=kelvin degF=rankine delta_degC=kelvin delta_degF=rankine um=micrometer t=metric_ton
lb=avoirdupois_pound ft=international_foot in=international_inch L=liter gal=US_liquid_gallon
Mcf=(1000*foot**3) ccf=(100*foot**3) h=hour cfm=(foot**3/minute) acfm=(foot**3/minute) min=minute
hp=(550*foot*force_pound/second) Btu=Btu_it kBtu=(1e3*Btu_it) MMBtu=(1e6*Btu_it) therm=(1e5*Btu_it)
TR=(12000*Btu_it/hour) kcal=(1e3*international_calorie) day=(24*hour) week=(168*hour)
varh=(volt*ampere*hour) kvarh=(1e3*volt*ampere*hour) Mvarh=(1e6*volt*ampere*hour)
year=(8760*hour) month=(730*hour) Torr=torr inH2O=(inch*g_0*1000*kilogram/meter**3)
"""
AS_PINT: dict[str, str] = dict(pair.split("=") for pair in _NAMES.split())
AFFINE = {"temperature", "pressure"}
NO_DIMENSION = {"share", "ratio", "moisture"}
ALL_UNITS = [(kind, unit) for kind, table in TABLES.items() for unit in table]


def in_pint(unit: str) -> float:
    """Factor to SI of a unit of the table, by pint."""
    text = unit.replace("short ton", "US_ton").replace("ton of refrigeration", "TR")
    text = re.sub(r"(?<=[A-Za-z])([23])\b", r"**\1", text)
    text = re.sub(r"[A-Za-z_]\w*", lambda m: AS_PINT.get(m[0], m[0]), text)
    text = re.sub(r"(?<=\w) (?=[\w(])", "*", text)
    # "kW/100*cfm" means per hundred cfm.
    text = re.sub(r"/(10+)\*(\([^()]*\)|\w+(?:\*\*\d)?)", r"/(\1*\2)", text)
    return float(PINT.parse_expression(text).to_base_units().magnitude)


LINEAR = [
    (kind, unit)
    for kind, unit in ALL_UNITS
    if kind not in {*AFFINE, *NO_DIMENSION, "gas flow", "rate"}
    and unit != "kcal/mol"  # the thermochemical calorie, tested below
    and not KINDS[kind].si.startswith("money")
]


@pytest.mark.parametrize(("kind", "unit"), LINEAR)
def test_every_factor_of_the_table_is_that_of_pint(kind, unit):
    # Pint counts moles and grams in its own base; kg, m, s, K and mol are SI, so base units compare directly.
    assert TABLES[kind][unit].factor == pytest.approx(in_pint(unit), rel=1e-12)


@pytest.mark.parametrize("unit", ["kPa", "MPa", "mbar", "bar", "psi"])
@pytest.mark.parametrize(("gauge", "mark"), [(True, "(g)"), (True, "g"), (False, "(a)"), (False, "a")])
def test_every_pressure_is_that_of_pint_over_the_standard_atmosphere(unit, gauge, mark):
    expected = 3.5 * PINT.Quantity(1.0, unit).to("Pa").magnitude + gauge * PINT.Quantity(1.0, "atm").to("Pa").magnitude
    assert parse(f"3.5 {unit}{mark}", "pressure") == pytest.approx(expected, rel=1e-12)


@pytest.mark.parametrize(("text", "unit"), [("-40 degF", "degF"), ("180 degF", "degF"), ("82 degC", "degC")])
def test_temperatures_are_those_of_pint(text, unit):
    number = float(text.split()[0])
    assert parse(text, "temperature") == pytest.approx(PINT.Quantity(number, unit).to("K").magnitude, rel=1e-12)


# ---- published figures ----


@pytest.mark.published(
    "NIST SP 811 (2008), appendix B.8",
    where="table of factors",
    quoted="read in reference table, computed with pint",
)
@pytest.mark.parametrize(
    ("text", "kind", "unit", "expected", "rel"),
    [  # rel: half of the last printed digit
        ("1 therm", "energy", "kWh", 29.30711, 2e-7),
        ("1 MMBtu", "energy", "kWh", 293.0711, 2e-7),
        ("1 hp", "power", "kW", 0.7457, 7e-5),
        ("1 ton of refrigeration", "power", "kW", 3.516853, 2e-7),
        ("1 TR", "power", "kW", 3.516853, 2e-7),
        ("1 ft3/min", "volume flow", "m3/h", 1.699011, 3e-7),
        ("1 cfm", "volume flow", "m3/h", 1.699011, 3e-7),
        ("1 acfm", "volume flow", "m3/h", 1.699011, 3e-7),
        ("1 lb", "mass", "kg", 0.45359237, 1e-15),
        ("1 lb/h", "mass flow", "kg/h", 0.45359237, 1e-15),
    ],
)
def test_published_conversion(text, kind, unit, expected, rel):
    assert to_unit(parse(text, kind), kind, unit) == pytest.approx(expected, rel=rel)


@pytest.mark.published("exact cubic foot, 0.3048 m", where="1 kW/100 cfm", quoted="computed in reference table")
@pytest.mark.parametrize(
    ("text", "unit", "expected", "half_digit"),
    [
        ("1 kW/100 cfm", "kW/(m3/min)", 0.35315, 5e-6),
        ("18 kW/100 cfm", "kW/(m3/min)", 6.357, 5e-4),
        ("18 kW/100 cfm", "kWh/1000 ft3", 3.000, 5e-4),
        ("18 kW/100 cfm", "kWh/m3", 0.1059, 5e-5),
        ("20.64 kW per 100 cfm", "kW/100 cfm", 20.64, 1e-9),
    ],
)
def test_specific_power_of_compressed_air(text, unit, expected, half_digit):
    assert to_unit(parse(text, "specific power"), "specific power", unit) == pytest.approx(expected, abs=half_digit)


@pytest.mark.published("ideal gas law, dry air", where="mass of one scfm", quoted="computed in reference table")
@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("1 scfm", 5.7702e-4),
        ("1 scfm at 60 degF", 5.7702e-4),
        ("1 scfm at 68 degF", 5.6084e-4),
        ("1 cfm FAD", 5.6084e-4),
    ],
)
def test_mass_of_a_standard_cubic_foot_per_minute(text, expected):
    assert parse(text, "gas flow") == pytest.approx(expected, abs=6e-9)  # a little over half of the last digit


@pytest.mark.published("ideal gas law, dry air", where="1 scfm at 68 degF", quoted="computed in reference table")
def test_scfm_in_normal_cubic_metres():
    assert to_unit(parse("1 scfm at 68 degF", "gas flow"), "gas flow", "Nm3/h") == pytest.approx(1.5624, abs=5e-5)


@pytest.mark.parametrize(
    ("text", "pressure", "temperature"),
    [
        ("1 m3/s at 0 degC", 101325.0, 273.15),
        ("1 m3/s at 20 degC", 101325.0, 293.15),
        ("1 m3/s FAD", 1e5, 293.15),
    ],
)
def test_gas_flow_agrees_with_the_density_of_air_in_coolprop(text, pressure, temperature):
    coolprop = pytest.importorskip("CoolProp.CoolProp")
    # Ideal gas here, real gas there: air is 0.04 to 0.06 % denser at these conditions.
    expected = coolprop.PropsSI("D", "P", pressure, "T", temperature, "Air")
    assert parse(text, "gas flow") == pytest.approx(expected, rel=8e-4)


@pytest.mark.published("IT calorie, 4.1868 J", where="1 kcal/h = 1.163 W", quoted="from memory of ISO 80000-5")
def test_kilocalorie_per_hour():
    assert parse("1 kcal/h", "power") == pytest.approx(1.163, rel=1e-12)


# ---- traps ----


def test_minus_forty_is_the_same_in_both():
    assert parse("-40 degF", "temperature") == pytest.approx(parse("-40 degC", "temperature"), rel=1e-12)
    assert parse("−40 °F", "temperature") == pytest.approx(233.15, rel=1e-12)


def test_a_difference_of_temperature_has_no_zero():
    assert parse("20 degC", "temperature") == pytest.approx(293.15)
    assert parse("20 degC", "temperature difference") == 20.0
    assert parse("18 degF", "temperature difference") == pytest.approx(10.0)
    assert parse("1 kJ/(kg degC)", "specific heat") == parse("1 kJ/(kg K)", "specific heat") == 1000.0
    assert parse("1 kJ/kg/degC", "specific heat") == pytest.approx(1000.0)  # by pint, which refuses products of degC


def test_cfm_is_no_length():
    assert PINT.Quantity(1, "cfm").check("[length]")  # the trap this project steps around
    with pytest.raises(UnitError, match="'3 cfm' is not a length"):
        parse("3 cfm", "length")
    assert parse("1 cfm*h/minute", "volume flow") == pytest.approx(60 * parse("1 acfm", "volume flow"))  # by pint


@pytest.mark.parametrize("unit", ["scfm", "Nm3/h", "SCFM"])
def test_a_standard_flow_is_no_actual_flow(unit):
    with pytest.raises(UnitError, match=r"reference condition; write the flow as it is there, in m3/h or acfm"):
        parse(f"10 {unit}", "volume flow")


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        # By hand, from p / (287.05287 J/(kg K) T): 84,500 Pa and 293.15 K are 1.004164 kg/m3.
        ("320 m3/h at 20 degC and 845 mbar(a)", 320 * 1.004164 / 3600),
        ("320 m³/h at 20 °C and 84.5 kPa(a)", 320 * 1.004164 / 3600),
        ("1 m3/s at -5 degC and 1 bar(a)", 1e5 / 287.05287 / 268.15),
        ("1 cfm at 68 degF and 14.5038 psia", 5.6084e-4),  # 1 bar(a): as scfm at 68 degF
        ("1 acfm at 68 degF and 14.5038 psia", 5.6084e-4),
        ("1 m3/s at 20 degC and 101325 Pa", 101325 / 287.05287 / 293.15),
    ],
)
def test_a_gas_flow_at_any_temperature_and_absolute_pressure(text, expected):
    assert parse(text, "gas flow") == pytest.approx(expected, rel=1e-5)


@pytest.mark.parametrize(
    "condition",
    [
        "20 degC and 845 mbar",
        "20 degC and 1 bar(g)",
        "20 and 1 bar(a)",
        "2.2.2 degC and 1 bar(a)",
        "20 degC and 0 bar(a)",
    ],
)
def test_a_gas_flow_at_no_condition_that_can_be_is_refused(condition):
    with pytest.raises(UnitError, match="is not a gas flow with its reference condition"):
        parse(f"10 m3/h at {condition}", "gas flow")


@pytest.mark.parametrize("unit", ["cfm", "acfm", "CFM", "m3/h", "m³/min", "L/s"])
def test_a_gas_flow_without_its_condition_is_refused(unit):
    with pytest.raises(UnitError, match=r"does not say at which condition .*; write (scfm|m3|L)"):
        parse(f"10 {unit}", "gas flow")


def test_gauge_and_absolute():
    assert parse("95 psig", "pressure") == pytest.approx(95 * 6894.757293168 + 101325.0, rel=1e-12)
    assert parse("95 psia", "pressure") == pytest.approx(95 * 6894.757293168, rel=1e-12)
    same = [parse(t, "pressure") for t in ("7 bar(g)", "7 barg", "700 kPa(g)", "700 kPag", "0.7 MPa(g)", "7 bar gauge")]
    assert same == pytest.approx([801325.0] * 6, rel=1e-12)
    assert parse("0 psig", "pressure") == parse("1 atm", "pressure") == 101325.0
    assert parse("0 bar(g)", "pressure", gauge_reference=80000.0) == 80000.0
    assert to_unit(180000.0, "pressure", "bar(g)", gauge_reference=80000.0) == pytest.approx(1.0)
    assert parse("7 bar", "pressure difference") == 7e5


@pytest.mark.parametrize("unit", ["bar", "kPa", "MPa", "mbar", "psi"])
def test_a_pressure_that_says_neither_is_refused(unit):
    with pytest.raises(UnitError, match=f"'7 {unit}': {unit} does not say gauge or absolute; write {unit}"):
        parse(f"7 {unit}", "pressure")


@pytest.mark.parametrize(
    ("text", "kind"), [("-2 bar(g)", "pressure"), ("-300 degC", "temperature"), ("-1 K", "temperature")]
)
def test_below_absolute_zero_is_refused(text, kind):
    with pytest.raises(UnitError, match="below absolute zero"):
        parse(text, kind)


@pytest.mark.parametrize(
    ("text", "kind", "words"),
    [
        ("1 MBtu", "energy", "write kBtu or MMBtu"),
        ("1 MBtu/h", "power", "write kBtu/h or MMBtu/h"),
        ("1 ton", "mass", "write t or short ton"),
        ("1 ton/h", "mass flow", "write t/h or short ton/h"),
        ("80 EUR/ton", "price per mass", "write t or short ton"),
        ("1 slpm", "power", "is not a power"),  # to pint a litre times an atmosphere per minute
        ("1 Mlb/h", "mass flow", "is not a mass flow"),  # a thousand pounds in US plants, a million to pint
        ("1 hPa", "specific power", "is not a specific power"),
        ("1 ton", "power", "write ton of refrigeration"),
        ("2 g/kg", "moisture", "write g/kg wet basis or g/kg dry basis"),
    ],
)
def test_a_unit_of_two_meanings_is_refused(text, kind, words):
    with pytest.raises(UnitError, match=words):
        parse(text, kind)


def test_moisture_is_on_dry_basis_inside():
    assert parse("20 %", "moisture") == pytest.approx(0.25)  # 20 g of water in 100 g of wet resin, so 20 to 80
    assert parse("20 % wet basis", "moisture") == parse("20 % (wet basis)", "moisture") == parse("20%", "moisture")
    assert parse("20 % dry basis", "moisture") == 0.2
    assert parse("2000 ppm", "moisture") == pytest.approx(2 / 998)
    assert parse("200 ppm dry basis", "moisture") == pytest.approx(2e-4)
    assert parse("2 g/kg dry basis", "moisture") == pytest.approx(2e-3)
    assert to_unit(0.25, "moisture", "% wet basis") == pytest.approx(20.0)
    with pytest.raises(UnitError, match="write less than 100 %"):
        parse("100 %", "moisture")
    assert parse("100 % dry basis", "moisture") == 1.0


def test_a_year_has_8760_hours():
    assert parse("1 year", "time") == 8760 * 3600 == 12 * parse("1 month", "time")
    assert parse("8760 kWh/year", "power") == pytest.approx(1000.0)  # by pint, whose own year has 365.25 days


def test_molar_calories_are_thermochemical():
    assert parse("12 kcal/mol", "molar energy") == pytest.approx(PINT.Quantity(12, "kcal/mol").to("J/mol").magnitude)


# ---- money ----


@pytest.mark.parametrize(
    ("text", "kind", "expected"),
    [
        ("0.12 USD/kWh", "price per energy", 0.12 / 3.6e6),
        ("9.50 EUR/MMBtu", "price per energy", 9.5 / 1055055852.62),
        ("1.1 USD/therm", "price per energy", 1.1 / 105505585.262),
        ("3.2 USD/m3", "price per volume", 3.2),
        ("0.4 USD/1000 ft3", "price per volume", 0.4 / 28.316846592),
        ("0.4 USD/Mcf", "price per volume", 0.4 / 28.316846592),
        ("2 USD/1000 gal", "price per volume", 2 / 3.785411784),
        ("2 USD per 1,000 gallons", "price per volume", 2 / 3.785411784),
        ("1.2 USD/kg", "price per mass", 1.2),
        ("80 EUR/t", "price per mass", 0.08),
        ("14 USD/kW per month", "price per power", 0.014),
        ("14 USD/kW", "price per power", 0.014),
        ("168 USD/kW/year", "price per power", 0.014),
        ("38000 USD", "money", 38000.0),
        ("38,000 USD", "money", 38000.0),
        ("-500 CHF", "money", -500.0),
        ("1800 USD/year", "money per year", 1800.0),
        ("150 USD per month", "money per year", 1800.0),
        ("0.37 kg/kWh", "emission factor", 0.37 / 3.6e6),
        ("200 g/kWh", "emission factor", 0.2 / 3.6e6),
        ("0.823 lb/kWh", "emission factor", 0.823 * 0.45359237 / 3.6e6),
        ("53.06 kg CO2/MMBtu", "emission factor", 53.06 / 1055055852.62),
        ("8 %", "rate", 0.08),
        ("8 %/year", "rate", 0.08),
        ("8 % per year", "rate", 0.08),
    ],
)
def test_money_emission_and_rate(text, kind, expected):
    assert parse(text, kind) == pytest.approx(expected, rel=1e-12)


@pytest.mark.published("40 CFR 98, tables C-1 and NN-1", where="natural gas, HHV", quoted="read in reference table")
def test_emission_factor_of_natural_gas():
    factor = parse("53.06 kg/MMBtu", "emission factor")
    assert to_unit(factor, "emission factor", "kg/kWh") == pytest.approx(0.181048, abs=5e-7)


def test_another_currency_is_refused():
    assert parse("5 EUR/kWh", "price per energy", currency="EUR") > 0
    with pytest.raises(UnitError, match=r"^Day price: '5 EUR/kWh' is in EUR, but the currency here is USD; write"):
        parse("5 EUR/kWh", "price per energy", label="Day price", currency="USD")


@pytest.mark.parametrize("text", ["5 $/kWh", "5 usd/kWh", "5 USD", "5 USD/kg", "5 USD/kW", "5"])
def test_no_price_per_energy(text):
    with pytest.raises(
        UnitError, match=r"(is not a price per energy|has no unit); write a number and one of USD/kWh, .*currency code"
    ):
        parse(text, "price per energy")


# ---- numbers and sentences ----


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        *(("4 kW", 4000.0), ("4kW", 4000.0), ("  4   kW ", 4000.0), ("+4 kW", 4000.0), ("−4 kW", -4000.0)),
        *(("1e3 W", 1000.0), ("1e3W", 1000.0), ("1.5E-1 kW", 150.0), (".5 kW", 500.0), ("5. kW", 5000.0)),
        *(("1,200.5 kW", 1200500.0), ("1_200 kW", 1200000.0), ("1,234,567 W", 1234567.0), ("007 W", 7.0)),
        # in India groups of two stand before the last three digits
        *(("1,50,000 W", 150e3), ("15,30,232.73 W", 1530232.73), ("1,00,00,000 W", 1e7), ("-1,50,000 W", -150e3)),
    ],
)
def test_numbers(text, expected):
    assert parse(text, "power") == pytest.approx(expected, rel=1e-12)


@pytest.mark.parametrize(
    ("text", "kind", "expected"),
    [
        *(("9,6 kg", "mass", 9.6), ("0,4 kV", "voltage", 400.0), ("80,5 %", "share", 0.805), ("0,95", "share", 0.95)),
        *(("68,5 °C", "temperature", 341.65), ("-28,5 degC", "temperature", 244.65), ("−0,5 kW", "power", -500.0)),
        *(("12,34 kW", "power", 12340.0), ("1500,5 kW", "power", 1500500.0), ("1,5e3 W", "power", 1500.0)),
        *(("0,0045 kg", "mass", 0.0045), ("0,12 EUR/kWh", "price per energy", 0.12 / 3.6e6)),
        # three digits behind a comma are a group of thousands, as ever
        *(("1,200 kW", "power", 1.2e6), ("9,600 kg", "mass", 9600.0), ("1,200.5 kW", "power", 1200500.0)),
    ],
)
def test_a_comma_is_a_decimal_one_where_it_can_be_nothing_else(text, kind, expected):
    assert parse(text, kind) == pytest.approx(expected, rel=1e-12)


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        *(("180 000 W", 180e3), ("1 200 kW", 1.2e6), ("-1 234 567 W", -1234567.0), ("1 200,5 kW", 1200.5e3)),
        # the narrow, the thin and the fixed space of print
        *(("180\u202f000 W", 180e3), ("1\u2009200.5 kW", 1200.5e3), ("21\u00a0000 W", 21e3)),
    ],
)
def test_spaces_part_thousands(text, expected):
    assert parse(text, "power") == pytest.approx(expected, rel=1e-12)
    number, unit = text.rsplit(" ", 1)
    assert with_unit(number, unit) == text


@pytest.mark.parametrize(
    "text",
    [
        *(
            "0,200 kW",
            "1,2000 kW",
            "1.200,5 kW",
            "1 20 kW",
            "1 2000 kW",
            "1 200 50 kW",
            "0 200 kW",
            "1 200,500 kW",
            "1.5.2 kW",
            "1_00 kW",
            "1,20,00 W",
            "120,00,000 W",
            "1,20,0000 W",
        ),
        *("1234,567 W", "1,5.2 kW", "1,2,3 W", "1,2_3 W", "00,2000 W"),
    ],
)
def test_a_number_that_can_be_read_two_ways_is_refused(text):
    with pytest.raises(
        UnitError,
        match=r"write a decimal point or one comma .* as in 7955\.25 or 7955,25; commas may stand between groups of three digits",
    ):
        parse(text, "power")


@pytest.mark.parametrize(
    "value",
    ["4", 4, 4.0, "4 kg", "kW", "", "nan kW", "inf kW", "four kW", "4 kW/h", True, None, [4]],
)
def test_no_power(value):
    with pytest.raises(
        UnitError,
        match=r"^Blower power: .* (is not a power|has no unit); write a number and one of W, kW, MW, hp, Btu/h",
    ):
        parse(value, "power", label="Blower power")


def test_the_sentence_quotes_what_was_written():
    with pytest.raises(UnitError, match=r"^Blower power: '4 kg' is not a power; write"):
        parse("4  kg", "power", label="Blower power")
    with pytest.raises(UnitError, match=r"^'4' has no unit; write"):
        parse(4, "power")
    with pytest.raises(UnitError, match="too large a number"):
        parse("1e999 W", "power")


@pytest.mark.parametrize("kind", [kind for kind in KINDS if kind not in ("share", "ratio")])
@pytest.mark.parametrize("value", ["4", 4, 4.5])
def test_a_bare_number_is_refused_for_every_kind_with_a_unit(kind, value):
    with pytest.raises(UnitError, match=f"'{value}' has no unit; write a number and") as error:
        parse(value, kind)
    assert KINDS[kind].units[0] in str(error.value)


def test_a_share_may_be_bare():
    assert (
        parse("35 %", "share")
        == parse(0.35, "share")
        == parse("0.35", "share")
        == parse(np.float64(0.35), "share")
        == 0.35
    )
    assert parse(3, "ratio") == 3.0
    assert parse("2.5 kg/kg", "ratio") == parse("2.5 lb per lb", "ratio") == parse("2.5", "ratio") == 2.5
    with pytest.raises(UnitError, match="is not a ratio"):
        parse("2.5 lb/kg", "ratio")
    for bad in (float("nan"), float("inf"), "0.35 kW"):
        with pytest.raises(UnitError, match="is not a share; write a number, or a number and %"):
            parse(bad, "share")


def test_an_unknown_kind_names_the_nearest():
    with pytest.raises(UnitError, match="'powr' is not a kind of quantity; did you mean 'power'"):
        parse("4 kW", "powr")
    with pytest.raises(UnitError, match="write si or us"):
        shown_unit("power", "imperial")


# ---- spellings ----


@pytest.mark.parametrize(
    ("one", "other", "kind"),
    [
        *(
            ("5 °C", "5 degC", "temperature"),
            ("5 deg C", "5 degC", "temperature"),
            ("5 C", "5 degC", "temperature"),
        ),
        *(
            ("5 m³/h", "5 m3/h", "volume flow"),
            ("5 m^3/h", "5 m3/h", "volume flow"),
            ("5 m**3 / hr", "5 m3/h", "volume flow"),
        ),
        *(("5 µm", "5 um", "length"), ("5 μm", "5 um", "length"), ("5 lbs/hr", "5 lb/h", "mass flow")),
        *(("5 kJ/(kg·K)", "5 kJ/(kg K)", "specific heat"), ("5 kJ/(kg*K)", "5 kJ/(kg K)", "specific heat")),
        *(("5 kJ/kg/K", "5 kJ/(kg K)", "specific heat"), ("5 W*h/kg", "5 Wh/kg", "specific energy")),
        *(
            ("5 kWh per kg", "5 kWh/kg", "specific energy"),
            ("5 kwh", "5 kWh", "energy"),
            ("5 BTU", "5 Btu", "energy"),
        ),
        *(
            ("5 hcf", "5 ccf", "volume"),
            ("5 Dth", "50 therm", "energy"),
            ("5 hours", "5 h", "time"),
            ("5 days", "5 day", "time"),
            ("5 PSIG", "5 psig", "pressure"),
        ),
        *(("600 fpm", "600 ft/min", "velocity"), ("600 FPM", "600 ft/min", "velocity")),
        *(("200 pph", "200 lb/h", "mass flow"), ("500 ft3/min FAD", "500 cfm FAD", "gas flow")),
        *(("2000 lb/h", "1 short ton/h", "mass flow"), ("5 delta_degF", "5 degF", "temperature difference")),
    ],
)
def test_spellings_of_the_same_unit(one, other, kind):
    assert parse(one, kind) == pytest.approx(parse(other, kind), rel=1e-12)


@pytest.mark.parametrize(
    ("kind", "unit", "pint_unit", "si"),
    [
        ("length", "km", "km", "m"),
        ("specific energy", "kW*h/lb", "kW*h/lb", "J/kg"),
        ("mass flow", "t/day", "metric_ton/day", "kg/s"),
        ("velocity", "inch/minute", "inch/min", "m/s"),
        ("price per energy", "USD/TJ", "1/TJ", "1/J"),
    ],
)
def test_what_is_not_in_the_table_goes_to_pint(kind, unit, pint_unit, si):
    expected = PINT.Quantity(1.0, pint_unit).to(si).magnitude
    assert parse(f"1 {unit}", kind) == pytest.approx(expected, rel=1e-12)


@pytest.mark.parametrize(
    "unit",
    ["__class__", "W if 1", "W**99999999", "W()", "(W", "W)", "W/", "/W", "W:", "W\n\nW", "lambda", "%W"],
)
def test_nonsense_reaches_no_interpreter(unit):
    with pytest.raises(UnitError):
        parse(f"4 {unit}", "power")


@given(st.text(max_size=20), st.sampled_from(sorted(KINDS)))
def test_any_text_is_a_finite_number_or_a_unit_error(text, kind):
    try:
        read = parse(text, kind)
    except UnitError:
        return
    assert np.isfinite(read)


# ---- days ----


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        *(("28.11.2026", "2026-11-28"), ("3.4.2026", "2026-04-03"), (" 03. 04. 2026 ", "2026-04-03")),
        *(
            (text, text)
            for text in ("2026-11-28", "3/4/2026", "31.2.2026", "11.28.2026", "28.11.26", "28.11.", "", "x")
        ),
    ],
)
def test_a_day_with_points_has_its_day_first_and_others_stay_as_written(text, expected):
    assert iso_day(text) == expected


# ---- round trips, arrays, cache ----


@pytest.mark.parametrize(("kind", "unit"), ALL_UNITS)
@settings(max_examples=15)
@given(x=st.floats(1e-3, 90.0))
def test_round_trip(kind, unit, x):
    if KINDS[kind].si.startswith("money"):
        unit = f"USD{unit}"
    if unit == "kg/kg wet basis" or unit == "kg/kg (wet basis)":
        x /= 100.0  # a share of water below one
    si = from_unit(x, kind, unit)
    # Relative to the zero of the unit where it has one: 273.15 K or an atmosphere is subtracted again.
    zero = abs(to_unit(0.0, kind, unit))
    assert to_unit(si, kind, unit) == pytest.approx(
        x, rel=1e-12, abs=1e-12 * max(zero, 1.0) if kind in AFFINE | {"moisture"} else 0
    )
    assert parse(f"{x!r} {unit}", kind) == si


@pytest.mark.parametrize(
    ("kind", "unit"), [("temperature", "degF"), ("moisture", "ppm"), ("pressure", "psig"), ("power", "hp")]
)
def test_arrays_equal_each_scalar(kind, unit):
    x = np.array([[1.0, 20.0], [300.0, 4000.0]])
    si = from_unit(x, kind, unit)
    assert si.shape == x.shape
    assert [from_unit(float(v), kind, unit) for v in x.flat] == list(si.flat)
    assert to_unit(si, kind, unit) == pytest.approx(x, rel=1e-9)
    assert isinstance(from_unit(1, kind, unit), float)
    with pytest.raises(UnitError, match="is not"):
        to_unit(x, kind, "furlong")


def test_text_is_parsed_once():
    before = _parse.cache_info()
    for _ in range(3):
        parse("123.456 kW", "power", label="one")
        parse("123.456 kW", "power", label="other")
    after = _parse.cache_info()
    assert (after.misses - before.misses, after.hits - before.hits) == (1, 5)


def test_common_units_need_no_pint():
    code = "import sys; from energy.units import KINDS, parse\n"
    code += "for k in KINDS.values():\n  for u in k.units: parse(f'0.5 {u}', k.name)\n"
    code += "sys.exit('pint' in sys.modules or 'pydantic' in sys.modules)"
    assert subprocess.run([sys.executable, "-c", code], check=False).returncode == 0


# ---- showing ----


@pytest.mark.parametrize("system", ["si", "us"])
@pytest.mark.parametrize("kind", KINDS)
def test_a_shown_unit_is_an_accepted_unit(kind, system):
    unit = shown_unit(kind, system, "EUR")
    value = from_unit(12.5, kind, unit)
    text = show(value, kind, system, currency="EUR", digits=12)
    assert text.startswith("12.5")
    assert parse(text, kind, currency="EUR") == pytest.approx(value, rel=1e-11)


@pytest.mark.parametrize("kind", KINDS)
def test_si_and_us_say_the_same(kind):
    value = from_unit(12.5, kind, shown_unit(kind, "si"))
    us = shown_unit(kind, "us")
    assert from_unit(to_unit(value, kind, us), kind, us) == pytest.approx(value, rel=1e-12)


@pytest.mark.parametrize(
    ("value", "kind", "unit", "digits", "expected"),
    [
        (0.025, "mass flow", "si", 3, "90 kg/h"),
        (355.15, "temperature", "si", 3, "82 °C"),
        (355.15, "temperature", "us", 4, "179.6 °F"),
        (233.15, "temperature", "degF", 3, "-40 °F"),
        (1234567.0, "power", "kW", 6, "1,234.57 kW"),
        (1234567.0, "power", "W", 3, "1,230,000 W"),
        (999.96, "length", "m", 3, "1,000 m"),
        (0.00123456, "length", "m", 3, "0.00123 m"),
        (0.000123456, "length", "m", 3, "0.000123 m"),
        (1.5e-12, "diffusivity", "si", 3, "1.5e-12 m²/s"),
        (-0.0, "length", "m", 3, "0 m"),
        (38000.0, "money", "si", 3, "38,000 USD"),
        (0.12 / 3.6e6, "price per energy", "us", 3, "0.12 USD/kWh"),
        (0.014, "price per power", "si", 3, "14 USD/kW/month"),
        (0.35, "share", "si", 3, "35 %"),
        (3.0, "ratio", "si", 3, "3"),
        (0.25, "moisture", "si", 3, "20 % wet basis"),
        (1.0, "gas flow", "kg/s", 3, "1 kg/s"),
        (float("nan"), "power", "kW", 3, "nan kW"),
    ],
)
def test_show(value, kind, unit, digits, expected):
    assert show(value, kind, unit, digits=digits, currency="USD") == expected


# ---- pydantic ----


class Inputs(BaseModel):
    model_config = ConfigDict(frozen=True, extra="forbid")
    blower_power: Annotated[float, Quantity("power", label="Blower power", shown="kW"), Field(gt=0)]
    purge: Annotated[float, Quantity("share", label="Purge"), Field(ge=0, lt=1)] = 0.15
    inlet: Annotated[float | None, Quantity("temperature", label="Inlet")] = None
    outlet: Annotated[float, Quantity("temperature", label="Outlet"), Field(le=500.0)] | None = None


def test_a_field_reads_a_text():
    inputs = Inputs(blower_power="4 kW", inlet="20 degC", outlet="82 degC", purge="12 %")
    assert inputs.blower_power == 4000.0
    assert (inputs.inlet, inputs.outlet, inputs.purge) == (pytest.approx(293.15), pytest.approx(355.15), 0.12)
    assert Inputs(blower_power="4 kW").inlet is None
    assert Inputs(blower_power="4 kW", inlet=None, outlet=None, purge=0.2).purge == 0.2


def test_a_field_keeps_the_text_for_saving():
    inputs = Inputs(blower_power="4 kW", outlet="82 degC", purge=0.2)
    assert (inputs.blower_power.text, inputs.outlet.text, inputs.purge.text) == ("4 kW", "82 degC", "0.2")
    again = Inputs(**inputs.model_dump())
    assert again == inputs
    assert again.blower_power.text == "4 kW"


def test_a_field_reads_a_table():
    table = {
        "value": "4 kW",
        "low": "3 kW",
        "high": "5 kW",
        "basis": "nameplate",
        "note": "plate of the motor",
    }
    assert Inputs(blower_power=table).blower_power == 4000.0
    with pytest.raises(ValidationError, match="Blower power: the table has no value; write"):
        Inputs(blower_power={"low": "3 kW"})
    with pytest.raises(ValidationError, match="Blower power: '4' has no unit"):
        Inputs(blower_power={"value": 4})


@pytest.mark.parametrize("value", ["4", 4, 4.0, np.float64(4.0)])
def test_a_field_refuses_a_bare_number(value):
    with pytest.raises(ValidationError) as error:
        Inputs(blower_power=value)
    assert f"Blower power: '{value}' has no unit; write a number and one of W, kW, MW" in str(error.value)


def test_a_field_takes_si_and_holds_its_limits():
    assert Inputs(blower_power=SI(4000.0)).blower_power == 4000.0
    for wrong in (
        {"blower_power": "-4 kW"},
        {"blower_power": "4 kW", "purge": 1.0},
        {"blower_power": "4 kW", "outlet": "600 K"},
    ):
        with pytest.raises(ValidationError, match="Input should be"):
            Inputs(**wrong)
    with pytest.raises(ValidationError):
        Inputs(blower_power=None)


def test_the_schema_for_forms_can_be_made():
    assert set(Inputs.model_json_schema()["properties"]) == {"blower_power", "purge", "inlet", "outlet"}
    marker = next(m for m in Inputs.model_fields["blower_power"].metadata if isinstance(m, Quantity))
    assert (marker.kind, marker.shown) == ("power", "kW")


def test_a_marker_with_a_wrong_unit_is_refused_when_written():
    with pytest.raises(UnitError, match="'kg' is not a power"):
        Quantity("power", shown="kg")
    with pytest.raises(UnitError, match="is not a kind"):
        Quantity("wattage")


def test_si_is_a_float_that_survives_copies():
    si = SI(4000.0, "4 kW")
    for twin in (copy.copy(si), copy.deepcopy(si), pickle.loads(pickle.dumps(si))):
        assert (twin, twin.text, repr(twin)) == (4000.0, "4 kW", "4000.0")
    assert parse(si, "power") == 4000.0
    assert type(parse(si, "power")) is float
    assert SI(1.0).text == ""


def test_what_is_no_quantity_is_told_in_a_line_that_can_be_read():
    for value in ([1] * 3000, {"a": {"b": 1}}, "x " * 5000, "y" * 5000):
        with pytest.raises(UnitError) as error:
            parse(value, "mass flow")
        assert len(str(error.value)) < 2000
        assert "is not a mass flow; write a number and one of kg/h" in str(error.value)


@pytest.mark.parametrize(
    ("quantity", "si", "us"),
    [
        (Quantity("length", shown="mm"), "mm", "in"),  # the wall of a hopper is no matter of feet
        (Quantity("length", shown="m"), "m", "ft"),
        (Quantity("time", shown="min"), "min", "min"),
        (Quantity("gas flow", shown="m3/min FAD"), "m3/min FAD", "cfm FAD"),
        (Quantity("pressure", shown="bar(g)"), "bar(g)", "psig"),
        (Quantity("money per year"), "EUR/year", "EUR/year"),
    ],
)
def test_a_quantity_is_shown_in_its_own_unit_or_what_stands_for_it(quantity, si, us):
    assert (quantity.unit("si", "EUR"), quantity.unit("us", "EUR")) == (si, us)


@pytest.mark.parametrize(
    ("typed", "written"),
    [
        ("−12", "−12 degC"),
        ("-12", "-12 degC"),
        ("1,200.5", "1,200.5 degC"),
        ("−28 degF", "−28 degF"),
        ("abc", "abc"),
        ("", ""),
    ],
)
def test_a_unit_is_put_behind_a_bare_number_with_either_minus_sign(typed, written):
    assert with_unit(typed, "degC") == written


def test_the_minus_sign_that_is_printed_can_be_typed():
    assert parse(with_unit("−40", "degC"), "temperature") == pytest.approx(233.15)
    assert parse("−40 °F", "temperature") == pytest.approx(233.15)
