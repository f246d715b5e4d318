"""Is the money back within the longest payback accepted, and with how many decimals that shows."""

from __future__ import annotations

import math

SAME = 1e-9
"""Share within which two times are one, since a sum of money comes out no closer. [-]"""
MOST = 6
"""Decimals at most."""


def in_time(payback: float, limit: float) -> bool:
    """Is a payback no longer than the limit? Both as they are, not as they print. [year]"""
    return payback <= limit * (1.0 + SAME)


def decimals(limit: float | None, *paybacks: float) -> int:
    """Decimals of years: one, or as many as tell each payback from the limit where it is another. [year]"""
    if limit is None:
        return 1
    other = [p for p in paybacks if math.isfinite(p) and not math.isclose(p, limit, rel_tol=SAME)]
    apart = (d for d in range(1, MOST) if all(f"{p:.{d}f}" != f"{limit:.{d}f}" for p in other))
    return next(apart, MOST)
