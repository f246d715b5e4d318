"""What the Walkthrough view shows: the readings at one dryer and the answer from them. No widget in here."""

from __future__ import annotations

import copy
import datetime
import json
import logging
import re
from collections.abc import Mapping
from functools import cache
from pathlib import Path
from typing import Any

import tomli_w
import traitlets

from dashboards import lists
from dashboards.shown_case import format_number
from dashboards.state import State
from energy.errors import EnergyError, Problem
from energy.reports.beside_model import model_beside
from energy.reports.kept_out_words import kept_out_names, kept_out_words
from energy.reports.moisture_words import not_taken_over as moisture_not_counted
from energy.reports.rows import joined
from energy.reports.walkthrough import desiccant_stays, doubtful, label, replaced_inputs, to_check
from energy.study.case import EXAMPLES, Case, example_text, read_document
from energy.study.paths import written
from energy.study.readings import QUANTITIES
from energy.units import parse, show, shown_unit, to_unit
from energy.units.days import iso_day
from energy.walkthrough.balance import Balance, balance
from energy.walkthrough.baseline import as_baseline, can_take_over, delivered_dew_point, readings_of, undoubted
from energy.walkthrough.found import usual
from energy.walkthrough.moisture_read import NAME as MOISTURE
from energy.walkthrough.of_type import has_desiccant, not_of_type, type_at
from energy.walkthrough.usable import usable
from energy.walkthrough.walk import Walkthrough, walk
from energy.walkthrough.walls import wall_not_counted

_log = logging.getLogger(__name__)
BROKEN = "This could not be worked out: an error in the program."
_US = {"length": "in", "pressure difference": "inH2O"}
_BETWEEN = re.compile(r"±|\+/?-")
_NUMBER = re.compile(r"[-−+]?[\d., ]*\d(?:[eE][-+]?\d+)?")
_LONG = {"C": "degC", "F": "degF"}
RECORD = {"date": "Date", "by": "Read by", "note": "Note"}
"""What is kept of the occasion beside the readings: key and label."""


class WalkState(State):
    """A case and what was read at one of its present dryers; readings are kept in the case as they are typed in."""

    trouble = traitlets.Unicode()
    """Why there is no answer at this dryer; empty where there is one."""

    def __init__(self, case: str | None = None) -> None:
        self.result: Walkthrough | None = None
        self.left_out: tuple[Problem, ...] = ()
        super().__init__(case)
        self.observe(lambda _: self._walk(), "hopper")

    def _opened(self) -> None:
        super()._opened()
        self.left_out = ()
        names = [hopper.name for hopper in self.case.model.hoppers]
        read = [names.index(readings.hopper) for readings in self.case.model.readings]
        self.hopper = read[0] if read else 0

    def _build(self, document: Mapping[str, Any], *, folder: Path | None = None, file: str) -> Case:
        """A case of what was typed so far, without the readings that cannot be used; a file that is opened has to hold as it is."""
        if document is self.document:
            document, self.left_out = _usable(self.document)
        return super()._build(document, folder=folder, file=file)

    # --- keeping: other views get the readings that can be used

    def kept(self) -> str:
        """The same, and beside it what was typed of readings that cannot be used yet."""
        entry = json.loads(super().kept())
        if self.left_out:
            entry["typed"] = tomli_w.dumps(self.document)
        return json.dumps(entry)

    def _shown_again(self, entry: Mapping[str, Any]) -> str:
        """Half-typed readings included."""
        return str(entry.get("typed") or super()._shown_again(entry))

    def save(self) -> None:
        """The same; what cannot be used yet stays on screen only."""
        super().save()
        if self.left_out:
            self.notice += " What is left out so far is not in it."

    def _to_keep(self, document: dict[str, Any]) -> dict[str, Any]:
        return _usable(document)[0]

    def set_resin(self, name: str, hopper: int | None = None) -> None:
        """The same; there is no form here to say in what was lost."""
        super().set_resin(name, hopper)
        self.notice = " ".join(filter(None, (self.put_aside[1], self.notice)))

    def _compared(self) -> None:
        """The walkthrough takes the place of the curves of another view."""
        self._walk()

    def _walk(self) -> None:
        try:
            self.result = walk(self.case, readings_of(self.case, self.chosen_hopper.name))
            self.trouble = ""
        except EnergyError as error:
            self.result, self.trouble = None, str(error)
        except Exception:  # the border to the visitor
            _log.exception("walkthrough failed")
            self.result, self.trouble = None, BROKEN
        self.revision += 1

    # --- readings

    @property
    def _place(self) -> int | None:
        """Of the chosen hopper's readings in the document."""
        entries = self.document.get("readings", [])
        name = self.written_hopper.get("name", "Hopper 1")
        return next((i for i, entry in enumerate(entries) if entry.get("hopper") == name), None)

    @property
    def entry(self) -> dict[str, Any]:
        """The readings of the chosen hopper as written."""
        return {} if self._place is None else dict(self.document["readings"][self._place])

    def unit_read(self, name: str) -> str:
        """Unit in which a reading is shown and in which a bare number is read."""
        quantity = QUANTITIES[name]
        by_instrument = _US.get(quantity.kind, "") if self.system == "us" else ""
        return by_instrument or self.unit_of(quantity)

    def _spread(self, name: str) -> tuple[str, str]:
        """Kind and unit of the accuracy of a reading."""
        kind = QUANTITIES[name].kind
        if kind != "temperature":
            return kind, self.unit_read(name)
        return "temperature difference", shown_unit("temperature difference", self.system)

    def shown(self, name: str) -> str:
        """A reading as it stands in its field: number, and its accuracy where one was given."""
        if self._place is None:
            return ""
        path = f"readings[{self._place + 1}].{name}"
        text = self.text_at(path, QUANTITIES[name].kind, None, self.unit_read(name))
        raw = written(self.document, path)
        told = raw.get("accuracy") if isinstance(raw, Mapping) else None
        if told is None:
            return text
        kind, unit = self._spread(name)
        try:
            if not str(told).endswith("%"):
                told = format_number(to_unit(parse(told, kind), kind, unit), exact=False)
        except EnergyError:
            pass
        return f"{text} ± {told}"

    def accuracy(self, name: str) -> str:
        """What an instrument is usually off by, as a hint."""
        kind, unit = self._spread(name)
        if kind == "temperature difference":
            value = to_unit(usual(name), kind, unit)
            return f"± {value:.2g} {unit.replace('deg', '°')}"
        floor = f", at least {show(usual('moisture_told_apart'), 'moisture', unit)}" if name == MOISTURE else ""
        return f"± {100 * usual(name):.2g} %{floor}"

    def read(self, name: str, typed: str) -> None:
        """Take a reading as typed in: ``121``, ``250 degF``, ``121 ± 1``; nothing takes it away."""
        text, *spread = (part.strip() for part in _BETWEEN.split(typed, maxsplit=1))
        if not text:
            return None if spread else self._write({name: None})
        accuracy = "".join(spread)
        kind, unit = self._spread(name)
        # A unit behind one of them is that of both, but a kelvin behind the accuracy alone.
        of_both = _unit_behind(text) or _unit_behind(accuracy)
        own = "" if of_both == "%" or (kind == "temperature difference" and of_both == "K") else of_both
        value = self.with_unit(text, QUANTITIES[name].kind, own or self.unit_read(name))
        if not accuracy:
            return self._write({name: value})
        return self._write(
            {name: {"value": value, "accuracy": self.with_unit(accuracy, kind, _LONG.get(own, own) or unit)}}
        )

    def choose_at(self, name: str, value: str | None) -> None:
        """Take what was seen: where the velocity was read, how beds are changed."""
        self._write({name: value})

    def note_down(self, name: str, typed: str) -> None:
        """Take day, reader or note of these readings (see `RECORD`); nothing takes it away."""
        text = typed.strip()
        self._write({name: (iso_day(text) if name == "date" else text) or None})

    def _write(self, changes: Mapping[str, Any]) -> None:
        document = copy.deepcopy(self.document)
        entries, place = document.setdefault("readings", []), self._place
        if place is None:
            entries.append({"hopper": self.written_hopper.get("name", "Hopper 1")})
            place = len(entries) - 1
        if set(entries[place]) == {"hopper"} or _record(entries[place]) in _invented():
            entries[place] = {k: v for k, v in entries[place].items() if k not in RECORD} | {"date": _today()}
        for name, value in changes.items():
            entries[place].pop(name, None)
            if value is not None:
                entries[place][name] = value
        told = set(entries[place]) - {"hopper"}
        if not told or (told == {"date"} and "date" not in changes):
            del entries[place]
        if not entries:
            del document["readings"]
        self._put(document)

    def clear(self) -> None:
        """Take all readings of this dryer away; that can be undone."""
        self._write(dict.fromkeys(name for name in self.entry if name != "hopper"))

    def problem_of(self, name: str) -> str:
        """What is wrong with a reading, by itself or beside another, or with day, reader or note."""
        if self._place is None:
            return ""
        place = f"readings[{self._place + 1}]"
        own = (f"{place}.{name}.", f"{place}.{name}[")
        found = [p.message for p in self.problems if p.key == f"{place}.{name}" or p.key.startswith(own)]
        within = rf"^{name}: " if name in RECORD else rf"\b{name}\b"
        found += [p.message for p in self.problems if p.key == place and re.search(within, p.message)]
        found += [f"{p.message.rstrip('.')}. Left out so far." for p in self.left_out if p.key == f"{place}.{name}"]
        return in_words(" ".join(dict.fromkeys(found)))

    def to_check(self, name: str) -> str:
        """Why a reading, or its day, is to be checked although it can be read; empty where it need not be."""
        if name == "date" and not self.problem_of(name) and str(self.entry.get(name, "")) > _today():
            return "That day is still to come: check it."
        if self.result is None or self.stale:
            return ""
        return " ".join(doubt.text for doubt in self.result.doubts if doubt.reading == name)

    # --- what the type of dryer can have

    @property
    def dryer_type(self) -> str:
        """Of the present dryer at the chosen hopper."""
        return type_at(self.case, self.chosen_hopper.name)

    @property
    def return_duct(self) -> str:
        """What the duct out of the hopper is called: nothing returns to a dryer without desiccant."""
        return "return duct" if has_desiccant(self.dryer_type) else "exhaust duct"

    def offered(self, name: str) -> bool:
        """Can this type of dryer have a reading, or was it typed already, so that it can be seen and taken away?"""
        return name not in not_of_type(self.dryer_type) or name in self.entry

    def not_here(self, name: str) -> str:
        """Why a reading that was typed counts in nothing at this type of dryer; empty where it can have it."""
        lacks = not_of_type(self.dryer_type).get(name, "")
        return f"Left out: a dryer of this type has no {lacks}." if lacks and name in self.entry else ""

    @property
    def waiting(self) -> tuple[str, ...]:
        """Labels of what was typed at this dryer and is left out so far."""
        place = f"readings[{(self._place or 0) + 1}]."
        names = [p.key.removeprefix(place) for p in self.left_out if p.key.startswith(place)]
        return tuple(RECORD.get(name) or QUANTITIES[name].label for name in names if name in (*RECORD, *QUANTITIES))

    def record_hint(self) -> str:
        """Beside the record of these readings: what becomes of that of invented ones, and what still is that of the file."""
        name = self.written_hopper.get("name", "Hopper 1")
        opened = next((e for e in self.opened.get("readings", []) if e.get("hopper") == name), {})
        entry = self.entry
        if not entry:
            return "The first reading sets it to today."
        if _record(entry) in _invented():
            return "Of the invented readings: the first thing you change here makes it today and empties name and note."
        if entry.get("date") == _today() and opened and _record(opened) in _invented():
            return (
                "Set to today, with name and note emptied, when you changed the invented readings. Undo takes it back."
            )
        if _record(entry) == _record(opened) and entry != opened:
            return (
                "Date, name and note are still those of the file that was opened: change them where you have read anew."
            )
        return "Such as 2026-11-25. Its month tells the air of the hall where that was not read."

    # --- the present dryer

    @property
    def adoptable(self) -> bool:
        """Is there a reading that can take the place of an input of the present dryer?"""
        return self.result is not None and not self.stale and can_take_over(self.result.balance)

    def _trusted(self) -> Balance:
        """The balance of what may be taken over: without readings that are to be checked first."""
        assert self.result is not None
        doubted = [doubt.name for doubt in self.result.doubts]
        if not doubted:
            return self.result.balance
        return balance(self.case, undoubted(self.result.balance.found.readings, doubted))

    def _waits_with_a_temperature(self, trusted: Balance) -> list[str]:
        """What else is not taken over where a temperature is in doubt, in a sentence; nothing where nothing is."""
        assert self.result is not None
        read, rest = self.result.balance.found.readings, trusted.found.readings
        names = {doubt.name for doubt in self.result.doubts}
        waits = [QUANTITIES[n].label.lower() for n in read.taken() if getattr(rest, n) is None and n not in names]
        hot = any(name.endswith("_temperature") for name in names)
        return [f"With it waits what rests on it: {joined(waits)}."] if hot and waits else []

    def adopt(self) -> None:
        """Let the present dryer have what was read of it; that can be undone."""
        if self.result is None or self.stale:
            return
        try:
            trusted = self._trusted()
            case = as_baseline(self.case, trusted)
            taken = replaced_inputs(trusted, case, self.system)
            document = dict(case.document)
            if "readings" in self.document:  # with what cannot be used yet
                document["readings"] = self.document["readings"]
            nothing = document == self.document
            counted = delivered_dew_point(trusted) is not None
            no_input = trusted.found.readings.dew_point is not None and not counted
            more = [*desiccant_stays(trusted, self.system), *([_DEW_POINT] if no_input else [])]
            more += wall_not_counted(trusted.found, self.system)
            more += moisture_not_counted(self.result.balance.found, self.result.pellets)
            left_out = joined([label(doubt.name).lower() for doubt in self.result.doubts])
            counts = joined([label(name).lower() for name in sorted(doubtful(self.result))])
            why_left_out = []
            out, kept = kept_out_names(trusted), kept_out_words(trusted, case, self.system)
            if left_out:
                why_left_out = [f"Not taken over before it is checked: {left_out}.", *to_check(self.result)]
                why_left_out += self._waits_with_a_temperature(trusted)
            self._put(document)
        except EnergyError as error:
            self.notice = str(error)
        else:
            beside = "" if self.stale else f" There {model_beside(self.result.balance, self.system, counts)}"
            if nothing:
                why = "Nothing is taken over: what of these readings is an input of the dryer stands there already."
                if left_out:
                    why = why.replace("these readings", "the other readings")
                    why = " ".join([*more, *why_left_out, why])
                self.notice = f"{' '.join([*kept, why])}{beside}"
                return
            which, but = " and are not in doubt" if left_out else "", f", but for {out}" if out else ""
            apart = [f"{left_out} (as in the case until checked)"] if left_out else []
            apart += [*filter(None, [out, _NOT_EXPECTED if counted else ""])]
            but_for = f", but for {' and for '.join(apart)}" if apart else ""
            self.notice = (
                " ".join(
                    [f"The present dryer has the inputs that were read{which}{but}. {taken}.", *kept, *why_left_out]
                )
                + f" Every view counts with what was taken over, and what the model expects here is now that of the dryer as it was read"
                f"{but_for}.{beside} " + " ".join([*more, "Undo takes it back."])
            )


_NOT_EXPECTED = "the dew point, which stays the model's"
_DEW_POINT = "The dew point that was read is no input of this dryer: the comparison and its check of drying go on with that of the model."


def _usable(document: dict[str, Any]) -> tuple[dict[str, Any], tuple[Problem, ...]]:
    """A document without the readings that cannot be used, and why, by their path; the same one where all can be."""
    entries, left = [], list[Problem]()
    shown = shown_unit("temperature", "us" if document.get("case", {}).get("units") == "us" else "si")
    for place, written_entry in enumerate(lists.rows(document, "readings")):
        kept, why = usable(written_entry, shown)
        entries.append(kept)
        left += [Problem(f"readings[{place + 1}].{name}", message) for name, message in why.items()]
    return ({**document, "readings": entries} if left else document), tuple(left)


def _unit_behind(text: str) -> str:
    """What stands behind a number; empty where only a number is written."""
    found = _NUMBER.match(text)
    return "" if found is None else text[found.end() :].strip()


def _today() -> str:
    return datetime.date.today().isoformat()


def _record(entry: Mapping[str, Any]) -> tuple[str, ...]:
    return tuple(str(entry.get(name, "")) for name in RECORD)


@cache
def _invented() -> frozenset[tuple[str, ...]]:
    """Day, reader and note of every example's readings."""
    documents = [read_document(example_text(name), name) for name in EXAMPLES]
    return frozenset(_record(entry) for document in documents for entry in document.get("readings", []))


def in_words(message: str) -> str:
    """A message with the names of readings as they stand on the page; labels that stand there already and kinds are left."""
    labels = {quantity.label for quantity in QUANTITIES.values()}
    found = sorted([*labels, *QUANTITIES], key=len, reverse=True)
    pattern = rf"(?<!is not a )\b(?:{'|'.join(map(re.escape, found))})\b"
    return re.sub(pattern, lambda m: m[0] if m[0] in labels else f"“{QUANTITIES[m[0]].label}”", message)
