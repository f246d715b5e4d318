"""Reads the stored values in data/ and refuses any that does not say where it comes from."""

from __future__ import annotations

import re
import tomllib
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from importlib.resources.abc import Traversable
from types import MappingProxyType
from typing import Any

from energy.errors import SourceError, UnitError, nearest
from energy.units import KINDS, parse

Value = float | str | bool | tuple[tuple[float | str, ...], ...]

BASES = {
    "read": "read in",
    "memory": "from memory of",
    "computed": "computed with",
    "common practice": "common practice",
    "assumption": "assumption",
}
"""What a value may rest on, and the words a citation begins with."""

_NEEDS_SOURCE = ("read", "memory", "computed")
_ENTRY_KEYS = ("value", "low", "high", "unit", "kind", "basis", "source", "where", "note", "columns", "rows")
_SOURCE_KEYS = ("title", "authors", "edition", "year", "publisher")
_BASE_UNITS = {"1", "K", "Pa", "kg", "m", "s", "J", "W", "mol"}


@dataclass(frozen=True, slots=True)
class Source:
    """A document, standard or open library that values were taken from."""

    key: str
    title: str
    authors: str | None
    edition: str | None
    year: int | None
    publisher: str

    def __str__(self) -> str:
        parts = (self.authors, self.title, self.edition, self.publisher, self.year)
        return ", ".join(str(part) for part in parts if part)

    def short(self) -> str:
        """Title, edition and year."""
        edition = f", {self.edition}" if self.edition else ""
        return f"{self.title}{edition}" + (f" ({self.year})" if self.year else "")


@dataclass(frozen=True, slots=True, kw_only=True)
class Sourced:
    """One stored value with its range, its unit and where it comes from."""

    key: str
    value: Value
    low: float | None = None
    high: float | None = None
    unit: str = ""
    kind: str | None = None
    basis: str
    source: Source | None = None
    where: str | None = None
    note: str | None = None
    columns: tuple[str, ...] = ()
    file: str = ""

    @property
    def si(self) -> Any:
        """The value in SI base units; texts, truth values and tables as they are."""
        return self._in_si(self.value)

    @property
    def si_low(self) -> float | None:
        """The low end of the range in SI base units, None where no range is stored."""
        return None if self.low is None else self._in_si(self.low)

    @property
    def si_high(self) -> float | None:
        """The high end of the range in SI base units, None where no range is stored."""
        return None if self.high is None else self._in_si(self.high)

    def citation(self) -> str:
        """Where the value comes from, as a short text for a table or a footnote."""
        if self.source is None:
            return f"{BASES[self.basis]}: {self.note}"
        return f"{BASES[self.basis]} {self.source.short()}: {self.where}"

    def _in_si(self, value: Any) -> Any:
        if self.kind is None:
            return float(value) if isinstance(value, int) and not isinstance(value, bool) else value
        return _parsed(value, self.unit, self.kind, self.key, self.file)


@cache
def _parsed(value: Any, unit: str, kind: str, key: str, file: str) -> float:
    try:
        return parse(f"{value} {unit}".strip(), kind, label=key)
    except UnitError as error:
        raise SourceError(f"{file}: {error}") from error


@cache
def load(name: str) -> Mapping[str, Sourced]:
    """The stored values of one data file, by key.

    Parameters
    ----------
    name : str
        Path below data/ without its ending, such as "resins/PC" or "factors".

    Returns
    -------
    Mapping[str, Sourced]
        Read-only, in the order of the file.

    Raises
    ------
    SourceError
        No such file, not TOML, or a value that does not say where it comes from.
    """
    file = f"data/{name}.toml"
    return MappingProxyType({key: _entry(file, key, raw) for key, raw in _read(name).items()})


@cache
def sources() -> Mapping[str, Source]:
    """Every document that a stored value may name, by key.

    Raises
    ------
    SourceError
        data/sources.toml names a document without title or publisher, or with an unknown key.
    """
    found = {}
    for key, raw in _read("sources").items():
        _refuse_unknown("data/sources.toml", key, raw, _SOURCE_KEYS)
        for needed in ("title", "publisher"):
            if not raw.get(needed):
                raise SourceError(f"data/sources.toml: {key}: '{needed}' is missing")
        found[key] = Source(key=key, **{part: raw.get(part) for part in _SOURCE_KEYS})
    return MappingProxyType(found)


def names(folder: str) -> list[str]:
    """The names of the data files in one folder of data/, sorted, without their ending."""
    directory = _data().joinpath(*folder.split("/"))
    if not directory.is_dir():
        raise SourceError(f"data/{folder}: no such folder")
    return sorted(f.name.removesuffix(".toml") for f in directory.iterdir() if f.name.endswith(".toml"))


def _data() -> Traversable:
    return files("energy").joinpath("data")


def _read(name: str) -> dict[str, Any]:
    parts = f"{name}.toml".split("/")
    if not all(re.fullmatch(r"\w[\w+.-]*", part) for part in parts):
        raise SourceError(f"data/{name}.toml: not the name of a data file")
    try:
        return tomllib.loads(_data().joinpath(*parts).read_text(encoding="utf-8"))
    except (FileNotFoundError, NotADirectoryError):
        folder = name.rpartition("/")[0]
        known = names(folder) if folder and _data().joinpath(*folder.split("/")).is_dir() else []
        raise SourceError(f"data/{name}.toml: no such data file{nearest(name.rpartition('/')[2], known)}") from None
    except tomllib.TOMLDecodeError as error:
        raise SourceError(f"data/{name}.toml: not valid TOML: {error}") from error


def _refuse_unknown(file: str, key: str, raw: Any, known: tuple[str, ...]) -> None:
    if not isinstance(raw, dict):
        raise SourceError(f"{file}: {key}: a bare value; write a table [{key}] that says where it comes from")
    for given in raw:
        if given not in known:
            hint = nearest(given, known)
            raise SourceError(f"{file}: {key}: unknown key '{given}'{hint}; allowed: {', '.join(known)}")


def _entry(file: str, key: str, raw: Any) -> Sourced:
    def wrong(text: str) -> SourceError:
        return SourceError(f"{file}: {key}: {text}")

    _refuse_unknown(file, key, raw, _ENTRY_KEYS)
    basis = raw.get("basis")
    if basis not in BASES:
        given = "is missing" if basis is None else f"is {basis!r}"
        raise wrong(f"'basis' {given}; write one of {', '.join(BASES)}")
    for needed in ("source", "where") if basis in _NEEDS_SOURCE else ("note",):
        if not raw.get(needed):
            raise wrong(f"'{needed}' is missing; basis '{basis}' needs it")
    source = sources().get(raw["source"]) if "source" in raw else None
    if "source" in raw and source is None:
        raise wrong(f"source {raw['source']!r} is not in data/sources.toml{nearest(raw['source'], [*sources()])}")
    value, columns = _table(raw, wrong) if "rows" in raw else (raw.get("value"), ())
    if value is None:
        raise wrong("'value' is missing")
    _check_number(raw, value, wrong)
    stored = {part: raw[part] for part in ("low", "high", "unit", "kind", "where", "note") if part in raw}
    return Sourced(key=key, value=value, basis=basis, source=source, columns=columns, file=file, **stored)


def _table(raw: Mapping[str, Any], wrong: Any) -> tuple[Any, tuple[str, ...]]:
    columns = tuple(raw.get("columns", ()))
    rows = tuple(tuple(row) for row in raw["rows"])
    if "value" in raw:
        raise wrong("has both 'value' and 'rows'; write one")
    if not rows or not columns or any(len(row) != len(columns) for row in rows):
        raise wrong("'rows' and 'columns' do not fit; every row needs one value per column")
    return rows, columns


def _check_number(raw: Mapping[str, Any], value: Any, wrong: Any) -> None:
    number = isinstance(value, int | float) and not isinstance(value, bool)
    if not number:
        for part in ("low", "high", "unit", "kind"):
            if part in raw:
                raise wrong(f"'{part}' stands beside a value that is not a number")
        if not isinstance(value, str | bool | tuple):
            raise wrong(f"value {value!r} is not a number, a text, true or false")
        return
    if ("low" in raw) != ("high" in raw):
        raise wrong("'low' and 'high' come together; write both or neither")
    if "low" in raw and not raw["low"] <= value <= raw["high"]:
        raise wrong(f"low <= value <= high does not hold: {raw['low']}, {value}, {raw['high']}")
    kind, unit = raw.get("kind"), raw.get("unit", "")
    if kind is not None and kind not in KINDS:
        raise wrong(f"kind {kind!r} is not known{nearest(kind, [*KINDS])}; allowed: {', '.join(KINDS)}")
    if kind is None and not {*re.findall(r"[^\W\d]+", unit)} <= _BASE_UNITS:
        raise wrong(f"'kind' is missing; without it the unit must be made of SI base units, not {unit!r}")
