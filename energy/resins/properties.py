"""What is known of each resin, by its ISO 1043-1 abbreviation, and resins that the user types in."""

from __future__ import annotations

import math
import re
from collections.abc import Mapping
from dataclasses import dataclass, field, fields, replace
from functools import cache
from types import MappingProxyType
from typing import Any

import numpy as np

from energy.errors import CaseError, Problem, UnknownNameError, nearest
from energy.sources import Sourced, load, names


@dataclass(frozen=True, slots=True, kw_only=True)
class Resin:
    """Properties of one resin as pellets; None where nothing is known. Ranges stand in `data`."""

    abbreviation: str
    """By ISO 1043-1."""
    name: str
    hygroscopic: bool
    """Takes water into the pellet; otherwise the water sits on the surface."""
    density: float
    """Of the solid. [kg/m3]"""
    bulk_density: float
    """Of poured pellets. [kg/m3]"""
    specific_heat: float
    """Mean between 20 degC and drying temperature. [J/(kg K)]"""
    conductivity: float | None = None
    """[W/(m K)]"""
    glass_transition: float | None = None
    """[K]"""
    drying_temperature: float
    """Of the process air at the hopper inlet. [K]"""
    drying_temperature_limit: float | None = None
    """Above it the pellets soften, stick or degrade. [K]"""
    yellowing_temperature: float | None = None
    """Above it the resin yellows in hot air. [K]"""
    caking_temperature: float | None = None
    """Above it pellets that are not crystallised stick together. [K]"""
    residence_time: float
    """Recommended time at drying temperature. [s]"""
    dew_point: float | None = None
    """Frost point of the process air that practice asks for; None where ambient air will do. [K]"""
    initial_moisture: float
    """[kg water/kg dry resin]"""
    target_moisture: float
    """[kg water/kg dry resin]"""
    moisture_regain_50rh: float | None = None
    """Equilibrium at 23 degC and 50 % relative humidity. [kg water/kg dry resin]"""
    saturation_moisture: float | None = None
    """Saturated in water at 23 degC. [kg water/kg dry resin]"""
    air_resin_ratio: float
    """Process air by practice. [kg air/kg resin]"""
    pellet_diameter: float
    """[m]"""
    pellet_length: float
    """[m]"""
    diffusivity: float | None = None
    """Of water in the resin at `diffusivity_temperature`. [m2/s]"""
    diffusivity_temperature: float | None = None
    """[K]"""
    diffusion_activation_energy: float | None = None
    """[J/mol]"""
    sorption_slope: float | None = None
    """Equilibrium moisture per unit of relative humidity (0 to 1) at `sorption_temperature`. [kg/kg]"""
    sorption_temperature: float | None = None
    """[K]"""
    data: Mapping[str, Sourced] = field(default_factory=lambda: MappingProxyType({}), compare=False, repr=False)
    """Range and source of every stored value; a value typed in by the user is not in it."""
    ranges: tuple[tuple[str, float, float], ...] = ()
    """Key, low and high of the values that a user typed in with a range, in SI."""
    notes: tuple[str, ...] = ()
    """What was taken for values that the user left out."""

    def range_of(self, key: str) -> tuple[float, float] | None:
        """Low and high of a value, the user's own or stored; None where it has no range."""
        for own, low, high in self.ranges:
            if own == key:
                return low, high
        entry = self.data.get(key)
        if entry is None or entry.si_low is None or entry.si_high is None:
            return None
        return entry.si_low, entry.si_high

    @property
    def usual_air(self) -> float:
        """Air per resin that practice gives it, whatever air the machine at hand is taken to have. [kg/kg]"""
        stored = self.data.get("air_resin_ratio")
        return float(np.max(self.air_resin_ratio)) if stored is None else float(stored.si)

    @property
    def called(self) -> str:
        """What sentences call it: by a name of its own where one is given, else by its abbreviation."""
        return self.abbreviation if "name" in self.data else self.name

    def of_another(self, key: str) -> str:
        """Abbreviation of the stored resin that a value was taken from for a resin of another name; else empty.

        A name that begins with the stored one says that it is a grade of it: PA6 GF30 is PA6, PETG is not PET, nor is PC/ABS PC.
        """
        if key not in self.data or "name" in self.data:
            return ""
        short, long = (re.escape(name) for name in (self.abbreviation, load_resin(self.abbreviation).name))
        spaced = re.sub(r"(?<=[A-Z])(?=\d)", "[ -]?", short)
        alike = re.match(rf"\s*({spaced}|{long})(?![a-z0-9+/])", self.name, re.IGNORECASE)
        return "" if alike else self.abbreviation


_REQUIRED = {
    "hygroscopic": "decides whether the air must be dry or only warm",
    "density": "sets the space between the pellets and with it the pressure drop",
    "bulk_density": "sets the hopper volume",
    "specific_heat": "sets the heat that the resin takes up",
    "drying_temperature": "sets the temperature of the process air",
    "residence_time": "sets the hopper volume",
    "initial_moisture": "sets the water to be removed",
    "target_moisture": "sets the water to be removed and the verdict",
}
# What to do without the optional values: a default in SI with its reason, or what is then not calculated.
_AIR_SPECIFIC_HEAT = 1010.0  # J/(kg K), dry air at about 80 degC
_DEFAULTS: dict[str, tuple[float, str]] = {
    "conductivity": (0.2, "0.2 W/(m K), as most plastics"),
    "dew_point": (233.15, "-40 degC, common practice for hygroscopic resins"),
    "pellet_diameter": (0.003, "3 mm, pellets are 2 to 4 mm"),
    "pellet_length": (0.003, "3 mm, pellets are 2 to 4 mm"),
}
_WITHOUT = {
    "drying_temperature_limit": "no warning of pellets that stick",
    "diffusivity": "no drying time from diffusion",
    "diffusivity_temperature": "no drying time from diffusion",
    "diffusion_activation_energy": "no drying time from diffusion",
    "sorption_slope": "no lowest moisture that the air allows",
    "sorption_temperature": "no lowest moisture that the air allows",
}
FOR_REFERENCE = ("conductivity", "glass_transition", "moisture_regain_50rh")
"""Stored of a resin, and no result rests on them."""
# Together or not at all: a property and the temperature it holds at.
_GROUPS = (
    ("diffusivity", "diffusivity_temperature", "diffusion_activation_energy"),
    ("sorption_slope", "sorption_temperature"),
)


def resin_names() -> list[str]:
    """Abbreviations of the resins in data/resins, sorted."""
    return names("resins")


@cache
def load_resin(abbreviation: str) -> Resin:
    """One stored resin.

    Parameters
    ----------
    abbreviation : str
        By ISO 1043-1, such as "PC" or "PA66"; small letters will do.

    Raises
    ------
    UnknownNameError
        No such resin; the message lists those that are known.
    """
    known = {name.lower(): name for name in resin_names()}
    name = known.get(abbreviation.strip().lower())
    if name is None:
        listed = ", ".join(resin_names())
        hint = nearest(abbreviation, [*known.values()])
        raise UnknownNameError(f"resin '{abbreviation}' is not known{hint}; known: {listed}")
    data = load(f"resins/{name}")
    return Resin(abbreviation=name, data=data, **{key: entry.si for key, entry in data.items()})


def custom_resin(base: str | None = None, **values: Any) -> Resin:
    """A resin of the user's own: values in SI over a stored resin, or on their own.

    Parameters
    ----------
    base : str, optional
        Abbreviation of the stored resin that the other values come from.
    **values
        Fields of `Resin` in SI. Without a base these are needed: hygroscopic, density, bulk_density,
        specific_heat, drying_temperature, residence_time, initial_moisture, target_moisture.

    Returns
    -------
    Resin
        What was taken for optional values left out stands in its `notes`.

    Raises
    ------
    UnknownNameError
        No such base.
    CaseError
        A needed value is missing, a key is no property, or values contradict each other; all at once.
    """
    allowed = [f.name for f in fields(Resin) if f.name not in ("data", "ranges", "notes")]
    problems = [
        Problem(key, f"not a property of a resin{nearest(key, allowed)}; allowed: {', '.join(allowed)}")
        for key in values
        if key not in allowed
    ]
    given = {key: value for key, value in values.items() if value is not None and key in allowed}
    if base is None:
        problems += [Problem(key, f"missing; it {use}") for key, use in _REQUIRED.items() if key not in given]
    problems += _incomplete_groups(given, base)
    if problems:
        raise CaseError(problems)
    if base is None:
        filled, notes = _fill(given)
        resin = Resin(**{"abbreviation": "own resin", "name": "own resin", **filled}, notes=notes)
    else:
        stored = load_resin(base)
        kept = {key: entry for key, entry in stored.data.items() if key not in given}
        resin = replace(stored, **given, data=MappingProxyType(kept))
    contradictions = check(resin)
    if contradictions:
        raise CaseError(contradictions)
    return resin


def check(resin: Resin) -> list[Problem]:
    """Values of a resin that cannot be or that contradict each other.

    Parameters
    ----------
    resin : Resin

    Returns
    -------
    list of Problem
        Empty when there is nothing to object to.
    """
    problems = []
    for f in fields(Resin):
        value = getattr(resin, f.name)
        if isinstance(value, float | int) and not isinstance(value, bool) and not 0 < value < math.inf:
            problems.append(Problem(f.name, f"{value:g} is not allowed; write more than zero"))
    if resin.bulk_density >= resin.density:
        problems.append(Problem("bulk_density", "must be less than density, that of the solid"))
    if resin.target_moisture >= resin.initial_moisture:
        problems.append(Problem("target_moisture", "must be less than initial_moisture"))
    return problems


def _incomplete_groups(given: Mapping[str, Any], base: str | None) -> list[Problem]:
    """A diffusivity or a slope means nothing without its temperature, unless a stored one goes with it."""
    stored = load_resin(base) if base is not None else None
    problems = []
    for group in _GROUPS:
        missing = [key for key in group if key not in given and getattr(stored, key, None) is None]
        if missing and any(key in given for key in group):
            problems += [Problem(key, f"missing; it goes with {group[0]}") for key in missing]
    return problems


def _fill(given: Mapping[str, Any]) -> tuple[dict[str, Any], tuple[str, ...]]:
    """The values given with defaults for the optional ones, and a note for each."""
    filled, notes = dict(given), []
    for key, (value, reason) in _DEFAULTS.items():
        if key not in filled and (key != "dew_point" or filled["hygroscopic"]):
            filled[key] = value
            notes.append(f"{key}: not given; {reason}")
    if "air_resin_ratio" not in filled:
        # 0.5 cfm per lb/h is 2.2 kg/kg; a resin that takes up more heat needs more air to carry it.
        filled["air_resin_ratio"] = max(2.2, 1.25 * filled["specific_heat"] / _AIR_SPECIFIC_HEAT)
        reason = "common practice, and at least 1.25 times what the resin's heat asks for"
        notes.append(f"air_resin_ratio: not given; {filled['air_resin_ratio']:.2g} kg/kg, {reason}")
    notes += [f"{key}: not given; {effect}" for key, effect in _WITHOUT.items() if key not in filled]
    return filled, tuple(notes)
