"""One tree of errors. Every message says what is wrong, what is allowed and, when known, where."""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from typing import Any, NamedTuple

LONGEST_LINE = 1800
"""Characters of a line that anybody still reads."""
LONGEST_WORD = 300
"""Longer ones, which only a broken file holds, are cut where an error tells them."""


class EnergyError(Exception):
    """Root of every error this project raises on purpose."""

    def __init__(self, message: str = "") -> None:
        super().__init__(shortened(message))


class UnitError(EnergyError):
    """A text that is not a quantity of the kind asked for."""


class LocatedError(EnergyError):
    """An error of some values of an array; `where` is true at those, None where that is not known."""

    def __init__(self, message: str, where: Any = None) -> None:
        super().__init__(message)
        self.where = where


class OutOfRangeError(LocatedError):
    """A value outside the range in which an equation holds."""


class SourceError(EnergyError):
    """A stored value that does not say where it comes from, or a data file that cannot be read."""


class UnknownNameError(EnergyError):
    """A name (resin, dryer type, tariff) that is not known; in one line, whatever the name holds. `key`: where it was written, if known."""

    def __init__(self, message: str = "", key: str = "") -> None:
        super().__init__(in_one_line(message))
        self.key = key


class ModelError(LocatedError):
    """A duty or machine for which the model has no physical answer."""


class Problem(NamedTuple):
    """One thing wrong in a case: the key it stands at and one sentence."""

    key: str
    message: str


class CaseError(EnergyError):
    """A case that cannot be used; carries every problem found, one line each."""

    def __init__(self, problems: Iterable[Problem], *, file: str | None = None) -> None:
        self.problems: tuple[Problem, ...] = tuple(problems)
        self.file = file
        super().__init__("\n".join(self.lines()))

    def lines(self) -> list[str]:
        """One line per problem: ``file: key: what is wrong; what is allowed``."""
        prefix = f"{self.file}: " if self.file else ""
        lines = [f"{prefix}{p.key}: {p.message}" if p.key else f"{prefix}{p.message}" for p in self.problems]
        return [in_one_line(line) for line in lines]


def in_one_line(text: str) -> str:
    """A text whose line breaks and other signs that are not printed are blanks: names may hold them."""
    return "".join(c if c.isprintable() else " " for c in text)


def shortened(text: str) -> str:
    """A text with words cut that nobody could read, and the middle of lines left out that go on for pages."""
    text = re.sub(rf"\S{{{LONGEST_WORD},}}", lambda word: f"{word[0][:60]}...", text)
    half = LONGEST_LINE // 2
    return "\n".join(f"{x[:half]} ... {x[-half:]}" if len(x) > LONGEST_LINE else x for x in text.split("\n"))


def nearest(name: str, known: Sequence[str]) -> str:
    """A hint of the form ``; did you mean 'x'?``, or an empty text when nothing is near."""
    from difflib import get_close_matches

    by_lower = {k.lower(): k for k in known}
    swapped = [k for k in by_lower if sorted(k) == sorted(name.lower())]  # its letters in another order
    found = swapped or get_close_matches(name.lower(), by_lower, n=1, cutoff=0.6)
    return f"; did you mean '{by_lower[found[0]]}'?" if found else ""
