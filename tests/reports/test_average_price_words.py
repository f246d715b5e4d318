"""What the request and the page of bills say where the average price of a bill points the wrong way."""

from __future__ import annotations

from dataclasses import replace

import cases
import pytest

from dashboards.bill_swap import others
from energy.reports.document.proposal import proposal
from energy.reports.document.records import Paragraph
from energy.reports.document.savings import savings
from energy.study.swap import swap
from energy.tariffs import load_tariff

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
