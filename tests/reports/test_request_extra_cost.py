"""A request for what costs more to run than the present dryers: its doubts are of an extra cost, not of a saving."""

from __future__ import annotations

from dataclasses import replace

import cases
import numpy as np
import pytest

from energy.reports.document import decision, sensitivity, swings, worth
from energy.reports.document.proposal import Proposal
from energy.reports.document.records import Bullets, Figures, Table
from energy.reports.simulation import stated_among
from energy.study.compare import compare
from energy.study.simulate import simulate

OVERHAUL = [{"item": "Overhaul", "every": 3, "amount": "30000 USD"}]
CHANGES = {f"options['{cases.PRESENT}'].replacements": OVERHAUL, "tariffs.electricity": "0.05 USD/kWh"}


@pytest.fixture(scope="module")
def dearer():
    """Compressed air beside towers with dear overhauls: more to run, and worth it."""
    return compare(cases.case(cases.PRESENT, cases.MEMBRANE, changes=CHANGES))


def test_its_scenarios_are_of_an_extra_cost_and_worse_is_more_of_it(dearer):
    option = dearer.option(cases.MEMBRANE)
    extra = option.total_cost - dearer.baseline.total_cost
    assert extra > 0.0
    found = {s.name: s for s in worth.scenarios(dearer, option)}
    assert not [name for name in found if "aving" in name]
    usual, more = found["As worked out"], found["Extra running cost 20 % higher"]
    assert more.saving == pytest.approx(-1.2 * extra)
    # 10 years at 8 %, electricity rising 1 % a year: a fifth more of all that is added.
    year = np.arange(1, 11)
    added = {k: option.annual_cost[k] - v for k, v in dearer.baseline.annual_cost.items()}
    worths = {k: (((1.01 if k == "electricity" else 1.0) / 1.08) ** year).sum() for k in added}
    present = sum(added[k] * worths[k] for k in added)
    assert more.npv == pytest.approx(usual.npv - 0.2 * present)
    both = found["Extra running cost 20 % higher and capital 20 % higher"]
    assert both.npv < min(more.npv, found["Capital 20 % higher"].npv)
    assert found["Extra running cost 20 % lower and capital 20 % lower"].npv > usual.npv
    assert usual.npv > 0.0
    assert worth.break_evens(dearer, option).extra == pytest.approx(1 + usual.npv / present)


def test_a_swing_is_named_by_what_comes_on_top(dearer):
    found = {s.label: s for s in swings.swings(dearer, dearer.option(cases.MEMBRANE))[0]}
    assert found["Extra electricity, ±20 %"].low > found["Extra electricity, ±20 %"].high
    assert found["Cooling saved, ±20 %"].low < found["Cooling saved, ±20 %"].high
    assert "Replacements spared, ±20 %" in found
    assert "Electricity saved, ±20 %" not in found


def test_the_document_speaks_of_no_saving_of_a_year(dearer):
    option = dearer.option(cases.MEMBRANE)
    p = Proposal(comparison=dearer, option=option, why="")
    blocks = list(sensitivity.sensitivity(p, option, None))
    (said,) = [b.items for b in blocks if isinstance(b, Bullets)]
    assert any(text.startswith("The extra running cost may rise to ") for text in said)
    assert not [text for text in said if "savings" in text]
    (table,) = [b for b in blocks if isinstance(b, Table)]
    assert "the saving grows" not in table.note
    (figures,) = [b for b in decision.decision(p, None) if isinstance(b, Figures)]
    extra = option.total_cost - dearer.baseline.total_cost
    label, figure, _ = figures.items[1]
    assert label == "Extra cost a year"
    assert float(figure.split()[0].replace(",", "")) == pytest.approx(extra, rel=6e-3)


def test_draws_are_told_of_an_extra_cost():
    found = simulate(cases.case(cases.PRESENT, cases.MEMBRANE, changes=CHANGES), 64)
    stated = found.comparison.baseline.total_cost - found.comparison.option(cases.MEMBRANE).total_cost
    moved = np.full(found.outcomes.saving[cases.MEMBRANE].size, 3.0 * stated)  # all of them cost thrice as much on top
    told = stated_among(replace(found, outcomes=replace(found.outcomes, saving={cases.MEMBRANE: moved})))
    assert told.startswith(
        f"The extra running cost of “{cases.MEMBRANE}” at the stated values is {-stated:,.0f} USD a year; "
    )
    assert "it is more than that in 100 of 100 simulated cases" in told
