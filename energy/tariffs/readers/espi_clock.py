"""The local clock of an ESPI file: its daylight saving rules, and the time zone that keeps them."""

from __future__ import annotations

import re
from dataclasses import dataclass
from datetime import date, datetime, timedelta

from energy.errors import OutOfRangeError
from energy.tariffs.readers._files import quoted
from energy.tariffs.readers.series import changes

CANDIDATES = (  # zones whose clock changes are compared with the rules of a file
    *("America/New_York", "America/Chicago", "America/Denver", "America/Los_Angeles", "America/Anchorage"),
    *("America/Halifax", "America/St_Johns", "Europe/London", "Europe/Berlin", "Europe/Athens"),
)


@dataclass(frozen=True, slots=True)
class DaylightRule:
    """When in a year a clock is moved, as the 32 bits of an ESPI dstStartRule or dstEndRule say it."""

    month: int
    """1 to 12."""
    operator: int
    """0: on `day`; 1: first `weekday` on or after `day`; 2 to 6: first to fifth `weekday`; 7: last `weekday`."""
    day: int
    """1 to 31; 0 where it does not count."""
    weekday: int
    """Monday 1 to Sunday 7; 0 where it does not count."""
    seconds: int
    """Time of day on the clock before it is moved. [s]"""

    def moment(self, year: int) -> datetime:
        """The moment in a year, on the clock before it is moved.

        Parameters
        ----------
        year : int
            1 to 9998.

        Returns
        -------
        datetime
            Without zone.

        Raises
        ------
        OutOfRangeError
            The month has no such day.
        """
        first = date(year, self.month, 1)
        after = (date(year + self.month // 12, self.month % 12 + 1, 1) - first).days  # days in the month
        start = {0: self.day, 1: self.day, 7: after - 6}.get(self.operator, 1 + 7 * (self.operator - 2))
        if self.operator:
            start += (self.weekday - first.isoweekday() - start + 1) % 7
        if not 1 <= start <= after:
            raise OutOfRangeError(f"{first:%Y-%m} has no day {start}, which the daylight saving rule asks for")
        return datetime(year, self.month, start) + timedelta(seconds=self.seconds)


def daylight_rule(text: str) -> DaylightRule | None:
    """Read a dstStartRule or dstEndRule.

    Parameters
    ----------
    text : str
        Eight hexadecimal digits, such as "360E2000".

    Returns
    -------
    DaylightRule or None
        None for FFFFFFFF: the clock is not moved.

    Raises
    ------
    OutOfRangeError
        Not eight hexadecimal digits, or no rule.

    Source
    ------
    NAESB REQ.21 ESPI, type DstRuleType: bits 0-11 seconds, 12-16 hours, 17-19 weekday, 20-24 day, 25-27 operator,
    28-31 month.
    """
    if not re.fullmatch(r"[0-9A-Fa-f]{8}", text):
        raise OutOfRangeError(f"{quoted(text)} is not a daylight saving rule; it has eight hexadecimal digits")
    bits = int(text, 16)
    if bits == 0xFFFFFFFF:
        return None
    rule = DaylightRule(
        month=bits >> 28,
        operator=bits >> 25 & 7,
        day=bits >> 20 & 31,
        weekday=bits >> 17 & 7,
        seconds=(bits >> 12 & 31) * 3600 + (bits & 0xFFF),
    )
    known = rule.weekday > 0 if rule.operator else rule.day > 0
    if not 1 <= rule.month <= 12 or not known or (rule.operator == 1 and not rule.day) or rule.seconds > 86400:
        raise OutOfRangeError(f"{quoted(text)} is not a daylight saving rule: month, day, weekday or hour is missing")
    return rule


def fixed_zone(offset: int) -> tuple[str | None, str]:
    """The zone of a clock that is never moved, by its offset from UTC in seconds, and what to say of it."""
    if offset % 3600 or not -12 <= offset // 3600 <= 14:
        return None, "no time zone is known with the offset of the file"
    hours = offset // 3600
    return (f"Etc/GMT{-hours:+d}" if hours else "UTC"), f"the local clock is taken as UTC{hours:+d} h all year"


def matching_zone(year: int, offset: int, added: int, begin: datetime, end: datetime) -> str | None:
    """The candidate whose clock is moved at those moments of the clock before, and by as much."""
    summer, winter = (
        int((moment - datetime(1970, 1, 1)).total_seconds()) - shift
        for moment, shift in ((begin, offset), (end, offset + added))
    )
    first = int((datetime(year, 1, 1) - datetime(1970, 1, 1)).total_seconds()) - offset
    wanted = ([first, summer, winter], [offset, offset + added, offset])
    for zone in CANDIDATES:
        moments, offsets = changes(zone, first, first + 364 * 86400)
        if (moments.tolist(), offsets.tolist()) == wanted:
            return zone
    return None
