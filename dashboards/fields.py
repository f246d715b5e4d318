"""One input on the page: label with unit, the control, a hint or what is wrong under it."""

from __future__ import annotations

import re
from html import escape

import ipywidgets as w


def card(*children: w.Widget) -> w.VBox:
    """A framed part of the page."""
    box = w.VBox(children)
    box.add_class("card")
    return box


def printed(unit: str) -> str:
    """A unit as people write it."""
    return re.sub(r"\b(m|ft)([23])", lambda m: m[1] + "²³"[int(m[2]) - 2], unit.replace("deg", "°"))


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
