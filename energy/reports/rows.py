"""Names in a row, in a sentence."""

from __future__ import annotations

from collections.abc import Sequence


def in_a_row(names: Sequence[str]) -> str:
    """Names in a row, told apart where one of them has a comma."""
    return ("; " if any("," in name for name in names) else ", ").join(names)


def joined(names: Sequence[str]) -> str:
    """Names in a row, the last after an "and"; empty for none."""
    return " and ".join([*filter(None, [", ".join(names[:-1])]), *names[-1:]])
