"""Reads a tariff file by its path or, if it is an invented example, by name; explains what is wrong in it."""

from __future__ import annotations

import re
import tomllib
from collections.abc import Mapping, Sequence
from functools import lru_cache
from importlib import resources
from importlib.resources.abc import Traversable
from os.path import isfile
from pathlib import Path
from typing import Any, get_args

from pydantic import BaseModel, ValidationError

from energy.errors import CaseError, Problem, UnknownNameError, nearest
from energy.tariffs.charges import CHARGE_TYPES
from energy.tariffs.clock import holidays_kept
from energy.tariffs.tariff import Tariff
from energy.units.currencies import code_of
from energy.units.spelling import in_currency


def demo_tariffs() -> tuple[str, ...]:
    """Names of the invented tariffs that come with the project."""
    return tuple(sorted(_demo_files()))


def load_tariff(path_or_name: str | Path, *, currency: str | None = None) -> Tariff:
    """Read a tariff file.

    Parameters
    ----------
    path_or_name : str or Path
        Path of a file (a text with a stroke or ending in .toml), or one of `demo_tariffs`.
    currency : str, optional
        Currency it must be in; nothing is converted.

    Returns
    -------
    Tariff
        The tariff, prices in SI.

    Raises
    ------
    UnknownNameError
        No such file or name.
    CaseError
        The file cannot be read or used; one line for each thing wrong, with file and key.
    """
    path = Path(path_or_name)
    if isinstance(path_or_name, Path) or path.suffix == ".toml" or len(path.parts) > 1 or isfile(path):
        if not isfile(path):
            raise UnknownNameError(f"{path}: there is no such file; {_known(path.stem)}")
    else:
        return _in_currency(_demo_tariff(str(path_or_name)), currency, str(path))
    return tariff_from(read_tariff_document(path), currency=currency, file=str(path))


@lru_cache(maxsize=64)
def _demo_tariff(name: str) -> Tariff:
    """An invented tariff, which does not change while the program runs."""
    demos = _demo_files()
    if name not in demos:
        raise UnknownNameError(f"'{name}' is not a tariff; {_known(name)}")
    return tariff_from(read_tariff_document(demos[name]), file=name)


def tariff_from(document: Mapping[str, Any], *, currency: str | None = None, file: str = "") -> Tariff:
    """A tariff from what its file would hold.

    Parameters
    ----------
    document : mapping
        Keys and values as TOML gives them.
    currency : str, optional
        Currency it must be in; nothing is converted.
    file : str
        Named in errors.

    Returns
    -------
    Tariff
        The tariff, prices in SI.

    Raises
    ------
    CaseError
        One line for each thing wrong, with its key.
    """
    try:
        tariff = Tariff.model_validate(document)
    except ValidationError as error:
        raise CaseError(_problems(error, document), file=file) from None
    return _in_currency(tariff, currency, file)


def wrong_holidays(tariff: Tariff, year: int) -> Problem | None:
    """What is wrong in the public holidays that a tariff's calendar keeps, which only a year tells; None where nothing is."""
    given = None if tariff.calendar is None else tariff.calendar.holidays
    if given is None:
        return None
    key = "calendar.holidays"
    try:
        holidays_kept(year, given.country, given.subdivision, (), given.dates, given.rule)
        key = "calendar.holidays.names"
        holidays_kept(year, given.country, given.subdivision, given.names, given.dates, given.rule)
    except UnknownNameError as error:
        return Problem(key, str(error))
    return None


def _in_currency(tariff: Tariff, currency: str | None, file: str) -> Tariff:
    """The tariff, refused in another currency."""
    if currency and tariff.currency != currency:
        message = f"is {tariff.currency}, but {currency} is wanted; a tariff is not converted"
        raise CaseError([Problem("currency", message)], file=file)
    return tariff


def _demo_files() -> dict[str, Traversable]:
    entries = resources.files("tariffs_demo").iterdir()
    return {entry.name.removesuffix(".toml"): entry for entry in entries if entry.name.endswith(".toml")}


def _known(name: str) -> str:
    demos = demo_tariffs()
    return f"write the path of a tariff file, or one of {', '.join(demos)}{nearest(name, demos)}"


def read_tariff_document(file: Path | Traversable) -> dict[str, Any]:
    """What a tariff file holds, unchecked.

    Raises
    ------
    CaseError
        It cannot be read, or is no TOML.
    """
    name = file.name if not isinstance(file, Path) else str(file)
    try:
        text = file.read_bytes().decode("utf-8-sig")
        return tomllib.loads(text)
    except OSError as error:
        problem = Problem("", f"cannot be read: {error.strerror}")
    except UnicodeDecodeError:
        problem = Problem("", "is not text in UTF-8; save it as UTF-8")
    except RecursionError:
        problem = Problem("", "is nested too deeply")
    except ValueError as error:  # mostly a TOMLDecodeError, which says where
        what, _, where = str(error).partition(" (at ")
        where = where.removesuffix(")").replace("end of document", f"line {len(text.splitlines())}")
        problem = Problem(where, f"cannot be read as TOML: {what[:1].lower()}{what[1:]}")
    raise CaseError([problem], file=name)


_BOUNDS = {
    "greater_than_equal": ("{:g} or more", "ge"),
    "greater_than": ("more than {:g}", "gt"),
    "less_than_equal": ("{:g} or less", "le"),
}
_WANTED = {
    "string": "text in quotes",
    "bool": "true or false",
    "date": "a date such as 2026-01-31",
    "tuple": "a list",
    "model": "a table",
    "dict": "a table",
}


def _problems(error: ValidationError, document: Mapping[str, Any]) -> list[Problem]:
    """The validator's findings in our words."""
    found: list[Problem] = []
    raised = error.errors(include_url=False)
    for raw in raised:
        n = len(raw["loc"])
        if raw["type"] == "too_short" and any(r["loc"][:n] == raw["loc"] and len(r["loc"]) > n for r in raised):
            continue  # its entries are wrong, not missing
        key, model = _where(raw["loc"], document)
        if raw["loc"]:
            told = in_currency(_sentence(raw, model), document.get("currency"))
            found += [Problem(key, line) for line in told.splitlines()]
            continue
        for line in str(raw["ctx"]["error"]).splitlines():  # from the tariff as a whole, which names the keys
            where, _, message = line.partition(": ")
            found.append(Problem(where, message))
    return found


def _where(loc: Sequence[int | str], document: Mapping[str, Any]) -> tuple[str, type[BaseModel]]:
    """Key as a reader finds it in the file, charges by their id, and the record it belongs to."""
    if loc[:1] != ("charges",) or len(loc) < 2:
        return ".".join(_counted(loc)), _record_at(Tariff, loc[:-1])
    charge = document["charges"][loc[1]]
    name = charge.get("id") if isinstance(charge, Mapping) else None
    head = f"charges.{name}" if isinstance(name, str) else f"charges, number {int(loc[1]) + 1}"
    model = CHARGE_TYPES.get(str(loc[2]), Tariff) if len(loc) > 2 else Tariff
    return ".".join([head, *_counted(loc[3:])]), _record_at(model, loc[3:-1])


def _counted(loc: Sequence[int | str]) -> list[str]:
    """Keys as they are written; the entries of a list counted from 1."""
    return [str(part + 1) if isinstance(part, int) else part for part in loc]


def _record_at(model: type[BaseModel], loc: Sequence[int | str]) -> type[BaseModel]:
    """The record that stands at a key inside another."""
    for part in loc:
        if isinstance(part, str) and part in model.model_fields:
            pending: list[Any] = [model.model_fields[part].annotation]
            while pending:
                found = pending.pop()
                if isinstance(found, type) and issubclass(found, BaseModel):
                    model = found
                    break
                pending += get_args(found)
    return model


def _sentence(raw: Mapping[str, Any], model: type[BaseModel]) -> str:
    kind, given, name = raw["type"], raw["input"], str(raw["loc"][-1])
    if kind == "value_error":
        return str(raw["ctx"]["error"])
    if kind == "extra_forbidden":
        allowed = list(model.model_fields)
        return f"there is no such key{nearest(name, allowed)}; allowed are {', '.join(allowed)}"
    if kind == "missing":
        return "is missing"
    if kind.startswith("union_tag"):
        given = str(given.get("type", "")) if isinstance(given, Mapping) else ""
        start = f"'{given}' is not a type of charge" if given else "the charge has no type"
        return f"{start}; write type = one of {', '.join(CHARGE_TYPES)}{nearest(given, list(CHARGE_TYPES))}"
    if kind == "literal_error":
        allowed = re.findall(r"'([^']*)'", raw["ctx"]["expected"])
        return f"{given!r} is not allowed; write one of {', '.join(allowed)}{nearest(str(given), allowed)}"
    if kind in _BOUNDS:
        bound, limit = _BOUNDS[kind]
        return f"'{getattr(given, 'text', given)}' is not allowed; it must be {bound.format(raw['ctx'][limit])}"
    if kind == "string_pattern_mismatch":
        if name not in ("currency", "id"):
            return "must be one line of text"
        code = code_of(str(given)) or "three capital letters such as USD"
        wanted = code if name == "currency" else "letters, digits, - and _"
        return f"{given!r} is not allowed; write {wanted}"
    if kind in ("too_short", "string_too_short"):
        return "must not be empty"
    if raw["loc"] == ("charges",):
        return "is not a list; write each charge under its own [[charges]]"
    wanted = _WANTED.get(kind.partition("_")[0], "another value")
    shown = "what stands here" if isinstance(given, Mapping | list) else repr(given)
    return f"{shown} cannot be used; write {wanted}"
