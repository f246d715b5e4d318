"""Tax on the savings and the deductions for depreciation; off unless a `Tax` is given to the cash flow."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal, TypeAlias, get_args

import numpy as np
from numpy.typing import ArrayLike

from energy.errors import OutOfRangeError, UnknownNameError, nearest
from energy.finance.factors import Array
from energy.sources import load

Depreciation: TypeAlias = Literal["macrs-5", "macrs-7", "straight-line", "first-year", "own"]
Incentive: TypeAlias = Literal["lowers basis", "income", "untaxed"]


def depreciation_shares(method: Depreciation, *, life: float | None = None, table: ArrayLike | None = None) -> Array:
    """Shares of the cost that may be deducted in the first, second, ... year of service.

    Parameters
    ----------
    method : {"macrs-5", "macrs-7", "straight-line", "first-year", "own"}
        The printed half-year tables of 5 and 7 years; equal shares over `life`; all in the first year; or `table`.
    life : float, optional
        For "straight-line": years over which the cost is deducted, above 0.
    table : array_like, shape (m,), optional
        For "own": shares of years 1 to m, which add up to 1. [-]

    Returns
    -------
    ndarray, shape (m,)
        Shares; they add up to 1. [-]

    Raises
    ------
    UnknownNameError
        A method that is not known.
    OutOfRangeError
        A life or a table that is missing, not asked for or impossible.

    Source
    ------
    IRS Publication 946, Table A-1, from data/depreciation.toml.
    """
    known = get_args(Depreciation)
    if method not in known:
        raise UnknownNameError(
            f"depreciation '{method}' is not known; write one of {', '.join(known)}{nearest(method, known)}"
        )
    for name, given, wanted in (("life", life, "straight-line"), ("table", table, "own")):
        if (given is not None) != (method == wanted):
            said = (
                f"a {name} belongs to '{wanted}' and only there" if given is not None else f"needs a {name} beside it"
            )
            raise OutOfRangeError(f"depreciation '{method}': {said}")
    if life is not None:
        if not 0 < life < np.inf:
            raise OutOfRangeError(f"depreciation life = {life:g} years must be above 0")
        return np.clip(life - np.arange(np.ceil(life)), 0.0, 1.0) / life
    if table is not None:
        shares = np.asarray(table, dtype=float)
        if shares.ndim != 1 or not (shares >= 0).all() or abs(shares.sum() - 1.0) > 1e-4:
            raise OutOfRangeError(
                "a depreciation table lists one share a year, none below 0, that add up to 100 %; "
                f"these add up to {100 * shares.sum():g} %"
            )
        return shares
    if method == "first-year":
        return np.ones(1)
    return np.array([share for _, share in load("depreciation")[method.replace("-", "_")].si]) / 100


@dataclass(frozen=True, slots=True, kw_only=True)
class Tax:
    """How an option is taxed; the figures are for the plant's finance department to give."""

    rate: ArrayLike
    """Tax on income, 0 to below 1, shape (...). [-]"""
    depreciation: Depreciation
    """As for `depreciation_shares`, like `life` and `table`."""
    life: float | None = None
    table: ArrayLike | None = None
    incentive: Incentive = "lowers basis"
    """An incentive lowers the cost that may be deducted, or is taxed as income, or neither."""

    def __post_init__(self) -> None:
        rate = np.asarray(self.rate, dtype=float)
        if not ((rate >= 0) & (rate < 1) | np.isnan(rate)).all():
            raise OutOfRangeError("tax rate must be from 0 to below 100 %")
        if self.incentive not in get_args(Incentive):
            known = get_args(Incentive)
            raise UnknownNameError(
                f"incentive '{self.incentive}' is not known; write one of {', '.join(known)}"
                f"{nearest(self.incentive, known)}"
            )
        depreciation_shares(self.depreciation, life=self.life, table=self.table)

    @property
    def shares(self) -> Array:
        """Shares of the cost deducted in the first, second, ... year of service, shape (m,). [-]"""
        return depreciation_shares(self.depreciation, life=self.life, table=self.table)
