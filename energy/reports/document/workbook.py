"""The capital request as a workbook: from the energy of each month on, everything is a formula that can be traced.

Each formula carries the value worked out here, for readers that do not recalculate. There is no macro.
"""

from __future__ import annotations

import datetime
import io

import xlsxwriter  # type: ignore[import-untyped]

from energy.reports.document import paper as print_out
from energy.reports.document import workbook_bills, workbook_inputs, workbook_measures, workbook_request
from energy.reports.document.bills import meters_of
from energy.reports.document.book import Book, safe
from energy.reports.document.flows import costs_of, flows_of, widths_of
from energy.reports.document.looks import FONT, SIZE, formats_of
from energy.reports.document.records import Document
from energy.study.compare import Comparison


def render(comparison: Comparison, document: Document, paper: str) -> bytes:
    """The workbook as the bytes of a file."""
    out = io.BytesIO()
    settings = {"in_memory": True, "strings_to_formulas": False, "strings_to_urls": False}
    book = xlsxwriter.Workbook(out, {**settings, "default_format_properties": {"font_name": FONT, "font_size": SIZE}})
    day = document.date
    book.set_properties(
        {
            "title": safe(document.title),
            "author": safe(document.facts.get("Prepared by", "")),
            "comments": safe(document.foot),
            "created": datetime.datetime(day.year, day.month, day.day),
        }
    )
    book.set_calc_mode("auto")
    made = Book(comparison=comparison, document=document, paper=paper, book=book, formats=formats_of(book))
    meters, years = meters_of(comparison), widths_of(comparison)
    for name, widths, title in (
        ("Request", workbook_request.REQUEST_WIDTHS, document.title),
        ("Inputs", workbook_inputs.widths_of(comparison), "Inputs: change a yellow cell and everything follows"),
        ("Energy", workbook_bills.energy_widths(meters), "Energy of each month, from the engine"),
        ("Bills", workbook_bills.bills_widths(comparison, paper), "What the dryers add to the bills of a year"),
        ("Costs", years, "Costs of each option, year by year"),
        ("Cash flow", years, "Cash flow of each option"),
        ("Measures", workbook_measures.widths_of(comparison, paper), "Measures, and the engine's figures beside them"),
        ("Register", workbook_request.register_widths(paper), "Assumptions"),
    ):
        made.add(name, widths, title)
    workbook_inputs.inputs_of(made, meters)
    bills = workbook_bills.bills_of(made, meters, workbook_bills.energy_of(made, meters))
    costs = costs_of(made, bills)
    flows = flows_of(made, costs)
    measures = workbook_measures.measures_of(made, bills, costs, flows)
    workbook_request.register_of(made)
    workbook_request.request_of(made, measures, flows)
    for sheet in made.sheets.values():
        print_out.finish(made, sheet)
    book.close()
    return out.getvalue()
