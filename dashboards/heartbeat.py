"""Tells the visitor when the session behind the page has gone; Voilà itself says nothing."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import anywidget
import traitlets


class Heartbeat(anywidget.AnyWidget):
    """Answers the page's signs of life; three without an answer (9 to 12 s) bring up a banner."""

    present = traitlets.Bool(False)
    """Has a page shown itself? A kernel that is kept ready has none yet."""
    _esm = Path(__file__).parent / "static" / "heartbeat.js"

    def __init__(self, **options: Any) -> None:
        super().__init__(**options)
        self.on_msg(self._answer)

    def _answer(self, _widget: Any, content: Any, _buffers: Any) -> None:
        if content == "ping":
            self.present = True
            self.send("pong")
