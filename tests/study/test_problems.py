"""Bad input: one line for each thing wrong, with file, key, what is wrong, what is allowed."""

from __future__ import annotations

import datetime
import re
from pathlib import Path

import pytest
from cases import AIR, BEDS, HOPPER, HOT, MEMBRANE, PRESENT, case, document, resin
from hypothesis import given
from hypothesis import strategies as st

from energy.errors import CaseError
from energy.study.case import build, example_text, load_case, read_document
from energy.study.compare import compare
from energy.study.paths import changed

INPUTS = f"options['{PRESENT}'].inputs"


def lines(changes=None, *options, of=None):
    """What is said of the example with these changes."""
    given = changed(of or document(*(options or (PRESENT, HOT))), changes or {})
    with pytest.raises(CaseError) as error:
        compare(build(given, file="my.toml"))
    return str(error.value).splitlines()


ONE_LINE = [
    # throughput: the sign, no unit, a unit of another kind, no quantity at all
    (
        {f"{HOPPER}.throughput": "-5 kg/h"},
        "{hopper}.throughput: '-5 kg/h' is not allowed; Throughput must be more than 0",
    ),
    (
        {f"{HOPPER}.throughput": "0 lb/h"},
        "{hopper}.throughput: '0 lb/h' is not allowed; Throughput must be more than 0",
    ),
    (
        {f"{HOPPER}.throughput": {"value": "-5 kg/h"}},
        "{hopper}.throughput: '-5 kg/h' is not allowed; Throughput must be",
    ),
    (
        {f"{HOPPER}.throughput": 90},
        "{hopper}.throughput: Throughput: '90' has no unit; write a number and one of kg/h",
    ),
    (
        {f"{HOPPER}.throughput": "90"},
        "{hopper}.throughput: Throughput: '90' has no unit; write a number and one of kg",
    ),
    (
        {f"{HOPPER}.throughput": "90 kW"},
        "{hopper}.throughput: Throughput: '90 kW' is not a mass flow; write a number and one",
    ),
    (
        {f"{HOPPER}.throughput": float("nan")},
        "{hopper}.throughput: Throughput: 'nan' is not a mass flow; write a number",
    ),
    (
        {f"{HOPPER}.throughput": ["90 kg/h"]},
        "{hopper}.throughput: Throughput: ['90 kg/h'] is not a mass flow; write a number",
    ),
    (
        {f"{HOPPER}.throughput": {"low": "80 kg/h"}},
        "{hopper}.throughput: Throughput: the table has no value; write value =",
    ),
    ({f"{HOPPER}.throughput": None}, "{hopper}.throughput: is missing"),
    # a machine smaller than its duty, more hours than a year has
    (
        {f"options['{HOT}'].built_for": "89 kg/h"},
        f"options['{HOT}'].built_for: 89 kg/h is less than the hopper's throughput of 90 kg/h; a machine built for",
    ),
    (
        {"calendar.production_hours": "8761 h"},
        "calendar.production_hours: 8,761 h is more than 2026 has; up to 8,760 h are allowed",
    ),
    (
        {"calendar.production_hours": "8785 h", "case.year": 2024},
        "calendar.production_hours: '8785 h' is not allowed; Production hours a year must be at most 8,784 h",
    ),
    (
        {"tariffs.electricity": "flat-electricity", "tariffs.electricity_demand": "13 USD/kW/month"},
        "tariffs.electricity_demand: stands beside one price of electricity; a tariff has its own charges, so leave it out",
    ),
    (
        {"tariffs.electricity": "0.12 USD/kWh", "tariffs.electricity_demand": "13 USD/kWh"},
        "tariffs.electricity_demand: ",
    ),
    (
        {"tariffs.electricity": "0.12 USD/kWh", "tariffs.electricity_demand": "-1 USD/kW/month"},
        "tariffs.electricity_demand: Demand charge: '-1 USD/kW/month' is negative; 0 or more is allowed",
    ),
    # temperatures
    (
        {f"{HOPPER}.drying_temperature": "140 degC"},
        "{hopper}.drying_temperature: 140 °C is above 135 °C, the highest that is assumed for PC: high end of the drying temperature plus "
        "10 K; pellets of amorphous resins stick from about 10 K below the glass transition. Where the producer's sheet allows more, give "
        "drying_temperature_limit among your own values of the resin (own_resin)",
    ),
    (
        {f"{HOPPER}.drying_temperature": "140 degC", f"{HOPPER}.own_resin": {"drying_temperature_limit": "138 degC"}},
        "{hopper}.drying_temperature: 140 °C is above the limit of PC, 138 °C, where pellets soften, stick or degrade; "
        "allowed is up to that",
    ),
    (
        {f"{HOPPER}.drying_temperature_limit": "190 degC"},
        "{hopper}.drying_temperature_limit: unknown key here; it belongs into own_resin",
    ),
    (
        {f"{HOPPER}.drying_temperature": "30 degC"},
        "{hopper}.drying_temperature: 30 °C is too cold: a dryer heats, it does not cool; allowed is 34 °C or more, "
        "10 K above the hall and the pellets fed",
    ),
    (
        {f"{HOPPER}.resin_temperature": "115 degC"},
        "{hopper}.drying_temperature: 120 °C is too cold: a dryer heats, it does not cool; allowed is 125 °C or more",
    ),
    (
        {f"{HOPPER}.drying_temperature": "210 degC"},
        "{hopper}.drying_temperature: '210 degC' is not allowed; Drying temp",
    ),
    (
        {"site.hall_dew_point": "26 degC"},
        "site.hall_dew_point: 26 °C is above the dry bulb of 24 °C; a dew point up to the hall temperature is allowed",
    ),
    (
        {"site.hall_dew_point": "79 degF", "case.units": "us"},
        "site.hall_dew_point: 79 °F is above the dry bulb of 75.2 °F; a dew point up to the hall temperature is",
    ),
    # names that are not known, with the nearest that is
    ({f"{HOPPER}.resin": "PCC"}, "{hopper}.resin: resin 'PCC' is not known; did you mean 'PC'?; known: ABS, LCP, PA12"),
    (
        {f"options['{HOT}'].type": "hot-ar"},
        "{hot}.type: 'hot-ar' is not a dryer type; known: hot-air, desiccant-twin-tower, desiccant-rotating-beds, "
        "desiccant-wheel, compressed-air, compressed-air-membrane, vacuum, infrared-drum; did you mean 'hot-air'?",
    ),
    ({f"options['{HOT}'].type": None}, "{hot}.type: is missing"),
    ({f"options['{HOT}'].type": 5}, "{hot}.type: '5' is not text in quotes"),
    (
        {"tariffs.electricity": "flat-electricty"},
        "tariffs.electricity: 'flat-electricty' is not a tariff; write the path",
    ),
    (
        {"tariffs.electricity": "no.toml"},
        "tariffs.electricity: no.toml: there is no such file; write the path of a tariff",
    ),
    (
        {"tariffs.electricity": "flat-gas"},
        "tariffs.electricity: 'flat-gas' is a tariff for gas; one for electricity is",
    ),
    (
        {"tariffs.electricity": "-1 USD/kWh"},
        "tariffs.electricity: Price of electricity: '-1 USD/kWh' is negative; 0 or",
    ),
    (
        {"tariffs.electricity": "0.12"},
        "tariffs.electricity: Price of electricity: '0.12' has no unit; write",
    ),
    ({"tariffs.electricity": 0.12}, "tariffs.electricity: '0.12' is not text in quotes"),
    ({"case.units": "uss"}, "case.units: 'uss' is not one of si, us; did you mean 'us'?"),
    ({"finance.rate_basis": "rael"}, "finance.rate_basis: 'rael' is not one of real, nominal; did you mean 'real'?"),
    (
        {f"{INPUTS}.motor_class": "ie1"},
        "{inputs}.motor_class: 'ie1' is not one of IE1, IE2, IE3, IE4; did you mean 'IE1'?",
    ),
    ({f"{INPUTS}.motor_class": {"value": "IE1"}}, "{inputs}.motor_class: what stands here is not one of IE1, IE2"),
    # keys that do not exist, wherever they stand
    ({"calender": {}}, "calender: unknown key; did you mean 'calendar'?; allowed: case, site, hoppers, calendar"),
    (
        {"site.altitud": "3 m"},
        "site.altitud: unknown key; did you mean 'altitude'?; allowed: altitude, climate, months, hall_temperature",
    ),
    (
        {f"{HOPPER}.resine": "PC"},
        "{hopper}.resine: unknown key; did you mean 'resin'?; allowed: name, resin, throughput",
    ),
    ({f"{HOPPER}.own_resin": {"densty": "1 kg/m3"}}, "{hopper}.own_resin.densty: unknown key; did you mean 'density'?"),
    ({f"options['{HOT}'].lief": 3}, "{hot}.lief: unknown key; did you mean 'life'?; allowed: name, type"),
    ({f"{INPUTS}.leak_shar": "3 %"}, "{inputs}.leak_shar: unknown key; did you mean 'leak_share'?; allowed: air_resin"),
    ({f"options['{HOT}'].inputs.leak_share": "3 %"}, "{hot}.inputs.leak_share: unknown key"),
    (
        {f"options['{HOT}'].inputs.kind": "hot-air"},
        "{hot}.inputs.kind: unknown key; the type stands in the option itself",
    ),
    (
        {f"options['{HOT}'].capital": [{"item": "All", "amuont": "1 USD", "amount": "1 USD"}]},
        "{hot}.capital[1].amuont: unknown key; did you mean 'amount'?; allowed: item, amount",
    ),
    (
        {f"{HOPPER}.throughput": {"value": "90 kg/h", "bassis": "read"}},
        "{hopper}.throughput.bassis: unknown key; did you mean 'basis'?; allowed: value, low, high, basis, note",
    ),
    (
        {f"{INPUTS}.leak_share": {"value": "2 %", "source": "x"}},
        "{inputs}.leak_share.source: unknown key; allowed: value, low, high, basis, note",
    ),
    (
        {f"{HOPPER}.throughput": {"value": "90 kg/h", "basis": "mesured"}},
        "{hopper}.throughput.basis: 'mesured' is not one of measured, nameplate, quoted, read, common practice, "
        "assumption; did you mean 'measured'?",
    ),
    # ranges
    (
        {f"{HOPPER}.throughput": {"value": "90 kg/h", "low": "100 kg/h", "high": "80 kg/h"}},
        "{hopper}.throughput: low 100 kg/h, value 90 kg/h, high 80 kg/h are not in this order",
    ),
    (
        {f"{HOPPER}.throughput": {"value": "90 kg/h", "low": "80 kg/h"}},
        "{hopper}.throughput: a range needs both low and high",
    ),
    (
        {f"{HOPPER}.throughput": {"value": "90 kg/h", "low": 80, "high": "100 kg/h"}},
        "{hopper}.throughput.low: Throughput: '80' has no unit",
    ),
    (
        {f"options['{HOT}'].maintenance": {"value": "5 USD/year", "low": "4 EUR/year", "high": "6 USD/year"}},
        "{hot}.maintenance.low: Maintenance: '4 EUR/year' is in EUR, but the currency here is USD; write it in USD",
    ),
    (
        {f"options['{HOT}'].capital": {"value": "5 USD", "low": "6 USD", "high": "7 USD"}},
        "{hot}.capital[1].amount: low 6 USD, value 5 USD, high 7 USD are not in this order",
    ),
    # money
    (
        {f"options['{HOT}'].capital": "5 EUR"},
        "{hot}.capital[1].amount: Amount: '5 EUR' is in EUR, but the currency here is USD; write it in USD",
    ),
    ({f"options['{HOT}'].capital": "-5 USD"}, "{hot}.capital: '-5 USD' is not allowed; Amount must be at least 0 USD"),
    (
        {f"options['{HOT}'].incentive": "5 EUR"},
        "{hot}.incentive: Incentive: '5 EUR' is in EUR, but the currency here is USD",
    ),
    (
        {"tariffs.gas": "0.03 EUR/kWh"},
        "tariffs.gas: Price of gas: '0.03 EUR/kWh' is in EUR, but the currency here is USD",
    ),
    (
        {"case.currency": "dollar"},
        "case.currency: 'dollar' is not a currency; write its three capital letters, such as USD",
    ),
    # the options as a whole
    (
        {f"options['{PRESENT}'].baseline": None},
        "options: no option is the baseline; mark the present machine with base",
    ),
    (
        {f"options['{HOT}'].baseline": True},
        f"options: 2 options are marked baseline ({PRESENT}, {HOT}); exactly one is allowed",
    ),
    ({f"options['{HOT}'].name": PRESENT}, f"options['{PRESENT}'].name: two options have this name; each needs its own"),
    ({"options": None}, "options: is missing"),
    ({"options": []}, "options: must not be empty"),
    ({"tariffs.gas": None}, f"tariffs.gas: is missing; option '{HOT}' is heated with gas"),
    # an air flow that cannot heat the resin, and other machines without a physical answer
    (
        {f"options['{HOT}'].inputs.air_resin_ratio": 0.8},
        # By hand: 1.4 kJ/(kg K) over 1.01, and the shell's and the water's share on top: 1.4 to 1.6.
        "{hot}.inputs.air_resin_ratio: an air flow of 0.8 kg per kg of resin cannot bring PC to 120 °C (248 °F); at least 1.5",
    ),
    ({f"{INPUTS}.circuit_pressure": "900 kPa"}, "{inputs}: "),
    (
        {f"{INPUTS}.regeneration_pressure": "30 kPa", f"{INPUTS}.regeneration_blower_efficiency": "5 %"},
        "{inputs}: the electricity for regeneration comes out negative; its shares and efficiencies do",
    ),
    (
        {f"{INPUTS}.exhaust_share": "75 %", f"{INPUTS}.casing_share": "40 %"},
        "{inputs}: the electricity for regeneration comes out negative",
    ),
    ({f"{INPUTS}.duct_length": "1000 m"}, "{inputs}.duct_length: '1000 m' is not allowed"),
    # values of another sort
    ({"finance.years": 1.5}, "finance.years: '1.5' is not a whole number"),
    ({"finance.years": float("nan")}, "finance.years: 'nan' is not a whole number"),
    ({"finance.years": 0}, "finance.years: 0 is not allowed; it must be at least 1"),
    ({"finance.rate": 8}, "finance.rate: Discount rate: '8' has no unit; write a number and one of %"),
    (
        {f"options['{PRESENT}'].baseline": "maybe"},
        "options['Present twin tower'].baseline: 'maybe' is not true or false",
    ),
    ({"case.name": "two\nlines"}, "case.name: must be one line of text"),
    (
        {"compressed_air.pressure": "15 bar(g)"},
        "compressed_air.pressure: '15 bar(g)' is not allowed; Compressed-air press",
    ),
    ({"site": "hot"}, "site: 'hot' is not a table"),
    # moisture
    (
        {f"{HOPPER}.initial_moisture": "5 %"},
        "{hopper}.initial_moisture: 5 % wet basis is more than twice what PC can hold, 0.349 % wet basis",
    ),
    (
        {f"{HOPPER}.target_moisture": "0 ppm"},
        "{hopper}.target_moisture: '0 ppm' is not allowed; Target moisture must be more",
    ),
]


@pytest.mark.parametrize(("changes", "told"), ONE_LINE, ids=[told[:60] for _, told in ONE_LINE])
def test_one_thing_wrong_is_one_line(changes, told):
    said = lines(changes)
    told = told.format(hopper=HOPPER, hot=f"options['{HOT}']", inputs=INPUTS)
    assert len(said) == 1
    assert said[0].startswith(f"my.toml: {told}")


def test_everything_wrong_is_told_at_once():
    said = lines({f"{HOPPER}.throughput": "0 kg/h", "finance.years": 0, "site.hall_dew_point": "wet", "bogus": 1})
    assert [line.split(": ")[1] for line in said] == [
        "site.hall_dew_point",
        f"{HOPPER}.throughput",
        "finance.years",
        "bogus",
    ]


def test_compressed_air_is_asked_for_where_an_option_needs_it():
    said = lines({"compressed_air": None}, PRESENT, AIR, MEMBRANE)
    assert said == [
        f"my.toml: compressed_air: is missing; option '{name}' needs pressure, pressure dew point, specific power"
        for name in (AIR, MEMBRANE)
    ]
    assert compare(case(PRESENT, HOT, changes={"compressed_air": None}))


def test_more_hoppers_than_anybody_has_are_refused():
    of = document(PRESENT, HOT)
    of["hoppers"] = [{"name": f"M{i}", "resin": "PC", "throughput": "3 kg/h"} for i in range(41)]
    assert lines(of=of) == ["my.toml: hoppers: at most 40 entries are allowed"]


def test_a_key_named_like_a_dryer_type_is_told_by_its_name():
    assert lines(of={**document(PRESENT, HOT), "hot-air": {}})[0].startswith(
        "my.toml: hot-air: unknown key; allowed: case"
    )


def test_a_list_written_as_a_table_is_told_without_printing_it():
    of = document(PRESENT, HOT)
    of["hoppers"] = of["hoppers"][0]
    assert lines(of=of) == ["my.toml: hoppers: what stands here is not a list of tables, each with resin, throughput"]
    of = document(PRESENT, HOT)
    of["site"]["months"] = {"january": "2 degC"}
    assert "is not a list of tables, each with month, outdoor_temperature, outdoor_dew_point" in lines(of=of)[0]


def test_a_limit_in_degrees_fahrenheit_is_allowed_up_to_itself():
    of = document(PRESENT, HOT)
    of["hoppers"][0] |= {"resin": "PC", "drying_temperature": "275 degF"}  # 135 degC, and a hair more by rounding
    case_ = build(of)
    limit = case_.resins[0].drying_temperature_limit
    assert float(case_.model.hoppers[0].drying_temperature) == pytest.approx(limit, abs=1e-9)
    of["hoppers"][0]["drying_temperature"] = "275.1 degF"
    assert "is above" in lines(of=of)[0]


def test_what_is_missing_is_told_with_what_to_write():
    with pytest.raises(CaseError) as e:
        build({"case": {"name": "Nothing yet", "currency": "PLN"}}, file="my.toml")
    assert str(e.value).splitlines()[:4] == [
        "my.toml: case.year: is missing; write a whole number",
        "my.toml: site: is missing; it is the table below [site]",
        "my.toml: hoppers: is missing; it is a list of tables, each below [[hoppers]]",
        "my.toml: calendar: is missing; it is the table below [calendar]",
    ]
    absent = {"compressed_air.pressure_dew_point": None, "finance.rate_basis": None, "case.units": "us"}
    assert lines(absent, PRESENT, AIR) == [
        "my.toml: compressed_air.pressure_dew_point: is missing; write a number and its unit, such as degF",
        "my.toml: finance.rate_basis: is missing; write real or nominal",
    ]


def test_a_line_break_in_a_key_or_name_breaks_no_line():
    of = document(PRESENT, HOT)
    of["options"][1] |= {"name": "Hot\nair\x1b[31m", "a\u2028b": 1}
    said = lines(of=of)
    assert len(said) == 2
    assert all(line.startswith("my.toml: options['Hot air [31m']") and line.isprintable() for line in said)


# ---------------------------------------------------------------- a resin of one's own

OWN = {
    "hygroscopic": True,
    "density": "1200 kg/m3",
    "bulk_density": "700 kg/m3",
    "specific_heat": "1.4 kJ/(kg K)",
    "drying_temperature": "110 degC",
    "residence_time": "4 h",
    "initial_moisture": "0.2 %",
    "target_moisture": "200 ppm",
}


def own(**values):
    """The example with a resin of its own."""
    return resin("own", own_resin={**OWN, **values})


@pytest.mark.parametrize("key", OWN)
def test_what_a_resin_of_ones_own_lacks_is_named_with_its_use(key):
    said = lines(own(**{key: None}) | {f"{HOPPER}.own_resin": {k: v for k, v in OWN.items() if k != key}})
    assert len(said) == 1
    assert re.match(rf"my\.toml: hoppers\['Machine 7'\]\.own_resin\.{key}: missing; it (sets|decides) ", said[0])


def test_a_resin_of_ones_own_without_any_value_is_told_all_that_is_missing():
    said = lines(resin("own"))
    assert [line.split(": ")[1].removeprefix(f"{HOPPER}.own_resin.") for line in said] == list(OWN)


def test_what_follows_from_defaults_is_said():
    notes = " ".join(case(PRESENT, HOT, changes=own()).resins[0].notes)
    for told in (
        "dew_point: not given; -40 degC",
        "pellet_diameter: not given; 3 mm",
        "air_resin_ratio: not given; 2.2 kg/kg",
        "diffusivity: not given; no drying time from diffusion",
        "sorption_slope: not given; no lowest moisture that the air allows",
    ):
        assert told in notes


def test_a_resin_of_ones_own_without_diffusion_data_is_never_a_clear_pass():
    result = compare(case(PRESENT, HOT, changes=own()))
    for option in result.options:
        told = next(f for f in option.verdict.findings if f.check == "predicted moisture")
        assert (told.value, told.verdict) == (None, "caution")
        assert "No diffusion data" in told.text


@pytest.mark.parametrize(
    ("values", "told"),
    [
        ({"bulk_density": "1300 kg/m3"}, "bulk_density: must be less than density"),
        ({"target_moisture": "0.3 %"}, "target_moisture: must be less than initial_moisture"),
        ({"diffusivity": "5e-11 m2/s"}, "diffusivity_temperature: missing; it goes with diffusivity"),
    ],
)
def test_values_of_ones_own_that_contradict_are_refused(values, told):
    assert lines(own(**values))[0].startswith(f"my.toml: {HOPPER}.own_resin.{told}")


def test_single_values_go_over_a_known_resin():
    changed_resin = case(PRESENT, HOT, changes={f"{HOPPER}.own_resin": {"density": "1190 kg/m3"}}).resins[0]
    assert (changed_resin.abbreviation, changed_resin.density) == ("PC", 1190.0)
    assert changed_resin.bulk_density == case(PRESENT, HOT).resins[0].bulk_density


# ---------------------------------------------------------------- files that are no case


@pytest.mark.parametrize(
    ("content", "told"),
    [
        (b"[case", "is not valid TOML: "),
        (b'name = "a"\nname = "b"', "is not valid TOML: "),
        (b"\xff\xfe\x00\x01", "is not UTF-8 text; save it as UTF-8"),
        (bytes(range(256)), "is not UTF-8 text"),
        (b"\x00\x01\x02", "is not valid TOML: "),
        (b"x = " + b"[" * 100_000, "is nested too deeply"),
        (b"", "case: is missing"),
    ],
)
def test_a_file_that_is_no_case(tmp_path, content, told):
    path = tmp_path / "bad.toml"
    path.write_bytes(content)
    with pytest.raises(CaseError) as error:
        load_case(path)
    said = str(error.value).splitlines()
    assert said[0].startswith(f"{path}: {told}")
    assert all(line.startswith(f"{path}: ") for line in said)


def test_a_missing_file_and_a_folder(tmp_path):
    for path in (tmp_path / "none.toml", tmp_path):
        with pytest.raises(CaseError, match=re.escape(f"{path}: cannot be read (")) as error:
            load_case(path)
        assert len(str(error.value).splitlines()) == 1


def test_keys_nested_without_end_are_refused():
    with pytest.raises(CaseError, match=r"is not text in quotes|nested too deeply"):
        build(read_document("[case]\nname" + ".a" * 5000 + " = 1\n", "my.toml"), file="my.toml")


@given(st.binary(max_size=200))
def test_no_bytes_at_all_end_in_anything_else(tmp_path_factory, content):
    path = tmp_path_factory.getbasetemp() / "bytes.toml"
    path.write_bytes(content)
    with pytest.raises(CaseError):
        load_case(path)


def leaves(value, path=()):
    """Path of every key of a document."""
    entries = value.items() if isinstance(value, dict) else enumerate(value) if isinstance(value, list) else ()
    for key, entry in entries:
        yield (*path, key)
        yield from leaves(entry, (*path, key))


JUNK = ("", "5", "-1 kg/h", "1e400 degC", -1, True, [], {}, {"value": []}, datetime.date(2026, 1, 1), [{}], "x\n'y")


def test_junk_in_any_place_gives_a_result_or_lines_that_name_the_file():
    whole = document(PRESENT, BEDS)
    places = list(leaves(whole))
    assert len(places) > 80
    refused = 0
    for number, place in enumerate(places):
        for junk in JUNK[number % 3 :: 3]:  # each value at a third of the places, each place with a third of the values
            spoilt = document(PRESENT, BEDS)
            here = spoilt
            for key in place[:-1]:
                here = here[key]
            here[place[-1]] = junk
            try:
                build(spoilt, file="my.toml")
            except CaseError as error:
                refused += 1
                for line in str(error).splitlines():
                    assert re.match(r"my\.toml: [\w.\[\]' ,'-]+: \S", line), line
                    assert "pydantic" not in line
                    assert "Input should" not in line
    assert refused > 200


def test_an_option_cannot_go_outside_what_is_known_without_being_named():
    # Ranges of equations and tables: the message comes from there, the key from the case.
    said = lines({f"{HOPPER}.throughput": "36000 kg/h", f"options['{PRESENT}'].built_for": None})
    assert [line.split(": ")[1] for line in said] == [INPUTS, f"options['{HOT}'].inputs"]
    assert re.search(r"rated motor power = \d+ kW is above 1000 kW", said[1])


def test_a_machine_of_just_its_duty_and_every_hour_of_a_year_are_allowed():
    case(PRESENT, changes={f"options['{PRESENT}'].built_for": "0.09 t/h", "calendar.production_hours": "8760 h"})
    leap = case(PRESENT, changes={"case.year": 2024, "calendar.production_hours": "8784 h"})
    assert leap.calendar.production.sum() == pytest.approx(366 * 86400)


def test_what_is_far_too_long_is_cut_where_it_is_told():
    [line] = lines({f"{INPUTS}.motor_class": "x" * 5000})
    assert len(line) < 400
    assert f"'{'x' * 59}... is not one of IE1" in line


@pytest.mark.parametrize("path", ["tariffs.gas", "site.climate", "plant_load.file", "plant_load.table"])
def test_a_file_name_that_no_disk_takes_is_told(tmp_path, path):
    hall = {"site.hall_temperature": None, "site.hall_dew_point": None} if path == "site.climate" else {}
    given = changed(document(PRESENT), {path: "x" * 290, **hall})
    with pytest.raises(CaseError, match=rf"^my.toml: {path}: 'x+' is (not a|neither a)"):
        build(given, folder=tmp_path, file="my.toml")


def test_a_limit_that_is_assumed_gives_way_to_that_of_the_producer():
    """PEEK at 180 °C, where nothing but a rule of ours stood against it."""
    with pytest.raises(CaseError, match="the highest that is assumed for PEEK"):
        case(PRESENT, changes=resin("PEEK", drying_temperature="180 degC"))
    own = {"drying_temperature_limit": "185 degC"}
    dried = compare(case(PRESENT, changes=resin("PEEK", drying_temperature="180 degC", own_resin=own)))
    assert dried.duty.drying_temperature[0] == pytest.approx(453.15)


@pytest.mark.parametrize("name", ["maintenance", "water", "cooling", "upkeep"])
def test_a_rise_that_shares_its_key_with_others_is_told_that_key(name):
    """The workbook has cells escalation_maintenance and escalation_water; the case has one key for both."""
    [line] = lines({f"finance.escalation_{name}": "3 %"})
    assert line == (
        f"my.toml: finance.escalation_{name}: unknown key; maintenance, cooling and water rise together, by escalation_other"
    )


@pytest.mark.parametrize("path", [f"{INPUTS}.air_resin_ratio", f"{HOPPER}.own_resin.air_resin_ratio"])
def test_a_ratio_of_masses_may_have_its_unit(path):
    """As the lists of inputs show it: air per resin (kg/kg)."""
    bare, given = (compare(case(PRESENT, changes={path: text})) for text in ("2.9", "2.9 kg/kg"))
    assert given.baseline.sizing == bare.baseline.sizing
    assert given.baseline.sizing != compare(case(PRESENT)).baseline.sizing


def test_a_ratio_of_other_things_has_no_unit_of_mass():
    [line] = lines({f"options['{PRESENT}'].replacements[1].every": "4 kg/kg"})
    assert line.endswith(
        "every: Years between replacements: '4 kg/kg' is not a ratio; write a number, or a number and %"
    )


def test_only_pure_numbers_need_no_unit_as_the_readme_and_the_examples_say():
    readme = (Path(__file__).parents[2] / "README.md").read_text(encoding="utf-8")
    for text in (readme, example_text("demo"), example_text("one-machine")):
        said = " ".join(text.replace("\n#", "\n").split()).lower()
        assert "a number without a unit is taken only for a share, a ratio or a count" in said
    bare = {f"{INPUTS}.leak_share": 0.04, f"{INPUTS}.air_resin_ratio": 2.9, "finance.years": 9}
    compare(case(PRESENT, changes=bare))
    assert "'0.08' has no unit" in lines({"finance.rate": 0.08})[0]
    assert "'2' has no unit" in lines({f"{HOPPER}.residence_time": 2})[0]


def test_a_second_visit_is_sent_to_a_file_of_its_own():
    read = {"hopper": "Machine 7", "power": "9 kW"}
    said = lines({"readings": [read, read]})
    assert said == [
        "my.toml: readings[2].hopper: 'Machine 7' has readings already; keep those of a second visit in a file of their own and read it with "
        "walkthrough --readings"
    ]


@pytest.mark.parametrize("key", ["tariffs.electricity_emission_factor", "site.grid_factor", "tariffs.co2"])
def test_who_looks_for_the_co2_of_the_grid_is_led_to_it_and_not_to_a_factor_of_the_bill(key):
    with pytest.raises(CaseError, match=rf"{key}: unknown key; .*stands in finance\.electricity_emission") as told:
        case(changes={key: "0.38"})
    assert "electricity_factor" not in str(told.value)


@pytest.mark.parametrize("key", ["hoppers['Machine 7'].measured_moisture", "hoppers['Machine 7'].pellet_moisture"])
def test_a_moisture_that_was_measured_is_led_to_its_reading(key):
    """And not to the target, which "did you mean" would overwrite."""
    with pytest.raises(
        CaseError, match=r"unknown key; .* moisture that was measured .*outlet_moisture .*\[\[readings\]\]"
    ) as told:
        case(changes={key: "300 ppm"})
    assert "target_moisture" not in str(told.value)
