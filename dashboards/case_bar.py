"""What every view offers for its case: open, save, download, undo, go back; and the browser's memory of it."""

from __future__ import annotations

import logging
import os
from pathlib import Path
from typing import Any

import anywidget
import ipywidgets as w
import traitlets

from dashboards.case_state import CaseState
from dashboards.download import Download
from dashboards.launch import CASE_VARIABLE, case_mark
from dashboards.markup import escape
from dashboards.upload import Upload
from energy.errors import EnergyError

_log = logging.getLogger(__name__)


class Keeper(anywidget.AnyWidget):
    """The browser's storage behind a state: what it kept is taken up, what changes is kept."""

    _esm = Path(__file__).parent / "static" / "keeper.js"

    kept = traitlets.Unicode("{}").tag(sync=True)
    served = traitlets.Unicode("").tag(sync=True)
    file_mark = traitlets.Unicode("").tag(sync=True)
    """Of the case file as served, for the start page."""
    times = traitlets.Int(0).tag(sync=True)

    def __init__(self, state: CaseState, **options: Any) -> None:
        super().__init__(**options)
        self._state, self.served = state, state.served
        self.on_msg(self._found)
        state.observe(lambda _: self._keep(), "revision")

    def _keep(self) -> None:
        self.served, self.file_mark = self._state.served, case_mark(os.environ.get(CASE_VARIABLE))
        self.times += 1
        self.kept = self._state.kept()

    def _found(self, _widget: Any, content: Any, _buffers: Any) -> None:
        kept = content.get("kept") if isinstance(content, dict) else None
        if not isinstance(kept, str):
            return
        try:
            self._state.take_up(kept, elsewhere=content.get("elsewhere") is True)
        except Exception:  # the border to the visitor
            _log.exception("kept case failed")
            self._state.notice = "What this browser had kept could not be used: an error in the program."


class CaseBar:
    """Buttons for the case of a state, with what is to be said of it."""

    def __init__(self, state: CaseState) -> None:
        self._state = state
        self._warned: object = None
        self._notice = w.HTML()
        self._notice.add_class("live")
        self._undo = w.Button(description="Undo")
        self._reset = w.Button(description="Back to the case as opened")
        self._demo = w.Button(description="Demo case")
        self._save = w.Button(description="Save")
        self.download = Download(self._file, lambda: state.file, "application/toml", label="Download the case")
        upload = Upload(state.open_text, label="Open a case file", accept=".toml")
        self._undo.on_click(lambda _: state.undo())
        self._reset.on_click(lambda _: state.reset())
        self._demo.on_click(lambda _: self._show_demo())
        self._save.on_click(lambda _: self._write())
        buttons = w.HBox([upload, self.download, self._save, self._undo, self._reset, self._demo])
        buttons.add_class("buttons")
        self.box = w.VBox([buttons, self._notice, Keeper(state)])
        self.box.add_class("case-bar")
        state.observe(lambda _: self.refresh(), ("revision", "notice"))
        self.refresh()

    def _show_demo(self) -> None:
        """Open the demo case; where changes would go with it, only at a second click."""
        state = self._state
        if state.changed and self._warned is not state.document:
            self._warned = state.document
            state.notice = (
                "The demo case would take the place of your changes, and Undo would not bring them back. Download the case first, or "
                "click Demo case once more."
            )
            return
        state.open(None)

    def _write(self) -> None:
        try:
            self._state.save()
        except EnergyError as error:
            self._state.notice = str(error)

    def _file(self) -> bytes:
        """The case as a file. The button is not switched off while a change is worked out, or a click in that moment would be lost:
        the click is answered after the change."""
        if self._state.stale:
            raise EnergyError("The case has a value that cannot be used: mend it where it is marked, then download.")
        return self._state.to_take_home()

    def refresh(self) -> None:
        """Show which of the buttons can do something, and the notice."""
        state = self._state
        self._undo.disabled = not state.undoable
        self._undo.description = "Undo all changes" if state.undo_takes_all else "Undo"
        self._reset.disabled = not state.changed
        self._save.layout.display = None if state.saveable else "none"
        self._save.description = f"Save to {state.file}"
        self._save.disabled = state.stale or not state.changed
        self.download.disabled = state.stale
        self._notice.value = f'<p class="hint" role="status">{escape(state.notice)}</p>' if state.notice else ""
