"""The options of the Compare view: added, copied, renamed, removed, each with its money, arrangement and dryer's inputs."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from dashboards import lists
from dashboards.entries import Stored, field, fields
from dashboards.form import Part
from dashboards.panel import Panel, button, group, words
from energy import dryers
from energy.sources import load
from energy.study.case import Case
from energy.study.form import entries
from energy.study.option_sections import OF_PRESENT, CapitalLine, Central, Machine, Option, Replacement
from energy.study.paths import written

TYPES = [(module.LABEL, kind) for kind, module in dryers.TYPES.items()]


RETROFIT = (
    "The present dryers with what is changed under “The dryer's inputs”. All else stays as it is: their air and desiccant, what they were "
    "built for, what their meter shows, upkeep and overhauls."
)


class OptionInputs:
    """Parts of the panel for the options."""

    def __init__(self, panel: Panel) -> None:
        self._panel, self.state = panel, panel.state
        self._kind = "desiccant-wheel"

    def parts(self) -> list[Part]:
        """Every option folded, and how to add one."""
        rows = lists.rows(self.state.document, "options")
        kind: Part = {
            "id": "options:kind",
            "kind": "field",
            "as": "choice",
            "label": "Dryer type of a new option",
            "options": TYPES,
            "value": self._kind,
            "acts": {"value": self._choose_kind},
        }
        return [
            *(self._option(i, row) for i, row in enumerate(rows)),
            kind,
            group(
                "options:buttons",
                [
                    button("options:add", "Add an option", self._add),
                    button("options:retrofit", "Change the present dryers", self._add_retrofit),
                ],
                look="buttons",
            ),
        ]

    def _choose_kind(self, kind: str) -> None:
        self._kind = dryers.find(kind).KIND

    def _add(self) -> None:
        place = len(lists.rows(self.state.document, "options")) + 1
        self._panel.unfold(f"options[{place}]")
        self._panel.then(
            lambda: self.state.set(lists.add_option(self.state.document, self._kind)), f"options[{place}].name"
        )

    def _add_retrofit(self) -> None:
        place = len(lists.rows(self.state.document, "options")) + 1
        self._panel.unfold(f"options[{place}]")
        self._panel.then(lambda: self.state.set(lists.add_retrofit(self.state.document)), f"options[{place}].name")

    def _option(self, place: int, row: lists.Row) -> Part:
        path = f"options[{place + 1}]"
        return self._panel.fold(
            path,
            lists.name_of(row),
            lambda: self._inside(place, row),
            under=[path],
            said="present" if row.get("baseline") is True else "",
            level=2,
        )

    def _inside(self, place: int, row: lists.Row) -> list[Part]:
        state, path, found = self.state, f"options[{place + 1}]", entries(Option)
        name, arrangement = lists.name_of(row), row.get("arrangement")
        compared = next((o for o in state.case.model.options if o.name == name), None)
        at_machine = arrangement in (None, "at the machine")
        built = [] if arrangement == "central" else ["built_for"]
        if at_machine:
            built += _own_hopper(row)
        if row.get("baseline") is True:
            built += _read_there(row)
        retrofit = row.get("retrofit") is True
        what = (
            [words(f"{path}:retrofit", RETROFIT, "hint")]
            if retrofit
            else [
                self._type(path, row),
                field(
                    state,
                    f"{path}.arrangement",
                    found["arrangement"],
                    compared=compared,
                    act=lambda text: state.set(lists.arrange(state.document, place, text)),
                ),
                *fields(
                    state,
                    path,
                    Option,
                    compared=compared,
                    only=[*(["units"] if arrangement == "portable" else []), *built],
                ),
                *self._panel.portables("option", f"{path}."),
            ]
        )
        return [
            field(state, f"{path}.name", found["name"], act=lambda text: self._rename(place, text)),
            *what,
            words(f"{path}:money", "Money", "subtitle"),
            *self._capital(path, compared),
            *fields(
                state,
                path,
                Option,
                compared=compared,
                stored=load("plant"),
                only=("capital_for", "capital_factor", "incentive"),
            ),
            field(
                state,
                f"{path}.maintenance",
                found["maintenance"],
                compared=compared,
                hint=_of_upkeep(row),
            ),
            *fields(state, path, Option, compared=compared, only=["life"]),
            words(f"{path}:again", "Bought again within the study", "subtitle"),
            *self._panel.entries_of(
                f"{path}.replacements",
                Replacement,
                "replacement",
                lambda: state.set(lists.add_row(state.document, f"{path}.replacements", self._replacement())),
                lambda i: state.set(lists.remove_row(state.document, f"{path}.replacements", i)),
                compared=getattr(compared, "replacements", ()),
            ),
            self._inputs(path, row, compared),
            *([self._central(path, compared)] if arrangement == "central" else []),
            *([] if retrofit and not row.get("machines") else [self._machines(path, compared, at_machine)]),
            group(f"{path}:buttons", self._buttons(place, row), look="buttons"),
        ]

    def _buttons(self, place: int, row: lists.Row) -> list[Part]:
        state, path, name = self.state, f"options[{place + 1}]", lists.name_of(row)
        present = row.get("baseline") is True

        def mark() -> None:
            changes = lists.mark_baseline(state.document, place)
            spent = _spent(state.case, name) if f"{path}.capital" in changes else ""
            state.set(changes)
            state.notice = " ".join(filter(None, (spent, state.notice)))

        def double() -> None:
            self._panel.unfold(f"options[{place + 2}]")
            self._panel.then(
                lambda: state.set(lists.copy_named(state.document, "options", place)), f"options[{place + 2}].name"
            )

        def remove() -> None:
            self._panel.unfold(path, False)
            self._panel.then(lambda: state.set(lists.remove_option(state.document, place)), "options:kind")

        return [
            button(
                *(f"{path}:mark", "Is the present one", mark),
                name=f"{name} is the present one",
                disabled=present or row.get("retrofit") is True,
            ),
            button(f"{path}:copy", "Copy", double, name=f"Copy {name}"),
            button(f"{path}:remove", "Remove", remove, name=f"Remove {name}", disabled=present),
        ]

    def _rename(self, place: int, text: str) -> None:
        state = self.state
        before = lists.name_of(lists.rows(state.document, "options")[place])
        chosen = state.chosen == before
        state.set(lists.rename_option(state.document, place, text))
        if chosen and text in {o.name for o in state.comparison.options}:
            state.chosen = text

    def _type(self, path: str, row: lists.Row) -> Part:
        state, kind = self.state, str(row.get("type", ""))
        part = field(
            state,
            f"{path}.type",
            entries(Option)["type"],
            act=lambda text: state.set(lists.set_type(state.document, path, text)),
        )
        unknown = [] if kind in dryers.TYPES else [(kind, kind)]
        return part | {"as": "choice", "options": [*TYPES, *unknown]}

    def _capital(self, path: str, compared: Any) -> list[Part]:
        """Lines, or one sum that can be split into lines."""
        state, here, currency = self.state, f"{path}.capital", self.state.case.currency
        given = written(state.document, here)

        def add() -> None:
            state.set(lists.add_capital_line(state.document, here, currency))

        if isinstance(given, list):
            return self._panel.entries_of(
                here,
                CapitalLine,
                "line of capital",
                add,
                lambda i: state.set(lists.remove_row(state.document, here, i)),
                compared=getattr(compared, "capital", ()),
            )
        amount = entries(CapitalLine)["amount"]
        one = field(state, here, amount, label="Capital", hint=_of_capital(written(state.document, path), given))
        split = button(f"{here}:add", "Add a line of capital", lambda: self._panel.then(add, f"{here}[1]"))
        return [one, group(f"{here}:buttons", [split], look="buttons")]

    def _replacement(self) -> lists.Row:
        return {"item": "Replacement", "every": 5, "amount": f"0 {self.state.case.currency}"}

    def _inputs(self, path: str, row: lists.Row, compared: Any) -> Part:
        """All inputs of the dryer type, with the catalogue's typical values."""
        kind, state = str(row.get("type", "")), self.state
        given = written(state.document, f"{path}.inputs")
        count = len(given) if isinstance(given, dict) else 0
        same = getattr(compared, "type", None) == kind

        def build() -> list[Part]:
            if kind not in dryers.TYPES:
                return []
            stored: Stored = load(f"dryers/{kind}")
            inside = compared.inputs if same else None
            return fields(state, f"{path}.inputs", dryers.TYPES[kind].Inputs, compared=inside, stored=stored)

        same_there = written(state.document, f"{path}.retrofit") is True
        said = (
            (f"{count} changed" if count else "none changed")
            if same_there
            else f"{count} own"
            if count
            else "all typical"
        )
        return self._panel.fold(
            f"{path}.inputs", "The dryer's inputs", build, under=[f"{path}.inputs"], said=said, level=3
        )

    def _central(self, path: str, compared: Any) -> Part:
        state, here = self.state, f"{path}.central"
        stored = {key: s for key in Central.model_fields if (s := _of_plant(key)) is not None}
        inside = getattr(compared, "central", None)
        return self._panel.fold(
            here,
            "Ducts and conveying",
            lambda: fields(state, here, Central, compared=inside, stored=stored),
            under=[here],
            level=3,
        )

    def _machines(self, path: str, compared: Any, at_machine: bool) -> Part:
        """Dryers at single hoppers that differ from the option's own, or stand beside what serves the others."""
        state, here = self.state, f"{path}.machines"
        rows = lists.rows(state.document, here)
        hoppers = [lists.name_of(row) for row in lists.rows(state.document, "hoppers")]
        free = [name for name in hoppers if name not in {row.get("hopper") for row in rows}]

        def build() -> list[Part]:
            present = written(state.document, f"{path}.baseline") is True
            parts = [self._machine(here, i, row, hoppers, compared, present) for i, row in enumerate(rows)]
            add = button(
                f"{here}:add",
                "Add a dryer that differs" if at_machine else "Add a dryer at a hopper of its own",
                lambda: self._panel.then(
                    lambda: state.set(lists.add_machine(state.document, path)), f"{here}[{len(rows) + 1}]"
                ),
                disabled=not free,
            )
            return [*parts, group(f"{here}:buttons", [add], look="buttons")]

        said = str(len(rows) or "none")
        title = "Hoppers whose dryer differs" if at_machine else "Hoppers with a dryer of their own beside it"
        return self._panel.fold(here, title, build, under=[here], said=said, level=3)

    def _machine(self, here: str, place: int, row: lists.Row, hoppers: list[str], compared: Any, present: bool) -> Part:
        state, path = self.state, f"{here}[{place + 1}]"
        found, name = entries(Machine), str(row.get("hopper", ""))
        inside = next((m for m in getattr(compared, "machines", ()) if m.hopper == name), None)
        hopper = field(state, f"{path}.hopper", found["hopper"])
        only = ["built_for", *_own_hopper(row), *(_read_there(row) if present else [])]
        gone = button(
            f"{path}:remove",
            "Remove",
            lambda: self._panel.then(lambda: state.set(lists.remove_row(state.document, here, place)), f"{here}:add"),
            name=f"Remove the dryer of {name}",
        )
        return group(
            path,
            [
                hopper | {"as": "choice", "options": [(h, h) for h in dict.fromkeys([*hoppers, name])]},
                self._type(path, row),
                *fields(state, path, Machine, compared=inside, only=only),
                self._inputs(path, row, inside),
                group(f"{path}:buttons", [gone], look="buttons"),
            ],
            label=f"Dryer of {name}",
            look="entry",
        )


def _of_upkeep(row: lists.Row) -> str:
    """What stands beside the upkeep of an option."""
    if "maintenance" in row:
        return ""
    return (
        "That of the present dryers."
        if row.get("retrofit") is True
        else "None given: counted as 0, and the answer says so."
    )


def _spent(case: Case, name: str) -> str:
    """What is said of the capital of an option that is the present one from now on."""
    total = next((float(o.capital_total) for o in case.model.options if o.name == name), 0.0)
    amount = f" of {total:,.0f} {case.currency}" if total else ""
    return (
        f"“{name}” is the present one now. Its capital{amount} is spent: it was taken out, with all that belongs to it. "
        "Undo brings it back."
    )


def _of_capital(row: Any, given: Any) -> str:
    """What stands beside the capital of an option."""
    if isinstance(row, Mapping) and row.get("baseline") is True:
        return (
            "None: it stands there." if given is None else "Counted as still to be spent; empty where it stands there."
        )
    return "" if given is not None else "None given: not ranked until it has one; 0 where it costs nothing."


def _own_hopper(row: lists.Row) -> list[str]:
    """The inputs for a hopper that is there already, and for its air, where resin dries in one."""
    kind = row.get("type")
    return ["hopper_volume", "airflow"] if kind in dryers.TYPES and dryers.TYPES[kind].Inputs.DRIES_IN_HOPPER else []


def _read_there(row: lists.Row) -> list[str]:
    """The inputs for what was read at a present dryer; a dew point where air made dry is what dries."""
    kind = row.get("type")
    dry = kind in dryers.TYPES and dryers.TYPES[kind].Inputs.DRIES_AIR
    return [key for key in OF_PRESENT if dry or key != "delivered_dew_point"]


def _of_plant(key: str) -> Any:
    """The typical value of a key of a central system."""
    return load("plant").get(key) or load("plant").get(f"central_{key}")
