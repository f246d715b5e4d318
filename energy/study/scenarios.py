"""A case under one of its scenarios: what the scenario changes, with present dryers that stay as big as they are."""

from __future__ import annotations

from collections.abc import Collection, Mapping
from dataclasses import replace
from typing import Any

import numpy as np

from energy.dryers import circuit_inputs, closed_loop
from energy.errors import CaseError, EnergyError, Problem, UnknownNameError
from energy.study.case import Case, Stands, build, wrong_changes
from energy.study.compare import compare
from energy.study.duty import duties_of
from energy.study.machines import machines_of
from energy.study.option_sections import Option
from energy.study.paths import changed
from energy.study.standing import kept_with


def under(case: Case, changes: Mapping[str, Any]) -> Case:
    """The case with the changes of a scenario; what stands there, and a retrofit of it, keeps the size that it has in the case.

    That is what each present dryer is built for, its hopper, its air and its desiccant, unless the scenario states them. Of portable and
    central ones, which serve several hoppers, it is the throughput they are built for and the desiccant.

    Parameters
    ----------
    case : Case
        As it is without the scenario.
    changes : mapping
        By path, as for :meth:`Case.with_`.

    Raises
    ------
    CaseError
        The changed case is not valid.
    UnknownNameError
        No such path.
    """
    other = case.with_(changes)
    if _same_duty(case, other):
        return other
    kept, _ = kept_with(case.document, other.document, case, other)
    if kept:
        other = build(changed(other.document, kept), folder=case.folder, file=case.file)
    return replace(other, stands=_stands(case)) if _kind(case) == _kind(other) else other


def tried(case: Case) -> dict[str, str]:
    """Each scenario of a case worked out: why there is no answer under those whose machines have none, by name.

    Raises
    ------
    CaseError
        A scenario makes no case; the message names the scenario, what is wrong and what to write.
    """
    wrong: list[Problem] = []
    without: dict[str, str] = {}
    for scenario in case.model.scenarios:
        place = f"scenarios['{scenario.name}'].changes"
        try:
            compare(under(case, scenario.changes))
        except CaseError as error:
            found = wrong_changes(case, scenario.name, scenario.changes, error)
            along = [p for p in error.problems if not p.key.startswith("options")]
            if found or along:
                wrong += found or [Problem(place, f"{p.key} does not go with them: {p.message}{_TOO}") for p in along]
            else:
                without[scenario.name] = in_one_line(error)
        except UnknownNameError as error:
            wrong.append(Problem(place, str(error)))
        except EnergyError as error:
            without[scenario.name] = in_one_line(error)
    if wrong:
        raise CaseError(wrong, file=case.file)
    return without


_TOO = "; change it in this scenario too"


def in_one_line(error: EnergyError) -> str:
    """An error without the file it is of."""
    lines = [f"{p.key}: {p.message}" for p in error.problems] if isinstance(error, CaseError) else [str(error)]
    return "; ".join(lines)


def outgrown(case: Case, other: Case) -> bool:
    """Do present dryers that serve several hoppers have another hopper and other air under a scenario, since no case can state them?"""
    present = _present(other)
    if present.arrangement == "at the machine":
        return False
    alone = {machine.hopper for machine in present.machines}
    return case.model.site != other.model.site or _but_throughput(case, alone) != _but_throughput(other, alone)


def _same_duty(case: Case, other: Case) -> bool:
    """Do machines have the size in both that they have in one of them?"""
    return case.model.hoppers == other.model.hoppers and case.model.site == other.model.site


def _but_throughput(case: Case, alone: Collection[str]) -> list[Any]:
    unsized = ("throughput", "levels", "running", "campaigns")
    return [hopper.model_dump(exclude=set(unsized)) for hopper in case.model.hoppers if hopper.name not in alone]


def _kind(case: Case) -> Any:
    """What kind of dryers the present ones are, and which hoppers they serve."""
    base = _present(case)
    own = {machine.hopper: machine.type for machine in base.machines}
    return base.arrangement, [(hopper.name, own.get(hopper.name, base.type)) for hopper in case.model.hoppers]


def _present(case: Case) -> Option:
    return next(option for option in case.model.options if option.baseline)


def _stands(case: Case) -> dict[str, Stands]:
    """By hopper, what of its present dryer a case does not say."""
    found = {}
    try:
        for machine in machines_of(case, _present(case), duties_of(case)):
            mass = None
            if isinstance(machine.inputs, circuit_inputs.Inputs):
                ducts = machine.ducts or closed_loop.Distribution()
                mass = closed_loop.bed_mass(machine.inputs, machine.duties, ducts)
            for hopper, duty in zip(machine.hoppers, machine.duties, strict=True):
                size = float(hopper.throughput) if machine.moved else float(np.max(duty.built_for.design_throughput))
                found[hopper.name] = Stands(built_for=size, bed_mass=mass)
    except EnergyError:  # the case itself has no answer, and says so where it is compared
        return {}
    return found
