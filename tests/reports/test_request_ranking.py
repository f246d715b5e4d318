"""What the option asked for is called in the ranking, on paper, on a page and in the workbook."""

from __future__ import annotations

import io
import zipfile

import cases
import pytest

from energy.reports.document import rendered
from energy.reports.document.options import options
from energy.reports.document.proposal import proposal
from energy.study.compare import compare

pytestmark = pytest.mark.xdist_group("document")
LOSES = "Desiccant wheel (asked for; worth less than it costs)"


def _compared(capital):
    changes = {f"options['{cases.WHEEL}'].capital": capital, "request.recommended": cases.WHEEL}
    return compare(cases.case(cases.PRESENT, cases.WHEEL, changes=changes))


def _called(comparison):
    ranking = next(b for b in options(proposal(comparison)) if getattr(b, "title", "") == "Ranking")
    return [row[1] for row in ranking.rows]


def test_an_option_that_earns_its_money_is_recommended():
    assert "Desiccant wheel (recommended)" in _called(_compared("26000 USD"))


def test_one_that_loses_money_is_asked_for_and_said_to_be_worth_less_than_it_costs():
    # It saves about 6,800 USD a year over ten years: at 8 % 90,000 USD never come back.
    comparison = _compared("90000 USD")
    assert LOSES in _called(comparison)
    assert LOSES in rendered(comparison, ".html").decode()


def test_the_workbook_whose_figures_can_be_changed_says_what_is_asked_for():
    with zipfile.ZipFile(io.BytesIO(rendered(_compared("90000 USD"), ".xlsx"))) as book:
        texts = book.read("xl/sharedStrings.xml").decode()
    assert "<t>Asked for: Desiccant wheel</t>" in texts
    assert "recommended" not in texts.lower()
