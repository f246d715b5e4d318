"""The content of a capital request, from a comparison: the order in which finance reads."""

from __future__ import annotations

import datetime
from collections.abc import Collection, Iterable, Iterator
from typing import TYPE_CHECKING

from energy import __version__
from energy.reports.document import after, chance
from energy.reports.document.baseline import baseline, scope
from energy.reports.document.capital import capital
from energy.reports.document.cash_flow import cash_flow, measures
from energy.reports.document.decision import decision
from energy.reports.document.options import options
from energy.reports.document.proposal import Proposal, case_hash, proposal
from energy.reports.document.records import (
    Block,
    Bullets,
    Document,
    Paragraph,
    Section,
)
from energy.reports.document.savings import savings
from energy.reports.document.sensitivity import sensitivity
from energy.reports.print_signs import pretty
from energy.study.compare import CAUTIONS, Comparison

if TYPE_CHECKING:
    from energy.study.simulate import Simulation

DECISION, ASSUMPTIONS = "Decision", "Assumptions"
SENSITIVITY = "Sensitivity, break-evens, scenarios and chance"


def document(
    comparison: Comparison, simulation: Simulation | None = None, *, short: bool = False, only: Collection[str] = ()
) -> Document:
    """All sections, or only some by title; of the short form only what it needs.

    Raises
    ------
    CaseError
        As `proposal`.
    """
    p = proposal(comparison)
    request = p.request
    return Document(
        title=title_of(p),
        facts=facts_of(p),
        sections=tuple(sections(p, simulation, short=short, only=only)),
        compact=short,
        date=request.date or datetime.date(p.case.model.case.year, 1, 1),
        foot=f"pellet-dryer-energy {__version__} · case {case_hash(p.case)[:12]} · {chance.drawn(simulation)}",
    )


def title_of(p: Proposal) -> str:
    """What the request is called."""
    named = f"Capital request: {p.option.name}" if p.option else "Dryer comparison: no capital asked for"
    return str(p.request.title) or named


def facts_of(p: Proposal) -> dict[str, str]:
    """Whose request it is, and of which day."""
    return {
        "Site": p.case.name,
        "Prepared by": p.request.prepared_by or "not stated",
        "Department": p.request.department or "not stated",
        "Date": p.request.date.isoformat() if p.request.date else "not stated",
    }


def sections(
    p: Proposal, simulation: Simulation | None = None, *, short: bool = False, only: Collection[str] = ()
) -> Iterator[Section]:
    """The sections one by one, each made when it is asked for."""
    made = 0
    for name, blocks in _sections(p, simulation):
        if (short and name == SENSITIVITY) or (only and name not in only):  # takes the engine through every range
            continue
        kept = tuple(b for b in blocks if (b.short if short else not getattr(b, "only_short", False)))
        if kept:
            yield Section(title=name, blocks=kept, page=made == 1 and not short)
            made += 1


def _sections(p: Proposal, simulation: Simulation | None) -> Iterator[tuple[str, Iterable[Block]]]:
    """Titles with their blocks, which are made when they are asked for."""
    odds = chance.of(simulation, p.comparison, p.option)
    yield DECISION, decision(p, odds)
    yield "Baseline, and the cost of doing nothing", baseline(p)
    yield "Scope, boundary and process limits", scope(p)
    yield "Options at equal duty", options(p)
    if p.option is not None:
        yield "Capital", capital(p)
        yield "Savings, bill line by bill line", savings(p, p.option)
        yield "Cash flow", cash_flow(p, p.option)
        yield "Measures of worth", measures(p, p.option)
        yield SENSITIVITY, sensitivity(p, p.option, odds)
    yield "Risks and interactions", after.risks(p)
    yield "Effects other than energy", after.non_energy(p)
    if p.option is not None:
        yield "Incentives", after.incentives(p, p.option)
        yield "Schedule and downtime", after.schedule(p)
        yield "Verification plan", after.verification(p, p.option)
    yield ASSUMPTIONS, after.assumptions(p)
    yield (
        "Cautions",
        [
            Bullets(items=tuple(pretty(text) for text in CAUTIONS)),
            Paragraph(text=CAUTIONS[0], short=True, only_short=True),
        ],
    )
    yield "Approvals", after.approvals(p)
    yield "Method, version and mark of the case", after.method(p, simulation)
