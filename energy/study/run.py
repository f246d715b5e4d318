"""The machines of an option through the year: what they take, and whether they dry at each hopper."""

from __future__ import annotations

from collections.abc import Callable, Hashable, Iterable, Mapping, Sequence
from dataclasses import astuple, dataclass, replace
from itertools import islice
from typing import Any, TypeVar

import numpy as np

from energy.dryers.base import Array, Duty, Operation
from energy.errors import EnergyError, ModelError, OutOfRangeError
from energy.plant.calendar import OperatingYear
from energy.remembered import Hashed, Latest
from energy.study import surroundings, too_big, verdict
from energy.study.air_for_heat import over_usual, slip_of_ten
from energy.study.case import Case
from energy.study.duty import outdoor_air, target_of
from energy.study.extremes import highest
from energy.study.machines import Machine, machines_of
from energy.study.machines_alike import run_years
from energy.study.option_sections import Machine as OwnMachine
from energy.study.option_sections import Option
from energy.study.plant_sections import Hopper
from energy.study.predicted_moisture import Dried
from energy.study.year import Year, air_sent, at_once, of_option, segments

Thing = TypeVar("Thing")
Made = TypeVar("Made")


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


class MachineError(EnergyError):
    """A machine that the model has no physical answer for, with the key of its inputs."""

    def __init__(self, key: str, message: str) -> None:
        super().__init__(message)
        self.key = key


@dataclass(frozen=True, slots=True, kw_only=True)
class Run:
    """An option's machines, their year, and each hopper's verdict."""

    machines: tuple[Machine, ...]
    served: tuple[Served, ...]
    year: Year
    energy: Mapping[tuple[str, str], float]
    """Of the year, as in Year.energy. [J]"""
    heat_in: Mapping[str, float]
    """[J]"""
    heat_out: Mapping[str, float]
    """[J]"""
    peak: float
    """Highest 15-minute electrical power of the year. [W]"""
    verdict: verdict.Verdict
    """Of all hoppers together."""
    sizing: Mapping[str, float]
    most_air: float
    """Compressed air at the highest level of production. [m3/s free air]"""


_Judged = tuple[Year, Operation, tuple[verdict.Verdict, ...]]
_NoAnswer = ModelError | OutOfRangeError
_JUDGED: Latest[_Judged | _NoAnswer] = Latest(256)
_RUNS: Latest[Run | MachineError] = Latest(64)
MONEY = {
    "name",
    "capital",
    "capital_factor",
    "capital_for",
    "maintenance",
    "replacements",
    "incentive",
    "life",
}
"""Keys of an option that do not touch how it runs."""


def _judged_years(machines: Sequence[Machine], calendar: OperatingYear, system: str) -> list[_Judged | _NoAnswer]:
    """Of each machine its year and whether it dries at each of its hoppers, or why there is no answer.

    Kept, so that a changed price asks for no new ones.
    """
    times = Hashed(tuple(_times(calendar)))
    hoppers = _of_each((hopper for machine in machines for hopper in machine.hoppers), Hashed)
    duties = _of_each((duty for machine in machines for duty in machine.duties), lambda d: Hashed(d.fingerprint()))
    keys = [
        (
            machine.type,
            machine.inputs,
            *(hoppers[id(hopper)] for hopper in machine.hoppers),
            *(duties[id(duty)] for duty in machine.duties),
            None if machine.ducts is None else tuple(np.asarray(v).tobytes() for v in astuple(machine.ducts)),
            np.asarray(machine.metered).tobytes(),
            None if machine.timed_at is None else np.asarray(machine.timed_at).tobytes(),
            machine.hopper_volume,
            None if machine.delivered_dew_point is None else np.asarray(machine.delivered_dew_point).tobytes(),
            times,
            system,
        )
        for machine in machines
    ]
    return _JUDGED.take_all(keys, lambda new: _judged([machines[i] for i in new], calendar, system))


def _of_each(things: Iterable[Thing], made: Callable[[Thing], Made]) -> dict[int, Made]:
    """What is made of each thing, by the mark of the thing: machines of many options share hoppers and duties."""
    return {mark: made(thing) for mark, thing in {id(thing): thing for thing in things}.items()}


def _judged(machines: Sequence[Machine], calendar: OperatingYear, system: str) -> list[_Judged | _NoAnswer]:
    try:
        years = run_years(machines, calendar)
        served = [_dried(machine, operation) for machine, (_, operation) in zip(machines, years, strict=True)]
        verdicts = iter(verdict.judge([one for hoppers in served for one in hoppers], system))
    except (ModelError, OutOfRangeError) as error:
        if len(machines) == 1:
            return [error.with_traceback(None)]
        return [_judged([machine], calendar, system)[0] for machine in machines]  # which of them it is
    return [(*year, tuple(islice(verdicts, len(hoppers)))) for year, hoppers in zip(years, served, strict=True)]


def _dried(machine: Machine, operation: Operation) -> list[Dried]:
    """Each hopper of a machine at the highest level of production."""
    # Levels are laid so that every hopper is on, at its highest, in the first state.
    loads = segments(machine.hoppers)[0].loads
    return [
        Dried(
            duty=duty if load_ == 1.0 else replace(duty, throughput=duty.throughput * load_),
            operation=operation.of(i),
            inputs=machine.inputs,
            target=target_of(hopper, duty.resin),
            timed_at=None if machine.timed_at is None else float(np.max(machine.timed_at)),
            hopper_volume=machine.hopper_volume,
        )
        for i, (hopper, duty, load_) in enumerate(zip(machine.hoppers, machine.duties, loads, strict=True))
    ]


def run_options(
    case: Case, options: Sequence[Option], duties: tuple[Duty, ...], around: Hashed
) -> list[Run | MachineError]:
    """The machines of each option through the year; kept, so that changed money asks for no new ones.

    Parameters
    ----------
    case : Case
    options : sequence of Option
    duties : tuple of Duty
        Of each hopper of the case.
    around : Hashed
        `circumstances` of the same case and duties.

    Returns
    -------
    list of Run or MachineError
        The error of an option with a machine that the model has no physical answer for.
    """
    keys = [key_of(case, option, around) for option in options]
    return _RUNS.take_all(keys, lambda new: _runs(case, [options[i] for i in new], duties))


def key_of(case: Case, option: Option, around: Hashed) -> Hashable:
    """All that how an option runs depends on: of a retrofit the present dryers too, whose air and beds it keeps."""
    kept = [one for one in case.model.options if one.baseline] if option.retrofit else []
    stands = case.stands.items() if option.baseline or option.retrofit else ()
    sizes = tuple((name, of.built_for, None if of.bed_mass is None else of.bed_mass.tobytes()) for name, of in stands)
    how = (tuple(value for name, value in one if name not in MONEY) for one in (option, *kept))
    return (*how, sizes, around)


def _runs(case: Case, options: Sequence[Option], duties: tuple[Duty, ...]) -> list[Run | MachineError]:
    of_options = [machines_of(case, option, duties) for option in options]
    every = [machine for machines in of_options for machine in machines]
    judged = iter(_judged_years(every, case.calendar, case.model.case.units))
    return [
        _run(case, option, machines, list(islice(judged, len(machines))))
        for option, machines in zip(options, of_options, strict=True)
    ]


def run_at_price(case: Case, option: Option, duties: tuple[Duty, ...], around: Hashed, before: Run) -> Run:
    """As `run_options` of one option that ran `before` with compressed air at another price: it dries as it did."""
    made = _RUNS.take(key_of(case, option, around), lambda: _priced_again(case, option, duties, before))
    assert isinstance(made, Run)  # a price leaves no machine without an answer
    return made


def _priced_again(case: Case, option: Option, duties: tuple[Duty, ...], before: Run) -> Run | MachineError:
    machines = machines_of(case, option, duties)
    judged = [
        (*year, tuple(before.served[place].verdict for place in machine.places))
        for machine, year in zip(machines, run_years(machines, case.calendar), strict=True)
    ]
    return _run(case, option, machines, judged)


def circumstances(case: Case, duties: tuple[Duty, ...]) -> Hashed:
    """All that how an option runs depends on besides the option: equal for equal cases."""
    cooling = case.model.cooling
    return Hashed(
        (
            *(hopper.model_dump_json() for hopper in case.model.hoppers),
            *(duty.fingerprint() for duty in duties),
            *_times(case.calendar),
            case.model.case.units,
            None if cooling is None else cooling.model_dump_json(),
            *(air.tobytes() for air in outdoor_air(case)),
        )
    )


def _times(calendar: OperatingYear) -> list[bytes]:
    return [
        a.tobytes()
        for a in (calendar.production, calendar.standby, calendar.starts, calendar.mean_stop, calendar.pauses)
    ]


def _run(
    case: Case, option: Option, machines: tuple[Machine, ...], judged: Sequence[_Judged | _NoAnswer]
) -> Run | MachineError:
    years, served, sizes, air = [], {}, [], []
    for machine, answer in zip(machines, judged, strict=True):
        if isinstance(answer, EnergyError):
            return MachineError(_key_of(option, machine, answer), _told(case, option, machine, answer))
        year, operation, verdicts = answer
        for i, place in enumerate(machine.places):
            served[place] = Served(
                hopper=machine.hoppers[i],
                machine=machine,
                duty=machine.duties[i],
                operation=operation.of(i),
                verdict=verdicts[i],
            )
        years.append(year)
        sizes.append({key: highest(size) for key, size in operation.sizing.items()})
        air.append(highest(air_sent(operation)))
    moved = [size for machine, size in zip(machines, sizes, strict=True) if machine.moved]
    others = [size for machine, size in zip(machines, sizes, strict=True) if not machine.moved]
    sizing = sizes[0]
    if moved or len(sizes) > 1:
        sizing = {  # of portable dryers so many of the largest
            key: sum(size[key] for size in others)
            + float(option.units or 1) * max((size[key] for size in moved), default=0.0)
            for key in sizes[0]
        }
    year = surroundings.with_cooling_plant(case, of_option(machines, years, option.units))
    energy, heat_in, heat_out = _of_year(year.energy, year.heat_in, year.heat_out)
    in_order = tuple(served[place] for place in sorted(served))
    return Run(
        machines=machines,
        served=in_order,
        verdict=verdict.joined({one.hopper.name: one.verdict for one in in_order}),
        year=year,
        energy=energy,
        heat_in=heat_in,
        heat_out=heat_out,
        peak=highest(year.most(("electricity", "compressed air"))),
        sizing=sizing,
        most_air=float(at_once(machines, air, option.units)) if moved else sum(air),
    )


def _of_year(*tables: Mapping[Any, Array]) -> list[dict[Any, float]]:
    """Tables by month added up over the year."""
    sums = iter(np.array([months for table in tables for months in table.values()]).sum(axis=-1).tolist())
    return [{key: next(sums) for key in table} for table in tables]


def _key_of(option: Option, machine: Machine, error: EnergyError) -> str:
    """Where the inputs of a machine stand in its option."""
    dryer, place = _dryer_of(option, machine)
    if _of_air(error):
        if dryer.airflow is not None:
            return f"{place}airflow"
        if dryer.inputs.air_resin_ratio is not None:
            return f"{place}inputs.air_resin_ratio"
    return f"{place}inputs"


def _dryer_of(option: Option, machine: Machine) -> tuple[Option | OwnMachine, str]:
    """The dryer of an option that a machine is of, and the path to its keys."""
    own = next((i for i, m in enumerate(option.machines) if m.hopper == machine.hoppers[0].name), None)
    return (option, "") if own is None else (option.machines[own], f"machines[{own + 1}].")


def _of_air(error: EnergyError) -> bool:
    """Is it refused for air that cannot heat the resin?"""
    return "air flow" in str(error) or "than the air of" in str(error)


def _told(case: Case, option: Option, machine: Machine, error: EnergyError) -> str:
    """The message, with the hopper where there are several."""
    named = len(case.model.hoppers) > 1 and len(machine.hoppers) == 1
    slip = ""
    dryer, place = _dryer_of(option, machine)
    path = f"options['{option.name}'].{place}".rstrip(".")
    if big := too_big.told(machine, dryer, path, error, case.calendar, case.model.case.units):
        return f"at {machine.hoppers[0].name}: {big}" if named else big
    if _of_air(error):
        slips = (slip_of_ten(over_usual(duty, machine.inputs)[1]) for duty in machine.duties)
        slip = next((f".{words}" for words in slips if words), "")
    return f"at {machine.hoppers[0].name}: {error}{slip}" if named else f"{error}{slip}"
