"""The local clock that a tariff bills by, and the holidays it keeps."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import UTC, date, datetime, tzinfo
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from energy.errors import OutOfRangeError, UnknownNameError, nearest
from energy.holidays import HolidayRule, kept_holidays

Integers = NDArray[np.int64]
QUARTER = 900
"""Length of a quarter hour, the step of every price calendar. [s]"""

_EPOCH = date(1970, 1, 1).toordinal()


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Clock:
    """What the local clock shows at some instants, all of shape (n,)."""

    time: Integers
    """Seconds since 1970-01-01 00:00 UTC."""
    offset: Integers
    """Local time less UTC. [s]"""
    day: Integers
    """Days since 1970-01-01, by the local date."""
    month: Integers
    """0 to 11."""
    month_day: Integers
    """Day of the month, 0 to 30."""
    weekday: Integers
    """Monday 0 to Sunday 6."""
    quarter: Integers
    """Quarter hour of the day, 0 to 95."""


@lru_cache(maxsize=64)
def zone_of(time_zone: str | None) -> tzinfo:
    """The zone of an IANA name; without one, a clock without daylight saving.

    Raises
    ------
    UnknownNameError
        No such zone.
    """
    if time_zone is None:
        return UTC
    from zoneinfo import ZoneInfo, available_timezones

    known = available_timezones()  # asked first, so that a path or an empty text never reaches the file system
    if time_zone not in known:
        raise UnknownNameError(
            f"'{time_zone}' is not a time zone{nearest(time_zone, sorted(known))}; "
            "write its IANA name, such as America/Chicago or Europe/Berlin"
        )
    return ZoneInfo(time_zone)


def clock_at(time: Integers, time_zone: str | None) -> Clock:
    """What the local clock shows.

    Parameters
    ----------
    time : ndarray of int, shape (n,)
        Seconds since 1970-01-01 00:00 UTC.
    time_zone : str or None
        IANA name; None for a clock without daylight saving, whose time the seconds already are.

    Returns
    -------
    Clock

    Raises
    ------
    UnknownNameError
        No such zone.
    """
    zone = zone_of(time_zone)
    time = np.asarray(time, dtype=np.int64)
    offset = np.zeros_like(time) if time_zone is None else _offsets(time, zone)
    local = time + offset
    day = local // 86400
    dates = day.astype("datetime64[D]")
    months = dates.astype("datetime64[M]")
    return Clock(
        time=time,
        offset=offset,
        day=day,
        month=months.astype(np.int64) % 12,
        month_day=(dates - months.astype("datetime64[D]")).astype(np.int64),
        weekday=(day + 3) % 7,  # 1970-01-01 was a Thursday
        quarter=local % 86400 // QUARTER,
    )


def _offsets(time: Integers, zone: tzinfo) -> Integers:
    """Local time less UTC; looked up once for each day of UTC, and by quarter hours where it changes on that day."""
    days, inverse = np.unique(time // 86400, return_inverse=True)
    starts, ends = (
        np.array([_offset(int(day) * 86400, zone) for day in at], dtype=np.int64) for at in (days, days + 1)
    )
    found = starts[inverse]
    for i in np.flatnonzero((starts != ends)[inverse]):
        found[i] = _offset(int(time[i]) // QUARTER * QUARTER, zone)
    return found


def _offset(time: int, zone: tzinfo) -> int:
    offset = datetime.fromtimestamp(time, zone).utcoffset()
    return 0 if offset is None else int(offset.total_seconds())


@lru_cache(maxsize=16)
def quarter_hours(year: int, time_zone: str | None = None) -> Clock:
    """Every quarter hour of a local year, by its start.

    Parameters
    ----------
    year : int
        1901 to 2100.
    time_zone : str, optional
        IANA name; without one every day has 24 h.

    Returns
    -------
    Clock
        35 040 of them, in a leap year 35 136, with daylight saving or without.

    Raises
    ------
    UnknownNameError
        No such zone.
    OutOfRangeError
        Another year.
    """
    if not 1901 <= year <= 2100:
        raise OutOfRangeError(f"year = {year} is outside 1901 to 2100, the range of the price calendars")
    zone = zone_of(time_zone)
    begin, end = (int(datetime(y, 1, 1, tzinfo=zone).timestamp()) for y in (year, year + 1))
    return clock_at(np.arange(begin, end, QUARTER, dtype=np.int64), time_zone)


@lru_cache(maxsize=64)
def holidays_kept(
    year: int,
    country: str | None,
    subdivision: str | None,
    names: tuple[str, ...],
    dates: tuple[date, ...],
    rule: HolidayRule,
) -> Integers:
    """Days of a year that a tariff treats as holidays, moved off weekends by its own rule.

    Parameters
    ----------
    year : int
        Local year.
    country, subdivision : str or None
        Codes of the `holidays` package; its own "observed" days are never taken.
    names : tuple of str
        English names of the holidays to keep; empty for all of the country.
    dates : tuple of date
        Further days, taken as they stand.
    rule : {"none", "sunday to monday", "nearest weekday"}

    Returns
    -------
    ndarray of int
        Days since 1970-01-01.

    Raises
    ------
    UnknownNameError
        No such country, subdivision or holiday.
    """
    kept = {day.toordinal() for day in dates}
    if country is not None:
        kept |= {day.toordinal() for day in kept_holidays(year, country, subdivision, names, rule)}
    return np.array(sorted(day - _EPOCH for day in kept if date.fromordinal(day).year == year), dtype=np.int64)
