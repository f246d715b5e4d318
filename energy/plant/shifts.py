"""The shifts of a plant, its shutdowns and its holidays: what they may hold, and what is wrong in them."""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date
from itertools import pairwise

from energy.errors import Problem, nearest
from energy.holidays import HolidayRule

WEEKDAYS = ("mon", "tue", "wed", "thu", "fri", "sat", "sun")
"""The names of the weekdays."""

_DAY, _WEEK = 1440, 7 * 1440  # minutes
_CLOCK = re.compile(r"([01]?\d|2[0-4]):([0-5]\d)")


@dataclass(frozen=True, slots=True, kw_only=True)
class Shift:
    """A span of the clock in which the plant runs, on some weekdays."""

    weekdays: tuple[str, ...]
    """Days it starts on, of `WEEKDAYS`."""
    start: str
    """Clock such as "06:00"."""
    end: str
    """Clock such as "14:00", of the next day where it is not after the start; "24:00" is midnight."""
    name: str = ""
    """Name for messages."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Shifts:
    """When the plant runs, when it is shut and what it does in between."""

    shifts: tuple[Shift, ...]
    """At least one; none may overlap another."""
    shutdown_weeks: tuple[int, ...] = ()
    """ISO weeks of the year, Monday to Sunday."""
    shutdown_ranges: tuple[tuple[date, date], ...] = ()
    """First and last day of each shutdown; it may reach over an end of the year."""
    country: str | None = None
    """Country code of the `holidays` package, such as "US" or "DE"; None for no public holidays."""
    subdivision: str | None = None
    """State or province, such as "BY"."""
    holiday_names: tuple[str, ...] = ()
    """English names of the holidays kept; empty for every public holiday of the country."""
    holiday_rule: HolidayRule = "none"
    """What becomes of the country's holidays on a weekend."""
    holiday_dates: tuple[date, ...] = ()
    """Further days without shifts, taken as they stand."""
    standby_up_to: float = 0.0
    """Longest stop through which the dryers are kept hot; after a longer one they start cold. [s]"""


def begin_and_length(shift: Shift) -> tuple[int, int]:
    """Begin and length of a shift whose clocks are right, in minutes."""
    begin, end = (60 * int(text[:-3]) + int(text[-2:]) for text in (shift.start, shift.end))
    return begin, end - begin if end > begin else end - begin + _DAY


def wrong_in(year: int, shifts: Shifts) -> Iterator[Problem]:
    """What is wrong in the shifts, the names of holidays apart."""
    if not shifts.shifts:
        yield Problem("shifts", "there is none; write at least one")
    wrong = [problem for number in range(len(shifts.shifts)) for problem in _shift_problems(shifts.shifts, number)]
    yield from wrong or _overlaps(shifts.shifts)
    weeks = date(year, 12, 28).isocalendar().week
    for week in shifts.shutdown_weeks:
        if not 1 <= week <= weeks:
            yield Problem("shutdown_weeks", f"week {week} is not in {year}; it has weeks 1 to {weeks}")
    for start, end in shifts.shutdown_ranges:
        if start > end:
            yield Problem("shutdown_ranges", f"{start} to {end} ends before it starts")
        elif start.year > year or end.year < year:
            yield Problem("shutdown_ranges", f"{start} to {end} does not touch {year}")
        elif not year - 1 <= start.year <= end.year <= year + 1:
            yield Problem("shutdown_ranges", f"{start} to {end} reaches beyond the years before and after {year}")
    for day in shifts.holiday_dates:
        if day.year != year:
            yield Problem("holiday_dates", f"{day} is not in {year}")
    if shifts.country is None and (shifts.subdivision is not None or shifts.holiday_names):
        yield Problem("country", "is missing; a subdivision and names of holidays belong to a country")
    if not shifts.standby_up_to >= 0:
        yield Problem("standby_up_to", f"{shifts.standby_up_to:g} s is not allowed; it must be 0 or more")


def _key(shifts: Sequence[Shift], number: int) -> str:
    return f"shifts['{shifts[number].name}']" if shifts[number].name else f"shifts[{number + 1}]"


def _shift_problems(shifts: Sequence[Shift], number: int) -> Iterator[Problem]:
    shift, key = shifts[number], _key(shifts, number)
    if not shift.weekdays:
        yield Problem(f"{key}.weekdays", f"there is none; write some of {', '.join(WEEKDAYS)}")
    for day in dict.fromkeys(shift.weekdays):
        if day not in WEEKDAYS:
            hint = nearest(day, WEEKDAYS)
            yield Problem(f"{key}.weekdays", f"'{day}' is not a weekday; write one of {', '.join(WEEKDAYS)}{hint}")
        elif shift.weekdays.count(day) > 1:
            yield Problem(f"{key}.weekdays", f"'{day}' stands there twice")
    right = True
    for part, latest in (("start", "23:59"), ("end", "24:00")):
        text = getattr(shift, part)
        if not _CLOCK.fullmatch(text) or text.zfill(5) > latest:
            right = False
            yield Problem(f"{key}.{part}", f"'{text}' is not a time of day; write hours and minutes, 00:00 to {latest}")
    if right and shift.start.zfill(5) == shift.end.zfill(5):
        yield Problem(f"{key}.end", f"start and end are both {shift.end}; write 00:00 to 24:00 for a whole day")


def _overlaps(shifts: Sequence[Shift]) -> Iterator[Problem]:
    """Pairs of shifts that run at the same time somewhere in the week, at the first place where they do."""
    week: list[tuple[int, int, int]] = []
    for number, shift in enumerate(shifts):
        clock, length = begin_and_length(shift)
        week += [(_DAY * WEEKDAYS.index(day) + clock, length, number) for day in shift.weekdays]
    week.sort()

    def shown(begin: int, number: int) -> str:
        shift = shifts[number]
        name = f"'{shift.name}'" if shift.name else f"number {number + 1}"
        return f"{name} ({WEEKDAYS[begin // _DAY % 7]} {shift.start} to {shift.end})"

    pairs = set()
    for (begin, length, one), (next_begin, _, two) in pairwise([*week, *((b + _WEEK, m, n) for b, m, n in week[:1])]):
        if begin + length > next_begin and (one, two) not in pairs:
            pairs |= {(one, two), (two, one)}
            both = f"{shown(begin, one)} and {shown(next_begin, two)}"
            yield Problem("shifts", f"{both} overlap; a minute belongs to one shift")
