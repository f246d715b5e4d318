"""Key figures of the capital request: one basis in all boxes, and the same number as everywhere else."""

from __future__ import annotations

import cases
import pytest

from energy.reports.answer import of_option
from energy.reports.comparison_json import to_dict
from energy.reports.document import parts
from energy.reports.document.capital import capital
from energy.reports.document.decision import decision
from energy.reports.document.proposal import proposal
from energy.reports.document.records import Figures, Paragraph, Table
from energy.reports.document.words import percent
from energy.study.compare import compare
from energy.study.form import entries
from energy.study.price_sections import Finance

WHEEL = f"options['{cases.WHEEL}']"
pytestmark = pytest.mark.xdist_group("document")


def _boxes(p):
    figures = next(block for block in decision(p, None) if isinstance(block, Figures))
    return {label: (value, words) for label, value, words in figures.items}


def test_the_boxes_divide_into_each_other_and_say_what_the_json_says(demo):
    # 50,000 + 4 x 9,500 + 21,000 USD over the fall of running cost; the contingency of 8 % stands in words beside.
    p = proposal(demo)
    told = next(o for o in to_dict(demo)["options"] if o["name"] == p.option.name)
    saving = p.base.total_cost - p.option.total_cost
    assert told["capital_over_saving_years"] == pytest.approx(109_000 / saving, rel=1e-9)
    boxes = _boxes(p)
    assert boxes["Capital"] == ("109,000 USD", "without contingency; 117,720 USD with it")
    assert boxes["Simple payback"][0] == f"{told['simple_payback_years']:.1f} years"
    said = f"capital is {109_000 / saving:.1f} years of saving, {109_000 * 1.08 / saving:.1f} with contingency"
    assert said in boxes["Simple payback"][1]
    assert "overhauls and price rises counted" in boxes["Simple payback"][1]
    assert (
        boxes["Net present value"][0].replace(",", "").startswith(f"{told['npv']:.3g}".split("e")[0].replace(".", ""))
    )
    assert "with overhauls, value left at the end" in boxes["Net present value"][1]


def test_an_incentive_is_taken_off_before_it_is_held_against_the_saving():
    # Wheel for 26,000 USD against a present dryer that costs nothing more.
    p = proposal(compare(cases.case(cases.PRESENT, cases.WHEEL, changes={f"{WHEEL}.incentive": "3000 USD"})))
    saving = p.base.total_cost - p.option.total_cost
    assert p.option.measures.capital_over_saving == pytest.approx(23_000 / saving, rel=1e-12)
    assert "capital less incentive is" in parts.basis_of_simple(p, p.option)


def test_the_sum_to_be_approved_is_not_rounded_and_is_the_same_everywhere():
    # 26,461 USD and a tenth of it: 29,107 USD.
    changes = {f"{WHEEL}.capital": [{"item": "Dryer", "amount": "26461 USD"}], "request.contingency": "10 %"}
    changes |= {"request.recommended": cases.WHEEL}
    p = proposal(compare(cases.case(cases.PRESENT, cases.WHEEL, changes=changes)))
    lead = next(block for block in decision(p, None) if isinstance(block, Paragraph))
    assert lead.text.startswith("Approval is asked for 29,107 USD, of which 2,646 USD is contingency, to")
    assert _boxes(p)["Capital"] == ("26,461 USD", "without contingency; 29,107 USD with it")
    table = next(block for block in capital(p) if isinstance(block, Table))
    assert [row[3] for row in table.rows[-3:]] == ["26,461", "2,646", "29,107"]
    assert "26,461 USD" in of_option(p.comparison, p.option)


def test_whose_grid_emits_is_told_beside_the_carbon_dioxide(demo):
    mean = "electricity at the mean of the grid of the USA, 0.373 kg/kWh: give that of your supply"
    stated = compare(demo.case.with_({"finance.electricity_emission": "0.02 kg/kWh"}))
    for comparison, told in ((demo, True), (stated, False)):
        assert (mean in _boxes(proposal(comparison))["CO₂"][1]) == told
    # By its label on the page, as a page has no keys.
    label = entries(Finance)["electricity_emission"].quantity.label
    assert f"give that of your supply (“{label}” on Compare)" in _boxes(proposal(demo))["CO₂"][1]


@pytest.mark.parametrize(
    ("share", "written"), [(0.0271, "2.71 %"), (1.2, "120 %"), (29.49, "2,949 %"), (-12.0, "−1,200 %")]
)
def test_a_share_is_written_without_an_exponent(share, written):
    assert percent(share) == written
