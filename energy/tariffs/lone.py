"""Readings that stand alone far above all others of their month, as one with a slip of the decimal point does."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from energy.tariffs.readers.below_zero import size
from energy.tariffs.readers.series import Series, offsets
from energy.tariffs.tariff import Tariff

OVER_NEIGHBOURS = 3.0
"""Over the readings right before and after, by judgement: what a plant starts and stops within one interval is rarely twice all it runs besides."""
OVER_OTHERS = 1.5
"""Over the next highest of the month, by judgement: a plant takes a third to a sixth of its day at night, and a reading of the
night times ten comes out at 1.7 to 3.3 times the day's highest."""
MOST = 3
"""In a month; where more stand out like that, the plant runs so."""


def lone(series: Series, tariff: Tariff) -> tuple[str, ...]:
    """What is to be said of readings that set the demand of their month, alone and far above all others of it.

    Parameters
    ----------
    series : Series
        As read; nothing is said of others than energy.
    tariff : Tariff
        Its demand window, over which shorter readings are taken together, and the clock that months go by. Nothing is said of other
        commodities than electricity.

    Returns
    -------
    tuple of str
        Of each its size and time; nothing is taken out.

    Raises
    ------
    CaseError
        Readings that do not fit the window.
    """
    if tariff.commodity != "electricity" or series.counted != "energy":
        return ()
    window = int(tariff.demand_window)
    seen = series if int(series.length.max()) >= window else series.windows(window // 60)
    zone = tariff.price_calendar.time_zone or series.zone or "UTC"
    month = (seen.start + offsets(zone, seen.start)).astype("datetime64[s]").astype("datetime64[M]").astype(np.int64)
    around = _neighbours(seen.power)
    said = []
    for one in np.unique(month[seen.power > OVER_NEIGHBOURS * around]):
        said += [_words(seen, *found) for found in _of_month(seen.power, np.flatnonzero(month == one), around)]
    return tuple(said)


def _neighbours(power: NDArray[np.float64]) -> NDArray[np.float64]:
    """The higher of the readings before and after each, 0 at least. [W]"""
    beside = np.zeros(power.size + 2)
    beside[1:-1] = power
    return np.maximum(beside[:-2], beside[2:])


def _of_month(
    power: NDArray[np.float64], at: NDArray[np.int64], around: NDArray[np.float64]
) -> list[tuple[int, float]]:
    """Places of the readings of a month that stand out, in order of time, and the highest of all others. [W]"""
    ranked = at[np.argsort(power[at])[::-1]]
    alone = power[ranked] > OVER_NEIGHBOURS * around[ranked]
    for count in range(min(MOST, ranked.size - 1), 0, -1):
        others = float(power[ranked[count]])
        if others > 0.0 and alone[:count].all() and power[ranked[count - 1]] > OVER_OTHERS * others:
            return [(i, others) for i in sorted(ranked[:count].tolist())]
    return []


def _words(seen: Series, i: int, others: float) -> str:
    beside = " and ".join(f"{seen.power[j] / 1e3:,.4g}" for j in (i - 1, i + 1) if 0 <= j < seen.start.size)
    minutes = f"{seen.length[i] / 60:g} minutes"
    return (
        f"One reading stands far above all others of its month: {size(seen, i)} in the {minutes} from {seen.show(seen.start[i])}, "
        f"{seen.power[i] / others:.2g} times the next highest; right before and after it stand {beside} kW. Check it: it sets that month's demand."
    )
