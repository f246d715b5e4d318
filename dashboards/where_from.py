"""Where the numbers of the tables come from: formula in words, what went in with its basis, source. All texts stand here."""

from __future__ import annotations

import re
from collections.abc import Iterator
from html import escape

from energy.reports.inputs import Input, register
from energy.reports.tables import describe
from energy.study.compare import KWH, Comparison, OptionResult
from energy.study.cost import before_or_after_tax
from energy.tariffs.saving import SavingLine
from energy.units import show

MOST = 7
"""Inputs listed in one panel, those that the case gives before typical ones."""
WORDS: dict[str, tuple[str, str, str]] = {
    "to run": (
        "Running cost a year",
        "Bill with this dryer less bill without any, plus maintenance; at prices of the base year, fixed charges left out.",
        "The case's tariffs, line by line.",
    ),
    "capital": (
        "Capital",
        "Sum of its lines, each so many units at so much, times what the project is taken to come to over its quotes.",
        "Quotes and estimates of the case; a bigger compressor is added where the option's air needs one.",
    ),
    "payback": (
        "Simple payback",
        "Years until the savings against the present machine have returned the extra capital for good, earned evenly over each year, "
        "not discounted; replacements spared count at their year's end.",
        "10 CFR 436.23.",
    ),
    "net savings": (
        "Net savings",
        "Life-cycle cost of the present machine less that of this option: the discounted sum of the yearly cash flow.",
        "NIST Handbook 135; ASTM E1074.",
    ),
    "life-cycle cost": (
        "Life-cycle cost",
        "Capital plus all years' running cost and replacements, escalated and discounted to the base date, less incentive and the "
        "value left at the end.",
        "ASTM E917; NIST Handbook 135.",
    ),
    "energy": (
        "Energy per resin",
        "Electricity and fuel bought in a year, standby and starts included, over the resin dried in it. Heat handed to cooling water "
        "is priced and not in it.",
        "The dryer's closed heat balance at each operating state; property data with sources in energy/data.",
    ),
    "hopper": (
        "Hopper volume",
        "Throughput that it is built for times residence time, over bulk density of the pellets and usable share of the hopper. "
        "Vacuum vessels and drums: by what a batch or the drum holds.",
        "Balance of volume; of several hoppers the sum.",
    ),
    "air": (
        "Airflow",
        "Throughput that it is built for times air per resin: the resin's usual, but enough to heat resin, water and shell with the "
        "margin below; as volume at the blower's inlet, or free air where compressed.",
        "Heat balance of the hopper, and practice for the resin.",
    ),
    "heater": (
        "Process heater",
        "The whole airflow from hall to drying temperature, and what the hot duct loses, over the heater's efficiency: a start from cold.",
        "Enthalpy of moist air.",
    ),
    "saving": (
        "Saving on a line of the bill",
        "This line of the bill with the present dryers less the same line with this option, at prices of the base year.",
        "",
    ),
}
"""Title, formula in words and source, by column."""
_FEEDS = {
    "to run": r"tariffs\.(coincidence|power_factor|electricity_factor)|OPTION\.maintenance",
    "capital": r"OPTION\.capital|compressed_air\.capital",
    "payback": r"OPTION\.(capital|incentive|replacements|maintenance)|finance\.(escalation|delay|timing)|tariffs",
    "net savings": r"finance\.|OPTION\.(capital|incentive|replacements|life|maintenance)",
    "life-cycle cost": r"finance\.|OPTION\.(capital|incentive|replacements|life|maintenance)",
    "energy": r"hoppers\[.*\.(throughput|drying_temperature|initial_moisture)|OPTION\.(inputs|machines|central)|site\.",
    "hopper": r"hoppers\[.*\.(throughput|residence_time)|OPTION\..*(built_for|usable_share)|resin .*\.(bulk_density|residence_time)",
    "air": r"hoppers\[.*\.throughput|OPTION\..*(built_for|air_resin_ratio|air_over_least)|resin .*\.air_resin_ratio",
    "heater": r"hoppers\[.*\.drying_temperature|OPTION\..*(heater_efficiency|gas_efficiency|heat_source|duct_length)|site\.|"
    r"resin .*\.drying_temperature",
}
"""Paths of the inputs that a column is worked out from."""


def button(text: str, comparison: Comparison, option: OptionResult, column: str) -> str:
    """A number of a table as a button that opens its panel; a dash stays a dash."""
    if text in ("–", "-", ""):
        return text
    title = escape(f"Where {WORDS[column][0].lower()} of {option.name} comes from", quote=True)
    return f'<button type="button" class="why" popovertarget="{_mark(comparison, option, column)}" title="{title}">{text}</button>'


def panels(comparison: Comparison, system: str) -> str:
    """The panels of all options and columns."""
    inputs = register(comparison.case)
    return "".join(
        _panel(
            _mark(comparison, o, column),
            column,
            o.name,
            list(_numbers(comparison, o, column, system)),
            _fed(inputs, o, column),
        )
        for o in comparison.options
        for column in _FEEDS
    )


def line_of_bill(identity: str, shown: str, line: SavingLine, currency: str, option: str) -> str:
    """One number of the table of savings with its panel behind it."""
    numbers = [f"{line.line}: {line.first_year:,.0f} {currency} in the first year, {line.steady:,.0f} {currency} later"]
    panel = _panel(identity, "saving", option, numbers, [], f"Clause: {line.clause}." if line.clause else "")
    return f'<button type="button" class="why" popovertarget="{escape(identity)}">{shown}</button>{panel}'


def _mark(comparison: Comparison, option: OptionResult, column: str) -> str:
    place = [o.name for o in comparison.options].index(option.name)
    return f"why-{place}-{column.replace(' ', '-')}"


def _panel(identity: str, column: str, name: str, numbers: list[str], fed: list[str], source: str = "") -> str:
    title, formula, usual = WORDS[column]
    listed = "".join(f"<li>{escape(text)}</li>" for text in fed)
    return (
        f'<div popover id="{escape(identity, quote=True)}" class="why-panel" role="group" aria-label="{escape(title, quote=True)}">'
        f"<h3>{escape(title)}: {escape(name)}</h3><p>{escape(formula)}</p>"
        + "".join(f'<p class="worked">{escape(text)}</p>' for text in numbers)
        + (f"<p>From:</p><ul>{listed}</ul>" if fed else "")
        + f'<p class="hint">{escape(source or usual)}</p></div>'
    )


def _fed(inputs: list[Input], option: OptionResult, column: str) -> list[str]:
    """The inputs behind a column with value, basis and note; those given first."""
    place = re.escape(f"options['{option.name}']")
    pattern = re.compile(_FEEDS[column].replace("OPTION", place))
    used = sorted((line for line in inputs if pattern.match(line.path)), key=lambda line: line.assumed)
    texts = [
        f"{_where(line)}: {line.value}, {line.basis}{f' ({line.source})' if line.source else ''}"
        for line in used[:MOST]
    ]
    if len(used) > MOST:
        texts.append(f"and {len(used) - MOST} more, which dryer-energy check lists")
    return texts


def _where(line: Input) -> str:
    """Label of an input, with the hopper or resin that it is of."""
    of = re.match(r"hoppers\['(.*?)'\]|resin (\S+?)\.", line.path)
    return f"{line.label} of {of[1] or of[2]}" if of else line.label


def _numbers(comparison: Comparison, o: OptionResult, column: str, system: str) -> Iterator[str]:
    """The formula with this option's numbers in it."""
    money, finance, m = comparison.case.currency, comparison.case.model.finance, o.measures
    if column == "to run":
        parts = [f"{name} {amount:,.0f}" for name, amount in o.annual_cost.items() if abs(amount) >= 0.5]
        yield f"{' + '.join(parts)} = {o.total_cost:,.0f} {money} a year"
        priced = ((c, t) for c, t in comparison.case.tariffs.items() if o.annual_cost.get(c, 1.0))
        for commodity, tariff in priced:
            yield f"{commodity}: {describe(tariff)}{' (invented)' if tariff.invented else ''}"
    elif column == "capital":
        for line in o.option.capital:
            yield f"{line.item}: {line.count} × {line.amount:,.0f} {money}"
        factor = float(o.option.capital_factor)
        yield f"Together{'' if factor == 1.0 else f', times {factor:.4g}'}: {o.capital:,.0f} {money}"
    elif column == "payback" and m is not None:
        yield f"Net cash, years 0 to 3: {', '.join(f'{a:,.0f}' for a in m.cash_flow[:4])} {money}"
    elif column == "net savings" and m is not None:
        base = comparison.baseline.life_cycle_cost
        yield f"{base:,.0f} less {o.life_cycle_cost:,.0f} = {m.npv:,.0f} {money}"
    elif column == "life-cycle cost":
        yield (
            f"{o.capital:,.0f} {money}, then {o.total_cost:,.0f} {money} a year at prices of the base year over {finance.years} years, "
            f"discounted at {100 * finance.rate:.3g} % {finance.rate_basis}, {before_or_after_tax(comparison.case)}"
        )
    elif column == "energy":
        electricity, gas = (o.carrier("electricity") + o.carrier("compressed air")) / KWH, o.carrier("gas") / KWH
        resin = show(float(o.year.resin.sum()), "mass", system)
        bought = f"{electricity:,.0f} kWh of electricity" + (f" and {gas:,.0f} kWh of gas" if gas else "")
        yield f"{bought} over {resin} of resin = {show(o.specific_energy, 'specific energy', system)}"
    elif column in ("hopper", "air", "heater"):
        for served in o.served[:4]:
            duty = served.duty.built_for
            built = show(float(duty.design_throughput.max()), "mass flow", system)
            hot = show(float(duty.drying_temperature.max()), "temperature", system)
            stay = show(float(duty.residence_time.max()), "time", "h")
            yield f"{served.hopper.name}: built for {built} of {duty.resin.abbreviation}, {hot}, {stay}"
