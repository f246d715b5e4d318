"""What a scenario comes to, in words, and what of the present dryers is to be known there."""

from __future__ import annotations

from energy.reports.answer import answer
from energy.reports.rows import in_a_row
from energy.study.case import Case
from energy.study.compare import Comparison
from energy.study.scenarios import outgrown


def told(case: Case, found: Comparison | str, *, page: bool = False) -> str:
    """The answer under a scenario of a case, or why there is none."""
    if isinstance(found, str):
        return f"no answer, because {found}."
    return " ".join([answer(found, page=page), *of_present(case, found)])


def of_present(case: Case, found: Comparison) -> list[str]:
    """Said where present dryers are asked for more than they were built for, or are counted with another size than in the case."""
    base, several = found.baseline, len(case.model.hoppers) > 1
    more = [one.hopper.name for one in base.served if any(f.check == "throughput" for f in one.verdict.findings)]
    said = []
    if more:
        at = f", at {in_a_row(more)}" if several else ""
        said.append(f"More is asked there than the present dryers were built for{at}.")
    if outgrown(case, found.case):
        said.append(
            f"Hoppers and air of the {base.option.arrangement} dryers are counted there as fit for what is asked, since they serve several "
            "hoppers; what bigger ones cost is in no capital."
        )
    return said
