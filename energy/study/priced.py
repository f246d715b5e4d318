"""What an option's year costs, what of it is saved and what is to be said of it: kept, so that another capital or finance asks
for no bill anew."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from itertools import chain

import numpy as np

from energy.errors import CaseError, Problem
from energy.remembered import Hashed, Latest
from energy.study import meter, plant_readings, surroundings, years_beside
from energy.study.bills import Bills, bill_notes, rows_by_load, savings
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
    hall: Mapping[str, float]
    """By carrier, what the hall takes more through the dryers, below 0 less; empty where it is not counted. [J]"""


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


def priced(options: Sequence[tuple[Option, Year]], bills: Bills, kept: Kept) -> list[Priced]:
    """What a year of each option costs and saves; `kept` is that of the case of the bills."""
    # The years themselves are kept beside, so that no other takes their place.
    keys = [(id(year), id(bills.present), option.baseline, float(option.maintenance)) for option, year in options]
    made = kept.take_all(keys, lambda new: _priced([options[i] for i in new], bills))
    return [money for _, _, money in made]


def _priced(options: Sequence[tuple[Option, Year]], bills: Bills) -> list[tuple[Year, Year, Priced]]:
    case, years = bills.case, [year for _, year in options]
    by_clock = case.readings is not None or any(meter.needs_clock(tariff) for tariff in case.tariffs.values())
    beside = years_beside.beside(years, by_clock)
    if len(options) > 1 and not any(rows_by_load(tariff) for tariff in case.tariffs.values()):
        money = _beside(options, beside, bills)
    else:
        money = [
            (priced_year(case, option, year, bills.present, bills), {} if option.baseline else savings(bills, year))
            for option, year in options
        ]
    of_bill = bill_notes(case, [saved for _, saved in money])
    electricity = case.tariffs.get("electricity")
    with _told(case):
        around = None if electricity is None else bills.plant(electricity)
        of_readings = plant_readings.notes(case, bills.present, around)
    effect = bills.hall_effect(beside)
    halls = [{}] * len(years) if effect is None else surroundings.taken_by_each(effect, len(years))
    of_hall = surroundings.notes(case, beside, effect)
    return [
        (
            year,
            bills.present,
            Priced(cost=cost, saved=saved, notes=(*of_bill[i], *of_readings, of_hall[i]), hall=halls[i]),
        )
        for i, (year, (cost, saved)) in enumerate(zip(years, money, strict=True))
    ]


def _beside(
    options: Sequence[tuple[Option, Year]], beside: Year, bills: Bills
) -> list[tuple[RunningCost, Mapping[str, Saving]]]:
    """What each option costs and saves, by one bill of each meter for all of them."""
    case = bills.case
    maintenance = np.array([float(option.maintenance) for option, _ in options])
    with _told(case):
        bills.of_present()
        cost = running_cost(case, maintenance, beside, bills.present, bills)
    meters = [(name, carriers) for name, tariff, carriers in meter.meters(case) if tariff is not None]
    uses = [
        {name: [use for use, carrier in year.energy if carrier in carriers] for name, carriers in meters}
        for _, year in options
    ]
    costs = years_beside.costs_of(cost, [list(chain(*own.values())) for own in uses])
    savings_by = {name: years_beside.savings_of(both, len(options)) for name, both in savings(bills, beside).items()}
    through_present = {carrier for _, carrier in bills.present.energy}
    found: list[tuple[RunningCost, Mapping[str, Saving]]] = []
    for place, (option, _) in enumerate(options):
        seen = [name for name, carriers in meters if uses[place][name] or through_present.intersection(carriers)]
        found.append((costs[place], {} if option.baseline else {name: savings_by[name][place] for name in seen}))
    return found


def priced_year(case: Case, option: Option, year: Year, present: Year, bills: Bills | None = None) -> RunningCost:
    """What a year costs; a tariff that cannot bill it is told by its place in the case."""
    with _told(case):
        return running_cost(case, option.maintenance, year, present, bills)


@contextmanager
def _told(case: Case) -> Iterator[None]:
    """A tariff that cannot bill is told by its place in the case."""
    try:
        yield
    except meter.BillError as error:
        raise CaseError([Problem(error.place, str(error))], file=case.file) from error
