"""The conventions of a study in plain sentences, to be printed beside its results."""

from __future__ import annotations

from collections.abc import Mapping

from energy.finance.factors import RateBasis, Timing, is_mid, is_nominal, real_rate
from energy.finance.tax import Tax


def conventions(
    *,
    rate: float,
    years: int,
    escalation: Mapping[str, float] | None = None,
    timing: Timing = "end",
    rate_basis: RateBasis = "real",
    inflation: float = 0.0,
    delay: float = 0.0,
    capital_year: int = 0,
    tax: Tax | None = None,
) -> list[str]:
    """What the cash flow and its measures take for granted under these settings, one sentence each.

    Parameters
    ----------
    rate : float
        Discount rate. [1/year]
    years, escalation, timing, rate_basis, inflation, delay, capital_year, tax
        As for `cash_flow`, for one case.

    Returns
    -------
    list of str
        Sentences, each true on its own.

    Raises
    ------
    OutOfRangeError
        A rate of -100 % or less.
    UnknownNameError
        A timing or a rate basis that is not known.
    """
    mid, nominal = is_mid(timing), is_nominal(rate_basis)
    money = "current money" if nominal else "constant money of year 0"
    said = [f"Year 0 is the base date; every option is judged over the same {_years(years)}."]
    real = f", which is {_percent(float(real_rate(rate, inflation)))} real at {_percent(inflation)} inflation"
    said.append(
        f"The discount rate of {_percent(rate)} is {rate_basis}{real if nominal and inflation else ''}; "
        f"all amounts are in {money}."
    )
    said.append(
        ("What is saved or spent over a year counts in its middle" if mid else "Yearly amounts fall at the year's end")
        + "; capital, replacements and residual value fall at the end of their year."
    )
    said.append(
        f"Capital and incentives fall {'on the base date' if capital_year == 0 else f'at the end of year {capital_year}'}"
        f"{' and are not discounted' if capital_year == 0 else ''}; money spent before the decision is left out."
    )
    if delay:
        said.append(f"Savings start {_years(delay)} after the base date; a year begun counts by its share.")
    rises = [f"{name} {_percent(e)}" for name, e in (escalation or {}).items() if e]
    over = "" if nominal else " above inflation"
    grown = f"rise by these rates a year{over}: {', '.join(rises)}" if rises else f"stay level in {money}"
    first = f" {'half a year of' if mid else 'one'} rise is already in the amount of year 1." if rises else ""
    others = ", other prices stay level;" if rises else "."
    said.append(f"Prices of year 0 {grown}{others}{first}")
    if nominal:
        said.append(
            f"Later capital, replacements and residual value rise with inflation, {_percent(inflation)} a year."
        )
    said.append(
        "The residual value is the cost of the equipment times the share of its service life not yet used at the end"
        + (", and service begins with the savings." if delay else ".")
    )
    if delay:
        said.append(
            "What is bought is replaced so many years after its service began; replacements that fall due before that are left out, "
            "since the present machines go on until then in any case."
        )
    said.append(
        "A payback counts from the base date to the last time the money added up rises to zero; "
        "there is none when that is not within the study period."
    )
    said.append("A rate of return is given only where exactly one discount rate brings the net present value to zero.")
    said.append(
        "The adjusted rate of return puts savings out again at the discount rate; the savings-to-investment ratio counts "
        "capital, incentive, replacements and residual value as the investment."
    )
    return said + _on_tax(tax, inflation, nominal)


def _on_tax(tax: Tax | None, inflation: float, nominal: bool) -> list[str]:
    if tax is None:
        return ["All amounts are before tax."]
    deducted = {
        "macrs-5": "by the half-year table of 5 years in IRS Publication 946, Table A-1",
        "macrs-7": "by the half-year table of 7 years in IRS Publication 946, Table A-1",
        "straight-line": f"in equal shares over {_years(tax.life or 0)}",
        "first-year": "at once in the first year",
        "own": f"by a table of its own over {_years(len(tax.shares))}",
    }[tax.depreciation]
    incentive = {
        "lowers basis": "An incentive lowers the cost that is deducted and is not taxed.",
        "income": "An incentive is taxed as income a year after it is received and leaves the cost deducted as it is.",
        "untaxed": "An incentive is not taxed and leaves the cost deducted as it is.",
    }[tax.incentive]
    eroded = (
        "" if nominal else f" Deductions are fixed in money and lose worth by {_percent(inflation)} inflation a year."
    )
    return [
        f"All amounts are after tax at {_percent(float(tax.rate))}; ask your finance department for rate and rules.",  # type: ignore[arg-type]
        f"The cost is deducted {deducted}, from the year of service begun.{eroded}",
        incentive,
        "Replacements are deducted in their year; the residual value is taxed on what it brings above the cost not yet "
        "deducted; a loss saves tax in its year; the tax saved by deductions counts with the investment.",
    ]


def _percent(rate: float) -> str:
    return f"{100 * rate:.4g} %"


def _years(number: float) -> str:
    return f"{number:g} year{'' if number == 1 else 's'}"
