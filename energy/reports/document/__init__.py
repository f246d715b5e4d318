"""The capital request: one document, written as PDF, workbook or web page."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path
from typing import TYPE_CHECKING, Literal

from energy.errors import EnergyError, UnknownNameError, nearest

if TYPE_CHECKING:
    from energy.study.compare import Comparison
    from energy.study.simulate import Simulation

ENDINGS = (".pdf", ".xlsx", ".html")
PAPER: Mapping[str, Literal["a4", "letter"]] = {"si": "a4", "us": "letter"}
"""What goes with the units of a case."""
WORKBOOK = ("Decision", "Assumptions")
"""Sections that stand in words in the workbook; all else is figures there."""


def write_report(
    comparison: Comparison,
    path: str | Path,
    *,
    simulation: Simulation | None = None,
    short: bool = False,
    paper: Literal["a4", "letter"] | None = None,
    overwrite: bool = False,
) -> None:
    """Write the capital request of a comparison.

    Parameters
    ----------
    comparison : Comparison
    path : str or Path
        Ends in .pdf, .xlsx or .html, which decides the form. The file appears whole or not at all; the same case and
        version give the same bytes.
    simulation : Simulation, optional
        Chances are told where one is given.
    short : bool
        Two pages instead of all; a workbook is always whole.
    paper : {"a4", "letter"}, optional
        Letter for a case in US units, else A4, where nothing is said.
    overwrite : bool
        Replace a file that exists.

    Raises
    ------
    EnergyError
        The file exists, cannot be written or has another ending; the option that the case recommends does not dry.
    """
    target = Path(path)
    check_target(target, overwrite=overwrite)
    content = rendered(comparison, target.suffix.lower(), simulation=simulation, short=short, paper=paper)
    from energy.study.case import write_whole

    write_whole(target, content, overwrite=overwrite)


def check_target(target: Path, *, overwrite: bool) -> None:
    """Refuse a file before the work is done.

    Raises
    ------
    EnergyError
        Another ending, or the file exists and may not be overwritten.
    """
    if target.suffix.lower() not in ENDINGS:
        raise UnknownNameError(
            f"{target}: a report ends in {', '.join(ENDINGS)}{nearest(target.suffix or target.name, ENDINGS)}"
        )
    if target.exists() and not overwrite:
        raise EnergyError(f"{target}: exists already; choose another name or say --force")


def rendered(
    comparison: Comparison,
    ending: str,
    *,
    simulation: Simulation | None = None,
    short: bool = False,
    paper: Literal["a4", "letter"] | None = None,
) -> bytes:
    """The capital request as the bytes of a file with that ending."""
    paper = paper or PAPER[comparison.case.model.case.units]
    if paper not in ("a4", "letter"):
        raise UnknownNameError(f"'{paper}' is not a paper; a4 and letter are")
    from energy.reports.document import model

    if ending == ".xlsx":
        from energy.reports.document import workbook

        return workbook.render(comparison, model.document(comparison, simulation, only=WORKBOOK), paper)
    document = model.document(comparison, simulation, short=short)
    if ending == ".html":
        from energy.reports.document import web

        return web.render(document)
    from energy.reports.document import pdf

    return pdf.render(document, paper)
