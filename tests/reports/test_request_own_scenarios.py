"""The case's own scenarios in the request: by their names, with what they change, before the common tests."""

from __future__ import annotations

import re
import zipfile
from io import BytesIO

import cases
import numpy as np
import pytest

from energy.reports.document import rendered
from energy.reports.document.own_scenarios import own_scenarios
from energy.reports.document.proposal import proposal
from energy.reports.document.records import Table
from energy.reports.document.sensitivity import sensitivity
from energy.study.compare import compare

pytestmark = pytest.mark.xdist_group("document")
RATE, TITLE = "finance.rate", "dear money: Discount rate 12 % (8 % in the case)"
SCENARIOS = [
    {"name": "dear money", "changes": {RATE: "12 %"}},
    {"name": "one shift", "changes": {"calendar.production_hours": "2000 h", f"{cases.HOPPER}.throughput": "40 kg/h"}},
    {"name": "as it is", "changes": {RATE: "8 %"}},
    {"name": "gone", "changes": {"options['No such'].life": 5}},
    {"name": "damp", "changes": {f"{cases.HOPPER}.residence_time": "0.2 h"}},
]


@pytest.fixture(scope="module")
def p():
    changes = {"scenarios": SCENARIOS, "request.recommended": cases.WHEEL}
    return proposal(compare(cases.case(cases.PRESENT, cases.WHEEL, changes=changes)))


def _rows(p):
    tables = [b for b in sensitivity(p, p.option, None) if isinstance(b, Table) and b.title == "Scenarios"]
    return tables[0].rows, tables[0].note


def test_they_stand_before_the_common_tests_with_what_they_change(p):
    rows, note = _rows(p)
    assert [row[0] for row in rows[:3]] == [
        "As worked out",
        TITLE,
        "one shift: Production hours a year 2000 h (6000 h in the case); Machine 7: throughput 40 kg/h (90 kg/h in the case)",
    ]
    assert rows[3][0].startswith("as it is: Discount rate 8 % (8 % in the case). Its values are those of the case.")
    assert rows[4][0].startswith("gone: No such: life 5")
    assert "No answer" in rows[4][0]
    assert rows[5][0].startswith("damp: Machine 7: residence time")
    assert re.search(r"It fails to dry there\.|It is not expected to dry there\.", rows[5][0])
    assert rows[3][1:] == rows[4][1:] == rows[5][1:] == ("–",) * 5
    assert rows[6][0] == "Savings 20 % lower"
    assert "own scenarios" in note


def test_their_figures_are_those_of_the_case_changed(p):
    # The same flows at 12 % in place of 8 %: 26,000 USD at the base date, savings and what is left at the ends of years.
    own = own_scenarios(p, p.option)
    flows = sum(np.asarray(v) for v in p.option.measures.streams.values())
    assert own[0].result.npv == pytest.approx(float((flows * 1.12 ** -np.arange(flows.size)).sum()))
    assert own[0].result.saving == pytest.approx(p.base.total_cost - p.option.total_cost)
    other = compare(p.case.with_(SCENARIOS[1]["changes"]))
    assert own[1].result.saving == pytest.approx(other.baseline.total_cost - other.option(cases.WHEEL).total_cost)
    assert [s.result is None for s in own] == [False, False, True, True, True]


def test_page_and_workbook_have_them_too(p):
    assert TITLE in rendered(p.comparison, ".html").decode()
    with zipfile.ZipFile(BytesIO(rendered(p.comparison, ".xlsx"))) as book:
        strings = re.findall(r"<t[^>]*>([^<]*)</t>", book.read("xl/sharedStrings.xml").decode())
        sheet = book.read("xl/worksheets/sheet1.xml").decode()
    assert TITLE in strings
    assert "Scenarios of the case" in strings
    row = re.search(rf'<c r="A(\d+)"[^>]*t="s"[^>]*><v>{list(dict.fromkeys(strings)).index(TITLE)}</v>', sheet)[1]
    told = float(re.search(rf'<c r="B{row}"[^>]*><v>([^<]*)</v>', sheet)[1])
    assert told == pytest.approx(own_scenarios(p, p.option)[0].result.npv)


def test_a_case_without_scenarios_says_nothing_of_them(small):
    asked = proposal(small)
    rows, note = _rows(asked)
    assert rows[1][0] == "Savings 20 % lower"
    assert "own scenarios" not in note
