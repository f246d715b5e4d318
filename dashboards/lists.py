"""Hoppers, options, shifts, levels and lines of a case: added, copied, removed, renamed with all that names them.

Every function takes a document and answers with changes for :meth:`dashboards.case_state.CaseState.set`.
"""

from __future__ import annotations

import copy
import math
from collections.abc import Mapping
from typing import Any

from energy import dryers
from energy.errors import UnitError
from energy.study.option_sections import OF_DRYER, OF_PRESENT, Option
from energy.study.paths import name_of, rows, written
from energy.units import parse

Document = Mapping[str, Any]
Row = dict[str, Any]
Changes = dict[str, Any]


def lengths(document: Document) -> str:
    """A mark of how many entries every list of tables has."""

    def of(value: Any, path: str) -> list[str]:
        if isinstance(value, Mapping):
            return [mark for key, inner in value.items() for mark in of(inner, f"{path}.{key}")]
        if isinstance(value, list) and value and all(isinstance(row, Mapping) for row in value):
            return [f"{path} {len(value)}"] + [m for i, row in enumerate(value) for m in of(row, f"{path}.{i}")]
        return []

    return "; ".join(of(document, ""))


def fresh(names: list[str], wish: str) -> str:
    """A name that is not taken yet."""
    wish = wish[:90]
    return wish if wish not in names else next(n for i in range(2, 99) if (n := f"{wish} {i}") not in names)


def add_row(document: Document, path: str, row: Row, after: int | None = None) -> Changes:
    """Put one more entry at the end of a list, or behind one of its entries."""
    listed = rows(document, path)
    listed.insert(len(listed) if after is None else after + 1, copy.deepcopy(row))
    return {path: listed}


def remove_row(document: Document, path: str, place: int) -> Changes:
    """Take one entry out of a list; the list goes with its last entry."""
    return {path: [row for i, row in enumerate(rows(document, path)) if i != place] or None}


# --- hoppers


def add_hopper(document: Document) -> Changes:
    """One more hopper with the resin and throughput of the last."""
    listed = rows(document, "hoppers")
    last = listed[-1] if listed else {}
    given = last.get("throughput", "50 kg/h")
    names = [name_of(row) for row in listed]
    row = {
        "name": fresh(names, f"Hopper {len(listed) + 1}"),
        "resin": last.get("resin", "PC"),
        "throughput": given.get("value", "50 kg/h") if isinstance(given, Mapping) else given,
    }
    return add_row(document, "hoppers", row)


def copy_named(document: Document, path: str, place: int) -> Changes:
    """One more hopper or option like one that there is, behind it; there is one baseline only."""
    listed = rows(document, path)
    row = _not_present(listed[place])
    row["name"] = fresh([name_of(r) for r in listed], f"{name_of(row)}, copy")
    return add_row(document, path, row, place)


def remove_hopper(document: Document, place: int) -> Changes:
    """Take a hopper out, with its own machines in the options and its readings."""
    name = name_of(rows(document, "hoppers")[place])
    gone = remove_row(document, "hoppers", place)
    return {**gone, **_scenarios(document, f"hoppers['{name}']", None), **_of_hopper(document, name, None)}


def rename_hopper(document: Document, place: int, name: str) -> Changes:
    """Another name for a hopper, in all places that name it."""
    old = name_of(rows(document, "hoppers")[place])
    others = [name_of(row) for i, row in enumerate(rows(document, "hoppers")) if i != place]
    here = {f"hoppers[{place + 1}].name": name}
    if old in others or not name:  # what names it may mean another
        return here
    places = _scenarios(document, f"hoppers['{old}']", f"hoppers['{name}']")
    return {**here, **places, **_of_hopper(document, old, name)}


def fit_portables(document: Document, before: Document | None = None) -> dict[str, tuple[str, int, int]]:
    """Options whose portable dryers are too few or too many for the hoppers: path of their number, name, number now and wanted.

    As many are needed as hoppers without a dryer of their own run at once on average; more than those there are none. Where
    there were just as many as the hoppers of `before` needed, there are just as many again.
    """
    found = {}
    for i, row in enumerate(rows(document, "options")):
        now = row.get("units")
        if row.get("arrangement") != "portable" or not isinstance(now, int):
            continue
        served, needed = _portables_needed(document, row)
        of_before = None if before is None else _portables_needed(before, row)[1]
        wanted = min(needed if now == of_before else max(now, needed), served)
        if wanted != now:
            found[f"options[{i + 1}].units"] = (name_of(row), now, wanted)
    return found


def _portables_needed(document: Document, option: Document) -> tuple[int, int]:
    """How many hoppers an option's portable dryers serve, and how many run at once on average."""
    own = {machine.get("hopper") for machine in rows(option, "machines")}
    served = [row for row in rows(document, "hoppers") if name_of(row) not in own]
    shares = (_percent(row["running"]) if "running" in row else 100.0 for row in served)
    return len(served), math.ceil(sum(shares) / 100.0 - 1e-9)


def _of_hopper(document: Document, old: str, new: str | None) -> Changes:
    """Machines and readings of a hopper get its new name, or go with it."""
    paths = ["readings", *(f"options[{i + 1}].machines" for i in range(len(rows(document, "options"))))]
    changes = {}
    for path in paths:
        listed = rows(document, path)
        if any(row.get("hopper") == old for row in listed):
            kept = [row for row in listed if new is not None or row.get("hopper") != old]
            changes[path] = [{**row, "hopper": new} if row.get("hopper") == old else row for row in kept] or None
    return changes


def _scenarios(document: Document, old: str, new: str | None) -> Changes:
    """Scenarios follow a renamed thing; what they change of one that is gone goes, and a scenario with nothing left."""
    listed = rows(document, "scenarios")
    if not any(key.startswith(old) for row in listed for key in row.get("changes", {})):
        return {}
    kept = []
    for row in listed:
        changes = {
            (new or "") + key.removeprefix(old) if key.startswith(old) else key: value
            for key, value in row.get("changes", {}).items()
            if new is not None or not key.startswith(old)
        }
        if changes:
            kept.append({**row, "changes": changes})
    return {"scenarios": kept or None}


# --- options


def add_option(document: Document, kind: str) -> Changes:
    """One more option of a dryer type, with its typical inputs and no capital yet."""
    label = dryers.find(kind).LABEL
    names = [name_of(row) for row in rows(document, "options")]
    return add_row(document, "options", {"name": fresh(names, f"{label[0].upper()}{label[1:]}"), "type": kind})


def add_retrofit(document: Document) -> Changes:
    """One more option that is the present dryers, with something still to be changed and no capital yet."""
    listed = rows(document, "options")
    present = next(row for row in listed if row.get("baseline") is True)
    name = fresh([name_of(row) for row in listed], f"{name_of(present)}, changed"[:100])
    return add_row(document, "options", {"name": name, "type": present.get("type", ""), "retrofit": True})


def remove_option(document: Document, place: int) -> Changes:
    """Take an option out."""
    name = name_of(rows(document, "options")[place])
    return {**remove_row(document, "options", place), **_scenarios(document, f"options['{name}']", None)}


def rename_option(document: Document, place: int, name: str) -> Changes:
    """Another name for an option, in scenarios as well."""
    old = name_of(rows(document, "options")[place])
    places = _scenarios(document, f"options['{old}']", f"options['{name}']") if name else {}
    return {f"options[{place + 1}].name": name, **places}


SPENT = ("capital", "capital_for", "capital_factor", "incentive")
"""Keys of the money that an option takes before it stands there."""


def mark_baseline(document: Document, place: int) -> Changes:
    """Make an option the present machine, and no other; its capital is spent and goes, in scenarios as well."""
    listed = rows(document, "options")
    changes: Changes = {f"options[{i + 1}].baseline": True if i == place else None for i in range(len(listed))}
    for i, option in enumerate(listed):
        kept = _not_present(option)
        changes |= {f"options[{i + 1}].{k}": kept.get(k) for k in option if i != place and kept.get(k) != option[k]}
    name, left = name_of(listed[place]), document
    for key in SPENT:
        if key in listed[place]:
            changes[f"options[{place + 1}].{key}"] = None
        gone = _scenarios(left, f"options['{name}'].{key}", None)
        left, changes = {**left, **gone}, {**changes, **gone}
    return changes


def _not_present(row: Row) -> Row:
    """A hopper or an option without what only the present dryers have."""
    gone = ("baseline", *OF_PRESENT)
    kept = {k: copy.deepcopy(v) for k, v in row.items() if k not in gone}
    if isinstance(kept.get("machines"), list):
        kept["machines"] = [{k: v for k, v in machine.items() if k not in gone} for machine in kept["machines"]]
    return kept


def set_type(document: Document, path: str, kind: str) -> Changes:
    """Another dryer type for an option or a machine; inputs that the new type does not have go."""
    of_type = dryers.find(kind).Inputs
    places = [path]
    if written(document, f"{path}.baseline") is True:  # its retrofits are of that type, too
        listed = rows(document, "options")
        places += [f"options[{i}]" for i, row in enumerate(listed, start=1) if row.get("retrofit") is True]
    changes: Changes = {}
    for place in places:
        inputs = written(document, f"{place}.inputs")
        known = of_type.model_fields
        kept = {k: v for k, v in inputs.items() if k in known and k != "kind"} if isinstance(inputs, Mapping) else {}
        changes |= {f"{place}.type": kind, f"{place}.inputs": kept or None}
    if not of_type.DRIES_IN_HOPPER:
        changes |= dict.fromkeys((f"{path}.hopper_volume", f"{path}.airflow"))
    # What was read is of the dryer that stood there.
    return changes | {f"{path}.{key}": None for key in OF_PRESENT if written(document, f"{path}.{key}") is not None}


def add_machine(document: Document, path: str) -> Changes:
    """A dryer of its own at the first hopper that has none, to begin with like the option's others; `path` of the option."""
    option = written(document, path)
    here = f"{path}.machines"
    taken = {row.get("hopper") for row in rows(document, here)}
    free = [name for row in rows(document, "hoppers") if (name := name_of(row)) not in taken]
    alike = {key: copy.deepcopy(option[key]) for key in ("inputs", *OF_DRYER) if key in option}
    return add_row(document, here, {"hopper": free[0] if free else "", "type": option.get("type", ""), **alike})


def arrange(document: Document, place: int, arrangement: str) -> Changes:
    """Another arrangement; what belongs to the former one goes."""
    path = f"options[{place + 1}]"
    changes: Changes = {f"{path}.arrangement": arrangement, f"{path}.units": None, f"{path}.central": None}
    if arrangement == "portable":
        changes[f"{path}.units"] = len(rows(document, "hoppers"))
    if arrangement != Option.model_fields["arrangement"].default:
        changes |= dict.fromkeys(f"{path}.{key}" for key in ("machines", "hopper_volume", "airflow"))
    if arrangement == "central":
        changes[f"{path}.built_for"] = None
    return changes


def add_capital_line(document: Document, path: str, currency: str) -> Changes:
    """One more line of capital; a sum becomes the first line."""
    given = written(document, path)
    listed = rows(document, path)
    if given is not None and not isinstance(given, list):
        listed = [{"item": "Capital", "amount": given}]
    return {path: [*listed, {"item": f"Line {len(listed) + 1}", "amount": f"0 {currency}"}]}


# --- levels and shifts


def add_level(document: Document, hopper: str) -> Changes:
    """One more level of throughput: the first runs all the time, a later one takes what is missing to all of it, else half the time of the
    one before."""
    listed = rows(document, f"{hopper}.levels")
    given = written(document, f"{hopper}.throughput")
    full = given.get("value") if isinstance(given, Mapping) else given
    if not listed:
        return {f"{hopper}.levels": [{"throughput": full, "share": "100 %"}]}
    missing = 100.0 - sum(_percent(row.get("share")) for row in listed)
    if missing > 1e-6:
        return {f"{hopper}.levels": [*listed, {**listed[-1], "share": f"{missing:.10g} %"}]}
    half = f"{_percent(listed[-1].get('share')) / 2:.10g} %"
    return {f"{hopper}.levels": [*listed[:-1], {**listed[-1], "share": half}, {**listed[-1], "share": half}]}


def remove_level(document: Document, hopper: str, place: int) -> Changes:
    """Take a level out; its time goes to the one before, or to the next."""
    listed = rows(document, f"{hopper}.levels")
    gone = listed.pop(place)
    if listed:
        heir = max(place - 1, 0)
        together = _percent(listed[heir].get("share")) + _percent(gone.get("share"))
        listed[heir] = {**listed[heir], "share": f"{together:.10g} %"}
    return {f"{hopper}.levels": listed or None}


def _percent(share: Any) -> float:
    """A share as written, in per cent; nought where it cannot be read."""
    try:
        return 100.0 * parse(share.get("value") if isinstance(share, Mapping) else share, "share")
    except UnitError:
        return 0.0


def add_shift(document: Document) -> Changes:
    """One more shift, behind the last and as long; the first takes the place of hours a year."""
    listed = rows(document, "calendar.shifts")
    row: Row = {"name": "early", "days": ["mon", "tue", "wed", "thu", "fri"], "start": "06:00", "end": "14:00"}
    if listed:
        last = listed[-1]
        row = {**last, "name": f"shift {len(listed) + 1}"}
        start, end = (_minutes(last.get(key)) for key in ("start", "end"))
        if start is not None and end is not None:
            row |= {"start": _clock(end), "end": _clock(end + (end - start) % 1440)}
    return {"calendar.production_hours": None, "calendar.shifts": [*listed, row]}


def remove_shift(document: Document, place: int, hours: float) -> Changes:
    """Take a shift out; with the last one the hours of the year that there were so far take their place."""
    listed = [row for i, row in enumerate(rows(document, "calendar.shifts")) if i != place]
    if listed:
        return {"calendar.shifts": listed}
    return {"calendar.shifts": None, "calendar.production_hours": f"{hours:.6g} h"}


def _minutes(clock: Any) -> int | None:
    hours, _, minutes = str(clock).partition(":")
    return 60 * int(hours) + int(minutes) if hours.isdecimal() and minutes.isdecimal() else None


def _clock(minutes: int) -> str:
    return f"{minutes // 60 % 24:02d}:{minutes % 60:02d}"
