"""What the Compare view shows and what has been changed: no widget in here, so that it can be tested without a browser."""

from __future__ import annotations

import copy
import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from typing import Any

import traitlets

from dashboards import lists
from dashboards.scenarios import Outcome, outcome
from dashboards.shown_case import ShownCase
from energy.errors import EnergyError
from energy.plant.climate import sample_climate
from energy.reports.labels import labelled
from energy.reports.rows import joined
from energy.resins.properties import Resin
from energy.study.compare import Comparison
from energy.study.form import entries
from energy.study.load import LoadCurve, load_curve_in_steps
from energy.study.paths import written
from energy.study.plant_sections import Calendar, Hopper
from energy.study.steps import Steps
from energy.study.sweep import Sweep, sweep_in_steps, total_throughput
from energy.units import Quantity, parse, show, to_unit

# Values of a hopper that belong to its resin and go when another resin is chosen.
_OF_RESIN = ("drying_temperature", "residence_time", "initial_moisture", "target_moisture", "own_resin")


_NO_HALL = {"site.hall_temperature": None, "site.hall_dew_point": None}
SAMPLE = "temperate"
"""The invented climate whose air outdoors is taken where a case says nothing of it."""
MONTHS = ":months"
"""In place of the name of a climate: its months are typed in."""
REST = 0.4
"""How long nothing is changed before the curves are worked out, so that who moves a slider on need not wait for them; by judgement. [s]"""
PAUSE = 0.02
"""Between the steps of that work, so that a change that has come meanwhile goes first; by judgement. [s]"""
_DONE = object()


@dataclass(frozen=True)
class Gone:
    """What went when a number was typed over: it comes back with the number."""

    typed: str
    """What stands there now."""
    had: str
    """Range and basis, in words."""
    table: Mapping[str, Any]
    """The number as it stood in the document, with them."""


class State(ShownCase):
    """The case of the Compare view: hopper and option shown, and the curves that take longer than the comparison."""

    chosen = traitlets.Unicode()
    """Name of the option shown in detail."""
    told = traitlets.Int(0)
    """Counts the scenarios that were worked out."""
    curves = traitlets.Int(0)
    """Counts the curves of cost and energy, which are worked out after the comparison."""
    hopper = traitlets.Int(0)
    """Place of the hopper whose duty is shown."""

    def __init__(
        self, case: str | None = None, later: Callable[[float, Callable[[], None]], object] | None = None
    ) -> None:
        """Open a case.

        Parameters
        ----------
        case : str, optional
            File, or the demo case.
        later : callable, optional
            Does work that can wait until the comparison is on the screen after so many seconds; at once where it is left out.
        """
        self._later = later or (lambda _, work: work())
        self.costs: Sweep = None  # type: ignore[assignment]  # set when the case is opened
        self.loads: LoadCurve = None  # type: ignore[assignment]
        self.outcomes: tuple[Outcome, ...] = ()
        """Of the case's scenarios, in their order, as far as they are worked out."""
        self.opened_with_shifts = False
        self.put_aside = (0, "")
        """Place of the hopper whose resin was changed last, and what was lost with the change, in a sentence."""
        self.gone_with: dict[str, Gone] = {}
        """By path."""
        self.shifts_aside: list[Any] = []
        """Shifts whose place hours typed in have taken."""
        super().__init__(case)

    def _opened(self) -> None:
        self.gone_with, self.shifts_aside = {}, []
        self.hopper = 0
        ranked = self.comparison.ranked()
        self.chosen = (ranked[0] if ranked else self.comparison.options[0]).name
        self.opened_with_shifts = bool(self.case.model.calendar.shifts)
        self.put_aside = (0, "")

    def _checked(self) -> None:
        if self.chosen not in {o.name for o in self.comparison.options}:
            self.chosen = self.comparison.options[0].name
        self.hopper = min(self.hopper, len(self.case.model.hoppers) - 1)

    def _with_what_hangs_on(self, changes: Mapping[str, Any]) -> Mapping[str, Any]:
        return {**self._levels_with(changes), **self._shifts_with(changes), **changes}

    def _shifts_with(self, changes: Mapping[str, Any]) -> dict[str, Any]:
        """Hours typed in stand for the shifts they came from; taken out again they bring them back."""
        hours, path = "calendar.production_hours", "calendar.shifts"
        if hours not in changes or path in changes:
            return {}
        shifts = written(self.document, path)
        if changes[hours] is None:
            back = self.shifts_aside or written(self.opened, path)
            return {path: copy.deepcopy(back)} if back and not shifts else {}
        try:
            Calendar(production_hours=changes[hours])
            usable = True
        except ValueError:
            usable = False
        if not usable or not shifts:
            return {}
        self.shifts_aside = shifts
        return {path: None}

    def _levels_with(self, changes: Mapping[str, Any]) -> dict[str, Any]:
        """Levels of a hopper in proportion to its changed throughput."""
        found = {}
        for path, value in changes.items():
            place = re.fullmatch(r"hoppers\[(\d+)\]\.throughput", path)
            if not place or not 0 < int(place[1]) <= len(self.case.model.hoppers):
                continue
            hopper = self.case.model.hoppers[int(place[1]) - 1]
            try:
                ratio = parse(value, "mass flow") / float(hopper.throughput)
            except EnergyError:
                continue
            if hopper.levels:
                found[f"hoppers[{place[1]}].levels"] = [
                    {"throughput": _flow(ratio * float(v.throughput)), "share": _share(float(v.share))}
                    for v in hopper.levels
                ]
        return found

    def enter(self, path: str, quantity: Quantity, part: str, text: str, fallback: float | None) -> None:
        """Take what was typed into one part of a quantity: its value, low, high, basis or note; an empty text leaves it out.

        A range or basis given to a value that is left out makes the value shown, `fallback`, the case's own.
        """
        kind, unit = quantity.kind, self.unit_of(quantity)
        if part in ("value", "low", "high") and text:
            text = self.with_unit(text, kind, unit)
        raw = written(self.document, path)
        if part == "value":
            gone = self.gone_with.pop(path, None)
            if isinstance(raw, Mapping):
                had = self._reach(raw, kind, unit)
                gone = Gone(typed=text, had=had, table=raw) if had else None
            elif gone is not None:
                gone = replace(gone, typed=text)
            back = gone is not None and self.text_of(text, kind, None, unit) == self.text_of(
                gone.table, kind, None, unit
            )
            if gone is not None and not back:
                self.gone_with[path] = gone
            self.set({path: dict(gone.table) if gone is not None and back else text or None})
            return
        if raw is None or isinstance(raw, list):
            if fallback is None or not text:
                return
            raw = f"{to_unit(fallback, kind, unit):.6g} {unit}".strip()
        table = dict(raw) if isinstance(raw, Mapping) else {"value": raw}
        table.pop(part, None)
        if text:
            table[part] = text
        self.set({path: table})

    def _reach(self, table: Mapping[str, Any], kind: str, unit: str) -> str:
        """Range and basis of a value in words."""
        ends = [self.text_of(table[end], kind, None, unit) for end in ("low", "high") if table.get(end)]
        return ", ".join(filter(None, (" to ".join(ends), str(table.get("basis", "")), str(table.get("note", "")))))

    @property
    def load(self) -> float:
        """Mean throughput over full throughput while hoppers run. [-]"""
        hoppers = self.case.model.hoppers
        mean = [sum(float(v.throughput * v.share) for v in h.levels) or float(h.throughput) for h in hoppers]
        return sum(mean) / total_throughput(self.case)

    def set_load(self, load: float) -> None:
        """Run every hopper at one share of its full throughput."""
        self.set(self._at_load(load))

    def foresee_load(self, load: float) -> None:
        """Be ready for that load, which the visitor is about to choose."""
        self.foresee(self._at_load(load))

    def _at_load(self, load: float) -> dict[str, Any]:
        return {
            f"hoppers[{i + 1}].levels": [{"throughput": _flow(load * float(h.throughput)), "share": "100 %"}]
            if load < 1.0
            else None
            for i, h in enumerate(self.case.model.hoppers)
        }

    def set_resin(self, name: str, hopper: int | None = None) -> None:
        """Choose a resin for the hopper shown, or another; what belonged to the old one goes."""
        at = self.hopper if hopper is None else hopper
        place, row = f"hoppers[{at + 1}]", lists.rows(self.document, "hoppers")[at]
        self.put_aside = (at, self._gone_with_resin(row))
        self.set({f"{place}.resin": name, **{f"{place}.{key}": None for key in _OF_RESIN}})

    def _gone_with_resin(self, row: Mapping[str, Any]) -> str:
        """What the case says of a hopper for its resin alone, in a sentence; empty where there is none."""
        given = {key: row[key] for key in _OF_RESIN if row.get(key) is not None}
        own = ["its properties"] if given.pop("own_resin", None) is not None else []
        for key, value in given.items():
            quantity = entries(Hopper)[key].quantity
            assert quantity is not None  # all of them are
            written_as = value.get("value") if isinstance(value, Mapping) else value
            try:
                said = show(parse(written_as, quantity.kind), quantity.kind, self.unit_of(quantity))
            except EnergyError:
                said = str(written_as)
            own.append(f"{quantity.label.lower()} {said}")
        if not own:
            return ""
        return f"What the case said for {row.get('resin')} went with it: {joined(own)}. Undo brings it back."

    def set_own_resin(self, own: bool) -> None:
        """Let the resin's values be changed, beginning with its name, or go back to the stored ones."""
        self.set({f"{self.hopper_path}.own_resin": {"name": self.resin.abbreviation} if own else None})

    @property
    def own_resin(self) -> bool:
        """Are the resin's values the user's own?"""
        return bool(self.written_hopper.get("own_resin"))

    def set_climate(self, name: str | None) -> None:
        """Choose a climate by month, `MONTHS` to type it in, or none: then the last year's means become the one hall air."""
        if name == MONTHS:
            if self.climate != MONTHS:
                self._type_months()
        elif name is None:
            hall = {
                f"site.{key}": _degrees(getattr(self.comparison.duty, key).mean())
                for key in ("hall_temperature", "hall_dew_point")
            }
            self.set({"site.climate": None, "site.months": None, **hall})
        else:
            self.set({"site.climate": name, "site.months": None, **_NO_HALL})

    def _type_months(self) -> None:
        """Put the months of the climate so far into the document; of one air all year, with a sample's air outdoors."""
        duty, climate = self.comparison.duty, self.case.climate
        found = climate or sample_climate(SAMPLE)
        keys = ["outdoor_temperature", "outdoor_dew_point"]
        rows = [{"month": m + 1, **{key: _degrees(getattr(found, key)[m]) for key in keys}} for m in range(12)]
        if climate is None:
            hall = {key: _degrees(getattr(duty, key).mean()) for key in ("hall_temperature", "hall_dew_point")}
            rows = [{**row, **hall} for row in rows]
        self.set({"site.climate": None, "site.months": rows, **_NO_HALL})
        if climate is None:
            self.notice = f"The air outdoors begins as that of the invented sample {found.name}: type in your own."

    @property
    def climate(self) -> str:
        """The climate that the document names, `MONTHS` where it is typed in; empty where there is none."""
        return MONTHS if written(self.document, "site.months") else str(written(self.document, "site.climate") or "")

    @property
    def hopper_path(self) -> str:
        """Path of the chosen hopper in the document."""
        return f"hoppers[{self.hopper + 1}]"

    @property
    def chosen_hopper(self) -> Hopper:
        """As last compared."""
        return self.case.model.hoppers[self.hopper]

    @property
    def written_hopper(self) -> Mapping[str, Any]:
        """The chosen hopper as the document has it now."""
        hoppers = lists.rows(self.document, "hoppers") or [{}]
        return hoppers[min(self.hopper, len(hoppers) - 1)]

    @property
    def resin(self) -> Resin:
        """Of the chosen hopper."""
        return self.case.resins[self.hopper]

    def _compared(self) -> None:
        """Work out the curves and scenarios once nothing is changed any more, unless another comparison has taken its place by then."""
        comparison = self.comparison
        had_some, self.outcomes = bool(self.outcomes), ()
        if had_some and not comparison.case.model.scenarios:
            self.told += 1
        steps = self._curves_and_scenarios(comparison)

        def go_on() -> None:
            if comparison is self.comparison and next(steps, _DONE) is not _DONE:
                self._later(PAUSE, go_on)

        self._later(REST, go_on)

    def _curves_and_scenarios(self, comparison: Comparison) -> Steps[None]:
        costs = yield from sweep_in_steps(comparison)
        loads = yield from load_curve_in_steps(comparison)
        self.costs, self.loads = costs, loads
        self.curves += 1
        for scenario in comparison.case.model.scenarios:
            yield
            self.outcomes = (*self.outcomes, outcome(comparison.case, scenario))
            self.told += 1

    @property
    def standing_note(self) -> str:
        """Said where the resin or the time of a hopper was changed, and the size kept of the one that stands there was cleared."""
        base = self.comparison.baseline.option
        if base.arrangement != "at the machine" or base.hopper_volume is not None:
            return ""
        own = {machine.hopper: machine for machine in base.machines}
        stated = {
            hopper.name
            for hopper in self.case.model.hoppers
            if (dryer := own.get(hopper.name, base)).hopper_volume is not None or not dryer.inputs.DRIES_IN_HOPPER
        }
        before = {lists.name_of(row): _duty(row) for row in lists.rows(self.opened, "hoppers")}
        now = {lists.name_of(row): _duty(row) for row in lists.rows(self.document, "hoppers")}
        apart = [name for name, duty in now.items() if name not in stated and duty != before.get(name, duty)]
        if not apart:
            return ""
        return (
            f"The hopper of {base.name} at {', '.join(apart)} is counted as big as the time asked now takes. Where it stands already, give "
            "its volume."
        )

    @property
    def calendar_note(self) -> str:
        """Said where hours typed in have taken the place of shifts; empty otherwise."""
        if not self.opened_with_shifts or self.case.model.calendar.shifts:
            return ""
        return (
            "Hours typed in have taken the place of the shifts: standby and starts from cold are no longer counted. Empty the field to have "
            "them back."
        )

    def problem_at(self, path: str) -> str:
        """What is wrong with the value at a path; empty when nothing is."""
        key = self.printed(path)
        return " ".join(
            labelled(p.message)
            for p in self.problems
            if p.key in (path, key) or p.key.startswith((f"{path}.", f"{key}.", f"{path}["))
        )

    def problem_of(self, path: str) -> str:
        """What is wrong with a section as a whole, not with one of its values."""
        return " ".join(labelled(p.message) for p in self.problems if p.key in (path, self.printed(path)))

    def problems_under(self, *paths: str) -> int:
        """How many things are wrong at these paths and below them."""
        keys = tuple(key for path in paths for key in (path, self.printed(path)))
        return sum(any(p.key == key or p.key.startswith((f"{key}.", f"{key}[")) for key in keys) for p in self.problems)

    def printed(self, path: str) -> str:
        """The path as error messages print it: entries of a list by their name."""
        entry = re.match(r"(hoppers|options|calendar\.shifts)\[(\d+)\]", path)
        listed = lists.rows(self.document, entry[1]) if entry else []
        if not entry or not 0 < int(entry[2]) <= len(listed):
            return path
        row = listed[int(entry[2]) - 1]
        if entry[1] == "calendar.shifts" and not row.get("name"):
            return path
        return f"{entry[1]}['{lists.name_of(row)}']{path[entry.end() :]}"


def _duty(row: Mapping[str, Any]) -> tuple[Any, ...]:
    """What the size of a hopper follows from, but for its throughput."""
    return tuple(row.get(key) for key in ("resin", "residence_time", "own_resin"))


def _degrees(kelvin: float) -> str:
    return f"{to_unit(float(kelvin), 'temperature', 'degC'):.1f} degC"


def _flow(throughput: float) -> str:
    return f"{throughput * 3600:.6g} kg/h"


def _share(share: float) -> str:
    return f"{100 * share:.10g} %"
