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
        Returns the file's bytes, or None where they follow with :meth:`hand_over` or :meth:`refuse`. An
        :class:`energy.errors.EnergyError` is shown beside the button in its own words, any other exception as one plain
        sentence.
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

    def __init__(
        self, make: Callable[[], bytes | None], name: str | Callable[[], str], mime: str, **options: Any
    ) -> None:
        super().__init__(**options)
        self._make, self._name, self._mime = make, name, mime
        self.on_msg(self._answer)

    def _answer(self, _widget: Any, content: Any, _buffers: Any) -> None:
        if content != "wanted":
            return
        try:
            data = self._make()
            if data is not None:
                self.hand_over(data)
        except EnergyError as error:
            self.refuse(str(error))
        except Exception:
            _log.exception("download failed")
            self.refuse("The file could not be made: an error in the program.")

    def hand_over(self, data: bytes) -> None:
        """Give the browser the file to save."""
        name = self._name() if callable(self._name) else self._name
        self.send({"kind": "file", "name": name, "mime": self._mime}, buffers=[data])

    def refuse(self, text: str) -> None:
        """Say beside the button why there is no file."""
        self.send({"kind": "problem", "text": text})
