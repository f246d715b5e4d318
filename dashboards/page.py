"""What every view does to come on the page."""

from __future__ import annotations

import logging

import ipywidgets as w
from IPython.display import display


def show(page: w.Widget) -> None:
    """Display a view, and keep its kernel from complaining on the terminal of what still came in when its page closed."""
    # What still came in, went out or waited when the page closed and the kernel was ended; errors of our own have other names.
    for name in ("tornado", "asyncio"):
        logging.getLogger(name).setLevel(logging.CRITICAL)
    display(page)
