"""Numbers of tables and sentences: three digits, and no power of ten."""

import re

import pytest
from cases import case, resin

from dashboards import tables
from energy.reports.amounts import three_digits
from energy.reports.document.words import tonnes
from energy.reports.emissions import _tonnes
from energy.study.compare import compare


@pytest.mark.parametrize(
    ("value", "shown"),
    [(0.0, "0"), (0.0123456, "0.0123"), (-40.0, "-40"), (999.4, "999"), (999.6, "1,000"), (1000.0 - 1e-10, "1,000"), (12345.6, "12,346")],
)  # fmt: skip
def test_three_digits_by_hand(value, shown):
    assert three_digits(value) == shown


def test_a_limit_of_a_thousand_has_no_power_of_ten():
    # ABS may have 0.1 %, which is 1,000 ppm.
    found = compare(case(changes=resin("ABS")))
    for option in found.options:
        markup = tables.checks(option.served[0].verdict.findings)
        assert "e+0" not in markup
        assert re.search(r"<td>1,000</td><td class='text'>ppm</td>", markup)


def test_thousands_of_tonnes_have_no_power_of_ten():
    assert tonnes(1_234_567.0) == _tonnes(1_234_567.0) == "1,235 t"
