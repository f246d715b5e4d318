"""A case: read, checked, changed, written. The document as the user wrote it is kept beside the values in SI."""

from __future__ import annotations

import copy
import os
import re
import tempfile
import tomllib
from calendar import isleap
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from importlib import resources
from pathlib import Path
from types import MappingProxyType
from typing import Any

from pydantic import BaseModel, ValidationError

from energy.air import moist
from energy.errors import CaseError, EnergyError, Problem, UnitError, UnknownNameError, nearest
from energy.plant.calendar import OperatingYear, Shift, Shifts, from_hours, operating_year
from energy.plant.climate import Climate, climate_from_rows, sample_climate, sample_names
from energy.plant.weather import monthly, read_epw, read_tmy3
from energy.resins.properties import Resin, custom_resin, load_resin
from energy.study.problems import problems
from energy.study.schema import BASES, CaseFile, Hopper
from energy.tariffs import Tariff, load_tariff, simple_tariff
from energy.units import KINDS, Quantity, parse, show

EXAMPLES = ("demo",)
MAX_BYTES = 2_000_000


@dataclass(frozen=True, slots=True)
class Case:
    """A checked case. Immutable: :meth:`with_` makes a changed copy."""

    model: CaseFile
    """Values in SI."""
    document: Mapping[str, Any]
    """As written, with units and bases."""
    resin: Resin
    """Of the hopper, with the case's own values."""
    tariffs: Mapping[str, Tariff]
    """By commodity."""
    calendar: OperatingYear
    """Time in each operating state, by month."""
    climate: Climate | None = None
    """None: one hall air all year."""
    folder: Path | None = None
    file: str = "case"

    @property
    def name(self) -> str:
        return self.model.case.name

    @property
    def currency(self) -> str:
        return self.model.case.currency

    def with_(self, changes: Mapping[str, Any] | None = None, /, **short: Any) -> Case:
        """A copy with some values changed.

        Parameters
        ----------
        changes : mapping, optional
            Path as error messages print it (``"options['Wheel'].capital"``, ``"site.hall_temperature"``) to new value.
        **short
            Last part of a path that occurs once in the schema outside the options, such as
            ``throughput="120 kg/h"`` or ``electricity="0.14 USD/kWh"``.

        Raises
        ------
        CaseError
            The changed case is not valid.
        UnknownNameError
            No such path.
        """
        document = changed(self.document, {**(changes or {}), **{_long(k): v for k, v in short.items()}})
        return build(document, folder=self.folder, file=self.file)

    def to_toml(self) -> str:
        """The case as a file."""
        import tomli_w

        return tomli_w.dumps(dict(self.document))

    def save(self, path: str | Path, *, overwrite: bool = False) -> None:
        """Write the case; the file appears whole or not at all."""
        write_whole(Path(path), self.to_toml().encode(), overwrite=overwrite)


def changed(document: Mapping[str, Any], changes: Mapping[str, Any]) -> dict[str, Any]:
    """A copy of a document with values put at paths as error messages print them; None removes a value.

    Another value takes the place of a whole table: the range, basis and note there belong to the old one.

    Raises
    ------
    UnknownNameError
        No such path.
    """
    copied = copy.deepcopy(dict(document))
    for path, value in changes.items():
        _put(copied, path, value)
    return copied


def write_whole(path: Path, content: bytes, *, overwrite: bool) -> None:
    """Write beside the target and rename.

    Raises
    ------
    EnergyError
        The file exists and may not be overwritten, or the folder cannot be written to.
    """
    if path.exists() and not overwrite:
        raise EnergyError(f"{path}: exists already; choose another name or say --force")
    temporary = None
    try:
        with tempfile.NamedTemporaryFile(dir=path.parent, prefix=f".{path.name}.", delete=False) as out:
            temporary = out.name
            out.write(content)
        os.chmod(temporary, 0o644)
        os.replace(temporary, path)
    except OSError as error:
        if temporary and os.path.exists(temporary):
            os.unlink(temporary)
        raise EnergyError(f"{path}: cannot be written ({error.strerror})") from error


def load_case(path: str | Path) -> Case:
    """Read and check a case file, or one of the examples by its name.

    Raises
    ------
    CaseError
        Unreadable, not TOML, or not a valid case; one problem per line, each naming the key.
    """
    target = Path(path)
    if str(path) in EXAMPLES and not target.exists():
        return build(read_document(example_text(str(path)), str(path)), folder=None, file=str(path))
    try:
        with target.open("rb") as file:
            content = file.read(MAX_BYTES + 1)
        if len(content) > MAX_BYTES:
            message = f"is larger than {MAX_BYTES} bytes; a case file is a few kilobytes"
            raise CaseError([Problem("", message)], file=str(path))
        text = content.decode("utf-8-sig")
    except OSError as error:
        raise CaseError([Problem("", f"cannot be read ({error.strerror})")], file=str(path)) from error
    except UnicodeDecodeError as error:
        raise CaseError([Problem("", "is not UTF-8 text; save it as UTF-8")], file=str(path)) from error
    return build(read_document(text, str(path)), folder=target.resolve().parent, file=str(path))


def example_text(name: str) -> str:
    """Text of an example case that comes with the package."""
    return resources.files("energy").joinpath(f"data/examples/{name}.toml").read_text(encoding="utf-8")


def read_document(text: str, file: str) -> dict[str, Any]:
    """TOML text as a table, or a CaseError that names line and column."""
    try:
        return tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        raise CaseError([Problem("", f"is not valid TOML: {error}")], file=file) from error
    except RecursionError as error:
        raise CaseError([Problem("", "is nested too deeply")], file=file) from error


def build(document: Mapping[str, Any], *, folder: Path | None = None, file: str = "case") -> Case:
    """Check a document and make a case of it."""
    try:
        model = CaseFile.model_validate(dict(document))
    except ValidationError as error:
        raise CaseError(problems(error, CaseFile, document), file=file) from error
    found = [*_tables(document), *_across(model, document)]
    tariffs: dict[str, Tariff] = {}
    for commodity in ("electricity", "gas", "cooling"):
        given: str | None = getattr(model.tariffs, commodity)
        if given is None:
            continue
        try:
            tariffs[commodity] = tariff_of(given, commodity, model.case.currency, folder)
        except EnergyError as error:
            found += [Problem(f"tariffs.{commodity}", line) for line in str(error).splitlines()]
    resin = None
    try:
        resin = resin_of(model)
    except CaseError as error:
        found += [
            Problem(f"hoppers['{model.hoppers[0].name}'].own_resin.{p.key}".rstrip("."), p.message)
            for p in error.problems
        ]
    except EnergyError as error:
        found.append(Problem(f"hoppers['{model.hoppers[0].name}'].resin", str(error)))
    calendar = None
    try:
        calendar = calendar_of(model)
    except CaseError as error:
        found += [Problem(f"calendar.{p.key}".rstrip("."), p.message) for p in error.problems]
    except EnergyError as error:
        found.append(Problem("calendar", str(error)))
    climate = None
    try:
        climate = climate_of(model, folder)
    except EnergyError as error:
        found += [Problem("site.climate", line) for line in str(error).splitlines()]
    warmest = model.site.hall_temperature or 0.0
    if climate is not None:
        warmest = float(climate.hall_temperature.max())
    if resin is not None:
        found += _resin_limits(model, resin, warmest)
    found += _carriers(model, tariffs)
    if found or resin is None or calendar is None:
        raise CaseError(found, file=file)
    return Case(
        model=model,
        document=MappingProxyType(copy.deepcopy(dict(document))),
        resin=resin,
        tariffs=MappingProxyType(tariffs),
        calendar=calendar,
        climate=climate,
        folder=folder,
        file=file,
    )


def tariff_of(text: str, commodity: str, currency: str, folder: Path | None) -> Tariff:
    """A price such as "0.12 USD/kWh", the name of a demo tariff, or a file beside the case."""
    if re.match(r"\s*[-+]?[\d.]", text):
        price = parse(text, "price per energy", label=f"Price of {commodity}", currency=currency)
        if price < 0:
            raise UnitError(f"Price of {commodity}: '{text}' is negative; 0 or more is allowed")
        return simple_tariff(commodity, currency, price)
    beside = folder / text if folder is not None else None
    name = str(beside) if beside is not None and beside.exists() else text
    tariff = load_tariff(name, currency=currency)
    if tariff.commodity != commodity:
        raise EnergyError(f"'{text}' is a tariff for {tariff.commodity}; one for {commodity} is needed")
    return tariff


def resin_of(model: CaseFile) -> Resin:
    """The hopper's resin with its own values put over it."""
    hopper = model.hoppers[0]
    given = {k: v for k, v in (hopper.own_resin.model_dump() if hopper.own_resin else {}).items() if v is not None}
    if hopper.resin.lower() == "own":
        return custom_resin(None, **given)
    return custom_resin(hopper.resin, **given) if given else load_resin(hopper.resin)


def _tables(document: Any, path: str = "") -> Iterator[Problem]:
    """Quantities written as tables: only the known keys, a known basis, low <= value <= high."""
    if isinstance(document, Mapping):
        if "value" in document and path.count("."):
            allowed = ("value", "low", "high", "basis", "note")
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
            yield from _tables(value, f"{path}.{key}" if path else str(key))
    elif isinstance(document, list):
        for i, value in enumerate(document):
            name = value.get("name") if isinstance(value, Mapping) else None
            yield from _tables(value, f"{path}['{name}']" if isinstance(name, str) else f"{path}[{i + 1}]")


def _across(model: CaseFile, document: Mapping[str, Any]) -> Iterator[Problem]:
    """What no single field can tell."""
    yield from _hall_air(model)
    air = model.compressed_air
    if air is not None and (air.specific_power is None) == (air.isentropic_efficiency is None):
        said = "neither is given" if air.specific_power is None else "both are given"
        yield Problem(
            "compressed_air.specific_power",
            f"{said}; one of specific_power (nameplate) and isentropic_efficiency is needed",
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
    levels = model.hoppers[0].levels
    if levels and abs(sum(level.share for level in levels) - 1.0) > 1e-6:
        total = 100 * sum(level.share for level in levels)
        yield Problem(
            f"hoppers['{model.hoppers[0].name}'].levels", f"the shares add up to {total:.4g} %; they must make 100 %"
        )
    for i, level in enumerate(levels):
        if level.throughput > model.hoppers[0].throughput * (1 + 1e-9):
            most = show(float(model.hoppers[0].throughput), "mass flow", model.case.units)
            yield Problem(
                f"hoppers['{model.hoppers[0].name}'].levels[{i + 1}].throughput",
                f"{show(level.throughput, 'mass flow', model.case.units)} is above the hopper's throughput of {most}; up to that is allowed",
            )
    if hours is not None and hours > days * 86400.0:
        yield Problem(
            "calendar.production_hours",
            f"{hours / 3600:,.0f} h is more than {model.case.year} has; up to {24 * days:,} h are allowed",
        )
    seen: set[str] = set()
    twice = False
    for option, raw_option in zip(model.options, document["options"], strict=True):
        if option.name in seen:
            twice = True
            yield Problem(f"options['{option.name}'].name", "two options have this name; each needs its own")
        seen.add(option.name)
        if "kind" in raw_option.get("inputs", {}):
            yield Problem(f"options['{option.name}'].inputs.kind", "unknown key; the type stands in the option itself")
        throughput = model.hoppers[0].throughput
        if option.built_for is not None and option.built_for < throughput:
            small, asked = (show(float(x), "mass flow", model.case.units) for x in (option.built_for, throughput))
            yield Problem(
                f"options['{option.name}'].built_for",
                f"{small} is less than the hopper's throughput of {asked}; a machine built for that or more is needed",
            )
        ejector = getattr(option.inputs, "pump", "pump") == "ejector"
        if (option.type.startswith("compressed-air") or ejector) and model.compressed_air is None:
            yield Problem(
                "compressed_air",
                f"is missing; option '{option.name}' needs pressure, pressure dew point, specific power",
            )
    baselines = [o.name for o in model.options if o.baseline]
    if not baselines:
        yield Problem("options", "no option is the baseline; mark the present machine with baseline = true")
    elif len(baselines) > 1:
        yield Problem(
            "options",
            f"{len(baselines)} options are marked baseline ({', '.join(baselines)}); exactly one is allowed",
        )
    for path, quantity, value in () if twice else walk(model):  # a path must mean one option
        raw = written(document, path)
        if isinstance(raw, Mapping):
            yield from _range(path, quantity, value, raw, model.case.currency)
        text: str = getattr(value, "text", "")
        if text and KINDS[quantity.kind].si.startswith("money"):
            try:
                parse(text, quantity.kind, label=quantity.label, currency=model.case.currency)
            except UnitError as error:
                yield Problem(path, str(error))


def _hall_air(model: CaseFile) -> Iterator[Problem]:
    """A climate, or one temperature and dew point for the whole year; not both."""
    site = model.site
    if site.climate is not None:
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
    return operating_year(
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


def climate_of(model: CaseFile, folder: Path | None) -> Climate | None:
    """The climate a case names: a sample, or a weather file beside the case; None for one hall air all year.

    Raises
    ------
    EnergyError
        No such sample or file, or a weather file that cannot be used.
    """
    name = model.site.climate
    if name is None:
        return None
    pressure = float(moist.pressure_at_altitude(model.site.altitude))
    if name in sample_names():
        return sample_climate(name, pressure=pressure)
    path = Path(name) if folder is None else folder / name
    if not path.is_file():
        known = sample_names()
        raise UnknownNameError(
            f"'{name}' is neither a sample climate nor a file; samples: {', '.join(known)}{nearest(name, known)}"
        )
    weather = read_epw(path) if path.suffix.lower() == ".epw" else read_tmy3(path)
    temperature, dew_point = monthly(weather)
    rows = [
        {"month": month + 1, "outdoor_temperature": float(t), "outdoor_dew_point": float(d)}
        for month, (t, d) in enumerate(zip(temperature, dew_point, strict=True))
    ]
    return climate_from_rows(rows, name=weather.location, pressure=pressure, notes=(weather.source,))


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


def walk(model: BaseModel, path: str = "") -> Iterator[tuple[str, Quantity, Any]]:
    """Every quantity of a checked case: its path, its marker, its value in SI."""
    for name, field in type(model).model_fields.items():
        value, here = getattr(model, name), f"{path}.{name}" if path else name
        quantity = next((m for m in field.metadata if isinstance(m, Quantity)), None)
        if quantity is not None:
            yield here, quantity, value
        elif isinstance(value, BaseModel):
            yield from walk(value, here)
        elif isinstance(value, tuple):
            for i, entry in enumerate(value):
                if isinstance(entry, BaseModel):
                    label = getattr(entry, "name", None)
                    yield from walk(entry, f"{here}['{label}']" if label else f"{here}[{i + 1}]")


def written(document: Any, path: str) -> Any:
    """What the document says at a path as :func:`walk` prints it; None where it says nothing."""
    here = document
    for match in _PART.finditer(path):
        name, index, label = match.groups()
        if name is not None:
            here = here.get(name) if isinstance(here, Mapping) else None
        elif index is not None:
            if not isinstance(here, list):  # a sum instead of lines of capital
                return here if index == "1" else None
            here = here[int(index) - 1] if int(index) <= len(here) else None
        else:
            names = _names(here)
            here = here[names.index(label)] if label in names else None
        if here is None:
            return None
    return here


def _names(entries: Any) -> list[str]:
    """Names of the entries of a list; a hopper need not have one."""
    unnamed = Hopper.model_fields["name"].default
    listed = entries if isinstance(entries, list) else []
    return [str(e.get("name", unnamed)) if isinstance(e, Mapping) else "" for e in listed]


def drying_temperature(model: CaseFile, resin: Resin) -> float:
    """[K]"""
    given = model.hoppers[0].drying_temperature
    return resin.drying_temperature if given is None else given


def _resin_limits(model: CaseFile, resin: Resin, warmest_hall: float) -> Iterator[Problem]:
    hopper, system = model.hoppers[0], model.case.units
    place = f"hoppers['{hopper.name}']"
    temperature, limit = drying_temperature(model, resin), resin.drying_temperature_limit
    shown = show(temperature, "temperature", system)
    if limit is not None and temperature > limit:
        yield Problem(
            f"{place}.drying_temperature",
            f"{shown} is above the limit of {resin.abbreviation}, {show(limit, 'temperature', system)}, "
            "where pellets soften, stick or degrade; allowed is up to that",
        )
    least = max(warmest_hall, hopper.resin_temperature or 0.0) + 10.0
    if temperature < least:
        yield Problem(
            f"{place}.drying_temperature",
            f"{shown} is too cold: a dryer heats, it does not cool; allowed is {show(least, 'temperature', system)} or "
            f"more, {show(10.0, 'temperature difference', system)} above the hall and the pellets fed",
        )
    initial = resin.initial_moisture if hopper.initial_moisture is None else hopper.initial_moisture
    saturated = resin.saturation_moisture
    if saturated is not None and hopper.initial_moisture is not None and initial > 2.0 * saturated:
        yield Problem(
            f"{place}.initial_moisture",
            f"{show(initial, 'moisture', system)} is more than twice what {resin.abbreviation} can hold, "
            f"{show(saturated, 'moisture', system)}; drain or centrifuge surface water first",
        )


def _carriers(model: CaseFile, tariffs: Mapping[str, Tariff]) -> Iterator[Problem]:
    for option in model.options:
        sources = {option.inputs.heat_source, getattr(option.inputs, "regeneration_heat_source", "electric")}
        if "gas" in sources and "gas" not in tariffs and model.tariffs.gas is None:
            yield Problem("tariffs.gas", f"is missing; option '{option.name}' is heated with gas")


_SECTIONS = ("case", "site", "hoppers", "calendar", "tariffs", "compressed_air", "finance")


def _long(short: str) -> str:
    places: dict[str, list[str]] = {}
    for section in _SECTIONS:
        start = "hoppers[1]" if section == "hoppers" else section
        for model in _models(CaseFile.model_fields[section].annotation):
            for key in model.model_fields:
                places.setdefault(key, []).append(f"{start}.{key}")
    if short not in places:
        raise UnknownNameError(f"'{short}' is not a key of a case{nearest(short, list(places))}")
    if len(places[short]) > 1:
        raise UnknownNameError(f"'{short}' may mean {' or '.join(places[short])}; write the path")
    return places[short][0]


def _models(annotation: Any) -> Iterator[type[BaseModel]]:
    from typing import get_args

    if isinstance(annotation, type) and issubclass(annotation, BaseModel):
        yield annotation
    for inner in get_args(annotation):
        yield from _models(inner)


_PART = re.compile(r"\.?([A-Za-z_]\w*)|\[(\d+)\]|\['((?:[^']|'(?!\]))*)'\]")


def _put(document: dict[str, Any], path: str, value: Any) -> None:
    """Set one value in a document; None removes it."""
    parts: list[str | int] = []
    at = 0
    for match in _PART.finditer(path):
        if match.start() != at:
            break
        at = match.end()
        parts.append(match[1] if match[1] else int(match[2]) - 1 if match[2] else f"'{match[3]}")
    if at != len(path) or not parts or not isinstance(parts[-1], str):
        raise UnknownNameError(f"'{path}' is not the path of a value in a case")
    here: Any = document
    for part in parts[:-1]:
        if isinstance(part, str) and part.startswith("'"):
            names = _names(here)
            if part[1:] not in names:
                raise UnknownNameError(f"'{path}': there is no entry of that name{nearest(part[1:], names)}")
            part = names.index(part[1:])
        if isinstance(part, str) and isinstance(here, dict):
            here = here.setdefault(part, {})
        elif isinstance(part, int) and isinstance(here, list) and part < len(here):
            here = here[part]
        else:
            raise UnknownNameError(f"'{path}': there is no such entry")
    if not isinstance(here, dict):
        raise UnknownNameError(f"'{path}': there is no such entry")
    if value is None:
        here.pop(parts[-1], None)
    elif not (isinstance(here.get(parts[-1]), dict) and here[parts[-1]].get("value") == value):
        here[parts[-1]] = copy.deepcopy(value)
