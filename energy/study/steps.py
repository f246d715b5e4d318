"""Work in steps, so that whoever waits for something else need wait for one step only."""

from __future__ import annotations

from collections.abc import Generator
from typing import TypeAlias, TypeVar

Made = TypeVar("Made")
Steps: TypeAlias = Generator[None, None, Made]
"""Yields between steps; what is made comes at the end."""


def finished(steps: Steps[Made]) -> Made:
    """What the steps make, without a pause."""
    while True:
        try:
            next(steps)
        except StopIteration as done:
            made: Made = done.value
            return made
