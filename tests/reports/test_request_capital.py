"""What the capital of a request rests on, and what of it is left at the end."""

from __future__ import annotations

import cases
import pytest

from energy.reports import inputs
from energy.reports.document import worth
from energy.reports.document.baseline import baseline
from energy.reports.document.capital import capital, with_quotes
from energy.reports.document.decision import decision
from energy.reports.document.proposal import proposal
from energy.reports.document.records import Figures, Paragraph
from energy.study.compare import compare

pytestmark = pytest.mark.xdist_group("document")
LINES = f"options['{cases.WHEEL}'].capital"


def _asked(lines, **changes):
    return proposal(compare(cases.case(cases.PRESENT, cases.WHEEL, changes={LINES: lines, **changes})))


def _bases(p):
    table = next(iter(capital(p)))
    return [row[-1] for row in table.rows[: len(p.option.option.capital)]]


def _counted(p):
    return sum(e.basis == "quoted" for e in with_quotes(p, inputs.register(p.case)) if e.path.startswith(LINES))


def test_a_line_with_a_quotation_or_a_dated_quote_counts_as_quoted():
    lines = [
        {"item": "Dryer", "amount": "20000 USD", "quotation": "Q-17 of 2026-01-28"},
        {"item": "Pipes", "amount": "4000 USD"},
        {"item": "Slab", "amount": {"value": "2000 USD", "basis": "assumption", "note": "as last time"}},
    ]
    p = _asked(lines, **{"request.quote_date": None})
    assert _bases(p) == ["quoted, Q-17 of 2026-01-28", "given, basis not stated", "assumption, as last time"]
    assert _counted(p) == 1
    p = _asked(lines, **{"request.quote_date": "2026-01-28", "request.estimate_class": "class 3"})
    assert _bases(p)[1:] == ["quoted 2026-01-28, class 3", "assumption, as last time"]
    assert _counted(p) == 2
    said = next(b.text for b in baseline(p) if isinstance(b, Paragraph) and b.topic == "Data.")
    assert "2 quoted" in said


def test_only_equipment_has_a_value_left_at_the_end():
    # After 10 of 15 years a third of 20,000 USD is left; of 6,000 USD for fitting it, and of a contingency, nothing.
    lines = [
        {"item": "Dryer", "amount": "10000 USD", "count": 2},
        {"item": "Fitting", "amount": "6000 USD", "part": "installation"},
    ]
    p = _asked(lines, **{"request.contingency": "10 %"})
    m = p.option.measures
    assert m.streams["residual"][-1] == pytest.approx(20_000 / 3)
    assert m.streams["capital"][0] == pytest.approx(-26_000)
    found = {s.name: s.npv for s in worth.scenarios(p.comparison, p.option)}
    assert found["Contingency spent in full"] == pytest.approx(m.npv - 2_600)
    # A fifth more for everything leaves a fifth more of the equipment.
    assert found["Capital 20 % higher"] == pytest.approx(m.npv - 5_200 + 4_000 / 3 * 1.08**-10)
    said = " ".join(b.text for b in capital(p) if isinstance(b, Paragraph))
    assert "taken of the equipment alone, 20,000 USD" in said
    whole = _asked([{"item": "Dryer", "amount": "26000 USD"}])
    assert whole.option.measures.streams["residual"][-1] == pytest.approx(26_000 / 3)
    assert "marks no line as installation" in " ".join(b.text for b in capital(whole) if isinstance(b, Paragraph))


def test_capital_of_the_baseline_stands_in_the_request():
    bought = f"options['{cases.PRESENT}'].capital"
    p = _asked([{"item": "Dryer", "amount": "20000 USD"}], **{bought: "5000 USD"})
    told = [block.text for block in decision(p, None) if isinstance(block, Paragraph) and block.style == "warning"]
    assert any(
        f"The capital of the p{cases.PRESENT[1:]}, 5,000 USD, counts as still to be spent" in text for text in told
    )
    nothing = next(b.text for b in baseline(p) if isinstance(b, Paragraph) and b.text.startswith("Doing nothing"))
    assert "its capital of 5,000 USD in it" in nothing
    paid = _asked([{"item": "Dryer", "amount": "20000 USD"}])
    assert not any("still to be spent" in b.text for b in decision(paid, None) if isinstance(b, Paragraph))


def test_the_figure_of_the_saving_says_what_stands_beside_it():
    p = _asked([{"item": "Dryer", "amount": "20000 USD"}])
    (figures,) = (block for block in decision(p, None) if isinstance(block, Figures))
    (beside,) = (said for name, _, said in figures.items if name == "Net saving a year")
    assert beside.endswith(f"today they are {p.money(p.base.total_cost)}")
