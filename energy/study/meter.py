"""From a year of operating states to what a meter sees: dryers alone, or the whole plant with them."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import replace
from typing import Any

import numpy as np

from energy import tariffs
from energy.dryers.base import Array
from energy.errors import EnergyError, LocatedError
from energy.plant.calendar import ON_CLOCK, STATES
from energy.study.case import Case
from energy.study.year import PRODUCTION, START, Year
from energy.tariffs import Load, Tariff
from energy.tariffs.common import month_days
from energy.tariffs.lone import lone
from energy.tariffs.readers.below_zero import below_zero


class BillError(LocatedError):
    """A tariff that cannot bill the load, with the place in the case that would mend it."""

    def __init__(self, place: str, message: str, where: Any = None) -> None:
        super().__init__(message, where)
        self.place = place


def meters(case: Case) -> Iterator[tuple[str, Tariff | None, tuple[str, ...]]]:
    """Name of the yearly cost, tariff and carriers of each meter."""
    air = case.model.compressed_air
    electric = ("electricity", "compressed air") if air is None or air.cost is None else ("electricity",)
    yield "electricity", case.tariffs.get("electricity"), electric
    yield "gas", case.tariffs.get("gas"), ("gas",)
    yield "water", case.tariffs.get("cooling"), ("cooling",)


def loads(
    case: Case,
    tariff: Tariff,
    year: Year,
    present: Year,
    carriers: tuple[str, ...],
    around: tariffs.Around | None = None,
    known: Load | None = None,
) -> tuple[Load, Load]:
    """What the meter sees with a year's dryers, and without any.

    Parameters
    ----------
    case : Case
    tariff : Tariff
        Its calendar decides how the load is laid out.
    year, present : Year
        Of the option, and of the baseline, which is in the plant's own readings.
    carriers : tuple of str
        That go through this meter.
    around : Around, optional
        What `readings_around` makes of the case, where it is known already.
    known : Load, optional
        What the meter sees without any dryers, where it is known already.

    Raises
    ------
    BillError
        The plant's readings are less than what its present dryers take.
    """
    own = _dryers(case, tariff, year, carriers)
    if not has_plant(case, tariff.commodity):
        return _load(case, tariff, own), known or _load(case, tariff, {k: 0.0 * v for k, v in own.items()})
    there = _dryers(case, tariff, present, carriers)
    if case.readings is not None and tariff.commodity == "electricity":
        return _on_readings(case, around or readings_around(case, tariff), there, own)
    plant = _plant(case, tariff, own)
    rest = {key: plant[key] - there[key] for key in plant}
    most = float(np.max(plant["energy"]))
    for key in ("energy", "cell_energy"):
        short = rest.get(key, rest["energy"]) < -1e-6 * most
        if np.any(short):
            message = "the plant takes less in some month than its present dryers alone; check both"
            raise BillError("plant_load" if tariff.commodity == "electricity" else "tariffs.plant_gas", message, short)
    bare = {key: np.maximum(value, 0.0) for key, value in rest.items()}
    return _load(case, tariff, {key: bare[key] + own[key] for key in bare}), known or _load(case, tariff, bare)


def mean_power(case: Case, tariff: Tariff, year: Year, carriers: tuple[str, ...]) -> Array:
    """Mean power of the dryers on one meter in each operating state, of a case with interval readings, shape (..., 12, states). [W]"""
    return _dryers(case, tariff, year, carriers)["power"]


def readings_around(case: Case, tariff: Tariff) -> tariffs.Around:
    """The plant's interval readings crossed with the dryers' operating states.

    Raises
    ------
    BillError
        Readings that this tariff cannot bill, or a calendar without shifts.
    """
    assert case.readings is not None
    zoned = tariff.on_clock(case.readings.zone)
    try:
        readings, _ = tariffs.fitted(case.readings, zoned)
        clock = tariffs.clock_at(readings.start, zoned.price_calendar.time_zone)
        return tariffs.around(readings, _states_at(case, clock), zoned, ON_CLOCK)
    except BillError:
        raise
    except EnergyError as error:
        raise BillError(_read_at(case), f"{error}{_other_clock(case, zoned)}") from error


def _other_clock(case: Case, tariff: Tariff) -> str:
    """Added where readings do not make the year of a tariff by another clock than their own; else empty."""
    assert case.readings is not None
    read, billed_by = case.readings.zone, tariff.price_calendar.time_zone
    if read is None or read == billed_by:
        return ""
    return (
        f"; '{tariff.name}' is billed by the clock of {billed_by}, the readings are of {read}: its year begins at another hour. Give readings "
        f"of a day more at either end, or a tariff with time_zone = '{read}'"
    )


def _on_readings(
    case: Case, plant: tariffs.Around, there: Mapping[str, Array], own: Mapping[str, Array]
) -> tuple[Load, Load]:
    """The plant's readings less its present dryers, with and without an option's.

    Energy goes by the dryers' mean power of each operating state. At a peak they draw more: the share that coincides of how far
    their highest power in a state stands above that mean. What the readings hold of the present dryers at a peak is that of their
    own, so it is taken off for the plant without dryers, and an option's is put in its place.
    """
    assert plant.load.cell_energy is not None
    energy = plant.load.cell_energy - plant.energy_of(there["power"])
    short = energy.sum(-1) < 0.0
    if np.any(short):
        message = "the plant takes less in some month than its present dryers alone; check both"
        raise BillError("plant_load", message, short)
    share = float(case.model.tariffs.coincidence)
    present, option = (dryers["power"] + share * (dryers["most"] - dryers["power"]) for dryers in (there, own))
    bare = np.maximum(energy, 0.0)
    whole = bare + plant.energy_of(own["power"])
    fields: dict[str, Any] = {"cells": plant.load.cells, "year": plant.load.year}
    if case.model.tariffs.power_factor is not None:
        fields["power_factor"] = np.full(12, float(case.model.tariffs.power_factor))
    # A demand is never below the mean power of its own price cell, which a plant that runs evenly would come to else.
    time = plant.time.sum(-2)
    without, with_ = (
        Load(cell_energy=cell_energy, cell_peak=np.maximum(peak, _over(cell_energy, time)), **fields)
        for cell_energy, peak in zip((bare, whole), plant.peaks_with(present, option), strict=True)
    )
    return with_, without


def _read_at(case: Case) -> str:
    """Key of the plant's readings."""
    given = case.model.plant_load
    return "plant_load.file" if given is not None and given.file else "plant_load.readings"


def _states_at(case: Case, clock: Any) -> Any:
    """Operating state at instants of any year, by the weekday pattern of the case's own."""
    quarters = case.calendar.quarters
    if quarters is None:
        raise BillError("calendar", "interval readings need shifts, which tell when the dryers run")
    # The same weekday of the same week: readings may be of another year than the case.
    first = int(np.datetime64(f"{case.model.case.year}-01-01", "D").astype(np.int64))
    start_of_year = clock.day.astype("datetime64[D]").astype("datetime64[Y]").astype("datetime64[D]").astype(np.int64)
    day = clock.day - start_of_year
    shift = (clock.weekday - (first + 3 + day)) % 7  # 1970-01-01 was a Thursday
    same = day + np.where(shift > 3, shift - 7, shift)
    same = same + 7 * (same < 0) - 7 * (same >= len(quarters))  # at either end of the year that of the week beside
    return quarters[same, clock.quarter].astype(np.int64)


def _load(case: Case, tariff: Tariff, quantities: Mapping[str, Array]) -> Load:
    fields: dict[str, Any] = {k: v for k, v in quantities.items() if k not in ("power", "most")}
    fields["year"] = case.model.case.year
    if "cell_energy" in quantities:
        fields["cells"] = tariff.price_calendar.cells
    if tariff.commodity == "electricity" and case.model.tariffs.power_factor is not None:
        fields["power_factor"] = np.full(12, float(case.model.tariffs.power_factor))
    return Load(**fields)


def needs_clock(tariff: Tariff) -> bool:
    """Does a tariff ask when in the month a load occurs?"""
    daily = any(charge.type == "capacity" for charge in tariff.charges)
    return daily or len(tariff.price_calendar.cells) > 1


def _dryers(case: Case, tariff: Tariff, year: Year, carriers: tuple[str, ...]) -> dict[str, Array]:
    """Energy and peak of the dryers on one meter, by price cell where the tariff has several. [J], [W]"""
    empty = 0.0 * year.resin
    # Peaks of gas, heat and water are no billing peaks of electricity: the share applies to that alone.
    share = float(case.model.tariffs.coincidence) if tariff.commodity == "electricity" else 1.0
    if not needs_clock(tariff) and case.readings is None:
        energy = sum((v for k, v in year.energy.items() if k[1] in carriers), start=empty)
        return {"energy": np.asarray(energy), "peak": share * year.most(carriers)}
    crossing = _crossing(case, tariff)
    time = crossing.time.sum(-1)  # (12, states)
    energy_in, peak_in = [empty], [empty]
    for state in STATES[1:]:
        energy_in.append(sum((v for k, v in year.energy_in.items() if k[0] == state and k[2] in carriers), start=empty))
        peak_in.append(sum((v for k, v in year.peak_in.items() if k[0] == state and k[2] in carriers), start=empty))
    work, highest = np.stack(energy_in, -1), np.stack(peak_in, -1)  # (..., 12, states)
    power, most = _on_clock(work, highest, time, float(tariff.demand_window))
    load = tariffs.load_from_periods(power, crossing, peak=most)
    assert load.cell_energy is not None
    assert load.cell_peak is not None
    assert load.daily_peak is not None
    return {
        "energy": load.cell_energy.sum(-1),
        "peak": share * load.cell_peak.max(-1),
        "cell_energy": load.cell_energy,
        "cell_peak": share * load.cell_peak,
        "daily_peak": load.daily_peak,
        "power": power,
        "most": most,
    }


def _on_clock(work: Array, highest: Array, time: Array, window: float) -> tuple[Array, Array]:
    """Mean and highest power by state of the clock, with the warming after a start in the hours in which it falls.

    Warming up is on top of production, as fast as the heater can, hour after hour. What takes longer than the hours told apart, and all of
    it where the clock does not tell when, is spread over production. An hour of which warming takes less than a demand window has as much of
    the highest power as is its mean in that window; the first hour has it whole.

    Parameters
    ----------
    work, highest : ndarray, shape (..., 12, states)
        Energy, and highest power, of the dryers. [J], [W]
    time : ndarray, shape (12, states of the clock)
        [s]
    window : float
        [s]

    Returns
    -------
    power, most : ndarray, shape (..., 12, states of the clock)
        [W]
    """
    made, start, states = STATES.index(PRODUCTION), STATES.index(START), time.shape[-1]
    power, most = np.zeros((2, *work.shape[:-1], states))
    power[..., :start], most[..., :start] = _over(work, time[:, : len(STATES)])[..., :start], highest[..., :start]
    making = time[:, made] + time[:, start:].sum(-1)
    room = np.maximum(highest[..., start] - _over(work[..., made], making), 0.0)
    left = work[..., start]
    for hour in range(start, states):
        soon = np.minimum(left, room * time[:, hour])
        left = left - soon
        power[..., hour] = _over(soon, time[:, hour])
        part = np.minimum(_over(power[..., hour] * 3600.0, room * window), 1.0) if hour > start else 1.0
        most[..., hour] = highest[..., made] + part * (highest[..., start] - highest[..., made])
    power[..., made] = _over(work[..., made] + left, making)
    power[..., start:] += power[..., made, None]
    told = time[:, start] > 0.0
    most[..., made] = np.where(told, highest[..., made], np.maximum(highest[..., made], highest[..., start]))
    return power, most


def _over(work: Array, time: Array) -> Array:
    return np.divide(work, time, out=np.zeros_like(work), where=np.broadcast_to(time > 0.0, work.shape))


def _crossing(case: Case, tariff: Tariff) -> tariffs.Crossing:
    """The plant's states crossed with the tariff's price cells."""
    calendar, year = case.calendar, case.model.case.year
    if calendar.quarters is None:
        seconds = np.stack([0.0 * calendar.off, calendar.production, calendar.standby, 0.0 * calendar.off], -1)
        return tariffs.cross_time(seconds, tariff, year)
    clock = tariffs.quarter_hours(year, tariff.price_calendar.time_zone)
    states = calendar.quarters[clock.day - clock.day[0], clock.quarter]
    return tariffs.cross(states.astype(np.int64), tariff, year, count=ON_CLOCK)


def has_plant(case: Case, commodity: str) -> bool:
    """Is it known what the whole plant takes through this meter?"""
    if commodity == "gas":
        return case.model.tariffs.plant_gas is not None
    return commodity == "electricity" and case.model.plant_load is not None


def _plant(case: Case, tariff: Tariff, like: Mapping[str, Array]) -> dict[str, Array]:
    """What the plant takes, its present dryers included, laid out as the dryers' load is."""
    if tariff.commodity == "gas":
        assert case.model.tariffs.plant_gas is not None
        energy = np.full(12, float(case.model.tariffs.plant_gas))
        peak = energy / (86400.0 * month_days(case.model.case.year))
    else:
        assert case.plant_months is not None
        energy, peak = case.plant_months
    found = {"energy": energy, "peak": peak}
    if "cell_energy" in like:
        hours = tariff.price_calendar.time(case.model.case.year)
        share = hours / hours.sum(-1, keepdims=True)
        occurs = hours > 0.0
        found |= {"cell_energy": energy[:, None] * share, "cell_peak": np.where(occurs, peak[:, None], 0.0)}
        found["daily_peak"] = energy / 30.0  # read by gas tariffs only
    return found


def plant_load(case: Case, tariff: Tariff, power_factor: float | None = None) -> tuple[Load, tuple[str, ...]]:
    """The plant's own load as the case has it, present dryers included, and what must be known of it.

    Parameters
    ----------
    case : Case
        With a [plant_load].
    tariff : Tariff
        Of electricity.
    power_factor : float, optional
        In place of the case's. [-]

    Raises
    ------
    BillError
        The case has none, or readings that this tariff cannot bill.
    """
    fields: dict[str, Any] = {}
    billed_at = case.model.tariffs.power_factor if power_factor is None else power_factor
    if billed_at is not None:
        fields["power_factor"] = np.full(12, float(billed_at))
    if case.readings is not None:
        try:
            readings, remarks = tariffs.fitted(case.readings, tariff)
            below = below_zero(case.readings)
            remarks += (*[f"{below}."] * bool(below), *lone(case.readings, tariff))
            step = float(readings.length[0])
            zoned = tariff.on_clock(readings.zone)
            load = tariffs.load_from_series(readings.start, readings.power, zoned, step=step, **fields)
        except EnergyError as error:
            raise BillError(_read_at(case), str(error)) from error
        return load, remarks
    if case.plant_months is None:
        raise BillError("plant_load", "the case has none")
    by_clock = needs_clock(tariff)
    load = _load(case, tariff, _plant(case, tariff, {"cell_energy": np.zeros(12)} if by_clock else {}))
    return replace(load, **fields), tuple(filter(None, [spread_over_the_clock(case, tariff)]))


def spread_over_the_clock(case: Case, tariff: Tariff) -> str:
    """Said where prices go by the clock and the plant's load is known by month alone; else empty."""
    if case.plant_months is None or case.readings is not None or not needs_clock(tariff):
        return ""
    return (
        "The plant is known by month: energy is spread over the hours of the clock, the peak may fall into any period."
    )


def billed(tariff: Tariff, load: Load) -> tariffs.Bill:
    """The year's bill, the years before alike.

    Raises
    ------
    BillError
        A charge counts what the load does not have, such as a power factor.
    """
    try:
        return tariffs.bill(tariff, load, "steady")
    except EnergyError as error:
        hint = "; give tariffs.power_factor" if "power factor" in str(error) else ""
        raise BillError(f"tariffs.{tariff.commodity}", f"'{tariff.name}': {error}{hint}") from error


def price_factor(case: Case, name: str) -> Any:
    """What the bill of a meter is multiplied by, shape (...). [-]"""
    return getattr(case.model.tariffs, f"{name}_factor")


def with_more(case: Case, tariff: Tariff, load: Load, energy: Array) -> Load:
    """A load with energy at no particular time on top, shape (..., 12), or less of it; demand left alone. [J]

    By the hours of the clock where the load is by price cell. No meter counts backwards.
    """
    if load.cell_energy is None:
        assert load.energy is not None
        return replace(load, energy=np.maximum(load.energy + energy, 0.0))
    hours = tariff.price_calendar.time(case.model.case.year)
    cells = np.maximum(load.cell_energy + energy[..., None] * (hours / hours.sum(-1, keepdims=True)), 0.0)
    return replace(load, energy=cells.sum(-1), cell_energy=cells)
