"""Which inputs of a case are uncertain, how far, and how they hang together.

What is the same thing is one input: a stored typical value that a case does not replace is one for all dryers (what
makes insulation worse than usual in one machine makes it so in all), and so is what the case says of an option's dryers at
hoppers that have one of the same inputs but another size; a resin's value one for all hoppers with that
resin, prices, throughput and climate are those of the case. Prices rise and fall together to a stated degree, and so do
the throughputs of the hoppers and the quotes; all else is independent.
"""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from energy.dryers.base import Array
from energy.sources import load
from energy.study import meter, retrofits
from energy.study.case import Case
from energy.study.distributions import Distribution, normal_score, normal_share, shape_of
from energy.study.duty import atmospheric_pressure
from energy.study.idle import is_idle
from energy.study.machines import is_metered
from energy.study.option_sections import OF_PRESENT
from energy.study.paths import typical_of, walk_fields, written
from energy.units import parse
from energy.units.kinds import STANDARD_ATMOSPHERE

# Asked of the dryer or chosen, not uncertain; a resin's ranges of these are limits of practice.
_ASKED = (
    *("drying_temperature", "drying_temperature_limit", "yellowing_temperature", "caking_temperature"),
    *("moisture_regain_50rh", "saturation_moisture", "glass_transition", "conductivity"),
    *("residence_time", "dew_point", "target_moisture", "diffusivity_temperature", "sorption_temperature"),
)
_PRACTICE = ("drying_temperature", "residence_time", "dew_point", "caking_temperature", "saturation_moisture")
"""Of a resin of the user's own as of a stored one: a range says what practice accepts, or no result moves with it."""
_DRAWN = ("hoppers", "options", "site", "compressed_air", "finance", "tariffs")
# What shapes the plan of the year or the bill, and has no draws; taken at its value, and told.
_HELD = (
    *("running", "share", "target_moisture", "altitude", "maximum_payback", "electricity_emission"),
    *("coincidence", "power_factor"),
)
# What rises and falls together, with the coefficient in data/correlations.toml; all else is independent.
_TOGETHER = {
    "prices": r"tariffs\.\w+_factor",
    "throughputs": r"hoppers\['.*'\]\.throughput",
    "capital": r"options\['.*'\]\.capital(_factor|\[\d+\]\.amount)",
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Uncertain:
    """One uncertain input: one draw, wherever it counts."""

    name: str
    label: str
    kind: str
    basis: str
    places: Mapping[str, Distribution]
    """Path in the case -> what it may be there; ``resin PC.specific_heat`` for a resin's stored value."""
    limits: tuple[float, float] = (-np.inf, np.inf)
    """What can be at all."""

    @property
    def distribution(self) -> Distribution:
        """At its first place."""
        return next(iter(self.places.values()))

    def at(self, option: str) -> Distribution:
        """At its first place among the inputs of an option; at its first place of all where the option has none."""
        return self.places[self._place(option)]

    def whose(self, option: str) -> str:
        """The option whose values `at` gives, where not all places have the same; empty where they have."""
        if len({(d.low, d.value, d.high) for d in self.places.values()}) == 1:
            return ""
        owner = re.match(r"options\['(.*?)'\]\.", self._place(option))
        return owner[1] if owner else ""

    def _place(self, option: str) -> str:
        own = (path for path in self.places if path.startswith(f"options['{option}']."))
        return next(own, next(iter(self.places)))


def uncertain_inputs(case: Case) -> tuple[tuple[Uncertain, ...], tuple[str, ...]]:
    """The inputs of a case that have a range, and the paths of those taken at their value in spite of one."""
    found: dict[str, Uncertain] = {}
    held: list[str] = []
    seen, alike, present = _seen_by_a_meter(case), _differ_in_size(case), retrofits.inherited(case.document)
    for path, quantity, field, value in walk_fields(case.model):
        if value is None:
            continue
        raw, key = written(case.completed, path), path.rpartition(".")[2]
        if isinstance(raw, Mapping) and "low" in raw and "high" in raw:
            if ".own_resin." in path and key in _PRACTICE:
                continue
            if not _can_be_drawn(case, path, key) or path.startswith(seen) or is_idle(case.model, path):
                held.append(path)
                continue
            low, high = (_parsed(case, path, raw[end], quantity.kind) for end in ("low", "high"))
            of_all = next((alike[own] + path.removeprefix(own) for own in alike if path.startswith(own)), path)
            name, basis = _of_present(case, of_all, raw, present), str(raw.get("basis", "assumption"))
        elif raw is None and (stored := typical_of(case.model, path)) is not None and stored.si_low is not None:
            if not _can_be_drawn(case, path, key) or path.startswith(seen) or is_idle(case.model, path):
                continue
            assert stored.si_high is not None
            low, high, basis = stored.si_low, stored.si_high, stored.basis
            if path.startswith("options") and not low < value < high:
                continue  # at the end of its range: what is usually not fitted or not done, a choice and no estimate
            if not _counts(case, path, key):
                continue
            # Each supplier's quote is its own; a typical value of a dryer is the same thing in all.
            name = f"typical {key}" if path.startswith("options") and key != "capital_factor" else path
        else:
            continue
        ends = [
            (getattr(m, "ge", getattr(m, "gt", None)), getattr(m, "le", getattr(m, "lt", None))) for m in field.metadata
        ]
        limits = (
            max((float(a) for a, _ in ends if a is not None), default=-np.inf),
            min((float(b) for _, b in ends if b is not None), default=np.inf),
        )
        shape = shape_of(quantity.kind, basis, low, high)
        place = {path: Distribution(shape=shape, low=low, value=float(value), high=high)}
        if name in found:
            place = {**found[name].places, **place}
        found[name] = Uncertain(
            name=name, label=quantity.label, kind=quantity.kind, basis=basis, places=place, limits=limits
        )
    for hopper, resin in zip(case.model.hoppers, case.resins, strict=True):
        for key, entry in resin.data.items():
            if entry.si_low is None or entry.si_high is None or key in _ASKED or getattr(hopper, key, None) is not None:
                continue
            shape = shape_of(entry.kind or "", entry.basis, entry.si_low, entry.si_high)
            name = f"resin {resin.abbreviation}.{key}"
            spread = Distribution(shape=shape, low=entry.si_low, value=getattr(resin, key), high=entry.si_high)
            label = f"{key.replace('_', ' ').capitalize()} of {resin.abbreviation}"
            found[name] = Uncertain(
                name=name,
                label=label,
                kind=entry.kind or "",
                basis=entry.basis,
                places={name: spread},
                limits=(0, np.inf),
            )
    return tuple(u for u in found.values() if not all(d.certain for d in u.places.values())), tuple(held)


def _of_present(case: Case, path: str, raw: Any, present: Mapping[str, str]) -> str:
    """What a retrofit has of the present dryers is one input with theirs."""
    for own, of in present.items():
        if path.startswith(own) and written(case.completed, there := of + path.removeprefix(own)) == raw:
            return there
    return path


def _can_be_drawn(case: Case, path: str, key: str) -> bool:
    if path == "calendar.production_hours":
        electricity = case.tariffs.get("electricity")
        air = case.model.compressed_air
        known = air is not None and air.cost is not None
        return not known and (electricity is None or not meter.needs_clock(electricity))
    return path.split("[")[0].split(".")[0] in _DRAWN and key not in _HELD and ".levels[" not in path


def _seen_by_a_meter(case: Case) -> tuple[str, ...]:
    """Where the inputs of metered dryers stand: what they take is known from the meter, whatever their parts are like."""
    found: list[str] = []
    for option in (o for o in case.model.options if o.baseline or o.retrofit):
        place = f"options['{option.name}']"
        found += [f"{place}.machines[{i + 1}].inputs." for i, m in enumerate(option.machines) if is_metered(m)]
        found += [f"{place}.inputs."] * is_metered(option)
    return tuple(found)


def _differ_in_size(case: Case) -> dict[str, str]:
    """Where the inputs of a hopper's own dryer stand, and those of its option: what such a dryer differs in is its size alone."""

    def like(dryer: Mapping[str, Any]) -> Any:
        inputs = {key: value for key, value in dryer.get("inputs", {}).items() if key != "air_resin_ratio"}
        return dryer["type"], inputs, [dryer.get(key) for key in OF_PRESENT]

    return {
        f"options['{row['name']}'].machines[{i}].inputs.": f"options['{row['name']}'].inputs."
        for row in case.completed["options"]
        for i, own in enumerate(row.get("machines", ()), start=1)
        if like(own) == like(row)
    }


def _counts(case: Case, path: str, key: str) -> bool:
    """Has a factor that the case does not give anything to multiply, that has no range of its own?"""
    if path.startswith("tariffs."):
        carrier = key.removesuffix("_factor")
        return carrier in case.tariffs or (carrier == "water" and "cooling" in case.tariffs)
    if key == "capital_factor":
        option = next(o for o in case.model.options if path == f"options['{o.name}'].{key}")
        written_amounts = (
            written(case.completed, f"options['{option.name}'].capital[{i + 1}].amount")
            for i in range(len(option.capital))
        )
        whole = written(case.completed, f"options['{option.name}'].capital")
        own = any(isinstance(raw, Mapping) and "low" in raw for raw in (*written_amounts, whole))
        return option.capital_total > 0.0 and not own
    return True


def _parsed(case: Case, path: str, text: Any, kind: str) -> float:
    # A gauge counts from the air around it, as in the compressor house.
    return parse(text, kind, label=path, currency=case.currency, gauge_reference=_gauge(case, path))


def _gauge(case: Case, path: str) -> float:
    return atmospheric_pressure(case) if path.startswith("compressed_air") else STANDARD_ATMOSPHERE


def values_of(inputs: Sequence[Uncertain], probability: Array) -> dict[str, Array]:
    """Path -> values at probabilities of shape (n, inputs); NaN stands for the stated value."""
    return {
        path: spread.quantile(probability[:, i])
        for i, entry in enumerate(inputs)
        for path, spread in entry.places.items()
    }


def correlated(inputs: Sequence[Uncertain], probability: Array) -> Array:
    """Probabilities of independent inputs made to rise and fall together where the inputs do, each still even.

    Parameters
    ----------
    inputs : sequence of Uncertain
    probability : ndarray, shape (n, inputs)

    Returns
    -------
    ndarray, shape (n, inputs)

    Source
    ------
    Normal copula: the scores of a group have one correlation coefficient with each other, data/correlations.toml.
    """
    found = probability.copy()
    for members, coefficient in groups(inputs).values():
        alike = np.full((len(members), len(members)), coefficient) + (1.0 - coefficient) * np.eye(len(members))
        scores = normal_score(probability[:, members]) @ np.linalg.cholesky(alike).T
        found[:, members] = np.clip(normal_share(scores), 1e-12, 1.0 - 1e-12)
    return found


def groups(inputs: Sequence[Uncertain]) -> dict[str, tuple[list[int], float]]:
    """Name of each group of inputs that hang together, their places and their correlation coefficient."""
    stored = load("correlations")
    found = {}
    for name, pattern in _TOGETHER.items():
        members = [i for i, entry in enumerate(inputs) if re.fullmatch(pattern, entry.name)]
        if len(members) > 1:
            found[name] = (members, float(stored[name].si))
    return found
