"""Opens a file of bounded size, and says what is wrong in it by line."""

from __future__ import annotations

import os
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import BinaryIO

from energy.errors import CaseError, Problem

LARGEST_FILE = 50_000_000
"""Larger files are refused unread; ten years of quarter-hours have 10 to 40 MB. [byte]"""
MOST_PROBLEMS = 20
"""Reading stops after so many."""


class Wrong(Exception):
    """What is wrong, and the line it stands in (0 for the file as a whole)."""

    def __init__(self, line: int, message: str) -> None:
        super().__init__(message)
        self.problem = at(line, message)


class Problems:
    """Collects what is wrong, line by line."""

    def __init__(self) -> None:
        self.found: list[Problem] = []

    def add(self, line: int, message: str) -> None:
        self.found.append(at(line, message))
        if len(self.found) >= MOST_PROBLEMS:
            self.found.append(Problem("", f"there may be more; reading stopped after {MOST_PROBLEMS} problems"))
            self.stop()

    def stop(self) -> None:
        """End the reading if anything is wrong."""
        if self.found:
            raise CaseError(self.found)


def at(line: int, message: str) -> Problem:
    """A problem at a line."""
    return Problem(f"line {line}" if line else "", message)


def quoted(text: str) -> str:
    """A text as shown in a sentence, cut when long."""
    text = " ".join(text.split())
    return f"'{text[:40]}...'" if len(text) > 40 else f"'{text}'"


@contextmanager
def opened(path: str | os.PathLike[str]) -> Iterator[BinaryIO]:
    """Open a file to read bytes; whatever is found wrong inside the block names the file.

    Raises
    ------
    CaseError
        No such file, a folder or device, too large, cannot be read; or from inside the block.
    """
    file = Path(path)
    try:
        if not file.is_file():
            raise Wrong(0, "is a folder or a device; give a file" if file.exists() else "there is no such file")
        size = file.stat().st_size
        if size > LARGEST_FILE:
            limit = f"{LARGEST_FILE / 1e6:g} MB"
            raise Wrong(
                0, f"has {size / 1e6:.0f} MB; at most {limit} are read, so split it or keep one meter's columns"
            )
        with file.open("rb") as stream:
            yield stream
    except Wrong as wrong:
        raise CaseError([wrong.problem], file=str(file)) from None
    except CaseError as error:
        raise CaseError(error.problems, file=error.file or str(file)) from None
    except (OSError, ValueError) as error:
        reason = getattr(error, "strerror", None) or error
        raise CaseError([Problem("", f"cannot be read: {reason}")], file=str(file)) from None
