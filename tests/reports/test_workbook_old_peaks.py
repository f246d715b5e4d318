"""The workbook says on its sheet of measures why net savings are not the difference of two life-cycle costs."""

import zipfile
from io import BytesIO

import pytest
from cases import NEW, PRESENT, case

from energy.reports.document import rendered
from energy.study.compare import compare


@pytest.mark.parametrize(("tariff", "told"), [("time-of-use-electricity", True), ("0.12 USD/kWh", False)])
def test_old_peaks_are_told_beside_the_measures_where_a_ratchet_bills_them(tariff, told):
    changes = {"tariffs.electricity": tariff, "tariffs.electricity_demand": None}
    book = rendered(compare(case(PRESENT, NEW, changes=changes)), ".xlsx")
    with zipfile.ZipFile(BytesIO(book)) as parts:
        texts = parts.read("xl/sharedStrings.xml").decode()
    assert ("Its present value stands on the sheet “Cash flow”." in texts) is told
    assert ("Old peaks still billed (engine)" in texts) is told
