"""Inputs of a request that are words: a line, a text, a list with one entry per line, a choice."""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping, Sequence
from typing import Any

import ipywidgets as w

from dashboards.fields import Field
from dashboards.markup import escape
from dashboards.state import State
from energy.study.paths import written
from energy.units.days import iso_day

MOST = 20_000
"""Characters taken from one field; the case's own limits are tighter and are told in words."""


class Words(Field):
    """A text of the document; left empty, it is not stated."""

    def __init__(self, state: State, path: str, label: str, hint: str = "", *, long: bool = False) -> None:
        self._state, self.path, self.label, self._filling = state, path, label, False
        control = w.Textarea(continuous_update=False, rows=3) if long else w.Text(continuous_update=False)
        super().__init__(control, hint)
        control.description = label
        self.refresh()
        control.observe(self._typed, "value")

    def _typed(self, change: dict[str, Any]) -> None:
        if not self._filling:
            text = str(change["new"])[:MOST].strip()
            self._state.set({self.path: self._parsed(text) if text else None})

    def _parsed(self, text: str) -> Any:
        return text

    def _printed(self, value: Any) -> str:
        return str(value)

    def refresh(self) -> None:
        """Take over text and problem from the state."""
        value = written(self._state.document, self.path)
        self._filling = True
        self.control.value = "" if value is None else self._printed(value)
        self._filling = False
        self.tell(self.problem())

    def problem(self) -> str:
        """What is wrong with it now, in the reader's words; empty when nothing is."""
        return without_label(self._state.problem_at(self.path), self.label)


class Day(Words):
    """A date, which may have its day first, with points."""

    def _parsed(self, text: str) -> Any:
        return iso_day(text)


def without_label(problem: str, label: str) -> str:
    """A problem that is told beside its field or behind its name, not named twice."""
    return problem.removeprefix(f"{label}: ")


class OldText:
    """Beside a text that was written for another option: for which, and a button for who has read it again."""

    def __init__(self, label: str, confirm: Callable[[], None]) -> None:
        self._said = w.HTML()
        self.button = w.Button(description=f"{label}: still holds")
        self.button.on_click(lambda _: confirm())
        self.box = w.VBox([self._said, self.button])
        self.show("")

    def show(self, option: str) -> None:
        """Say for which option it was written; an empty name says nothing."""
        self._said.value = f'<p class="problem">Written for {escape(option)}: read it again.</p>' if option else ""
        self.box.layout.display = None if option else "none"


class Lines(Words):
    """A list of texts, one per line."""

    def __init__(self, state: State, path: str, label: str, hint: str = "One per line.") -> None:
        super().__init__(state, path, label, hint, long=True)

    def _parsed(self, text: str) -> Any:
        return [line.strip() for line in text.splitlines() if line.strip()]

    def _printed(self, value: Any) -> str:
        return "\n".join(str(entry) for entry in value) if isinstance(value, list) else str(value)


class Steps(Lines):
    """Steps of the work with their weeks."""

    def __init__(self, state: State, path: str, label: str) -> None:
        super().__init__(state, path, label, "One step per line, with its weeks behind a colon: Order to delivery: 14")

    def _parsed(self, text: str) -> Any:
        return [_step(line) for line in super()._parsed(text)]

    def _printed(self, value: Any) -> str:
        return "\n".join(_line(v) if isinstance(v, Mapping) else str(v) for v in value)

    def problem(self) -> str:
        """Which line lacks its weeks, before what the case says of the list."""
        found = super().problem()
        steps = written(self._state.document, self.path)
        for place, step in enumerate(steps if isinstance(steps, list) and found else (), start=1):
            if isinstance(step, Mapping) and not isinstance(step.get("weeks"), int | float):
                name, behind = str(step.get("step", ""))[:60], str(step.get("weeks", ""))[:60]
                told = f"'{behind}' is no number of weeks" if behind else "its weeks are missing"
                return f"Line {place}, “{name}”: {told}; write them behind a colon, such as {name}: 14."
        return found


def _line(step: Mapping[str, Any]) -> str:
    weeks = step.get("weeks", "")
    return f"{step.get('step', '')}: {f'{weeks:g}' if isinstance(weeks, float) else weeks}".removesuffix(": ")


def _step(line: str) -> dict[str, Any]:
    step, colon, weeks = line.rpartition(":")
    try:
        number = weeks.strip().removesuffix("weeks").removesuffix("week").strip()
        return {"step": step.strip(), "weeks": float(re.sub(r"^(\d+),(\d{1,2})$", r"\1.\2", number))}
    except ValueError:  # told by the case's own checks
        return {"step": step.strip() or line, "weeks": weeks.strip() if colon else ""}


class Whole(Words):
    """A whole number."""

    def _parsed(self, text: str) -> Any:
        try:
            return int(text)
        except ValueError:
            return text


class Choice(Field):
    """One of several names; the first stands for what is left out."""

    def __init__(
        self, state: State, path: str, label: str, names: Callable[[], Sequence[tuple[str, str]]], hint: str = ""
    ) -> None:
        self._state, self.path, self.label, self._names, self._filling = state, path, label, names, False
        super().__init__(w.Dropdown(description=label), hint)
        self.refresh()
        self.control.observe(self._chosen, "value")

    def _chosen(self, change: dict[str, Any]) -> None:
        if not self._filling and change["new"] is not None:
            self._state.set({self.path: change["new"] or None})

    def refresh(self) -> None:
        """Take over names, choice and problem from the state."""
        value = str(written(self._state.document, self.path) or "")
        self._filling = True
        names = list(self._names())
        self.control.options = names
        self.control.value = value if value in [name for _, name in names] else None
        self._filling = False
        self.tell(self._state.problem_at(self.path))
