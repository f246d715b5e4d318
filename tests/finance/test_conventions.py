"""The sentences beside the results say what the settings are, and nothing that they are not."""

from __future__ import annotations

import pytest

from energy.errors import UnknownNameError
from energy.finance import Tax, conventions


def said(**settings):
    return " ".join(conventions(**({"rate": 0.08, "years": 15} | settings)))


def test_one_plain_sentence_each():
    taxed = Tax(rate=0.25, depreciation="macrs-7")
    sentences = conventions(rate=0.08, years=1, escalation={"gas": 0.02}, delay=0.5, rate_basis="nominal", tax=taxed)
    assert len(sentences) == len(set(sentences))
    for sentence in sentences:
        assert sentence[0].isupper()
        assert sentence.endswith(".")


@pytest.mark.parametrize(
    ("settings", "words", "absent"),
    [
        ({}, "The discount rate of 8 % is real; all amounts are in constant money of year 0.", "current money"),
        ({}, "judged over the same 15 years.", "15 year."),
        ({}, "Prices of year 0 stay level in constant money of year 0.", "already in the amount"),
        ({}, "Yearly amounts fall at the year's end", "in its middle"),
        ({}, "fall on the base date and are not discounted", "at the end of year 0"),
        ({}, "All amounts are before tax.", "finance department"),
        ({"timing": "mid"}, "counts in its middle", "Yearly amounts fall"),
        ({"capital_year": 2}, "fall at the end of year 2;", "not discounted"),
        ({"delay": 0.5}, "Savings start 0.5 years after the base date", "1 year after"),
        (
            {"escalation": {"electricity": 0.015, "gas": 0.0}},
            "rise by these rates a year above inflation: electricity 1.5 %, other prices stay level; one rise is already",
            "gas",
        ),
        (
            {"rate_basis": "nominal", "inflation": 0.025, "escalation": {"gas": 0.03}},
            # Fisher: 1.08 / 1.025 - 1, reference value 5.365854 %.
            "is nominal, which is 5.366 % real at 2.5 % inflation; all amounts are in current money.",
            "above inflation",
        ),
        (
            {"rate_basis": "nominal"},
            "residual value rise with inflation, 0 % a year.",
            "constant money",
        ),
        (
            {"tax": Tax(rate=0.21, depreciation="straight-line", life=7), "inflation": 0.02},
            "deducted in equal shares over 7 years, from the year of service begun. "
            "Deductions are fixed in money and lose worth by 2 % inflation a year.",
            "before tax",
        ),
        ({"tax": Tax(rate=0.21, depreciation="first-year", incentive="income")}, "taxed as income", "lowers the cost"),
        ({"tax": Tax(rate=0.21, depreciation="own", table=[0.5, 0.5])}, "a table of its own over 2 years", "IRS"),
    ],
)
def test_settings_are_said(settings, words, absent):
    text = said(**settings)
    assert words in text
    assert absent not in text


def test_misspelt_settings_are_refused():
    with pytest.raises(UnknownNameError, match="did you mean 'real'"):
        said(rate_basis="rael")
    with pytest.raises(UnknownNameError, match="did you mean 'mid'"):
        said(timing="midd")


def test_nothing_is_said_of_a_delay_that_nobody_stated():
    assert said() == said(delay=0.0)
    assert said() != said(delay=1.0)
