"""What stands behind net savings adds up, under a ratchet and a tax too."""

import re

import pytest
from cases import NEW, PRESENT, case

from dashboards import where_from
from energy.study.compare import compare

PLAIN = {"finance.escalation_electricity": "0 %"}
RATCHET = {**PLAIN, "tariffs.electricity": "time-of-use-electricity"}
TAX = {"finance.tax": {"rate": "30 %", "depreciation": "straight-line", "life": 10}}


def worked(comparison):
    """The sum as it is shown, its words and its figures."""
    panel = where_from.panels(comparison, "si").split('id="why-1-net-savings"')[1].split("</div>")[0]
    (said,) = re.findall(r'<p class="worked">(.*?)</p>', panel)
    return panel, said, [float(figure.replace(",", "")) for figure in re.findall(r"[-\d,]+\d", said)]


@pytest.mark.parametrize(("tax", "kept"), [({}, 1.0), (TAX, 0.7)])
def test_net_savings_are_less_than_two_life_cycle_costs_by_old_peaks(tax, kept):
    found = compare(case(PRESENT, NEW, changes={**RATCHET, **tax}))
    option = found.option(NEW)
    late = sum(float(s.first_year - s.steady) for s in option.savings.values())
    panel, said, (base, own, peaks, npv) = worked(found)
    assert base - own - peaks == npv
    assert peaks == pytest.approx(-kept * late / 1.08, abs=1.0)  # 8 % a year, a year from now
    assert npv == pytest.approx(option.measures.npv, abs=0.5)
    assert "for old peaks still billed in the first year = " in said
    assert "less what old peaks still cost in the first year" in panel


def test_without_a_ratchet_two_life_cycle_costs_do():
    _, said, (base, own, npv) = worked(compare(case(PRESENT, NEW, changes=PLAIN)))
    assert base - own == npv
    assert "peaks" not in said
