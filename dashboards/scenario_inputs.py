"""Scenarios in the Compare view: named changes that belong together, typed in as a table."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from dashboards import lists, scenarios
from dashboards.form import Part
from dashboards.input_names import input_names
from dashboards.panel import Panel, button, group, words
from energy.reports.print_signs import pretty
from energy.study.paths import walk, written
from energy.units import Quantity

LIST = "inputs"
"""The list of inputs that every change is chosen from, by its name in the form."""
_TARIFFS = {"tariffs.electricity": "Electricity tariff, or one price", "tariffs.gas": "Gas tariff, or one price"}


class ScenarioInputs:
    """Part of the panel for scenarios."""

    def __init__(self, panel: Panel) -> None:
        self._panel, self.state = panel, panel.state

    def part(self) -> Part:
        """All scenarios, folded."""
        rows = lists.rows(self.state.document, "scenarios")
        return self._panel.fold(
            "scenarios", "Scenarios", lambda: self._inside(rows), under=["scenarios"], said=str(len(rows) or "none")
        )

    def _inside(self, rows: list[lists.Row]) -> list[Part]:
        state = self.state
        found = {path: (q, float(value)) for path, q, value in walk(state.case.model) if value is not None}
        names = input_names({path: quantity for path, (quantity, _) in found.items()}, state.case.model)
        known = [(name, path) for path, name in _TARIFFS.items() if written(state.document, path) is not None]
        known += sorted(names)
        given = [path for i in range(len(rows)) for path in scenarios.changes_of(state.document, i)]
        others = [(path, path) for path in dict.fromkeys(given) if path not in dict(map(reversed, known))]  # type: ignore[arg-type]
        self._panel.lists[LIST] = [*known, *others]
        place = len(rows) + 1
        add = button(
            "scenarios:add",
            "Add a scenario",
            lambda: self._panel.then(lambda: state.set(scenarios.add(state.document)), f"scenarios[{place}].name"),
            disabled=len(rows) >= scenarios.MOST,
        )
        said = "Changes that belong together; what they come to stands under Scenarios beside the case as it is."
        return [
            words("scenarios:said", said),
            *(self._scenario(i, row, found) for i, row in enumerate(rows)),
            group("scenarios:buttons", [add], look="buttons"),
        ]

    def _scenario(self, place: int, row: lists.Row, found: Mapping[str, tuple[Quantity, float]]) -> Part:
        state, path, name = self.state, f"scenarios[{place + 1}]", lists.name_of(row)
        changes = scenarios.changes_of(state.document, place)
        title: Part = {
            "id": f"{path}.name",
            "kind": "field",
            "as": "text",
            "label": "Name of the scenario",
            "value": name,
            "problem": state.problem_at(f"{path}.name"),
            "acts": {"value": lambda text: state.set({f"{path}.name": text})},
        }
        wrong = state.outcomes[place].problem if place < len(state.outcomes) else ""
        free = next((p for p in found if p not in changes), None)

        def add() -> None:
            if free is not None:
                value = self._text(free, *found[free])
                here = f"{path}.changes:{len(changes) + 1}"
                self._panel.then(lambda: state.set(scenarios.put(state.document, place, free, value)), here)

        full = free is None or len(changes) >= scenarios.MOST_CHANGES
        buttons = [
            button(f"{path}:add", "Add a change", add, name=f"Add a change to {name}", disabled=full),
            button(
                f"{path}:remove",
                "Remove the scenario",
                lambda: self._panel.then(
                    lambda: state.set(lists.remove_row(state.document, "scenarios", place)), "scenarios:add"
                ),
                name=f"Remove {name}",
            ),
        ]
        return group(
            path,
            [
                title,
                *(self._change(place, i, key, raw, found) for i, (key, raw) in enumerate(changes.items())),
                *([words(f"{path}:wrong", wrong, "problem")] if wrong else []),
                group(f"{path}:buttons", buttons, look="buttons"),
            ],
            label=name,
            look="entry",
        )

    def _change(
        self, place: int, number: int, path: str, raw: Any, found: Mapping[str, tuple[Quantity, float]]
    ) -> Part:
        """One input with the value that it gets."""
        state, here = self.state, f"scenarios[{place + 1}].changes:{number + 1}"
        quantity, now = found.get(path, (None, 0.0))

        def set_value(text: str) -> None:
            if text:
                kind = "price per energy" if quantity is None else quantity.kind
                unit = "" if quantity is None else state.unit_of(quantity)
                typed = state.with_unit(text, kind, unit) if quantity is not None or path in _TARIFFS else text
                state.set(scenarios.put(state.document, place, path, typed))
            else:
                self._panel.refresh()

        def set_input(other: str) -> None:
            if other in found:
                value = self._text(other, *found[other])
            elif other in _TARIFFS:
                value = str(written(state.document, other) or "")
            else:
                return
            state.set(scenarios.put(state.document, place, other, value, instead_of=path))

        chooser: Part = {
            "id": here,
            "kind": "field",
            "as": "search",
            "label": f"Input {number + 1}",
            "list": LIST,
            "value": path,
            "acts": {"value": set_input},
        }
        value: Part = {
            "id": f"{here}:value",
            "kind": "field",
            "as": "text",
            "label": "becomes",
            "name": f"Value of input {number + 1}",
            "value": str(raw.get("value", "") if isinstance(raw, Mapping) else raw),
            "hint": f"Now {pretty(self._now(path, quantity, now))}.",
            "acts": {"value": set_value},
        }
        gone = button(
            f"{here}:remove",
            "Remove",
            lambda: state.set(scenarios.put(state.document, place, path, None)),
            name=f"Remove input {number + 1}",
        )
        return group(f"{here}:group", [chooser, value, gone], look="change")

    def _now(self, path: str, quantity: Quantity | None, value: float) -> str:
        if quantity is not None:
            return self._text(path, quantity, value)
        given = written(self.state.document, path)
        return "not said" if given is None else str(given)

    def _text(self, path: str, quantity: Quantity, value: float) -> str:
        """A value with its unit as one writes it in a case; four digits where it was converted."""
        unit = self.state.unit_of(quantity)
        return f"{self.state.text_at(path, quantity.kind, value, unit)} {unit}".strip()
