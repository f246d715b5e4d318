"""A present dryer and its retrofit as the comparison has them, beside what a finding promises of it: beds and air stay."""

from __future__ import annotations

import pytest

from energy.study.case import Case, build
from energy.study.compare import compare


def retrofitted(before: Case, inputs: dict[str, object]) -> tuple[tuple[float, float], tuple[float, float]]:
    """Electricity and fuel in a year, and what a year costs, of the present dryer and of the same with these inputs. [J], [USD]"""
    present, *others = before.document["options"]
    own = {"name": "Mended", "type": present["type"], "retrofit": True, "capital": "0 USD", "inputs": inputs}
    counted = compare(build({**before.document, "options": [present, *others, own]}, file="case.toml"))
    first, last = (
        (sum(v for (_, carrier), v in one.energy.items() if carrier != "cooling"), one.total_cost)
        for one in (counted.baseline, counted.options[-1])
    )
    return first, last


def desiccant_of(case: Case) -> dict[str, str]:
    """The desiccant of the present dryer as an input: what stands there, however it is worn or run."""
    return {"desiccant_mass": f"{float(compare(case).baseline.sizing['desiccant']):.10g} kg"}


def holds_mended(made, name: str, before: Case, inputs: dict[str, object], within: float) -> None:
    """A finding is worth what the comparison says of the retrofit with these inputs."""
    cause = next(c for c in made.causes if c.name.startswith(name))
    (energy, cost), (less, cheaper) = retrofitted(before, inputs)
    assert cause.money > 20.0
    assert cause.energy == pytest.approx(energy - less, rel=within)
    assert cause.money == pytest.approx(cost - cheaper, rel=within)
