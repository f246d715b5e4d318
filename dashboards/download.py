"""A button whose file is made when it is pressed and saved by the browser; nothing is written on the server."""

from __future__ import annotations

import logging
from collections.abc import Callable
from pathlib import Path
from typing import Any

import anywidget
import traitlets

from energy.errors import EnergyError

_log = logging.getLogger(__name__)


class Download(anywidget.AnyWidget):
    """Download button.

    Parameters
    ----------
    make : callable
        Returns the file's bytes. An :class:`energy.errors.EnergyError` is shown beside the button in its own words,
        any other exception as one plain sentence.
    name : str or callable
        File name proposed to the browser, or a function that returns it when pressed.
    mime : str
        Media type, for instance ``"application/pdf"``.
    label : str
        Text on the button.
    """

    _esm = Path(__file__).parent / "static" / "download.js"

    label = traitlets.Unicode("Download").tag(sync=True)
    disabled = traitlets.Bool(False).tag(sync=True)

    def __init__(self, make: Callable[[], bytes], name: str | Callable[[], str], mime: str, **options: Any) -> None:
        super().__init__(**options)
        self._make, self._name, self._mime = make, name, mime
        self.on_msg(self._answer)

    def _answer(self, _widget: Any, content: Any, _buffers: Any) -> None:
        if content != "wanted":
            return
        try:
            data = self._make()
            name = self._name() if callable(self._name) else self._name
        except EnergyError as error:
            self.send({"kind": "problem", "text": str(error)})
        except Exception:
            _log.exception("download failed")
            self.send({"kind": "problem", "text": "The file could not be made: an error in the program."})
        else:
            self.send({"kind": "file", "name": name, "mime": self._mime}, buffers=[data])
