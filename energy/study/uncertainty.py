"""The whole chain on draws of every uncertain input at once: does it dry, energy, bill, payback.

All options see the same draws, so that their differences are fair. Draws are one more axis of the arrays that a
comparison works on: the equations are the same.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from typing import Any, TypeVar

import numpy as np
from numpy.typing import NDArray

from energy import finance
from energy.dryers import base
from energy.dryers.base import Array, Duty
from energy.errors import CaseError, LocatedError, ModelError, OutOfRangeError, Problem
from energy.study import air_house, drawn_verdict, meter, surroundings
from energy.study.bills import Bills, savings
from energy.study.case import Case, Stands
from energy.study.cost import RunningCost, running_cost
from energy.study.distributions import probabilities
from energy.study.duty import MONTHS, atmospheric_pressure, duties_of, target_of
from energy.study.life_cycle import against_baseline, terms
from energy.study.machines import machines_of
from energy.study.option_sections import CapitalLine, Option
from energy.study.paths import with_values
from energy.study.spread import Uncertain, correlated, uncertain_inputs, values_of
from energy.study.year import Year, air_sent, at_once, of_option, run_year, segments

BLOCK = 512  # draws of twelve months at once: bounds the memory, and keeps what is worked on near the processor
ALIKE = 4  # times as many where all months are alike
MOST_DRAWS = 100_000
LOCATED = 100  # draws from which the first axis of an array can be told from months, nodes and points
Progress = Callable[[float], object]
"""Called between blocks with the share that is done; what it raises ends the run."""
_MONEY = (".amount", ".every", "].maintenance", ".incentive", ".capital_factor")
_Made = TypeVar("_Made")


@dataclass(frozen=True, slots=True, kw_only=True)
class Outcomes:
    """What came of the draws, by option; NaN and False where the model had no answer. Baseline: savings 0."""

    saving: Mapping[str, Array]
    """What the option costs less to run in a year, shape (n,). [money/year]"""
    npv: Mapping[str, Array]
    """Net savings over the study period. [money]"""
    payback: Mapping[str, Array]
    """Simple; infinite where there is none within the study period, 0 where there is nothing to pay back. [year]"""
    flows: Mapping[str, Array]
    """Cash flow against the baseline, shape (n, years + 1). [money]"""
    dries: Mapping[str, NDArray[np.bool_]]
    answered: Mapping[str, NDArray[np.bool_]]
    reasons: Mapping[str, str]
    """Why there was no answer in some draw, by option; the empty name for an input outside its limits."""
    by_data: Mapping[str, NDArray[np.bool_]] = field(default_factory=dict)
    """Does it dry by the diffusion data alone, whatever practice has?"""

    def best(self, names: Sequence[str]) -> NDArray[np.int64]:
        """Place in `names` of the option with the highest net savings of those that dry; -1 where none does."""
        worth = np.array([np.where(self.dries[n], self.npv[n], -np.inf) for n in names])
        return np.where(np.isfinite(worth).any(axis=0), worth.argmax(axis=0), -1)


def outcomes(
    case: Case,
    inputs: Sequence[Uncertain],
    probability: Array,
    names: Sequence[str] | None = None,
    *,
    progress: Progress | None = None,
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
    progress : callable, optional
        Called between blocks with the share of the draws that is done.

    Returns
    -------
    Outcomes
    """
    case = _standing(case)
    drawn = values_of(inputs, probability)
    stated = {path: spread.value for entry in inputs for path, spread in entry.places.items()}
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
    shapes: dict[str, tuple[int, ...]] = {"saving": (count,), "npv": (count,), "payback": (count,), "dries": (count,)}
    shapes["by_data"] = (count,)
    shapes["flows"] = (count, case.model.finance.years + 1)
    found = {key: {o.name: np.full(shape, np.nan) for o in options} for key, shape in shapes.items()}
    places = np.flatnonzero(inside)
    size = BLOCK * (ALIKE if months_of(case) == 1 else 1)
    for start in range(0, places.size, size):
        part = places[start : start + size]
        block = _Block(case, {k: v[part] for k, v in drawn.items()}, stated, part.size, reasons)
        for name, kept, results in block.run(baseline, options):
            for key, result in results.items():
                found[key][name][part[kept]] = result[kept]
        if progress is not None:
            progress(min(1.0, (start + size) / places.size))
    return Outcomes(
        saving=found["saving"],
        npv=found["npv"],
        payback=found["payback"],
        flows=found["flows"],
        dries={name: dry == 1.0 for name, dry in found["dries"].items()},
        answered={o.name: np.isfinite(found["npv"][o.name]) for o in options},
        reasons=reasons,
        by_data={name: dry == 1.0 for name, dry in found["by_data"].items()},
    )


def _standing(case: Case) -> Case:
    """The case with present dryers that stay as big as they are, whatever throughput is drawn."""
    sizes = {hopper.name: Stands(built_for=float(hopper.throughput), bed_mass=None) for hopper in case.model.hoppers}
    return replace(case, stands={**sizes, **case.stands})


def months_of(case: Case) -> int:
    """Months that differ: one stands for all in one hall air."""
    return 1 if case.climate is None else MONTHS


@dataclass(frozen=True, slots=True)
class _Ran:
    """An option's machines through the year, draws on the first axis."""

    year: Year
    dries: drawn_verdict.Dried
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
        duties = duties_of(self.case, self.scales, added_air, months_of(self.case))
        years, air = [], []
        every = np.ones(self.count, dtype=bool)
        dries = drawn_verdict.Dried(every, every)
        machines = machines_of(self.case, option, duties, scales=self.scales)
        for machine in machines:
            year, operation = run_year(machine, self.case.calendar)
            loads = segments(machine.hoppers)[0].loads
            inputs = base.at_state(machine.inputs, 0)
            for i, (hopper, duty) in enumerate(zip(machine.hoppers, machine.duties, strict=True)):
                busy: Duty = base.at_state(replace(duty, throughput=duty.throughput * loads[i]), 0)
                dries = drawn_verdict.dries(busy, operation.of(i), inputs, target_of(hopper, busy.resin), dries)
            years.append(year)
            air.append(np.broadcast_to(np.max(air_sent(operation), axis=-1), (self.count,)))
        year = of_option(machines, years, option.units)
        return _Ran(surroundings.with_cooling_plant(self.case, year), dries, at_once(machines, air, option.units))


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
                raise ModelError("more hours of production than the year has", off < 0.0)
            calendar = replace(calendar, production=production, off=off)
            continue
        model[path] = value if path.startswith(("finance.", "tariffs.")) or path.endswith(_MONEY) else deep
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


@dataclass(frozen=True, slots=True)
class _Block:
    """Some draws, worked on at once."""

    case: Case
    values: Mapping[str, Array]
    stated: Mapping[str, float]
    count: int
    reasons: dict[str, str]

    def run(self, baseline: Option, options: Sequence[Option]) -> list[tuple[str, NDArray[np.bool_], dict[str, Array]]]:
        """Name, draws with an answer and results of each option."""

        def as_it_is(drawn: _Drawn) -> tuple[_Ran, RunningCost, Bills]:
            ran = drawn.run(drawn.option(baseline.name))
            bills = Bills(case=drawn.case, present=ran.year)
            return (
                ran,
                running_cost(drawn.case, drawn.option(baseline.name).maintenance, ran.year, ran.year, bills),
                bills,
            )

        settled = self._settle(baseline.name, self.values, as_it_is)
        if settled is None:
            return []
        present, there, values, drawn = settled

        def one(option: Option) -> tuple[str, NDArray[np.bool_], dict[str, Array]] | None:
            def replaced(drawn: _Drawn) -> dict[str, Array]:
                return _of_option(drawn, drawn.option(option.name), drawn.option(baseline.name), *present)

            found = self._settle(option.name, values, replaced, drawn)
            return None if found is None else (option.name, there & found[1], found[0])

        return [found for found in map(one, options) if found is not None]

    def _settle(
        self, name: str, values: Mapping[str, Array], work: Callable[[_Drawn], _Made], drawn: _Drawn | None = None
    ) -> tuple[_Made, NDArray[np.bool_], Mapping[str, Array], _Drawn] | None:
        """What `work` makes of the draws, those it has an answer for, and the values: stated ones in the others.

        None where it has no answer for any. `drawn` is the case with these values, where it is made already.
        """
        there = np.ones(self.count, dtype=bool)
        while there.any():
            try:
                drawn = drawn or _drawn(self.case, values, self.count)
                return work(drawn), there, values, drawn
            except (ModelError, OutOfRangeError, meter.BillError) as error:
                self.reasons.setdefault(name, str(error))
                bad = there & _draws_of(error, self.count)
                there = there & ~(bad if bad.any() else self._failing(values, work, np.flatnonzero(there)))
                values, drawn = self._stated_but(values, there), None
        return None

    def _failing(
        self, values: Mapping[str, Array], work: Callable[[_Drawn], _Made], among: NDArray[np.int64]
    ) -> NDArray[np.bool_]:
        """The draws without an answer, where the error does not tell: by halving."""
        chosen = np.zeros(self.count, dtype=bool)
        chosen[among] = True
        try:
            work(_drawn(self.case, self._stated_but(values, chosen), self.count))
        except (ModelError, OutOfRangeError, meter.BillError):
            if among.size == 1:
                return chosen
            half = among.size // 2
            return self._failing(values, work, among[:half]) | self._failing(values, work, among[half:])
        return np.zeros(self.count, dtype=bool)

    def _stated_but(self, values: Mapping[str, Array], kept: NDArray[np.bool_]) -> dict[str, Array]:
        return {path: np.where(kept, value, self.stated[path]) for path, value in values.items()}


def _draws_of(error: LocatedError, count: int) -> NDArray[np.bool_]:
    """The draws that an error is about; none where it does not tell."""
    where = np.asarray(False if error.where is None else error.where, dtype=bool)
    if count < LOCATED or where.ndim < 2 or where.shape[0] != count:
        return np.zeros(count, dtype=bool)
    return np.asarray(where.any(axis=tuple(range(1, where.ndim))))


def _of_option(
    drawn: _Drawn, option: Option, baseline: Option, present: _Ran, base_cost: RunningCost, bills: Bills
) -> dict[str, Array]:
    """Saving, net savings, payback and whether it dries, as `compare` has them."""
    case, count = drawn.case, drawn.count
    if option.baseline:
        nothing = np.zeros(count)
        flows = np.zeros((count, case.model.finance.years + 1))
        return {"saving": nothing, "npv": nothing, "payback": nothing, **_dried(present), "flows": flows}
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
    if bills.case is not case:  # some of the draws have another value here
        bills = Bills(case=case, present=present.year)
    cost = running_cost(case, priced.maintenance, run.year, present.year, bills)
    late: dict[str, Any] = {}
    if any(_remembers(tariff) for tariff in case.tariffs.values()):
        saved = savings(bills, run.year)
        late = {name: np.asarray(saving.first_year - saving.steady, float) for name, saving in saved.items()}
    flow = against_baseline(case, priced, cost, baseline, base_cost, late)
    returned, timing = flow.without("residual"), terms(case)["timing"]
    payback = finance.simple_payback(returned.flows, at_year_end=returned.one_time)
    # Where nothing is paid and nothing saved there is no payback, as `compare` says; without an outlay a saving is back at once.
    free = finance.at_once(returned.flows)
    results: dict[str, Any] = {
        "saving": base_cost.total - cost.total,
        "npv": finance.npv(case.model.finance.rate, flow.flows, timing=timing, at_year_end=flow.one_time),
        "payback": np.where(np.isnan(payback), np.where(free, 0.0, np.inf), payback),
        **_dried(run),
    }
    found = {key: np.broadcast_to(value, (count,)) for key, value in results.items()}
    return {**found, "flows": np.broadcast_to(flow.flows, (count, flow.flows.shape[-1]))}


def _dried(run: _Ran) -> dict[str, Array]:
    """Does it dry, either way and by the data alone, as 1 and 0?"""
    return {"dries": np.asarray(run.dries.either, float), "by_data": np.asarray(run.dries.by_data, float)}


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


__all__ = [
    "Outcomes",
    "Uncertain",
    "check_draws",
    "correlated",
    "outcomes",
    "probabilities",
    "uncertain_inputs",
    "values_of",
]
