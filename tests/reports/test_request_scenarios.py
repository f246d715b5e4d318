"""Scenarios: what moves and what stays at half the throughput, and none that changes nothing."""

from __future__ import annotations

import cases
import numpy as np
import pytest

from energy.reports.document import worth
from energy.reports.document.decision import decision
from energy.reports.document.proposal import proposal
from energy.reports.document.records import Paragraph
from energy.study.compare import compare
from energy.study.sensitivity import run_scenarios

pytestmark = pytest.mark.xdist_group("document")


def test_at_half_the_throughput_capital_and_overhauls_stay_and_the_saving_moves(small):
    option = small.option(cases.WHEEL)
    half = next(s for s in worth.scenarios(small, option) if s.name == worth.HALF)
    # The same machines on half the resin, compared as a case of its own.
    machines = {}
    for o in small.options:
        if o.option.built_for is not None:
            continue
        machines[f"options['{o.name}'].built_for"] = f"{float(small.case.model.hoppers[0].throughput) * 3600} kg/h"
        machines[f"options['{o.name}'].hopper_volume"] = f"{o.sizing['hopper_volume']} m3"
    slow = {f"{cases.HOPPER}.throughput": f"{float(small.case.model.hoppers[0].throughput) * 1800} kg/h", **machines}
    other = compare(small.case.with_(slow))
    saving = other.baseline.total_cost - other.option(cases.WHEEL).total_cost
    assert half.saving == pytest.approx(saving, rel=1e-3)
    assert half.simple == pytest.approx(26_000 / half.saving)
    # Capital, overhauls and the value left are those of full throughput; a year's saving differs, electricity rising 1 % a year.
    year = np.arange(1, 11)
    both = [small.baseline, option], [other.baseline, other.option(cases.WHEEL)]
    saved = [{k: a.annual_cost[k] - b.annual_cost[k] for k in a.annual_cost} for a, b in both]
    rise = {"electricity": 0.01}
    worth_of = {k: ((1 + rise.get(k, 0.0)) ** year * 1.08**-year).sum() for k in saved[0]}
    more = sum((saved[1][k] - saved[0][k]) * worth_of[k] for k in worth_of)
    assert half.npv == pytest.approx(option.measures.npv + more, rel=1e-4)


def test_a_scenario_without_a_change_is_no_result():
    said = [
        {"name": "as it is", "changes": {"finance.rate": "8 %"}},
        {"name": "dear", "changes": {"finance.rate": "12 %"}},
    ]
    case = cases.case(cases.PRESENT, cases.WHEEL, changes={"scenarios": said})
    assert list(run_scenarios(case)) == ["dear"]
    free = compare(cases.case(cases.PRESENT, cases.WHEEL, changes={f"options['{cases.WHEEL}'].capital": "0 USD"}))
    named = [s.name for s in worth.scenarios(free, free.option(cases.WHEEL))]
    assert "As worked out" in named
    assert "Capital 20 % higher" not in named


def test_a_metered_request_says_what_it_is_worth_by_the_model_alone(small):
    ratio = {f"options['{cases.PRESENT}'].metered_over_model": "130 %"}
    metered = compare(small.case.with_(ratio))
    option = metered.option(cases.WHEEL)
    alone = worth.by_model_alone(metered, option)
    assert alone.npv == pytest.approx(small.option(cases.WHEEL).measures.npv)
    assert alone.payback == pytest.approx(small.option(cases.WHEEL).measures.payback)
    assert alone.npv < option.measures.npv
    assert [s.name for s in worth.scenarios(metered, option)][-1] == worth.MODEL_ALONE
    assert worth.by_model_alone(small, small.option(cases.WHEEL)) is None
    p = proposal(metered)
    said = " ".join(block.text for block in decision(p, None) if isinstance(block, Paragraph))
    assert f"the net present value is {p.money(worth.by_model_alone(metered, p.option).npv)}" in said
