"""Every uncertain input drawn at once, and the whole chain run on the draws: does it dry, energy, bill, payback.

Inputs are independent of each other but for what is the same thing: a stored typical value that a case does not replace
is one input for all dryers (what makes insulation worse than usual in one machine makes it so in all), a resin's value
one for all hoppers with that resin, prices, throughput and climate are those of the case. All options see the same
draws, so that their differences are fair.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any

import numpy as np
from numpy.typing import NDArray

from energy import finance
from energy.dryers import base
from energy.dryers.base import Array, Duty
from energy.errors import CaseError, ModelError, OutOfRangeError, Problem
from energy.study import air_house, meter, surroundings, verdict
from energy.study.case import Case
from energy.study.cost import against_baseline, running_cost
from energy.study.distributions import Distribution, probabilities, shape_of
from energy.study.duty import atmospheric_pressure, duties_of, target_of
from energy.study.machines import machines_of
from energy.study.paths import typical_of, walk_fields, with_values, written
from energy.study.schema import CapitalLine, Option
from energy.study.year import Year, air_sent, run_year, segments, together
from energy.units import parse

BLOCK = 256  # draws at once: bounds the memory, and keeps what is worked on near the processor
MOST_DRAWS = 1_000_000
# Asked of the dryer or chosen, not uncertain; a resin's ranges of these are limits of practice.
_ASKED = (
    *("drying_temperature", "drying_temperature_limit", "yellowing_temperature", "caking_temperature"),
    *("moisture_regain_50rh", "saturation_moisture", "glass_transition", "conductivity"),
    *("residence_time", "dew_point", "target_moisture", "diffusivity_temperature", "sorption_temperature"),
)
_DRAWN = ("hoppers", "options", "site", "compressed_air", "finance")
# What shapes the plan of the year or the bill, and has no draws; taken at its value, and told.
_HELD = ("running", "share", "target_moisture", "altitude", "maximum_payback", "electricity_emission")
_MONEY = (".amount", "].maintenance", ".incentive")


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


@dataclass(frozen=True, slots=True, kw_only=True)
class Outcomes:
    """What came of the draws, by option; NaN and False where the model had no answer. Baseline: savings 0."""

    saving: Mapping[str, Array]
    """What the option costs less to run in a year, shape (n,). [money/year]"""
    npv: Mapping[str, Array]
    """Net savings over the study period. [money]"""
    payback: Mapping[str, Array]
    """Simple; infinite where there is none within the study period, 0 where there is nothing to pay back. [year]"""
    dries: Mapping[str, NDArray[np.bool_]]
    answered: Mapping[str, NDArray[np.bool_]]
    reasons: Mapping[str, str]
    """Why there was no answer in some draw, by option; the empty name for an input outside its limits."""

    def best(self, names: Sequence[str]) -> NDArray[np.int64]:
        """Place in `names` of the option with the highest net savings of those that dry; -1 where none does."""
        worth = np.array([np.where(self.dries[n], self.npv[n], -np.inf) for n in names])
        return np.where(np.isfinite(worth).any(axis=0), worth.argmax(axis=0), -1)


def uncertain_inputs(case: Case) -> tuple[tuple[Uncertain, ...], tuple[str, ...]]:
    """The inputs of a case that have a range, and the paths of those taken at their value in spite of one."""
    found: dict[str, Uncertain] = {}
    held: list[str] = []
    for path, quantity, field, value in walk_fields(case.model):
        if value is None:
            continue
        raw, key = written(case.document, path), path.rpartition(".")[2]
        if isinstance(raw, Mapping) and "low" in raw and "high" in raw:
            if not _can_be_drawn(case, path, key):
                held.append(path)
                continue
            low, high = (_parsed(case, path, raw[end], quantity.kind) for end in ("low", "high"))
            name, basis = path, str(raw.get("basis", "assumption"))
        elif raw is None and (stored := typical_of(case.model, path)) is not None and stored.si_low is not None:
            if not _can_be_drawn(case, path, key):
                continue
            assert stored.si_high is not None
            low, high, basis = stored.si_low, stored.si_high, stored.basis
            if path.startswith("options") and not low < value < high:
                continue  # at the end of its range: what is usually not fitted or not done, a choice and no estimate
            name = f"typical {key}" if path.startswith("options") else path
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


def _can_be_drawn(case: Case, path: str, key: str) -> bool:
    if path == "calendar.production_hours":
        electricity = case.tariffs.get("electricity")
        air = case.model.compressed_air
        known = air is not None and air.cost is not None
        return not known and (electricity is None or not meter.needs_clock(electricity))
    return path.split("[")[0].split(".")[0] in _DRAWN and key not in _HELD and ".levels[" not in path


def _parsed(case: Case, path: str, text: Any, kind: str) -> float:
    # A gauge counts from the air around it, as in the compressor house.
    return parse(text, kind, label=path, currency=case.currency, gauge_reference=_gauge(case, path))


def _gauge(case: Case, path: str) -> float:
    return atmospheric_pressure(case) if path.startswith("compressed_air") else 101325.0


def values_of(inputs: Sequence[Uncertain], probability: Array) -> dict[str, Array]:
    """Path -> values at probabilities of shape (n, inputs); NaN stands for the stated value."""
    return {
        path: spread.quantile(probability[:, i])
        for i, entry in enumerate(inputs)
        for path, spread in entry.places.items()
    }


def outcomes(
    case: Case,
    inputs: Sequence[Uncertain],
    probability: Array,
    names: Sequence[str] | None = None,
    *,
    values: Mapping[str, Array] | None = None,
) -> Outcomes:
    """The whole chain on draws.

    Parameters
    ----------
    case : Case
    inputs : sequence of Uncertain
    probability : ndarray, shape (n, inputs)
        Of each input in each draw; NaN for its stated value.
    names : sequence of str, optional
        Options to run besides the baseline; all when left out.
    values : mapping of ndarray, shape (n,), optional
        Values by path instead of those at the probabilities.

    Returns
    -------
    Outcomes
    """
    drawn = values_of(inputs, probability) if values is None else dict(values)
    count = len(probability)
    inside = np.ones(count, dtype=bool)
    reasons: dict[str, str] = {}
    for entry in inputs:
        for path in entry.places:
            fits = (drawn[path] >= entry.limits[0]) & (drawn[path] <= entry.limits[1])
            if not fits.all():
                reasons.setdefault("", f"{entry.label}: a draw beyond what it can be")
            inside &= fits
    baseline = next(o for o in case.model.options if o.baseline)
    options = [o for o in case.model.options if o is baseline or names is None or o.name in names]
    found = {key: {o.name: np.full(count, np.nan) for o in options} for key in ("saving", "npv", "payback", "dries")}
    places = np.flatnonzero(inside)
    for start in range(0, places.size, BLOCK):
        part = places[start : start + BLOCK]
        made, why = _block(case, baseline, options, {k: v[part] for k, v in drawn.items()}, part.size)
        reasons = {**why, **reasons}
        for name, kept, results in made:
            for key, result in results.items():
                found[key][name][part[kept]] = result
    answered = {o.name: np.isfinite(found["npv"][o.name]) for o in options}
    return Outcomes(
        saving=found["saving"],
        npv=found["npv"],
        payback=found["payback"],
        dries={name: dry == 1.0 for name, dry in found["dries"].items()},
        answered=answered,
        reasons=reasons,
    )


@dataclass(frozen=True, slots=True)
class _Ran:
    """An option's machines through the year, draws on the first axis."""

    year: Year
    dries: NDArray[np.bool_]
    most_air: Array


@dataclass(frozen=True, slots=True)
class _Drawn:
    """A case with arrays for the values drawn: of shape (n, 1, 1) in machines and duties, of shape (n,) in money."""

    case: Case
    scales: tuple[Array, ...]
    count: int

    def option(self, name: str) -> Option:
        return next(o for o in self.case.model.options if o.name == name)

    def run(self, option: Option, added_air: Array | float = 0.0) -> _Ran:
        """As `compare` runs it, on all draws.

        Raises
        ------
        ModelError, OutOfRangeError
            In at least one of the draws.
        """
        duties = duties_of(self.case, self.scales, added_air)
        years, air = [], []
        dries = np.ones(self.count, dtype=bool)
        for machine in machines_of(self.case, option, duties, scales=self.scales):
            year, operation = run_year(machine, self.case.calendar)
            loads = segments(machine.hoppers)[0].loads
            inputs = base.at_state(machine.inputs, 0)
            for i, (hopper, duty) in enumerate(zip(machine.hoppers, machine.duties, strict=True)):
                busy: Duty = base.at_state(replace(duty, throughput=duty.throughput * loads[i]), 0)
                dries &= verdict.dries(busy, operation.of(i), inputs, target_of(hopper, busy.resin))
            years.append(year)
            air.append(np.broadcast_to(np.max(air_sent(operation), axis=-1), (self.count,)))
        most = np.sort(np.array(air), axis=0)[::-1][: option.units].sum(axis=0)
        return _Ran(surroundings.with_cooling_plant(self.case, together(years, option.units)), dries, most)


def _drawn(case: Case, values: Mapping[str, Array], count: int) -> _Drawn:
    model: dict[str, Any] = {}
    resins = list(case.resins)
    scales = [np.ones((count, 1, 1)) for _ in resins]
    calendar = case.calendar
    for path, value in values.items():
        deep = value[:, None, None]
        if path == "calendar.production_hours":
            share = value / float(case.model.calendar.production_hours or 1.0)
            production = calendar.production * share[:, None]
            off = calendar.off + calendar.production - production
            if np.any(off < 0.0):
                raise ModelError("more hours of production than the year has")
            calendar = replace(calendar, production=production, off=off)
            continue
        model[path] = value if path.startswith("finance.") or path.endswith(_MONEY) else deep
        key = path.rpartition(".")[2]
        for i, hopper in enumerate(case.model.hoppers):
            if path == f"hoppers['{hopper.name}'].throughput":
                scales[i] = deep / float(hopper.throughput)
                del model[path]
            elif path in (f"resin {resins[i].abbreviation}.{key}", f"hoppers['{hopper.name}'].own_resin.{key}"):
                model.pop(path, None)
                if path.startswith("hoppers") or key in resins[i].data:
                    own: dict[str, Any] = {key: deep}
                    resins[i] = replace(resins[i], **own)
    changed = replace(case, model=with_values(case.model, model), resins=tuple(resins), calendar=calendar)
    return _Drawn(changed, tuple(scales), count)


def _block(
    case: Case, baseline: Option, options: Sequence[Option], values: Mapping[str, Array], count: int
) -> tuple[list[tuple[str, NDArray[np.int64], dict[str, Array]]], dict[str, str]]:
    """Name, draws answered and results of each option; and why draws had no answer, by option."""
    reasons: dict[str, str] = {}
    kept = np.arange(count)
    try:
        drawn = _drawn(case, values, count)
        present = drawn.run(drawn.option(baseline.name))
    except (ModelError, OutOfRangeError):
        kept = _answered(case, baseline, values, kept, reasons)
        if not kept.size:
            return [], reasons
        drawn = _drawn(case, {k: v[kept] for k, v in values.items()}, kept.size)
        present = drawn.run(drawn.option(baseline.name))
    made = []
    for option in options:
        made += _of_draws(case, baseline, option, values, kept, drawn, present, reasons)
    return made, reasons


def _answered(
    case: Case, option: Option, values: Mapping[str, Array], draws: NDArray[np.int64], reasons: dict[str, str]
) -> NDArray[np.int64]:
    """The draws in which an option's machines have a physical answer; those without are found by halving."""
    try:
        drawn = _drawn(case, {k: v[draws] for k, v in values.items()}, draws.size)
        drawn.run(drawn.option(option.name))
        return draws
    except (ModelError, OutOfRangeError) as error:
        if draws.size == 1:
            reasons.setdefault(option.name, str(error))
            return draws[:0]
        half = draws.size // 2
        return np.concatenate([_answered(case, option, values, d, reasons) for d in (draws[:half], draws[half:])])


def _of_draws(
    case: Case,
    baseline: Option,
    option: Option,
    values: Mapping[str, Array],
    draws: NDArray[np.int64],
    drawn: _Drawn,
    present: _Ran,
    reasons: dict[str, str],
) -> list[tuple[str, NDArray[np.int64], dict[str, Array]]]:
    """The results of an option in those of the draws that it has an answer for."""
    try:
        results = _of_option(drawn, drawn.option(option.name), drawn.option(baseline.name), present)
        return [(option.name, draws, results)]
    except meter.BillError as error:
        reason = str(error)
        halves = [draws[: draws.size // 2], draws[draws.size // 2 :]] if draws.size > 1 else []
    except (ModelError, OutOfRangeError) as error:
        reason = str(error)
        kept = _answered(case, option, values, draws, reasons) if draws.size > 1 else draws[:0]
        halves = [kept] if 0 < kept.size < draws.size else []
    if draws.size == 1:
        reasons.setdefault(option.name, reason)
    made = []
    for part in halves:
        again = _drawn(case, {k: v[part] for k, v in values.items()}, part.size)
        there = again.run(again.option(baseline.name))
        made += _of_draws(case, baseline, option, values, part, again, there, reasons)
    return made


def _of_option(drawn: _Drawn, option: Option, baseline: Option, present: _Ran) -> dict[str, Array]:
    """Saving, net savings, payback and whether it dries, as `compare` has them."""
    case, count = drawn.case, drawn.count
    base_cost = running_cost(case, baseline, present.year, present.year)
    if option is baseline:
        nothing = np.zeros(count)
        return {"saving": nothing, "npv": nothing, "payback": nothing, "dries": np.asarray(present.dries, float)}
    run, priced = drawn.run(option), option
    section = case.model.compressed_air
    if section is not None:
        house = air_house.house_of_case(case, section, atmospheric_pressure(case))
        added = (run.most_air - present.most_air)[:, None, None]
        if np.any(air_house.missing_flow(house, added) > 0.0):
            run = drawn.run(option, added)
        extra: Any = np.broadcast_to(air_house.extra_capital(house, added), added.shape)[:, 0, 0]
        if np.any(extra > 0.0):
            line = CapitalLine.model_construct(item="Bigger compressor", amount=extra)
            priced = option.model_copy(update={"capital": (*option.capital, line)})
    cost = running_cost(case, priced, run.year, present.year)
    late: dict[str, Any] = {}
    if any(_remembers(tariff) for tariff in case.tariffs.values()):
        saved = meter.savings(case, present.year, run.year)
        late = {name: np.asarray(saving.first_year - saving.steady, float) for name, saving in saved.items()}
    flow = against_baseline(case, priced, cost, baseline, base_cost, late)
    flows = flow.flows
    returned = flow.without("residual").flows
    payback = finance.simple_payback(returned, at_year_end=flow.streams["replacements"])
    free = finance.nothing_to_pay_back(returned)
    results: dict[str, Any] = {
        "saving": base_cost.total - cost.total,
        "npv": finance.npv(case.model.finance.rate, flows),
        "payback": np.where(np.isnan(payback), np.where(free, 0.0, np.inf), payback),
        "dries": run.dries + 0.0,
    }
    return {key: np.broadcast_to(value, (count,)) for key, value in results.items()}


def _remembers(tariff: Any) -> bool:
    """Has the tariff a ratchet, so that the first year's bill is not that of the later ones?"""
    return any(getattr(charge, "ratchet", None) is not None for charge in tariff.charges)


def check_draws(case: Case, draws: int, seed: int) -> None:
    """Refuse numbers that make no simulation.

    Raises
    ------
    CaseError
    """
    if not 1 <= draws <= MOST_DRAWS:
        raise CaseError([Problem("draws", f"{draws} is not allowed; write 1 to {MOST_DRAWS:,}")], file=case.file)
    if not 0 <= seed < 2**63:
        raise CaseError([Problem("seed", f"{seed} is not allowed; write 0 or more")], file=case.file)


__all__ = ["Outcomes", "Uncertain", "check_draws", "outcomes", "probabilities", "uncertain_inputs", "values_of"]
