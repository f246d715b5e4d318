"""The saturation line of water as plain equations, without checks of range."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
from numpy.typing import NDArray

from energy.air._arrays import polynomial
from energy.air._ranges import FloatArray
from energy.air.constants import TRIPLE_POINT

# ASHRAE Fundamentals 2017, ch. 1, eqs 5 and 6: ln p = c/T + polynomial(T) + d ln T; p in Pa, T in K.
ICE = (-5.6745359e3, (6.3925247, -9.677843e-3, 6.2215701e-7, 2.0747825e-9, -9.484024e-13), 4.1635019)
WATER = (-5.8002206e3, (1.3914993, -4.8640239e-2, 4.1764768e-5, -1.4452093e-8), 6.5459673)
_ICE_SLOPE, _WATER_SLOPE = (tuple(i * a for i, a in enumerate(of[1]))[1:] for of in (ICE, WATER))
EQS = "ASHRAE Fundamentals 2017 eqs 5 and 6"
COLDEST, HOTTEST = 173.15, 473.15  # of eqs 5 and 6 together [K]
LEAST, MOST = 1.4051021e-3, 1.5550738e6  # saturation pressure there, rounded outward [Pa]
_LOG_TRIPLE = 6.4161717135  # ln of the saturation pressure in Pa at the triple point

# Start of the inverse, fitted to eqs 5 and 6: temperature within 4e-4 K; one Newton step then ends at 1e-8 K.
# Ice: 1/T as a polynomial of ln p; water: T.
_START_ICE = (4.70430621e-3, -1.62722879e-4, 4.09714338e-8, -3.02126429e-9, -1.61714589e-10)
_START_WATER = (222.8534, -3.056695, 3.448449, -0.490000024, 0.0461266098, -2.23614204e-3, 5.05286276e-5)


def log_branch(T: FloatArray, log_T: FloatArray, branch: tuple[float, tuple[float, ...], float]) -> FloatArray:
    c, series, d = branch
    return c / T + polynomial(T, series) + d * log_T


def _ice_or_water(
    cold: NDArray[np.bool_], ice: Callable[[], FloatArray], water: Callable[[], FloatArray]
) -> FloatArray:
    """Either branch where all values are on its side, as most often; both, chosen one by one, where they are not."""
    count = np.count_nonzero(cold)
    if not count:
        return water()
    return ice() if count == cold.size else np.where(cold, ice(), water())


def log_saturation(T: FloatArray) -> FloatArray:
    log_T = np.log(T)
    cold = np.asarray(T < TRIPLE_POINT)
    return _ice_or_water(cold, lambda: log_branch(T, log_T, ICE), lambda: log_branch(T, log_T, WATER))


def log_slope(T: FloatArray) -> FloatArray:
    """d ln p / dT of the saturation line."""

    def slope(branch: tuple[float, tuple[float, ...], float], derivative: tuple[float, ...]) -> FloatArray:
        c, _, d = branch
        return (d - c / T) / T + polynomial(T, derivative)

    cold = np.asarray(T < TRIPLE_POINT)
    return _ice_or_water(cold, lambda: slope(ICE, _ICE_SLOPE), lambda: slope(WATER, _WATER_SLOPE))


def start_of_inverse(log_p: FloatArray) -> FloatArray:
    """Saturation temperature within 4e-4 K."""
    cold = np.asarray(log_p < _LOG_TRIPLE)
    return _ice_or_water(cold, lambda: 1 / polynomial(log_p, _START_ICE), lambda: polynomial(log_p, _START_WATER))


def temperature_at(log_p: FloatArray) -> FloatArray:
    T = start_of_inverse(log_p)
    return T - (log_saturation(T) - log_p) / log_slope(T)
