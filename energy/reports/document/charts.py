"""Charts of a document as SVG. matplotlib is imported only here and only when a chart is drawn.

Source
------
Colours: Okabe, M., Ito, K. (2008): Color Universal Design. Patterns, dashes and labels say the same without colour.
"""

from __future__ import annotations

import io
import textwrap
from functools import lru_cache
from typing import Any

from energy.reports.document.records import Bars, Drawing, Lines, Swings

COLOURS = ("#0072B2", "#E69F00", "#56B4E9", "#D55E00", "#009E73", "#F0E442", "#CC79A7", "#999999", "#5A5A5A", "#C7C7C7")
PATTERNS = ("", "///", "...", "\\\\\\", "xxx", "", "---", "++", "ooo", "|||")
WIDTH = 6.6  # inches: the text width of a page
STYLE: dict[str, Any] = {
    "svg.hashsalt": "capital request",  # the same chart is the same bytes
    "svg.fonttype": "path",
    "font.family": "DejaVu Sans",  # comes with matplotlib
    "font.size": 8,
    "axes.spines.top": False,
    "axes.spines.right": False,
    "hatch.linewidth": 0.5,
    "axes.linewidth": 0.6,
    "axes.formatter.useoffset": False,
    "text.parse_math": False,  # a dollar sign in a name is a dollar sign
}


@lru_cache(maxsize=32)
def draw(drawing: Drawing) -> str:
    """A chart as SVG text; kept, since page, PDF and dashboard show the same."""
    import matplotlib
    from matplotlib.backends.backend_svg import FigureCanvasSVG
    from matplotlib.figure import Figure

    settings: Any = {**matplotlib.rcParamsDefault, **STYLE}
    with matplotlib.rc_context(settings):
        figure = Figure(figsize=(WIDTH, _height(drawing)), layout="constrained")
        FigureCanvasSVG(figure)
        axes = figure.add_subplot()
        if isinstance(drawing, Bars):
            _bars(axes, drawing)
        elif isinstance(drawing, Lines):
            _lines(axes, drawing)
        else:
            _swings(axes, drawing)
        out = io.StringIO()
        figure.savefig(out, format="svg", metadata={"Date": None, "Creator": None})
    return out.getvalue()


def _height(drawing: Drawing) -> float:
    if isinstance(drawing, Bars):
        rows = -(-len(drawing.series) // 4)
        return 0.75 + 0.3 * len(drawing.labels) + 0.2 * rows
    if isinstance(drawing, Lines):
        return 2.6
    lines = sum(max(2, _wrapped(label).count("\n") + 1) for label in drawing.labels)
    return 0.9 + 0.155 * lines


def _short(text: str, most: int = 44) -> str:
    """Text that no chart is squeezed by; what a font cannot show is a box."""
    plain = "".join(c if c.isprintable() and ord(c) < 0x2E80 else "□" for c in text)
    return plain if len(plain) <= most else plain[: most - 1] + "…"


ACROSS = 36
"""Letters in a line of a label beside bars, so that the bars keep half of the width."""


def _wrapped(label: str) -> str:
    """In lines that leave the bars room; the range on a line of its own where the label is long."""
    plain = _short(label, 110)
    words, _, span = plain.rpartition(", ")
    if len(plain) < 34 or not words:
        return plain
    return "\n".join([*textwrap.wrap(f"{words},", ACROSS), *textwrap.wrap(span, ACROSS)])


def _thousands(axis: Any) -> None:
    from matplotlib.ticker import FuncFormatter

    axis.set_major_formatter(FuncFormatter(lambda value, _: f"{value:,.10g}".replace("-", "−")))


def _bars(axes: Any, drawing: Bars) -> None:
    places = range(len(drawing.labels))
    ends = [0.0] * len(drawing.labels)
    for i, (name, values) in enumerate(drawing.series):
        # A negative share, such as hall heating saved, would hide another bar: it starts at zero, to the left.
        starts = [end if value >= 0 else 0.0 for end, value in zip(ends, values, strict=True)]
        style = {"color": COLOURS[i % len(COLOURS)], "hatch": PATTERNS[i % len(PATTERNS)]}
        axes.barh(
            places, values, left=starts, height=0.68, edgecolor="black", linewidth=0.5, label=_short(name), **style
        )
        ends = [end + max(value, 0.0) for end, value in zip(ends, values, strict=True)]
    top = max(ends, default=0.0) or 1.0
    for place, end in zip(places, ends, strict=True):
        axes.text(end + 0.01 * top, place, f"{end:,.0f}", va="center", fontsize=7)
    axes.set_xlim(right=1.1 * top)
    axes.set_yticks(list(places), [_short(label) for label in drawing.labels])
    axes.invert_yaxis()
    axes.set_xlabel(drawing.axis)
    _thousands(axes.xaxis)
    axes.figure.legend(loc="outside upper center", ncols=4, frameon=False, fontsize=7, handleheight=1.1)


def _lines(axes: Any, drawing: Lines) -> None:
    if drawing.band is not None:
        name, x, low, high = drawing.band
        axes.fill_between(x, low, high, color="#DDDDDD", linewidth=0, label=name)
    for i, curve in enumerate(drawing.curves):
        colour = ("#0072B2", "#D55E00", "#5A5A5A")[i % 3]
        axes.plot(
            curve.x, curve.y, color=colour, linestyle=curve.dashes, marker=curve.marker or None, markersize=3.5,
            linewidth=1.5, label=curve.name,
        )  # fmt: skip
    if drawing.log:
        axes.set_yscale("log")
        axes.set_xlim(left=0.0)
        from matplotlib.ticker import LogLocator, NullFormatter

        axes.yaxis.set_major_locator(LogLocator(subs=(1.0, 2.0, 5.0)))
        axes.yaxis.set_minor_formatter(NullFormatter())
    else:
        axes.axhline(0.0, color="black", linewidth=0.6)
    for place, text in drawing.verticals:
        axes.axvline(place, color="black", linewidth=0.8, linestyle="dashdot")
        axes.annotate(f" {text}", (place, 0.93), xycoords=("data", "axes fraction"), fontsize=7)
    axes.set_xlabel(drawing.x_axis)
    axes.set_ylabel(drawing.y_axis)
    if drawing.x_axis == "year":
        from matplotlib.ticker import MaxNLocator

        axes.xaxis.set_major_locator(MaxNLocator(integer=True))
    _thousands(axes.yaxis)
    axes.grid(True, linewidth=0.3, color="#CCCCCC")
    axes.figure.legend(loc="outside upper center", ncols=3, frameon=False, fontsize=7)


def _swings(axes: Any, drawing: Swings) -> None:
    for place, (low, high) in enumerate(zip(drawing.low, drawing.high, strict=True)):
        for end, colour, pattern in ((low, "#56B4E9", "///"), (high, "#E69F00", "")):
            axes.barh(
                place, end - drawing.middle, left=drawing.middle, height=0.62, color=colour, hatch=pattern,
                edgecolor="black", linewidth=0.5,
            )  # fmt: skip
    axes.margins(x=0.06)
    axes.axvline(drawing.middle, color="black", linewidth=1.0)
    if min(*drawing.low, *drawing.high) < 0 < max(*drawing.low, *drawing.high):
        axes.axvline(0.0, color="#D55E00", linewidth=1.0, linestyle="dashed")
    axes.set_yticks(range(len(drawing.labels)), [_wrapped(label) for label in drawing.labels], fontsize=7)
    axes.invert_yaxis()
    axes.set_xlabel(f"{drawing.axis}\n(hatched: low input; plain: high input)")
    axes.set_axisbelow(True)
    from matplotlib.ticker import MaxNLocator

    axes.xaxis.set_major_locator(MaxNLocator(5))
    _thousands(axes.xaxis)
    axes.grid(True, axis="x", linewidth=0.3, color="#CCCCCC")
