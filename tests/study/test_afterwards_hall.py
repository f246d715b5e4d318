"""The check afterwards where the hall is heated by gas that no meter of the dryers shows."""

from __future__ import annotations

import json

import pytest

from energy.reports import afterwards as told
from energy.reports.document.proposal import proposal
from energy.study.afterwards import periods
from energy.study.case import load_case
from energy.study.compare import compare

KWH = 3.6e6
PRICE = 0.05
"""Of a flat price of gas. [USD/kWh]"""
WEEKS = (15000, 17000, 16000, 18000, 15500, 17500)
"""kg"""


def compared(**building):
    plant = {
        "heating_months": 6,
        "heating_carrier": "gas",
        "heating_efficiency": "90 %",
        "cooling_months": 0,
        **building,
    }
    return compare(load_case("demo").with_({"building": plant, "tariffs.gas": f"{PRICE} USD/kWh"}))


@pytest.fixture(scope="module")
def heated():
    return compared()


def as_forecast(comparison, more=()):
    """Weeks of just what the request counts for each kilogram."""
    p = proposal(comparison)
    rows = [
        {"when": when, "days": 7.0, "resin": f"{kg} kg"}
        | {"electricity": f"{kg * taken.carrier('electricity') / float(taken.year.resin.sum())} J"}
        | dict(more)
        for when, taken in (("before", p.base), ("after", p.option))
        for kg in WEEKS
    ]
    return told.check(comparison, periods(rows, "weeks.csv"))


def test_the_gas_of_the_hall_is_credited_as_forecast_and_named(heated):
    p, found = proposal(heated), as_forecast(heated)
    # The dryers take no gas: all that falls of the bill is what the hall needs of it, here more, as less heat goes into the hall.
    assert p.base.carrier("gas") == p.option.carrier("gas") == 0.0
    by_hand = PRICE * (p.base.hall["gas"] - p.option.hall["gas"]) / KWH
    assert by_hand < -100.0
    assert found.forecast["gas"] == pytest.approx(by_hand, rel=1e-9)
    [line] = [line for line in told.sentences(found, "USD") if line.startswith("Of a year's saving")]
    assert f"; gas of the hall -{-by_hand:,.0f} USD as forecast; " in line
    assert json.loads(told.to_json(found, "USD"))["as_forecast"]["gas"] == pytest.approx(by_hand, rel=1e-9)


def test_metered_as_forecast_the_saving_is_the_forecast(heated):
    found = as_forecast(heated)
    assert found.total == pytest.approx(found.expected, rel=1e-9)
    assert found.read == pytest.approx(found.forecast_read, rel=1e-9)
    assert found.share()[0] == pytest.approx(found.forecast_share(), rel=1e-9)


def test_a_column_of_no_gas_says_the_same(heated):
    without, with_column = as_forecast(heated), as_forecast(heated, more={"gas": "0 kWh"}.items())
    assert with_column.total == pytest.approx(without.total, rel=1e-9)
    assert with_column.asked == pytest.approx(without.asked, rel=1e-9)


def test_a_hall_that_is_not_heated_credits_no_gas():
    found = as_forecast(compared(heating_months=0))
    assert "gas" not in found.forecast
    assert "gas" not in "".join(told.sentences(found, "USD"))
    assert found.total == pytest.approx(found.expected, rel=1e-9)


def test_what_is_not_metered_is_named_by_who_takes_it(heated):
    p = proposal(heated)
    assert told.unmetered.named("gas", p.base, p.option) == "gas of the hall"
    assert told.unmetered.named("electricity", p.base, p.option) == "electricity of the dryers"
