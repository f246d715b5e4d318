"""What the request and the page of bills say where the average price of a bill points the wrong way."""

from __future__ import annotations

from dataclasses import replace

import cases
import pytest

from dashboards.bill_swap import others
from energy.reports.demand_words import demand_words
from energy.reports.document.proposal import proposal
from energy.reports.document.records import Paragraph
from energy.reports.document.savings import savings
from energy.study.swap import swap
from energy.tariffs import Saving, load_tariff
from energy.tariffs.saving import SavingLine

pytestmark = pytest.mark.xdist_group("document")


def test_a_bill_that_falls_where_the_average_price_would_have_it_rise_is_told_in_directions(small):
    p = proposal(small)
    option = small.option(cases.WHEEL)
    saving = option.savings["electricity"]
    assert saving.steady > 0.0
    turned = replace(saving, average_estimate=-101.0)
    said = " ".join(
        b.text for b in savings(p, replace(option, savings={"electricity": turned})) if isinstance(b, Paragraph)
    )
    assert (
        f"By the average price of the bill, times the kWh added, electricity would cost {p.money(101.0)} a year more; by the two bills "
        f"it costs {p.money(saving.steady)} less, and that is what counts here."
    ) in said
    made = swap(small.case, cases.WHEEL, load_tariff("flat-electricity"))
    turned = replace(made.saving, average_estimate=-101.0)
    assert ">wrong way<" in others([], replace(made, saving=turned))
    assert ">wrong way<" not in others([], made)


@pytest.mark.parametrize(
    ("share", "possible", "said"),
    [
        (1.0, 240.0, "the fall of the dryers' power would be worth 240 CAD a year; 100 % of that comes off the bill."),
        (0.49, 436.0, "worth 436 CAD a year; 49 % of that comes off the bill: what is billed is a peak that"),
        (
            -0.84,
            -1400.0,
            "rises, which would be worth 1,400 CAD a year at the full demand rates; but the demand lines of the bill fall by 1,176 CAD: what",
        ),
        (1.0, -90.0, "the rise of the dryers' power would be worth 90 CAD a year; 100 % of that comes onto the bill."),
    ],
)
def test_why_a_bill_gives_less_than_the_fall_of_power_is_worth(share, possible, said):
    line = SavingLine("Demand", "1", "d", "demand", share * possible, share * possible, 0.0, 0.0, "kW", (), 12)
    saving = Saving(currency="CAD", lines=(line,), demand_possible=possible, average_estimate=0.0)
    assert said in demand_words(saving, lambda amount: f"{amount:,.0f} CAD")


def test_without_demand_charges_nothing_is_said_of_them():
    saving = Saving(currency="CAD", lines=(), demand_possible=0.0, average_estimate=0.0)
    assert demand_words(saving, str) == ""
