"""Colours and patterns of the charts, in one place: the same end use has the same colour in every view.

Source
------
Okabe, M., Ito, K. (2008): Color Universal Design. How to make figures and presentations that are friendly to
colorblind people. The eight colours are theirs; the greys beside them are ours.
"""

from __future__ import annotations

from types import MappingProxyType

BLACK = "#000000"
ORANGE = "#E69F00"
SKY_BLUE = "#56B4E9"
BLUISH_GREEN = "#009E73"
YELLOW = "#F0E442"
BLUE = "#0072B2"
VERMILLION = "#D55E00"
REDDISH_PURPLE = "#CC79A7"
GREY = "#999999"

END_USE_COLOURS = MappingProxyType(
    {
        "process heat": VERMILLION,
        "regeneration": ORANGE,
        "process blower": BLUE,
        "regeneration blower": SKY_BLUE,
        "cooling": BLUISH_GREEN,
        "compressed air": REDDISH_PURPLE,
        "controls": GREY,
        "maintenance": YELLOW,
        "conveying": BLACK,
        "vacuum": "#5A5A5A",
        "drum drive": "#C7C7C7",
        "metered beyond the model": "#EDEDED",
    }
)
"""Colour of each end use; warm colours heat, blues move air. Every bar has an outline, so that yellow shows on white
and black on a dark page."""

VERDICT_PATTERNS = MappingProxyType({"pass": "", "caution": ".", "fail": "/"})
"""Fill pattern (plotly ``marker.pattern.shape``) of a bar by verdict, so that colour never says it alone."""
