"""Water in the workbook is told in the units of the case, and its cost is the same in either."""

from __future__ import annotations

import io
import re
import zipfile
from xml.etree import ElementTree

import pytest
from cases import PRESENT, WHEEL, case

from energy.reports.document import rendered
from energy.study.compare import compare

SPACE = "{http://schemas.openxmlformats.org/spreadsheetml/2006/main}"
GALLON = 3.785411784e-3  # m3: 231 cubic inches of 25.4 mm
SIZES = {"m³": 1.0, "gal": GALLON}


def rows(book, name):
    """Rows of a sheet as values of its cells by letter; those of formulas as they are kept."""
    with zipfile.ZipFile(io.BytesIO(book)) as whole:
        names = re.findall(r'<sheet name="([^"]+)"', whole.read("xl/workbook.xml").decode())
        texts = [
            "".join(t.text or "" for t in entry.iter(f"{SPACE}t"))
            for entry in ElementTree.fromstring(whole.read("xl/sharedStrings.xml"))
        ]
        sheet = ElementTree.fromstring(whole.read(f"xl/worksheets/sheet{names.index(name) + 1}.xml"))
    found = []
    for row in sheet.iter(f"{SPACE}row"):
        cells = {}
        for cell in row.iter(f"{SPACE}c"):
            kept = cell.find(f"{SPACE}v")
            if kept is not None:
                value = texts[int(kept.text)] if cell.get("t") == "s" else float(kept.text)
                cells[re.match("[A-Z]+", cell.get("r"))[0]] = value
        found.append(cells)
    return found


def places(found, start):
    return [i for i, row in enumerate(found) if str(row.get("A", "")).startswith(start)]


@pytest.mark.parametrize(
    ("units", "price", "sign", "priced"),
    [("si", "3 USD/m3", "m³", 3.0), ("us", "3 USD/m3", "gal", 3.0), ("us", "9 USD/1000 gal", "gal", 0.009)],
)
def test_water_of_the_sheet_energy_is_in_the_units_of_the_case(units, price, sign, priced):
    changes = {"case.units": units, "cooling": {"medium": "tower water"}, "tariffs.water": price}
    found = compare(case(PRESENT, WHEEL, changes={**changes, "tariffs.cooling": None}))
    book = rendered(found, ".xlsx")
    energy = rows(book, "Energy")
    heads = [row["A"] for row in energy if str(row.get("A", "")).startswith("Tower water")]
    assert heads == [f"Tower water, {sign}"]
    at = places(energy, "Tower water")[0]
    for place, option in enumerate(found.options, start=1):
        assert energy[at + place]["N"] == pytest.approx(float(option.year.water.sum()) / SIZES[sign], rel=1e-9)
    # What is billed is the volume in the unit of its price, and comes to the same money.
    bills = rows(book, "Bills")
    volume = bills[places(bills, "Volume, ")[0]]
    billed = volume["A"].removeprefix("Volume, ")
    assert billed == ("m³" if "m3" in price else "gal")
    amount = bills[places(bills, "Volume, ")[0] + 1]
    assert amount["B"] == pytest.approx(priced, rel=1e-9)
    for column, option in zip("CD", found.options, strict=True):
        assert volume[column] * SIZES[billed] == pytest.approx(float(option.year.water.sum()), rel=1e-9)
        assert amount[column] == pytest.approx(priced * volume[column], rel=1e-9)
        assert amount[column] == pytest.approx(option.annual_cost["water"], rel=1e-9)
