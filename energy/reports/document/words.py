"""Numbers as text, the same way in every sentence and table."""

from __future__ import annotations

import math

import numpy as np

from energy.reports.amounts import three_digits
from energy.reports.document.proposal import Proposal
from energy.reports.paid_back import paid_back
from energy.study.compare import KWH, OptionResult
from energy.units import shown_unit, to_unit

NOT_STATED = "Not stated in the case."


BELOW_ZERO = (
    "The discount rate is below zero: money of later years counts more than money of today. See that this is meant."
)

COSTS = {"electricity": "Electricity", "gas": "Gas", "water": "Cooling and water", "maintenance": "Maintenance"}


def amount(value: float) -> str:
    """Whole money or energy with thousands separated; a true minus sign, no negative zero."""
    if not math.isfinite(value):
        return "–"
    text = f"{value:,.0f}"
    return "0" if text == "-0" else text.replace("-", "−")


def percent(share: float) -> str:
    if not math.isfinite(share):
        return "–"
    written = f"{100 * share:.3g}" if abs(share) < 9.995 else f"{100 * share:,.0f}"
    return f"{written} %".replace("-", "−")


def one_place(share: float) -> str:
    return f"{100 * share:.1f} %".replace("-", "−") if math.isfinite(share) else "–"


def number(value: float, digits: int = 1) -> str:
    return f"{value:,.{digits}f}".replace("-", "−") if math.isfinite(value) else "–"


def kwh(joule: float) -> str:
    return f"{amount(float(f'{joule / KWH:.3g}'))} kWh"


def tonnes(kg: float) -> str:
    return f"{three_digits(kg / 1000)} t"


def bought(option: OptionResult) -> float:
    """Electricity and fuel of a year. [J]"""
    return option.specific_energy * float(np.sum(option.year.resin))


def specific_of(p: Proposal, value: float) -> str:
    unit = shown_unit("specific energy", p.case.model.case.units)
    return f"{three_digits(float(to_unit(value, 'specific energy', unit)))} {unit}"


OVERHAULS = "Simple payback, overhauls counted"
"""Name of the payback that the cash flow gives."""


def payback_of(option: OptionResult, digits: int = 1) -> str:
    """With overhauls and price rises in it."""
    assert option.measures is not None
    return paid_back(option.measures, "payback", digits, " years")


def saving_of(p: Proposal, option: OptionResult) -> float:
    """At prices of year 0. [money/year]"""
    return p.base.total_cost - option.total_cost


BESIDE = ("request", "readings", "scenarios")
"""Parts of a case that move no figure of the comparison."""


def degrees(unit: str) -> str:
    return {"degC": "°C", "degF": "°F"}.get(unit, unit)
