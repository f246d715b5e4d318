"""Which readings contradict each other or the model, and by how much."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from energy.walkthrough.estimate import Array, Estimate, Function, sensitivities
from energy.walkthrough.quantities import METER

FITS = 2.0
"""Standard uncertainties up to which what must hold is taken to hold, and Birge's scale up to which all agrees."""
_SHARE = 0.02
"""Of a gap's variance: quantities that have less in it do not decide it."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Contradiction:
    """Something that must hold and does not, with the quantities as read or taken."""

    name: str
    """`quantities.HOPPER` or `quantities.METER`."""
    gap: float
    """What the air gives beyond what the hopper takes, or the meter shows beyond the sum of the parts. [W]"""
    uncertainty: float
    """Standard uncertainty of it. [W]"""
    readings: tuple[str, ...]
    """Read and in it, those with the largest normalised residuals first."""
    modelled: tuple[str, ...]
    """Not read and in it, by how much of its uncertainty they make."""


def slopes_of(given: Mapping[str, Estimate], constraints: Mapping[str, Function]) -> tuple[Array, Array]:
    """Gaps, shape (constraints,), and their slopes, shape (constraints, quantities), with the quantities as given. [W]"""
    values = {name: e.value for name, e in given.items()}
    gaps = np.array([float(g(values)) for g in constraints.values()])
    slopes = np.array([list(sensitivities(g, given).values()) for g in constraints.values()])
    return gaps, slopes.reshape(len(constraints), len(given))


def contradictions(given: Mapping[str, Estimate], constraints: Mapping[str, Function]) -> tuple[Contradiction, ...]:
    """What does not hold within what is stated of the quantities, the worst first; none where all holds.

    Source
    ------
    Normalised residuals of reconciled readings, as in VDI 2048 part 1 (from memory). In one balance alone they are equal
    for all its readings: which of them is off is then told by nothing, and they come by how far each had to be moved.
    """
    if not constraints:
        return ()
    gaps, slopes = slopes_of(given, constraints)
    off = np.array([e.uncertainty for e in given.values()])
    shares = (slopes * off) ** 2
    spread = np.sqrt(shares.sum(axis=1))
    gain = (off**2)[:, None] * slopes.T @ np.linalg.pinv((slopes * off**2) @ slopes.T)
    moved = np.abs(gain @ gaps)
    widths = np.sqrt(np.clip(np.einsum("ij,ji->i", gain, slopes * off**2), 0.0, None))
    residuals = np.divide(moved, widths, out=np.zeros_like(moved), where=widths > 0.0)
    own = np.divide(moved, off, out=np.zeros_like(moved), where=off > 0.0)
    names, found = list(given), []
    for k, name in enumerate(constraints):
        if abs(gaps[k]) <= FITS * spread[k]:
            continue
        inside = [i for i in range(len(names)) if shares[k, i] > _SHARE * shares[k].max()]
        by_residual = sorted(inside, key=lambda i: (-round(residuals[i], 3), -own[i]))
        by_share = sorted(inside, key=lambda i: -shares[k, i])
        # The meter itself is never left out, however well it is known.
        read = [i for i in by_residual if given[names[i]].origin == "read"]
        if name == METER:
            read = [names.index("power"), *(i for i in read if names[i] != "power")]
        found.append(
            Contradiction(
                name=name,
                gap=float(gaps[k]),
                uncertainty=float(spread[k]),
                readings=tuple(names[i] for i in read),
                modelled=tuple(names[i] for i in by_share if given[names[i]].origin != "read"),
            )
        )
    return tuple(sorted(found, key=lambda c: -abs(c.gap) / c.uncertainty))
