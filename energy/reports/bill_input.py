"""What the command `bill` is given, as a tariff and a load; refusals speak of its options."""

from __future__ import annotations

import re
from calendar import month_name
from collections.abc import Mapping
from pathlib import Path
from typing import Any, Protocol

import numpy as np

from energy.errors import CaseError, EnergyError, OutOfRangeError, Problem
from energy.tariffs import Bill, Load, Tariff, bill, load_rate_json, load_tariff, wrong_holidays
from energy.tariffs.known_load import Metered, check_year, constant_load, read_load
from energy.units import parse
from energy.units.currencies import code_of

_EACH_MONTH = {"energy": "energy", "peak": "power", "daily_peak": "energy", "volume": "volume"}
_READING = ("column", "unit", "time", "zone", "stamp", "step", "day_first", "decimal")
_FLAGS = {"value": "--column", "time": "--time-column", "day_first": "--day-first"}

_LACKING = {
    "power factor": "--power-factor",
    "highest energy of a day": "--daily-peak",
    "volume": "--volume",
    "monthly peak": "--peak",
    "energy": "--energy",
}
"""Options that give what a charge may lack."""


class Arguments(Protocol):
    """Options of the command, None where left out."""

    tariff: str
    load: str | None
    constant: str | None
    energy: str | None
    peak: str | None
    daily_peak: str | None
    volume: str | None
    power_factor: str | None
    year: int
    month: int | None
    column: str | None
    zone: str | None
    day_first: str | None
    currency: str
    record: int


def tariff_of(arguments: Arguments) -> tuple[Tariff, list[str]]:
    """The tariff, and what of a rate record was not taken over.

    Raises
    ------
    EnergyError
        No such file or name, or a file that cannot be used.
    """
    if not arguments.tariff.lower().endswith(".json"):
        return load_tariff(arguments.tariff), []
    if not re.fullmatch("[A-Z]{3}", arguments.currency):
        code = code_of(arguments.currency) or "three capital letters such as USD"
        raise EnergyError(f"--currency: '{arguments.currency}' is not allowed; write {code}")
    tariff, ignored = load_rate_json(
        arguments.tariff, currency=arguments.currency, time_zone=arguments.zone, number=arguments.record
    )
    return tariff, [f"Not taken over from the rate record: {'; '.join(ignored)}."] if ignored else []


def load_of(arguments: Arguments, tariff: Tariff) -> Metered:
    """The load that is billed.

    Raises
    ------
    EnergyError
        Not one way of giving it, a text that is no quantity, or a file that cannot be used.
    """
    year, month = check_year(arguments.year), arguments.month
    if (wrong_days := wrong_holidays(tariff, year)) is not None:
        raise CaseError([wrong_days], file=arguments.tariff)
    if month is not None and not 1 <= month <= 12:
        raise OutOfRangeError(f"--month: {month} is not a month; write 1 to 12")
    each = {name: text for name in _EACH_MONTH if (text := getattr(arguments, name)) is not None}
    if sum((arguments.load is not None, arguments.constant is not None, bool(each))) != 1:
        raise EnergyError(
            'give the load in one way: --load FILE.csv, --constant "400 kW", or what each month has, '
            'such as --energy "100000 kWh" --peak "250 kW"'
        )
    factor = None
    if arguments.power_factor is not None:
        try:
            factor = power_factor(arguments.power_factor)
        except EnergyError as error:
            raise OutOfRangeError(f"--power-factor: {error}") from None
    others: dict[str, Any] = {} if factor is None else {"power_factor": np.full(12, factor)}
    given = {name: value for name in _READING if (value := getattr(arguments, name)) is not None}
    if arguments.load is not None:
        if "day_first" in given:
            given["day_first"] = given["day_first"] == "yes"
        try:
            return read_load(arguments.load, tariff, year, month=month, power_factor=factor, **given)
        except CaseError as error:
            raise CaseError([Problem(p.key, flagged(p.message)) for p in error.problems], file=error.file) from None
    unused = [_FLAGS.get(name, f"--{name}") for name in given if name != "zone"]
    if unused:
        raise EnergyError(f"{unused[0]} says how a file of readings is read; give one with --load")
    if arguments.constant is not None:
        kind = "volume flow" if tariff.commodity == "water" else "power"
        return Metered(load=constant_load(tariff, _positive(arguments.constant, kind, "--constant"), year, **others))
    for name, text in each.items():
        others[name] = np.full(12, _positive(text, _EACH_MONTH[name], f"--{name.replace('_', '-')}"))
    return Metered(load=Load(year=year, spread="clock hours", **others))


def power_factor(text: str) -> float:
    """A power factor as it was typed; a bare number from 10 up can only be per cent: "85" is 85 %.

    Raises
    ------
    EnergyError
        Not a number, or not above 0 and up to 1.
    """
    value = parse(text, "share")
    if 10.0 <= value <= 100.0 and re.fullmatch(r"[\d.,\s]+", text):
        value /= 100.0
    if not 0.0 < value <= 1.0:
        raise OutOfRangeError(f"'{text}' must be above 0 and up to 1")
    return value


def bill_of(arguments: Arguments, tariff: Tariff, load: Load) -> Bill:
    """The year's bill, rounded as a printed one.

    Raises
    ------
    EnergyError
        A charge counts what the load does not have; with the tariff, and the option that gives it.
    """
    try:
        return bill(tariff, load, "steady", rounded=True)
    except EnergyError as error:
        given = next((flag for lacks, flag in _LACKING.items() if f"needs the {lacks}" in str(error)), None)
        hint = f"; give {given}" if given and (arguments.load is None or given == "--power-factor") else ""
        raise EnergyError(f"{arguments.tariff}: {error}{hint}") from error


def about_load(arguments: Arguments) -> str:
    """The load in a few words."""
    parts = [f"{arguments.constant} all year"] if arguments.constant else []
    parts += [f"load of {Path(arguments.load).name}"] if arguments.load else []
    parts += [
        f"{name.replace('_', ' ')} {text} a month"
        for name in _EACH_MONTH
        if (text := getattr(arguments, name)) is not None
    ]
    parts += [f"power factor {arguments.power_factor}"] if arguments.power_factor is not None else []
    when = str(arguments.year) if arguments.month is None else f"{month_name[arguments.month]} {arguments.year}"
    return f"{', '.join(parts)}, {when}"


def flagged(message: str, names: Mapping[str, str] | None = None) -> str:
    """A reader's sentence with the names under which its options are given here."""
    flags = _FLAGS if names is None else names
    message = message.replace("day_first=True or False", "day_first=yes or no")
    names_of_options = r"\b(time|value|unit|zone|stamp|step|day_first|decimal)=(?=(\w|'|\")?)"
    return re.sub(names_of_options, lambda m: flags.get(m[1], f"--{m[1]}") + (" " if m[2] else ""), message)


def _positive(text: str, kind: str, label: str) -> float:
    value = parse(text, kind, label=label)
    if value < 0:
        raise OutOfRangeError(f"{label}: '{text}' is negative; 0 or more is allowed")
    return value
