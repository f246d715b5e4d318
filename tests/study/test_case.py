"""A case file: read, changed, written; in SI and in US customary units."""

from __future__ import annotations

import dataclasses
import os

import pytest
from cases import AIR, HOPPER, NEW, PRESENT, case, document
from pydantic import ValidationError

from energy.errors import CaseError, EnergyError, UnknownNameError
from energy.reports.comparison_json import to_dict
from energy.study.case import build, load_case, read_document, write_whole
from energy.study.compare import compare

# Exact by definition (NIST SP 811, appendix B): international pound, foot; IT British thermal unit; standard gravity.
POUND, FOOT, INCH, BTU = 0.45359237, 0.3048, 0.0254, 1055.05585262
PSI = POUND * 9.80665 / INCH**2
KWH = 3.6e6

TEXT = """
[case]
name = "The same plant"
currency = "USD"
units = "{system}"
year = 2026
[site]
altitude = "{altitude}"
hall_temperature = "{hall}"
hall_dew_point = "{dew_point}"
cooling_water_temperature = "{water}"
[[hoppers]]
resin = "PC"
throughput = "{throughput}"
drying_temperature = "{drying}"
residence_time = "{residence}"
initial_moisture = "{wet}"
target_moisture = "{dry}"
resin_temperature = "{fed}"
[calendar]
production_hours = "{hours}"
[tariffs]
electricity = "{electricity}"
gas = "{gas}"
cooling = "{cooling}"
[compressed_air]
pressure = "{pressure}"
pressure_dew_point = "{pressure_dew_point}"
specific_power = "{specific_power}"
maintenance = "{air_maintenance}"
[finance]
rate = "{rate}"
rate_basis = "real"
years = 10
electricity_emission = "{emission}"
[[options]]
name = "Towers"
type = "desiccant-twin-tower"
baseline = true
maintenance = "3600 USD/year"
[options.inputs]
insulation_thickness = "{insulation}"
insulation_conductivity = "{conductivity}"
duct_length = "{duct}"
duct_velocity = "{velocity}"
circuit_pressure = "{drop}"
regeneration_temperature = "{regeneration}"
cooler_approach = "{approach}"
controls_power = "{controls}"
inert_specific_heat = "{heat_capacity}"
leak_share = "2.5 %"
[[options]]
name = "Beds"
type = "desiccant-rotating-beds"
capital = "24000 USD"
[[options]]
name = "Wheel"
type = "desiccant-wheel"
capital = "26000 USD"
[[options]]
name = "Hot air"
type = "hot-air"
inputs = {{ heat_source = "gas" }}
capital = "17500 USD"
[[options]]
name = "Air"
type = "compressed-air"
capital = "8000 USD"
[[options]]
name = "Membrane"
type = "compressed-air-membrane"
capital = "11000 USD"
"""
IN_SI = TEXT.format(
    system="si",
    altitude="150 m",
    hall="24 degC",
    dew_point="12 degC",
    water="25 degC",
    throughput="90 kg/h",
    drying="120 degC",
    residence="4 h",
    wet="0.2 %",
    dry="200 ppm",
    fed="22 degC",
    hours="6000 h",
    electricity="0.12 USD/kWh",
    gas="0.03 USD/kWh",
    cooling="0.02 USD/kWh",
    pressure="7 bar(g)",
    pressure_dew_point="3 degC",
    specific_power="6.6 kW/(m3/min)",
    air_maintenance="0.002 USD/m3",
    rate="8 %",
    emission="0.4 kg/kWh",
    insulation="20 mm",
    conductivity="0.045 W/(m K)",
    duct="3 m",
    velocity="15 m/s",
    drop="4 kPa",
    regeneration="250 degC",
    approach="5 K",
    controls="150 W",
    heat_capacity="0.5 kJ/(kg K)",
)
IN_US = TEXT.format(
    system="us",
    altitude=f"{150 / FOOT!r} ft",
    hall="75.2 degF",
    dew_point="53.6 degF",
    water="77 degF",
    throughput=f"{90 / POUND!r} lb/h",
    drying="248 degF",
    residence="240 min",
    wet="2000 ppm",
    dry="0.02 %",
    fed="71.6 degF",
    hours="6000 h",
    electricity="120 USD/MWh",
    gas=f"{0.03 * 1e5 * BTU / KWH!r} USD/therm",
    cooling=f"{0.02 * 1e6 * BTU / KWH!r} USD/MMBtu",
    pressure=f"{7e5 / PSI!r} psig",
    pressure_dew_point="37.4 degF",
    specific_power=f"{6.6 * 100 * FOOT**3!r} kW/100 cfm",
    air_maintenance=f"{0.002 * 1000 * FOOT**3!r} USD/1000 ft3",
    rate="8 %",
    emission=f"{0.4 / POUND!r} lb/kWh",
    insulation=f"{0.020 / INCH!r} in",
    conductivity=f"{0.045 * 3600 * FOOT / 1.8 / BTU!r} Btu/(h ft degF)",
    duct=f"{3 / FOOT!r} ft",
    velocity=f"{15 * 60 / FOOT!r} ft/min",
    drop=f"{4000 / PSI!r} psi",
    regeneration="482 degF",
    approach="9 degF",
    controls=f"{150 * 3600 / BTU!r} Btu/h",
    heat_capacity=f"{500 * POUND / 1.8 / BTU!r} Btu/(lb degF)",
)


def numbers(value, path=""):
    """Every number in plain data with its path."""
    if isinstance(value, dict):
        for key, entry in value.items():
            yield from numbers(entry, f"{path}.{key}")
    elif isinstance(value, list):
        for i, entry in enumerate(value):
            yield from numbers(entry, f"{path}[{i}]")
    elif isinstance(value, float | int) and not isinstance(value, bool):
        yield path, value


def test_us_and_si_texts_of_one_plant_give_the_same_results():
    si, us = (to_dict(compare(build(read_document(text, "case")))) for text in (IN_SI, IN_US))
    compared = 0
    for (path, one), (other_path, other) in zip(numbers(si), numbers(us), strict=True):
        assert path == other_path
        if "findings" in path or "plant" in path:  # temperatures and flows there are told in the units of the case
            continue
        compared += 1
        # Differences cancel in what follows from a small difference of large sums: 1e-12 of those sums.
        large = max(
            abs(one),
            1.0 if "error" in path else 0.0,
            2e5 if "cash" in path or "npv" in path or "residual" in path else 0.0,
        )
        assert other == pytest.approx(one, rel=1e-12, abs=1e-12 * large), path
    assert compared > 250


def test_findings_of_a_us_case_are_told_in_fahrenheit():
    si, us = (compare(build(read_document(text, "case"))) for text in (IN_SI, IN_US))
    for one, other in zip(si.options, us.options, strict=True):
        for a, b in zip(one.verdict.findings, other.verdict.findings, strict=True):
            assert (a.check, a.verdict) == (b.check, b.verdict)
            if a.unit == "degC":
                assert b.unit == "degF"
                assert b.value == pytest.approx(1.8 * a.value + 32.0, rel=1e-9)
                assert "°F" in b.text
                assert "°C" not in b.text


@pytest.fixture(scope="module")
def two():
    return case(PRESENT, NEW)


def plain(of):
    return to_dict(compare(of))


def test_a_case_cannot_be_changed(two):
    with pytest.raises(dataclasses.FrozenInstanceError):
        two.file = "other.toml"
    with pytest.raises(ValidationError, match="frozen"):
        two.model.case.name = "other"
    with pytest.raises(ValidationError, match="frozen"):
        two.model.hoppers[0].throughput = 1.0
    with pytest.raises(TypeError):
        two.document["case"] = {}
    with pytest.raises(TypeError):
        two.tariffs["gas"] = two.tariffs["electricity"]
    assert isinstance(two.model.options, tuple)


def test_the_document_given_is_neither_kept_nor_changed():
    given = document(PRESENT, NEW)
    kept = document(PRESENT, NEW)
    made = build(given)
    given["hoppers"][0]["throughput"] = "1 kg/h"
    assert made.document["hoppers"] == kept["hoppers"]


def test_a_changed_copy_leaves_the_original_alone(two):
    before = plain(two)
    other = two.with_(throughput="120 kg/h")
    assert other.model.hoppers[0].throughput == pytest.approx(120 / 3600)
    assert plain(two) == before
    assert plain(other)["options"][0]["energy_kwh"]["total"] > before["options"][0]["energy_kwh"]["total"]


def test_another_value_drops_the_range_and_basis_of_the_old_one(two):
    assert two.document["hoppers"][0]["throughput"]["basis"] == "measured"
    assert two.with_(throughput="120 kg/h").document["hoppers"][0]["throughput"] == "120 kg/h"
    assert two.with_(throughput="90 kg/h").document["hoppers"] == two.document["hoppers"]


@pytest.mark.parametrize(
    ("changes", "read", "expected"),
    [
        ({"site.hall_temperature": "25 degC"}, lambda m: m.site.hall_temperature, 298.15),
        ({f"{HOPPER}.residence_time": "5 h"}, lambda m: m.hoppers[0].residence_time, 18000.0),
        ({f"options['{NEW}'].capital": "20000 USD"}, lambda m: m.options[1].capital_total, 20000.0),
        ({f"options['{NEW}'].capital[2].amount": "500 USD"}, lambda m: m.options[1].capital_total, 20000.0),
        ({f"options['{NEW}'].inputs.leak_share": "3 %"}, lambda m: m.options[1].inputs.leak_share, 0.03),
        ({f"options['{NEW}'].life": None}, lambda m: m.options[1].life, None),
    ],
)
def test_changes_go_to_the_place_their_path_names(two, changes, read, expected):
    assert read(two.with_(changes).model) == (expected if expected is None else pytest.approx(expected))


@pytest.mark.parametrize(
    ("changes", "short", "told"),
    [
        ({}, {"trhoughput": "1 kg/h"}, "'trhoughput' is not a key of a case; did you mean 'throughput'?"),
        ({}, {"name": "x"}, "'name' may mean case.name or hoppers[1].name; write the path"),
        ({"options['New twin towr'].life": 3}, {}, "there is no entry of that name; did you mean 'New twin tower'?"),
        ({"hoppers[7].throughput": "1 kg/h"}, {}, "there is no such entry"),
        ({"options.name": "x"}, {}, "there is no such entry"),
        ({"options[1]": "x"}, {}, "is not the path of a value"),
        ({"": "x"}, {}, "is not the path of a value"),
    ],
)
def test_a_path_that_leads_nowhere_is_refused(two, changes, short, told):
    with pytest.raises(UnknownNameError) as error:
        two.with_(changes, **short)
    assert told in str(error.value)


def test_a_changed_copy_is_checked(two):
    with pytest.raises(CaseError, match="must be more than 0 kg/h"):
        two.with_(throughput="-1 kg/h")
    with pytest.raises(CaseError, match="did you mean 'hall_temperature'"):
        two.with_({"site.hall_temprature": "20 degC"})


def test_what_is_written_reads_back_to_an_equal_comparison(two, tmp_path):
    path = tmp_path / "saved.toml"
    two.save(path)
    back = load_case(path)
    assert back.document == two.document
    assert plain(back) == plain(two)
    assert back.to_toml() == two.to_toml() == path.read_text(encoding="utf-8")


def test_quotes_brackets_and_signs_in_names_survive(tmp_path):
    name = "O'Brien's \"best\" [2] dryer = 90 °C, 干燥"
    given = case(PRESENT, NEW, changes={f"options['{NEW}'].name": name}).with_({f"options['{name}'].life": 11})
    given.save(tmp_path / "c.toml")
    assert load_case(tmp_path / "c.toml").model.options[1].life == 11


def test_an_existing_file_is_kept(two, tmp_path):
    path = tmp_path / "c.toml"
    path.write_text("mine", encoding="utf-8")
    with pytest.raises(EnergyError, match="exists already"):
        two.save(path)
    assert path.read_text(encoding="utf-8") == "mine"
    two.save(path, overwrite=True)
    assert plain(load_case(path)) == plain(two)


def test_a_write_that_fails_leaves_nothing(tmp_path, monkeypatch):
    def full(*_):
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(os, "replace", full)
    with pytest.raises(EnergyError, match="cannot be written"):
        write_whole(tmp_path / "c.toml", b"text", overwrite=False)
    assert list(tmp_path.iterdir()) == []
    with pytest.raises(EnergyError, match="cannot be written"):
        write_whole(tmp_path / "no such folder" / "c.toml", b"text", overwrite=False)


def test_a_tariff_may_stand_beside_the_case(two, tmp_path, monkeypatch):
    (tmp_path / "ours.toml").write_text(
        'name = "Ours"\ncommodity = "electricity"\ncurrency = "USD"\nsource = "invoice"\n'
        '[[charges]]\ntype = "energy-flat"\nid = "e"\nlabel = "Energy"\nclause = "1"\nsource = "invoice"\n'
        'price = "0.5 USD/kWh"\n',
        encoding="utf-8",
    )
    two.with_({"tariffs.electricity": "flat-electricity"}).save(tmp_path / "c.toml")
    text = (tmp_path / "c.toml").read_text(encoding="utf-8").replace('"flat-electricity"', '"ours.toml"')
    (tmp_path / "c.toml").write_text(text, encoding="utf-8")
    monkeypatch.chdir("/")
    first = compare(load_case(tmp_path / "c.toml")).options[0]
    used = (first.carrier("electricity") + first.carrier("compressed air")) / KWH
    assert first.annual_cost["electricity"] == pytest.approx(0.5 * used, rel=1e-12)


def test_a_gauge_counts_from_the_air_at_its_altitude():
    # At 1500 m the ASHRAE standard atmosphere has 84 556 Pa (reference table A1.4).
    high = compare(case(PRESENT, AIR, changes={"site.altitude": "1500 m"}))
    assert high.duty.compressed_air.pressure == pytest.approx(7e5 + 84_556, abs=1.0)


def test_windows_line_ends_and_byte_order_mark_are_read(tmp_path):
    text = case(PRESENT, NEW).to_toml().replace("\n", "\r\n")
    (tmp_path / "c.toml").write_bytes(b"\xef\xbb\xbf" + text.encode())
    assert load_case(tmp_path / "c.toml").name.startswith("Example")


def test_the_example_is_read_by_name_unless_a_file_has_it(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    assert len(load_case("demo").model.options) == 10
    case(PRESENT, NEW).save(tmp_path / "demo")
    assert len(load_case("demo").model.options) == 2


def test_a_file_far_too_large_is_not_read(tmp_path):
    (tmp_path / "c.toml").write_bytes(b"#" * 3_000_000)
    with pytest.raises(CaseError, match="is larger than 2000000 bytes"):
        load_case(tmp_path / "c.toml")
