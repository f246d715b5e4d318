"""A bill for people and programs: line by line with its clause, what to know with it, and beside a printed one."""

from __future__ import annotations

import datetime
import json
import math
from calendar import month_name
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from energy.tariffs import Bill, Line, Load, Tariff
from energy.tariffs.load import doubtful, power_factor
from energy.units.currencies import decimals, least

NOTICEABLE = 0.01
"""Share of a printed amount from which a difference is shown as one."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Compared:
    """A computed line beside a printed amount."""

    line: str
    clause: str
    quantity: float
    unit: str
    rate: float
    computed: float
    """[money]"""
    printed: float | None
    """None where the bill at hand was not typed in. [money]"""
    currency: str

    @property
    def difference(self) -> float | None:
        """Printed less computed. [money]"""
        return None if self.printed is None else self.printed - self.computed

    @property
    def off(self) -> bool:
        """Is the difference more than 1 % of the printed amount, and more than the least amount of the currency?"""
        if self.printed is None:
            return False
        gap = abs(self.printed - self.computed)
        return gap > least(self.currency) * 1.001 and gap > NOTICEABLE * abs(self.printed)

    @property
    def meant(self) -> float | None:
        """Quantity that the printed amount means at the computed rate. [unit]"""
        return None if self.printed is None or self.rate == 0.0 else self.printed / self.rate


def compare_lines(month: Bill, printed: Mapping[str, float]) -> list[Compared]:
    """Lay a computed bill of one month beside printed amounts.

    Parameters
    ----------
    month : Bill
        The lines of one month.
    printed : mapping
        Amounts by the label of the line; what is not typed in is missing.

    Returns
    -------
    list of Compared
        In the order of the bill.
    """
    return [
        Compared(
            line=line.line,
            clause=line.clause,
            quantity=float(line.quantity),
            unit=line.unit,
            rate=line.rate,
            computed=float(line.amount),
            printed=printed.get(line.line),
            currency=month.currency,
        )
        for line in month.lines
    ]


def cautions(tariff: Tariff, load: Load) -> list[str]:
    """What a reader must know of a bill worked out with history "steady"."""
    found = []
    if tariff.invented:
        found.append("The tariff is invented, to show how one is written: nobody is charged these prices.")
    looking_back = [c.label for c in tariff.charges if getattr(c, "ratchet", None) or getattr(c, "ratchet_share", None)]
    if looking_back:
        found.append(
            f"{' and '.join(dict.fromkeys(looking_back))} looks back on earlier months; those before the year are not "
            "known, so the year is taken to repeat itself."
        )
    factor = power_factor(load)
    found += filter(None, [doubtful(float(np.min(factor))) if factor is not None else ""])
    several = len(tariff.price_calendar.cells) > 1
    if several and load.spread and load.energy is not None and load.cell_energy is None:
        found.append(
            "The load is known by month only: its energy is spread over the hours of the clock, and its peak counts in "
            "every price period."
        )
    if load.year is not None:
        first, last = datetime.date(load.year, 1, 1), datetime.date(load.year, 12, 31)
        held = [(tariff.valid_from, "from"), (tariff.valid_to, "up to")]
        words = " ".join(f"{word} {day}" for day, word in held if day is not None)
        if (tariff.valid_from or first) > first or (tariff.valid_to or last) < last:
            found.append(
                f"The tariff holds {words}, not in all of {load.year}; the bill is worked out with it all the same."
            )
    return found


def to_json(bill: Bill, notes: Sequence[str]) -> str:
    """The bill as JSON: every line with month, clause, quantity, unit, rate and amount."""
    lines = [
        {
            "month": line.month,
            "line": line.line,
            "clause": line.clause,
            "quantity": float(line.quantity),
            "unit": line.unit,
            "rate": float(f"{line.rate:.12g}"),
            "amount": float(line.amount),
        }
        for line in bill.lines
    ]
    made = {
        "tariff": bill.tariff,
        "currency": bill.currency,
        "lines": lines,
        "total": float(bill.total),
        "cautions": [*notes],
    }
    return json.dumps(made, indent=2, ensure_ascii=False)


def to_text(bill: Bill, about: str, notes: Sequence[str]) -> str:
    """The bill as text: each month line by line, then the year.

    Parameters
    ----------
    bill : Bill
        Of one month or of a year.
    about : str
        The load, in a few words.
    notes : sequence of str
        Cautions, printed below.
    """
    months = sorted({line.month for line in bill.lines})
    rounded_to = "cents" if decimals(bill.currency) == 2 else f"{least(bill.currency):g} {bill.currency}"
    out = [bill.tariff, f"{bill.commodity}; {about}; amounts in {bill.currency}, each line rounded to {rounded_to}"]
    for month in months:
        part = bill.of_month(month)
        rows = [
            (
                line.line,
                quantity_text(line),
                rate_text(line, bill.currency),
                money(line.amount, bill.currency),
                line.clause,
            )
            for line in part.lines
        ]
        total = ("total", "", "", money(part.total, bill.currency), "")
        out += ["", month_name[month], *_columns([("line", "quantity", "rate", "amount", "clause"), *rows, total])]
    if len(months) > 1:
        rows2 = [(label, money(amount, bill.currency), clause) for label, clause, amount in by_line(bill)]
        head = ("line", "amount", "clause")
        out += ["", "The year", *_columns([head, *rows2, ("total", money(bill.total, bill.currency), "")], left=(0, 2))]
    if notes:
        out += ["", "Cautions", *(f"* {note}" for note in notes)]
    return "\n".join(out)


def by_line(bill: Bill) -> list[tuple[str, str, Any]]:
    """Label, clause and sum of every line of a bill, in its order."""
    clauses: dict[str, str] = {}
    for line in bill.lines:
        clauses.setdefault(line.line, line.clause)
    return [(label, clauses[label], amount) for label, amount in bill.by_label().items()]


def money(amount: Any, currency: str) -> str:
    """An amount to the cent, or to what the currency has for it."""
    return f"{float(amount) + 0.0:,.{decimals(currency)}f}"


def quantity_text(line: Line | Compared) -> str:
    """Quantity of a line with its unit."""
    return f"{figure(float(line.quantity))} {line.unit}"


def rate_text(line: Line | Compared, currency: str) -> str:
    """Rate of a line: a price per unit, or a share of an amount."""
    if line.unit == currency:
        return f"{100 * line.rate:,.6g} %"
    return f"{line.rate:,.6g} {currency}/{f'({line.unit})' if ' ' in line.unit else line.unit}"


def figure(value: float) -> str:
    """A quantity to two decimals, more below one; without trailing zeros."""
    if not math.isfinite(value):
        return "-"
    text = f"{value:,.2f}" if abs(value) >= 1 or value == 0 else f"{value:.4g}"
    return text.rstrip("0").rstrip(".") if "." in text and "e" not in text else text


def _columns(rows: Iterable[Sequence[str]], left: Sequence[int] = (0, 4)) -> list[str]:
    """Rows as lines of a text table, figures to the right."""
    kept = [*rows]
    widths = [max(len(row[i]) for row in kept) for i in range(len(kept[0]))]
    return [
        "  "
        + "  ".join(
            cell.ljust(width) if i in left else cell.rjust(width)
            for i, (cell, width) in enumerate(zip(row, widths, strict=True))
        ).rstrip()
        for row in kept
    ]
