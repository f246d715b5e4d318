"""What a year costs on the case's tariffs."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass

import numpy as np

from energy import tariffs
from energy.dryers.base import Array
from energy.study import air_price, hall_price, meter
from energy.study.bills import Bills
from energy.study.case import Case
from energy.study.year import Year

NOTHING = 0.005
"""Amount that no bill shows. [money]"""


@dataclass(frozen=True, slots=True, kw_only=True)
class BillLine:
    """One line of the year's bill, the months added up."""

    line: str
    clause: str
    amount: float


@dataclass(frozen=True, slots=True, kw_only=True)
class RunningCost:
    """What an option costs to run for a year; arrays have the leading axes of the operation."""

    annual: Mapping[str, Array]
    by_end_use: Mapping[str, Array]
    lines: tuple[tuple[str, str, Array], ...]

    @property
    def total(self) -> Array:
        return np.asarray(sum(self.annual.values()))


def running_cost(
    case: Case, maintenance: Array | float, year: Year, present: Year, bills: Bills | None = None
) -> RunningCost:
    """Price a year on the case's tariffs.

    What counts is by how much the bill is higher than without the dryers: fixed charges, which are paid either way, are
    in no option's cost. Ratchets are taken as settled: the year repeats itself.

    Parameters
    ----------
    case : Case
    maintenance : array_like
        Of the option. [money/year]
    year : Year
    present : Year
        Of the baseline, which the plant's own readings hold.
    bills : Bills, optional
        Of the same case and baseline, where other options are billed beside it.
    """
    bills = bills or Bills(case=case, present=present)
    annual: dict[str, Array] = {}
    by_use: dict[str, Array] = {}
    lines: list[tuple[str, str, Array]] = []
    air = case.model.compressed_air
    known = air_price.known_cost(air, year.free_air)
    for name, tariff, members in meter.meters(case):
        parts = {k: v for k, v in year.energy.items() if k[1] in members}
        annual[name] = np.zeros(np.shape(year.resin)[:-1])
        if tariff is None or not parts:
            continue
        _, bill = bills.of(name, tariff, members, year)
        nothing = bills.without(name, tariff, members, year)
        without, factor = nothing.by_line(), meter.price_factor(case, name)
        of_group: dict[str, Array] = {}
        groups = {charge.id: charge.GROUP for charge in tariff.charges}
        for key, amount in bill.by_line().items():
            extra = (amount - without.get(key, 0.0)) * factor
            if np.count_nonzero(extra):
                lines.append((key[0], key[1], np.asarray(extra)))
                of_group[groups[key[2]]] = of_group.get(groups[key[2]], 0.0) + extra
        total = np.asarray((bill.total - nothing.total) * factor)
        annual[name] = annual[name] + total
        # Demand charges go by the end uses' peaks, all else by their energy; taxes and riders by what they stand on.
        spent = [total * share for share in _shares(parts.values())]
        if "demand" in of_group:
            demand = of_group["demand"]
            bare = np.asarray(demand + of_group.get("energy", 0.0) + of_group.get("volume", 0.0))
            for_demand = np.divide(demand, bare, out=np.zeros(bare.shape), where=bare != 0.0)
            by_peak = _shares([year.peak[k] for k in parts])
            spent = [
                by_energy * (1.0 - for_demand) + total * for_demand * peak
                for by_energy, peak in zip(spent, by_peak, strict=True)
            ]
        for (use, _), amount in zip(parts, spent, strict=True):
            by_use[use] = by_use.get(use, 0.0) + amount
    if known is not None and np.any(year.free_air > 0):
        annual["electricity"] = annual["electricity"] + known
        by_use["compressed air"] = known
        lines.append(("Compressed air at its known cost", "compressed_air.cost", known))
    water = case.tariffs.get("water")
    if water is not None and np.any(year.water > 0):
        drawn = _extra(water, tariffs.Load(volume=year.water)) * meter.price_factor(case, "water")
        annual["water"] = annual["water"] + drawn
        by_use["cooling"] = by_use.get("cooling", 0.0) + drawn
        lines.append(("Water for the cooling tower", water.name, drawn))
    for name, line, worth in hall_price.of_hall(bills, year):
        annual[name] = annual[name] + worth
        by_use["hall"] = by_use.get("hall", 0.0) + worth
        lines.append((line, "building", worth))
    kept_up = np.asarray(maintenance + 0.0 * annual["electricity"])
    by_use["maintenance"] = kept_up
    if air is not None and np.any(np.asarray(air.maintenance) > 0) and np.any(year.free_air > 0):
        cost = year.free_air.sum(-1) * np.squeeze(air.maintenance)
        by_use["compressed air"] = by_use.get("compressed air", 0.0) + cost
        kept_up = kept_up + cost
    annual["maintenance"] = kept_up
    return RunningCost(annual=annual, by_end_use=by_use, lines=tuple(lines))


def _extra(tariff: tariffs.Tariff, load: tariffs.Load) -> Array:
    """What a load adds to a bill that has none of it. [money]"""
    quantities = ("energy", "peak", "volume")
    nothing = tariffs.Load(**{k: 0.0 * getattr(load, k) for k in quantities if getattr(load, k) is not None})
    return np.asarray(tariffs.bill(tariff, load).total - tariffs.bill(tariff, nothing).total)


def _shares(parts: Iterable[Array]) -> list[Array]:
    """Share of each part in their sum over the year, shape (...); 0 where that is nothing."""
    of_year = [part.sum(-1) for part in parts]
    whole = np.asarray(sum(of_year))
    whole = np.where(whole > 0.0, whole, np.inf)
    return [part / whole for part in of_year]
