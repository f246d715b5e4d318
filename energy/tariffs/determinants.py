"""From the measured peak to the demand that is billed: power factor, ratchet, floors, rounding, free part."""

from __future__ import annotations

import re
from collections.abc import Sequence
from functools import lru_cache
from typing import Annotated, ClassVar, Literal, Self

import numpy as np
from numpy.typing import NDArray
from pydantic import BaseModel, Field, model_validator

from energy.errors import EnergyError
from energy.tariffs.common import (
    RECORD,
    Billing,
    Common,
    Determinant,
    Group,
    Month,
    in_cells,
    needed,
)
from energy.tariffs.load import Array, Load, power_factor
from energy.units import Quantity

Demand = Annotated[float | None, Quantity("demand", label="Demand", shown="kW"), Field(ge=0)]
Share = Annotated[float, Quantity("share", label="Share", shown="%"), Field(gt=0, le=1)]


class PowerFactor(BaseModel):
    """How a low power factor raises the demand in kW; prices per kVA need none of this."""

    model_config = RECORD

    rule: Literal["target-over-factor", "share-of-apparent", "added-per-point"]
    """kW x target / factor; the share `target` of kVA where that is more than kW; or kW x (1 + added x (target -
    factor)), so that added = 2 means 2 % for each point."""
    target: Share
    """Power factor below which it counts, or the share of kVA. [-]"""
    added: Annotated[float, Quantity("ratio", label="Added"), Field(gt=0)] = 1.0
    """For "added-per-point". [-]"""
    whole_points: bool = False
    """Count whole points of 1 % only, for "added-per-point"."""

    @model_validator(mode="after")
    def _fits(self) -> Self:
        if self.rule != "added-per-point" and {"added", "whole_points"} & self.model_fields_set:
            raise ValueError(f"added and whole_points belong to added-per-point, not to {self.rule}")
        return self


class Ratchet(BaseModel):
    """The demand billed is at least a share of the highest of earlier months."""

    model_config = RECORD

    share: Share
    months_back: Annotated[int, Field(ge=1, le=12)] = 11
    """How many months before the present one are looked at."""
    peaks_of: tuple[Month, ...] = ()
    """Months whose peaks count, 1 to 12; empty for all."""
    applies_in: tuple[Month, ...] = ()
    """Months in which it may raise the demand; empty for all."""
    periods: tuple[str, ...] = ()
    """Seasons and periods whose peaks count; empty for those of the charge."""


class Floor(BaseModel):
    """The demand billed is at least this."""

    model_config = RECORD

    contract: Demand = None
    """Contracted demand. [W or VA]"""
    share: Share = 1.0
    """Share of the contracted demand that is billed at least. [-]"""
    minimum: Demand = None
    """Least demand of the installation or the rate. [W or VA]"""
    months: tuple[Month, ...] = ()
    """Months in which it holds; empty for all."""

    @model_validator(mode="after")
    def _one(self) -> Self:
        if self.contract is None and self.minimum is None:
            raise ValueError("write contract or minimum")
        return self


class DemandKeys(Common):
    """The keys by which every demand charge says what it bills."""

    GROUP: ClassVar[Group] = "demand"

    power_factor: PowerFactor | None = None
    ratchet: Ratchet | None = None
    floor: Floor | None = None
    rounding: Annotated[float | None, Quantity("demand", label="Rounding step", shown="kW"), Field(gt=0)] = None
    """Step that the demand is rounded to. [W or VA]"""
    round_to: Literal["nearest", "up", "down"] = "nearest"
    free: Demand = None
    """Part of the demand that costs nothing. [W or VA]"""


def check_units(charge: DemandKeys, price: float, others: Sequence[float | None] = ()) -> None:
    """Refuse kW beside a price per kVA and the other way round.

    Raises
    ------
    ValueError
        Naming the first that does not fit.
    """
    apparent = is_apparent(price)
    if "var" in getattr(price, "text", ""):
        raise ValueError("the price is per kvar; reactive demand has its own type, reactive-demand")
    if apparent and charge.power_factor:
        raise ValueError("a price per kVA needs no power_factor; leave it out")
    floor = charge.floor
    limits = [charge.rounding, charge.free, *([floor.contract, floor.minimum] if floor else []), *others]
    for limit in limits:
        text = getattr(limit, "text", "")
        if limit is not None and text and ("VA" in text) != apparent:
            raise ValueError(f"'{text}' does not fit the price, which is per {'kVA' if apparent else 'kW'}")


def is_apparent(price: float) -> bool:
    """Whether a price is written per kVA."""
    return _per_kva(getattr(price, "text", ""))


@lru_cache(maxsize=1024)
def _per_kva(text: str) -> bool:
    return "VA" in re.sub(r"[\s*·.]", "", text).upper().replace("VAR", "")  # kV A is a kVA


def billed_demand(charge: DemandKeys, billing: Billing, cells: Sequence[int], apparent: bool) -> Determinant:
    """The demand of a charge before its free part is taken off.

    Order: highest power, power factor, ratchet, floor, rounding.

    Raises
    ------
    EnergyError
        A ratchet without the year before, or a quantity the load lacks.
    """
    measured = in_cells(charge, billing, billing.load, "peak", cells)
    as_measured = charge.power_factor is None and not apparent
    adjusted = measured if as_measured else adjusted_demand(charge, billing, billing.load, cells, apparent)
    billed = adjusted
    if charge.ratchet is not None:
        billed = np.maximum(billed, _ratcheted(charge, charge.ratchet, billing, cells, apparent, adjusted))
    if charge.floor is not None:
        f = charge.floor
        least = max(float(f.contract or 0.0) * float(f.share), float(f.minimum or 0.0))
        raised = np.maximum(billed, least)
        billed = np.where(_mask(f.months), raised, billed) if f.months else raised
    if charge.rounding is not None:
        billed = rounded_demand(billed, float(charge.rounding), charge.round_to)
    return Determinant(billed=billed, measured=measured)


def adjusted_demand(charge: DemandKeys, billing: Billing, load: Load, cells: Sequence[int], apparent: bool) -> Array:
    """Highest power in some cells, as apparent power or raised for a low power factor, shape (..., 12)."""
    peak = in_cells(charge, billing, load, "peak", cells)
    if apparent:
        return apparent_demand(charge, billing, load, cells)
    if charge.power_factor is None:
        return peak
    factor = needed(charge, power_factor(load), "power factor or reactive energy")
    return raised_demand(peak, factor, charge.power_factor)


def apparent_demand(charge: Common, billing: Billing, load: Load, cells: Sequence[int]) -> Array:
    """Highest apparent power in some cells, shape (..., 12). [VA]"""
    if load.apparent_peak is not None and len(cells) == len(billing.calendar.cells):
        return load.apparent_peak
    peak = in_cells(charge, billing, load, "peak", cells)
    return peak / needed(charge, power_factor(load), "power factor, reactive energy or apparent power")


def raised_demand(power: Array, factor: Array, rule: PowerFactor) -> Array:
    """Demand raised for a low power factor.

    Parameters
    ----------
    power : ndarray, shape (...)
        Real demand. [W]
    factor : ndarray, shape (...)
        Power factor, above 0 and up to 1. [-]
    rule : PowerFactor

    Returns
    -------
    ndarray, shape (...)
        At least the real demand. [W]
    """
    target = float(rule.target)
    short = np.maximum(target - factor, 0.0)
    if rule.whole_points:
        short = np.floor(100.0 * short + 1e-9) / 100.0
    if rule.rule == "added-per-point":
        return np.asarray(power * (1.0 + float(rule.added) * short))
    return np.asarray(power * np.maximum(1.0, target / factor))  # a share of kVA is the same: target x kW / factor


def rounded_demand(demand: Array, step: float, to: str) -> Array:
    """A demand in whole steps; a value within a billionth of a step counts as on it."""
    steps = demand / step
    if to == "nearest":
        return np.asarray(np.floor(steps + 0.5 + 1e-9) * step)
    return np.asarray((np.ceil(steps - 1e-9) if to == "up" else np.floor(steps + 1e-9)) * step)


def ratchet_level(earlier: Array, present: Array, share: float, months_back: int, peaks_of: Sequence[int]) -> Array:
    """Share of the highest demand of the months before each.

    Parameters
    ----------
    earlier, present : ndarray, shape (..., 12)
        Demand of the twelve months before, and of the twelve that are billed.
    share : float
    months_back : int
        1 to 12.
    peaks_of : sequence of int
        Months whose demand counts, 1 to 12; empty for all.

    Returns
    -------
    ndarray, shape (..., 12)
    """
    counted = _mask(tuple(peaks_of))
    if earlier is present:  # a year that repeats itself
        series = np.where(counted, present, 0.0) if peaks_of else present
        return np.asarray(share * series[..., _before(months_back) % 12].max(-1))
    if earlier.shape != present.shape:
        earlier, present = np.broadcast_arrays(earlier, present)
    series = np.concatenate((earlier, present), axis=-1)
    if peaks_of:
        series = np.where(np.tile(counted, 2), series, 0.0)
    return np.asarray(share * series[..., _before(months_back)].max(-1))


@lru_cache
def _before(months_back: int) -> NDArray[np.int64]:
    """Places, in two years of months, of the months before each of the second year, shape (12, months_back)."""
    return np.arange(12)[:, None] + np.arange(12 - months_back, 12)


def _ratcheted(
    charge: DemandKeys, ratchet: Ratchet, billing: Billing, cells: Sequence[int], apparent: bool, demand: Array
) -> Array:
    """What a ratchet bills at least; `demand` is that of the present months in the same cells."""
    if billing.earlier is None:
        raise no_history(charge)
    own, present = cells, demand
    if ratchet.periods:
        own = billing.calendar.select(ratchet.periods)
        present = adjusted_demand(charge, billing, billing.load, own, apparent)
    earlier = present  # of a year that repeats itself
    if billing.earlier is not billing.load:
        earlier = adjusted_demand(charge, billing, billing.earlier, own, apparent)
    level = ratchet_level(earlier, present, float(ratchet.share), ratchet.months_back, ratchet.peaks_of)
    return np.where(_mask(ratchet.applies_in), level, 0.0) if ratchet.applies_in else level


def no_history(charge: Common) -> EnergyError:
    """The error of a ratchet that has nothing to look back on."""
    return EnergyError(
        f"charge '{charge.id}' ({charge.label}) has a ratchet and needs the twelve months before; "
        'give them as history, or history="steady" for a year that repeats itself'
    )


@lru_cache(maxsize=64)
def _mask(months: tuple[int, ...]) -> NDArray[np.bool_]:
    return np.array([not months or month in months for month in range(1, 13)])
