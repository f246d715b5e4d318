"""Periods metered that cannot be those of the request, and odd ones: what is said of each."""

from __future__ import annotations

import math
import statistics
from collections.abc import Collection, Mapping
from dataclasses import dataclass

import numpy as np

from energy.reports.rows import joined
from energy.study.afterwards import CARRIERS, DAY, METER, Adjusted, below
from energy.study.compare import KWH, OptionResult
from energy.study.life_cycle import YEAR
from energy.study.request_section import Metered
from energy.units import show

_WEEK = 7.0
"""Days that a period mostly has."""
CALLED = {"electricity": "electricity", "compressed_air": "compressed air", "gas": "gas"}
"""Carriers that are metered, by key, in words."""
FAR = 3.0
"""Times the median from which a period is odd, and times the request from which nothing is decided; by judgement. [-]"""
TWICE = 2.0
"""Times the energy forecast within which carriers together are those of a dryer and no slip; and times what all dryers are built for
above which no line was fed: plants run a tenth or a fifth above what is stated, and no slip of ten in weeks that run more than a fifth
of their hours stays below it. By judgement. [-]"""
NEAR = 0.25
"""Share of the saving of energy forecast within which periods are as the request counts the other dryers, by judgement. [-]"""
FALLS = 0.1
"""Share of the energy before that the request saves below which before and after are too alike to be told apart, by judgement. [-]"""
HALF_MORE = 1.5
"""Times its forecast above which a carrier stands in for one that reads nothing at all, which is no slip of ten; by judgement. [-]"""


def far_from_the_request(
    saved: Mapping[str, Adjusted], rows: tuple[Metered, ...], base: OptionResult, system: str
) -> list[str]:
    """Energy of a kilogram before that is far from what the request counts of the present dryers."""
    before, found = [row for row in rows if row.when == "before"], []
    for name in saved:
        read = sum(float(getattr(row, name)) for row in before) / sum(float(row.resin) for row in before)
        counted = base.carrier(CALLED[name]) / float(base.year.resin.sum())
        if counted > 0.0 and not counted / FAR <= read <= FAR * counted:
            found.append(
                f"Check the periods before: they take {show(read, 'specific energy', system)} of {CALLED[name]}, the present dryers of the request "
                f"{show(counted, 'specific energy', system)}. {_what_it_may_be(name)}"
            )
    return found


def without_price(
    saved: Mapping[str, Adjusted], rows: tuple[Metered, ...], dryers: tuple[OptionResult, ...]
) -> list[str]:
    """Gas that is metered where no dryer of the request takes any, so that its bill is not known; below the error of a meter it is none."""
    if "gas" not in saved or any(one.carrier("gas") > 0.0 for one in dryers):
        return []
    found = []
    for when in ("before", "after"):
        alike = [row for row in rows if row.when == when]
        whole = sum(float(getattr(row, name)) for row in alike for name in saved)
        gas = sum(float(row.gas or 0.0) for row in alike)
        if gas > METER * whole:
            found.append(
                f"Check the gas {when}: {gas / KWH:,.0f} kWh were metered, and the request counts none, before or after. It has no price in these figures."
            )
    return found


def changed_about(
    saved: Mapping[str, Adjusted],
    rows: tuple[Metered, ...],
    base: OptionResult,
    option: OptionResult,
    system: str,
    *,
    surely: bool = True,
) -> list[str]:
    """Are periods before about what the request forecasts after, and those after what it counts before?

    If not surely, those that are nearer to what it counts of the other than to their own, and not about it.
    """
    resin = float(option.year.resin.sum())
    counted = {
        when: sum(one.carrier(CALLED[name]) for name in saved) / resin
        for when, one in (("before", base), ("after", option))
    }
    read = {}
    for when in counted:
        alike = [row for row in rows if row.when == when]
        energy = sum(float(getattr(row, name)) for row in alike for name in saved)
        read[when] = energy / sum(float(row.resin) for row in alike)
    fall = counted["before"] - counted["after"]
    near = fall * NEAR
    if fall < FALLS * counted["before"]:
        return []
    middle = 0.5 * (counted["before"] + counted["after"])
    about = abs(read["before"] - counted["after"]) <= near and abs(read["after"] - counted["before"]) <= near
    nearer = read["before"] < middle < read["after"]
    if about != surely or not nearer:
        return []
    before, after = (show(read[when], "specific energy", system) for when in ("before", "after"))
    if not surely:
        old, new = (show(counted[when], "specific energy", system) for when in ("before", "after"))
        return [
            f"Check the column when: the periods before take {before} in all and those after {after}, where the request counts {old} before and "
            f"{new} after. Are before and after changed about? If so, change them back and check again."
        ]
    return [
        f"Check the column when: the periods before take {before} in all and those after {after}, each about what the request counts for the other. "
        "Are before and after changed about?"
    ]


def twice(rows: tuple[Metered, ...]) -> list[str]:
    """Periods with the very figures of one above them: each makes the error look smaller."""
    found = []
    for when in ("before", "after"):
        alike = [row for row in rows if row.when == when]
        again = [str(place) for place, row in enumerate(alike, start=1) if row in alike[: place - 1]]
        if again:
            found.append(
                f"Check period {', '.join(again)} of those {when}: all figures are those of another. Pasted twice?"
            )
    return found


@dataclass(frozen=True, slots=True, kw_only=True)
class Off:
    """Periods that are far from what the request forecasts, or below what resin takes up."""

    name: str
    """A carrier, or resin; before or after where all that was metered is meant."""
    places: tuple[int, ...]
    """From 1, among those before or after."""
    values: tuple[float, ...]
    """Energy taken of a kilogram, or resin dried on the mean of all hours. [J/kg] or [kg/s]"""
    counted: float
    """The same by the request, or the least that can be."""


def off_after(
    saved: Mapping[str, Adjusted], rows: tuple[Metered, ...], option: OptionResult, other: Collection[int] = ()
) -> list[Off]:
    """Periods after whose throughput or energy of a kilogram is far from what the request forecasts, a kind at a time.

    The carriers of periods in which one took the place of another, from 1, are left out.
    """
    after, resin = [row for row in rows if row.when == "after"], float(option.year.resin.sum())
    kinds = {"resin": ([float(r.resin) / (DAY * r.days) for r in after], resin / YEAR)} | {
        name: ([float(getattr(r, name)) / float(r.resin) for r in after], option.carrier(CALLED[name]) / resin)
        for name in saved
    }
    found = []
    for name, (values, counted) in kinds.items():
        off = [i for i, value in enumerate(values) if not counted / FAR <= value <= FAR * counted]
        off = [i for i in off if name == "resin" or i + 1 not in other]
        if counted > 0.0 and off:
            places = tuple(i + 1 for i in off)
            found.append(Off(name=name, places=places, values=tuple(values[i] for i in off), counted=counted))
    return found


@dataclass(frozen=True, slots=True, kw_only=True)
class Instead:
    """Carriers that took the place of others in periods after."""

    more: tuple[str, ...]
    less: tuple[str, ...]
    places: tuple[int, ...]
    """From 1."""
    taken: tuple[Mapping[str, float], ...]
    """Of each of these periods, by carrier. [J/kg]"""
    counted: Mapping[str, float]
    """By carrier, as the request forecasts. [J/kg]"""


def instead_of(saved: Mapping[str, Adjusted], rows: tuple[Metered, ...], option: OptionResult) -> list[Instead]:
    """Periods after in which one carrier is far too low and another too high, and all together about as forecast.

    A slip is in one reading; two that make up for each other are a dryer that takes its heat elsewhere. What is taken more must be a
    third to three times of what is taken less, and the sum half to twice of the forecast.
    """
    resin = float(option.year.resin.sum())
    counted = {name: option.carrier(CALLED[name]) / resin for name in saved}
    after = [row for row in rows if row.when == "after"]
    found: dict[tuple[tuple[str, ...], tuple[str, ...]], dict[int, Mapping[str, float]]] = {}
    for place, row in enumerate(after, start=1):
        taken = {name: float(getattr(row, name)) / float(row.resin) for name in saved}
        less = tuple(name for name in saved if taken[name] < counted[name] / FAR)
        from_here = HALF_MORE if any(taken[name] == 0.0 for name in less) else FAR
        more = tuple(name for name in saved if taken[name] > from_here * counted[name])
        missing = sum(counted[name] - taken[name] for name in less)
        added = sum(taken[name] - counted[name] for name in more)
        ratio = sum(taken.values()) / sum(counted.values()) if any(counted.values()) else 0.0
        if less and more and missing / FAR <= added <= FAR * missing and 1.0 / TWICE <= ratio <= TWICE:
            found.setdefault((more, less), {})[place] = taken
    return [
        Instead(more=more, less=less, places=tuple(of), taken=tuple(of.values()), counted=counted)
        for (more, less), of in found.items()
    ]


def said_of_instead(one: Instead, system: str) -> str:
    def named(carriers: Collection[str]) -> str:
        return joined([CALLED[name] for name in carriers])

    def of(name: str) -> str:
        forecast = show(one.counted[name], "specific energy", system) if one.counted[name] > 0.0 else "none"
        return f"{_span([t[name] for t in one.taken], 'specific energy', system)} of {CALLED[name]} for {forecast} forecast"

    whole = _span([sum(t.values()) for t in one.taken], "specific energy", system)
    forecast = show(sum(one.counted.values()), "specific energy", system)
    first = named(one.more)
    return (
        f"{first[0].upper()}{first[1:]} took the place of {named(one.less)} in period {', '.join(map(str, one.places))} of those after: "
        f"{joined([of(name) for name in (*one.more, *one.less)])}. In all {whole} for {forecast}: no slip of a reading, so it counts as metered."
    )


def _what_it_may_be(carrier: str) -> str:
    """Cubic metres of gas are about ten kWh each."""
    return f"A slip of ten, {'m3 for kWh, ' if carrier == 'gas' else ''}or a meter of something else?"


def _span(values: Collection[float], kind: str, system: str) -> str:
    low, high = show(min(values), kind, system), show(max(values), kind, system)
    return high if low == high else f"{low} to {high}"


def built_for(option: OptionResult) -> float:
    """Throughput that all dryers of an option together are built for, or their hoppers run at where that is more. [kg/s]"""
    return sum(
        max(float(np.max(one.duty.built_for.design_throughput)), float(np.max(one.hopper.throughput)))
        for one in option.served
    )


def above_all_dryers(
    rows: tuple[Metered, ...], when: str, option: OptionResult, told: Collection[tuple[str, str, int]] = ()
) -> list[Off]:
    """Periods with more resin in their hours than all dryers together can be fed; those told anyhow are left out."""
    most, alike = built_for(option), [row for row in rows if row.when == when]
    flows = {place: float(r.resin) / (DAY * r.days) for place, r in enumerate(alike, start=1)}
    off = {i: flow for i, flow in flows.items() if flow > TWICE * most and (when, "resin", i) not in told}
    return [Off(name=when, places=tuple(off), values=tuple(off.values()), counted=most)] if off else []


def said_of_all_dryers(off: Off, rows: tuple[Metered, ...], system: str) -> str:
    return (
        f"Check period {', '.join(map(str, off.places))} of those {off.name}: {_span(off.values, 'mass flow', system)} dried on the mean of all hours, "
        f"where all dryers of the request together are built for {show(off.counted, 'mass flow', system)}. A slip of ten in its resin or its days?"
        f"{likely_slips(rows, off.name, off.places)}"
    )


def of_ten_times_the_days(rows: tuple[Metered, ...], told: Collection[tuple[str, str, int]] = ()) -> list[Off]:
    """Periods of ten times the days of the others, or a tenth, and as much less or more resin in a day; those told anyhow are left out."""
    usual, found = statistics.median(row.days for row in rows), []
    for when in ("before", "after"):
        alike = [row for row in rows if row.when == when]
        flows = [float(row.resin) / (DAY * row.days) for row in alike]
        middle = statistics.median(flows)
        off = {
            place: flow
            for place, (row, flow) in enumerate(zip(alike, flows, strict=True), start=1)
            if any(math.isclose(row.days, factor * usual, rel_tol=0.01) for factor in (0.1, 10.0))
            and not middle / FAR <= flow <= FAR * middle
            and (when, "resin", place) not in told
        }
        if off:
            found.append(Off(name=when, places=tuple(off), values=tuple(off.values()), counted=middle))
    return found


def said_of_the_days(off: Off, rows: tuple[Metered, ...], system: str) -> str:
    return (
        f"Check period {', '.join(map(str, off.places))} of those {off.name}: {_span(off.values, 'mass flow', system)} dried on the mean of all hours, "
        f"in others {show(off.counted, 'mass flow', system)}. A slip of ten in its days?{likely_slips(rows, off.name, off.places)}"
    )


def likely_slips(rows: tuple[Metered, ...], when: str, places: Collection[int]) -> str:
    """What the days of some periods most likely are, where they are far from a week or from those of the others; else nothing."""
    alike = [row for row in rows if row.when == when]
    usual, found = statistics.median(row.days for row in rows), []
    for days in (alike[place - 1].days for place in places):
        if not usual / FAR <= days <= FAR * usual:
            found.append(f"{days:g} days for {usual:g}")
        elif any(math.isclose(days, factor * _WEEK) for factor in (0.1, 10.0)):
            found.append(f"{days:g} days for {_WEEK:g}")
        elif days == 1.0:
            found.append(f"1 day for {_WEEK:g}")
    return f" Perhaps {joined(list(dict.fromkeys(found)))}." if found else ""


def said_of(off: Off, rows: tuple[Metered, ...], system: str) -> str:
    kind = "mass flow" if off.name == "resin" else "specific energy"
    span, counted = _span(off.values, kind, system), show(off.counted, kind, system)
    first = f"Check period {', '.join(map(str, off.places))} of those after:"
    if off.name != "resin":
        return (
            f"{first} {span} of {CALLED[off.name]}, where the request forecasts {counted}. {_what_it_may_be(off.name)}"
        )
    little = " A week that stood still is put together with the one beside it." if min(off.values) < off.counted else ""
    slips = likely_slips(rows, "after", off.places)
    return f"{first} {span} dried on the mean of all hours, where the request counts {counted}. A slip of ten in its resin or its days?{slips}{little}"


def below_the_least(
    rows: tuple[Metered, ...], when: str, option: OptionResult, told: Collection[tuple[str, int]] = ()
) -> list[Off]:
    """Periods in which all energy metered is less than resin and water take up in the warmest month, whatever the dryer.

    Those told anyhow, by when and place, are left out; so are all where the request itself counts on less of these carriers.
    """
    dried = option.year.resin > 0.0
    least = float(np.min(option.year.least[dried] / option.year.resin[dried]))
    off = {place: value for place, value in below(rows, when, least).items() if (when, place) not in told}
    metered = sum(option.carrier(CALLED[name]) for name in CARRIERS if any(getattr(r, name) is not None for r in rows))
    if not off or metered < least * float(option.year.resin.sum()):
        return []
    return [Off(name=when, places=tuple(off), values=tuple(off.values()), counted=least)]


def said_of_the_least(off: Off, system: str) -> str:
    span, least = _span(off.values, "specific energy", system), show(off.counted, "specific energy", system)
    return (
        f"Check period {', '.join(map(str, off.places))} of those {off.name}: {span} were metered in all, less than the {least} that the resin "
        "itself takes up at the least. A slip, or a machine that is not on the meter?"
    )


def odd(rows: tuple[Metered, ...], told: Collection[tuple[str, str, int]] = ()) -> list[str]:
    """Periods of which a day's resin, or the energy of a kilogram, is far from that of the others alike: most often a slip.

    Those that are told anyhow, by when, name and place, are left out.
    """
    found = []
    for when in ("before", "after"):
        alike = [row for row in rows if row.when == when]
        ratios = {"resin": [float(r.resin) / r.days for r in alike]} | {
            name: [float(getattr(r, name) or 0.0) / float(r.resin) for r in alike] for name in CALLED
        }
        for name, values in ratios.items():
            middle = statistics.median(values)
            odd = [i for i, value in enumerate(values, start=1) if not middle / FAR <= value <= FAR * middle]
            odd = [i for i in odd if (when, name, i) not in told]
            if middle > 0.0 and odd:
                places = ", ".join(map(str, odd))
                of = "resin of a day" if name == "resin" else f"{CALLED[name]} of a kilogram"
                slips = likely_slips(rows, when, odd) if name == "resin" else ""
                found.append(
                    f"Check period {places} of those {when}: its {of} is more than {FAR:g} times off the others'.{slips}"
                )
    return found
