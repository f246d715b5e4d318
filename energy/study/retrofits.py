"""A retrofit is the present dryers with something changed: all else it has of them, so that nothing else is compared."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any

from energy import dryers
from energy.errors import CaseError, Problem
from energy.study.option_sections import KEPT, OF_DRYER, OF_PRESENT, SIZES
from energy.study.paths import written

NO_BASELINE = "no option is the baseline; mark the present machine with baseline = true"
ITS_OWN = ("name", "baseline", "capital", "capital_factor", "capital_for", "incentive")
"""Keys of the present dryers that no retrofit has of them."""


def completed(document: Mapping[str, Any]) -> Mapping[str, Any]:
    """The document with what its retrofits do not say taken from the present dryers; itself where it has none.

    What a retrofit says of its inputs, its meter or its dew point counts for every dryer whose type has it; what is of one
    hopper stands in its `machines`.

    Raises
    ------
    CaseError
        Retrofits without present dryers.
    """
    rows = document.get("options")
    if not isinstance(rows, list) or not any(_is(row, "retrofit") for row in rows):
        return document
    present = next((row for row in rows if _is(row, "baseline")), None)
    if present is None:
        raise CaseError([Problem("options", f"{NO_BASELINE}; a retrofit has of it all that it does not say")])
    if _is(present, "retrofit"):
        return document
    return {**document, "options": [_changed(present, row) if _is(row, "retrofit") else row for row in rows]}


def inherited(document: Mapping[str, Any]) -> dict[str, str]:
    """Where the retrofits of a document stand, and the present dryers whose values they have: beginnings of paths."""
    rows = [row for row in document["options"] if isinstance(row, Mapping)]
    present = next((row for row in rows if _is(row, "baseline")), None)
    if present is None:
        return {}
    of = f"options['{present.get('name')}']."
    return {f"options['{row.get('name')}'].": of for row in rows if _is(row, "retrofit")}


def problems(document: Mapping[str, Any]) -> Iterator[Problem]:
    """What a retrofit cannot be: the present dryers themselves, another type, or arranged in another way."""
    rows = [row for row in document["options"] if isinstance(row, Mapping)]
    present: Mapping[str, Any] = next((row for row in rows if _is(row, "baseline")), {})
    for row in rows:
        place = f"options['{row.get('name')}']"
        if not _is(row, "retrofit"):
            continue
        if _is(row, "baseline"):
            yield Problem(f"{place}.retrofit", "the present dryers are no retrofit of themselves; leave it out")
            continue
        yield from _sizes_of_none(document, present, row)
        for key, usual in (("type", None), ("arrangement", "at the machine")):
            was, now = present.get(key, usual), row.get(key, present.get(key, usual))
            if was != now:
                yield Problem(
                    f"{place}.{key}",
                    f"a retrofit is of the present dryers, which have '{was}'; write that, or leave retrofit out for new dryers",
                )


def _sizes_of_none(
    document: Mapping[str, Any], present: Mapping[str, Any], row: Mapping[str, Any]
) -> Iterator[Problem]:
    """Sizes that a retrofit states of all dryers where each hopper's is one of its own, with sizes of its own."""
    theirs = [one for one in _tables(present.get("machines", [])) or [] if not _is_kept(one)]
    hoppers = {str(hopper.get("name")) for hopper in _tables(document.get("hoppers", [])) or []}
    if not hoppers or hoppers - {str(one.get("hopper")) for one in theirs}:
        return
    for key in SIZES:
        if key in row:
            example = f'machines = [{{ hopper = "{theirs[0].get("hopper")}", {key} = ... }}]'
            yield Problem(
                f"options['{row.get('name')}'].{key}",
                f"counts for no dryer: each of the present dryers is one of its own at its hopper; write it there, {example}",
            )


def told_once(found: list[Problem], document: Mapping[str, Any]) -> list[Problem]:
    """The problems without those of a retrofit that are of what it has of the present dryers, where they are told."""
    places = tuple(f"options['{row.get('name')}']." for row in document["options"] if _is(row, "retrofit"))
    kept = []
    for problem in found:
        own = next((place for place in places if problem.key.startswith(place)), None)
        alone = own is not None and problem.key.removeprefix(own).startswith(ITS_OWN)
        if own is None or alone or written(document, problem.key) is not None:
            kept.append(problem)
    return kept or found


def _is(row: Any, key: str) -> bool:
    return isinstance(row, Mapping) and row.get(key) is True


def _changed(present: Mapping[str, Any], row: Mapping[str, Any]) -> dict[str, Any]:
    """A retrofit with all that it does not say taken from the present dryers."""
    made = {**{key: value for key, value in present.items() if key not in ITS_OWN}, "type": present.get("type"), **row}
    given = _tables(row.get("machines", []))
    if not all(isinstance(one.get("inputs", {}), Mapping) for one in (row, *(given or []))):
        return made  # what is no table is told as that
    inputs = _table(row.get("inputs"))
    made = _one_air(made, {**_table(present.get("inputs")), **inputs}, row)
    of_all = {key: row[key] for key in OF_PRESENT if key in row}
    sizes = {key: row[key] for key in SIZES if key in row}
    theirs = _tables(present.get("machines", []))
    if theirs is None or given is None:  # what is no list of tables is told as that
        return made
    own = {str(machine.get("hopper")): machine for machine in given}
    machines = []
    for one in theirs:
        # One that stands in the list for a size that was kept with it alone is one of the option's.
        changed = {**of_all, **sizes} if _is_kept(one) else of_all
        machines.append(_machine(one, inputs, changed, own.pop(str(one.get("hopper")), {})))
    for one in own.values():
        its = {**made["inputs"], **_table(one.get("inputs"))}
        like = one.get("type", made["type"]) == made["type"]
        theirs_too = {key: made[key] for key in OF_DRYER if key in made} if like else of_all
        machines.append(_one_air({"type": made["type"], **theirs_too, **one}, its, one))
    if machines:
        made["machines"] = machines
    return made


def _is_kept(machine: Mapping[str, Any]) -> bool:
    """Does a dryer of its own at a hopper have a size that nobody typed?"""
    sizes = [*(machine.get(key) for key in SIZES), _table(machine.get("inputs")).get("air_resin_ratio")]
    return any(_table(size).get("note") == KEPT for size in sizes)


def _machine(
    present: Mapping[str, Any], inputs: Mapping[str, Any], of_all: Mapping[str, Any], own: Mapping[str, Any]
) -> dict[str, Any]:
    """The present dryer of one hopper with what is changed of all, as far as its type has it, and of this one."""
    known = dryers.TYPES.get(str(present.get("type")))
    its = {key: value for key, value in inputs.items() if known is None or key in known.Inputs.model_fields}
    changed = {**own, "inputs": {**its, **_table(own.get("inputs"))}}
    return _one_air({**present, **of_all, **own}, {**_table(present.get("inputs")), **changed["inputs"]}, changed)


def _one_air(dryer: Mapping[str, Any], inputs: Mapping[str, Any], own: Mapping[str, Any]) -> dict[str, Any]:
    """A dryer with its inputs; the air that it says itself takes the place of the one that it would have of the present dryers."""
    if "airflow" in own:
        inputs = {
            key: value for key, value in inputs.items() if key != "air_resin_ratio" or key in _table(own.get("inputs"))
        }
    elif "air_resin_ratio" in _table(own.get("inputs")):
        dryer = {key: value for key, value in dryer.items() if key != "airflow"}
    return {**dryer, "inputs": inputs}


def _table(given: Any) -> Mapping[str, Any]:
    return given if isinstance(given, Mapping) else {}


def _tables(given: Any) -> list[Mapping[str, Any]] | None:
    """A list of tables; None for anything else."""
    if not isinstance(given, list) or not all(isinstance(one, Mapping) for one in given):
        return None
    return list(given)
