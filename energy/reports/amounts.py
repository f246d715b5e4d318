"""Sums of money, years, and what a value was and is, in words."""

from __future__ import annotations

import math

YEAR = 8760 * 3600.0  # s


def money(amount: float, currency: str) -> str:
    """Amount to three significant digits with its currency, thousands separated."""
    if not math.isfinite(amount):
        return "-"
    digits = 0 if amount == 0 else max(0, 2 - math.floor(math.log10(abs(amount))))
    rounded = round(amount, 2 - math.floor(math.log10(abs(amount)))) if amount else 0.0
    return f"{rounded:,.{min(digits, 2)}f} {currency}"


def three_digits(value: float) -> str:
    """A number to three significant digits, from a thousand on to its ones; never as a power of ten that a reader has to count."""
    return f"{value:,.3g}" if abs(value) < 999.5 else f"{value:,.0f}"


def whole_money(amount: float, currency: str) -> str:
    """A sum to be paid, not rounded further than to whole money, thousands separated."""
    return f"{amount:,.0f} {currency}"


def before_and_now(label: str, before: str, now: str) -> str:
    """What a value was and is, in a few words."""
    return f"{label}: {now} as before" if now == before else f"{label}: {before} before, {now} now"


def years(value: float, digits: int = 1) -> str:
    """Years to one decimal, or more."""
    return f"{value:.{digits}f} years"
