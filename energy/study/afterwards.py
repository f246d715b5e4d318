"""The check afterwards: energy that was metered, beside what the machines of before would have taken for as much resin."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from pydantic import ValidationError

from energy.dryers.base import Array
from energy.errors import CaseError, Problem
from energy.study.life_cycle import YEAR
from energy.study.problems import problems
from energy.study.request_section import Metered, VerificationPlan
from energy.tariffs import Tariff

DAY = 86400.0
LEAST = 4
"""Fewest periods of before that a line is laid through: the plan asks for four weeks."""
SPREAD = 0.05
"""Standard deviation over mean of the throughput below which a base load cannot be told from a slope, by judgement. [-]"""
METER = 0.01
"""Error of a class 1 meter for active energy, IEC 62053-21. [-]"""

ELSEWHERE = 0.2
"""Resin dried over that of the case from which the duty is another, by judgement. [-]"""


@dataclass(frozen=True, slots=True, kw_only=True)
class Adjusted:
    """Energy of one carrier over the periods after. Half-widths hold 95 times of 100."""

    expected: float
    """What the machines of before would have taken for the resin of after. [J]"""
    metered: float
    """[J]"""
    base: float
    """What they took with no resin; 0 where it could not be told. [W]"""
    slope: float
    """What they took per resin besides. [J/kg]"""
    scatter: float
    """CV(RMSE): of the periods before about the line, over their mean. [-]"""
    of_line: float
    """Half-width of the saving, of the line through the periods before, those after taken to scatter as they do. [J]"""
    of_after: float = 0.0
    """What the scatter of the periods after adds to it, in quadrature, where they scatter more than those before. [J]"""
    if_base: float | None = None
    """What they would have taken if all of it were base load, where throughput varied too little to tell; None where it did. [J]"""
    scatter_after: float | None = None
    """CV(RMSE) of the periods after about their own line, laid like that of before; None where there is but one. [-]"""

    @property
    def saved(self) -> float:
        """[J]"""
        return self.expected - self.metered

    @property
    def doubt(self) -> float:
        """Half-width of the saving, of line, periods after and meters. [J]"""
        return math.hypot(self.of_line, self.of_after, METER * math.hypot(self.expected, self.metered))


def adjusted(before: tuple[Array, Array, Array], after: tuple[Array, Array, Array]) -> Adjusted:
    """The saving of a carrier, adjusted to the resin of after.

    Parameters
    ----------
    before, after : tuple of ndarray, shape (periods,)
        Lengths, resin dried and energy taken. [s], [kg], [J]

    Returns
    -------
    Adjusted

    Source
    ------
    Base load and slope by least squares, the variance of a period in proportion to its length; the error of the sum
    predicted is that of any linear model. The periods after scatter as those before do, or as they do about their own line,
    most often their mean per resin, where that makes the greater half-width; a single one shows no scatter.
    The idea of adjusting the baseline: International Performance Measurement and Verification Protocol, retrofit isolation;
    scatter as of ASHRAE Guideline 14.
    """
    found, matrix, rest = _line(*before)
    time, _, energy = before
    free = time.size - found.size
    variance = float(np.sum(rest**2 / time)) / free  # per time
    sums = np.array([after[0].sum(), after[1].sum()][-found.size :])
    from scipy.special import stdtrit  # a tenth of a second

    # Both the line and the periods after scatter.
    times, whole = float(stdtrit(free, 0.975)), float(after[0].sum())
    spread = variance * (float(sums @ np.linalg.inv(matrix.T @ matrix) @ sums) + whole)
    as_before = as_after = times * math.sqrt(variance * whole)
    scatter_after = None
    if after[0].size > 1:
        own, _, off = _line(*after)
        others = after[0].size - own.size
        own_variance = float(np.sum(off**2 / after[0])) / others
        as_after = float(stdtrit(others, 0.975)) * math.sqrt(own_variance * whole)
        scatter_after = _share(off, others, after[2])
    return Adjusted(
        expected=float(sums @ found),
        metered=float(after[2].sum()),
        base=float(found[0]) if found.size > 1 else 0.0,
        slope=float(found[-1]),
        scatter=_share(rest, free, energy),
        of_line=times * math.sqrt(spread),
        of_after=math.sqrt(max(as_after**2 - as_before**2, 0.0)),
        if_base=None if _varied(time, before[1]) else float(energy.sum()) / float(time.sum()) * whole,
        scatter_after=scatter_after,
    )


def _share(rest: Array, free: int, energy: Array) -> float:
    """CV(RMSE): what is left of energy over its mean; 0 where there is no energy. [-]"""
    return math.sqrt(float(rest @ rest) / free) / float(np.mean(energy)) if np.any(energy) else 0.0


def _line(time: Array, resin: Array, energy: Array) -> tuple[Array, Array, Array]:
    """Base load, where it can be told, and slope; the matrix of the weighted terms; and what is left of the energy."""
    terms = np.stack([time, resin], axis=-1)
    if time.size >= LEAST and _varied(time, resin):
        found, matrix = _fitted(terms, time, energy)
        if np.all(found >= 0.0):  # no machine gives energy back, at rest or for resin: then a base load is not seen
            return found, matrix, energy - terms @ found
    terms = terms[:, 1:]
    found, matrix = _fitted(terms, time, energy)
    return found, matrix, energy - terms @ found


def _varied(time: Array, resin: Array) -> bool:
    """Did throughput vary enough to tell a base load from a slope?"""
    return bool(np.std(resin / time) > SPREAD * np.mean(resin / time))


def _fitted(terms: Array, time: Array, energy: Array) -> tuple[Array, Array]:
    """Coefficients, and the matrix of the weighted terms."""
    weight = 1.0 / np.sqrt(time)
    matrix = terms * weight[:, None]
    found, *_ = np.linalg.lstsq(matrix, energy * weight, rcond=None)
    return np.asarray(found, float), matrix


def carriers_metered(rows: Sequence[Metered], file: str = "") -> dict[str, Adjusted]:
    """Of each carrier that was metered, its adjusted saving.

    Raises
    ------
    CaseError
        Too few periods before, none after, or a carrier that is not metered in all of them.
    """
    place = "request.verification.metered"
    before = [row for row in rows if row.when == "before"]
    after = [row for row in rows if row.when == "after"]
    problems = []
    if len(before) < LEAST:
        count = "1 period is" if len(before) == 1 else f"{len(before)} periods are"
        problems.append(Problem(place, f"{count} metered before; {LEAST} or more are needed, such as weeks"))
    if not after:
        problems.append(Problem(place, "no period is metered after"))
    metered = [name for name in CARRIERS if any(getattr(row, name) is not None for row in rows)]
    if not metered and rows:
        problems.append(Problem(place, f"no energy is metered; give {', '.join(CARRIERS)} of each period"))
    for name in metered:
        if any(getattr(row, name) is None for row in rows):
            problems.append(
                Problem(place, f"{name} is metered in some periods and not in others; 0 kWh is a reading too")
            )
    if problems:
        raise CaseError(problems, file=file or None)

    def table(of: Sequence[Metered], name: str) -> tuple[Array, Array, Array]:
        return (
            np.array([DAY * row.days for row in of]),
            np.array([float(row.resin) for row in of]),
            np.array([float(getattr(row, name)) for row in of]),
        )

    return {name: adjusted(table(before, name), table(after, name)) for name in metered}


def in_energy(rows: Sequence[Metered], gas: Tariff | None, file: str = "") -> tuple[Metered, ...]:
    """Periods with all gas as energy, by the heating value of its tariff where it was read by volume.

    Raises
    ------
    CaseError
        A tariff without a heating value, or gas by volume and as energy in one period.
    """
    place, by_volume = "request.verification.metered", [row for row in rows if row.gas_volume is not None]
    if not by_volume:
        return tuple(rows)
    if any(row.gas is not None for row in by_volume):
        raise CaseError([Problem(place, "gives gas by volume and in kWh; one of them is enough")], file=file or None)
    if gas is None or gas.gas is None:
        said = (
            "gives gas by volume, gas (m3), and the case has no tariff of gas with a heating value to make it energy; give gas (kWh), which is the "
            "volume times the heating value of the bill, or name a tariff of gas in the case that has a heating_value under [gas]"
        )
        raise CaseError([Problem(place, said)], file=file or None)
    content = float(gas.gas.heating_value) * float(gas.gas.volume_factor)
    return tuple(
        row
        if row.gas_volume is None
        else row.model_copy(update={"gas": content * float(row.gas_volume), "gas_volume": None})
        for row in rows
    )


def to_a_year(rows: Sequence[Metered], resin: float) -> tuple[float, bool]:
    """How many times the periods after make a year, and whether that is by resin.

    It is by resin, in which the shutdowns of the year are, where they run at about the duty of the case; else by their days.

    Parameters
    ----------
    rows : sequence of Metered
    resin : float
        Dried in a year of the case. [kg]
    """
    after = [row for row in rows if row.when == "after"]
    by_resin = resin / sum(float(row.resin) for row in after)
    by_days = YEAR / (DAY * sum(row.days for row in after))
    alike = abs(by_days / by_resin - 1.0) <= ELSEWHERE
    return (by_resin if alike else by_days), alike


def below(rows: Sequence[Metered], when: str, least: float) -> dict[int, float]:
    """Periods before or after, from 1, whose energy of all carriers together is less than that of a resin. [J/kg]"""
    alike = [row for row in rows if row.when == when]
    taken = [sum(float(getattr(row, name) or 0.0) for name in CARRIERS) / float(row.resin) for row in alike]
    return {place: value for place, value in enumerate(taken, start=1) if value < least}


def periods(rows: Sequence[Mapping[str, Any]], file: str) -> tuple[Metered, ...]:
    """Rows of a table as the case would check them.

    Raises
    ------
    CaseError
        A value that cannot be, with its row.
    """
    try:
        return VerificationPlan.model_validate({"metered": list(rows)}).metered
    except ValidationError as error:
        raise CaseError(problems(error, VerificationPlan, {"metered": list(rows)}), file=file) from error


CARRIERS = ("electricity", "gas", "compressed_air")
"""Keys of a metered period that are energy."""
