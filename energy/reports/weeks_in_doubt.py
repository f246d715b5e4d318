"""Periods metered that cannot be those of the request, and odd ones: what is said of each."""

from __future__ import annotations

import statistics
from collections.abc import Collection, Mapping
from dataclasses import dataclass

import numpy as np

from energy.study.afterwards import CARRIERS, DAY, Adjusted, below
from energy.study.compare import OptionResult
from energy.study.life_cycle import YEAR
from energy.study.request_section import Metered
from energy.units import show

CALLED = {"electricity": "electricity", "compressed_air": "compressed air", "gas": "gas"}
"""Carriers that are metered, by key, in words."""
FAR = 3.0
"""Times the median from which a period is odd, and times the request from which nothing is decided; by judgement. [-]"""


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
                f"{show(counted, 'specific energy', system)}. A slip of ten, or a meter of something else?"
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


def off_after(saved: Mapping[str, Adjusted], rows: tuple[Metered, ...], option: OptionResult) -> list[Off]:
    """Periods after whose throughput or energy of a kilogram is far from what the request forecasts, a kind at a time."""
    after, resin = [row for row in rows if row.when == "after"], float(option.year.resin.sum())
    kinds = {"resin": ([float(r.resin) / (DAY * r.days) for r in after], resin / YEAR)} | {
        name: ([float(getattr(r, name)) / float(r.resin) for r in after], option.carrier(CALLED[name]) / resin)
        for name in saved
    }
    found = []
    for name, (values, counted) in kinds.items():
        off = [i for i, value in enumerate(values) if not counted / FAR <= value <= FAR * counted]
        if counted > 0.0 and off:
            places = tuple(i + 1 for i in off)
            found.append(Off(name=name, places=places, values=tuple(values[i] for i in off), counted=counted))
    return found


def said_of(off: Off, system: str) -> str:
    kind = "mass flow" if off.name == "resin" else "specific energy"
    low, high, counted = (show(value, kind, system) for value in (min(off.values), max(off.values), off.counted))
    span = high if low == high else f"{low} to {high}"
    first = f"Check period {', '.join(map(str, off.places))} of those after:"
    if off.name != "resin":
        return f"{first} {span} of {CALLED[off.name]}, where the request forecasts {counted}. A slip of ten, or a meter of something else?"
    little = " A week that stood still is put together with the one beside it." if min(off.values) < off.counted else ""
    return f"{first} {span} dried on the mean of all hours, where the request counts {counted}. A slip of ten in its resin or its days?{little}"


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
    low, high, least = (
        show(value, "specific energy", system) for value in (min(off.values), max(off.values), off.counted)
    )
    span = high if low == high else f"{low} to {high}"
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
                found.append(
                    f"Check period {places} of those {when}: its {of} is more than {FAR:g} times off the others'."
                )
    return found
