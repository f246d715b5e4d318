"""The load of a meter as people have it: a constant power, the quantities of a month, or a file of readings."""

from __future__ import annotations

import os
import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from os.path import basename
from typing import Any

import numpy as np

from energy.errors import CaseError, EnergyError, OutOfRangeError, Problem
from energy.tariffs.clock import quarter_hours
from energy.tariffs.coarse import fitted
from energy.tariffs.common import month_days
from energy.tariffs.crossing import cross, load_from_periods, load_from_series
from energy.tariffs.load import Array, Load
from energy.tariffs.lone import lone
from energy.tariffs.readers import MonthlyTable, Series, read_espi, read_interval_csv, read_monthly_table
from energy.tariffs.readers.series import month_edges
from energy.tariffs.tariff import Tariff

_MONTHS = range(1, 13)


@dataclass(frozen=True, slots=True, kw_only=True)
class Metered:
    """A load from a file, and what a reader of its bill must know."""

    load: Load
    cautions: tuple[str, ...] = ()


def constant_load(tariff: Tariff, flow: float, year: int, **others: Any) -> Load:
    """The load of a meter that runs evenly all year.

    Parameters
    ----------
    tariff : Tariff
        Its calendar, demand window and commodity.
    flow : float
        Power, of water a volume flow. [W or m3/s]
    year : int
    **others
        Further fields of `Load`, such as `power_factor`.

    Returns
    -------
    Load
    """
    if tariff.commodity == "water":
        return Load(volume=flow * 86400.0 * month_days(year), year=year, **others)
    clock = quarter_hours(year, tariff.price_calendar.time_zone)
    return load_from_periods([flow], cross(np.zeros(clock.time.size, dtype=np.int64), tariff, year), **others)


def month_load(
    tariff: Tariff,
    month: int,
    year: int,
    *,
    energy: float | None = None,
    peak: float | None = None,
    volume: float | None = None,
    daily_peak: float | None = None,
    power_factor: float | None = None,
    energy_in: Mapping[str, float] | None = None,
    peak_in: Mapping[str, float] | None = None,
    earlier_peak: float | None = None,
) -> Load:
    """The load behind the bill of one month; bill it with history "steady" and take that month's lines.

    Parameters
    ----------
    tariff : Tariff
    month : int
        1 to 12.
    year : int
    energy, peak, volume, daily_peak, power_factor : float, optional
        As on the bill. [J], [W], [m3], [J], [-]
    energy_in, peak_in : mapping, optional
        Energy and peak by price cell, in place of `energy` and `peak`. [J], [W]
    earlier_peak : float, optional
        Peak that a ratchet finds in every other month; none by default. [W]

    Returns
    -------
    Load
        Nothing but that peak in the other months. Without quantities by cell, energy is spread over the hours of the
        clock and the peak may fall into any cell.
    """
    only = np.arange(12) == month - 1
    before = 0.0 if earlier_peak is None else earlier_peak
    fields: dict[str, Any] = {
        name: np.where(only, value, 0.0)
        for name, value in (("energy", energy), ("volume", volume), ("daily_peak", daily_peak))
        if value is not None
    }
    if peak is not None:
        fields["peak"] = np.where(only, peak, before)
    if power_factor is not None:
        fields["power_factor"] = np.full(12, power_factor)
    calendar = tariff.price_calendar
    if energy_in:
        fields["cell_energy"] = np.where(only[:, None], [energy_in.get(c, 0.0) for c in calendar.cells], 0.0)
    if peak_in:
        occurs = calendar.time(year) > 0
        fields["cell_peak"] = np.where(
            only[:, None], [peak_in.get(c, 0.0) for c in calendar.cells], np.where(occurs, before, 0.0)
        )
    if energy_in or peak_in:
        fields["cells"] = calendar.cells
    return Load(year=year, spread="clock hours", **fields)


NO_CLOCK = (
    "the moments of the readings are known, but neither the file nor the tariff names the clock that months and days go by; say "
    "zone='America/Chicago' or the zone of your clock"
)
IN_UTC = (
    "The time stamps are in UTC and neither the file nor the tariff names another clock: months, days and hours are those of UTC. "
    "Where the plant's clock is another, name its time zone."
)


def read_load(
    path: str | os.PathLike[str],
    tariff: Tariff,
    year: int,
    *,
    month: int | None = None,
    column: str | None = None,
    zone: str | None = None,
    power_factor: float | None = None,
    **options: Any,
) -> Metered:
    """Read a plant's own load for a bill.

    Parameters
    ----------
    path : str or path
        ESPI XML; a table of twelve months (.toml, or text with a column "month"); else interval readings in text.
    tariff : Tariff
        Its calendar, demand window and commodity.
    year : int
        Local year that is billed.
    month : int, optional
        The one month that is needed, 1 to 12; others may then lack readings and count as no load.
    column : str, optional
        Name of the column of figures; of an ESPI file the number of the meter reading, from 1.
    zone : str, optional
        IANA name of the time zone of the stamps; by default that of the tariff.
    power_factor : float, optional
        Of all months. [-]
    **options
        Further options of `read_interval_csv`.

    Returns
    -------
    Metered

    Raises
    ------
    CaseError
        The file cannot be read or used, or readings are missing; with file and place.
    """
    others = {} if power_factor is None else {"power_factor": np.full(12, power_factor)}
    found, reactive, said = read_meter(path, tariff, column=column, zone=zone, **options)
    if isinstance(found, MonthlyTable):
        return _of_table(found, tariff, year, others)
    cautions = [*said]
    if reactive is not None and power_factor is None:
        try:
            others["reactive_energy"] = _with_zone(reactive, tariff, []).monthly(year)
        except EnergyError:
            cautions.append("The reactive energy in the file does not cover the year and is not used.")
    made = _of_series(found, tariff, year, month, others, cautions)
    return Metered(load=made, cautions=(*_sentences(found.notes), *lone(found, tariff), *cautions))


def read_meter(
    path: str | os.PathLike[str], tariff: Tariff, *, column: str | None = None, zone: str | None = None, **options: Any
) -> tuple[MonthlyTable | Series, Series | None, tuple[str, ...]]:
    """What a file of a meter holds, as read; parameters and errors as for `read_load`.

    Returns
    -------
    MonthlyTable or Series
        Twelve months, or readings.
    Series or None
        The reactive energy beside them.
    tuple of str
        What was taken for granted.
    """
    form = _form(path)
    if form == "monthly table":
        return read_monthly_table(path, decimal=options.get("decimal")), None, ()
    if form == "espi":
        return *_chosen(read_espi(path, zone=zone), tariff, column, str(path)), ()
    cautions: list[str] = []
    return _interval(path, tariff, zone, column, options, cautions), None, tuple(cautions)


def _form(path: str | os.PathLike[str]) -> str:
    """What a file holds, from its name and its beginning; files that cannot be read are left to the readers."""
    name = os.fspath(path).lower()
    if name.endswith(".toml"):
        return "monthly table"
    try:
        with open(path, "rb") as stream:
            start = stream.read(4096)
    except (OSError, ValueError):
        start = b""
    encoding = "utf-16" if start[:2] in (b"\xff\xfe", b"\xfe\xff") else "utf-8-sig"
    text = start.decode(encoding, errors="replace").strip()
    if name.endswith(".xml") or text.startswith("<"):
        return "espi"
    head = [cell.strip().strip('"').lower() for cell in re.split(r"[;,\t]", text.split("\n", 1)[0])]
    return "monthly table" if "month" in head else "interval"


def _interval(
    path: str | os.PathLike[str],
    tariff: Tariff,
    zone: str | None,
    column: str | None,
    options: Mapping[str, Any],
    cautions: list[str],
) -> Series:
    """Interval readings; stamps without an offset are those of the tariff's own clock where nothing else is said."""
    own = tariff.price_calendar.time_zone
    try:
        return read_interval_csv(path, value=column, zone=zone, commodity=tariff.commodity, **options)
    except CaseError as error:
        if zone or not own or "have no offset" not in str(error):
            raise
    cautions.append(f"The time stamps have no offset and are read on the tariff's own clock, {own}.")
    return read_interval_csv(path, value=column, zone=own, commodity=tariff.commodity, **options)


def _chosen(found: Sequence[Series], tariff: Tariff, column: str | None, file: str) -> tuple[Series, Series | None]:
    """The meter reading to bill, and the reactive energy beside it."""
    reactive = next((s for s in found if s.counted == "reactive energy"), None)
    listed = ", ".join(f"{i} {s.counted}{f' ({s.notes[0]})' if s.notes else ''}" for i, s in enumerate(found, 1))
    if column is not None:
        if not column.isdecimal() or not 1 <= int(column) <= len(found):
            raise CaseError([Problem("", f"has no meter reading '{column}'; it holds {listed}")], file=file)
        return found[int(column) - 1], reactive
    fitting = [
        s
        for s in found
        if s.counted in ("energy", "volume")
        and s.commodity in (None, tariff.commodity)
        and not any("flows back" in note for note in s.notes)
    ]
    if len(fitting) != 1:
        what = f"{len(fitting)} meter readings" if fitting else "no meter reading"
        message = f"holds {what} of {tariff.commodity}: {listed}; choose one by its number with value="
        raise CaseError([Problem("", message)], file=file)
    return fitting[0], reactive


def _with_zone(series: Series, tariff: Tariff, cautions: list[str]) -> Series:
    """The series on the tariff's clock; on its own where the tariff has none, by UTC where its stamps are in UTC and nothing names a clock."""
    own = tariff.price_calendar.time_zone
    if not own and not series.zone:
        if not series.in_utc:
            raise CaseError([Problem("", NO_CLOCK)], file=series.source or None)
        cautions.append(IN_UTC)
        return replace(series, zone="UTC")
    if own and series.zone and own != series.zone:
        cautions.append(f"The tariff is billed by the clock of {own}; the readings are of {series.zone}.")
    return replace(series, zone=own or series.zone)


def _of_series(
    series: Series, tariff: Tariff, year: int, month: int | None, others: Mapping[str, Any], cautions: list[str]
) -> Load:
    series = _with_zone(series, tariff, cautions)
    whole = _whole_months(series, year, month, cautions)
    if series.counted not in ("energy", "volume"):
        raise CaseError([Problem("", f"counts {series.counted}; a bill needs energy")], file=series.source)
    if series.counted == "volume":
        if tariff.gas is None:
            volume = np.nan_to_num(series.monthly(year, with_gaps=True)) * whole
            return Load(volume=volume, year=year, **others)
        content = float(tariff.gas.heating_value) * float(tariff.gas.volume_factor)
        series = replace(series, amount=series.amount * content, counted="energy")
    series, remarks = fitted(series, tariff)
    cautions += remarks
    length = int(tariff.demand_window)
    windows = series.windows(length // 60)
    edges = month_edges(str(windows.zone), year)
    start = np.arange(edges[0], edges[-1], length)
    place = np.searchsorted(start, windows.start)
    held = (windows.start >= edges[0]) & (windows.start < edges[-1])
    power = np.zeros(start.size)
    power[place[held]] = windows.power[held]
    power *= whole[np.searchsorted(edges, start, side="right") - 1]
    return load_from_series(start, power, tariff.on_clock(windows.zone), step=float(length), **others)


def _whole_months(series: Series, year: int, month: int | None, cautions: list[str]) -> Array:
    """1 for each month that is covered from end to end, 0 for one that is not and need not be."""
    try:
        series.monthly(year)
    except CaseError as error:
        missing = {p.key for p in error.problems}
        names = [f"{year}-{m:02d}" for m in _MONTHS]
        if month is None or not missing <= {*names} or names[month - 1] in missing:
            wanted = [p for p in error.problems if month is None or p.key == names[month - 1]] or [*error.problems]
            empty = [p for p in wanted if p.message.startswith("has no readings")]
            if len(empty) > 1:
                span = f"{series.show(series.start[0])} to {series.show(series.end[-1])}"
                message = f"{len(empty)} months have no readings, which run from {span}"
                wanted = [
                    *(p for p in wanted if p not in empty),
                    Problem(f"{empty[0].key} to {empty[-1].key}", message),
                ]
            clock = f"; months are those of the clock of {series.zone}"
            if IN_UTC in cautions:
                clock += ", since neither the file nor the tariff names another; say zone='America/Chicago' or the zone of your clock"
            wanted = [Problem(p.key, p.message + clock * ("lacks" in p.message)) for p in wanted]
            raise CaseError(wanted, file=series.source or None) from None
        cautions.append(
            f"Readings of {len(missing)} other month{'s' * (len(missing) > 1)} are missing or have gaps, which counts as no "
            "load: a ratchet finds no peak there."
        )
        return np.array([name not in missing for name in names], dtype=float)
    return np.ones(12)


def _of_table(table: MonthlyTable, tariff: Tariff, year: int, others: dict[str, Any]) -> Metered:
    cautions = [f"{note[:1].upper()}{note[1:]}." for note in table.notes]
    years = sorted({y for y in table.year if y is not None} - {year})
    if years:
        cautions.append(
            f"{basename(table.source)} holds months of {', '.join(map(str, years))}, billed here as {year}."
        )
    if table.reactive is not None and not others:
        others["apparent_peak"] = np.hypot(table.peak, table.reactive)
    load = Load(energy=table.energy, peak=table.peak, year=year, spread="clock hours", **others)
    return Metered(load=load, cautions=tuple(cautions))


def _sentences(notes: Sequence[str]) -> tuple[str, ...]:
    return tuple(f"{note[:1].upper()}{note[1:]}." for note in notes)


def check_year(year: int) -> int:
    """A year that can be billed.

    Raises
    ------
    OutOfRangeError
        Before 1970 or after 2099.
    """
    if not 1970 <= year <= 2099:
        raise OutOfRangeError(f"year = {year} is outside 1970 to 2099")
    return year
