"""A walkthrough of one dryer: its balance, what a year of it costs, what is wrong with it, and what to read next."""

from __future__ import annotations

from dataclasses import dataclass

from energy.study.case import Case
from energy.study.readings import Readings
from energy.units import SI, show
from energy.walkthrough.balance import Balance, balance
from energy.walkthrough.causes import Cause, causes
from energy.walkthrough.doubt import Doubt
from energy.walkthrough.gaps import Gap, compared
from energy.walkthrough.moisture_read import Pellets, pellets_read
from energy.walkthrough.money import YearOfDryer, year_of
from energy.walkthrough.next_readings import Check, NextReading, checks, locating, worth_taking
from energy.walkthrough.slips import doubts


@dataclass(frozen=True, slots=True, kw_only=True)
class Walkthrough:
    """The answer at one dryer."""

    balance: Balance
    year: YearOfDryer
    gaps: tuple[Gap, ...]
    """What was read beside what the model expected."""
    causes: tuple[Cause, ...]
    """By money a year; those that cost dryness and not energy last."""
    next_readings: tuple[NextReading, ...]
    """Two that would narrow the answer most."""
    checks: tuple[Check, ...]
    """Where readings contradict each other: what would settle it."""
    locating: tuple[Check, ...]
    """Where the meter is far over the model: what would tell which part takes it."""
    model_uncertainty: float
    """Standard uncertainty of the specific energy that the model expects at the throughput found. [J/kg]"""
    doubts: tuple[Doubt, ...]
    """Readings that are to be checked before any of this is used."""
    least: float
    """Heat that the resin and its water take, whatever dries them. [J/kg]"""
    pellets: Pellets | None
    """Moisture read of the pellets leaving; None where none counts."""

    @property
    def impossible(self) -> bool:
        """Is the specific energy less than what warming and drying the resin takes?"""
        return bool(self.balance.specific_energy < self.least)

    @property
    def cost_range(self) -> tuple[float, float]:
        """Cost a year at the ends of the interval of the specific energy; none below nothing, which is what no energy costs. [money]"""
        per_energy = self.year.price * self.year.energy / self.balance.specific_energy
        ends = [float(self.year.cost + per_energy * (end - self.balance.specific_energy)) for end in self.balance.range]
        return max(ends[0], 0.0) if self.balance.range[0] > 0.0 else 0.0, ends[1]

    @property
    def case(self) -> Case:
        return self.balance.found.case


def walk(case: Case, readings: Readings) -> Walkthrough:
    """The walkthrough of the baseline's dryer at one hopper.

    Parameters
    ----------
    case : Case
        With tariffs, calendar and the machine that stands there.
    readings : Readings
        The fewer, the wider the answer.

    Raises
    ------
    EnergyError
        No such hopper, a central system, or a duty that the model has no answer for.
    """
    told = balance(case, readings)
    found, given = told.found, told.quantities
    year = year_of(found, told.power.value)
    off = model_uncertainty(told)
    doubted = doubts(found, given, unbilled=year.unbilled)
    gaps = compared(found, given, off / told.expected, {doubt.name: doubt.brief for doubt in doubted})
    return Walkthrough(
        balance=told,
        year=year,
        gaps=tuple(gaps.values()),
        causes=causes(told, gaps, year, [doubt.name for doubt in doubted]),
        next_readings=worth_taking(told),
        checks=checks(told, [doubt.name for doubt in doubted]),
        locating=locating(told, told.power.value - year.as_read, [doubt.name for doubt in doubted]),
        model_uncertainty=off,
        doubts=doubted,
        least=told.least,
        pellets=pellets_read(found, [doubt.name for doubt in doubted]),
    )


def model_uncertainty(told: Balance) -> float:
    """What the model is sure of before anything of the dryer is read but throughput and hall: one standard uncertainty. [J/kg]"""
    found, read = told.found, told.found.readings
    flow = show(told.quantities["throughput"].value, "mass flow", "kg/h", digits=12)
    of_the_day = {
        name: value for name in ("hall_temperature", "hall_dew_point") if (value := getattr(read, name)) is not None
    }
    day = Readings(
        hopper=read.hopper,
        date=read.date,
        throughput={"value": flow, "accuracy": "0.1 %"},
        **{name: SI(value) for name, value in of_the_day.items()},
    )
    return balance(found.case, day).uncertainty
