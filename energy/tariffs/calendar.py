"""When which price holds: seasons, days, clock windows and holidays, on the clock of a time zone.

A price cell is a season and a period of the day together, such as "summer on-peak". Every quarter hour of a year
lies in exactly one cell.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from datetime import date
from functools import cached_property
from typing import Annotated, Literal, Self, TypeAlias, get_args

import numpy as np
from numpy.typing import NDArray
from pydantic import BaseModel, ConfigDict, Field, field_validator, model_validator

from energy.errors import EnergyError, nearest
from energy.holidays import HolidayRule
from energy.tariffs.clock import QUARTER, Clock, Integers, holidays_kept, quarter_hours, zone_of

Day: TypeAlias = Literal["mon", "tue", "wed", "thu", "fri", "sat", "sun", "holiday"]
DAYS: tuple[str, ...] = get_args(Day)
Name = Annotated[str, Field(min_length=1)]
_RECORD = ConfigDict(frozen=True, extra="forbid")
_DATE = r"(\d{1,2})-(\d{1,2})"
_CLOCK = r"(\d{1,2}):(\d{2})"
_LENGTHS = (31, 29, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31)


class Window(BaseModel):
    """Some hours of some days, in which a period holds."""

    model_config = _RECORD

    period: Name
    """Name of the period, such as "on-peak"."""
    seasons: tuple[str, ...] = ()
    """Seasons it holds in; empty for all."""
    days: Annotated[tuple[Day, ...], Field(min_length=1)] = get_args(Day)
    hours: Annotated[tuple[str, ...], Field(min_length=1)] = ("00:00-24:00",)
    """Spans of the clock in steps of a quarter hour; one that ends before it starts is cut at midnight and
    both parts belong to the same date."""


class Holidays(BaseModel):
    """Days that are treated as "holiday" whatever weekday they fall on."""

    model_config = _RECORD

    country: str | None = None
    """Code such as US."""
    subdivision: str | None = None
    names: tuple[str, ...] = ()
    """English names of the country's holidays to keep; empty for all."""
    rule: HolidayRule = "none"
    """What becomes of one on a weekend."""
    dates: tuple[date, ...] = ()
    """Further days, taken as they stand."""


class PriceCalendar(BaseModel):
    """When which price holds."""

    model_config = _RECORD

    time_zone: str | None = None
    """IANA name of the clock that is billed by; without one, a clock without daylight saving."""
    seasons: dict[Name, Annotated[tuple[str, ...], Field(min_length=1)]] = Field(default_factory=dict)
    """Spans of dates such as "06-01 to 09-30" by season, both ends included; they may cross the end of the year."""
    holidays: Holidays | None = None
    windows: tuple[Window, ...] = ()
    rest: Name | None = None
    """Period of all the time that lies in no window; without it the windows must leave no gap."""

    @field_validator("time_zone")
    @classmethod
    def _zone(cls, value: str | None) -> str | None:
        try:
            zone_of(value)
        except EnergyError as error:
            raise ValueError(str(error)) from None
        return value

    @model_validator(mode="after")
    def _whole(self) -> Self:
        found = list(self._problems())
        if not found:
            found = self._drawn[2]
        if found:
            raise ValueError("\n".join(found))
        return self

    def _problems(self) -> Iterator[str]:
        if not self.windows and self.rest is None:
            yield "windows: there is none; write [[calendar.windows]], or rest = the name of the one period"
        for number, window in enumerate(self.windows, start=1):
            for season in window.seasons:
                if season not in self.seasons:
                    known = ", ".join(self.seasons) or "none"
                    yield (
                        f"windows, number {number}.seasons: '{season}' is not a season"
                        f"{nearest(season, [*self.seasons])}; those are {known}"
                    )
            if "holiday" in window.days and self.holidays is None and "days" in window.model_fields_set:
                yield f"windows, number {number}.days: holiday is named, but the calendar has no [calendar.holidays]"
            for text in window.hours:
                if _span(text) is None:
                    yield (
                        f"windows, number {number}.hours: '{text}' is not a span of the clock; "
                        "write one such as 06:00-14:30, on quarter hours"
                    )
        for name, spans in self.seasons.items():
            yield from (
                f"seasons.{name}: '{text}' is not a span of dates; write one such as 06-01 to 09-30"
                for text in spans
                if _season_days(text) is None
            )
        both = sorted({w.period for w in self.windows} & {*self.seasons})
        yield from (f"windows: '{name}' is the name of a season and of a period; give them two names" for name in both)

    @cached_property
    def _drawn(self) -> tuple[Integers, Integers, list[str]]:
        """Season of each date (12, 31), period of each season, day and quarter hour; what overlaps or is left out."""
        found: list[str] = []
        of_date = np.full((12, 31), -1, dtype=np.int64)
        names = [*self.seasons]
        if not names:
            of_date[:] = 0
        for number, (name, spans) in enumerate(self.seasons.items()):
            for text in spans:
                for month, day in _season_days(text) or ():
                    other = of_date[month, day]
                    if other >= 0:
                        twice = f"{names[other]} and {name}" if other != number else f"{name} twice"
                        found.append(
                            f"seasons.{name}: {month + 1:02d}-{day + 1:02d} lies in {twice}; let one end the day before the other begins"
                        )
                        break
                    of_date[month, day] = number
        missing = [(m, d) for m in range(12) for d in range(_LENGTHS[m]) if of_date[m, d] < 0]
        if missing:
            month, day = missing[0]
            found.append(f"seasons: {month + 1:02d}-{day + 1:02d} lies in no season ({len(missing)} days do)")
        periods = self._periods
        table = np.full((max(1, len(names)), 8, 96), -1, dtype=np.int64)
        owner = np.full(table.shape, -1, dtype=np.int64)
        for number, window in enumerate(self.windows, start=1):
            mask = np.zeros(table.shape, dtype=bool)
            for season in [names.index(s) for s in window.seasons] or range(table.shape[0]):
                for day_name in window.days:
                    for text in window.hours:
                        mask[season, DAYS.index(day_name)] |= _span(text)
            overlap = mask & (owner >= 0)
            if overlap.any():
                other = int(owner[tuple(np.argwhere(overlap)[0])])
                found.append(
                    f"windows, number {number} ({window.period}) and number {other} "
                    f"({self.windows[other - 1].period}) overlap {self._place(overlap)}; "
                    f"shorten the hours of one, or give them other days{' or seasons' if self.seasons else ''}"
                )
            owner[mask & ~overlap] = number
            table[mask] = periods.index(window.period)
        gap = table < 0
        if self.holidays is None:
            gap[:, 7] = False
        if gap.any() and self.rest is None:
            found.append(
                f"windows: no window holds {self._place(gap)}; add one, or write rest = the period of all other time"
            )
        elif self.rest is not None:
            table[table < 0] = periods.index(self.rest)
        return of_date, table, found

    def _place(self, mask: NDArray[np.bool_]) -> str:
        season, day, quarter = np.argwhere(mask)[0]
        where = f" in {[*self.seasons][season]}" if self.seasons else ""
        return f"on {DAYS[day]} at {quarter // 4:02d}:{quarter % 4 * 15:02d}{where}"

    @cached_property
    def _periods(self) -> list[str]:
        """Names of the periods, those of windows first."""
        return list(dict.fromkeys([*(w.period for w in self.windows), *([self.rest] if self.rest else [])]))

    @cached_property
    def _cells(self) -> tuple[tuple[tuple[int, int], ...], Integers]:
        """Season and period of every cell that occurs, and the cell of each season, day and quarter hour."""
        table = self._drawn[1]
        used = table if self.holidays is not None else table[:, :7]
        pairs = [(s, p) for s in range(table.shape[0]) for p in range(len(self._periods)) if (used[s] == p).any()]
        cell = np.full_like(table, -1)
        for number, (season, period) in enumerate(pairs):
            cell[season][table[season] == period] = number
        return tuple(pairs), cell

    @cached_property
    def cells(self) -> tuple[str, ...]:
        """Names of the price cells: season and period, or the period alone where there are no seasons."""
        seasons = [f"{name} " for name in self.seasons] or [""]
        return tuple(f"{seasons[s]}{self._periods[p]}" for s, p in self._cells[0])

    @cached_property
    def names(self) -> tuple[str, ...]:
        """Every name by which cells can be chosen: cells, periods and seasons."""
        return tuple(dict.fromkeys([*self.cells, *self._periods, *self.seasons]))

    def select(self, names: Sequence[str]) -> tuple[int, ...]:
        """Numbers of the cells that bear one of the names; all without a name.

        Parameters
        ----------
        names : sequence of str
            Of cells, of periods (in all seasons) or of seasons (in all periods).

        Raises
        ------
        EnergyError
            A name that is none of them.
        """
        key = tuple(names)
        if key not in self._selected:
            self._selected[key] = self._select(key)
        return self._selected[key]

    @cached_property
    def _selected(self) -> dict[tuple[str, ...], tuple[int, ...]]:
        return {}

    def _select(self, names: tuple[str, ...]) -> tuple[int, ...]:
        if not names:
            return tuple(range(len(self.cells)))
        for name in names:
            if name not in self.names:
                raise EnergyError(
                    f"'{name}' is no period or season of the calendar{nearest(name, self.names)}; "
                    f"those are {', '.join(self.names)}"
                )
        seasons = [*self.seasons]
        found = []
        for number, (s, p) in enumerate(self._cells[0]):
            if {self.cells[number], self._periods[p], *seasons[s : s + 1]} & {*names}:
                found.append(number)
        return tuple(found)

    def cell_at(self, clock: Clock) -> Integers:
        """Number of the price cell at each instant of a clock."""
        of_date = self._drawn[0]
        day_type = clock.weekday.copy()
        if self.holidays is not None:
            h = self.holidays
            for year in np.unique(clock.day.astype("datetime64[D]").astype("datetime64[Y]").astype(np.int64) + 1970):
                kept = holidays_kept(int(year), h.country, h.subdivision, h.names, h.dates, h.rule)
                day_type[np.isin(clock.day, kept)] = 7
        return self._cells[1][of_date[clock.month, clock.month_day], day_type, clock.quarter]

    def time(self, year: int) -> NDArray[np.float64]:
        """Time of each cell in each month of a local year, shape (12, cells). [s]"""
        if year not in self._times:
            clock = quarter_hours(year, self.time_zone)
            code = clock.month * len(self.cells) + self.cell_at(clock)
            counts = np.bincount(code, minlength=12 * len(self.cells)).reshape(12, -1)
            self._times[year] = np.multiply(float(QUARTER), counts)
        return self._times[year]

    def months_of(self, cells: tuple[int, ...], year: int) -> list[int]:
        """Months of a local year, from 0, in which some cells occur."""
        key = (cells, year)
        if key not in self._months:
            self._months[key] = np.flatnonzero(self.time(year)[:, list(cells)].sum(-1) > 0).tolist()
        return self._months[key]

    @cached_property
    def _months(self) -> dict[tuple[tuple[int, ...], int], list[int]]:
        return {}

    @cached_property
    def _times(self) -> dict[int, NDArray[np.float64]]:
        return {}

    @cached_property
    def fingerprint(self) -> str:
        """Equal for equal calendars."""
        return self.model_dump_json()

    @property
    def step(self) -> int:
        """Longest span of the clock at whose multiples every period begins and ends: 60, 30 or 15 min. [s]"""
        change = np.flatnonzero((np.diff(self._cells[1], axis=-1) != 0).any(axis=(0, 1))) + 1
        return next(QUARTER * k for k in (4, 2, 1) if (change % k == 0).all())


ALWAYS = PriceCalendar(rest="all hours")
"""Calendar of a tariff that has none: one cell."""


def _span(text: str) -> NDArray[np.bool_] | None:
    """Quarter hours of a span of the clock, or None when it is not one."""
    match = re.fullmatch(rf"\s*{_CLOCK}\s*(?:-|to)\s*{_CLOCK}\s*", text)
    if not match:
        return None
    hour, minute, to_hour, to_minute = map(int, match.groups())
    begin, end = 60 * hour + minute, 60 * to_hour + to_minute
    if max(minute, to_minute) > 59 or max(begin, end) > 1440 or begin == 1440 or begin == end or begin % 15 or end % 15:
        return None
    quarter = 15 * np.arange(96)
    inside = (quarter >= begin, quarter < end)
    return inside[0] & inside[1] if begin < end else inside[0] | inside[1]


def _season_days(text: str) -> list[tuple[int, int]] | None:
    """Month and day, counted from 0, of every date in a span; None when it is not one."""
    match = re.fullmatch(rf"\s*{_DATE}\s*to\s*{_DATE}\s*", text)
    if not match:
        return None
    month, day, to_month, to_day = (int(part) - 1 for part in match.groups())
    days = [(m, d) for m in range(12) for d in range(_LENGTHS[m])]
    if (month, day) not in days or (to_month, to_day) not in days:
        return None
    begin, end = days.index((month, day)), days.index((to_month, to_day))
    return days[begin : end + 1] if begin <= end else days[begin:] + days[: end + 1]
