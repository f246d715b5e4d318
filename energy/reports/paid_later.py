"""What has to be said where the capital is paid after the base date."""

from __future__ import annotations

from energy.study.compare import Comparison
from energy.study.form import entries
from energy.study.life_cycle import delay_of, terms
from energy.study.price_sections import Finance


def saved_before_paid(comparison: Comparison, *, page: bool = False) -> list[str]:
    """Said where savings count from before the capital is paid: right for a supplier who waits for the money, else too good.

    What to state is told by the keys of the case, on a `page` by the names of its fields.
    """
    case = comparison.case
    paid, delay = case.model.finance.capital_year, float(delay_of(case))
    if not paid > delay or not any(o.capital for o in comparison.options):
        return []
    fields = entries(Finance)
    when, start = (f"“{fields[key].label}”" if page else f"finance.{key}" for key in ("capital_year", "delay"))
    first, last = int(delay) + 1, paid
    these = f"year {first}" if first == last else f"years {first} to {last}"
    return [
        f"The capital is paid at the end of year {paid} ({when}), and the saving of {these} is counted before that: right where the dryers run "
        f"before they are paid, as with a supplier who waits for the money. Where they start only when they are paid, set {start} to "
        f'"{paid} year"{" under More on money" if page else ""}: else net savings and rate of return come out too high.'
    ]


def paid_then(comparison: Comparison, capital: float) -> str:
    """When a capital is paid and what it has come to by then, in a few words; empty where it is paid on the base date. [money]"""
    year = comparison.case.model.finance.capital_year
    if not year:
        return ""
    said, grown = f"paid at the end of year {year}", grown_by_then(comparison)
    return (
        f"{said}, when it is {capital * grown:,.0f} {comparison.case.currency} with inflation" if grown != 1.0 else said
    )


def grown_by_then(comparison: Comparison) -> float:
    """Capital when it is paid over that at prices of the base date: in current money it rises with inflation. [-]"""
    how = terms(comparison.case)
    return 1.0 if how["rate_basis"] == "real" else float((1.0 + how["inflation"]) ** how["capital_year"])
