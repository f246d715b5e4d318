"""One input of the case at a time, with its range and basis: the register of assumptions, editable."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

import ipywidgets as w

from dashboards.fields import Field
from dashboards.input_names import input_names
from dashboards.state import State
from energy.reports.print_signs import pretty
from energy.study.paths import typical_of, walk, written
from energy.study.section import BASES
from energy.units import Quantity

_PARTS = (("value", "Value"), ("low", "Low"), ("high", "High"))


class Assumption:
    """Chooser of an input, and its value, low, high, basis and note."""

    def __init__(self, state: State) -> None:
        self.state, self._filling = state, False
        self._inputs: dict[str, tuple[Quantity, float]] = {}
        self._names: list[tuple[str, str]] = []
        self.search = w.Text(description="Search the assumptions", placeholder="for instance: wheel leak")
        self._found = Field(self.search)
        self.chooser = w.Dropdown(description="Assumption")
        self._field = Field(self.chooser, "Every quantity of the case; those that are assumed come first.")
        self.parts = {key: w.Text(continuous_update=False, description=label) for key, label in _PARTS}
        self.basis = w.Dropdown(description="Basis", options=[("not said", ""), *((b, b) for b in BASES)])
        self.note = w.Text(continuous_update=False, description="Where it comes from")
        self._problem = Field(self.note)
        self.box = w.VBox(
            [
                self._found.box,
                self._field.box,
                *(Field(part).box for part in self.parts.values()),
                Field(self.basis).box,
                self._problem.box,
            ]
        )
        self.box.add_class("fields")
        self.refresh()
        self.search.observe(lambda _: self._offer(self.path), "value")
        self.chooser.observe(lambda _: self._show(), "value")
        for control in (*self.parts.values(), self.basis, self.note):
            control.observe(lambda _: self._typed(), "value")

    @property
    def path(self) -> str:
        return self.chooser.value or ""

    def _typed(self) -> None:
        if self._filling or not self.path:
            return
        quantity, _ = self._inputs[self.path]
        given = {
            key: self.state.with_unit(part.value.strip()[:100], quantity.kind, self.state.unit_of(quantity))
            for key, part in self.parts.items()
            if part.value.strip()
        }
        if self.basis.value:
            given["basis"] = self.basis.value
        if self.note.value.strip():
            given["note"] = self.note.value.strip()[:1000]
        self.state.set({self.path: given or None})

    def refresh(self) -> None:
        """Take over the inputs of the case."""
        case, chosen = self.state.case, self.path
        self._inputs = {path: (q, float(value)) for path, q, value in walk(case.model) if value is not None}
        assumed = {path: _assumed(written(case.document, path)) for path in self._inputs}
        ordered = sorted(self._inputs, key=lambda path: not assumed[path])
        self._names = input_names({path: self._inputs[path][0] for path in ordered}, self.state.case.model)
        self._offer(chosen if chosen in self._inputs else ordered[0])
        self._show()

    def _offer(self, chosen: str) -> None:
        """Put what holds every word of the search into the list; what is chosen stays in it, at the top where it does not fit."""
        wanted = self.search.value[:100].casefold().split()
        fits = [pair for pair in self._names if all(word in pair[0].casefold() for word in wanted)]
        kept = [pair for pair in self._names if pair[1] == chosen and pair not in fits]
        self._found.hint = f"{len(fits) or 'None'} of {len(self._names)} in the list." if wanted else ""
        self._found.tell("")
        self._filling = True
        self.chooser.options = [*kept, *fits]
        self.chooser.value = chosen
        self._filling = False

    def _show(self) -> None:
        if self._filling or not self.path:
            return
        quantity, value = self._inputs[self.path]
        raw = written(self.state.document, self.path)
        table: dict[str, Any] = dict(raw) if isinstance(raw, Mapping) else {} if raw is None else {"value": raw}
        unit = self.state.unit_of(quantity)
        self._filling = True
        for key, part in self.parts.items():
            part.value = str(table.get(key, ""))
        if "value" not in table:
            self.parts["value"].value = self.state.text_at(self.path, quantity.kind, value, unit)
        self.parts["value"].description = f"Value ({pretty(unit)})" if unit else "Value"
        self.basis.value = table.get("basis", "") if table.get("basis", "") in BASES else ""
        self.note.value = str(table.get("note", ""))
        self._filling = False
        typical = typical_of(self.state.case.model, self.path)
        self._field.hint = (
            ""
            if raw is not None
            else "Not in the case: a default."
            if typical is None
            else f"Not in the case: typical, {typical.basis}. {typical.note or typical.citation()}"
        )
        self._field.tell("")
        self._problem.tell(self.state.problem_at(self.path))


def _assumed(raw: Any) -> bool:
    return raw is None or (isinstance(raw, Mapping) and raw.get("basis") in ("assumption", "common practice"))
