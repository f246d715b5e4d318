"""From the text of a unit to its scale: variants brought to one spelling, then the table, then pint."""

from __future__ import annotations

import re
from functools import lru_cache
from typing import Any

from energy.errors import UnitError, nearest
from energy.units.currencies import code_of, sign_in, with_code
from energy.units.kinds import DENOMINATORS, GAS_CONSTANT_DRY_AIR, HINTS, KINDS, TABLES, Kind, Scale

_WORDS = {
    variant: word
    for word, variants in {
        "h": "hr hrs hour hours",
        "min": "minute minutes",
        "s": "sec second seconds",
        "day": "d days",
        "week": "weeks",
        "month": "months",
        "year": "yr yrs years",
        "L": "l liter liters litre litres",
        "lb": "lbs pound pounds",
        "t": "tonne tonnes",
        "ton": "tons",
        "gal": "gallon gallons",
        "Btu": "btu BTU",
        "MMBtu": "mmbtu MMBTU Dth dth",
        "therm": "therms",
        "kW": "kw KW Kw",
        "kWh": "kwh KWH KWh Kwh",
        "kVA": "kva KVA",
        "kvar": "kVAr kVAR KVAR",
        "kvarh": "kVArh kVARh KVARH",
        "ccf": "CCF hcf HCF",
        "Mcf": "MCF",
        "ft/min": "fpm FPM",
        "lb/h": "pph PPH",
        **{word: word.upper() for word in ("cfm", "acfm", "scfm", "psi", "psig", "psia", "hp")},
    }.items()
    for variant in variants.split()
}
_SIGNS = str.maketrans(
    {
        "°": "deg",
        "℃": "degC",
        "℉": "degF",
        "µ": "u",
        "μ": "u",
        "²": "2",
        "³": "3",
        "·": " ",
        "⋅": " ",
        "*": " ",
    }
)
_COLDEST, _HOTTEST, _THINNEST, _DENSEST = 200.0, 600.0, 4e4, 2e6
"""Between which a volume of gas may be counted. [K], [Pa]"""
# Never sent to pint, which knows no basis, no reference condition and no gauge, and to which a pressure is as
# good as an energy per volume.
_CLOSED = {
    "demand",
    "apparent power",
    "reactive energy",
    "temperature",
    "gas flow",
    "pressure",
    "share",
    "ratio",
    "moisture",
    "rate",
    "time",
    "specific power",
}
# Names that pint reads differently from this trade, or that can mean two things.
_BARRED = re.compile(r"\b([NnSs]m3|slp?m|sccm|tons?|Mlb|MBtu|k?cal\w*|barrels?|bbl)\b")


@lru_cache(maxsize=4096)
def tidy(unit: str) -> str:
    """One spelling for signs, powers, spaces and everyday variants of a unit."""
    text = re.sub(r"(?:\^|\*\*)\s*(?=[23]\b)", "", unit.strip()).translate(_SIGNS)
    text = re.sub(r"\bdeg\s+(?=[CF]\b)", "deg", re.sub(r"\s+", " ", text))
    text = re.sub(r"\b1,000 ", "1000 ", re.sub(r"^per | per ", "/", text))
    text = re.sub(r" ?/ ?", "/", text)
    return re.sub(r"[A-Za-z_]+(?![\w(])", lambda word: _WORDS.get(word[0], word[0]), text)


@lru_cache(maxsize=1)
def _registry() -> Any:
    """Pint with this trade's units, so that cfm is no centi-femto-metre and a year no 365.25 days."""
    import pint

    registry: Any = pint.UnitRegistry(on_redefinition="ignore")
    for definition in (
        "Btu = 1055.05585262 joule",
        "MMBtu = 1e6 Btu",
        "therm = 1e5 Btu",
        "hp = 550 foot * force_pound",
        "TR = 12000 Btu / hour",
        "cfm = foot ** 3 / minute",
        "acfm = cfm",
        "ccf = 100 foot ** 3",
        "Mcf = 1000 foot ** 3",
        "year = 8760 hour",
        "month = 730 hour",
    ):
        registry.define(definition)
    return registry


def _by_pint(unit: str, si: str) -> Scale | None:
    """Scale of a spelling that is not in the table, or None when it has not the dimension of that SI unit."""
    expression, target = (re.sub(r"(?<=[A-Za-z])([23])\b", r"**\1", u).replace(" ", "*") for u in (unit, si))
    if _BARRED.search(unit) or not re.fullmatch(r"(?:[A-Za-z_/*()]|\*\*[23])+", expression):
        return None
    registry = _registry()
    try:
        return Scale(float(registry.Quantity(1.0, registry.parse_units(expression)).to(target).magnitude))
    except Exception:  # pint lets token, type and attribute errors through besides its own
        return None


def _gas_at(unit: str) -> Scale | None:
    """Scale of ``m3/h at 20 degC and 845 mbar(a)``, a volume of gas at a temperature and an absolute pressure; None where it is none."""
    match = re.fullmatch(r"(\S+) at (-?[\d.]+) ?(deg[CF]|K) and ([\d.]+) ?(\S+)", unit)
    if match is None:
        return None
    volume, warm = TABLES["volume flow"].get(match[1]), TABLES["temperature"].get(match[3])
    pressed = TABLES["pressure"].get(match[5])
    if volume is None or warm is None or pressed is None or pressed.gauge:
        return None
    try:
        temperature = float(match[2]) * warm.factor + warm.offset
        pressure = float(match[4]) * pressed.factor
    except ValueError:
        return None
    if not (_COLDEST <= temperature <= _HOTTEST and _THINNEST <= pressure <= _DENSEST):
        return None
    return Scale(volume.factor * pressure / (GAS_CONSTANT_DRY_AIR * temperature))


@lru_cache(maxsize=4096)
def _scale(kind: str, unit: str) -> Scale | None:
    if kind == "temperature":
        unit = {"C": "degC", "F": "degF"}.get(unit, unit)
    elif kind not in ("temperature difference", "gas flow"):
        unit = re.sub(r"\b(delta_)?degC\b", "K", unit).replace("delta_degF", "degF")
    if kind == "emission factor":
        unit = re.sub(r" CO2e?/", "/", unit)
    found = TABLES[kind].get(unit) or (_gas_at(unit) if kind == "gas flow" else None)
    if found or not unit or kind in _CLOSED or (kind, unit) in HINTS:
        return found
    if kind not in DENOMINATORS:
        return _by_pint(unit.replace("degF", "delta_degF"), KINDS[kind].si)
    months = 1.0
    if kind == "price per power":
        months = 12.0 if unit.endswith("/year") else 1.0
        unit = unit.removesuffix("/year").removesuffix("/month")
    many = re.fullmatch(r"/(?:(10|100|1000) )?(.+)", unit)
    below = _scale(DENOMINATORS[kind], many[2]) if many else None
    return Scale(1 / (below.factor * months * float((many and many[1]) or 1))) if below else None


def known(kind: str) -> Kind:
    """The kind of that name, or an error that names the nearest."""
    if kind not in KINDS:
        raise UnitError(f"'{kind}' is not a kind of quantity{nearest(kind, list(KINDS))}")
    return KINDS[kind]


def refusal(kind: str, written: str, currency: str | None = None) -> UnitError:
    """The error that says what a text is not, and the units to write (the first ten when there are many)."""
    # A difference of temperatures is one in degC as well, and need not be told twice.
    units = [u.replace("USD", currency or "USD") for u in known(kind).units if not u.startswith("delta_")]
    if kind in ("share", "ratio"):
        choice = "a number, or a number and %"
    else:
        choice = f"a number and {'' if len(units) == 1 else 'one of '}{', '.join(units[:10])}"
    if units[0].startswith("USD") and not currency:
        choice += OTHER_CURRENCY
    if units[0].startswith(currency or "USD") and (better := _in_its_code(kind, written[1:-1], currency)):
        choice = better
    bare = re.fullmatch(r"'[-+]?[\d.,]+'", written) is not None
    sign = sign_in(written) if units[0].startswith(currency or "USD") else ""
    code = f" ({sign} is written as {code_of(sign)})" if sign else ""
    return UnitError(f"{written} {'has no unit' if bare else f'is not {KINDS[kind].article}{code}'}; write {choice}")


def _in_its_code(kind: str, text: str, currency: str | None) -> str:
    """An amount or price as it is to be written, where only its sign, or that it is in cents or pence, is in the way; else empty."""
    better = with_code(text, currency)
    money = re.fullmatch(r"[-+\d.]+ [A-Z]{3}(.*)", better)
    return better if money is not None and _scale(kind, tidy(money[1])) is not None else ""


OTHER_CURRENCY = " (or another currency code)"


def in_currency(refused: str, currency: object) -> str:
    """The words of a refusal where the currency is known after all."""
    said, write, units = refused.rpartition("; write ")
    if not units.endswith(OTHER_CURRENCY) or not isinstance(currency, str) or not re.fullmatch("[A-Z]{3}", currency):
        return refused
    return f"{said}{write}{units.removesuffix(OTHER_CURRENCY).replace('USD', currency)}"


def scale_of(kind: str, unit: str, written: str, currency: str | None, gauge_reference: float) -> Scale:
    """The scale of a unit of that kind, or the sentence that says what to write."""
    text, looked_up = tidy(unit), kind
    if known(kind).si.startswith("money"):
        money = re.fullmatch(r"([A-Z]{3}|money)((?:/.+)?)", text)
        if not money:
            raise refusal(kind, written, currency)
        if currency and money[1] not in (currency, "money"):
            raise UnitError(f"{written} is in {money[1]}, but the currency here is {currency}; write it in {currency}")
        text, looked_up = money[2], DENOMINATORS.get(kind, kind)
    scale = _scale(kind, text)
    if scale is None:
        hint = HINTS.get((looked_up, text.removeprefix("/")))
        raise UnitError(f"{written}: {hint}") if hint else refusal(kind, written, currency)
    return scale._replace(offset=gauge_reference) if scale.gauge else scale
