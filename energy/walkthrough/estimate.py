"""Quantities with a standard uncertainty: propagation, and readings brought together by what must hold between them."""

from __future__ import annotations

import math
from collections.abc import Callable, Collection, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any, Literal

import numpy as np
from numpy.typing import NDArray

from energy.errors import EnergyError

Array = NDArray[np.float64]
Values = Mapping[str, Any]
Function = Callable[[Values], Any]
"""Of quantities by name, each a number or an array of one shape."""

COVERAGE = 2.0
"""Coverage factor of what is stated: about 95 % (JCGM 100, 6.3.3)."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Estimate:
    """A value with its standard uncertainty, both in SI."""

    value: float
    uncertainty: float
    origin: Literal["read", "case", "model"]
    """Read at the dryer, stated in the case, or taken from the model with its wide range."""
    note: str = ""
    """How it came about."""
    measured: bool = False
    """Of the case, which has it measured: apart from the readings of the day, so that it has no part in what does not fit among them."""

    @property
    def expanded(self) -> float:
        """Half-width of the interval stated, with the factor of 2."""
        return COVERAGE * self.uncertainty


def estimate(value: float, half_width: float, origin: Literal["read", "case", "model"], note: str = "") -> Estimate:
    """An estimate known to lie within a half-width, each value in it as likely.

    Source
    ------
    JCGM 100:2008, 4.3.7: standard uncertainty is the half-width over the square root of 3.
    """
    return Estimate(value=float(value), uncertainty=abs(half_width) / math.sqrt(3.0), origin=origin, note=note)


def sensitivities(function: Function, given: Mapping[str, Estimate]) -> dict[str, float]:
    """Change of a result per change of each quantity, by central differences of a tenth of its uncertainty.

    Source
    ------
    JCGM 100:2008, 5.1.3 and its note 2.
    """
    values = np.array([e.value for e in given.values()])
    steps = np.diag([0.1 * e.uncertainty for e in given.values()])
    shifted = np.concatenate([values + steps, values - steps])
    up, down = np.split(np.broadcast_to(function(dict(zip(given, shifted.T, strict=True))), len(shifted)), 2)
    width = 2.0 * np.diag(steps)
    slopes = np.divide(up - down, width, out=np.zeros_like(width), where=width > 0.0)
    return dict(zip(given, map(float, slopes), strict=True))


def propagate(function: Function, given: Mapping[str, Estimate]) -> tuple[float, float]:
    """Value and combined standard uncertainty of a function of quantities that do not depend on each other.

    Source
    ------
    JCGM 100:2008, eq. 10.
    """
    value = float(function({name: e.value for name, e in given.items()}))
    slopes = sensitivities(function, given)
    return value, math.sqrt(sum((slopes[name] * e.uncertainty) ** 2 for name, e in given.items()))


@dataclass(frozen=True, slots=True, kw_only=True)
class Reconciled:
    """Quantities moved, each by as little as its uncertainty asks, until all constraints hold."""

    names: tuple[str, ...]
    values: Array
    covariance: Array
    slopes: Array
    """Of the constraints, shape (constraints, quantities)."""
    held: Array
    """Is a quantity left where it was, shape (quantities,)?"""
    misfit: float
    """Sum of squares of what had to be moved, over its uncertainty; about the number of constraints where all fits."""

    @property
    def scale(self) -> float:
        """What uncertainties are multiplied by where the readings contradict each other more than they should."""
        count = len(self.slopes)
        return max(1.0, math.sqrt(self.misfit / count)) if count else 1.0

    def at(self) -> dict[str, float]:
        """The quantities by name."""
        return dict(zip(self.names, map(float, self.values), strict=True))


def reconcile(
    given: Mapping[str, Estimate], constraints: Sequence[Function], held: Collection[str] = (), passes: int = 3
) -> Reconciled:
    r"""Bring quantities together by constraints that are zero where they agree.

    .. math:: \hat x = x - S A^T (A S A^T)^{-1} (g + A (x - x_0)), \quad \hat S = S - S A^T (A S A^T)^{-1} A S

    Parameters
    ----------
    given : mapping of str to Estimate
    constraints : sequence of Function
    held : collection of str
        Quantities that stay where they are; their uncertainty is in what the others are moved to (see `constrained`).
    passes : int

    Source
    ------
    Least squares with constraints as in VDI 2048 part 1 (from memory); the scale where readings contradict each other is
    Birge's: R. T. Birge, Phys. Rev. 40 (1932) 207.

    Raises
    ------
    EnergyError
        A constraint of which every quantity is certain.
    """
    names = tuple(given)
    x = np.array([e.value for e in given.values()])
    off = np.array([e.uncertainty for e in given.values()])
    fixed = np.array([name in held for name in names], bool)
    free = np.diag(np.where(fixed, 0.0, off) ** 2)
    at, a, misfit = x, np.zeros((len(constraints), len(names))), 0.0
    for _ in range(passes if constraints else 0):
        now = {name: replace(e, value=float(v)) for (name, e), v in zip(given.items(), at, strict=True)}
        values = {name: e.value for name, e in now.items()}
        a = np.array([list(sensitivities(g, now).values()) for g in constraints])
        gap = np.array([float(g(values)) for g in constraints]) + a @ (x - at)
        normal = a @ free @ a.T
        if np.any(np.diag(normal) <= 0.0):
            raise EnergyError("a balance cannot be closed by quantities that are all certain")
        at = x - free @ a.T @ np.linalg.inv(normal) @ gap
        misfit = float(gap @ np.linalg.solve(normal, gap))
    return Reconciled(
        names=names, values=at, covariance=constrained(off, a, fixed), slopes=a, held=fixed, misfit=misfit
    )


def constrained(uncertainties: Array, slopes: Array, held: Array | None = None) -> Array:
    r"""Covariance of quantities that were brought together, shape (quantities, quantities).

    .. math:: (I - K A) S (I - K A)^T

    with the gain K of those that are not held. Where none is held that is the expression of `reconcile`.

    Parameters
    ----------
    uncertainties : ndarray, shape (quantities,)
    slopes : ndarray, shape (constraints, quantities)
    held : ndarray, shape (quantities,), optional

    Source
    ------
    Covariance of a linear estimate with any gain (Joseph's form), as Schmidt has it for quantities that are known to be
    uncertain and are not estimated; from memory.
    """
    s = np.diag(uncertainties**2)
    if not len(slopes):
        return s
    free = s if held is None else np.diag(np.where(held, 0.0, uncertainties) ** 2)
    kept = np.eye(len(s)) - free @ slopes.T @ np.linalg.inv(slopes @ free @ slopes.T) @ slopes
    return np.asarray(kept @ s @ kept.T)


def narrowed(uncertainties: Array, slopes: Array, result: Array, held: Array | None = None) -> float:
    """Standard uncertainty that a result would have with other uncertainties of the quantities, constraints kept.

    Parameters
    ----------
    uncertainties : ndarray, shape (quantities,)
    slopes : ndarray, shape (constraints, quantities)
    result : ndarray, shape (quantities,)
        Slopes of the result.
    held : ndarray, shape (quantities,), optional
    """
    return math.sqrt(max(float(result @ constrained(uncertainties, slopes, held) @ result), 0.0))
