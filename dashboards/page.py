"""What every view does to come on the page."""

from __future__ import annotations

import logging

import ipywidgets as w
from IPython.display import display


def show(page: w.Widget) -> None:
    """Display a view, and keep its kernel from complaining on the terminal of what still came in when its page closed."""
    logging.getLogger("tornado.general").setLevel(logging.ERROR)
    logging.getLogger("asyncio").setLevel(logging.CRITICAL)  # of work that was still waiting when the kernel was ended
    display(page)
