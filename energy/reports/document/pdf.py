"""The document as PDF. All texts go to the template as data, none as markup."""

from __future__ import annotations

import json
import re
from importlib import resources
from typing import Any

from energy.errors import EnergyError
from energy.reports.document import charts
from energy.reports.document.records import Bullets, Chart, Document, Figures, Paragraph, Signatures, Table

STANDARDS: list[Any] = ["a-2a", "ua-1"]
"""PDF/A for keeping, PDF/UA for readers by ear."""
PAPERS = {"a4": "a4", "letter": "us-letter"}
MISSING = re.compile(r'the text `"((?:[^"\\]|\\.)*)"` could not be displayed')
BOX = "\N{REPLACEMENT CHARACTER}"


def render(document: Document, paper: str) -> bytes:
    """The document as the bytes of a PDF, tagged, in the archival form."""
    import typst
    from matplotlib import get_data_path

    template = resources.files("energy").joinpath("reports/document/document.typ").read_bytes()
    fonts: list[Any] = [f"{get_data_path()}/fonts/ttf"]
    text = json.dumps({**as_data(document), "paper": PAPERS[paper]}, ensure_ascii=False)
    text = "".join(c if c in "\n\t" or c.isprintable() else " " for c in text)
    for _ in range(200):  # a font that lacks a character is told for one character at a time
        try:
            made = typst.compile(
                template,
                sys_inputs={"data": text},
                format="pdf",
                pdf_standards=STANDARDS,
                font_paths=fonts,
            )
        except typst.TypstError as error:
            found = MISSING.search(str(error))
            lacking = set(re.sub(r"\\u\{([0-9a-f]+)\}", lambda m: chr(int(m[1], 16)), found[1])) if found else set()
            if not lacking - {BOX}:
                raise EnergyError(f"the PDF cannot be made: {error}") from error
            for character in lacking - set(map(chr, range(0x20, 0x7F))):
                text = text.replace(character, BOX)
            continue
        return bytes(made)
    raise EnergyError(
        "the PDF cannot be made: the texts of the case have too many characters that no font here can show"
    )


def as_data(document: Document) -> dict[str, Any]:
    """Plain data for the template."""
    return {
        "title": document.title,
        "facts": [[name, value] for name, value in document.facts.items()],
        "author": document.facts.get("Prepared by", ""),
        "foot": document.foot,
        "compact": document.compact,
        "date": [document.date.year, document.date.month, document.date.day],
        "sections": [
            {"title": s.title, "page": s.page, "blocks": [_block(b) for b in s.blocks if not _long(b)]}
            for s in document.sections
        ],
    }


def _long(block: Any) -> bool:
    return isinstance(block, Table) and (block.long or not block.rows)


def _block(block: Any) -> dict[str, Any]:
    if isinstance(block, Paragraph):
        return {"is": "paragraph", "text": block.text, "topic": block.topic, "style": block.style}
    if isinstance(block, Bullets):
        return {"is": "bullets", "items": list(block.items)}
    if isinstance(block, Figures):
        return {"is": "figures", "items": [list(item) for item in block.items]}
    if isinstance(block, Chart):
        return {"is": "chart", "title": block.title, "alt": block.alt, "svg": charts.draw(block.drawing)}
    if isinstance(block, Signatures):
        return {"is": "signatures", "roles": list(block.roles)}
    count = len(block.head)
    return {
        "is": "table",
        "title": block.title,
        "head": list(block.head),
        "rows": [list(row) for row in block.rows],
        "align": [block.alignment(i) for i in range(count)],
        "weights": list(block.weights) or [1] * count,
        "strong": list(block.strong),
        "note": block.note,
        "small": count > 7 or len(block.rows) > 40,
        "whole": len(block.rows) <= 14,
    }
