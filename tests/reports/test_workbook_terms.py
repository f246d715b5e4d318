"""Terms of money in the workbook."""

from __future__ import annotations

from types import SimpleNamespace

import pytest
from cases import NEW, PRESENT, case

from energy.reports.document.workbook_terms import Terms
from energy.study.compare import compare


@pytest.mark.parametrize(
    ("years", "left"),
    [
        (10, 0.0),  # the five shares add up to the whole, but for rounding
        (3, 0.25),  # 15 % and 10 % are still to come
    ],
)
def test_what_is_not_deducted_is_nothing_where_all_is(years, left):
    tax = {"rate": "25 %", "depreciation": "own", "table": ["40 %", "20 %", "15 %", "15 %", "10 %"]}
    made = compare(case(PRESENT, NEW, changes={"finance.tax": tax, "finance.years": years, "finance.inflation": "0 %"}))
    found = Terms(SimpleNamespace(comparison=made, years=years)).not_deducted()
    assert found == (pytest.approx(left) if left else 0.0)
