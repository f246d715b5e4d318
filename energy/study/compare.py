"""Every option of a case on the same duty: energy, bill, cash flow and life-cycle measures against the baseline."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from energy import finance, tariffs
from energy.dryers.base import Array, Duty, Operation
from energy.errors import CaseError, EnergyError, ModelError, OutOfRangeError, Problem, UnknownNameError, nearest
from energy.finance import CashFlow
from energy.sources import load
from energy.study import verdict
from energy.study.case import Case
from energy.study.duty import duties_of, target_of
from energy.study.machines import Machine, machines_of
from energy.study.schema import Hopper, Option
from energy.study.year import Year, run_year, segments, together

if TYPE_CHECKING:
    import pandas as pd

KWH = 3.6e6

CAUTIONS = (
    "These are estimates from a model, not a guarantee; verify with measurements before money is spent.",
    "Resin values are typical: follow the resin producer's drying sheet, and check moisture (for instance by ISO "
    "15512) before airflow, temperature or time is reduced.",
    "Hot surfaces, ducts and pellets burn; regeneration air reaches 300 degC (570 degF). Insulate, guard and let cool before "
    "work.",
    "Compressed air and receivers store energy: depressurise, lock out, and keep to the rules for pressure equipment.",
    "Electrical and fuel-gas work is for licensed people under local codes; lock out before opening a heater or panel.",
    "Plastics dust and fines can explode: keep filters and ducts clean and follow the local combustible-dust rules.",
)


@dataclass(frozen=True, slots=True, kw_only=True)
class BillLine:
    """One line of the year's bill, the months added up."""

    line: str
    clause: str
    amount: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Measures:
    """Life-cycle measures of an option against the baseline; NaN where there is none, with the reason in a note."""

    cash_flow: Array
    streams: Mapping[str, Array]
    """The same cash flow by what it comes from."""
    npv: float
    irr: float
    irr_note: str
    simple_payback: float
    payback_on_savings: float
    """Simple payback without the replacements that are spared or added. [year]"""
    discounted_payback: float
    payback_note: str
    discounted_payback_note: str
    sir: float
    airr: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Served:
    """One hopper under an option: its dryer at the highest level of production, and whether that dries."""

    hopper: Hopper
    machine: Machine
    duty: Duty
    """At full throughput."""
    operation: Operation
    """With the state of this hopper; energy and sizes are the machine's."""
    verdict: verdict.Verdict


@dataclass(frozen=True, slots=True, kw_only=True)
class OptionResult:
    """All that is known of one option. Energies are of a year."""

    option: Option
    label: str
    """Its types in words."""
    machines: tuple[Machine, ...]
    served: tuple[Served, ...]
    """In the order of the case's hoppers."""
    year: Year
    verdict: verdict.Verdict
    sizing: Mapping[str, float]
    """Of all machines together, as in Operation.sizing."""
    energy: Mapping[tuple[str, str], float]
    """(end use, carrier) -> energy bought. [J]"""
    heat_in: Mapping[str, float]
    """[J]"""
    heat_out: Mapping[str, float]
    """[J]"""
    specific_energy: float
    """Electricity and fuel per resin. [J/kg]"""
    minimum_energy: float
    """Physical minimum per resin. [J/kg]"""
    peak: float
    """Highest 15-minute electrical power. [W]"""
    emissions: float
    """[kg CO2e]"""
    bill: tuple[BillLine, ...]
    annual_cost: Mapping[str, float]
    """electricity, gas, water, maintenance. [money]"""
    cost_by_end_use: Mapping[str, float]
    """The same money by what it was spent on. [money]"""
    total_cost: float
    capital: float
    life_cycle_cost: float
    measures: Measures | None
    """None for the baseline."""

    @property
    def name(self) -> str:
        return self.option.name

    @property
    def duty(self) -> Duty:
        """Of the first hopper, at full throughput."""
        return self.served[0].duty

    @property
    def operation(self) -> Operation:
        """Of the first hopper's dryer at its highest level of production."""
        return self.served[0].operation

    def carrier(self, carrier: str) -> float:
        """Energy of one carrier. [J]"""
        return sum(v for (_, c), v in self.energy.items() if c == carrier)


@dataclass(frozen=True, slots=True, kw_only=True)
class Comparison:
    """All options of a case."""

    case: Case
    duties: tuple[Duty, ...]
    """Of each hopper, with dryers built for it."""
    options: tuple[OptionResult, ...]

    @property
    def duty(self) -> Duty:
        """Of the first hopper; the hall is the same for all."""
        return self.duties[0]

    @property
    def baseline(self) -> OptionResult:
        return next(o for o in self.options if o.option.baseline)

    def ranked(self) -> list[OptionResult]:
        """Options that do not fail to dry, by life-cycle cost within four groups.

        Those that pass every check; those whose predicted moisture passes; those whose best estimate reaches the target;
        those whose best estimate misses it.
        """

        def place(o: OptionResult) -> tuple[int, int, bool, float]:
            return *o.verdict.severity[:3], o.life_cycle_cost

        return sorted((o for o in self.options if o.verdict.overall != "fail"), key=place)

    def in_order(self) -> list[OptionResult]:
        """Ranked options first, then those that fail to dry, by life-cycle cost."""
        failing = [o for o in self.options if o.verdict.overall == "fail"]
        return [*self.ranked(), *sorted(failing, key=lambda o: o.life_cycle_cost)]

    def option(self, name: str) -> OptionResult:
        """The option of that name."""
        names = [o.name for o in self.options]
        if name not in names:
            raise UnknownNameError(f"there is no option '{name}'; known: {', '.join(names)}{nearest(name, names)}")
        return self.options[names.index(name)]

    def to_frame(self) -> pd.DataFrame:
        """One row per option, units in the column names."""
        from energy.study.frame import frame

        return frame(self)


def compare(case: Case) -> Comparison:
    """Run every option of a case.

    Raises
    ------
    CaseError
        An option that the model has no physical answer for, such as an air flow that cannot heat the resin.
    """
    duties = duties_of(case)
    done: dict[str, tuple[_Run, RunningCost]] = {}
    found = []
    for option in case.model.options:
        try:
            run = _run(case, option, duties)
            done[option.name] = run, running_cost(case, option, run.year)
        except _MachineError as error:
            found.append(Problem(f"options['{option.name}'].{error.key}", str(error)))
    if found:
        raise CaseError(found, file=case.file)
    base = next(o for o in case.model.options if o.baseline)
    against = base, done[base.name][1]
    results = [_result(case, option, *done[option.name], against) for option in case.model.options]
    return Comparison(case=case, duties=duties, options=tuple(results))


class _MachineError(EnergyError):
    """A machine that the model has no physical answer for, with the key of its inputs."""

    def __init__(self, key: str, message: str) -> None:
        super().__init__(message)
        self.key = key


@dataclass(frozen=True, slots=True, kw_only=True)
class _Run:
    """An option's machines, their year, and each hopper's verdict."""

    machines: tuple[Machine, ...]
    served: tuple[Served, ...]
    year: Year
    sizing: Mapping[str, float]


def _run(case: Case, option: Option, duties: tuple[Duty, ...]) -> _Run:
    machines = machines_of(case, option, duties)
    years, served, sizes = [], {}, []
    for machine in machines:
        try:
            year, operation = run_year(machine, case.calendar)
            for i, (place, hopper, duty) in enumerate(
                zip(machine.places, machine.hoppers, machine.duties, strict=True)
            ):
                # Levels are laid so that every hopper is on, at its highest, in the first state.
                load_ = segments(machine.hoppers)[0].loads[i]
                own, target = operation.of(i), target_of(hopper, duty.resin)
                judged = verdict.judge(
                    replace(duty, throughput=duty.throughput * load_),
                    own,
                    machine.inputs,
                    target,
                    case.model.case.units,
                )
                served[place] = Served(hopper=hopper, machine=machine, duty=duty, operation=own, verdict=judged)
        except (ModelError, OutOfRangeError) as error:
            raise _MachineError(_key_of(option, machine, error), _told(case, machine, error)) from error
        years.append(year)
        sizes.append({key: float(np.max(size)) for key, size in operation.sizing.items()})
    if option.arrangement == "portable":  # so many of the largest
        sizing = {key: float(option.units or 1) * max(size[key] for size in sizes) for key in sizes[0]}
    else:
        sizing = {key: sum(size[key] for size in sizes) for key in sizes[0]}
    return _Run(
        machines=machines,
        served=tuple(served[place] for place in sorted(served)),
        year=together(years, option.units),
        sizing=sizing,
    )


def _key_of(option: Option, machine: Machine, error: EnergyError) -> str:
    """Where the inputs of a machine stand in its option."""
    given = machine.inputs.air_resin_ratio is not None and "air flow" in str(error)
    own = next((i for i, m in enumerate(option.machines) if m.hopper == machine.hoppers[0].name), None)
    place = "inputs" if own is None else f"machines[{own + 1}].inputs"
    return f"{place}.air_resin_ratio" if given else place


def _told(case: Case, machine: Machine, error: EnergyError) -> str:
    """The message, with the hopper where there are several."""
    named = len(case.model.hoppers) > 1 and len(machine.hoppers) == 1
    return f"at {machine.hoppers[0].name}: {error}" if named else str(error)


def year_of(case: Case, option: Option, machines: Sequence[Machine]) -> Year:
    """An option's machines through the operating states of the case's year."""
    return together([run_year(machine, case.calendar)[0] for machine in machines], option.units)


@dataclass(frozen=True, slots=True, kw_only=True)
class RunningCost:
    """What an option costs to run for a year; arrays have the leading axes of the operation."""

    annual: Mapping[str, Array]
    by_end_use: Mapping[str, Array]
    lines: tuple[tuple[str, str, Array], ...]

    @property
    def total(self) -> Array:
        return np.asarray(sum(self.annual.values()))


def running_cost(case: Case, option: Option, year: Year) -> RunningCost:
    """Price a year on the case's tariffs.

    What counts is by how much the bill is higher than without the dryer: fixed charges, which are paid either way, are
    in no option's cost.
    """
    annual: dict[str, Array] = {}
    by_use: dict[str, Array] = {}
    lines: list[tuple[str, str, Array]] = []
    carriers = {"electricity": ("electricity", "compressed air"), "gas": ("gas",), "water": ("cooling",)}
    for name, members in carriers.items():
        tariff = case.tariffs.get("cooling" if name == "water" else name)
        parts = {k: v for k, v in year.energy.items() if k[1] in members}
        annual[name] = np.zeros(np.shape(year.resin)[:-1])
        if tariff is None or not parts:
            continue
        energy = np.asarray(sum(parts.values()) + 0.0 * year.resin)
        peak = np.asarray(sum(year.peak[k] for k in parts) + 0.0 * year.resin)
        load_ = tariffs.Load(energy=energy, peak=peak)
        free = tariffs.Load(energy=0.0 * energy, peak=0.0 * peak)
        flat = tariffs.Load(energy=energy, peak=0.0 * peak)
        bill, nothing = tariffs.bill(tariff, load_), tariffs.bill(tariff, free)
        without = _by_line(nothing)
        for key, amount in _by_line(bill).items():
            extra = amount - without.get(key, 0.0)
            if np.any(extra != 0.0):
                lines.append((*key, extra))
        total = np.asarray(bill.total - nothing.total)
        for_energy = np.asarray(tariffs.bill(tariff, flat).total - nothing.total)
        annual[name] = annual[name] + total
        whole, top = energy.sum(-1), peak.sum(-1)
        for (use, carrier), v in parts.items():
            share = _ratio((v + 0.0 * year.resin).sum(-1), whole)
            demand = _ratio((year.peak[use, carrier] + 0.0 * year.resin).sum(-1), top)
            by_use[use] = by_use.get(use, 0.0) + for_energy * share + (total - for_energy) * demand
    maintenance = np.asarray(option.maintenance + 0.0 * annual["electricity"])
    by_use["maintenance"] = maintenance
    air = case.model.compressed_air
    if air is not None and air.maintenance > 0 and np.any(year.free_air > 0):
        cost = year.free_air.sum(-1) * air.maintenance
        by_use["compressed air"] = by_use["compressed air"] + cost
        maintenance = maintenance + cost
    annual["maintenance"] = maintenance
    return RunningCost(annual=annual, by_end_use=by_use, lines=tuple(lines))


def _ratio(part: Array, whole: Array) -> Array:
    return np.divide(part, whole, out=np.zeros_like(whole), where=whole > 0)


def _by_line(bill: tariffs.Bill) -> dict[tuple[str, str], Array]:
    """Lines with their months added up, in the order of the bill."""
    added: dict[tuple[str, str], Array] = {}
    for line in bill.lines:
        key = (line.line, line.clause)
        added[key] = added.get(key, 0.0) + np.asarray(line.amount)
    return added


def replacements(option: Option, years: int) -> dict[int, float]:
    """Money spent on replacements by year, within the study and not in its last year."""
    spent: dict[int, float] = {}
    for entry in option.replacements:
        for year in range(entry.every, years, entry.every):
            spent[year] = spent.get(year, 0.0) + float(entry.amount)
    return spent


def residual(option: Option, capital: Array, years: int) -> Array:
    """Value left at the end of the study by remaining life; nothing where no life is stated. [money]"""
    if option.life is None:
        return np.asarray(0.0 * capital)
    return finance.residual_value(capital, option.life, years)


def escalation(case: Case) -> dict[str, float]:
    """Yearly price increase by carrier."""
    given = case.model.finance
    return {
        "electricity": given.escalation_electricity,
        "gas": given.escalation_gas,
        "water": given.escalation_other,
        "maintenance": given.escalation_other,
    }


def against_baseline(case: Case, option: Option, cost: RunningCost, base: Option, base_cost: RunningCost) -> CashFlow:
    """Cash flow of replacing the baseline by the option."""
    years = case.model.finance.years
    mine, theirs = replacements(option, years), replacements(base, years)
    return finance.cash_flow(
        years=years,
        capital=option.capital_total - base.capital_total,
        savings={k: base_cost.annual[k] - cost.annual[k] for k in ("electricity", "gas", "water")},
        escalation=escalation(case),
        maintenance=base_cost.annual["maintenance"] - cost.annual["maintenance"],
        replacements={y: mine.get(y, 0.0) - theirs.get(y, 0.0) for y in sorted({*mine, *theirs})},
        residual=residual(option, np.asarray(option.capital_total), years)
        - residual(base, np.asarray(base.capital_total), years),
        incentive=option.incentive - base.incentive,
    )


def life_cycle_cost(case: Case, option: Option, cost: RunningCost, capital: Array) -> Array:
    """Present value of owning and running the option over the study period."""
    years = case.model.finance.years
    return finance.life_cycle_cost(
        case.model.finance.rate,
        capital,
        {k: cost.annual[k] for k in ("electricity", "gas", "water")},
        years=years,
        escalation=escalation(case),
        maintenance=cost.annual["maintenance"],
        replacements=replacements(option, years),
        residual=residual(option, capital, years),
        incentive=option.incentive,
    )


def _measures(case: Case, flow: CashFlow) -> Measures:
    rate, years = case.model.finance.rate, case.model.finance.years
    flows = flow.flows
    # What is left at the end is no money returned: payback is counted without it.
    returned = flows - flow.streams["residual"]
    lumps = flow.streams["replacements"]
    ratio = finance.sir(finance.npv(rate, flow.savings), -finance.npv(rate, flow.investment))
    return Measures(
        cash_flow=flows,
        streams={name: np.asarray(amounts) for name, amounts in flow.streams.items()},
        npv=float(finance.npv(rate, flows)),
        irr=float(finance.irr(flows)[0]),
        irr_note=finance.irr_note(flows),
        simple_payback=float(finance.simple_payback(returned, at_year_end=lumps)),
        payback_on_savings=float(finance.simple_payback(returned - lumps)),
        discounted_payback=float(finance.discounted_payback(rate, returned, at_year_end=lumps)),
        payback_note=finance.payback_note(returned),
        discounted_payback_note=finance.payback_note(returned, rate=rate),
        sir=float(ratio),
        airr=float(finance.airr(rate, ratio, years)),
    )


def _result(
    case: Case,
    option: Option,
    run: _Run,
    cost: RunningCost,
    base: tuple[Option, RunningCost],
) -> OptionResult:
    year = run.year
    energy = {k: float(np.sum(v)) for k, v in year.energy.items()}
    resin = float(np.sum(year.resin))
    bought = sum(v for (_, carrier), v in energy.items() if carrier != "cooling")
    factors = load("factors")
    factor = case.model.finance.electricity_emission
    per_kwh = factors["electricity_emission_factor"].si if factor is None else factor
    electric = sum(v for (_, c), v in energy.items() if c in ("electricity", "compressed air"))
    gas = sum(v for (_, c), v in energy.items() if c == "gas")
    measures = None
    if not option.baseline:
        measures = _measures(case, against_baseline(case, option, cost, *base))
    capital = np.asarray(option.capital_total)
    peak = sum(v for (_, c), v in year.peak.items() if c in ("electricity", "compressed air"))
    return OptionResult(
        option=option,
        label=", ".join(dict.fromkeys(machine.label for machine in run.machines)),
        machines=run.machines,
        served=run.served,
        year=year,
        verdict=verdict.joined({served.hopper.name: served.verdict for served in run.served}),
        sizing=run.sizing,
        energy=energy,
        heat_in={k: float(np.sum(v)) for k, v in year.heat_in.items()},
        heat_out={k: float(np.sum(v)) for k, v in year.heat_out.items()},
        specific_energy=bought / resin,
        minimum_energy=float(np.sum(year.least)) / resin,
        peak=float(np.max(peak)),
        emissions=electric * per_kwh + gas * factors["gas_emission_factor"].si,
        bill=tuple(BillLine(line=a, clause=b, amount=float(c)) for a, b, c in cost.lines),
        annual_cost={k: float(v) for k, v in cost.annual.items()},
        cost_by_end_use={k: float(v) for k, v in cost.by_end_use.items()},
        total_cost=float(cost.total),
        capital=float(capital),
        life_cycle_cost=float(life_cycle_cost(case, option, cost, capital)),
        measures=measures,
    )
