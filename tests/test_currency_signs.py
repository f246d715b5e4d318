"""Signs of currencies: beside an amount whose currency is known, and the code that is to be written where it is not."""

from __future__ import annotations

import pytest
from cases import document

from dashboards.bill_state import State
from energy.errors import CaseError, EnergyError, UnitError
from energy.reports.bill_input import tariff_of
from energy.study.case import build
from energy.study.references import is_price
from energy.tariffs import tariff_from
from energy.units import parse
from energy.units.currencies import without_sign


@pytest.mark.parametrize(
    ("typed", "currency"),
    [
        ("12.50 zł", "PLN"), ("12.50 zl", "PLN"), ("12.50 ZŁ", "PLN"), ("12.50 kč", "CZK"), ("12.50 Kč", "CZK"), ("12.50 Ft", "HUF"),
        ("12.50 kr", "SEK"), ("12.50 kr", "DKK"), ("$12.50", "USD"), ("R$ 12.50", "BRL"), ("12.50 SFr", "CHF"), ("€12.50", "EUR"), ("12.50", "PLN"),
    ],
)  # fmt: skip
def test_a_sign_may_stand_beside_an_amount_of_its_currency(typed, currency):
    assert without_sign(typed, currency) == "12.50"


def test_a_sign_of_another_currency_is_left():
    assert without_sign("12.50 zł", "EUR") == "12.50 zł"
    assert without_sign("12.50 $", "PLN") == "12.50 $"


@pytest.mark.parametrize(
    ("typed", "code"),
    [
        ("zł", "PLN"),
        ("zl", "PLN"),
        ("kč", "CZK"),
        ("Ft", "HUF"),
        ("€", "EUR"),
        ("£", "GBP"),
        ("pln", "PLN"),
        ("eur", "EUR"),
    ],
)
def test_the_currency_of_a_case_is_asked_for_by_its_code(typed, code):
    with pytest.raises(CaseError, match=f"'{typed}' is not a currency; write {code}$"):
        build(document(changes={"case.currency": typed}))


@pytest.mark.parametrize("typed", ["$", "kr", "¥", "lei", "dollar"])
def test_what_names_several_currencies_or_none_asks_for_three_letters(typed):
    with pytest.raises(CaseError, match="is not a currency; write its three capital letters, such as USD or EUR"):
        build(document(changes={"case.currency": typed}))


@pytest.mark.parametrize(
    ("text", "kind", "told"),
    [
        ("0.60 zł/kWh", "price per energy", "(zł is written as PLN); write a number and one of PLN/kWh, "),
        ("0.60 zl/kWh", "price per energy", "(zl is written as PLN); write a number and one of PLN/kWh, "),
        ("€0.60/kWh", "price per energy", "(€ is written as EUR); write a number and one of PLN/kWh, "),
        ("1200 Kč", "money", "(Kč is written as CZK); write a number and PLN"),
        ("1200 kr", "money", "'1200 kr' is not an amount of money; write a number and PLN"),
    ],
)
def test_a_price_with_a_sign_names_the_code(text, kind, told):
    with pytest.raises(UnitError) as refused:
        parse(text, kind, currency="PLN")
    assert told in str(refused.value)


@pytest.mark.parametrize(
    ("text", "currency", "kind", "told"),
    [
        ("£0.214/kWh", "GBP", "price per energy", "(£ is written as GBP); write 0.214 GBP/kWh"),
        ("£ 0.214 per kWh", "GBP", "price per energy", "write 0.214 GBP per kWh"),
        ("GBP 0.214/kWh", "GBP", "price per energy", "write 0.214 GBP/kWh"),
        ("$0.12/kWh", "USD", "price per energy", "write 0.12 USD/kWh"),
        ("£5,000", "GBP", "money", "write 5000 GBP"),
        # A hundredth of the number: 21.4 pence are 0.214 pounds.
        ("21.4 p/kWh", "GBP", "price per energy", "write 0.214 GBP/kWh"),
        ("21.4p/kWh", "GBP", "price per energy", "write 0.214 GBP/kWh"),
        ("21.4 pence/kWh", "GBP", "price per energy", "write 0.214 GBP/kWh"),
        ("21,4 ct/kWh", "EUR", "price per energy", "write 0.214 EUR/kWh"),
        ("21.4 c/kWh", "USD", "price per energy", "write 0.214 USD/kWh"),
        ("410 p/m3", "GBP", "price per volume", "write 4.1 GBP/m3"),
    ],
)
def test_a_price_with_its_sign_before_it_or_in_cents_is_told_as_it_is_written(text, currency, kind, told):
    with pytest.raises(UnitError) as refused:
        parse(text, kind, currency=currency)
    assert str(refused.value).endswith(told)
    assert parse(told.partition("write ")[2], kind, currency=currency) > 0.0


@pytest.mark.parametrize(
    ("text", "currency"),
    [
        ("21.4 p/kWh", "EUR"),
        ("21.4 c/kWh", "JPY"),
        ("$0.12/kWh", "GBP"),
        ("£0.214/foo", "GBP"),
        ("21.4 p/m3", "GBP"),
        ("£0.2.1/kWh", "GBP"),
    ],
)
def test_what_is_no_cent_of_the_currency_or_no_price_is_told_its_units(text, currency):
    with pytest.raises(UnitError, match=f"; write a number and one of {currency}/kWh, "):
        parse(text, "price per energy", currency=currency)


@pytest.mark.parametrize("text", ["£0.214/kWh", "GBP 0.214/kWh"])
def test_a_price_with_its_currency_first_is_no_file_that_is_missing(text):
    with pytest.raises(CaseError, match=r"is not a price per energy.*; write 0\.214 GBP/kWh") as refused:
        build(document(changes={"case.currency": "GBP", "tariffs.electricity": text}))
    assert "no such file" not in str(refused.value).partition("tariffs.gas")[0]


@pytest.mark.parametrize("name", ["GBP2025/day.toml", "USD tariff.toml", "tariff.toml", "EUR/kWh.toml"])
def test_a_file_may_begin_with_three_letters(name):
    assert not is_price(name)


def test_a_foot_is_no_forint():
    with pytest.raises(UnitError, match=r"^'5 Ft' is not a mass; write"):
        parse("5 Ft", "mass")


def test_the_command_names_the_code_of_a_rate_record():
    class Given:
        tariff, currency = "rate.json", "zł"

    with pytest.raises(EnergyError, match=r"^--currency: 'zł' is not allowed; write PLN$"):
        tariff_of(Given())


def test_a_printed_amount_on_the_page_takes_the_sign_before_it_too():
    state = State("demo")  # a flat tariff in USD
    state.set("total", "$14,840.00")
    assert state.printed_total == 14_840.0


def test_the_currency_of_a_tariff_is_asked_for_by_its_code():
    document = {"name": "By hand", "commodity": "electricity", "currency": "zł", "source": "invented", "charges": []}
    with pytest.raises(CaseError, match="currency: 'zł' is not allowed; write PLN"):
        tariff_from(document)
