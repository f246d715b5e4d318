"""Periods of little work, such as a week with holidays: little resin with energy to match, which is no slip."""

from __future__ import annotations

import statistics
from collections.abc import Collection, Mapping
from dataclasses import replace

from energy.reports.weeks_in_doubt import FAR, TWICE, Off, likely_slips
from energy.study.afterwards import DAY, Adjusted
from energy.study.request_section import Metered
from energy.units import show


def quiet(saved: Mapping[str, Adjusted], rows: tuple[Metered, ...], when: str) -> frozenset[int]:
    """Periods before or after, from 1, of less than half the resin a day of the others, with energy to match and days that are no slip.

    Energy matches where a kilogram takes about what it takes in the others, or where a kilogram takes more and the whole period half
    of the others or less, as dryers do that stand by: a slip in resin alone leaves the energy as it is, one in energy the resin.
    """
    alike = [row for row in rows if row.when == when]
    flows = [float(row.resin) / row.days for row in alike]
    powers = [sum(float(getattr(row, name)) for name in saved) / row.days for row in alike]
    taken = {name: [float(getattr(row, name)) / float(row.resin) for row in alike] for name in saved}
    flow, power, days = (statistics.median(of) for of in (flows, powers, [row.days for row in rows]))
    usual = {name: statistics.median(of) for name, of in taken.items()}
    found = set()
    for i, row in enumerate(alike):
        if flows[i] >= flow / TWICE or row.days > TWICE * days or likely_slips(rows, when, [i + 1]):
            continue
        fits = all(usual[name] / FAR <= taken[name][i] <= FAR * usual[name] for name in saved)
        stood_by = powers[i] <= power / TWICE and powers[i] / flows[i] >= power / flow
        if fits or stood_by:
            found.add(i + 1)
    return frozenset(found)


def without(off: Collection[Off], places: Collection[int]) -> list[Off]:
    """Periods that are far from the request, but for the resin of those of little work, and for energy of a kilogram above the forecast there."""
    kept = []
    for one in off:
        pairs = [
            (place, value)
            for place, value in zip(one.places, one.values, strict=True)
            if place not in places or (value < one.counted) != (one.name == "resin")
        ]
        if pairs:
            kept.append(replace(one, places=tuple(p for p, _ in pairs), values=tuple(v for _, v in pairs)))
    return kept


def noted(
    saved: Mapping[str, Adjusted], rows: tuple[Metered, ...], when: str, places: Collection[int], system: str
) -> list[str]:
    """What is said of periods of little work, one sentence or two each."""
    alike = [row for row in rows if row.when == when]
    flows = [float(row.resin) / (DAY * row.days) for row in alike]
    middle, told = show(statistics.median(flows), "mass flow", system), []
    for place in sorted(places):
        said = (
            f"Period {place} of those {when}: {show(flows[place - 1], 'mass flow', system)} dried on the mean of all hours, in others {middle}, with "
            "energy to match. It counts as one of little work, such as a week with holidays."
        )
        if when == "after" and any(one.base > 0.0 for one in saved.values()):
            said += (
                " Where its dryers were off for some of it, give it only the days in which they ran: the base load of before is counted for all "
                "its days, and makes the saving look greater."
            )
        told.append(said)
    return told


def to_be_noted(rows: tuple[Metered, ...], when: str, places: Collection[int], off: Collection[Off]) -> list[int]:
    """Those of little work that would look like a slip: far from the request, or from the others."""
    alike = [row for row in rows if row.when == when]
    flows = [float(row.resin) / row.days for row in alike]
    far = {place for one in off for place in one.places} if when == "after" else set[int]()
    return [place for place in places if place in far or flows[place - 1] < statistics.median(flows) / FAR]
