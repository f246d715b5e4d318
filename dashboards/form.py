"""A tree of inputs drawn by the browser: fields, foldable sections, lists of things. What they mean is decided in Python."""

from __future__ import annotations

import logging
from collections.abc import Callable, Iterator, Mapping
from pathlib import Path
from typing import Any

import anywidget
import traitlets

from energy.errors import EnergyError
from energy.reports.print_signs import pretty
from energy.study.section import BASES

_log = logging.getLogger(__name__)
LONGEST = 400
"""Characters of one entry that are taken."""
LONGEST_PASTED = 4000
"""Of cells of a sheet."""
_SCRIPTS = [Path(__file__).parent / "static" / name for name in ("form_controls.js", "form_table.js", "form.js")]
_SCRIPT = "".join(script.read_text(encoding="utf-8") for script in _SCRIPTS)  # a widget is one module and imports none
Act = Callable[[str], None]
Part = dict[str, Any]
"""One piece of the tree as JSON. ``acts``: what is done with what the visitor enters, by the part of the field, and
``takes`` what is done with a file; both stay here."""


class Form(anywidget.AnyWidget):
    """Shows parts and does what belongs to the one a visitor has changed; anything else that comes in is dropped.

    Parameters
    ----------
    complain : callable
        Gets a sentence where an entry could not be taken.
    """

    _esm = _SCRIPT

    parts = traitlets.List().tag(sync=True)
    bases = traitlets.List(list(BASES)).tag(sync=True)
    """What a value may rest on."""
    lists = traitlets.Dict().tag(sync=True)
    """Options that several choices share, by the name that their parts give as ``list``."""
    shape = traitlets.Unicode().tag(sync=True)
    """Lengths of the lists shown: an entry made on other lists would fall on another thing and is dropped."""

    def __init__(self, complain: Callable[[str], None], **options: Any) -> None:
        super().__init__(**options)
        self._complain = complain
        self._acts: dict[tuple[str, str], Act] = {}
        self._takes: dict[str, Callable[[str, bytes], object]] = {}
        self._shown: list[Part] = []
        self._shape = ""  # not what a visitor may have put into the traits
        self.on_msg(self._take)

    def show(self, parts: list[Part], shape: str, lists: Mapping[str, list[tuple[str, str]]] | None = None) -> None:
        """Draw these parts in place of the former ones."""
        self._acts, self._takes = {}, {}
        self._shown, self._shape = [self._plain(part) for part in parts], shape
        with self.hold_sync():
            self.lists = {name: [list(option) for option in options] for name, options in (lists or {}).items()}
            self.shape, self.parts = shape, self._shown

    def _plain(self, part: Part) -> Part:
        for name, act in part.get("acts", {}).items():
            self._acts[part["id"], name] = act
        if "takes" in part:
            self._takes[part["id"]] = part["takes"]
        plain = {key: value for key, value in part.items() if key not in ("acts", "takes")}
        plain |= {key: pretty(plain[key]) for key in ("problem", "hint") if plain.get(key)}
        if "problems" in part:
            plain["problems"] = [pretty(text) for text in part["problems"]]
        if part["kind"] == "words" and part["as"] in ("problem", "hint"):
            plain["label"] = pretty(part["label"])
        if "parts" in part:
            plain["parts"] = [self._plain(inner) for inner in part["parts"]]
        return plain

    def walk(self) -> Iterator[Part]:
        """Every part shown, those inside others as well."""
        waiting = list(self._shown)
        while waiting:
            part = waiting.pop()
            yield part
            waiting += part.get("parts", ())

    def find(self, identity: str) -> Part:
        """The part of that id as it is shown.

        Raises
        ------
        KeyError
            There is none.
        """
        found = {part["id"]: part for part in self.walk()}
        return found[identity]

    def enter(self, identity: str, text: str, part: str = "value") -> None:
        """What the browser does when a visitor enters a text or presses a button."""
        self._take(None, {"id": identity, "part": part, "text": text, "shape": self._shape}, None)

    def focus(self, identity: str) -> None:
        """Put the cursor into a part."""
        self.send({"focus": identity})

    def upload(self, identity: str, name: str, data: bytes) -> None:
        """What the browser does when a visitor chooses a file."""
        self._take(None, {"id": identity, "part": "file", "text": name, "shape": self._shape}, [data])

    def _take(self, _widget: Any, content: Any, buffers: Any) -> None:
        if not isinstance(content, Mapping):
            return
        identity, part, text, shape = (content.get(key) for key in ("id", "part", "text", "shape"))
        if not all(isinstance(x, str) for x in (identity, part, text, shape)) or shape != self._shape:
            return
        if part == "file":
            take = self._takes.get(str(identity))
            if take is not None and len(buffers or ()) == 1:
                take(str(text), bytes(buffers[0]))
            return
        act = self._acts.get((str(identity), str(part)))
        if act is None:
            return
        longest = LONGEST_PASTED if part == "paste" else LONGEST
        if len(str(text)) > longest:
            self._complain(f"At most {longest:,} characters are taken.")
            return
        try:
            act(" ".join(str(text).split()))
        except EnergyError as error:
            self._complain(str(error))
        except Exception:  # the border to the visitor
            _log.exception("entry failed")
            self._complain("This entry could not be taken: an error in the program.")
