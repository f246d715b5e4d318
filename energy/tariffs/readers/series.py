"""What a meter counted, interval by interval, in UTC; windows and months on the local clock.

Nothing is ever filled in: what the meter did not say is a gap, and a month with a gap is refused unless asked for.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import UTC, datetime, timedelta, tzinfo
from typing import Literal, TypeAlias

import numpy as np
from numpy.typing import NDArray

from energy.errors import CaseError, OutOfRangeError, Problem, nearest
from energy.tariffs.tariff import Commodity

FloatArray: TypeAlias = NDArray[np.float64]
Seconds: TypeAlias = NDArray[np.int64]
Counted: TypeAlias = Literal["energy", "volume", "reactive energy", "apparent energy"]

EARLIEST, LATEST = 0, 4_102_444_800
"""Readings lie in the years 1970 to 2099. [s since 1970-01-01 UTC]"""
WINDOWS = (15, 30, 60)
"""Lengths over which demand is averaged. [min]"""

_DAY = 86400
_SHOWN = 3  # gaps named in one sentence


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Series:
    """Readings of one meter, in ascending order, none overlapping another.

    Raises
    ------
    OutOfRangeError
        No readings, lengths that differ, a step below one second, readings out of order or overlapping, a number
        that is not finite, a time before 1970 or after 2099.
    UnknownNameError, CaseError
        `zone` is not a time zone.
    """

    start: Seconds
    """Beginning of each interval, shape (n,). [s since 1970-01-01 UTC]"""
    step: Seconds | int
    """Length of each interval, shape (n,); a single number stands for all. [s]"""
    amount: FloatArray
    """What was counted in each interval, shape (n,). [J, m3, var s or VA s]"""
    counted: Counted = "energy"
    """What `amount` is."""
    commodity: Commodity | None = None
    """What the meter supplies; None where nothing says."""
    zone: str | None = None
    """IANA name of the time zone of the local clock, such as "America/Chicago"; None where nothing says."""
    in_utc: bool = False
    """Do the stamps themselves say that they are in UTC?"""
    source: str = ""
    """The file."""
    notes: tuple[str, ...] = ()
    """What a reader of the figures should know, one sentence each."""

    def __post_init__(self) -> None:
        start = np.array(self.start, dtype=np.int64)
        step = np.array(np.broadcast_to(np.asarray(self.step, dtype=np.int64), start.shape))
        amount = np.array(self.amount, dtype=float)
        if start.ndim != 1 or not start.size or amount.shape != start.shape:
            raise OutOfRangeError(f"readings have shapes {start.shape} and {amount.shape}; both must be (n,), n > 0")
        if (step < 1).any() or start.min() < EARLIEST or start.max() > LATEST or step.max() > LATEST:
            raise OutOfRangeError("readings must lie in 1970 to 2099 and last a second or longer")
        if (start[1:] < (start + step)[:-1]).any():
            raise OutOfRangeError("readings must be in ascending order and must not overlap")
        if not np.isfinite(amount).all():
            raise OutOfRangeError("readings must be finite; leave out those that are missing")
        if self.zone is not None:
            zone_info(self.zone)
        for name, values in (("start", start), ("step", step), ("amount", amount)):
            values.setflags(write=False)
            object.__setattr__(self, name, values)

    @property
    def length(self) -> Seconds:
        """Length of each interval, shape (n,). [s]"""
        return np.asarray(self.step)

    @property
    def total(self) -> float:
        """Sum of all readings. [as `amount`]"""
        return float(self.amount.sum())

    @property
    def power(self) -> FloatArray:
        """Mean over each interval, shape (n,). [`amount` per second: W for energy]"""
        return self.amount / self.length

    @property
    def end(self) -> Seconds:
        """End of each interval, shape (n,). [s since 1970-01-01 UTC]"""
        return self.start + self.length

    @property
    def gaps(self) -> tuple[tuple[int, int], ...]:
        """Beginning and end of each stretch between two readings that no reading covers. [s since 1970-01-01 UTC]"""
        end = self.end
        at = np.flatnonzero(self.start[1:] > end[:-1])
        return tuple(zip(end[at].tolist(), self.start[at + 1].tolist(), strict=True))

    def local(self) -> NDArray[np.datetime64]:
        """What the local clock shows at the beginning of each interval.

        Returns
        -------
        ndarray of datetime64[s], shape (n,)
            Without offset: in autumn an hour occurs twice.

        Raises
        ------
        CaseError
            The series has no time zone.
        """
        return (self.start + offsets(self._zone(), self.start)).astype("datetime64[s]")

    def windows(self, minutes: int) -> Series:
        """The same energy in windows of the local clock, each covered by readings from end to end.

        Parameters
        ----------
        minutes : int
            Length of a window: 15, 30 or 60. [min]

        Returns
        -------
        Series
            Its `power` is the mean over each window. Windows that a gap touches are left out, and a note counts them;
            so is the odd half hour where a clock is moved by 30 minutes. Without a time zone, windows of UTC.

        Raises
        ------
        OutOfRangeError
            Another length.
        CaseError
            A reading is longer than a window or runs across its end, or no window is complete.
        """
        if minutes not in WINDOWS:
            raise OutOfRangeError(f"a window of {minutes} min is not possible; write one of 15, 30, 60")
        length = 60 * minutes
        offset = offsets(self.zone, self.start) if self.zone else np.zeros_like(self.start)
        number, into = np.divmod(self.start + offset, length)
        across = np.flatnonzero(into + self.length > length)
        if across.size:
            i = across[0]
            raise self._wrong(
                f"the reading from {self.show(self.start[i])} lasts {self.length[i] / 60:g} min and does not fit into "
                f"one window of {minutes} min; use a longer window or finer readings"
            )
        first = np.flatnonzero(np.diff(number, prepend=number[0] - 1) | np.diff(offset, prepend=offset[0]))
        full = np.add.reduceat(self.length, first) == length
        if not full.any():
            raise self._wrong(f"no window of {minutes} min is covered by readings from end to end")
        missing = int((~full).sum())
        note = f"{missing} of {full.size} windows of {minutes} min are incomplete and left out"
        return replace(
            self,
            start=(number * length - offset)[first][full],
            step=length,
            amount=np.add.reduceat(self.amount, first)[full],
            notes=(*self.notes, note) if missing else self.notes,
        )

    def monthly(self, year: int, *, with_gaps: bool = False) -> FloatArray:
        """What was counted in each month of a year of the local clock.

        Parameters
        ----------
        year : int
            1970 to 2099.
        with_gaps : bool
            Take months that are not covered from end to end for what they hold; NaN where a month holds nothing.

        Returns
        -------
        ndarray, shape (12,)
            January to December. [as `amount`]

        Raises
        ------
        CaseError
            A month is not covered, a reading runs across the end of a month, or the series has no time zone.
        """
        month = self._months(year, with_gaps)
        held = month >= 0
        count = np.bincount(month[held], minlength=12)
        return np.where(count > 0, np.bincount(month[held], self.amount[held], minlength=12), np.nan)

    def monthly_peak(self, year: int, window: int = 15, *, with_gaps: bool = False) -> FloatArray:
        """Highest mean over a window in each month of a year of the local clock.

        Parameters
        ----------
        year, with_gaps
            As for `monthly`.
        window : int
            15, 30 or 60. [min]

        Returns
        -------
        ndarray, shape (12,)
            January to December. [W for energy]

        Raises
        ------
        OutOfRangeError, CaseError
            As for `windows` and `monthly`.
        """
        self._months(year, with_gaps)
        windows = self.windows(window)
        month = windows._months(year, True)
        peak = np.full(12, -np.inf)
        np.maximum.at(peak, month[month >= 0], windows.power[month >= 0])
        return np.where(np.isfinite(peak), peak, np.nan)

    def show(self, at: int) -> str:
        """A moment as text, ISO 8601 with offset, on the local clock where the zone is known."""
        moment = datetime.fromtimestamp(int(at), zone_info(self.zone) if self.zone else UTC)
        return moment.isoformat(timespec="minutes" if int(at) % 60 == 0 else "seconds").replace("+00:00", "Z")

    def _zone(self) -> str:
        if self.zone is None:
            raise self._wrong("the local clock is not known; say zone='America/Chicago' or the zone of your clock")
        return self.zone

    def _wrong(self, message: str, key: str = "") -> CaseError:
        return CaseError([Problem(key, message)], file=self.source or None)

    def _months(self, year: int, with_gaps: bool) -> NDArray[np.int64]:
        """Month of each reading, 0 to 11, or -1 outside the year."""
        edges = month_edges(self._zone(), year)
        month = np.searchsorted(edges, self.start, side="right") - 1
        last = np.searchsorted(edges, self.end, side="left") - 1
        across = np.flatnonzero(month != last)
        if across.size:
            i = across[0]
            raise self._wrong(
                f"the reading from {self.show(self.start[i])} to {self.show(self.end[i])} runs across the end of a "
                "month; give the months as a table of twelve, or finer readings"
            )
        month[month == 12] = -1
        if not with_gaps:
            problems = [p for m in range(12) if (p := self._missing(f"{year}-{m + 1:02d}", edges[m], edges[m + 1]))]
            if problems:
                raise CaseError(problems, file=self.source or None)
        return month

    def _missing(self, name: str, first: int, last: int) -> Problem | None:
        inside = slice(*np.searchsorted(self.start, (first, last)))
        ends = np.concatenate(([first], self.end[inside]))
        starts = np.concatenate((self.start[inside], [last]))
        at = np.flatnonzero(starts > ends)
        if not at.size:
            return None
        if at.size == 1 and ends.size == 1:
            return Problem(name, "has no readings; the month cannot be billed")
        listed = [f"{self.show(ends[i])} to {self.show(starts[i])}" for i in at[:_SHOWN]]
        more = f" and {at.size - _SHOWN} more" if at.size > _SHOWN else ""
        hours = (starts - ends)[at].sum() / 3600
        return Problem(name, f"lacks {hours:.6g} h of readings: {', '.join(listed)}{more}; nothing is filled in")


def zone_info(zone: str) -> tzinfo:
    """A time zone by its IANA name.

    Raises
    ------
    CaseError
        There is no such zone.
    """
    from zoneinfo import ZoneInfo, available_timezones

    try:
        return ZoneInfo(zone)
    except (KeyError, ValueError, OSError):  # not found; not a name; a folder
        hint = nearest(zone, sorted(available_timezones()))
        message = f"'{zone}' is not a time zone; write an IANA name such as America/Chicago, Europe/Berlin or UTC{hint}"
        raise CaseError([Problem("zone", message)]) from None


def offsets(zone: str, at: Seconds) -> Seconds:
    """Local clock minus UTC at given moments.

    Parameters
    ----------
    zone : str
        IANA name.
    at : ndarray, shape (n,), n > 0
        [s since 1970-01-01 UTC]

    Returns
    -------
    ndarray, shape (n,)
        [s]
    """
    moments, values = changes(zone, int(at.min()), int(at.max()))
    return values[np.searchsorted(moments, at, side="right") - 1]


def changes(zone: str, first: int, last: int) -> tuple[Seconds, Seconds]:
    """Moments at which the clock of a zone is moved, and its offset from each on; the first is `first` itself.

    Found from one day to the next, so two changes within a day that undo each other are not seen.

    Parameters
    ----------
    zone : str
        IANA name.
    first, last : int
        Range. [s since 1970-01-01 UTC]

    Returns
    -------
    moments, offsets : ndarray, shape (k,)
        [s since 1970-01-01 UTC], [s]
    """
    info = zone_info(zone)
    epoch = datetime(1970, 1, 1, tzinfo=UTC)

    def offset(at: int) -> int:
        return int(((epoch + timedelta(seconds=at)).astimezone(info).utcoffset() or timedelta()).total_seconds())

    moments, values = [first], [offset(first)]
    for day in range(first + _DAY, last + _DAY + 1, _DAY):
        if (new := offset(day)) != values[-1]:
            low, high = day - _DAY, day
            while high - low > 1:
                middle = (low + high) // 2
                low, high = (middle, high) if offset(middle) == values[-1] else (low, middle)
            moments.append(high)
            values.append(new)
    return np.array(moments, dtype=np.int64), np.array(values, dtype=np.int64)


def from_local(zone: str, local: Seconds) -> tuple[Seconds, Seconds]:
    """First and last moment at which the clock of a zone shows given times.

    Parameters
    ----------
    zone : str
        IANA name.
    local : ndarray, shape (n,), n > 0
        Times of the local clock. [s since 1970-01-01 00:00 on that clock]

    Returns
    -------
    first, last : ndarray, shape (n,)
        They differ in the hour that occurs twice; both are -1 where the clock skips that time.
        [s since 1970-01-01 UTC]
    """
    moments, values = changes(zone, int(local.min()) - 2 * _DAY, int(local.max()) + 2 * _DAY)
    first, last = np.full_like(local, -1), np.full_like(local, -1)
    for begin, end, offset in zip(moments, [*moments[1:], np.iinfo(np.int64).max], values, strict=True):
        at = local - offset
        shown = (at >= begin) & (at < end)
        first = np.where(shown & (first == -1), at, first)
        last = np.where(shown, at, last)
    return first, last


def month_edges(zone: str, year: int) -> Seconds:
    """Beginning of each month of a year on the local clock, and the end of the last.

    Parameters
    ----------
    zone : str
        IANA name.
    year : int
        1970 to 2099.

    Returns
    -------
    ndarray, shape (13,)
        [s since 1970-01-01 UTC]

    Raises
    ------
    OutOfRangeError
        Another year.
    """
    if not 1970 <= year <= 2099:
        raise OutOfRangeError(f"year = {year} is outside 1970 to 2099")
    local = np.arange(f"{year}-01", f"{year + 1}-02", dtype="datetime64[M]").astype("datetime64[s]").astype(np.int64)
    moments, values = changes(zone, int(local[0]) - 2 * _DAY, int(local[-1]) + 2 * _DAY)
    ends = np.append(moments[1:], np.iinfo(np.int64).max)
    candidates = np.maximum(moments, local[:, None] - values)  # a clock may skip midnight
    return np.where(candidates < ends, candidates, np.iinfo(np.int64).max).min(axis=1)
