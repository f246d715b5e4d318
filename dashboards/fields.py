"""One input on the page: label with unit, the control, a hint or what is wrong under it."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import ipywidgets as w

from dashboards.markup import escape
from dashboards.state import State
from energy.reports.print_signs import pretty


def card(*children: w.Widget) -> w.VBox:
    """A framed part of the page."""
    box = w.VBox(children)
    box.add_class("card")
    return box


class Field:
    """A control bound to one path of the document."""

    def __init__(self, control: w.Widget, hint: str = "") -> None:
        self.control, self.hint = control, hint
        self._note = w.HTML()
        self.box = w.VBox([control, self._note])
        self.box.add_class("field")
        self.tell("")

    def tell(self, problem: str) -> None:
        """Show what is wrong, or the hint when nothing is."""
        self._note.value = (
            f'<p class="problem" role="alert">{escape(problem)}</p>'
            if problem
            else f'<p class="hint">{escape(self.hint)}</p>'
        )


class Number(Field):
    """A quantity: a bare number is read in the unit shown, any other accepted unit may be typed behind it."""

    def __init__(
        self,
        state: State,
        path: str | Callable[[], str],
        kind: str,
        label: str,
        value: Callable[[], float],
        hint: str = "",
        unit: str = "",
    ) -> None:
        self._unit = unit
        self._path = path
        self._state, self._kind, self.label, self._value = state, kind, label, value
        self._filling = False
        super().__init__(w.Text(continuous_update=False), hint)
        self.refresh()
        self.control.observe(self._typed, "value")

    @property
    def path(self) -> str:
        """Of the value in the document; that of the chosen hopper where it is one of a hopper's."""
        return self._path if isinstance(self._path, str) else self._path()

    def _typed(self, change: dict[str, Any]) -> None:
        if self._filling:
            return
        text = str(change["new"]).strip()
        self._state.set({self.path: self._state.with_unit(text, self._kind, self._unit)})

    def refresh(self) -> None:
        """Take over value, unit and problem from the state."""
        unit = pretty(self._unit or self._state.unit(self._kind))
        self._filling = True
        self.control.description = f"{self.label} ({unit})" if unit else self.label
        self.control.value = self._state.text_at(self.path, self._kind, self._value(), self._unit)
        self._filling = False
        self.tell(self._state.problem_at(self.path))
