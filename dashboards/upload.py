"""A button that takes one file of the visitor into this session; nothing of it stays on the server."""

from __future__ import annotations

import logging
from collections.abc import Callable
from pathlib import Path
from typing import Any

import anywidget
import traitlets

_log = logging.getLogger(__name__)
LIMIT = 10_000_000
"""Largest file that is taken. [byte]"""
Take = Callable[[str, bytes], str]
"""Gets a file's name, without folders, and its bytes; what is wrong with it, or an empty text."""


class Upload(anywidget.AnyWidget):
    """Upload button.

    Parameters
    ----------
    take : callable
        See `Take`.
    label : str
        Text on the button.
    accept : str
        Endings that the browser offers first, such as ".toml,.json".
    """

    _esm = Path(__file__).parent / "static" / "upload.js"

    label = traitlets.Unicode("Upload").tag(sync=True)
    accept = traitlets.Unicode("").tag(sync=True)
    problem = traitlets.Unicode("").tag(sync=True)
    limit = traitlets.Int(LIMIT).tag(sync=True)

    def __init__(self, take: Take, **options: Any) -> None:
        super().__init__(**options)
        self._take = take
        self.on_msg(self._arrived)

    def _arrived(self, _widget: Any, content: Any, buffers: Any) -> None:
        if not isinstance(content, dict) or not isinstance(content.get("name"), str) or len(buffers or ()) != 1:
            return
        self.problem = taken(content["name"], bytes(buffers[0]), self._take)


def taken(name: str, data: bytes, take: Take) -> str:
    """Hand a file that came from a visitor over; what is wrong with it, or an empty text."""
    name = Path(name.replace("\\", "/")).name[:100] or "file"
    if len(data) > LIMIT:  # the browser has looked already; whoever sends by other means is told here
        return f"{name} has {len(data) / 1e6:.1f} MB; at most {LIMIT / 1e6:g} MB are taken."
    try:
        return take(name, data)
    except Exception:  # the border to the visitor
        _log.exception("upload failed")
        return f"{name} could not be used: an error in the program."
