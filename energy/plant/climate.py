"""The plant's climate: monthly means of temperature and dew point in the hall and outdoors.

Below 0.01 degC every "dew point" is the frost point, over ice, as everywhere in the engine. The mean dew point of
a month is that of its mean humidity ratio.
"""

from __future__ import annotations

from calendar import month_name
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from numpy.typing import ArrayLike

from energy.air import water_vapour
from energy.air._ranges import FloatArray
from energy.air.constants import ZERO_CELSIUS
from energy.errors import CaseError, ModelError, Problem, UnknownNameError, nearest
from energy.sources import load, names
from energy.units import from_unit
from energy.units.kinds import STANDARD_ATMOSPHERE

COLDEST, HOTTEST = 203.15, 343.15
"""What a weather file may hold: -70 to 70 degC. [K] Source: EnergyPlus Auxiliary Programs, EPW data dictionary."""

_QUANTITIES = ("hall_temperature", "hall_dew_point", "outdoor_temperature", "outdoor_dew_point")
_ROUNDING = 1e-4  # dew points are inverted to 1e-5 K


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Climate:
    """Twelve months of hall and outdoor air, January first; arrays cannot be written to.

    Raises
    ------
    CaseError
        Not twelve months, a value outside -70 to 70 degC or a dew point above its temperature; one line for each.
    """

    name: str
    hall_temperature: FloatArray
    """Shape (12,). [K]"""
    hall_dew_point: FloatArray
    """Shape (12,). [K]"""
    outdoor_temperature: FloatArray
    """Shape (12,). [K]"""
    outdoor_dew_point: FloatArray
    """Shape (12,). [K]"""
    notes: tuple[str, ...] = ()
    """Where the values come from, one sentence each."""

    def __post_init__(self) -> None:
        for key in _QUANTITIES:
            values = np.array(getattr(self, key), dtype=float)
            if values.shape != (12,):
                raise CaseError([Problem(key, f"has shape {values.shape}; it must be 12 months")])
            values.setflags(write=False)
            object.__setattr__(self, key, values)
        problems = [
            *_problems("hall", self.hall_temperature, self.hall_dew_point),
            *_problems("outdoor", self.outdoor_temperature, self.outdoor_dew_point),
        ]
        if problems:
            raise CaseError(problems)


def sample_names() -> list[str]:
    """Names of the invented climates that come with the project."""
    return names("climates")


@lru_cache(maxsize=32)
def sample_climate(name: str, *, pressure: float = STANDARD_ATMOSPHERE) -> Climate:
    """An invented climate for trying the tool; it is the weather of no place.

    Parameters
    ----------
    name : str
        One of `sample_names`.
    pressure : float
        Air pressure at the site, for the rule that gives the hall. [Pa]

    Returns
    -------
    Climate
        The hall by the rule of `hall_from_outdoor` with the values of data/plant.toml.

    Raises
    ------
    UnknownNameError
        Another name.
    """
    if name not in sample_names():
        allowed = ", ".join(sample_names())
        raise UnknownNameError(f"'{name}' is not a sample climate; known are {allowed}{nearest(name, sample_names())}")
    months = load(f"climates/{name}")["months"]
    rows = [
        {"month": month} | {key: from_unit(value, "temperature", "degC") for key, value in pairs.items()}
        for month, pairs in ((row[0], dict(zip(months.columns[1:], row[1:], strict=True))) for row in months.si)
    ]
    return climate_from_rows(rows, name=name, pressure=pressure, notes=(months.citation(),))


def hall_from_outdoor(
    outdoor_temperature: ArrayLike,
    outdoor_dew_point: ArrayLike,
    pressure: ArrayLike,
    *,
    heated_to: ArrayLike,
    gain: ArrayLike,
    moisture_gain: ArrayLike,
) -> tuple[FloatArray, FloatArray]:
    r"""Air in a ventilated, heated, not cooled hall, from the air outdoors.

    .. math:: T = \max(T_{outdoor} + gain, T_{heated}), \quad W = W_{outdoor} + W_{gain}

    Parameters
    ----------
    outdoor_temperature, outdoor_dew_point : array_like, shape (...)
        Air outdoors. [K]
    pressure : array_like, shape (...)
        Total pressure. [Pa]
    heated_to : array_like, shape (...)
        Temperature that heating keeps. [K]
    gain : array_like, shape (...)
        How much machines and people warm the air. [K]
    moisture_gain : array_like, shape (...)
        Water that people and open basins give to the air. [kg/kg]

    Returns
    -------
    temperature, dew_point : ndarray, shape (...)
        Air in the hall. [K]

    Raises
    ------
    ModelError
        More water than air of that temperature holds.
    OutOfRangeError
        Values out of the range of moist air.

    Source
    ------
    A rule of this project; its typical values stand in data/plant.toml.
    """
    temperature, dew_point = _hall(outdoor_temperature, outdoor_dew_point, pressure, heated_to, gain, moisture_gain)
    if (wet := dew_point > temperature + _ROUNDING).any():
        number = int(np.flatnonzero(wet)[0])
        raise ModelError(
            f"{_too_wet('hall', dew_point.flat[number], temperature.flat[number])} (value {number + 1} of {wet.size})"
        )
    return temperature[()], dew_point[()]


def climate_from_rows(
    rows: Sequence[Mapping[str, float | None]],
    *,
    name: str = "own",
    pressure: float = STANDARD_ATMOSPHERE,
    heated_to: float | None = None,
    gain: float | None = None,
    moisture_gain: float | None = None,
    notes: tuple[str, ...] = (),
) -> Climate:
    """A climate from twelve rows, the hall where it is missing by the rule of `hall_from_outdoor`.

    Parameters
    ----------
    rows : sequence of mappings
        month (1 to 12), outdoor_temperature, outdoor_dew_point and, if known, hall_temperature and
        hall_dew_point, each alone or both; None is missing. [K]
    name : str
        Name of the climate.
    pressure : float
        Air pressure at the site. [Pa]
    heated_to, gain, moisture_gain : float, optional
        As in `hall_from_outdoor`; where missing, those of data/plant.toml. [K, K, kg/kg]
    notes : tuple of str
        Where the rows come from.

    Returns
    -------
    Climate
        The twelve months in order, with a note on the rule where it was used.

    Raises
    ------
    CaseError
        A month missing or double, a value missing or not usable; one line for each, with its row or month.
    """
    values, problems = _table(rows)
    hall_temperature, hall_dew_point, outdoor_temperature, outdoor_dew_point = values
    problems = problems or [*_problems("outdoor", outdoor_temperature, outdoor_dew_point)]
    if problems:
        raise CaseError(problems)
    if np.isnan(values[:2]).any():
        rule = {"heated_to": heated_to, "gain": gain, "moisture_gain": moisture_gain}
        used = [load("plant")[f"hall_{key}"].si if given is None else given for key, given in rule.items()]
        ruled = _hall(outdoor_temperature, outdoor_dew_point, pressure, *used)
        hall_temperature, hall_dew_point = np.where(np.isnan(values[:2]), ruled, values[:2])
        notes = (
            *notes,
            f"Hall where not given: outdoor air warmed by {used[1]:.3g} K, at least "
            f"{used[0] - ZERO_CELSIUS:.3g} degC, with {1e3 * used[2]:.3g} g/kg more water",
        )
    return Climate(
        name=name,
        hall_temperature=hall_temperature,
        hall_dew_point=hall_dew_point,
        outdoor_temperature=outdoor_temperature,
        outdoor_dew_point=outdoor_dew_point,
        notes=notes,
    )


def _hall(
    outdoor_temperature: ArrayLike,
    outdoor_dew_point: ArrayLike,
    pressure: ArrayLike,
    heated_to: ArrayLike,
    gain: ArrayLike,
    moisture_gain: ArrayLike,
) -> tuple[FloatArray, FloatArray]:
    """The rule of `hall_from_outdoor` without its check."""
    temperature = np.maximum(np.asarray(outdoor_temperature, dtype=float) + np.asarray(gain), heated_to)
    water = water_vapour.humidity_ratio(outdoor_dew_point, pressure) + np.asarray(moisture_gain)
    hall_temperature, hall_dew_point = np.broadcast_arrays(temperature, water_vapour.dew_point(water, pressure))
    return hall_temperature, hall_dew_point


def _celsius(temperature: float) -> str:
    return f"{temperature - ZERO_CELSIUS:.4g} degC"


def _too_wet(place: str, dew_point: float, temperature: float) -> str:
    over = f"{place} dew point {_celsius(dew_point)} is above the {place} temperature {_celsius(temperature)}"
    return f"{over}; air that cold holds less water"


def _problems(place: str, temperature: FloatArray, dew_point: FloatArray) -> Iterator[Problem]:
    """What is wrong in twelve months of air at one place."""
    for number, month in enumerate(month_name[1:]):
        pair = {"temperature": temperature[number], "dew point": dew_point[number]}
        outside = [words for words, value in pair.items() if not COLDEST <= value <= HOTTEST]
        for words in outside:
            yield Problem(month, f"{place} {words} {_celsius(pair[words])} is outside -70 to 70 degC")
        if not outside and dew_point[number] > temperature[number] + _ROUNDING:
            yield Problem(month, _too_wet(place, dew_point[number], temperature[number]))


def _table(rows: Sequence[Mapping[str, float | None]]) -> tuple[FloatArray, list[Problem]]:
    """The quantities by month, NaN where a hall value is missing, and what is wrong in the rows."""
    values = np.full((len(_QUANTITIES), 12), np.nan)
    row_of: dict[int, int] = {}
    problems = []
    for number, row in enumerate(rows, 1):
        key = f"row {number}"
        allowed = ("month", *_QUANTITIES)
        for given in row:
            if given not in allowed:
                hint = nearest(given, allowed)
                problems.append(Problem(key, f"there is no key '{given}'{hint}; allowed are {', '.join(allowed)}"))
        said = row.get("month")
        if said is None or said not in range(1, 13):
            problems.append(Problem(key, f"month = {said!r} is not a month; write 1 to 12"))
            continue
        month = int(said)
        if month in row_of:
            problems.append(Problem(key, f"{month_name[month]} stands in row {row_of[month]} already"))
            continue
        row_of[month] = number
        for place, quantity in enumerate(_QUANTITIES):
            value = row.get(quantity)
            words = quantity.replace("_", " ")
            if value is None:
                if quantity.startswith("outdoor"):
                    problems.append(Problem(key, f"the {words} of {month_name[month]} is missing"))
            elif isinstance(value, bool) or not isinstance(value, int | float) or not np.isfinite(value):
                problems.append(Problem(key, f"the {words} of {month_name[month]} is {value!r}; write a number in K"))
            else:
                values[place, month - 1] = value
    missing = [month_name[month] for month in range(1, 13) if month not in row_of]
    if missing:
        problems.append(Problem("rows", f"{', '.join(missing)} missing; a climate has twelve months"))
    return values, problems
