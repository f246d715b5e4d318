"""Every option of a case on the same duty: energy, bill, cash flow and life-cycle measures against the baseline."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from energy import dryers, finance, tariffs
from energy.dryers.base import Array, Duty, Operation
from energy.errors import CaseError, ModelError, OutOfRangeError, Problem, UnknownNameError, nearest
from energy.finance import CashFlow
from energy.sources import load
from energy.study import verdict
from energy.study.case import Case
from energy.study.duty import duty_of, levels_of, option_duty
from energy.study.schema import Option
from energy.study.verdict import GRADES
from energy.study.year import Year, run_year

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
class OptionResult:
    """All that is known of one option. Energies are of a year."""

    option: Option
    label: str
    """Name of the type in words."""
    duty: Duty
    year: Year
    operation: Operation
    """At the highest level of production."""
    verdict: verdict.Verdict
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

    def carrier(self, carrier: str) -> float:
        """Energy of one carrier. [J]"""
        return sum(v for (_, c), v in self.energy.items() if c == carrier)


@dataclass(frozen=True, slots=True, kw_only=True)
class Comparison:
    """All options of a case."""

    case: Case
    duty: Duty
    options: tuple[OptionResult, ...]

    @property
    def baseline(self) -> OptionResult:
        return next(o for o in self.options if o.option.baseline)

    def ranked(self) -> list[OptionResult]:
        """Options that do not fail to dry, by life-cycle cost within four groups.

        Those that pass every check; those whose predicted moisture passes; those whose best estimate reaches the target;
        those whose best estimate misses it.
        """

        def place(o: OptionResult) -> tuple[int, int, bool, float]:
            moisture = GRADES.index(o.verdict.grade_of("predicted moisture"))
            return GRADES.index(o.verdict.overall), moisture, o.verdict.word == "unlikely", o.life_cycle_cost

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
    duty = duty_of(case)
    done: dict[str, tuple[Duty, Year, verdict.Verdict, RunningCost]] = {}
    found = []
    for option in case.model.options:
        try:
            own = option_duty(duty, option)
            year = year_of(case, option, own)
            judged = verdict.judge(case, year.parts[0].duty, year.operation, option)
            done[option.name] = own, year, judged, running_cost(case, option, year)
        except (ModelError, OutOfRangeError) as error:
            given = option.inputs.air_resin_ratio is not None and "air flow" in str(error)
            key = "inputs.air_resin_ratio" if given else "inputs"
            found.append(Problem(f"options['{option.name}'].{key}", str(error)))
    if found:
        raise CaseError(found, file=case.file)
    base = next(o for o in case.model.options if o.baseline)
    against = base, done[base.name][3]
    results = [_result(case, option, *done[option.name], against) for option in case.model.options]
    return Comparison(case=case, duty=duty, options=tuple(results))


def year_of(case: Case, option: Option, duty: Duty) -> Year:
    """An option through the operating states of the case's year."""
    return run_year(lambda own: operate(option, own), duty, levels_of(case), case.calendar)


def operate(option: Option, duty: Duty) -> Operation:
    """An option at work on a duty.

    Raises
    ------
    ModelError
        Inputs that do not fit together, so that a power comes out negative or pellets leave colder than they came.
    """
    operation: Operation = dryers.TYPES[option.type].Dryer(option.inputs).run(duty)
    for (use, carrier), power in operation.energy.items():
        if np.any(power < 0.0):
            raise ModelError(
                f"the {carrier} for {use} comes out negative; its shares and efficiencies do not fit together"
            )
    if np.any(operation.hopper.resin_outlet_temperature < duty.resin_temperature):
        raise ModelError(
            "the pellets would leave colder than they came; the shell and ducts lose more than the air brings"
        )
    return operation


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


def minimum_energy(duty: Duty) -> Array:
    """Heat that the resin and its water take up, whatever the dryer. [J/kg]

    Source
    ------
    First law; evaporation heat from data/factors.toml (reference table F-physics).
    """
    lift = duty.drying_temperature - duty.resin_temperature
    water = duty.initial_moisture - duty.final_moisture
    return np.asarray(duty.resin.specific_heat * lift + water * load("factors")["evaporation_heat"].si)


def _result(
    case: Case,
    option: Option,
    duty: Duty,
    year: Year,
    judged: verdict.Verdict,
    cost: RunningCost,
    base: tuple[Option, RunningCost],
) -> OptionResult:
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
    least = sum(float(np.sum(p.duty.throughput * p.seconds * minimum_energy(p.duty))) for p in year.parts)
    peak = sum(v for (_, c), v in year.peak.items() if c in ("electricity", "compressed air"))
    return OptionResult(
        option=option,
        label=dryers.TYPES[option.type].LABEL,
        duty=duty,
        year=year,
        operation=year.operation,
        verdict=judged,
        energy=energy,
        heat_in={k: float(np.sum(v)) for k, v in year.heat_in.items()},
        heat_out={k: float(np.sum(v)) for k, v in year.heat_out.items()},
        specific_energy=bought / resin,
        minimum_energy=least / resin,
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
