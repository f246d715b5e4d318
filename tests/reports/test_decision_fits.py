"""The decision on one page of paper, also where much is to be said with it."""

from __future__ import annotations

from dataclasses import replace
from io import BytesIO

import pypdf
import pytest

from energy.reports.document import model, pdf
from energy.reports.document.records import Paragraph

LINE = "One air system serves four machines, and a failure stops all of them, so a spare blower is part of the quote. "


def printed(document, times):
    """Text of the pages with a risk of so many sentences at the end of the decision, of three sections or the short form."""
    decision, *rest = document.sections if document.compact else document.sections[:3]
    risk = Paragraph(topic="Last words.", text=f"{times * LINE}End of the decision.")
    first = replace(decision, blocks=(*decision.blocks, risk))
    made = pdf.render(replace(document, sections=(first, *rest)), "a4")
    return [" ".join(page.extract_text().split()) for page in pypdf.PdfReader(BytesIO(made)).pages]


@pytest.mark.parametrize("times", [0, 3, 6])
def test_long_words_stay_on_the_first_page(document, times):
    first, second, *_ = printed(document, times)
    assert "End of the decision." in first
    assert "2 Baseline" not in first
    assert second.startswith("2 Baseline, and the cost of doing nothing")


def test_what_no_spacing_brings_on_a_page_is_followed_by_the_next_section(document):
    first, second, *_ = printed(document, 25)
    assert "1 Decision" in first
    assert "End of the decision." in second
    assert "2 Baseline, and the cost of doing nothing" in second


@pytest.mark.parametrize("times", [0, 4, 8])
def test_the_short_form_keeps_to_two_pages(demo, times):
    short = model.document(demo, short=True)
    pages = printed(short, times)
    assert len(pages) == 2
    assert "End of the decision." in pages[0]
    assert "Signature" in pages[1]
