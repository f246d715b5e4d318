"""The pieces that a panel of inputs is put together from: headings, buttons, sections that fold out, lists of entries."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from typing import Any

from pydantic import BaseModel

from dashboards import lists
from dashboards.entries import Stored, fields
from dashboards.form import Form, Part
from dashboards.state import State
from dashboards.upload import LIMIT, Take, taken
from energy.study.paths import written


def words(identity: str, text: str, look: str = "hint") -> Part:
    """A heading or a sentence between the fields."""
    return {"id": identity, "kind": "words", "as": look, "label": text}


def button(identity: str, label: str, press: Callable[[], None], *, name: str = "", disabled: bool = False) -> Part:
    """A button; its name says what it is about where the label alone does not."""
    return {
        "id": identity,
        "kind": "button",
        "label": label,
        "name": name or label,
        "disabled": disabled,
        "acts": {"press": lambda _: press()},
    }


def group(identity: str, parts: Iterable[Part], *, label: str = "", look: str = "") -> Part:
    """Parts that belong together, such as one entry of a list."""
    return {"id": identity, "kind": "group", "as": look, "label": label, "parts": list(parts)}


class Panel:
    """A form on a state, with the sections that are folded out."""

    def __init__(self, state: State, build: Callable[[], list[Part]]) -> None:
        self.state, self._build = state, build
        self._open: dict[str, bool] = {}
        self._wrong: dict[str, str] = {}
        self.lists: dict[str, list[tuple[str, str]]] = {}
        """Options that several choices of the form share, by name."""
        self.form = Form(lambda text: setattr(state, "notice", text))

    def refresh(self) -> None:
        """Draw the state."""
        parts = self._build()
        self.form.show(parts, lists.lengths(self.state.document), self.lists)

    def labels(self) -> dict[str, str]:
        """Of the fields shown, by the path that problems print; those of shifts are too short to tell which shift."""
        return {
            self.state.printed(part["id"]): part.get("more", {}).get("of") or part["label"]
            for part in self.form.walk()
            if part["kind"] in ("field", "several") and not part["id"].startswith("calendar.shifts[")
        }

    def fold(
        self,
        identity: str,
        title: str,
        build: Callable[[], list[Part]],
        *,
        under: Iterable[str] = (),
        said: str = "",
        level: int = 1,
    ) -> Part:
        """A section that folds out; it is built when it is open."""
        is_open = self._open.get(identity, False)
        wrong = self.state.problems_under(*under)
        return {
            "id": identity,
            "kind": "fold",
            "level": level,
            "title": title,
            "state": said,
            "problem": f"{wrong} problem{'s' if wrong > 1 else ''}" if wrong else "",
            "open": is_open,
            "parts": build() if is_open else [],
            "acts": {"open": lambda text: self.unfold(identity, text == "yes")},
        }

    def file(self, identity: str, label: str, take: Take, *, accept: str, hint: str, name: str = "") -> Part:
        """A button that takes one file; what was wrong with the last one is told beside it until the next."""

        def tried(named: str, data: bytes) -> str:
            self._wrong[identity] = taken(named, data, take)
            self.refresh()
            return ""

        problem = self._wrong.get(identity, "")
        part: Part = {"id": identity, "kind": "file", "label": label, "name": name or label, "accept": accept}
        return {**part, "limit": LIMIT, "hint": hint, "problem": problem, "takes": tried}

    def unfold(self, identity: str, is_open: bool = True) -> None:
        """Open or close a section."""
        self._open[identity] = is_open
        self.refresh()

    def section(
        self,
        key: str,
        title: str,
        model: type[BaseModel],
        compared: Any,
        stored: Stored | None = None,
        *,
        but: Iterable[str] = (),
        acts: Mapping[str, Callable[[str], None]] | None = None,
    ) -> Part:
        """A part of the case that need not be there; `acts` takes what is entered into some of its fields."""
        state = self.state
        there = written(state.document, key) is not None

        def build() -> list[Part]:
            out = button(
                f"{key}:out", "Leave this section out", lambda: state.set({key: None}), name=f"Leave out: {title}"
            )
            said = [] if there else [words(f"{key}:none", "Not counted now; a value typed in here counts it in.")]
            wrong = state.problem_of(key)
            parts = fields(state, key, model, compared=compared, stored=stored, but=but)
            for part in parts:
                if act := (acts or {}).get(part["id"]):
                    part["acts"] = {**part["acts"], "value": act}
            return [
                *said,
                *([words(f"{key}:wrong", wrong, "problem")] if wrong else []),
                *parts,
                *([group(f"{key}:buttons", [out], look="buttons")] if there else []),
            ]

        return self.fold(key, title, build, under=[key], said="" if there else "left out")

    def entries_of(
        self,
        path: str,
        model: type[BaseModel],
        what: str,
        add: Callable[[], Any],
        remove: Callable[[int], Any],
        *,
        compared: Any = (),
    ) -> list[Part]:
        """A list of small tables: its entries with all their fields, each with a button to take it out, and one to add.

        What is wrong with all of them together stands below them.
        """
        parts = []
        count = len(lists.rows(self.state.document, path))
        for i in range(count):
            place = f"{path}[{i + 1}]"
            row = fields(self.state, place, model, compared=compared[i] if i < len(compared) else None)
            name = f"{what} {i + 1}"
            gone = button(f"{place}:remove", "Remove", lambda i=i: remove(i), name=f"Remove {name}")  # type: ignore[misc]
            parts.append(group(place, [*row, gone], label=name, look="entry"))
        more = button(f"{path}:add", f"Add a {what}", lambda: self.then(add, f"{path}[{count + 1}]"))
        wrong = self.state.problem_of(path)
        said = [words(f"{path}:wrong", wrong, "problem")] if wrong else []
        return [*parts, *said, group(f"{path}:buttons", [more], look="buttons")]

    def portables(self, where: str, within: str = "") -> list[Part]:
        """What is wrong with the number of portable dryers, with a button that mends it; nothing where it is right."""
        state, parts = self.state, []
        for path, (name, _, wanted) in lists.fit_portables(state.document).items():
            wrong = state.problem_at(path)
            if wrong and path.startswith(within):
                mend = button(
                    f"{where}:{path}:mend",
                    f"Take {wanted} portable dryers",
                    lambda path=path, wanted=wanted: state.set({path: wanted}),  # type: ignore[misc]
                    name=f"Take {wanted} portable dryers in {name}",
                )
                said = [] if within else [words(f"{where}:{path}:wrong", f"{name}: {wrong}.", "problem")]
                parts += [*said, group(f"{where}:{path}:buttons", [mend], look="buttons")]
        return parts

    def then(self, act: Callable[[], Any], focus: str) -> None:
        """Do something and put the cursor where it goes on."""
        act()
        self.form.focus(focus)
