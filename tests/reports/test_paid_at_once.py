"""A payback is told as at once where no extra money is ever owed and some is saved; none stays for what never pays back."""

from __future__ import annotations

import html
import json
import re

import numpy as np
import pytest
import spreadsheet
from cases import NEW, PRESENT, case

from dashboards import bill_swap
from dashboards import tables as cells
from energy import finance
from energy.reports import answer, tables
from energy.reports.comparison_json import to_json
from energy.reports.comparison_text import to_text
from energy.reports.document import parts, rendered
from energy.reports.document.proposal import proposal
from energy.reports.paid_back import in_years
from energy.study.compare import compare

OF_PRESENT, OF_NEW = f"options['{PRESENT}']", f"options['{NEW}']"
EQUAL = {
    f"{OF_PRESENT}.capital": [{"item": "Dryer and hopper", "amount": "22000 USD"}],
    f"{OF_PRESENT}.replacements": None,
    "finance.maximum_payback": "3 year",
}
"""The present dryer is to be bought, too, for the 22,000 USD of the new one."""
NAMES = {"payback", "payback_on_savings", "discounted_payback", "capital_over_saving"}


@pytest.fixture(scope="module")
def equal():
    return compare(case(PRESENT, NEW, changes=EQUAL))


@pytest.fixture(scope="module")
def dearer_to_run():
    """At equal capital an option that needs more upkeep than it saves."""
    return compare(case(PRESENT, NEW, changes={**EQUAL, f"{OF_NEW}.maintenance": "90000 USD/year"}))


def text_of(comparison) -> str:
    page = rendered(comparison, ".html").decode()
    return re.sub(r"\s+", " ", html.unescape(re.sub(r"<[^>]+>", " ", page)))


@pytest.mark.common_practice("arithmetic by hand")
def test_a_flow_that_never_owes_and_saves_is_at_once():
    flows = [
        [0.0, 100.0, 100.0],  # nothing is paid, some is saved
        [500.0, -100.0, -100.0],  # cheaper to buy: never owed within the study
        [0.0, 0.0, 0.0],  # nothing is paid and nothing saved
        [0.0, -100.0, 300.0],  # owed in year 1
        [-100.0, 300.0, 300.0],
        [0.0, -100.0, -100.0],
    ]
    assert finance.at_once(flows).tolist() == [True, True, False, False, False, False]


def test_the_measures_know_which_paybacks_are_at_once(equal, dearer_to_run):
    m = equal.option(NEW).measures
    assert np.all(m.cash_flow[1:] > 0.0)
    assert m.cash_flow[0] == 0.0
    assert m.at_once == NAMES
    assert not any(np.isfinite(getattr(m, name)) for name in NAMES)  # numbers stay as they are
    assert dearer_to_run.option(NEW).measures.at_once == frozenset()


def test_tables_say_at_once_and_none_where_it_never_pays_back(equal, dearer_to_run):
    new, never = equal.option(NEW), dearer_to_run.option(NEW)
    assert (tables.paybacks(new.measures), tables.paybacks(never.measures)) == ("at once", "none")
    assert re.search(rf"^{NEW} .* at once$", to_text(equal, "si"), re.MULTILINE)
    assert re.search(rf"^{NEW} .* none$", to_text(dearer_to_run, "si"), re.MULTILINE)
    assert cells.payback(new) == '<span title="no extra capital: there is nothing to pay back">at once</span>'
    assert cells.payback(never).endswith(">none</span>")
    assert bill_swap._paybacks(new) == "<td>at once</td><td>at once</td>"
    assert bill_swap._paybacks(never) == "<td>none</td><td>none</td>"
    kept = next(o for o in json.loads(to_json(equal))["options"] if o["name"] == NEW)
    assert kept["simple_payback_years"] is None
    assert kept["payback_note"] == "no extra capital: there is nothing to pay back"


def test_the_request_says_it_in_every_table(equal):
    said = text_of(equal)
    assert "Simple payback at once no extra capital: there is nothing to pay back" in said
    for label in ("Capital over a year's saving", "Payback on running cost alone", "Discounted payback"):
        assert f"{label} at once" in said
    assert re.search(r"As worked out [\d,]+ [\d,]+ at once at once at once", said)
    assert "payback none" not in said


def test_replacements_that_are_added_alone_stand_between_it_and_at_once():
    """15,000 USD in year 1 and else a saving: that is paid back in time, and on running cost nothing is owed at all."""
    added = [{"item": "Beds", "every": 12, "next_due": 1, "amount": "15000 USD"}]
    made = compare(case(PRESENT, NEW, changes={**EQUAL, f"{OF_NEW}.replacements": added}))
    m, saving = made.option(NEW).measures, made.baseline.total_cost - made.option(NEW).total_cost
    # By hand: year 1 leaves the saving less 15,000, which the next years return; energy prices rise by a little.
    assert m.payback == pytest.approx(15000.0 / saving, rel=0.05)
    assert 1.0 < m.payback < 3.0
    assert m.at_once == {"payback_on_savings", "capital_over_saving"}
    assert tables.paybacks(m) == f"{m.payback:.1f} (at once)"
    assert "(at once on running cost alone)" in " ".join(answer.sentences(made))
    p = proposal(made)
    told = parts.answer_to_limit(p, p.option)
    assert told.startswith("Met: payback ")
    assert "their dates decide" not in told


@pytest.mark.parametrize(("years", "told"), [(None, "never"), (0.0, "at once"), (0.04, "0.0"), (3.21, "3.2")])
def test_a_payback_of_the_draws(years, told):
    assert in_years(years) == told


@pytest.mark.skipif(spreadsheet.SOFFICE is None, reason="LibreOffice (soffice) is not installed")
@pytest.mark.xdist_group("document")
def test_the_workbook_works_it_out_alike(equal, dearer_to_run, tmp_path):
    for name, comparison in (("equal", equal), ("dearer", dearer_to_run)):
        spreadsheet.changed(rendered(comparison, ".xlsx"), tmp_path / f"{name}.xlsx", {})
    for name, sheets in spreadsheet.recalculated(tmp_path).items():
        rows = [row for row in sheets["Measures"] if row and ("payback" in row[0] or "over a year's saving" in row[0])]
        word = "at once" if name == "equal" else "none"
        assert len(rows) == 9  # by the formulas, by the engine, and the difference
        assert [word in row for row in rows] == [True] * 6 + [False] * 3
        assert not any("differs" in cell for row in sheets["Measures"] for cell in row if cell == "differs")
