"""The case's own scenarios in a request: the same option compared anew under each, and what each changes."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from energy.errors import EnergyError
from energy.reports.document.proposal import Proposal
from energy.reports.document.worth import Scenario, scenario
from energy.reports.doubts import present_fails
from energy.reports.print_signs import pretty
from energy.reports.scenario_words import of_present
from energy.reports.simulation import place_in_words
from energy.study.case import Case
from energy.study.compare import OptionResult, compare
from energy.study.paths import walk, written
from energy.study.scenarios import under
from energy.units import show

NOTE = (
    "The case's own scenarios, by their names, are compared anew: dryers not yet bought are sized for them, the present ones and "
    "retrofits of them stay as big as they are, and capital stays as quoted."
)


@dataclass(frozen=True, slots=True, kw_only=True)
class OwnScenario:
    """One of the case's own scenarios."""

    name: str
    """As written."""
    changes: str
    """What it changes, in words."""
    result: Scenario | None
    """Of the option; None where there is none."""
    said: str = ""
    """Why there is none, or what is to be known of it."""

    @property
    def title(self) -> str:
        """Name, changes and what is to be known, for a line of a table."""
        return f"{self.name}: {self.changes}{f'. {self.said}' if self.said else ''}"


def own_scenarios(p: Proposal, option: OptionResult) -> list[OwnScenario]:
    """The option under each of the case's scenarios, in their order."""
    return [_own(p, option, s.name, s.changes) for s in p.case.model.scenarios]


def _own(p: Proposal, option: OptionResult, name: str, changes: Mapping[str, Any]) -> OwnScenario:
    told = "; ".join(_change(p.case, path, value) for path, value in changes.items())
    try:
        case = under(p.case, changes)
        if case.model == p.case.model:
            return OwnScenario(name=name, changes=told, result=None, said="Its values are those of the case.")
        other = compare(case)
        found = other.option(option.name)
    except EnergyError as error:
        return OwnScenario(name=name, changes=told, result=None, said=pretty(f"No answer, because {error}."))
    m, word = found.measures, found.verdict.word
    if m is None:
        return OwnScenario(name=name, changes=told, result=None, said="It is the baseline there, or has no capital.")
    failed = {"fail": "It fails to dry there.", "unlikely": "It is not expected to dry there."}
    result = scenario(name, other.baseline.total_cost - found.total_cost, m)
    said = [failed[word]] if word in failed else []
    said += [*present_fails(other, when="there"), *of_present(p.case, other)]
    return OwnScenario(name=name, changes=told, result=None if word in failed else result, said=" ".join(said))


def _change(case: Case, path: str, value: Any) -> str:
    """One change in words: the input, its value there, and that of the case."""
    found = {place: (quantity, now) for place, quantity, now in walk(case.model)}
    owner, last = place_in_words(path, case.model) if "['" in path else "", path.rpartition(".")[2]
    label = found[path][0].label if path in found else last.partition("[")[0].replace("_", " ")
    label = f"{owner}: {label[:1].lower()}{label[1:]}" if owner else label
    now = written(case.completed, path)
    if now is None and path in found and found[path][1] is not None:
        quantity, counted = found[path]
        now = show(counted, quantity.kind, quantity.unit(case.model.case.units, case.currency), digits=4)
    here, there = _said(value), _said(now)
    was = f" ({'nothing' if now is None else there} in the case)" if there or now is None else ""
    return pretty(f"{label} {here or 'as the scenario has it'}{was}")


def _said(value: Any) -> str:
    """A value as written; empty for a table or a list, which is too long for a line."""
    if isinstance(value, Mapping):
        return _said(value["value"]) if "value" in value else ""
    if isinstance(value, bool):
        return "yes" if value else "no"
    return "" if isinstance(value, list) else str(value)
