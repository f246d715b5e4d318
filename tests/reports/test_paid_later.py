"""Where the capital is paid after the base date: what is saved before it is told, and what the capital has come to by then."""

from __future__ import annotations

import pytest
from cases import NEW, PRESENT, case

from energy.reports import answer
from energy.reports.document import parts
from energy.reports.document.decision import decision
from energy.reports.document.proposal import proposal
from energy.reports.document.records import Figures, Paragraph
from energy.reports.paid_later import saved_before_paid
from energy.study.compare import compare


def made(**finance):
    return compare(case(PRESENT, NEW, changes={f"finance.{key}": value for key, value in finance.items()}))


def test_savings_counted_before_the_capital_is_paid_are_told_beside_the_answer_and_in_the_request():
    late = made(capital_year=1)
    (said,) = saved_before_paid(late)
    assert "paid at the end of year 1 (finance.capital_year), and the saving of year 1 is counted before that" in said
    assert 'set finance.delay to "1 year"' in said
    assert said in answer.sentences(late)
    p = proposal(late)
    assert any(isinstance(b, Paragraph) and b.text == said and b.style == "warning" for b in decision(p, None))


def test_on_a_page_it_is_told_by_its_fields():
    (said,) = saved_before_paid(made(capital_year=1), page=True)
    assert "(“Capital spent at the end of year”)" in said
    assert '“From the base date to the start of service” to "1 year" under More on money' in said
    assert "finance." not in said


@pytest.mark.parametrize(
    ("finance", "told"),
    [
        ({"capital_year": 3}, "the saving of years 1 to 3 is counted"),
        ({"capital_year": 3, "delay": "1.5 year"}, "the saving of years 2 to 3 is counted"),
        ({"capital_year": 2, "delay": "1 year"}, "the saving of year 2 is counted"),
    ],
)
def test_the_years_are_those_between_the_start_and_the_payment(finance, told):
    assert told in saved_before_paid(made(**finance))[0]


@pytest.mark.parametrize("finance", [{}, {"delay": "1 year"}, {"capital_year": 1, "delay": "1 year"}])
def test_nothing_is_told_where_no_saving_comes_before_the_payment(finance):
    assert saved_before_paid(made(**finance)) == []


def test_a_capital_that_rises_until_it_is_paid_is_told_as_both_sums():
    # 22,000 USD x 1.025 = 22,550 USD
    p = proposal(made(capital_year=1, rate_basis="nominal", inflation="2.5 %"))
    figures = next(b for b in decision(p, None) if isinstance(b, Figures))
    assert figures.items[0][2].startswith("paid at the end of year 1, when it is 22,550 USD with inflation; ")
    assert parts.counted_out(p, p.option).startswith(
        "22,550 USD of capital (22,000 of today, risen with inflation until it is paid at the end of year 1)"
    )


def test_a_capital_in_money_of_today_is_one_sum():
    p = proposal(made(capital_year=1, rate_basis="real", inflation="2.5 %"))
    figures = next(b for b in decision(p, None) if isinstance(b, Figures))
    assert figures.items[0][2].startswith("paid at the end of year 1; ")
    assert parts.counted_out(p, p.option).startswith("22,000 USD of capital, ")


def test_a_limit_of_payback_is_not_met_only_since_nothing_is_paid_in_the_first_year():
    # 22,000 USD are not back within half a year, whenever they are paid.
    late = made(capital_year=1, maximum_payback="0.5 year")
    assert answer.sentences(late)[0].startswith("No option pays back within the 0.5 years accepted.")
    p = proposal(late)
    assert parts.limit_met(p, p.option) is False
