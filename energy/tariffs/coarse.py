"""Readings that last longer than a tariff's demand window, made to fit it; what they cannot show is said."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from energy.errors import CaseError, Problem
from energy.tariffs.readers.series import Series
from energy.tariffs.tariff import Tariff

LONGEST = {"electricity": 3600}
"""Longest readings that are taken for a bill, by commodity; of the others `LONGEST_DAY`. [s]"""
LONGEST_DAY = 90_000
"""The day in autumn that has 25 h. [s]"""
SHORTEST = 60
"""Shortest part that readings are cut into: a year of seconds would fill a computer's memory. [s]"""


def fitted(series: Series, tariff: Tariff) -> tuple[Series, tuple[str, ...]]:
    """Readings no longer than the tariff's demand window, a longer one cut into equal parts of its mean power.

    Parameters
    ----------
    series : Series
    tariff : Tariff
        Its demand window and price periods.

    Returns
    -------
    series : Series
        As given where no reading is longer than the window.
    remarks : tuple of str
        What the cut readings cannot show: the mean over a long reading is at most the highest mean over a part of it,
        so a demand found from it is a lower bound; a price period that begins within one takes its share by time.

    Raises
    ------
    CaseError
        Readings of electricity longer than an hour, others longer than a day; a length that has no whole minutes in common
        with the demand window.
    """
    longest, window = int(series.length.max()), int(tariff.demand_window)
    if longest <= window:
        return series, ()
    if longest > LONGEST.get(tariff.commodity, LONGEST_DAY):
        most = "an hour" if tariff.commodity in LONGEST else "a day"
        message = f"readings of {longest / 60:g} min are too long for '{tariff.name}'; give readings of {most} or less"
        raise CaseError([Problem("", message)], file=series.source or None)
    remarks = []
    if tariff.commodity == "electricity" and any(charge.GROUP == "demand" for charge in tariff.charges):
        remarks.append(
            f"The tariff bills the highest {window // 60} minutes, the readings show only {longest // 60}: demand here is "
            "the mean of a whole reading, a lower bound, and the real bill is as high or higher."
        )
    if longest > tariff.price_calendar.step and len(tariff.price_calendar.cells) > 1:
        remarks.append(
            f"Price periods begin within readings of {longest // 60} minutes; their energy is taken as even over each reading."
        )
    part = int(np.gcd.reduce(np.append(series.length, window)))
    if part < SHORTEST:
        message = (
            f"readings of {longest / 60:.4g} min cannot be cut to the {window // 60} min that '{tariff.name}' bills; give readings of "
            "whole minutes"
        )
        raise CaseError([Problem("", message)], file=series.source or None)
    count = series.length // part
    place = np.arange(count.sum()) - np.repeat(np.cumsum(count) - count, count)
    cut = replace(
        series,
        start=np.repeat(series.start, count) + part * place,
        step=part,
        amount=np.repeat(series.amount / count, count),
    )
    return cut, tuple(remarks)
