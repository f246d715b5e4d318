"""The request says where what it asks for emits more than what stands there, or than another that may dry."""

from __future__ import annotations

import pytest
from cases import HOT, NEW, PRESENT, WHEEL, case

from energy.reports.document.decision import decision
from energy.reports.document.proposal import proposal
from energy.reports.emissions import emits_more
from energy.study.compare import KWH, compare

GRID = 0.2  # kg/kWh of electricity


@pytest.fixture(scope="module")
def made():
    """Three that may dry, all on electricity alone."""
    changes = {"finance.electricity_emission": f"{GRID} kg/kWh"}
    return compare(case(PRESENT, NEW, WHEEL, changes=changes))


def test_the_least_of_the_others_is_named_with_both_amounts(made):
    # By hand: kWh of electricity times 0.2 kg/kWh; the wheel takes less than the new towers.
    new, wheel = (made.option(name) for name in (NEW, WHEEL))
    kg = {o.name: GRID * o.carrier("electricity") / KWH for o in (new, wheel, made.baseline)}
    assert kg[WHEEL] < 0.99 * kg[NEW] < kg[PRESENT]
    assert emits_more(made, new) == (
        f"“{NEW}” emits more CO₂ in a year ({kg[NEW] / 1e3:.3g} t) than “{WHEEL}” ({kg[WHEEL] / 1e3:.3g} t)."
    )
    assert emits_more(made, wheel) == ""


def test_the_present_dryers_are_named_where_they_emit_less(made):
    assert emits_more(made, made.baseline).startswith("The present twin tower emits more CO₂ in a year")
    # Where electricity emits nothing, whatever burns gas emits more than what stands there.
    high = compare(case(PRESENT, HOT, changes={"finance.electricity_emission": "0 kg/kWh"}))
    said = emits_more(high, high.option(HOT))
    assert said.startswith(f"“{HOT}” emits more CO₂ in a year")
    assert "than the present twin tower (0 t)" in said


def test_it_stands_with_the_decision():
    changes = {"request.recommended": NEW, "finance.electricity_emission": f"{GRID} kg/kWh"}
    p = proposal(compare(case(PRESENT, NEW, WHEEL, changes=changes)))
    assert p.option.name == NEW
    (said,) = [b.text for b in decision(p, None) if getattr(b, "topic", "") == "CO₂."]
    assert said == emits_more(p.comparison, p.option)
    assert said
