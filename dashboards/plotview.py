"""A plotly figure on the page, drawn by the one plotly.js that the page has loaded."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import anywidget
import traitlets


class PlotView(anywidget.AnyWidget):
    """Chart that follows the page: its colours, its width, its print.

    Parameters
    ----------
    figure : plotly.graph_objects.Figure or dict, optional
        Figure to draw at once; later ones are drawn with :meth:`show`.
    alt : str
        What the chart says, in words, for those who do not see it.
    """

    _esm = Path(__file__).parent / "static" / "plotview.js"

    figure = traitlets.Dict().tag(sync=True)
    alt = traitlets.Unicode().tag(sync=True)

    def __init__(self, figure: Any = None, alt: str = "", **options: Any) -> None:
        super().__init__(figure=_plain(figure) if figure is not None else {}, alt=alt, **options)

    def show(self, figure: Any, alt: str | None = None) -> None:
        """Replace the figure (plotly.graph_objects.Figure, or the same as a dict) and, when given, its words."""
        with self.hold_sync():
            self.figure = _plain(figure)
            if alt is not None:
                self.alt = alt


def _plain(figure: Any) -> dict[str, Any]:
    """JSON types only (arrays packed, NaN as null), without the 7 kB of colours that plotly adds to every figure."""
    from plotly.io import to_json

    plain: dict[str, Any] = json.loads(to_json(figure, validate=False))
    plain.get("layout", {}).pop("template", None)
    return plain
