"""How the workbook of a capital request looks: its paper, its row heights, the decimals that its cells show."""

from __future__ import annotations

import io
import math
import re
import subprocess
import zipfile
from xml.etree import ElementTree

import cases
import pypdf
import pytest
import spreadsheet

from energy.reports.document import rendered
from energy.study.compare import compare

pytestmark = pytest.mark.xdist_group("document")  # shares comparisons
SPACE = "{http://schemas.openxmlformats.org/spreadsheetml/2006/main}"
PAPERS = {"a4": ("9", 297.0), "letter": (None, 279.4)}  # number in the file, where letter may be left out; breadth [mm]
SHEETS = ("Request", "Inputs", "Energy", "Bills", "Costs", "Cash flow", "Measures", "Register")
CASES = ("demo", "taxed")


@pytest.fixture(scope="session")
def books(demo):
    """Parts of the workbook by case: the demo on A4, and one of US units, tax and a long study on letter."""
    taxed = compare(
        cases.case(
            cases.PRESENT,
            cases.WHEEL,
            cases.HOT,
            changes={
                "case.units": "us",
                "finance.years": 25,
                "finance.tax": {"rate": "25 %", "depreciation": "macrs-5"},
            },
        )
    )
    made = {"demo": (rendered(demo, ".xlsx"), "a4"), "taxed": (rendered(taxed, ".xlsx", paper="letter"), "letter")}
    return {name: (parts(content), paper, content) for name, (content, paper) in made.items()}


def parts(content):
    with zipfile.ZipFile(io.BytesIO(content)) as whole:
        return {n: ElementTree.fromstring(whole.read(n)) for n in whole.namelist() if n.endswith(".xml")}


def sheet_of(book, sheet):
    return book[f"xl/worksheets/sheet{SHEETS.index(sheet) + 1}.xml"]


def column_of(cell):
    """Place of the column of a cell such as AB7, from 0."""
    place = 0
    for letter in re.match(r"[A-Z]+", cell)[0]:
        place = 26 * place + ord(letter) - 64
    return place - 1


def widths_of(sheet):
    """Widths of the columns, in digits of the type."""
    return [
        float(column.get("width"))
        for column in sheet.iter(f"{SPACE}col")
        for _ in range(int(column.get("min")), int(column.get("max")) + 1)
    ]


def cells_of(book, sheet):
    """Row, cell, its style and its code of a number or None."""
    styles = book["xl/styles.xml"]
    codes = {f.get("numFmtId"): f.get("formatCode") for f in styles.iter(f"{SPACE}numFmt")}
    looks = list(styles.find(f"{SPACE}cellXfs"))
    for row in sheet.iter(f"{SPACE}row"):
        for cell in row:
            look = looks[int(cell.get("s", 0))]
            yield row, cell, look, codes.get(look.get("numFmtId"))


@pytest.mark.parametrize("case", CASES)
@pytest.mark.parametrize("name", SHEETS)
def test_every_sheet_lies_one_page_wide_and_says_what_it_is(books, case, name):
    book, paper, _ = books[case]
    sheet = sheet_of(book, name)
    setup, margins = sheet.find(f"{SPACE}pageSetup"), sheet.find(f"{SPACE}pageMargins")
    number, breadth = PAPERS[paper]
    assert setup.get("orientation") == "landscape"
    assert setup.get("paperSize") in ({number} if number else {None, "1"})
    titles = [
        n.text for n in book["xl/workbook.xml"].iter(f"{SPACE}definedName") if n.get("name") == "_xlnm.Print_Titles"
    ]
    areas = [n.text for n in book["xl/workbook.xml"].iter(f"{SPACE}definedName") if n.get("name") == "_xlnm.Print_Area"]
    assert len(titles) == len(areas) == len(SHEETS)
    head, foot = (sheet.find(f"{SPACE}headerFooter/{SPACE}{kind}").text for kind in ("oddHeader", "oddFooter"))
    assert foot.count(name) == 1
    assert "Page &P of &N" in foot
    assert " · case " in foot
    assert "(invented)" in head
    if sheet.find(f"{SPACE}sheetPr/{SPACE}pageSetUpPr") is not None:
        assert setup.get("fitToWidth", "1") == "1"
        return
    scale, across = int(setup.get("scale", 100)) / 100, widths_of(sheet)
    assert scale >= 0.7
    cuts = [int(b.get("id")) for b in sheet.iterfind(f"{SPACE}colBreaks/{SPACE}brk")]
    room = (breadth - 25.4 * (float(margins.get("left")) + float(margins.get("right")))) / scale
    for first, end in zip([2, *cuts], [*cuts, len(across)], strict=True):  # each page repeats the first two columns
        # a digit of 10 point is 5.56 point broad in the type that is asked for
        assert (sum(across[:2]) + sum(across[first:end])) * 5.56 * 25.4 / 72 < room


@pytest.mark.parametrize("case", CASES)
@pytest.mark.parametrize("name", SHEETS)
def test_wrapped_texts_have_the_height_of_their_lines(books, case, name):
    book, _, _ = books[case]
    sheet, shared = sheet_of(book, name), list(book["xl/sharedStrings.xml"])
    widths, merged = widths_of(sheet), {}
    for area in sheet.iter(f"{SPACE}mergeCell"):
        first, last = area.get("ref").split(":")
        merged[first] = sum(widths[column_of(first) : column_of(last) + 1])
    standard, long = float(sheet.find(f"{SPACE}sheetFormatPr").get("defaultRowHeight")), 0
    for row, cell, look, _ in cells_of(book, sheet):
        style = look.find(f"{SPACE}alignment")
        if cell.get("t") != "s" or style is None or style.get("wrapText") != "1":
            continue
        text = "".join(shared[int(cell.find(f"{SPACE}v").text)].itertext())
        width = merged.get(cell.get("r"), widths[column_of(cell.get("r"))])
        lines = math.ceil(len(text) * 4.0 / (width * 5.56))  # most texts take more than 4 point a letter
        assert float(row.get("ht", standard)) >= 11.5 * lines, (cell.get("r"), text)
        long += lines > 1
    assert long or name in ("Energy", "Costs", "Cash flow", "Bills", "Request")


@pytest.mark.parametrize("case", CASES)
def test_no_cell_shows_more_decimals_than_its_column_says(books, case):
    book, _, _ = books[case]
    shown = set()
    for name in SHEETS:
        for _, cell, _, code in cells_of(book, sheet_of(book, name)):
            value = cell.find(f"{SPACE}v")
            if value is None or cell.get("t") in ("s", "str"):
                continue
            if code is None:  # all digits are shown
                assert len(value.text.partition(".")[2]) <= 2, (name, cell.get("r"), value.text)
            else:
                shown.add(len(re.match(r"[^;]*?(?:\.([0#]+))?(?=[^0#.]*(?:;|$))", code)[1] or ""))
    assert max(shown) == 6  # of prices, in which what follows the second is shown where it is there
    assert shown <= {0, 1, 2, 4, 6}


@pytest.mark.skipif(spreadsheet.SOFFICE is None, reason="LibreOffice (soffice) is not installed")
def test_the_demo_prints_on_twelve_pages_of_seven_point_or_more(books, tmp_path):
    (tmp_path / "demo.xlsx").write_bytes(books["demo"][2])
    subprocess.run(
        [
            spreadsheet.SOFFICE, f"-env:UserInstallation=file://{tmp_path / 'profile'}", "--headless", "--convert-to", "pdf",
            "--outdir", str(tmp_path), str(tmp_path / "demo.xlsx"),
        ],
        capture_output=True, timeout=120, check=True,
    )  # fmt: skip
    pages = pypdf.PdfReader(tmp_path / "demo.pdf").pages
    assert len(pages) <= 14  # 12 here; other fonts are broader
    sizes = []
    for number, page in enumerate(pages, start=1):

        def note(text, current, matrix, _, size):
            if text.strip():
                sizes.append(size * abs(matrix[3]) * abs(current[3]))

        assert f"Page {number} of {len(pages)}" in page.extract_text(visitor_text=note)
    assert min(sizes) > 6.95


def test_cells_of_price_rises_say_the_key_of_the_case(books):
    book = books["demo"][0]
    texts = ["".join(part.itertext()) for part in book["xl/sharedStrings.xml"].iter(f"{SPACE}si")]
    cells = {c.get("r"): texts[int(c[0].text)] for c in sheet_of(book, "Inputs").iter(f"{SPACE}c") if c.get("t") == "s"}
    rows = {text: cell[1:] for cell, text in cells.items() if text.startswith("escalation_")}
    keys = {name: cells[f"F{row}"] for name, row in rows.items()}
    assert keys == {
        "escalation_electricity": "real; escalation_electricity in the case",
        "escalation_gas": "real; escalation_gas in the case",
        "escalation_water": "real; escalation_other in the case",
        "escalation_maintenance": "real; escalation_other in the case",
    }
