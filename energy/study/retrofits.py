"""A retrofit is the present dryers with something changed: all else it has of them, so that nothing else is compared."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any

from energy import dryers
from energy.errors import Problem

ITS_OWN = ("name", "baseline", "capital", "capital_factor", "capital_for", "incentive")
"""Keys of the present dryers that no retrofit has of them."""


def completed(document: Mapping[str, Any]) -> Mapping[str, Any]:
    """The document with what its retrofits do not say taken from the present dryers; itself where it has none.

    Inputs that a retrofit states count for every dryer whose type has them; those of one hopper stand in its `machines`.
    """
    rows = document.get("options")
    if not isinstance(rows, list) or not any(_is(row, "retrofit") for row in rows):
        return document
    present = next((row for row in rows if _is(row, "baseline")), None)
    if present is None or _is(present, "retrofit"):
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
        for key, usual in (("type", None), ("arrangement", "at the machine")):
            was, now = present.get(key, usual), row.get(key, present.get(key, usual))
            if was != now:
                yield Problem(
                    f"{place}.{key}",
                    f"a retrofit is of the present dryers, which have '{was}'; write that, or leave retrofit out for new dryers",
                )


def _is(row: Any, key: str) -> bool:
    return isinstance(row, Mapping) and row.get(key) is True


def _changed(present: Mapping[str, Any], row: Mapping[str, Any]) -> dict[str, Any]:
    """A retrofit with all that it does not say taken from the present dryers."""
    inputs = _table(row.get("inputs"))
    made = {**{key: value for key, value in present.items() if key not in ITS_OWN}, **row}
    made["inputs"] = {**_table(present.get("inputs")), **inputs}
    own = {m.get("hopper"): m for m in row.get("machines", ()) if isinstance(m, Mapping)}
    machines = [_machine(m, inputs, own.pop(m.get("hopper"), {})) for m in present.get("machines", ())]
    machines += [
        {"type": made.get("type"), **m, "inputs": {**made["inputs"], **_table(m.get("inputs"))}} for m in own.values()
    ]
    if machines:
        made["machines"] = machines
    return made


def _machine(present: Mapping[str, Any], inputs: Mapping[str, Any], own: Mapping[str, Any]) -> dict[str, Any]:
    """The present dryer of one hopper with what is changed of all, as far as its type has it, and of this one."""
    known = dryers.TYPES.get(str(present.get("type")))
    its = {key: value for key, value in inputs.items() if known is None or key in known.Inputs.model_fields}
    return {**present, **own, "inputs": {**_table(present.get("inputs")), **its, **_table(own.get("inputs"))}}


def _table(given: Any) -> Mapping[str, Any]:
    return given if isinstance(given, Mapping) else {}
