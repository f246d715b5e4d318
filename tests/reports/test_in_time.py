"""The longest payback accepted is held against the payback as it is, and the two are told apart where they are two."""

import pytest
from cases import NEW, PRESENT, case

from energy.reports.answer import of_option, sentences
from energy.reports.document import parts
from energy.reports.document.decision import decision
from energy.reports.document.proposal import proposal
from energy.reports.document.records import Figures
from energy.reports.in_time import decimals, in_time
from energy.study.compare import compare

FLAT = {
    "finance.escalation_electricity": "0 %",
    "finance.maximum_payback": "5 year",
    f"options['{PRESENT}'].replacements": [],
}


def paying_back_in(years):
    """The one-machine case whose new towers cost so many years of what they save."""
    saved = compare(case(PRESENT, NEW, changes=FLAT))
    saving = saved.baseline.total_cost - saved.option(NEW).total_cost
    capital = [{"item": "Dryer", "amount": f"{years * saving!r} USD"}]
    return compare(case(PRESENT, NEW, changes={**FLAT, f"options['{NEW}'].capital": capital}))


@pytest.mark.parametrize(
    ("payback", "limit", "met", "digits"),
    [
        (5.0278, 5.0, False, 2),
        (4.733, 4.7, False, 2),
        (5.0, 5.0, True, 1),
        (5.0 + 1e-12, 5.0, True, 1),
        (4.96, 5.0, True, 2),
        (5.0004, 5.0, False, 4),
        (6.0, 5.0, False, 1),
        (float("inf"), 5.0, False, 1),
    ],
)
def test_a_payback_is_compared_as_it_is_and_told_apart_from_the_limit(payback, limit, met, digits):
    assert in_time(payback, limit) is met
    assert decimals(limit, payback) == digits


def test_a_payback_that_rounds_to_the_limit_and_is_longer_does_not_meet_it():
    found = paying_back_in(5.0278)
    p = proposal(found)
    assert p.option.measures.payback == pytest.approx(5.0278, abs=1e-6)
    assert parts.limit_met(p, p.option) is False
    assert parts.answer_to_limit(p, p.option).startswith("Not met: payback 5.03 years, 5.00 years accepted")
    (boxes,) = (block for block in decision(p, None) if isinstance(block, Figures))
    assert next(value for label, value, _ in boxes.items if label == "Simple payback") == "5.03 years"
    assert parts.counted_out(p, p.option).endswith(": 5.03 years.")
    said = sentences(found)[0]
    assert said.startswith("No option pays back within the 5.00 years accepted.")
    assert "in 5.03 years" in said
    assert "longer than" not in said  # than what is accepted, which was said of all options
    assert of_option(found, p.option).endswith("in 5.03 years, longer than the 5.00 years accepted.")


def test_a_payback_just_within_the_limit_meets_it_everywhere():
    found = paying_back_in(4.96)
    p = proposal(found)
    assert parts.answer_to_limit(p, p.option).startswith("Met: payback 4.96 years, 5.00 years accepted")
    assert "longer than" not in sentences(found)[0]
    assert "No option pays back" not in sentences(found)[0]
