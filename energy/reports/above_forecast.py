"""Energy metered after that is more than the request forecasts: what it leaves of the peaks that are credited, and a remark."""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from energy.reports import amounts
from energy.reports.rows import joined
from energy.reports.weeks_in_doubt import CALLED
from energy.study.afterwards import DAY, METER, Adjusted
from energy.study.compare import KWH, OptionResult
from energy.study.life_cycle import YEAR
from energy.study.request_section import Metered
from energy.units import show

CLEARLY = 0.25
"""Share of its forecast by which a carrier is clearly above it, its doubt taken off; by judgement. [-]"""


@dataclass(frozen=True, slots=True, kw_only=True)
class Peaks:
    """Peaks forecast that cannot be, since the meter shows more than them on the mean of all hours."""

    carriers: tuple[str, ...]
    """That are metered, by key."""
    mean: float
    """Of all hours after. [W]"""
    forecast: float
    """Highest of the year. [W]"""
    credit: float
    """What the fall of peaks was to save, with whatever else of the bill is no energy. [money/year]"""
    left: float
    """What of it is possible if no peak was above that mean. [money/year]"""


def peaks_above(
    metered: Mapping[str, Sequence[str]],
    rows: tuple[Metered, ...],
    base: OptionResult,
    option: OptionResult,
    credited: Mapping[str, float],
) -> dict[str, Peaks]:
    """By bill, peaks that the meters disprove and for which something is credited: a peak is never below the mean.

    Parameters
    ----------
    metered : mapping of str to sequence of str
        Carriers of each bill that are metered, by key.
    rows : tuple of Metered
    base, option : OptionResult
        Present dryers, and those asked for.
    credited : mapping of str to float
        By bill, what falls beside energy as forecast. [money/year]
    """
    found = {name: _peaks(carriers, rows, base, option, credited[name]) for name, carriers in metered.items()}
    return {name: one for name, one in found.items() if one is not None}


def _peaks(
    carriers: Sequence[str], rows: tuple[Metered, ...], base: OptionResult, option: OptionResult, credit: float
) -> Peaks | None:
    """Of the fall of the peaks, on the mean of the months, is left what lies between those before and the mean metered after."""
    named = [CALLED[name] for name in carriers]
    after = [row for row in rows if row.when == "after"]
    energy = sum(float(getattr(row, name)) for row in after for name in carriers)
    mean = energy / sum(DAY * row.days for row in after)
    before, forecast = base.year.most(named), option.year.most(named)
    runs = before > 0.0
    fall = float(np.sum((before - forecast)[runs]))
    if min(credit, fall) <= 0.0 or mean <= (1.0 + METER) * float(np.max(forecast)):
        return None
    possible = float(np.sum((before - mean)[runs])) / fall
    return Peaks(
        carriers=tuple(carriers),
        mean=mean,
        forecast=float(np.max(forecast)),
        credit=credit,
        left=credit * min(max(possible, 0.0), 1.0),
    )


def said_of_peaks(one: Peaks, currency: str, asked: float | None = None) -> str:
    """That they cannot be, what is left of their credit, and what they would have to save for a pass where it hangs on that. [money/year]"""
    passes = "" if asked is None else f"; it is passed where they save {amounts.money(asked, currency)} a year or more"
    what = _capital(joined([CALLED[name] for name in one.carriers]))
    mean, forecast = show(one.mean, "power", "kW"), show(one.forecast, "power", "kW")
    credit, left = amounts.money(one.credit, currency), amounts.money(one.left, currency)
    return (
        f"{what} after was {mean} on the mean of all hours, and the request forecasts peaks of {forecast} at the most. No peak is below the mean: they did "
        f"not fall as forecast. Of the {credit} a year credited for them {left} are left at the most. A pass does not rest on "
        f"that: read the peaks off the bills after, in kW{passes}."
    )


def above(
    saved: Mapping[str, Adjusted],
    rows: tuple[Metered, ...],
    option: OptionResult,
    told: Collection[str] = (),
) -> list[str]:
    """Carriers of which clearly more was metered after than is forecast, for the resin dried and for the days; those told anyhow are left out."""
    after, found = [row for row in rows if row.when == "after"], []
    resin, time = sum(float(row.resin) for row in after), sum(DAY * row.days for row in after)
    share = max(resin / float(option.year.resin.sum()), time / YEAR)
    for name, one in saved.items():
        forecast = share * option.carrier(CALLED[name])
        if name in told or one.metered - one.doubt <= (1.0 + CLEARLY) * forecast:
            continue
        times = f", {one.metered / forecast:.1f} times as much" if forecast > 0.0 else ""
        heater = "a heater that runs on it and should not, " if name == "electricity" else ""
        found.append(
            f"{_capital(CALLED[name])} after: {one.metered / KWH:,.0f} kWh were metered, where the request forecasts "
            f"{forecast / KWH:,.0f} kWh at the most for these days and this resin{times}. Look for what takes it: {heater}settings other than in the "
            "request, or a machine on the meter that is none of its dryers?"
        )
    return found


def _capital(text: str) -> str:
    return text[0].upper() + text[1:]
