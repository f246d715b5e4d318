"""What a case refers to: tariffs, resin, calendar, climate."""

from __future__ import annotations

import re
from calendar import isleap
from collections.abc import Mapping, Sequence
from datetime import UTC, datetime
from functools import lru_cache
from math import isfinite
from os.path import exists, isfile
from pathlib import Path
from typing import Any

import numpy as np

from energy.air import atmosphere
from energy.dryers.base import Array
from energy.errors import CaseError, EnergyError, Problem, UnitError, UnknownNameError, nearest
from energy.plant.calendar import OperatingYear, from_hours, operating_year
from energy.plant.climate import Climate, climate_from_rows, sample_climate, sample_names
from energy.plant.shifts import Shift, Shifts
from energy.plant.weather import monthly, read_epw, read_tmy3
from energy.resins.properties import Resin
from energy.study.paths import changed
from energy.study.plant_clock import interval_readings
from energy.study.plant_sections import Hopper
from energy.study.price_sections import PlantReadings
from energy.study.schema import CaseFile
from energy.tariffs import Tariff, demo_tariffs, load_tariff, simple_tariff, simple_water_tariff, tariff_from
from energy.tariffs.readers import Series, read_espi, read_monthly_table
from energy.tariffs.readers.series import zone_info
from energy.units import SI, parse

_PRICE = re.compile(r"\s*[-+]?[\d.]")
"""How a price begins, and no name of a tariff."""
_SIGNED = re.compile(
    r"\s*(?:[A-Z]{0,2}[$£€¥₹₩₪₱₦₫฿₺₴₸]|[A-Z]{3}(?=[\s\d.]+/\s*(?:[kM]Wh|[MG]J|MMBtu|therm|m3|m³|L|gal|ccf)\b))\s*[\d.]"
)
"""The same with the currency before the number; a folder or file may begin with three letters, too."""


COMMODITIES = ("electricity", "gas", "cooling", "water")


def files_named(document: Mapping[str, Any]) -> dict[str, str]:
    """Files that a document would have read, its scenarios as well, by the key that names each; the document need not be valid."""
    found = _files_named(document)
    listed = document.get("scenarios")
    for i, scenario in enumerate(listed if isinstance(listed, list) else []):
        changes = scenario.get("changes") if isinstance(scenario, Mapping) else None
        for path, value in changes.items() if isinstance(changes, Mapping) else ():
            try:
                named = _files_named(changed(document, {str(path): value}))
            except EnergyError:  # no such path: told where the case is loaded
                continue
            found |= {f"scenarios[{i + 1}].{key}": file for key, file in named.items() if found.get(key) != file}
    return found


def _files_named(document: Mapping[str, Any]) -> dict[str, str]:
    def texts(section: str, keys: Sequence[str], known: Sequence[str]) -> dict[str, str]:
        given = document.get(section)
        found = {key: given.get(key) for key in keys} if isinstance(given, Mapping) else {}
        return {f"{section}.{k}": v for k, v in found.items() if isinstance(v, str) and v not in known}

    tariffs = texts("tariffs", COMMODITIES, ())
    return (
        {key: name for key, name in tariffs.items() if is_tariff_file(document, name)}
        | texts("site", ("climate",), sample_names())
        | texts("plant_load", ("file", "table"), ())
    )


def is_tariff_file(document: Mapping[str, Any], text: str) -> bool:
    """Does a text in a case name a tariff file: no demo tariff, no tariff of the case's own and no price?"""
    return not (text in demo_tariffs() or text in own_names(document) or is_price(text))


def own_names(document: Mapping[str, Any]) -> list[str]:
    """Names of the tariffs in a document itself; it need not be valid."""
    given = document.get("own_tariffs")
    names = [entry.get("name") for entry in given if isinstance(entry, Mapping)] if isinstance(given, list) else []
    return [name for name in names if isinstance(name, str)]


def own_tariffs(model: CaseFile) -> tuple[dict[str, Tariff], list[Problem]]:
    """Tariffs in the case itself by name, and what is wrong with others."""
    found: dict[str, Tariff] = {}
    wrong: list[Problem] = []
    for i, entry in enumerate(model.own_tariffs):
        name = entry.get("name")
        place = f"own_tariffs['{name}']" if isinstance(name, str) else f"own_tariffs[{i + 1}]"
        try:
            tariff = tariff_from(entry)
        except CaseError as error:
            wrong += [Problem(f"{place}.{p.key}".rstrip("."), p.message) for p in error.problems]
            continue
        if tariff.name in found:
            wrong.append(Problem(f"{place}.name", "two tariffs have this name; each needs its own"))
        found[tariff.name] = tariff
    return found, wrong


def is_price(text: str) -> bool:
    """Is it a price, and no name of a tariff? One with its currency before the number is meant as one, and is refused as that."""
    return _PRICE.match(text) is not None or _SIGNED.match(text) is not None


def demand_price(text: str | None, currency: str) -> SI | None:
    """A charge per demand and month such as "13 USD/kW/month", with its text: per kVA it bills apparent power. [money/W/month]

    Raises
    ------
    UnitError
        Another unit, per kvar, or less than 0.
    """
    if text is None:
        return None
    price = parse(text, "price per power", label="Demand charge", currency=currency)
    if price < 0:
        raise UnitError(f"Demand charge: '{text}' is negative; 0 or more is allowed")
    if "var" in text.lower():
        raise UnitError(
            f"Demand charge: '{text}' is per kvar; write it per kW or kVA, or name a tariff file with a charge of type reactive-demand"
        )
    return SI(price, text.strip())


def tariff_of(
    text: str,
    commodity: str,
    currency: str,
    folder: Path | None,
    own: Mapping[str, Tariff],
    demand: float | None = None,
) -> Tariff:
    """One of the case's own by name, a price such as "0.12 USD/kWh", a demo tariff by name, or a file beside the case.

    A charge per demand [money/W/month] belongs to a price.
    """
    if text in own:
        if own[text].currency != currency:
            raise EnergyError(f"'{text}' is in {own[text].currency}, the case in {currency}; nothing is converted")
        return _of(own[text], commodity, text)
    if is_price(text):
        if commodity == "water":
            parse(text, "price per volume", label="Price of water", currency=currency)
            return simple_water_tariff(currency, text)
        try:
            price = parse(text, "price per energy", label=f"Price of {commodity}", currency=currency)
        except UnitError:
            if commodity == "gas" and _is_per_volume(text, currency):
                raise UnitError(
                    f"Price of gas: '{text}' is a price per volume, and dryers are counted in energy; write the price per kWh, which is the price per "
                    "m3 over the heating value of the bill in kWh/m3, or name a tariff file that has a heating_value under [gas]"
                ) from None
            raise
        if price < 0:
            raise UnitError(f"Price of {commodity}: '{text}' is negative; 0 or more is allowed")
        return simple_tariff(commodity, currency, SI(price, text.strip()), demand)
    beside = folder / text if folder is not None else None
    name = str(beside) if beside is not None and exists(beside) else text
    return _of(load_tariff(name, currency=currency), commodity, text)


def _is_per_volume(text: str, currency: str) -> bool:
    try:
        parse(text, "price per volume", currency=currency)
    except UnitError:
        return False
    return True


def _of(tariff: Tariff, commodity: str, text: str) -> Tariff:
    if tariff.commodity != commodity:
        raise EnergyError(f"'{text}' is a tariff for {tariff.commodity}; one for {commodity} is needed")
    return tariff


def calendar_of(model: CaseFile) -> OperatingYear | None:
    """Time in each operating state; None where the case does not say when it produces.

    Raises
    ------
    EnergyError
        Shifts that overlap, or weeks and holidays that do not exist.
    """
    given = model.calendar
    if given.production_hours is not None:
        days = 366 if isleap(model.case.year) else 365
        hours = min(float(given.production_hours) / 3600.0, 24.0 * days)  # more is told elsewhere
        return from_hours(model.case.year, hours)
    if not given.shifts:
        return None
    shifts = tuple(Shift(weekdays=row.days, start=row.start, end=row.end, name=row.name) for row in given.shifts)
    return _year_of(
        model.case.year,
        Shifts(
            shifts=shifts,
            shutdown_weeks=given.shutdown_weeks,
            country=given.country,
            subdivision=given.subdivision,
            holiday_names=given.holidays,
            holiday_rule=given.holiday_rule,
            standby_up_to=float(given.standby_up_to),
        ),
    )


@lru_cache(maxsize=64)
def _year_of(year: int, shifts: Shifts) -> OperatingYear:
    return operating_year(year, shifts)


def readings_of(model: CaseFile, folder: Path | None, clock: str | None = None) -> Series | None:
    """The plant's own interval readings; None where the case names no file.

    Parameters
    ----------
    model : CaseFile
    folder : Path or None
    clock : str, optional
        Time zone of the tariff's clock: that of stamps without an offset, where the case names none.

    Raises
    ------
    EnergyError
        No such file, one that cannot be used, or readings with gaps.
    """
    given = model.plant_load
    if given is not None and given.readings is not None:
        return series_of(given.readings, given.zone)
    if given is None or given.file is None:
        return None
    path = Path(given.file) if folder is None else folder / given.file
    if not isfile(path):
        raise UnknownNameError(f"'{given.file}' is not a file beside the case")
    if path.suffix.lower() == ".xml":
        found = [meter for meter in read_espi(path) if meter.commodity in (None, "electricity")]
        if len(found) != 1:
            raise EnergyError(f"{path.name}: holds {len(found)} meters of electricity; one is needed")
        series = found[0]
    else:
        series = interval_readings(path, given, clock)
    if series.counted not in ("energy", "power"):
        raise EnergyError(f"{path.name}: holds {series.counted}; energy or power of electricity is needed")
    if series.gaps:
        first = f"{series.show(series.gaps[0][0])} to {series.show(series.gaps[0][1])}"
        raise EnergyError(
            f"{path.name}: {len(series.gaps)} gaps in the readings, the first {first}; nothing is filled in"
        )
    return series


LARGEST_READING = 1e9
"""[kW], by judgement: far above any plant, and far below what overflows."""


def series_of(given: PlantReadings, zone: str | None) -> Series:
    """The readings in a case itself.

    Raises
    ------
    EnergyError
        A beginning without offset, what is no number, or no such zone.
    """
    if given.start.utcoffset() is None:
        raise EnergyError(f"start: '{given.start}' has no offset from UTC; write it as in 2025-01-01T00:00:00-06:00")
    words = " ".join(given.power).split()
    try:
        power = np.array(words, dtype=float)
    except ValueError:
        wrong = next(word for word in words if not _is_number(word))
        raise EnergyError(f"power: '{wrong[:40]}' is no number of kW; numbers parted by blanks are needed") from None
    absurd = np.flatnonzero(np.abs(power) > LARGEST_READING)
    if absurd.size:
        raise EnergyError(
            f"power: '{words[absurd[0]][:40]}' kW is no power of a plant; at most {LARGEST_READING:,.0f} kW is taken"
        )
    step = round(float(given.step))
    first = int(given.start.timestamp())
    fields: dict[str, Any] = {"zone": zone, "source": given.source, "commodity": "electricity"}
    return Series(start=first + step * np.arange(power.size), step=step, amount=1e3 * power * step, **fields)


def readings_table(series: Series) -> dict[str, Any]:
    """Readings as `[plant_load.readings]` holds them, to five digits; the contrary of `series_of`.

    Raises
    ------
    EnergyError
        Readings with gaps, of unequal length, or of something else than energy.
    """
    steps = set(series.length.tolist())
    if series.gaps or len(steps) > 1:
        raise EnergyError("readings of one length without a gap are needed")
    if series.counted != "energy":
        raise EnergyError(f"holds {series.counted}; energy or power of electricity is needed")
    words = [f"{kilowatt:.5g}" for kilowatt in series.power / 1e3]
    step = steps.pop()
    day = max(86400 // step, 1)
    return {
        "start": datetime.fromtimestamp(int(series.start[0]), zone_info(series.zone) if series.zone else UTC),
        "step": f"{step / 60:g} min",
        "power": [" ".join(words[at : at + day]) for at in range(0, len(words), day)],
        "source": Path(series.source).name,
    }


def _is_number(word: str) -> bool:
    try:
        return isfinite(float(word))
    except ValueError:
        return False


def months_of(model: CaseFile, folder: Path | None) -> tuple[Array, Array] | None:
    """Energy and billed peak of the plant in each month, shape (12,); None where the case has none. [J], [W]

    Raises
    ------
    EnergyError
        A table that cannot be used.
    """
    given = model.plant_load
    if given is None or given.file is not None or given.readings is not None:
        return None
    if given.table is not None:
        path = Path(given.table) if folder is None else folder / given.table
        if not isfile(path):
            raise UnknownNameError(f"'{given.table}' is not a file beside the case")
        read = read_monthly_table(path)
        return np.asarray(read.energy), np.asarray(read.peak)
    rows = sorted(given.months, key=lambda row: row.month)
    return np.array([float(row.energy) for row in rows]), np.array([float(row.peak) for row in rows])


def climate_of(model: CaseFile, folder: Path | None) -> Climate | None:
    """The climate a case names: a sample, or a weather file beside the case; None for one hall air all year.

    Raises
    ------
    EnergyError
        No such sample or file, or a weather file that cannot be used.
    """
    name = model.site.climate
    pressure = float(atmosphere.pressure_at_altitude(model.site.altitude))
    if model.site.months:
        given = [{k: v for k, v in row.model_dump().items() if v is not None} for row in model.site.months]
        return climate_from_rows(given, name="months as given", pressure=pressure)
    if name is None:
        return None
    if name in sample_names():
        return sample_climate(name, pressure=pressure)
    path = Path(name) if folder is None else folder / name
    if not isfile(path):  # not Path.is_file, which fails on names that are too long
        known = sample_names()
        raise UnknownNameError(
            f"'{name}' is neither a sample climate nor a file; samples: {', '.join(known)}{nearest(name, known)}"
        )
    location, source, rows = weather_months(path)
    return climate_from_rows(rows, name=location, pressure=pressure, notes=(source,))


def weather_months(path: Path) -> tuple[str, str, list[dict[str, Any]]]:
    """Place, source and twelve rows of a weather file (EPW, TMY3): month, mean temperature and dew point outdoors. [K]

    Raises
    ------
    CaseError
        A file that cannot be used.
    """
    weather = read_epw(path) if path.suffix.lower() == ".epw" else read_tmy3(path)
    temperature, dew_point = monthly(weather)
    rows = [
        {"month": month + 1, "outdoor_temperature": float(t), "outdoor_dew_point": float(d)}
        for month, (t, d) in enumerate(zip(temperature, dew_point, strict=True))
    ]
    return weather.location, weather.source, rows


def drying_temperature(hopper: Hopper, resin: Resin) -> float:
    """[K]"""
    given = hopper.drying_temperature
    return resin.drying_temperature if given is None else given
