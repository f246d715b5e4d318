"""A swap of dryers on a bill, in words: why each line falls, and whether an average price would have misled."""

from __future__ import annotations

from energy.reports.bill import figure, money
from energy.reports.demand_words import demand_words
from energy.study.bills import average_price_words
from energy.study.swap import Swap
from energy.tariffs.saving import SavingLine
from energy.units.currencies import decimals, least


def sentences(made: Swap) -> list[str]:
    """What the bill falls by, what an average price would have said, and how much of the demand saving is real."""
    saving, tariff = made.saving, made.tariff
    if saving is None:
        return [
            f"Neither {made.option.name} nor {made.baseline.name} uses {tariff.commodity}: this bill stays as it is."
        ]
    fall, first, before = float(saving.steady), float(saving.first_year), float(saving.before)
    unit = saving.currency
    verb = "falls" if fall >= 0 else "rises"
    text = (
        f"With {made.option.name} in place of {made.baseline.name} the year's {tariff.commodity} bill {verb} from "
        f"{money(before, unit)} to {money(before - fall, unit)} {unit}, by {money(abs(fall), unit)}"
    )
    if abs(fall - first) > 1.0:
        text += f"; in the first year by {money(first, unit)} only, since a ratchet still bills the old peaks"
    found = [f"{text}. {_unrounded(unit)}", average_price_words(saving)]
    if made.option.verdict.overall == "fail":
        found.insert(
            0, f"{made.option.name} fails to dry the resin (see Compare): what it saves is told for comparison only."
        )
    if made.factor != 1.0:
        found.append(
            f"All amounts are {100 * made.factor:.4g} % of what the tariff says, as the case counts its bills."
        )
    if made.moved_to:
        found.append(
            f"The hours of this invented tariff are taken on the clock of the plant's readings, {made.moved_to}."
        )
    return [*found, *filter(None, [demand_words(saving, lambda amount: f"{money(amount, unit)} {unit}")])]


def _unrounded(currency: str) -> str:
    """Why the sums of a swap are not those of a printed bill to the last digit."""
    digit = "cents" if decimals(currency) == 2 else f"{least(currency):g} {currency}"
    return f"Nothing is rounded before the end here; a bill rounds every line of every month to {digit}, so that its sum may be a few {digit} off."


def why(line: SavingLine, currency: str) -> str:
    """Why a line of the bill falls, rises or stays, in a few words."""
    amount, first, less = float(line.steady), float(line.first_year), float(line.quantity)
    small = 0.5 * least(currency)
    if max(abs(amount), abs(first)) < small:
        return "whatever the load" if line.group == "fixed" else "stays as it is"
    more = "less" if less >= 0 else "more"
    if line.unit == currency:
        text = f"{_rates(line, currency)} of lines that come to {money(abs(less), currency)} {more}"
    elif line.group == "demand" and line.months > 1:
        text = f"{figure(abs(less) / line.months)} {line.unit} {more} on average in {line.months} months at {_rates(line, currency)}"
    else:
        text = f"{figure(abs(less))} {line.unit} {more} at {_rates(line, currency)}"
    if abs(amount - first) > small:
        text += "; in the first year the peaks before still count"
    return text


def _rates(line: SavingLine, currency: str) -> str:
    if line.unit == currency:
        shown = [f"{100 * rate:,.6g} %" for rate in line.rates]
    else:
        unit = f"({line.unit})" if " " in line.unit else line.unit
        shown = [f"{rate:,.6g} {currency}/{unit}" for rate in line.rates]
    return shown[0] if len(shown) == 1 else f"{len(shown)} rates through the year"
