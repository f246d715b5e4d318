"""Bills are rounded to, and written with, the minor unit of their currency (ISO 4217: yen 0, dollar 2, Kuwaiti dinar 3 decimals)."""

from __future__ import annotations

import numpy as np
import pytest

from dashboards.bill_tables import reconciled
from energy.reports.bill import compare_lines, to_text
from energy.tariffs import Load, bill, simple_tariff
from energy.units import parse


def june(currency, price, energy):
    rate = simple_tariff("electricity", currency, parse(price, "price per energy"))
    return bill(rate, Load(energy=np.full(12, energy * 3.6e6)), rounded=True).of_month(6)


@pytest.mark.parametrize(
    ("currency", "price", "amount", "shown"),
    [
        ("JPY", "17.3 JPY/kWh", 21_357, "21,357"),  # 1,234.5 x 17.3 = 21,356.85
        ("USD", "0.1737 USD/kWh", 214.43, "214.43"),  # 214.43265
        ("KWD", "0.0253 KWD/kWh", 31.233, "31.233"),  # 31.23285
    ],
)
def test_a_line_is_rounded_to_what_the_currency_has_for_cents(currency, price, amount, shown):
    made = june(currency, price, 1_234.5)
    assert float(made.total) == amount
    text = to_text(made, "as typed in", [])
    assert f" {shown} " in text
    assert f"{shown}0" not in text
    assert ("each line rounded to cents" in text) == (currency == "USD")


def test_the_page_compares_in_whole_yen():
    made = june("JPY", "17.3 JPY/kWh", 1_234.5)
    rows = compare_lines(made, {made.lines[0].line: 21_358})
    page = reconciled(rows, 21_357.0, 21_358.0, "JPY")
    assert "21,357<" in page
    assert "21,358<" in page
    assert "+1<" in page
    assert "agrees" in page
    assert ".00" not in page
