"""A case: read, checked, changed, written. The document as the user wrote it is kept beside the values in SI."""

from __future__ import annotations

import os
import tempfile
import tomllib
from collections.abc import Mapping
from dataclasses import dataclass, field
from importlib import resources
from pathlib import Path
from types import MappingProxyType
from typing import Any

from pydantic import ValidationError

from energy.dryers.base import Array
from energy.errors import CaseError, EnergyError, Problem, UnknownNameError
from energy.plant.calendar import OperatingYear
from energy.plant.climate import Climate
from energy.resins.properties import Resin
from energy.study import retrofits
from energy.study.checks import across, resin_limits, tables
from energy.study.option_checks import carriers, set_backs
from energy.study.own_resin import resin_of
from energy.study.paths import by_name, changed, copied, long_path
from energy.study.problems import problems
from energy.study.references import (
    calendar_of,
    climate_of,
    demand_price,
    drying_temperature,
    months_of,
    own_tariffs,
    readings_of,
    tariff_of,
)
from energy.study.schema import CaseFile
from energy.tariffs import Tariff, wrong_holidays
from energy.tariffs.readers import Series

EXAMPLES = ("demo", "one-machine")
MAX_BYTES = 2_000_000


@dataclass(frozen=True, slots=True, kw_only=True)
class Stands:
    """What of a present dryer at a hopper no document says, as it is in the case that a scenario changes."""

    built_for: float
    """Counts where the case does not state it, as of portable and central dryers. [kg/s]"""
    bed_mass: Array | None
    """Desiccant of the machine; None where it has none. [kg]"""


@dataclass(frozen=True, slots=True)
class Case:
    """A checked case. Immutable: :meth:`with_` makes a changed copy."""

    model: CaseFile
    """Values in SI."""
    document: Mapping[str, Any]
    """As written, with units and bases."""
    completed: Mapping[str, Any]
    """The same with what its retrofits have of the present dryers."""
    resins: tuple[Resin, ...]
    """Of each hopper, with the case's own values."""
    tariffs: Mapping[str, Tariff]
    """By commodity."""
    calendar: OperatingYear
    """Time in each operating state, by month."""
    climate: Climate | None = None
    """None: one hall air all year."""
    readings: Series | None = None
    """Of the plant's electricity meter."""
    plant_months: tuple[Array, Array] | None = None
    """Energy and billed peak of the plant's electricity in each month, where there are no readings. [J], [W]"""
    folder: Path | None = None
    file: str = "case"
    stands: Mapping[str, Stands] = field(default_factory=dict)
    """Under a scenario, by hopper, what is kept of the present dryers."""

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
            No such path; or a short key of a hopper while there are several.
        """
        paths = {long_path(key): value for key, value in short.items()}
        if len(self.model.hoppers) > 1 and (path := next((k for k in paths if k.startswith("hoppers")), None)):
            key, name = path.rpartition(".")[2], self.model.hoppers[0].name
            raise UnknownNameError(
                f"'{key}': the case has several hoppers; write the path and a table, as in with_({{\"hoppers['{name}'].{key}\": ...}})"
            )
        document = changed(self.document, {**(changes or {}), **paths})
        return build(document, folder=self.folder, file=self.file)

    def to_toml(self) -> str:
        """The case as a file."""
        import tomli_w

        return tomli_w.dumps(dict(self.document))

    def save(self, path: str | Path, *, overwrite: bool = False) -> None:
        """Write the case, with the comments of the file that it came from; the file appears whole or not at all."""
        from energy.study.written_over import written_over

        text = written_over(_text_of(self.folder, self.file), self.document)
        write_whole(Path(path), text.encode(), overwrite=overwrite)


def _text_of(folder: Path | None, file: str) -> str:
    """Text of the file that a case came from; empty where there is none."""
    try:
        return "" if folder is None else (folder / Path(file).name).read_bytes().decode("utf-8-sig")
    except (OSError, UnicodeDecodeError):
        return ""


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
        return with_good_scenarios(
            build(read_document(example_text(str(path)), str(path)), folder=None, file=str(path))
        )
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
    return with_good_scenarios(build(read_document(text, str(path)), folder=target.resolve().parent, file=str(path)))


def with_good_scenarios(case: Case) -> Case:
    """The case, where each change of its scenarios is one that a case can have.

    Raises
    ------
    CaseError
        A path, a name or a value in a scenario is wrong; the message names the scenario.
    """
    found: list[Problem] = []
    for scenario in case.model.scenarios:
        try:
            case.with_(scenario.changes)
        except EnergyError as error:
            found += wrong_changes(case, scenario.name, scenario.changes, error)
    if found:
        raise CaseError(found, file=case.file)
    return case


def wrong_changes(case: Case, name: str, changes: Mapping[str, Any], error: EnergyError) -> list[Problem]:
    """What an error of a changed case says of the changes of a scenario themselves; empty where it is of what follows from them."""
    lines = error.problems if isinstance(error, CaseError) else (Problem("", str(error)),)
    typed = (*changes, *(by_name(case.document, path) for path in changes))
    if not any(not p.key or p.key.startswith(typed) for p in lines):
        return []
    return [Problem(f"scenarios['{name}'].changes.{p.key}".rstrip("."), p.message) for p in lines]


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
        filled = retrofits.completed(document)
    except CaseError as error:
        raise CaseError([*error.problems], file=file) from error
    try:
        model = CaseFile.model_validate(dict(filled))
    except ValidationError as error:
        told = problems(error, CaseFile, filled)
        raise CaseError(told if filled is document else retrofits.told_once(told, document), file=file) from error
    found = [*tables(document), *retrofits.problems(document), *across(model, document)]
    own, wrong = own_tariffs(model)
    found += wrong
    tariffs: dict[str, Tariff] = {}
    demand: dict[str, float | None] = {}
    try:
        demand["electricity"] = demand_price(model.tariffs.electricity_demand, model.case.currency)
    except EnergyError as error:
        found.append(Problem("tariffs.electricity_demand", str(error)))
    for commodity in ("electricity", "gas", "cooling", "water"):
        given: str | None = getattr(model.tariffs, commodity)
        if given is None or any(p.key.startswith(f"own_tariffs['{given}']") for p in wrong):
            continue
        try:
            tariffs[commodity] = tariff_of(given, commodity, model.case.currency, folder, own, demand.get(commodity))
        except EnergyError as error:
            found += [Problem(f"tariffs.{commodity}", line) for line in str(error).splitlines()]
            continue
        if (wrong_days := wrong_holidays(tariffs[commodity], model.case.year)) is not None:
            key, message = wrong_days
            inside = Problem(f"own_tariffs['{given}'].{key}", message)
            found.append(inside if given in own else Problem(f"tariffs.{commodity}", f"{given}: {key}: {message}"))
    resins: list[Resin] = []
    for hopper, row in zip(model.hoppers, filled["hoppers"], strict=True):
        place = f"hoppers['{hopper.name}']"
        try:
            resins.append(resin_of(hopper, row))
        except CaseError as error:
            found += [Problem(f"{place}.own_resin.{p.key}".rstrip("."), p.message) for p in error.problems]
        except EnergyError as error:
            found.append(Problem(f"{place}.resin", str(error)))
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
        key = "site.months" if model.site.months else "site.climate"
        found += [Problem(key, line) for line in str(error).splitlines()]
    readings = None
    try:
        electricity = tariffs.get("electricity")
        readings = readings_of(model, folder, electricity.price_calendar.time_zone if electricity else None)
    except EnergyError as error:
        key = "plant_load.file" if model.plant_load and model.plant_load.file else "plant_load.readings"
        found += [Problem(key, line) for line in str(error).splitlines()]
    plant_months = None
    try:
        plant_months = months_of(model, folder)
    except EnergyError as error:
        found += [Problem("plant_load.table", line) for line in str(error).splitlines()]
    warmest = model.site.hall_temperature or 0.0
    if climate is not None:
        warmest = float(climate.hall_temperature.max())
    if len(resins) == len(model.hoppers):
        for hopper, resin in zip(model.hoppers, resins, strict=True):
            found += resin_limits(hopper, resin, warmest, model.case.units)
        hot = {h.name: drying_temperature(h, r) for h, r in zip(model.hoppers, resins, strict=True)}
        found += set_backs(model, hot)
    found += carriers(model, tariffs)
    if found or calendar is None:
        raise CaseError(found, file=file)
    return Case(
        model=model,
        document=MappingProxyType(copied(document)),
        completed=MappingProxyType(copied(filled)),
        resins=tuple(resins),
        tariffs=MappingProxyType(tariffs),
        calendar=calendar,
        climate=climate,
        readings=readings,
        plant_months=plant_months,
        folder=folder,
        file=file,
    )
