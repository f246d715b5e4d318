"""Work that can wait until the page has shown what is known."""

from __future__ import annotations

import asyncio
from collections.abc import Callable


def after(seconds: float, work: Callable[[], None]) -> None:
    """Do work after a time; at once where no loop runs, since nobody is waiting for a page then."""
    try:
        asyncio.get_running_loop().call_later(seconds, work)
    except RuntimeError:
        work()


def after_the_answer(work: Callable[[], None]) -> None:
    """Do work a little later, so that what is known goes to the page first."""
    after(0.05, work)
