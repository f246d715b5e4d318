"""What an option's year costs, what of it is saved and what is to be said of it: kept, so that another capital or finance asks
for no bill anew."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from energy.errors import CaseError, Problem
from energy.remembered import Hashed, Latest
from energy.study import meter, surroundings
from energy.study.bills import Bills, bill_notes, savings
from energy.study.case import Case
from energy.study.cost import RunningCost, running_cost
from energy.study.finding import Finding
from energy.study.option_sections import Option
from energy.study.year import Year
from energy.tariffs import Saving


@dataclass(frozen=True, slots=True, kw_only=True)
class Priced:
    """The money of an option's year."""

    cost: RunningCost
    saved: Mapping[str, Saving]
    """By commodity, against the baseline."""
    notes: tuple[Finding, ...]
    """Of the bill and of the heat in the hall."""


Kept = Latest[tuple[Year, Year, Priced]]
_KEPT: Latest[Kept] = Latest(4)


def kept_of(case: Case, around: Hashed) -> Kept:
    """What is kept of all cases in which the money of a year depends on the same.

    Parameters
    ----------
    case : Case
    around : Hashed
        `run.circumstances` of the same case.
    """
    readings = case.readings
    depends_on: tuple[object, ...] = (
        case.model.model_dump_json(exclude={"options", "finance"}),
        repr(case.document.get("tariffs")),  # a price is billed in the unit that it is written in
        *(tariff.model_dump_json() for tariff in case.tariffs.values()),
        *(months.tobytes() for months in case.plant_months or ()),
        around,
    )
    if readings is not None:
        arrays = readings.start, np.asarray(readings.step), readings.amount
        depends_on += (*(a.tobytes() for a in arrays), readings.zone, readings.source, readings.notes)
    return _KEPT.take(depends_on, lambda: Latest(48))


def priced(option: Option, year: Year, bills: Bills, kept: Kept) -> Priced:
    """What a year of an option costs and saves; `kept` is that of the case of the bills."""
    # The years themselves are kept beside, so that no other takes their place.
    key = id(year), id(bills.present), option.baseline, float(option.maintenance)
    return kept.take(key, lambda: (year, bills.present, _priced(option, year, bills)))[-1]


def _priced(option: Option, year: Year, bills: Bills) -> Priced:
    case = bills.case
    cost = priced_year(case, option, year, bills.present, bills)
    saved = {} if option.baseline else savings(bills, year)
    return Priced(cost=cost, saved=saved, notes=(*bill_notes(case, saved), *surroundings.notes(case, year)))


def priced_year(case: Case, option: Option, year: Year, present: Year, bills: Bills | None = None) -> RunningCost:
    """What a year costs; a tariff that cannot bill it is told by its place in the case."""
    try:
        return running_cost(case, option, year, present, bills)
    except meter.BillError as error:
        raise CaseError([Problem(error.place, str(error))], file=case.file) from error
