"""Workbooks recalculated by LibreOffice, with inputs changed before."""

from __future__ import annotations

import csv
import io
import re
import shutil
import subprocess
import zipfile
from collections.abc import Mapping
from pathlib import Path

SOFFICE = shutil.which("soffice")
ALWAYS = """<?xml version="1.0" encoding="UTF-8"?>
<oor:items xmlns:oor="http://openoffice.org/2001/registry" xmlns:xs="http://www.w3.org/2001/XMLSchema">
<item oor:path="/org.openoffice.Office.Calc/Formula/Load"><prop oor:name="OOXMLRecalcMode" oor:op="fuse"><value>0</value></prop></item>
</oor:items>"""


def names(book: bytes) -> str:
    """The part of a workbook that gives names to its cells."""
    with zipfile.ZipFile(io.BytesIO(book)) as whole:
        return whole.read("xl/workbook.xml").decode()


def changed(book: bytes, target: Path, cells: Mapping[str, float]) -> None:
    """Write a workbook with other numbers in the cells of these names.

    The values kept beside the formulas are zero, so that only a recalculation can bring them back.
    """
    target.write_bytes(book)
    with zipfile.ZipFile(target) as whole:
        parts = {entry: whole.read(entry) for entry in whole.namelist()}
    names = parts["xl/workbook.xml"].decode()
    for name, value in cells.items():
        sheet, cell = re.search(rf'<definedName name="{name}">\'?([^\'!]+)\'?!([^<]+)</definedName>', names).groups()
        place = re.findall(r'<sheet name="([^"]+)"', names).index(sheet) + 1
        part = f"xl/worksheets/sheet{place}.xml"
        pattern = rf'(<c r="{cell.replace("$", "")}"[^>]*><v>)[^<]*(</v>)'
        text, count = re.subn(pattern, lambda m, v=value: f"{m[1]}{v!r}{m[2]}", parts[part].decode())
        assert count == 1
        parts[part] = text.encode()
    for name in parts:
        if name.startswith("xl/worksheets/sheet"):
            parts[name] = re.sub(r"(</f>)<v>[^<]*</v>", r"\1<v>0</v>", parts[name].decode()).encode()
    with zipfile.ZipFile(target, "w") as whole:
        for entry, content in parts.items():
            whole.writestr(entry, content)


def recalculated(folder: Path) -> dict[str, dict[str, list[list[str]]]]:
    """Every sheet of every workbook in a folder as rows of text, by workbook and sheet, in one run of LibreOffice."""
    profile, out = folder / "profile", folder / "out"
    (profile / "user").mkdir(parents=True)
    (profile / "user" / "registrymodifications.xcu").write_text(ALWAYS, encoding="utf-8")
    books = sorted(folder.glob("*.xlsx"))
    done = subprocess.run(
        [
            SOFFICE, f"-env:UserInstallation=file://{profile}", "--headless", "--convert-to",
            "csv:Text - txt - csv (StarCalc):44,34,76,1,,0,false,false,false,false,false,-1", "--outdir", str(out), *map(str, books),
        ],
        capture_output=True, timeout=240, check=False,
    )  # fmt: skip
    assert done.returncode == 0, done.stderr
    found: dict[str, dict[str, list[list[str]]]] = {book.stem: {} for book in books}
    for path in sorted(out.glob("*.csv")):
        book, _, sheet = path.stem.partition("-")
        with path.open(encoding="utf-8", newline="") as file:
            found[book][sheet] = list(csv.reader(file))
    return found
