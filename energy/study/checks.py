"""What no single field of a case can tell: ranges, keys that exclude each other, limits of the resin."""

from __future__ import annotations

from calendar import isleap, month_name, monthrange
from collections.abc import Iterator, Mapping
from typing import Any

from energy.air.atmosphere import pressure_at_altitude
from energy.errors import OutOfRangeError, Problem, UnitError, nearest
from energy.finance import depreciation_shares
from energy.plant.climate import sample_names
from energy.resins.properties import Resin
from energy.study.option_checks import options
from energy.study.paths import walk, written
from energy.study.plant_sections import Hopper
from energy.study.references import drying_temperature, is_price
from energy.study.schema import CaseFile
from energy.study.section import BASES
from energy.units import KINDS, Quantity, parse, show
from energy.units.kinds import STANDARD_ATMOSPHERE

YEAR = 8760.0 * 3600.0  # s


def tables(document: Any, path: str = "") -> Iterator[Problem]:
    """Quantities written as tables: only the known keys, a known basis, low <= value <= high."""
    if isinstance(document, Mapping):
        if "value" in document and path.count("."):
            allowed: tuple[str, ...] = ("value", "low", "high", "basis", "note")
            if path.startswith("readings["):
                allowed = ("value", "accuracy", "basis", "note")
            for key in document:
                if key not in allowed:
                    yield Problem(
                        f"{path}.{key}",
                        f"unknown key{nearest(str(key), allowed)}; allowed: {', '.join(allowed)}",
                    )
            if (basis := document.get("basis")) is not None and basis not in BASES:
                yield Problem(
                    f"{path}.basis", f"'{basis}' is not one of {', '.join(BASES)}{nearest(str(basis), BASES)}"
                )
            return
        for key, value in document.items():
            if path or key != "own_tariffs":  # a tariff has rules of its own
                yield from tables(value, f"{path}.{key}" if path else str(key))
    elif isinstance(document, list):
        for i, value in enumerate(document):
            name = value.get("name") if isinstance(value, Mapping) else None
            yield from tables(value, f"{path}['{name}']" if isinstance(name, str) else f"{path}[{i + 1}]")


def across(model: CaseFile, document: Mapping[str, Any]) -> Iterator[Problem]:
    """What no single field can tell."""
    yield from _hall_air(model)
    yield from _surroundings(model)
    yield from _plant_load(model)
    yield from _compressed_air(model)
    yield from _finance(model)
    if model.tariffs.electricity_demand is not None and not is_price(model.tariffs.electricity):
        yield Problem(
            "tariffs.electricity_demand",
            "stands beside one price of electricity; a tariff has its own charges, so leave it out",
        )
    days = 366 if isleap(model.case.year) else 365
    hours, shifts = model.calendar.production_hours, model.calendar.shifts
    if (hours is None) == (not shifts):
        said = (
            "neither production_hours nor shifts are given"
            if hours is None
            else "production_hours and shifts are both given"
        )
        yield Problem("calendar", f"{said}; one of them is needed")
    yield from _hoppers(model)
    yield from _readings(model)
    if hours is not None and hours > days * 86400.0:
        yield Problem(
            "calendar.production_hours",
            f"{hours / 3600:,.0f} h is more than {model.case.year} has; up to {24 * days:,} h are allowed",
        )
    yield from options(model, document)
    called = [scenario.name for scenario in model.scenarios]
    for i, name in enumerate(called):
        if name in called[:i]:
            yield Problem(f"scenarios[{i + 1}].name", "two scenarios have this name; each needs its own")
    twice = len({option.name for option in model.options}) < len(model.options)
    for path, quantity, value in () if twice else walk(model):  # a path must mean one option
        text: str = getattr(value, "text", "")
        if not text:  # nobody wrote it
            continue
        raw = written(document, path)
        if isinstance(raw, Mapping):
            yield from _range(path, quantity, value, raw, model.case.currency)
        if KINDS[quantity.kind].si.startswith("money"):
            try:
                parse(text, quantity.kind, label=quantity.label, currency=model.case.currency)
            except UnitError as error:
                yield Problem(path, str(error))


def _finance(model: CaseFile) -> Iterator[Problem]:
    given = model.finance
    if given.capital_year > given.years:
        yield Problem("finance.capital_year", f"{given.capital_year} is after the study of {given.years} years")
    if given.delay >= given.years * YEAR:
        yield Problem("finance.delay", f"must be less than the study of {given.years} years")
    if given.tax is not None:
        try:
            depreciation_shares(given.tax.depreciation, life=given.tax.life, table=given.tax.table)
        except OutOfRangeError as error:
            yield Problem("finance.tax", str(error))


def _hoppers(model: CaseFile) -> Iterator[Problem]:
    """Names, levels and shares of the hoppers."""
    system, seen = model.case.units, set()
    for hopper in model.hoppers:
        place = f"hoppers['{hopper.name}']"
        if hopper.name in seen:
            yield Problem(f"{place}.name", "two hoppers have this name; each needs its own")
        seen.add(hopper.name)
        if hopper.levels and abs(sum(level.share for level in hopper.levels) - 1.0) > 1e-6:
            total = 100 * sum(level.share for level in hopper.levels)
            yield Problem(f"{place}.levels", f"the shares add up to {total:.4g} %; they must make 100 %")
        for i, level in enumerate(hopper.levels):
            if level.throughput > hopper.throughput * (1 + 1e-9):
                most = show(float(hopper.throughput), "mass flow", system)
                yield Problem(
                    f"{place}.levels[{i + 1}].throughput",
                    f"{show(level.throughput, 'mass flow', system)} is above the hopper's throughput of {most}; up to that is allowed",
                )
        if hopper.running < 1.0 and not hopper.campaigns:
            yield Problem(
                f"{place}.campaigns",
                f"is missing; the hopper runs {100 * hopper.running:.3g} % of the time: how often a year does it start?",
            )


def _readings(model: CaseFile) -> Iterator[Problem]:
    """Readings are of a hopper that there is, once."""
    names = [hopper.name for hopper in model.hoppers]
    seen = set()
    for i, readings in enumerate(model.readings):
        if readings.hopper not in names:
            yield Problem(
                f"readings[{i + 1}].hopper",
                f"there is no hopper '{readings.hopper}'{nearest(readings.hopper, names)}; known: {', '.join(names)}",
            )
        elif readings.hopper in seen:
            yield Problem(
                f"readings[{i + 1}].hopper",
                f"'{readings.hopper}' has readings already; keep those of a second visit in a file of their own and read it with "
                "walkthrough --readings",
            )
        seen.add(readings.hopper)


def _compressed_air(model: CaseFile) -> Iterator[Problem]:
    """One way to say what air takes; a present flow that the compressors can deliver."""
    air, place = model.compressed_air, "compressed_air"
    if air is None:
        return
    told = [k for k in ("specific_power", "isentropic_efficiency", "cost") if getattr(air, k) is not None]
    if len(told) != 1:
        said = f"{' and '.join(told)} are given" if told else "none is given"
        yield Problem(
            f"{place}.{'cost' if 'cost' in told else 'specific_power'}",
            f"{said}; one of specific_power (nameplate), cost (known cost of air) and isentropic_efficiency is needed",
        )
    elif air.cost is not None:
        for key in ("control", "air_dryer_share", "purge_share"):
            if key in air.model_fields_set:
                yield Problem(f"{place}.{key}", "stands beside the known cost of air, which has it in; leave it out")
    if air.present_flow is not None and air.present_share is not None:
        yield Problem(f"{place}.present_share", "stands beside present_flow; leave one of them out")
    if air.installed_capacity is None:
        for key in ("present_flow", "present_share", "capital_if_larger"):
            if getattr(air, key) is not None:
                yield Problem(f"{place}.{key}", "needs installed_capacity beside it, such as 12 m3/min FAD")
    elif air.present_flow is not None:
        unit = "m3/min FAD" if model.case.units == "si" else "cfm FAD"
        thinness = float(pressure_at_altitude(model.site.altitude)) / STANDARD_ATMOSPHERE
        delivered = air.installed_capacity * thinness
        now, rated, most = (
            show(float(x), "gas flow", unit) for x in (air.present_flow, air.installed_capacity, delivered)
        )
        if air.present_flow > air.installed_capacity * max(1.0, thinness) * (1 + 1e-9):
            yield Problem(
                f"{place}.present_flow", f"{now} is above the installed capacity of {rated}; up to that is allowed"
            )
        elif air.present_flow > delivered * (1 + 1e-9):
            yield Problem(
                f"{place}.present_flow",
                f"{now} is more free air, of 1 bar and 20 degC, than the {rated} installed deliver at this altitude; up to {most} is "
                "allowed. A load that was read as a share belongs into present_share",
            )


def _plant_load(model: CaseFile) -> Iterator[Problem]:
    """Twelve months, or readings."""
    given = model.plant_load
    if given is None:
        return
    told = [key for key in ("months", "table", "file", "readings") if getattr(given, key)]
    if len(told) != 1:
        said = f"{' and '.join(told)} are given" if told else "nothing is given"
        message = "one of months, table (twelve months in a file), file (readings in a file) and readings is needed"
        yield Problem("plant_load", f"{said}; {message}")
    for row in given.months:
        hours = 24.0 * monthrange(model.case.year, row.month)[1]
        if row.energy > row.peak * hours * 3600.0 * (1 + 1e-9):
            yield Problem(
                f"plant_load.months[{given.months.index(row) + 1}].energy",
                f"{show(row.energy, 'energy', 'kWh')} in {month_name[row.month]} is more than a peak of "
                f"{show(row.peak, 'power', 'kW')} gives in {hours:.0f} h; check both",
            )
    numbers = [row.month for row in given.months]
    missing = [month for month in range(1, 13) if numbers.count(month) != 1]
    if given.months and missing:
        names = ", ".join(month_name[month] for month in missing)
        yield Problem("plant_load.months", f"twelve months are needed, each once; look at {names}")


def _surroundings(model: CaseFile) -> Iterator[Problem]:
    """The heat that the coolers take is priced once; the hall's heating has a tariff."""
    if model.cooling is not None:
        if model.cooling.medium == "hall air":
            yield Problem(
                "cooling.medium", "hall air cools single dryers: set cooler = 'hall air' in an option's inputs"
            )
        if model.tariffs.cooling is not None:
            yield Problem(
                "tariffs.cooling", "stands beside [cooling], whose electricity and water are priced; leave one out"
            )
        chiller = model.cooling.medium == "chilled water"
        tower = model.cooling.medium == "tower water" or (chiller and model.cooling.condenser == "tower")
        if tower and model.tariffs.water is None:
            said = "is missing; the cooling tower draws make-up water, which needs a price"
            way_out = "; a chiller that gives its heat to the air draws none: set cooling.condenser = 'outdoor air'"
            yield Problem("tariffs.water", f"{said}{way_out if chiller else ''}")
    hall = model.building
    if hall is not None and hall.heating_carrier == "gas" and hall.heating_months > 0.0 and model.tariffs.gas is None:
        said = f"is missing; the hall is heated with gas for {float(hall.heating_months):g} months"
        yield Problem(
            "tariffs.gas",
            f"{said}; where it is not, set building.heating_carrier = 'electricity' or heating_months = '0'",
        )


def _hall_air(model: CaseFile) -> Iterator[Problem]:
    """A climate, or one temperature and dew point for the whole year; not both."""
    site = model.site
    if site.climate is not None and site.months:
        yield Problem("site.months", "stand beside a climate; leave one of them out")
    if site.climate is not None or site.months:
        for key in ("hall_temperature", "hall_dew_point"):
            if getattr(site, key) is not None:
                yield Problem(f"site.{key}", "stands beside a climate; leave one of them out")
        return
    for key in ("hall_temperature", "hall_dew_point"):
        if getattr(site, key) is None:
            yield Problem(
                f"site.{key}", f"is missing; give it, or a climate ({', '.join(sample_names())}, or a weather file)"
            )
    if site.hall_temperature is None or site.hall_dew_point is None:
        return
    if site.hall_dew_point > site.hall_temperature:
        dew_point, dry_bulb = (
            show(t, "temperature", model.case.units) for t in (site.hall_dew_point, site.hall_temperature)
        )
        yield Problem(
            "site.hall_dew_point",
            f"{dew_point} is above the dry bulb of {dry_bulb}; a dew point up to the hall temperature is allowed",
        )


def _range(path: str, quantity: Quantity, value: float, raw: Mapping[str, Any], currency: str) -> Iterator[Problem]:
    """low <= value <= high, each a quantity of the same kind."""
    ends = {}
    for end in ("low", "high"):
        if end not in raw:
            continue
        try:
            ends[end] = parse(raw[end], quantity.kind, label=quantity.label, currency=currency)
        except UnitError as error:
            yield Problem(f"{path}.{end}", str(error))
    if ("low" in raw) != ("high" in raw):
        yield Problem(path, "a range needs both low and high")
    elif len(ends) == 2 and not ends["low"] <= value <= ends["high"]:
        yield Problem(path, f"low {raw['low']}, value {raw['value']}, high {raw['high']} are not in this order")


def _too_hot(resin: Resin, shown: str, limit: str) -> str:
    """What is said of a drying temperature above the limit: a limit that is assumed is told as such, with how to state another."""
    stored = resin.data.get("drying_temperature_limit")
    if stored is None or stored.basis != "assumption":
        return f"{shown} is above the limit of {resin.called}, {limit}, where pellets soften, stick or degrade; allowed is up to that"
    return (
        f"{shown} is above {limit}, the highest that is assumed for {resin.called}: {stored.note}. Where the producer's sheet allows "
        "more, give drying_temperature_limit among your own values of the resin (own_resin)"
    )


SURFACE_WATER = 0.05 / 0.95
"""Most that stays on pellets that are drained, by judgement: 5 % of the wet weight; of it a resin that takes up none has its water. [kg/kg dry]"""


def resin_limits(hopper: Hopper, resin: Resin, warmest_hall: float, system: str) -> Iterator[Problem]:
    """Limits that a hopper's resin sets."""
    place = f"hoppers['{hopper.name}']"
    temperature, limit = drying_temperature(hopper, resin), resin.drying_temperature_limit
    shown = show(temperature, "temperature", system)
    if limit is not None and temperature > limit * (1.0 + 1e-12):  # rounding of unit conversions
        yield Problem(f"{place}.drying_temperature", _too_hot(resin, shown, show(limit, "temperature", system)))
    least = max(warmest_hall, hopper.resin_temperature or 0.0) + 10.0
    if temperature < least:
        yield Problem(
            f"{place}.drying_temperature",
            f"{shown} is too cold: a dryer heats, it does not cool; allowed is {show(least, 'temperature', system)} or "
            f"more, {show(10.0, 'temperature difference', system)} above the hall and the pellets fed",
        )
    initial = resin.initial_moisture if hopper.initial_moisture is None else hopper.initial_moisture
    saturated = resin.saturation_moisture
    stated = hopper.initial_moisture is not None
    if stated and not resin.hygroscopic and initial > SURFACE_WATER:
        yield Problem(
            f"{place}.initial_moisture",
            f"{show(initial, 'moisture', system)} is water that runs off pellets, more than {show(SURFACE_WATER, 'moisture', system)} "
            "of it; drain or centrifuge it first",
        )
    if stated and resin.hygroscopic and saturated is not None and initial > 2.0 * saturated:
        yield Problem(
            f"{place}.initial_moisture",
            f"{show(initial, 'moisture', system)} is more than twice what {resin.called} can hold, "
            f"{show(saturated, 'moisture', system)}; drain or centrifuge surface water first",
        )
