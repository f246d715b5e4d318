"""Work that can wait until the page has shown what is known."""

from __future__ import annotations

import asyncio
from collections.abc import Callable


def after_the_answer(work: Callable[[], None]) -> None:
    """Do work a little later, so that what is known goes to the page first."""
    try:
        asyncio.get_running_loop().call_later(0.05, work)
    except RuntimeError:  # no loop: nobody is waiting for a page
        work()
