"""How big the present dryers are, kept with them where their duty is changed, on a page or by a scenario: what stands there does not grow."""

from __future__ import annotations

import copy
from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from typing import Any

from pydantic import ValidationError

from energy import dryers
from energy.errors import EnergyError
from energy.study.case import Case
from energy.study.machine_sizes import Size, sizes_of
from energy.study.option_sections import KEPT, OF_DRYER, Option
from energy.study.own_resin import resin_of
from energy.study.paths import as_written, name_of, rows
from energy.study.plant_sections import Hopper
from energy.units import parse, show

Document = Mapping[str, Any]
Row = dict[str, Any]
KINDS = {"built_for": "mass flow", "hopper_volume": "volume", "air_resin_ratio": "ratio"}
"""What is kept, and its kind; the last stands among the inputs of a dryer."""
_IN_INPUTS = "air_resin_ratio"
_NO_DUTY = ("name", "levels", "running", "campaigns")
"""Keys of a hopper that no machine is sized by."""
_SAME = 2e-5
"""Sizes so near to each other are one: they are written with six digits. [-]"""

Kept = dict[str, dict[str, str]]
"""By key, a size as it stands in a case."""


def kept_with(document: Document, after: Document, case: Case, other: Case | None = None) -> tuple[dict[str, Any], str]:
    """What a change does to the sizes of the present dryers that a case does not state.

    Parameters
    ----------
    document, after : mapping
        The case before and after the change.
    case : Case
        As last compared: a value typed half may stand in `document`.
    other : Case, optional
        That of `after`, where it is known to be valid: its hall counts too, for every hopper.

    Returns
    -------
    changes : dict
        More changes, by path.
    told : str
        What was kept now, or grew, in sentences; empty where nothing was.
    """
    options, told = rows(after, "options"), ""
    found = []
    for row in options:
        if isinstance(row.get("machines", []), list) and row.get("baseline") is True:
            kept, told = _Present(document, after, row, case, other).settled()
            found.append(kept)
        else:  # not yet bought, so it is built for what is asked
            found.append(_without_any(row))
    return ({} if found == options else {"options": found}), told


def still_kept(document: Document) -> dict[str, Kept]:
    """By hopper, sizes of its present dryer that were kept and that nobody has confirmed, by typing them or another basis."""
    option = next((row for row in rows(document, "options") if row.get("baseline") is True), {})
    own = {str(row.get("hopper")): row for row in _machines(option)}
    found = {name: _assumed_in(own.get(name, option)) for name in map(name_of, rows(document, "hoppers"))}
    return {name: kept for name, kept in found.items() if kept}


@dataclass
class _Present:
    """The present dryers within one change."""

    document: Document
    after: Document
    option: Row
    case: Case
    other: Case | None
    kept: dict[str, Kept] = field(default_factory=dict)
    """By hopper, what was kept so far."""

    def __post_init__(self) -> None:
        self.hoppers = {name_of(row): row for row in rows(self.after, "hoppers")}
        before = rows(self.document, "hoppers")
        known = {name_of(row): row for row in before}
        renamed = dict(zip(self.hoppers, before, strict=True)) if len(before) == len(self.hoppers) else {}
        self.before = {name: known.get(name) or renamed.get(name) for name in self.hoppers}
        was = next((row for row in rows(self.document, "options") if row.get("baseline") is True), {})
        self.bare = _without(self.option)
        apart = {row.get("hopper") for row in _machines(was)}
        for name, hopper in self.before.items():
            if hopper is not None and name_of(hopper) not in apart and (of_all := _kept_in(self.option)):
                self.kept[name] = dict(of_all)
        self.rows: list[Row | str] = []
        """Dryers of their own; of one that differs from the option's in what was kept here alone, its hopper."""
        for row in _machines(self.option):
            name, own = str(row.get("hopper")), _without(row)
            if of_row := _kept_in(row):
                self.kept[name] = of_row
            self.rows.append(name if of_row and _like(own) == _like(_without(was)) else own)
        self._had = bool(self.kept)

    def settled(self) -> tuple[Row, str]:
        """The option with all that is to be kept, and what of it is new, in sentences."""
        hall = self.other is not None and self.other.model.site != self.case.model.site
        changed = [name for name, row in self.hoppers.items() if hall or _duty(row) != _duty(self.before[name] or row)]
        alone = self._alone()
        self.kept = {name: kept for name, kept in self.kept.items() if name in alone}
        if not changed:
            return self._placed() if self._had else self.option, ""
        had = copy.deepcopy(self.kept)
        try:
            self._keep_throughputs(alone)
            if resized := [
                name
                for name in changed
                if name in alone and (hall or _but_throughput(self.hoppers[name]) != _but_throughput(self.before[name]))
            ]:
                self._keep_hoppers_and_air(resized)
            told = self._told(had, [name for name in changed if name in alone])
            grown = self._grown([name for name in changed if name not in alone])
        except (EnergyError, ValidationError, TypeError, KeyError):  # told where the case is checked
            return self.option, ""
        return self._placed(), " ".join(filter(None, (told, grown)))

    def _alone(self) -> list[str]:
        """Hoppers whose dryer serves no other: all, or those that have one of their own beside a central system or portable dryers."""
        if self.option.get("arrangement") in (None, "at the machine"):
            return list(self.hoppers)
        own = {row.get("hopper") for row in self.rows if isinstance(row, dict)}
        return [name for name in self.hoppers if name in own]

    def _was(self, name: str) -> str:
        """The name that a hopper had before; empty of one that is new."""
        row = self.before[name]
        return "" if row is None else name_of(row)

    def _then(self) -> dict[str, Size]:
        """By hopper as it was called, how big its dryer was."""
        sizes = sizes_of(self.case, self._base)
        return dict(zip([h.name for h in self.case.model.hoppers], sizes, strict=True))

    @property
    def _base(self) -> Option:
        return next(o for o in self.case.model.options if o.baseline)

    def _now(self, option: Row) -> dict[str, Size]:
        """By hopper, how big its dryer is with the duty as changed."""
        keys = ("name", "type", "inputs", "arrangement", "units", "central", "baseline", "machines", *OF_DRYER)
        hoppers = tuple(Hopper.model_validate(row) for row in self.hoppers.values())
        case = self.other or replace(
            self.case,
            model=self.case.model.model_copy(update={"hoppers": hoppers}),
            resins=tuple(resin_of(hopper) for hopper in hoppers),
        )
        of = Option.model_validate({key: option[key] for key in keys if key in option})
        return dict(zip(self.hoppers, sizes_of(case, of), strict=True))

    def _keep_throughputs(self, names: list[str]) -> None:
        """Of all these hoppers what each was built for, or of none: one kept alone would leave the others open."""
        own = {machine.hopper: machine for machine in self._base.machines}
        then = {h.name: own.get(h.name, self._base).built_for or h.throughput for h in self.case.model.hoppers}
        now = {name: float(Hopper.model_validate(row).throughput) for name, row in self.hoppers.items()}
        for name in names:
            self._keep(name, then.get(self._was(name)), "built_for")
        written = {name: kept["built_for"] for name, kept in self.kept.items() if "built_for" in kept}
        if all(_same(parse(value["value"], "mass flow"), now[name]) for name, value in written.items()):
            for name in written:
                del self.kept[name]["built_for"]

    def _keep_hoppers_and_air(self, names: list[str]) -> None:
        """The hopper and the airflow of the dryers at these hoppers, where the duty would have them otherwise."""
        then = self._then()
        for place, key in ((1, "hopper_volume"), (2, "air_resin_ratio")):  # each beside those before it
            now = self._now(self._placed(without=tuple(KINDS)[place:]))
            for name in names:
                self._keep(name, getattr(then.get(self._was(name)), key, None), key, getattr(now[name], key))

    def _keep(self, name: str, size: float | None, key: str, new: float | None = 0.0) -> None:
        """Keep a size of the dryer at a hopper unless it is stated, or `new`, which it would have now, is no other."""
        kept = self.kept.setdefault(name, {})
        holder = next((row for row in self.rows if isinstance(row, dict) and row.get("hopper") == name), self.bare)
        if key in kept:
            size = parse(kept[key]["value"], KINDS[key])
        stated = _of(holder, key) is not None or (key == _IN_INPUTS and holder.get("airflow") is not None)
        if stated or size is None or new is None or _same(size, new):
            kept.pop(key, None)
        elif key not in kept:
            digits = 10 if key == "built_for" else 6
            text = as_written(size, KINDS[key], self.case.model.case.units, digits)
            kept[key] = {"value": text, "basis": "assumption", "note": KEPT}

    def _placed(self, without: tuple[str, ...] = ()) -> Row:
        """The option with what is kept: its own where that suits all hoppers without a dryer of their own, else at each."""
        kept = {name: {key: value for key, value in of.items() if key not in without} for name, of in self.kept.items()}
        own = {row.get("hopper") for row in self.rows if isinstance(row, dict)}
        open_ = [name for name in self.hoppers if name not in own]
        alike = bool(open_) and all(kept.get(name, {}) == kept.get(open_[0], {}) for name in open_)
        option = _with(self.bare, kept.get(open_[0], {})) if alike else dict(self.bare)
        machines = []
        apart = [name for name in open_ if not alike and kept.get(name)]
        for row in [*self.rows, *(name for name in apart if name not in self.rows)]:
            if isinstance(row, dict):
                machines.append(_with(row, kept.get(str(row.get("hopper")), {})))
            elif row in apart:
                machines.append(_with({"hopper": row, **copy.deepcopy(_like(self.bare))}, kept[row]))
        option.pop("machines", None)
        return {**option, "machines": machines} if machines else option

    def _told(self, had: Mapping[str, Kept], changed: list[str]) -> str:
        said = []
        for name in changed:
            new = {key: value for key, value in self.kept.get(name, {}).items() if key not in had.get(name, {})}
            if new:
                said.append(f"{f'at {name} ' if len(self.hoppers) > 1 else ''}{self._in_words(new)}")
        if not said:
            return ""
        more = (
            " Heaters, and desiccant that is not stated, are counted as fit for the new duty."
            if any("air" in text for text in said)
            else ""
        )
        return (
            f"{name_of(self.option)}: what stands there does not grow with what is asked of it, so it is counted as before, "
            f"{'; '.join(said)}.{more} Put in what the nameplate says, under Options."
        )

    def _in_words(self, kept: Kept) -> str:
        """Sizes in a row."""
        units = self.case.model.case.units
        words = {
            "built_for": "built for {}",
            "hopper_volume": "with a hopper of {}",
            "air_resin_ratio": "with {} kg of air per kg of resin",
        }
        return ", ".join(
            words[key].format(show(parse(value["value"], KINDS[key]), KINDS[key], units)) for key, value in kept.items()
        )

    def _grown(self, changed: list[str]) -> str:
        """Said of dryers that serve several hoppers, whose sizes hang on all of them."""
        then, now = self._then(), self._now(self.option)
        if all(then.get(self._was(name)) in (None, now[name]) for name in changed):
            return ""
        return (
            f"{name_of(self.option)}: counted as if built for what is asked now, since the size of {self.option.get('arrangement')} "
            "dryers hangs on all hoppers together."
        )


def _without_any(option: Row) -> Row:
    """An option without them, at single hoppers too."""
    bare = _without(option)
    rows = [(row, _without(row)) for row in _machines(option)]
    if any(own != row for row, own in rows):
        kept = [own for row, own in rows if own == row or _like(own) != _like(bare)]
        bare = {key: value for key, value in bare.items() if key != "machines"} | ({"machines": kept} if kept else {})
    return bare


def _machines(option: Mapping[str, Any]) -> list[Row]:
    listed = option.get("machines")
    return [dict(row) for row in listed if isinstance(row, Mapping)] if isinstance(listed, list) else []


def _duty(hopper: Mapping[str, Any]) -> dict[str, Any]:
    return {key: value for key, value in hopper.items() if key not in _NO_DUTY}


def _like(dryer: Mapping[str, Any]) -> dict[str, Any]:
    """What a dryer of its own at a hopper has of the option's."""
    return {key: dryer[key] for key in ("type", "inputs", *OF_DRYER) if key in dryer}


def _but_throughput(hopper: Mapping[str, Any] | None) -> dict[str, Any]:
    return {key: value for key, value in _duty(hopper or {}).items() if key != "throughput"}


def _of(dryer: Mapping[str, Any], key: str) -> Any:
    inputs = dryer.get("inputs")
    of = inputs if key == _IN_INPUTS else dryer
    return of.get(key) if isinstance(of, Mapping) else None


def _kept_in(dryer: Mapping[str, Any]) -> Kept:
    """Sizes that were written here: not typed, and left as they are."""
    return {key: value for key, value in _assumed_in(dryer).items() if set(value) == {"value", "basis", "note"}}


def _assumed_in(dryer: Mapping[str, Any]) -> Kept:
    """The same with those that got a range since: they rest on the same assumption."""
    found = {key: _of(dryer, key) for key in KINDS}
    return {
        key: dict(value)
        for key, value in found.items()
        if isinstance(value, Mapping) and (value.get("basis"), value.get("note")) == ("assumption", KEPT)
    }


def _without(dryer: Row) -> Row:
    """An option or a dryer of its own without the sizes that were written here."""
    kept = _kept_in(dryer)
    bare = {key: value for key, value in dryer.items() if key not in kept}
    if _IN_INPUTS in kept:
        inputs = {key: value for key, value in dryer["inputs"].items() if key != _IN_INPUTS}
        bare |= {"inputs": inputs}
        if not inputs:
            del bare["inputs"]
    return bare


def _with(dryer: Mapping[str, Any], kept: Kept) -> Row:
    """The same with them."""
    found = dict(dryer)
    kind = dryers.TYPES.get(str(dryer.get("type")))
    for key, value in kept.items():
        if key == _IN_INPUTS and dryer.get("airflow") is None:
            found["inputs"] = {**found.get("inputs", {}), key: value}
        elif key == "built_for" or (key == "hopper_volume" and (kind is None or kind.Inputs.DRIES_IN_HOPPER)):
            found[key] = value
    return found


def _same(one: float, other: float) -> bool:
    return abs(one - other) < _SAME * abs(one)
