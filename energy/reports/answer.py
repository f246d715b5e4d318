"""The answer in one sentence."""

from __future__ import annotations

import math

from energy.study.compare import Comparison, OptionResult


def money(amount: float, currency: str) -> str:
    """Amount to three significant digits with its currency, thousands separated."""
    if not math.isfinite(amount):
        return "-"
    digits = 0 if amount == 0 else max(0, 2 - math.floor(math.log10(abs(amount))))
    rounded = round(amount, 2 - math.floor(math.log10(abs(amount)))) if amount else 0.0
    return f"{rounded:,.{min(digits, 2)}f} {currency}"


def years(value: float) -> str:
    """Years to one decimal."""
    return f"{value:.1f} years"


def answer(comparison: Comparison) -> str:
    """Which option that dries the resin costs least over its life, what it saves, when it pays back."""
    case, currency = comparison.case, comparison.case.currency
    ranked, base = comparison.ranked(), comparison.baseline
    period = case.model.finance.years
    if not ranked:
        return f"None of the options dries {case.resin.abbreviation} to its target. The reasons stand in the table."
    best = ranked[0]
    if best is base:
        text = (
            f"Keep the {_lower(base.name)}: over {period} years no other option that dries {case.resin.abbreviation} costs less. "
            f"It costs {money(base.total_cost, currency)} a year to run."
        )
    else:
        saving = base.total_cost - best.total_cost
        text = (
            f"Lowest life-cycle cost of the options that dry {case.resin.abbreviation}: {best.name}, "
            f"{money(best.total_cost, currency)} a year to run. Against the {_lower(base.name)} it "
            f"{'saves' if saving >= 0 else 'costs'} {money(abs(saving), currency)} a year{_payback(best)}."
        )
    if best.verdict.overall == "caution":
        text += " It dries with caution: see its checks."
    if base.verdict.overall == "fail":
        text += f" The {_lower(base.name)} does not dry {case.resin.abbreviation} to its target."
    return text


def _payback(best: OptionResult) -> str:
    measures = best.measures
    assert measures is not None
    if math.isfinite(measures.simple_payback):
        return f" and pays back its {best.capital:,.0f} in {years(measures.simple_payback)}"
    return f" ({measures.payback_note})" if measures.payback_note else ""


def _lower(name: str) -> str:
    """Name of an option inside a sentence: a leading capital goes unless more capitals follow, as in PET."""
    return name[0].lower() + name[1:] if len(name) > 1 and name[1].islower() else name
