"""The only place that converts: text with a unit outside, SI floats inside.

A unit alone does not say what is meant ("20 degC" may be a temperature or a difference of two, "7 bar"
gauge or absolute), so every quantity belongs to a kind, and each kind knows the units it accepts. Common
spellings stand in a small table; any other goes to pint, in a registry that knows this trade's names, and
must have the dimension of the kind. Pint is loaded only then.
"""

from __future__ import annotations

import math
import re
from collections.abc import Mapping
from dataclasses import dataclass
from functools import lru_cache
from typing import Any, overload

import numpy as np
from numpy.typing import NDArray

from energy.errors import UnitError
from energy.units.kinds import KINDS, STANDARD_ATMOSPHERE, Kind, Scale
from energy.units.spelling import known, refusal, scale_of, tidy

__all__ = [
    "KINDS",
    "SI",
    "Kind",
    "Quantity",
    "from_unit",
    "parse",
    "show",
    "shown_unit",
    "to_unit",
    "unit_of",
    "with_unit",
]

_NUMBER = re.compile(
    r"([+-]?(?:[1-9]\d{0,2}(?:,\d{3})+(?!\d)|[1-9]\d?(?:,\d{2})+,\d{3}(?!\d)|[1-9]\d{0,2}(?:_\d{3})+(?!\d)|\d+)?(?:(?<=\d)\.\d*|\.\d+)?(?<=[\d.])"
    r"(?:[eE][+-]?\d+)?)\s*(.*)"
)
# Groups between commas have three digits, or as in India two before the last three. One or two behind a single comma are decimals,
# and so are four or more behind a bare 0.
_DECIMAL_COMMA = re.compile(r"^[+-]?(?:\d+,\d{1,2}|0,\d{4,})(?![\d,._])")
_SPACED = re.compile(r"^[+-]?[1-9]\d{0,2}(?:\s\d{3})+(?![\d_]|\s\d)(?!,\d{3}(?!\d))")
"""Groups of three digits with a space of any width between them: only thousands are written so."""


class SI(float):
    """A number already in SI; `text` is what the user wrote, empty when nobody wrote it."""

    __slots__ = ("text",)
    text: str

    def __new__(cls, value: float, text: str = "") -> SI:
        new = super().__new__(cls, value)
        new.text = text
        return new


def parse(
    value: str | int | float,
    kind: str,
    *,
    label: str = "",
    currency: str | None = None,
    gauge_reference: float = STANDARD_ATMOSPHERE,
) -> float:
    """Read a text such as "90 kg/h" as a number in SI.

    Parameters
    ----------
    value : str, int or float
        What the user wrote. A bare number is accepted for a share or a ratio only; `SI` passes. A comma parts thousands
        where three digits follow it (or as in India two and then three: "1,50,000 W"), and is a decimal one where it can be nothing else: "1,200 W", "9,6 kg".
        A space parts thousands as well: "1 200 W".
    kind : str
        A key of `KINDS`.
    label : str
        Name of the input, put before every error sentence.
    currency : str, optional
        Currency code of the case; an amount in another one is refused.
    gauge_reference : float
        Ambient pressure that gauge readings are counted from. [Pa]

    Returns
    -------
    float
        The quantity in `KINDS[kind].si`; pressure is absolute, moisture on dry basis.

    Raises
    ------
    UnitError
        No number, no unit, a unit of another kind or of two meanings, another currency, a value below
        absolute zero.
    """
    if isinstance(value, SI):
        return float(value)
    try:
        if isinstance(value, bool) or not isinstance(value, str | int | float):
            said = repr(value)
            raise refusal(kind, said if len(said) < 100 else "what stands here", currency)
        return _parse(str(value), kind, currency, gauge_reference)
    except UnitError as error:
        raise UnitError(f"{label}: {error}" if label else str(error)) from None


def unit_of(text: str, kind: str) -> str:
    """The unit that a quantity of that kind is written with; empty where it has none that can be read."""
    match = _NUMBER.fullmatch(_plain(" ".join(text.split())))
    try:
        return tidy(match[2]) if match and _scale(kind, match[2], STANDARD_ATMOSPHERE) else ""
    except UnitError:
        return ""


def with_unit(text: str, unit: str) -> str:
    """What was typed, with a unit put behind a bare number; one with the minus sign of print is a number too."""
    try:
        float(_plain(text).replace(",", ""))
    except ValueError:
        return text
    return f"{text} {unit}".strip()


def _plain(text: str) -> str:
    """A text with the minus sign, the thousands and the decimals of its number as a computer writes them."""
    joined = _SPACED.sub(lambda m: "".join(m[0].split()), text.strip().replace("−", "-"), count=1)
    return _DECIMAL_COMMA.sub(lambda m: m[0].replace(",", "."), joined, count=1)


@lru_cache(maxsize=16384)
def _parse(text: str, kind: str, currency: str | None, gauge_reference: float) -> float:
    written = f"'{' '.join(text.split())}'"
    match = _NUMBER.fullmatch(_plain(written[1:-1]))
    if not match:
        raise refusal(kind, written, currency)
    if re.match(r"[\d,_.](?!/)", match[2]):
        raise UnitError(
            f"{written} has no number that can be read; write a decimal point or one comma before one or two decimals, and no point for "
            "thousands, as in 7955.25 or 7955,25; commas may stand between groups of three digits, as in 1,200.5, or of two before the "
            "last three, as in 1,50,000"
        )
    scale = scale_of(kind, match[2], written, currency, gauge_reference)
    number = float(match[1].replace(",", "").replace("_", ""))
    if not math.isfinite(number):
        raise UnitError(f"{written} is too large a number")
    return float(_to_si(number, scale, kind, written))


def _to_si(x: Any, scale: Scale, kind: str, written: str) -> Any:
    # Dividing by a whole number, such as 3600 or 100, keeps 35 % at 0.35 to the last digit.
    si = (x * scale.factor if scale.factor >= 1 else x / (1 / scale.factor)) + scale.offset
    if scale.wet:
        if np.any(np.asarray(si) >= 1.0):
            raise UnitError(f"{written} is no moisture on wet basis; write less than 100 %, or say dry basis")
        si = si / (1.0 - si)
    if kind in ("temperature", "pressure") and np.any(np.asarray(si) < 0.0):
        raise UnitError(f"{written} is below absolute zero; write a {kind} above it")
    return si


def _number(value: Any) -> Any:
    return float(value) if isinstance(value, float) or np.ndim(value) == 0 else np.asarray(value, dtype=float)


@lru_cache(maxsize=1024)
def _scale(kind: str, unit: str, gauge_reference: float) -> Scale:
    return scale_of(kind, unit, f"'{unit}'", None, gauge_reference)


@overload
def from_unit(value: float, kind: str, unit: str, *, gauge_reference: float = ...) -> float: ...
@overload
def from_unit(value: NDArray[Any], kind: str, unit: str, *, gauge_reference: float = ...) -> NDArray[np.float64]: ...
def from_unit(value: Any, kind: str, unit: str, *, gauge_reference: float = STANDARD_ATMOSPHERE) -> Any:
    """Numbers counted in a unit, in SI.

    Parameters
    ----------
    value : array_like, shape (...)
        Numbers counted in `unit`.
    kind : str
        A key of `KINDS`.
    unit : str
        A unit that `parse` accepts for that kind, for instance "degF" or "USD/kWh".
    gauge_reference : float
        Ambient pressure that gauge readings are counted from. [Pa]

    Returns
    -------
    float or ndarray, shape (...)
        The same in `KINDS[kind].si`.

    Raises
    ------
    UnitError
        The unit is not one of that kind, or a value is below absolute zero.
    """
    return _to_si(_number(value), _scale(kind, unit, gauge_reference), kind, f"a value in '{unit}'")


@overload
def to_unit(value: float, kind: str, unit: str, *, gauge_reference: float = ...) -> float: ...
@overload
def to_unit(value: NDArray[Any], kind: str, unit: str, *, gauge_reference: float = ...) -> NDArray[np.float64]: ...
def to_unit(value: Any, kind: str, unit: str, *, gauge_reference: float = STANDARD_ATMOSPHERE) -> Any:
    """Numbers in SI, counted in a unit: the inverse of `from_unit`, with the same parameters.

    Returns
    -------
    float or ndarray, shape (...)
        Numbers counted in `unit`.

    Raises
    ------
    UnitError
        The unit is not one of that kind.
    """
    scale = _scale(kind, unit, gauge_reference)
    x = _number(value)
    if scale.wet:
        x = x / (1.0 + x)
    return (x - scale.offset) / scale.factor if scale.factor >= 1 else (x - scale.offset) * (1 / scale.factor)


def shown_unit(kind: str, system: str, currency: str = "") -> str:
    """The unit a kind is shown in.

    Parameters
    ----------
    kind : str
        A key of `KINDS`.
    system : {"si", "us"}
        The reader's units.
    currency : str
        Currency code; without one the unit of a price reads "money/kWh".

    Returns
    -------
    str
        A unit that `to_unit` accepts.

    Raises
    ------
    UnitError
        No such kind or system.
    """
    if system not in ("si", "us"):
        raise UnitError(f"'{system}' is not a system of units; write si or us")
    unit = known(kind).shown_si if system == "si" else known(kind).shown_us
    return unit.replace("money", currency or "money")


def usual_unit(kind: str, usual: str, system: str, currency: str = "") -> str:
    """The unit a quantity is shown in that has one of its own in SI, such as mm for the thickness of a wall.

    Parameters
    ----------
    kind : str
        A key of `KINDS`.
    usual : str
        Its own unit, empty for that of its kind.
    system, currency : str
        As in `shown_unit`.

    Returns
    -------
    str
        In SI its own unit. In US units what stands for it there, its own where its kind knows no other unit, else that of its kind.

    Raises
    ------
    UnitError
        No such kind or system.
    """
    of_kind = shown_unit(kind, system, currency)
    own = usual.replace("money", currency or "money")
    if system == "us" and own:
        own = _IN_US.get(own, own if of_kind == shown_unit(kind, "si", currency) else "")
    return own or of_kind


_OF_MASSES = ("kg/kg", "lb/lb")
"""Units of a ratio of two masses, which no other ratio takes."""
_IN_US = {"mm": "in", "m3/min FAD": "cfm FAD", "bar(g)": "psig"}


def show(value: float, kind: str, unit_or_system: str, *, digits: int = 3, currency: str = "") -> str:
    """A number in SI as text for a reader, such as "90 kg/h" or "82 °C".

    Parameters
    ----------
    value : float
        The quantity in `KINDS[kind].si`.
    kind : str
        A key of `KINDS`.
    unit_or_system : str
        A unit of that kind, or "si" or "us" for the unit it is shown in.
    digits : int
        Significant digits; trailing zeros are left out.
    currency : str
        Currency code, where the unit comes from a system.

    Returns
    -------
    str
        Number, with commas between thousands, and unit.

    Raises
    ------
    UnitError
        The unit is not one of that kind.
    """
    return _shown(float(value), kind, unit_or_system, digits, currency)


@lru_cache(maxsize=4096)  # options of a comparison say much alike
def _shown(value: float, kind: str, unit_or_system: str, digits: int, currency: str) -> str:
    unit = shown_unit(kind, unit_or_system, currency) if unit_or_system in ("si", "us") else unit_or_system
    number = _significant(to_unit(value, kind, unit), digits)
    return f"{number} {_sign(unit)}".rstrip()


@lru_cache(maxsize=256)
def _sign(unit: str) -> str:
    """A unit as a reader writes it."""
    sign = re.sub(r"(?<=[a-z])[23]\b", lambda power: "²" if power[0] == "2" else "³", tidy(unit))
    return re.sub(r"(delta_)?deg(?=[CF])", "°", sign)


def _significant(x: float, digits: int) -> str:
    x = float(f"{x:.{digits - 1}e}")
    if x == 0.0 or not 1e-3 <= abs(x) < 1e9:
        return f"{x + 0.0:.{digits}g}"
    text = f"{x:,.{max(0, digits - 1 - math.floor(math.log10(abs(x))))}f}"
    return text.rstrip("0").rstrip(".") if "." in text else text


@dataclass(frozen=True, slots=True)
class Quantity:
    """Marks a pydantic field: ``Annotated[float, Quantity("power", label="Blower power", shown="kW")]``.

    The field takes a text with a unit, a table whose `value` is one, or an `SI`; it refuses a bare number
    unless the kind is a share or a ratio; a ratio takes kg/kg where its label ends in "(kg/kg)". It holds an `SI`: a float
    that remembers the text it came from.
    """

    kind: str
    label: str = ""
    shown: str = ""

    def __post_init__(self) -> None:
        known(self.kind)
        if self.shown:
            scale_of(self.kind, self.shown, f"'{self.shown}'", None, STANDARD_ATMOSPHERE)

    def unit(self, system: str, currency: str = "") -> str:
        """Unit in which it is shown to a reader; see :func:`usual_unit`."""
        return usual_unit(self.kind, self.shown, system, currency)

    def read(self, value: Any) -> Any:
        """What was written in the field as an `SI`; None passes, for fields that may be left empty.

        Raises
        ------
        ValueError
            With the sentence of `parse`; pydantic takes no other error from a validator.
        """
        label = self.label or self.kind
        if isinstance(value, Mapping):
            if "value" not in value:
                raise ValueError(f"{label}: the table has no value; write value = a number and its unit")
            value = value["value"]
        if value is None or isinstance(value, SI):
            return value
        try:
            if self.kind == "ratio" and tidy(str(value)).endswith(_OF_MASSES) and not label.endswith("(kg/kg)"):
                raise UnitError(f"{label}: {refusal(self.kind, repr(value))}")
            return SI(parse(value, self.kind, label=label), str(value))
        except UnitError as error:
            raise ValueError(str(error)) from error

    def __get_pydantic_core_schema__(self, source: Any, handler: Any) -> Any:
        from pydantic_core import core_schema

        def validate(value: Any, inner: Any) -> Any:
            si = self.read(value)
            return si if inner(si) is not None else None  # the inner one checks, but would drop the text

        return core_schema.no_info_wrap_validator_function(validate, handler(source))
