"""Readings of a meter crossed with operating states once, so that what runs beside them needs no walk through intervals."""

from __future__ import annotations

from collections import OrderedDict
from dataclasses import dataclass, replace
from typing import Any

import numpy as np
from numpy.typing import NDArray

from energy.errors import OutOfRangeError
from energy.tariffs.clock import clock_at
from energy.tariffs.crossing import load_from_series, windows
from energy.tariffs.load import Array, Load
from energy.tariffs.readers.series import Series
from energy.tariffs.tariff import Tariff

_KEPT: OrderedDict[tuple[Any, ...], Around] = OrderedDict()
_KEPT_AT_MOST = 8


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Around:
    """What a meter read, and how long each operating state lasted in each of its price cells."""

    load: Load
    """Of the readings alone."""
    time: Array
    """Time by month, state and cell, shape (12, states, cells). [s]"""
    window_cell: NDArray[np.int64]
    """Month times cells plus cell of every mix of states that fills a demand window in it, sorted, shape (n,)."""
    window_mix: Array
    """Share of each state in it, shape (n, states). [-]"""
    window_highest: Array
    """Highest demand read in such a window, shape (n,). [W]"""
    power: Array
    """Of each reading, shape (m,). [W]"""
    read_in: NDArray[np.int64]
    """Month times states plus state of each, shape (m,)."""
    step: float
    """How long each lasts. [s]"""

    def energy_of(self, power: Array) -> Array:
        """Energy by month and price cell of what draws some power in each state, shape (..., 12, states), in (..., 12, cells). [W] to [J]"""
        return np.asarray(np.einsum("...ms,msc->...mc", power, self.time))

    def short_of(self, power: Array) -> tuple[float, float, float, float]:
        """How far readings are below what runs in them.

        Parameters
        ----------
        power : ndarray, shape (12, states)
            Mean of what runs in the readings. [W]

        Returns
        -------
        tuple of float
            Time in which they are below it, and in which it runs [s]; the energy by which they are, at most all of it, and its own [J].
        """
        there = power.ravel()[self.read_in]
        below = np.maximum(there - np.maximum(self.power, 0.0), 0.0)
        counts = np.count_nonzero(below > 1e-9 * there), np.count_nonzero(there > 0.0)
        return (
            self.step * counts[0],
            self.step * counts[1],
            self.step * float(below.sum()),
            self.step * float(there.sum()),
        )

    def peaks_with(self, present: Array, own: Array) -> tuple[Array, Array]:
        """Highest demand without what runs in the readings, and with something else in its place.

        In a window that reads less than what runs there is taken to draw, that draws what is read and leaves nothing, and what
        comes in its place draws as large a part of its own power.

        Parameters
        ----------
        present, own : ndarray, shape (..., 12, states)
            Power at the peak in each state, 0 or more: of what the readings hold, and of what takes its place. [W]

        Returns
        -------
        ndarray, shape (..., 12, cells)
            Without; 0 where a cell does not occur, and never below. [W]
        ndarray, shape (..., 12, cells)
            With it, never less than without. [W]
        """
        there, here = self._in_windows(present), self._in_windows(own)
        part = np.divide(self.window_highest, there, out=np.ones(there.shape), where=there > 0.0)
        rest = np.maximum(self.window_highest - there, 0.0)
        return self._highest(rest), self._highest(rest + np.clip(part, 0.0, 1.0) * here)

    def _in_windows(self, power: Array) -> Array:
        """Power by month and state as its mean in each mix of states, shape (..., n). [W]"""
        of_month = power[..., self.window_cell // len(self.load.cells), :]
        return np.asarray(np.einsum("...ns,ns->...n", of_month, self.window_mix))

    def _highest(self, demand: Array) -> Array:
        """The highest in each month and cell of a demand by mix of states, shape (..., 12, cells). [W]"""
        cells = len(self.load.cells)
        codes, first = np.unique(self.window_cell, return_index=True)
        peak = np.zeros((*demand.shape[:-1], 12 * cells))
        peak[..., codes] = np.maximum.reduceat(demand, first, axis=-1)
        return peak.reshape(*demand.shape[:-1], 12, cells)


def around(readings: Series, states: NDArray[np.int64], tariff: Tariff, count: int) -> Around:
    """Cross readings with the operating states that they were taken in.

    Parameters
    ----------
    readings : Series
        Energy of twelve whole months, no reading longer than the demand window.
    states : ndarray of int, shape (n,)
        State of each reading, from 0.
    tariff : Tariff
        Its calendar, with a clock, and demand window.
    count : int
        Number of states.

    Returns
    -------
    Around
        Kept, and given again when the same is asked.

    Raises
    ------
    EnergyError
        Readings that `load_from_series` refuses.
    OutOfRangeError
        States of another shape.
    """
    if states.shape != readings.start.shape:
        raise OutOfRangeError(
            f"{states.shape} states do not fit {readings.start.shape} readings; one of each is needed"
        )
    calendar, window = tariff.price_calendar, int(tariff.demand_window)
    given = (readings.start, readings.amount, states)
    key = (calendar.fingerprint, window, count, *(hash(array.tobytes()) for array in given))
    if key in _KEPT:
        _KEPT.move_to_end(key)
        return _KEPT[key]
    step = int(readings.length[0])
    load = load_from_series(readings.start, readings.power, tariff, step=step)
    clock, cells = clock_at(readings.start, calendar.time_zone), len(calendar.cells)
    code = clock.month * cells + calendar.cell_at(clock)
    lasting = np.bincount((clock.month * count + states) * cells + code % cells, minlength=12 * count * cells)
    group = windows(clock, window)
    first = np.flatnonzero(np.diff(group, prepend=-1))
    filled = np.bincount(group * count + states, minlength=first.size * count).reshape(-1, count)
    demand = np.add.reduceat(readings.power, first) / filled.sum(-1)
    rows, place = np.unique(np.column_stack([code[first], filled]), axis=0, return_inverse=True)
    highest = np.full(len(rows), -np.inf)
    np.maximum.at(highest, place.ravel(), demand)
    made = Around(
        load=replace(load, daily_peak=None),
        time=np.multiply(float(step), lasting).reshape(12, count, cells),
        window_cell=rows[:, 0],
        window_mix=rows[:, 1:] / rows[:, 1:].sum(-1, keepdims=True),
        window_highest=highest,
        power=readings.power,
        read_in=clock.month * count + states,
        step=float(step),
    )
    _KEPT[key] = made
    if len(_KEPT) > _KEPT_AT_MOST:
        _KEPT.popitem(last=False)
    return made
