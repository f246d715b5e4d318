"""From a range and what it rests on to a distribution, and the draws from it.

Which one, stated wherever results are shown:

* measured, nameplate, quoted: normal to either side of the value; low and high hold 95 of 100 cases (expanded uncertainty
  with a coverage factor of 2, as JCGM 100 has it);
* read, memory, computed, common practice: triangular, low and high its limits, the value its peak (JCGM 101, 6.4);
* assumption, or no basis given: even to either side of the value, low and high its limits, half of the cases below the
  value and half above: the widest of the three, since nothing but the limits is known (JCGM 101, 6.4);
* a diffusivity, and a range, not of a share, that spans a factor of ten: lognormal to either side of the value, 95 of 100 cases within.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, Literal

import numpy as np
from numpy.typing import ArrayLike, NDArray

from energy.errors import OutOfRangeError

Array = NDArray[np.float64]
Shape = Literal["normal", "triangular", "uniform", "lognormal"]
COVERED = 0.95  # of the cases of a normal or lognormal lie between low and high
FEW = 24  # inputs of which Sobol points are drawn, by judgement: two samples of the eight widest, with room
FACTOR = 10.0  # high over low from which a range is one of magnitude
WORDS: dict[Shape, str] = {
    "normal": "normal, 95 of 100 cases between low and high",
    "triangular": "triangular between low and high",
    "uniform": "even between low and high",
    "lognormal": "lognormal, 95 of 100 cases between low and high",
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Distribution:
    """What a quantity may be; in SI."""

    shape: Shape
    low: float
    value: float
    high: float

    def __post_init__(self) -> None:
        if not self.low <= self.value <= self.high or not np.isfinite([self.low, self.high]).all():
            raise OutOfRangeError(f"low {self.low:g}, value {self.value:g}, high {self.high:g} are not in this order")
        if self.shape == "lognormal" and self.low <= 0.0:
            raise OutOfRangeError(f"low {self.low:g} of a lognormal is not above 0")

    @property
    def certain(self) -> bool:
        """A range of no width."""
        return self.low == self.high

    def quantile(self, probability: ArrayLike) -> Array:
        """The value that a share of the cases stays below.

        Parameters
        ----------
        probability : array_like, shape (...)
            Above 0 and below 1; NaN stands for the stated value itself.

        Returns
        -------
        ndarray, shape (...)
        """
        p = np.asarray(probability, dtype=float)
        if np.any((p <= 0.0) | (p >= 1.0)):
            raise OutOfRangeError("a probability must lie above 0 and below 1")
        low, value, high = self.low, self.value, self.high
        if self.certain:
            found: Any = value + 0.0 * p
        elif self.shape == "triangular":
            peak = (value - low) / (high - low)
            rising = low + np.sqrt(p * (high - low) * (value - low))
            falling = high - np.sqrt((1.0 - p) * (high - low) * (high - value))
            found = np.where(p < peak, rising, falling)
        elif self.shape == "uniform":
            found = np.where(p < 0.5, low + 2.0 * p * (value - low), value + (2.0 * p - 1.0) * (high - value))
        else:
            score = normal_score(p) / normal_score(0.5 + 0.5 * COVERED)
            if self.shape == "normal":
                found = value + score * np.where(score < 0.0, value - low, high - value)
            else:
                found = value * np.where(score < 0.0, value / low, high / value) ** score
        return np.where(np.isnan(p), value, found)


def shape_of(kind: str, basis: str, low: float, high: float) -> Shape:
    """Shape of the distribution of a quantity of some kind with a range on some basis; see the module."""
    if kind == "diffusivity" or (kind != "share" and 0.0 < FACTOR * low <= high):
        return "lognormal"
    if basis in ("measured", "nameplate", "quoted"):
        return "normal"
    return "triangular" if basis in ("read", "memory", "computed", "common practice") else "uniform"


def normal_score(probability: ArrayLike) -> Array:
    """Quantile of the standard normal distribution."""
    from scipy.special import ndtri

    return np.asarray(ndtri(probability))


def normal_share(score: ArrayLike) -> Array:
    """Share of the standard normal distribution below a score."""
    from scipy.special import ndtr

    return np.asarray(ndtr(score))


def probabilities(draws: int, count: int, seed: int, *, random: bool = False) -> Array:
    """Points that fill the unit cube evenly, shape (draws, count), above 0 and below 1.

    A Latin hypercube; scrambled Sobol points for a few inputs and a power of two of draws. Of many inputs some pairs of
    Sobol's lie on a few strips, at 1,024 draws of a hundred inputs so much that one seems to explain half of another.

    Parameters
    ----------
    draws, count, seed : int
    random : bool
        Plain pseudo-random points instead, to compare with.

    Source
    ------
    Sobol points with the direction numbers of Joe and Kuo, scrambled after Owen and Matousek: scipy.stats.qmc.
    """
    if draws < 1 or seed < 0:
        raise OutOfRangeError(f"draws = {draws} and seed = {seed}; at least 1 draw and a seed of 0 or more are needed")
    generator = np.random.default_rng(seed)
    if random or count == 0:
        return generator.uniform(size=(draws, count))
    from scipy.stats import qmc

    if draws & (draws - 1) or count > FEW:
        points = qmc.LatinHypercube(count, rng=generator).random(draws)
    else:
        points = qmc.Sobol(count, scramble=True, rng=generator).random_base2(draws.bit_length() - 1)
    return np.asarray(np.clip(points, 1e-12, 1.0 - 1e-12))  # a point may fall on the edge, where a tail has no end
