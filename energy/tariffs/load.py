"""What a meter saw in each month of a year: the load that a tariff is applied to."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal, TypeAlias

import numpy as np
from numpy.typing import NDArray

from energy.errors import OutOfRangeError

Array: TypeAlias = NDArray[np.float64]

_NAMES = {
    "energy": "energy",
    "peak": "peak power",
    "volume": "volume",
    "daily_peak": "highest energy of a day",
    "power_factor": "power factor",
    "reactive_energy": "reactive energy",
    "apparent_peak": "peak apparent power",
}
_CELL_NAMES = {"cell_energy": "energy by price cell", "cell_peak": "peak power by price cell"}


@dataclass(frozen=True, slots=True, kw_only=True)
class Load:
    """Monthly quantities of one meter, January to December; leading axes are draws.

    A quantity that the meter does not count is None. Lists and scalars per month are turned into arrays. With the
    quantities by price cell, which `load_from_periods` and `load_from_series` make, charges by time of use are exact.

    Raises
    ------
    OutOfRangeError
        Another shape, a negative quantity, or a power factor that is not above 0 and up to 1. NaN passes.
    """

    energy: Array | None = None
    """Energy, of gas on the higher heating value, of cooling the heat removed, shape (..., 12). [J]"""
    peak: Array | None = None
    """Highest mean power over the tariff's demand window in the month, shape (..., 12). [W]"""
    volume: Array | None = None
    """Volume of water, or of gas as it goes through the meter, shape (..., 12). [m3]"""
    daily_peak: Array | None = None
    """Highest energy of a day in the month, shape (..., 12). [J]"""
    power_factor: Array | None = None
    """Power factor that is billed, shape (..., 12). [-]"""
    reactive_energy: Array | None = None
    """Reactive energy, shape (..., 12); gives the power factor where none is given. [var s]"""
    apparent_peak: Array | None = None
    """Apparent power at the peak, shape (..., 12); peak over power factor where none is given. [VA]"""
    cells: tuple[str, ...] = ()
    """Names of the price cells on the last axis of the next two."""
    cell_energy: Array | None = None
    """Energy in each price cell, shape (..., 12, cells). [J]"""
    cell_peak: Array | None = None
    """Highest mean power in each price cell, 0 where it does not occur, shape (..., 12, cells). [W]"""
    year: int | None = None
    """Year whose days and weekdays hold; without one a year of 365 days."""
    spread: Literal["clock hours"] | None = None
    """What to do where a charge asks for a time of use and the load is by month only: nothing, which is an error;
    or energy in proportion to the hours of the clock, and the month's peak in every cell."""

    def __post_init__(self) -> None:
        for field, name in _NAMES.items():
            given = getattr(self, field)
            if given is None:
                continue
            values = np.asarray(given, dtype=float)
            if values.ndim == 0 or values.shape[-1] != 12:
                raise OutOfRangeError(f"{name} of a load has shape {values.shape}; the last axis must be 12 months")
            if (values < 0).any():
                raise OutOfRangeError(f"{name} of a load = {np.nanmin(values):g} must be 0 or more")
            if field == "power_factor" and ((values == 0) | (values > 1)).any():
                raise OutOfRangeError(f"power factor of a load = {np.nanmin(values):g} must be above 0 and up to 1")
            object.__setattr__(self, field, values)
        for field, name in _CELL_NAMES.items():
            given = getattr(self, field)
            if given is None:
                continue
            values = np.asarray(given, dtype=float)
            if values.ndim < 2 or values.shape[-2:] != (12, len(self.cells)):
                raise OutOfRangeError(
                    f"{name} of a load has shape {values.shape}; "
                    f"the last axes must be 12 months and {len(self.cells)} cells"
                )
            if (values < 0).any():
                raise OutOfRangeError(f"{name} of a load = {np.nanmin(values):g} must be 0 or more")
            object.__setattr__(self, field, values)
        if self.energy is None and self.cell_energy is not None:
            object.__setattr__(self, "energy", self.cell_energy.sum(-1))
        if self.peak is None and self.cell_peak is not None:
            object.__setattr__(self, "peak", self.cell_peak.max(-1))


LEAST_USUAL = 0.5
"""Power factor below which one is told to be unlikely: motors that idle, with nothing to make up for them, come down to that; by judgement. [-]"""


def doubtful(factor: float) -> str:
    """What is to be said of a power factor that hardly any plant has; empty where nothing is."""
    if not factor < LEAST_USUAL:
        return ""
    times = "; was ten times that meant" if 0.5 <= 10.0 * factor <= 1.0 else ""
    return (
        f"A power factor of {factor:.3g} is lower than plants have, even with idling motors{times}? "
        f"It makes the demand in kVA {1.0 / factor:.1f} times the kW."
    )


def power_factor(load: Load) -> Array | None:
    """Power factor of each month: as given, from reactive energy, or from the apparent power at the peak.

    Parameters
    ----------
    load : Load

    Returns
    -------
    ndarray, shape (..., 12), or None where the load has none of the three
        1 where nothing flows. [-]
    """
    if load.power_factor is not None:
        return load.power_factor
    real, apparent = load.energy, None
    if load.reactive_energy is not None and real is not None:
        apparent = np.hypot(real, load.reactive_energy)
    elif load.apparent_peak is not None and load.peak is not None:
        real, apparent = load.peak, load.apparent_peak
    if real is None or apparent is None:
        return None
    real, apparent = np.broadcast_arrays(real, apparent)
    return np.divide(real, apparent, out=np.ones(real.shape), where=apparent > 0)
