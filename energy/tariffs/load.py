"""What a meter saw in each month of a year: the load that a tariff is applied to."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TypeAlias

import numpy as np
from numpy.typing import NDArray

from energy.errors import OutOfRangeError

Array: TypeAlias = NDArray[np.float64]

_NAMES = {"energy": "energy", "peak": "peak power", "volume": "volume"}


@dataclass(frozen=True, slots=True, kw_only=True)
class Load:
    """Monthly quantities of one meter, January to December on the last axis; leading axes are draws.

    A quantity that the meter does not count is None. Lists and scalars per month are turned into arrays.

    Raises
    ------
    OutOfRangeError
        Not twelve months, or a negative quantity. NaN passes.
    """

    energy: Array | None = None
    """Energy, of gas on the higher heating value, of cooling the heat removed, shape (..., 12). [J]"""
    peak: Array | None = None
    """Highest mean power over 15 minutes in the month, shape (..., 12). [W]"""
    volume: Array | None = None
    """Volume of water, shape (..., 12). [m3]"""

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
            object.__setattr__(self, field, values)
