"""The duty of the Compare view: one hopper in detail, its levels and its resin, and the list of all hoppers."""

from __future__ import annotations

from collections.abc import Mapping
from functools import lru_cache
from types import SimpleNamespace
from typing import Any

from dashboards import lists
from dashboards.entries import Stored, field, fields
from dashboards.form import Part
from dashboards.panel import Panel, button, group, words
from energy.resins.properties import resin_names
from energy.sources import load
from energy.study.form import entries
from energy.study.paths import changed
from energy.study.plant_sections import Hopper, Level, OwnResin

TYPICAL = "Typical values: follow the resin producer's drying sheet."
_OPEN = ("throughput", "drying_temperature", "residence_time")
_MORE = ("initial_moisture", "target_moisture", "resin_temperature", "running", "campaigns")
_HOPPERS_OWN = ("drying_temperature", "residence_time", "initial_moisture", "target_moisture")
"""Values of a resin that stand at the hopper."""


class DutyInputs:
    """Parts of the panel for the hoppers."""

    def __init__(self, panel: Panel) -> None:
        self._panel, self.state = panel, panel.state
        self._fitted: tuple[object, str] = (None, "")
        """A document as it was left by a change of the hoppers, and what was changed along with them, in words."""

    def parts(self) -> list[Part]:
        state, path = self.state, self.state.hopper_path
        document = state.document
        found = entries(Hopper)
        listed = lists.rows(document, "hoppers")
        resins = list(dict.fromkeys([*resin_names(), *(h.resin for h in state.case.model.hoppers)]))
        small = state.problem_at(self.built_for_path())
        duty = [
            field(state, f"{path}.{key}", found[key], compared=self._counted(), stored=state.resin.data)
            for key in _OPEN
        ]
        if small:
            duty[0]["problem"] = f"{state.comparison.baseline.name}, built for: {small}"
        resin = field(
            state,
            f"{path}.resin",
            found["resin"],
            act=state.set_resin,
            hint=f"{self._put_aside(state.hopper)} {TYPICAL}".strip(),
        )
        resin |= {"as": "choice", "options": [(name, name) for name in dict.fromkeys([*resins, resin["value"]])]}
        chooser: Part = {
            "id": "chosen-hopper",
            "kind": "field",
            "as": "choice",
            "label": "Hopper",
            "options": [(f"{lists.name_of(row)}: {_resin_of(row)}", str(i)) for i, row in enumerate(listed)],
            "value": str(state.hopper),
            "hint": "Duty and checks of one hopper are shown at a time.",
            "acts": {"value": self._choose_hopper},
        }
        return [
            *([chooser] if len(listed) > 1 else []),
            resin,
            *duty,
            self._panel.fold(
                "more-duty",
                "More on this hopper",
                self._more_duty,
                under=[f"{path}.{key}" for key in (*_MORE, "levels", "own_resin")],
            ),
            self._panel.fold("hoppers", "All hoppers", self._hoppers, under=["hoppers"], said=str(len(listed))),
            *self._panel.portables("duty"),
        ]

    def _change_hoppers(self, changes: lists.Changes) -> None:
        """Change the list of hoppers, and with it how many portable dryers they need."""
        state = self.state
        along = lists.fit_portables(changed(state.document, changes), state.document)
        state.set({**changes, **{path: wanted for path, (_, _, wanted) in along.items()}})
        said = "; ".join(
            f"{name} now has {wanted} portable dryer{'s' if wanted != 1 else ''}, not {now}"
            for name, now, wanted in along.values()
        )
        rest = ", for the hoppers that there are. Capital is as it was. Undo takes both back."
        self._fitted = (state.document, f"{said}{rest}" if said else "")
        self._panel.refresh()

    def _put_aside(self, place: int) -> str:
        """What was lost where the resin of this hopper was the last to be changed."""
        changed, said = self.state.put_aside
        return said if changed == place else ""

    def _choose_hopper(self, text: str) -> None:
        if text.isdecimal() and int(text) < len(self.state.case.model.hoppers):
            self.state.hopper = int(text)

    def built_for_path(self) -> str:
        """Of the present machine at the chosen hopper."""
        option, hopper = self.state.comparison.baseline.option, self.state.chosen_hopper
        place = f"options['{option.name}']"
        own = next((i for i, m in enumerate(option.machines) if m.hopper == hopper.name), None)
        return f"{place}.built_for" if own is None else f"{place}.machines[{own + 1}].built_for"

    def _more_duty(self) -> list[Part]:
        state, path = self.state, self.state.hopper_path
        hopper, document = state.chosen_hopper, state.document
        own: Part = {
            "id": f"{path}.own_resin",
            "kind": "field",
            "as": "truth",
            "label": "My own values of the resin",
            "value": "yes" if state.own_resin else "no",
            "hint": "Type in what the resin producer's sheet says.",
            "problem": "",
            "acts": {"value": lambda text: state.set_own_resin(text == "yes")},
        }
        values = (
            fields(
                state,
                f"{path}.own_resin",
                OwnResin,
                compared=state.resin,
                stored=_stored(state.resin.abbreviation),
                but=_HOPPERS_OWN,
            )
            if state.own_resin
            else []
        )
        return [
            *fields(state, path, Hopper, compared=self._counted(), stored=state.resin.data, only=_MORE),
            words("levels", "Levels of throughput", "subtitle"),
            *self._panel.entries_of(
                f"{path}.levels",
                Level,
                "level",
                lambda: state.set(lists.add_level(document, path)),
                lambda i: state.set(lists.remove_level(document, path, i)),
                compared=hopper.levels,
            ),
            own,
            *values,
        ]

    def _hoppers(self) -> list[Part]:
        state, document = self.state, self.state.document
        listed = lists.rows(document, "hoppers")
        found = entries(Hopper)
        parts = []
        for i, row in enumerate(listed):
            path, name = f"hoppers[{i + 1}]", lists.name_of(row)
            compared = next((h for h in state.case.model.hoppers if h.name == name), None)

            # What is the chosen hopper's stands above as well, so it needs another id here.
            resins = [(r, r) for r in dict.fromkeys([*resin_names(), str(row.get("resin", ""))])]
            cells = [
                field(
                    state,
                    f"{path}.name",
                    found["name"],
                    act=lambda text, i=i: state.set(lists.rename_hopper(document, i, text)),
                )
                | {"value": name, "hint": ""},
                field(state, f"{path}.resin", found["resin"], act=lambda text, i=i: state.set_resin(text, i))
                | {"as": "choice", "options": resins, "id": f"{path}.resin:list", "hint": self._put_aside(i)},
                field(state, f"{path}.throughput", found["throughput"], compared=compared)
                | {"id": f"{path}.throughput:list"},
            ]
            buttons = [
                button(
                    f"{path}:copy",
                    "Copy",
                    lambda i=i: self._panel.then(  # type: ignore[misc]
                        lambda: self._change_hoppers(lists.copy_named(document, "hoppers", i)), f"hoppers[{i + 2}].name"
                    ),
                    name=f"Copy {name}",
                ),
                button(
                    f"{path}:remove",
                    "Remove",
                    lambda i=i: self._panel.then(  # type: ignore[misc]
                        lambda: self._change_hoppers(lists.remove_hopper(document, i)), "hoppers:add"
                    ),
                    name=f"Remove {name}",
                    disabled=len(listed) == 1,
                ),
            ]
            parts.append(
                group(path, [*cells, group(f"{path}:buttons", buttons, look="buttons")], label=name, look="entry")
            )
        add = button(
            "hoppers:add",
            "Add a hopper",
            lambda: self._panel.then(
                lambda: self._change_hoppers(lists.add_hopper(document)), f"hoppers[{len(listed) + 1}].name"
            ),
        )
        left_as, said = self._fitted
        note = [words("hoppers:fitted", said)] if said and left_as is document else []
        return [*parts, *note, group("hoppers:buttons", [add], look="buttons")]

    def _counted(self) -> Any:
        """What the chosen hopper is dried with: its own values, else those of its resin."""
        hopper, resin = self.state.chosen_hopper, self.state.resin
        own = {key: getattr(hopper, key) for key in Hopper.model_fields}
        return SimpleNamespace(**{k: getattr(resin, k, None) if v is None else v for k, v in own.items()})


@lru_cache(maxsize=32)
def _stored(name: str) -> Stored:
    return load(f"resins/{name}") if name in resin_names() else {}


def _resin_of(row: lists.Row) -> str:
    """What a hopper's resin is called: by the name of its own values where it has one."""
    own = row.get("own_resin")
    name = own.get("name") if isinstance(own, Mapping) else None
    return str(name or row.get("resin", ""))
