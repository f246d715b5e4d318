"""A walkthrough of one dryer: its balance, what a year of it costs, what is wrong with it, and what to read next."""

from __future__ import annotations

from dataclasses import dataclass

from energy.study.case import Case
from energy.study.readings import Readings
from energy.walkthrough.balance import Balance, balance
from energy.walkthrough.causes import Cause, causes
from energy.walkthrough.gaps import Gap, compared
from energy.walkthrough.money import YearOfDryer, year_of
from energy.walkthrough.next_readings import NextReading, worth_taking


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
    gaps = compared(found, given)
    return Walkthrough(
        balance=told,
        year=year,
        gaps=tuple(gaps.values()),
        causes=causes(found, given, gaps, year),
        next_readings=worth_taking(told),
    )
