"""Reading tariff files: what is refused, and in which words."""

from __future__ import annotations

import pytest

from energy.errors import CaseError, EnergyError, UnknownNameError
from energy.tariffs import demo_tariffs, load_tariff, simple_tariff

GOOD = """
name = "Plant tariff"
commodity = "electricity"
currency = "USD"
source = "bill of 2026-03"
valid_from = 2026-01-01

[[charges]]
type = "fixed"
id = "customer"
label = "Customer charge"
clause = "1"
source = "bill of 2026-03"
per_month = "90 USD"

[[charges]]
type = "energy-flat"
id = "energy"
label = "Energy charge"
clause = "2"
source = "bill of 2026-03"
price = "0.115 USD/kWh"

[[charges]]
type = "tax-percent"
id = "tax"
label = "Tax"
clause = "3"
source = "bill of 2026-03"
share = "6 %"
of = ["customer", "energy"]
"""


@pytest.fixture
def read(tmp_path):
    def reading(text, **options):
        file = tmp_path / "plant.toml"
        file.write_bytes(text if isinstance(text, bytes) else text.encode())
        return load_tariff(file, **options)

    return reading


def lines_of(error):
    """The problems of an error, each with the file's path cut down to its name."""
    lines = str(error.value).splitlines()
    assert all("plant.toml" in line for line in lines)
    return [line.partition("plant.toml: ")[2] for line in lines]


def test_a_good_file(read):
    tariff = read(GOOD)
    assert [charge.id for charge in tariff.charges] == ["customer", "energy", "tax"]
    assert tariff.charges[1].price == pytest.approx(0.115 / 3.6e6)
    assert not tariff.invented


def test_by_path_as_text_and_with_a_byte_order_mark(read, tmp_path):
    expected = read(b"\xef\xbb\xbf" + GOOD.encode())
    assert load_tariff(str(tmp_path / "plant.toml")) == expected


@pytest.mark.parametrize(
    ("old", "new", "said"),
    [
        (
            'price = "0.115',
            'prise = "0.115',
            "charges.energy.prise: there is no such key; did you mean 'price'?",
        ),
        ("source = ", "sourse = ", "sourse: there is no such key; did you mean 'source'?"),
        ('per_month = "90 USD"', "", "charges.customer: write per_month or per_day, one of them"),
        ('"0.115 USD/kWh"', "0.115", "charges.energy.price: Price: '0.115' has no unit; write a number and one of"),
        (
            '"0.115 USD/kWh"',
            '"0.115 USD/kW"',
            "charges.energy.price: Price: '0.115 USD/kW' is not a price per energy",
        ),
        (
            '"0.115 USD/kWh"',
            '"-0.115 USD/kWh"',
            "charges.energy.price: '-0.115 USD/kWh' is not allowed; it must be 0",
        ),
        ('"0.115 USD/kWh"', '"0.115 EUR/kWh"', "charges.energy.price: "),
        (
            'type = "energy-flat"',
            'type = "enrgy-flat"',
            "charges.energy: 'enrgy-flat' is not a type of charge",
        ),
        ('type = "energy-flat"', "", "charges.energy: the charge has no type; write type = one of fixed,"),
        ('id = "customer"', 'id = "energy"', "charges.energy: two charges have this id"),
        ('id = "customer"', "", "charges, number 1.id: is missing"),
        ('clause = "1"', 'clause = ""', "charges.customer.clause: must not be empty"),
        ('clause = "1"', 'clause = "\\n"', "charges.customer.clause: must be one line of text"),
        ('clause = "1"', 'clause = " "', "charges.customer.clause: must be one line of text"),
        ('clause = "1"', "clause = 1", "charges.customer.clause: 1 cannot be used; write text in quotes"),
        (
            'of = ["customer", "energy"]',
            'of = ["custmer"]',
            "charges.tax.of: 'custmer' is not a charge that stands before it; did you mean 'customer'?",
        ),
        ('of = ["customer", "energy"]', "of = []", "charges.tax.of: must not be empty"),
        (
            '"electricity"',
            '"electrcity"',
            "commodity: 'electrcity' is not allowed; write one of electricity,",
        ),
        (
            'currency = "USD"',
            'currency = "dollars"',
            "currency: 'dollars' is not allowed; write three capital",
        ),
        (
            "valid_from = 2026-01-01",
            'valid_from = "soon"',
            "valid_from: 'soon' cannot be used; write a date such",
        ),
        (
            "valid_from = 2026-01-01",
            "valid_from = 2026-01-02\nvalid_to = 2026-01-01",
            "valid_to: 2026-01-01 lies",
        ),
        ("valid_from = 2026-01-01", 'worked = { total = "1 EUR" }', "worked.total: "),
        (
            "valid_from = 2026-01-01",
            'worked = { total = "1 USD", lines = { enrgy = "1 USD" } }',
            "worked.lines: 'enrgy' is not the id of a charge; did you mean 'energy'?",
        ),
        ("[[charges]]", "[[charge]]", "charge: there is no such key; did you mean 'charges'?"),
    ],
)
def test_what_is_wrong_is_said_with_file_and_key(read, old, new, said):
    assert old in GOOD
    with pytest.raises(CaseError) as error:
        read(GOOD.replace(old, new) if old == "[[charges]]" else GOOD.replace(old, new, 1))
    assert any(line.startswith(said) for line in lines_of(error)), str(error.value)


INDUSTRIAL = """
name = "Plant tariff"
commodity = "electricity"
currency = "USD"
source = "bill of 2026-03"
demand_window = "30 min"

[calendar]
time_zone = "America/Chicago"
windows = [
    { period = "on-peak", days = ["mon", "tue"], hours = ["08:00-20:00"] },
    { period = "off-peak", days = ["mon", "tue"], hours = ["20:00-08:00"] },
    { period = "off-peak", days = ["wed", "thu", "fri", "sat", "sun"] },
]

[[charges]]
type = "demand-flat"
id = "demand"
label = "Demand"
clause = "1"
source = "bill"
price = "12 USD/kW"
ratchet = { share = "80 %", periods = ["on-peak"] }
floor = { contract = "500 kW", share = "60 %" }

[[charges]]
type = "energy-time-of-use"
id = "energy"
label = "Energy"
clause = "2"
source = "bill"
prices = [
    { periods = ["on-peak"], price = "0.15 USD/kWh" },
    { periods = ["off-peak"], price = "0.09 USD/kWh" },
]

[[charges]]
type = "hours-use-blocks"
id = "hours"
label = "Hours of use"
clause = "3"
source = "bill"
demand = "demand"
blocks = [
    { up_to = "200 h", price = "0.03 USD/kWh" },
    { up_to = "400 h", price = "0.02 USD/kWh" },
    { price = "0.01 USD/kWh" },
]
"""


@pytest.mark.parametrize(
    ("old", "new", "said"),
    [
        (
            '"20:00-08:00"',
            '"19:30-08:00"',
            "calendar: windows, number 2 (off-peak) and number 1 (on-peak) overlap on mon",
        ),
        (
            '"20:00-08:00"',
            '"21:00-08:00"',
            "calendar: windows: no window holds on mon at 20:00; add one, or write rest",
        ),
        ('"wed", "thu"', '"wed", "thr"', "calendar.windows.3.days.2: 'thr' is not allowed; write one of mon, tue,"),
        ("hours = [", "hour = [", "calendar.windows.1.hour: there is no such key; did you mean 'hours'?"),
        ("America/Chicago", "America/Chicgo", "calendar.time_zone: 'America/Chicgo' is not a time zone; did you mean"),
        ('"08:00-20:00"', '"08:15-20:15"', "calendar: windows, number 2 (off-peak) and number 1 (on-peak) overlap"),
        ('"30 min"', '"20 min"', "demand_window: 20 min is not allowed; write 15, 30 or 60 min"),
        ('"200 h"', '"500 h"', "charges.hours.blocks: up_to of block 2 does not lie above the one before it"),
        ('{ price = "0.01 USD/kWh" },', "", "charges.hours.blocks: every block but the last needs up_to, and the last"),
        (
            'price = "0.02 USD/kWh"',
            'prise = "0.02 USD/kWh"',
            "charges.hours.blocks.2.prise: there is no such key; did you",
        ),
        ('price = "0.02 USD/kWh"', 'price = "0.02 EUR/kWh"', "charges.hours.blocks.2.price: "),
        (
            'demand = "demand"',
            'demand = "energy"',
            "charges.hours.demand: 'energy' is not a demand charge that stands before",
        ),
        (
            'periods = ["off-peak"]',
            'periods = ["offpeak"]',
            "charges.energy.prices.2.periods: 'offpeak' is no period or",
        ),
        ('periods = ["off-peak"]', 'periods = ["on-peak"]', "charges.energy.prices: there is no price for off-peak"),
        (
            'periods = ["off-peak"]',
            'periods = ["on-peak"]',
            "charges.energy.prices: 'on-peak' has two prices, number 1 and 2",
        ),
        (
            'periods = ["on-peak"] }\nfloor',
            'periods = ["peak"] }\nfloor',
            "charges.demand.ratchet.periods: 'peak' is no",
        ),
        ('"80 %", p', '"120 %", p', "charges.demand.ratchet.share: '120 %' is not allowed; it must be 1 or less"),
        ('"500 kW"', '"500 kVA"', "charges.demand: '500 kVA' does not fit the price, which is per kW"),
        ('"12 USD/kW"', '"12 USD/kvar"', "charges.demand: the price is per kvar; reactive demand has its own type"),
        (
            "floor = {",
            'power_factor = { rule = "by-feel", target = "90 %" }\nfloor = {',
            "charges.demand.power_factor.rule: 'by-f",
        ),
        (
            'source = "bill of',
            'worked = { total = "1 USD", peak_in = { peak = "1 kW" } }\nsource = "bill of',
            "worked.peak_in: 'peak'",
        ),
    ],
)
def test_what_is_wrong_in_an_industrial_tariff_is_said_with_its_place(read, old, new, said):
    read(INDUSTRIAL)
    assert old in INDUSTRIAL
    with pytest.raises(CaseError) as error:
        read(INDUSTRIAL.replace(old, new, 1))
    assert any(line.startswith(said) for line in lines_of(error)), str(error.value)


def test_charges_that_are_all_wrong_are_not_said_to_be_missing(read):
    with pytest.raises(CaseError) as error:
        read(GOOD.replace('type = "', 'type = "un'))
    said = lines_of(error)
    assert all(" is not a type of charge" in line for line in said)
    assert len(said) == GOOD.count("[[charges]]")


def test_periods_that_change_within_a_demand_window_are_refused(read):
    moved = INDUSTRIAL.replace("08:00", "08:15")
    with pytest.raises(CaseError, match="demand_window: the calendar's periods change within a window of 30 min"):
        read(moved)
    assert read(moved.replace("30 min", "15 min")).demand_window == 900


def test_a_price_in_another_currency_names_both(read):
    with pytest.raises(CaseError, match=r"charges\.energy\.price: .*EUR.*USD|USD.*EUR"):
        read(GOOD.replace('"0.115 USD/kWh"', '"0.115 EUR/kWh"'))


def test_units_of_the_right_kind_are_listed(read):
    with pytest.raises(CaseError, match="write a number and one of USD/kWh"):
        read(GOOD.replace('"0.115 USD/kWh"', '"0.115 USD/m3"'))


def test_units_are_listed_in_the_currency_of_the_tariff(read):
    of = GOOD.replace("USD", "PLN")
    with pytest.raises(CaseError) as error:
        read(of.replace('"0.115 PLN/kWh"', '"0.98 zl/kWh"'))
    assert "write a number and one of PLN/kWh, PLN/MWh" in str(error.value)
    assert "USD" not in str(error.value)
    assert "another currency" not in str(error.value)


def test_all_problems_are_listed_at_once(read):
    with pytest.raises(CaseError) as error:
        read(GOOD.replace('per_month = "90 USD"', 'per_month = "90 kW"').replace("price =", "prise ="))
    assert len(lines_of(error)) == 3  # per_month; price is missing; prise is not a key


@pytest.mark.parametrize(
    ("text", "said"),
    [
        (GOOD.replace("[[charges]]", "[[charges", 1), "line 8, column"),
        (GOOD + "name", "line 32"),
        ('name = "a"\nname = "b"\n', "line 2, column"),
        (b"name = \xff\xfe", "is not text in UTF-8"),
        ("a = " + "[" * 20_000, "is nested too deeply"),
        ("a = " + "1" * 5_000, "cannot be read as TOML"),
    ],
)
def test_unreadable_files_are_said_in_one_line(read, text, said):
    with pytest.raises(CaseError) as error:
        read(text)
    (line,) = lines_of(error)
    assert said in line


def test_a_table_of_charges_in_place_of_a_list(read):
    with pytest.raises(CaseError) as error:
        read(GOOD.partition("[[charges]]")[0] + "[charges]\nid = 'a'\n")
    assert lines_of(error) == ["charges: is not a list; write each charge under its own [[charges]]"]


def test_a_tariff_is_not_converted_to_another_currency(read):
    assert read(GOOD, currency="USD").currency == "USD"
    with pytest.raises(CaseError, match="currency: is USD, but EUR is wanted"):
        read(GOOD, currency="EUR")


def test_the_examples_come_with_the_project_and_say_that_they_are_invented():
    assert {"flat-electricity", "flat-gas", "flat-cooling"} <= set(demo_tariffs())
    for name in demo_tariffs():
        tariff = load_tariff(name)
        assert tariff.invented
        assert "invented" in tariff.name
        assert tariff.note


@pytest.mark.parametrize(
    ("name", "said"),
    [
        ("flat-electrcity", "'flat-electrcity' is not a tariff; .*did you mean 'flat-electricity'"),
        ("flat-gass.toml", "there is no such file; .*did you mean 'flat-gas'"),
        ("no/such/tariff", "there is no such file"),
        ("", "'' is not a tariff"),
        ("x" * 5000, "is not a tariff"),
        ("x" * 5000 + ".toml", "there is no such file"),
        ("a\0b", "is not a tariff"),
    ],
)
def test_unknown_names_get_the_nearest(name, said):
    with pytest.raises(UnknownNameError, match=said):
        load_tariff(name)


def test_a_folder_is_not_a_tariff(tmp_path):
    with pytest.raises(EnergyError, match="there is no such file"):
        load_tariff(tmp_path)


def test_one_price_makes_a_tariff():
    tariff = simple_tariff("gas", "EUR", 1e-8)
    assert (tariff.commodity, tariff.currency, len(tariff.charges)) == ("gas", "EUR", 1)
    assert tariff.charges[0].price == 1e-8
