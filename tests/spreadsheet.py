"""A workbook recalculated by LibreOffice, with inputs changed before."""

from __future__ import annotations

import csv
import re
import shutil
import subprocess
import zipfile
from pathlib import Path

SOFFICE = shutil.which("soffice")
ALWAYS = """<?xml version="1.0" encoding="UTF-8"?>
<oor:items xmlns:oor="http://openoffice.org/2001/registry" xmlns:xs="http://www.w3.org/2001/XMLSchema">
<item oor:path="/org.openoffice.Office.Calc/Formula/Load"><prop oor:name="OOXMLRecalcMode" oor:op="fuse"><value>0</value></prop></item>
</oor:items>"""


def put(book: Path, name: str, value: float) -> None:
    """Write another number into the cell of a defined name, and blank every cached value."""
    with zipfile.ZipFile(book) as whole:
        parts = {entry: whole.read(entry) for entry in whole.namelist()}
    names = parts["xl/workbook.xml"].decode()
    sheet, cell = re.search(rf'<definedName name="{name}">\'?([^\'!]+)\'?!([^<]+)</definedName>', names).groups()
    place = re.findall(r'<sheet name="([^"]+)"', names).index(sheet) + 1
    part = f"xl/worksheets/sheet{place}.xml"
    text = parts[part].decode()
    text, count = re.subn(
        rf'(<c r="{cell.replace("$", "")}"[^>]*><v>)[^<]*(</v>)', lambda m: f"{m[1]}{value!r}{m[2]}", text
    )
    assert count == 1
    parts[part] = text.encode()
    with zipfile.ZipFile(book, "w") as whole:
        for entry, content in parts.items():
            whole.writestr(entry, content)


def without_values(book: Path) -> None:
    """Take the cached values of all formulas away, so that only a recalculation can bring them back."""
    with zipfile.ZipFile(book) as whole:
        parts = {entry: whole.read(entry) for entry in whole.namelist()}
    for name in parts:
        if name.startswith("xl/worksheets/sheet"):
            text = re.sub(r"(</f>)<v>[^<]*</v>", r"\1<v>0</v>", parts[name].decode())
            parts[name] = text.encode()
    with zipfile.ZipFile(book, "w") as whole:
        for entry, content in parts.items():
            whole.writestr(entry, content)


def recalculated(book: Path, folder: Path) -> dict[str, list[list[str]]]:
    """Every sheet as rows of text, formulas worked out anew."""
    profile = folder / "profile"
    (profile / "user").mkdir(parents=True, exist_ok=True)
    (profile / "user" / "registrymodifications.xcu").write_text(ALWAYS, encoding="utf-8")
    out = folder / "out"
    shutil.rmtree(out, ignore_errors=True)
    done = subprocess.run(
        [
            SOFFICE, f"-env:UserInstallation=file://{profile}", "--headless", "--convert-to",
            "csv:Text - txt - csv (StarCalc):44,34,76,1,,0,false,false,false,false,false,-1", "--outdir", str(out), str(book),
        ],
        capture_output=True, timeout=240, check=False,
    )  # fmt: skip
    assert done.returncode == 0, done.stderr
    found = {}
    for path in sorted(out.glob("*.csv")):
        with path.open(encoding="utf-8", newline="") as file:
            found[path.stem.removeprefix(f"{book.stem}-")] = list(csv.reader(file))
    return found
