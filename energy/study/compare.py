"""Every option of a case on the same duty: does it dry, energy, bill, and what it is worth against the baseline."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from energy.dryers.base import Duty, Operation
from energy.errors import CaseError, Problem, UnknownNameError, nearest
from energy.finance import CashFlow
from energy.sources import load
from energy.study import air_house, desiccant_stated, idle, idle_exchanger, meter, set_back, surroundings, verdict
from energy.study.bills import Bills
from energy.study.case import Case
from energy.study.cost import NOTHING, BillLine, RunningCost
from energy.study.duty import duties_of, house_of
from energy.study.finding import Finding
from energy.study.life_cycle import (
    flow_of,
    flows_against,
    life_notes,
    measures_of_all,
    present_cost,
    side_by_side,
)
from energy.study.life_cycle_measures import Measures
from energy.study.machines import Machine
from energy.study.option_sections import CapitalLine, Option
from energy.study.priced import kept_of, priced
from energy.study.run import MachineError, Run, Served, circumstances, run_at_price, run_options
from energy.study.year import Year, of_option, run_year
from energy.tariffs import Saving
from energy.units import SI

if TYPE_CHECKING:
    import pandas as pd

KWH = 3.6e6

CAUTIONS = (
    "These are estimates from a model, not a guarantee; verify with measurements before money is spent.",
    "Resin values are typical: follow the resin producer's drying sheet, and check moisture (for instance by ISO "
    "15512) before airflow, temperature or time is reduced.",
    "Hot surfaces, ducts and pellets burn; regeneration air reaches 300 °C (570 °F). Insulate, guard and let cool before "
    "work.",
    "Compressed air and receivers store energy: depressurise, lock out, and keep to the rules for pressure equipment.",
    "Electrical and fuel-gas work is for licensed people under local codes; lock out before opening a heater or panel.",
    "Plastics dust and fines can explode: keep filters and ducts clean and follow the local combustible-dust rules.",
)


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
    notes: tuple[Finding, ...]
    """What is to be said of the compressor house, the bill and the hall; no part of the verdict on drying. What is to be said of
    a set-back in standby takes a run of its own: `energy.reports.plant_notes` has both, and what an airflow is at the site."""
    savings: Mapping[str, Saving]
    """By commodity, what the bill falls by line by line against the baseline; empty for the baseline itself."""
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
    """Of the dryers, and of the hall's heating and cooling where a building is counted. [kg CO2e]"""
    hall: Mapping[str, float]
    """By carrier, what heating and cooling the hall takes more through the dryers, below 0 less; empty where it is not counted. [J]"""
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
    priced: bool = True
    """Is a capital given for it, be it nothing? The baseline needs none."""

    @property
    def held_out(self) -> bool:
        """May money be said of it: expected to dry, and priced?"""
        return self.priced and self.verdict.word in ("pass", "caution")

    @property
    def cold(self) -> bool:
        """Has it too little air to warm the resin through, so that it takes less than drying would?"""
        return self.verdict.grade_of("air flow") == "fail"

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
        """Options that do not fail to dry and have a price, by life-cycle cost within four groups.

        Those that pass every check; those whose predicted moisture passes; those whose best estimate reaches the target,
        or that dry as practice does; those whose best estimate misses it.
        """

        def place(o: OptionResult) -> tuple[int, int, bool, float]:
            return *o.verdict.severity[:3], o.life_cycle_cost

        return sorted((o for o in self.options if o.verdict.overall != "fail" and o.priced), key=place)

    def in_order(self) -> list[OptionResult]:
        """Ranked options first, then those without a price, then those that fail to dry, by life-cycle cost."""
        others = [o for o in self.options if o.verdict.overall == "fail" or not o.priced]
        return [*self.ranked(), *sorted(others, key=lambda o: (o.verdict.overall == "fail", o.life_cycle_cost))]

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
    house = house_of(case)
    duties = duties_of(case, house=house)
    around = circumstances(case, duties)
    done: dict[str, Run] = {}
    found = []
    for option, run in zip(case.model.options, run_options(case, case.model.options, duties, around), strict=True):
        if isinstance(run, MachineError):
            found.append(set_back.blamed(case, option, run, duties, around) or _problem(option, run))
        else:
            done[option.name] = run
    if found:
        raise CaseError(found, file=case.file)
    base = next(o for o in case.model.options if o.baseline)
    present = done[base.name]
    of_house: tuple[Finding, ...] = ()
    if house is not None and any(run.most_air > 0.0 for run in done.values()):
        of_house = air_house.findings_of_house(house, case.model.case.units)
    runs: list[tuple[Option, Option, Run, tuple[Finding, ...]]] = []
    for option in case.model.options:
        run = done[option.name]
        notes: tuple[Finding, ...] = ()
        with_air = option
        if house is not None:
            added = run.most_air - present.most_air
            if air_house.missing_flow(house, added) > 0.0:  # what is missing is made at full specific power
                more = duties_of(case, added_air=added, house=house)
                run = run_at_price(case, option, more, circumstances(case, more), run)
                if extra := air_house.extra_capital(house, added):
                    line = CapitalLine(item="Bigger compressor", amount=SI(extra))
                    with_air = option.model_copy(update={"capital": (*option.capital, line)})
            if run.most_air > 0.0:
                notes = (*air_house.findings_of_flow(house, added, case.model.case.units), *of_house)
        runs.append((option, with_air, run, notes))
    bills, kept = Bills(case=case, present=present.year), kept_of(case, around)
    money_of = priced([(o, present.year if o is base else run.year) for o, _, run, _ in runs], bills, kept)
    billed = [
        _Billed(
            option=with_air,
            run=run,
            cost=money.cost,
            notes=(
                *(*notes, *money.notes, *idle_exchanger.notes(run, case.model.case.units)),
                *(*life_notes(case, option), *without_effect, *desiccant),
            ),
            saved=money.saved,
            hall=money.hall,
            priced=option.baseline or bool(option.capital),
        )
        for (option, with_air, run, notes), money, without_effect, desiccant in zip(
            runs, money_of, idle.notes(case), desiccant_stated.notes(case), strict=True
        )
    ]
    flow = flow_of(case, side_by_side(case, [b.option for b in billed], [b.cost for b in billed]))
    measures, whole = _measures(case, billed, flow), present_cost(case, flow)
    emission = _emission(case)
    results = tuple(
        _result(b, cost, measures.get(b.option.name), emission) for b, cost in zip(billed, whole.tolist(), strict=True)
    )
    return Comparison(case=case, duties=duties, options=results)


def _problem(option: Option, error: MachineError) -> Problem:
    return Problem(f"options['{option.name}'].{error.key}", str(error))


def _measures(case: Case, billed: Sequence[_Billed], flow: CashFlow) -> dict[str, Measures]:
    """By name of the option, what it is worth against the baseline; `flow` is of the same options in the same order."""
    base = next(i for i, b in enumerate(billed) if b.option.baseline)
    places = [i for i in range(len(billed)) if i != base]
    others = [billed[i] for i in places]
    if not others:
        return {}
    first_year = {}
    for name in (name for name, tariff, _ in meter.meters(case) if tariff is not None and tariff.looks_back):
        late = np.array([b.saved[name].first_year - b.saved[name].steady if name in b.saved else 0.0 for b in others])
        first_year[name] = np.where(np.abs(late) > NOTHING, late, 0.0)
    year = [float(b.cost.total) for b in billed]
    saving = np.array([year[base] - year[i] for i in places])
    of_each = measures_of_all(case, flows_against(case, flow, places, base, first_year), saving)
    return dict(zip((b.option.name for b in others), of_each, strict=True))


@dataclass(frozen=True, slots=True)
class _Billed:
    """An option's run and what it costs."""

    option: Option
    """With the compressor it needs."""
    run: Run
    cost: RunningCost
    notes: tuple[Finding, ...]
    saved: Mapping[str, Saving]
    hall: Mapping[str, float]
    priced: bool


def year_of(case: Case, option: Option, machines: Sequence[Machine]) -> Year:
    """An option's machines through the operating states of the case's year."""
    years = [run_year(machine, case.calendar)[0] for machine in machines]
    return surroundings.with_cooling_plant(case, of_option(machines, years, option.units))


def _emission(case: Case) -> dict[str, float]:
    """Of electricity and gas. [kg CO2e/J]"""
    factors, given = load("factors"), case.model.finance.electricity_emission
    return {
        "electricity": factors["electricity_emission_factor"].si if given is None else given,
        "gas": factors["gas_emission_factor"].si,
    }


def _result(billed: _Billed, whole: float, measures: Measures | None, emission: Mapping[str, float]) -> OptionResult:
    option, run, cost, year = billed.option, billed.run, billed.cost, billed.run.year
    energy, hall, resin = run.energy, billed.hall, float(year.resin.sum())
    bought: dict[str, float] = {}
    for (_, carrier), taken in energy.items():
        bought[carrier] = bought.get(carrier, 0.0) + taken
    electric = bought.get("electricity", 0.0) + bought.get("compressed air", 0.0) + hall.get("electricity", 0.0)
    gas = bought.get("gas", 0.0) + hall.get("gas", 0.0)
    return OptionResult(
        option=option,
        label=", ".join(dict.fromkeys(machine.label for machine in run.machines)),
        machines=run.machines,
        served=run.served,
        year=year,
        verdict=run.verdict,
        sizing=run.sizing,
        notes=billed.notes,
        savings=billed.saved,
        energy=energy,
        heat_in=run.heat_in,
        heat_out=run.heat_out,
        specific_energy=sum(taken for carrier, taken in bought.items() if carrier != "cooling") / resin,
        minimum_energy=float(year.least.sum()) / resin,
        peak=run.peak,
        emissions=electric * emission["electricity"] + gas * emission["gas"],
        hall=hall,
        bill=tuple(BillLine(line=a, clause=b, amount=float(c)) for a, b, c in cost.lines),
        annual_cost={k: float(v) for k, v in cost.annual.items()},
        cost_by_end_use={k: float(v) for k, v in cost.by_end_use.items()},
        total_cost=float(cost.total),
        capital=float(option.capital_total),
        life_cycle_cost=whole,
        measures=measures,
        priced=billed.priced,
    )
