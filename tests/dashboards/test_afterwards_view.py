"""The check afterwards on the request page: a table typed or pasted, kept in the case, and its answer."""

from __future__ import annotations

import pytest

from dashboards.afterwards import PATH, result
from dashboards.request import View
from dashboards.request_state import RequestState
from energy.reports.afterwards import check, sentences
from energy.study.case import build, read_document
from energy.study.compare import compare
from energy.study.paths import written

BEFORE = ((15_000, 2_270), (17_500, 2_640), (14_200, 2_150), (18_800, 2_830))
AFTER = ((16_100, 1_410), (18_000, 1_590))


def pasted(sign=".", columns="when\tdays\tresin (kg)\telectricity (kWh)"):
    rows = [("before", *row) for row in BEFORE] + [("after", *row) for row in AFTER]
    return "\n".join([columns, *(f"{when}\t7\t{kg}\t{kwh}{sign}5" for when, kg, kwh in rows)])


@pytest.fixture
def view():
    return View(RequestState("demo"))


def field(view):
    return next(f for f in view._inputs() if f.path == PATH)


@pytest.mark.parametrize("sign", [".", ","])
def test_a_table_pasted_is_kept_in_the_case_and_answered(view, sign):
    field(view).control.value = pasted(sign)
    assert view.state.problems == ()
    kept = build(read_document(view.state.toml().decode(), "case.toml"), file="case.toml")
    said = sentences(check(compare(kept)), "USD")
    assert view._check.value.count("<li>") == len(said) - 1
    assert said[0].split(":")[0] in view._check.value
    # By hand: 65,500 kg of before took 9,892 kWh, so that 34,100 kg would have taken 5,150; 3,001 were metered.
    assert pytest.approx(5_150, abs=1) == 9_892 / 65_500 * 34_100
    found = check(compare(kept)).saved["electricity"]
    assert found.expected / 3.6e6 == pytest.approx(5_150, rel=0.005)
    assert found.metered / 3.6e6 == pytest.approx(3_001.0)
    assert field(view).control.value.splitlines()[1] == "before\t7\t15000\t2270.5"


def test_a_table_that_cannot_be_read_stays_and_is_told_beside_it(view):
    before = view._check.value
    field(view).control.value = "when\tdays\nbefore\t7"
    assert field(view).control.value == "when\tdays\nbefore\t7"
    assert "no column is called resin with kg or lb" in field(view).problem()
    assert "no column is called resin" in view._problems.value
    assert view._check.value == before == ""
    field(view).control.value = ""
    assert not view.state.problems
    assert written(view.state.document, PATH) is None


def test_too_few_weeks_are_told(view):
    field(view).control.value = "\n".join(pasted().splitlines()[:3])
    assert view.state.problems == ()
    assert "2 periods are metered before; 4 or more are needed" in result(view.state.comparison)


def test_thousands_that_may_be_decimals_are_told_in_words_of_the_page(view):
    field(view).control.value = "when;days;resin (kg);electricity (kWh)\nbefore;7;21,350;3,230"
    assert "may be 21350 or 21.35; write it without a sign between thousands" in field(view).problem()


def test_gas_by_volume_stays_as_it_was_pasted_and_a_column_not_known_is_named(view):
    table = "when\tdays\tresin (kg)\telectricity (kWh)\tgas (m3)\nbefore\t7\t15000\t2270.5\t132.5"
    field(view).control.value = table
    assert view.state.problems == ()
    assert field(view).control.value == table
    field(view).control.value = table.replace("gas (m3)", "gas (Nm3)")
    assert "the column 'gas (Nm3)' is not known; gas is taken in kWh" in field(view).problem()
