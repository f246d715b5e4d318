"""Where the numbers of the tables come from: formula in words, the figures of the option, what went in with its basis, source."""

from __future__ import annotations

import html
import re
from calendar import month_name
from collections.abc import Iterator
from math import ceil

import numpy as np

from dashboards.markup import escape
from dashboards.where_words import FEEDS, WORDS
from energy.reports.amounts import three_digits
from energy.reports.doubts import OLD_PEAKS
from energy.reports.inputs import Input, register
from energy.reports.paid_back import paid_back
from energy.reports.resins import called as resin_called
from energy.reports.rows import in_a_row
from energy.reports.swap import why
from energy.reports.tables import GAS, describe, in_whole
from energy.study.compare import KWH, Comparison, OptionResult
from energy.study.life_cycle import before_or_after_tax, late_saving, life_cycle_parts
from energy.study.option_sections import Replacement
from energy.tariffs.saving import SavingLine
from energy.units import show, to_unit

MOST = 12
"""Inputs listed in one panel, those that the case gives before typical ones."""
_ELECTRIC = ("electricity", "compressed air")
_STATES = {"standby": "hot standby", "start": "start from cold"}
SIZES = {
    "hopper": ("hopper_volume", "volume", "m3", "ft3"),
    "air": ("airflow", "volume flow", "m3/h", "acfm"),
    "heater": ("process_heater", "power", "kW", "kW"),
    "regeneration": ("regeneration_heater", "power", "kW", "kW"),
    "blower": ("blower", "power", "kW", "kW"),
    "desiccant": ("desiccant", "mass", "kg", "lb"),
    "compressed air": ("compressed_air", "volume flow", "m3/min", "cfm"),
}
"""Columns of the table of sizes: key of the size, its kind, its unit in SI and US."""
_BY_DUTY = ("hopper", "air", "heater")
"""Sizes that follow from what each hopper is built for."""

_ONLY_WITH = {
    "gas": r"\.(escalation_gas|gas_factor|gas_efficiency|gas)$",
    "compressed air": r"^compressed_air\.",
}
"""Inputs that an option has nothing of, unless it buys that."""


def button(text: str, comparison: Comparison, option: OptionResult, column: str) -> str:
    """A number of a table as a button that opens its panel; a dash stays a dash."""
    if text in ("–", "-", ""):
        return text
    title = escape(f"Where {WORDS[column][0].lower()} of {option.name} comes from", quote=True)
    return f'<button type="button" class="why" popovertarget="{_mark(comparison, option, column)}" title="{title}">{text}</button>'


def panels(comparison: Comparison, system: str) -> str:
    """The panels of all options and columns."""
    inputs = register(comparison.case)
    found = []
    for o in comparison.options:
        place = f"options['{o.name}']"
        near = [line for line in inputs if not line.path.startswith("options[") or line.path.startswith(place)]
        found += [
            _panel(
                _mark(comparison, o, column),
                column,
                o.name,
                list(_numbers(comparison, o, column, system)),
                _fed(near, o, column),
            )
            for column in FEEDS
            if _there(o, column)
        ]
    return "".join(found)


def _there(o: OptionResult, column: str) -> bool:
    """Is there anything to explain? A dryer without a desiccant shows a dash."""
    if column == "gas":
        return o.carrier("gas") > 0.0
    return column not in SIZES or o.sizing[SIZES[column][0]] > 0.0


def line_of_bill(identity: str, shown: str, line: SavingLine, currency: str, option: str) -> str:
    """One number of the table of savings with its panel behind it."""
    numbers = [f"{line.line}: {line.first_year:,.0f} {currency} in the first year, {line.steady:,.0f} {currency} later"]
    made_of = why(line, currency)
    numbers.append(f"{made_of[:1].upper()}{made_of[1:]}.")
    panel = _panel(identity, "saving", option, numbers, [], f"Clause: {line.clause}." if line.clause else "")
    return f'<button type="button" class="why" popovertarget="{html.escape(identity)}">{shown}</button>{panel}'


def _mark(comparison: Comparison, option: OptionResult, column: str) -> str:
    place = [o.name for o in comparison.options].index(option.name)
    return f"why-{place}-{column.replace(' ', '-')}"


def _panel(identity: str, column: str, name: str, numbers: list[str], fed: list[str], source: str = "") -> str:
    title, formula, usual = WORDS[column]
    listed = "".join(f"<li>{escape(text)}</li>" for text in fed)
    return (
        f'<div popover id="{html.escape(identity)}" class="why-panel" role="group" aria-label="{escape(title, quote=True)}">'
        f"<h3>{escape(title)}: {escape(name)}</h3><p>{escape(formula)}</p>"
        + "".join(f'<p class="worked">{escape(text)}</p>' for text in numbers)
        + (f"<p>From:</p><ul>{listed}</ul>" if fed else "")
        + f'<p class="hint">{escape(source or usual)}</p></div>'
    )


def _fed(inputs: list[Input], option: OptionResult, column: str) -> list[str]:
    """The inputs behind a column with value, basis and note; those given first."""
    place = re.escape(f"options['{option.name}']")
    pattern = re.compile(FEEDS[column].replace("OPTION", place))
    beside = re.compile(
        "|".join(["$^", *(paths for carrier, paths in _ONLY_WITH.items() if option.carrier(carrier) == 0.0)])
    )
    elsewhere = _elsewhere(option, column)
    used = sorted(
        (
            line
            for line in inputs
            if pattern.match(line.path) and not beside.search(line.path) and not line.path.startswith(elsewhere)
        ),
        key=lambda line: line.assumed,
    )
    texts = [
        f"{_where(line)}: {_times(line.path, option)}{line.value}, {line.basis}{f' ({line.source})' if line.source else ''}"
        for line in used[:MOST]
    ]
    if len(used) > MOST:
        texts.append(f"and {len(used) - MOST} more; the register of the capital request lists all")
    return texts


def _elsewhere(option: OptionResult, column: str) -> tuple[str, ...]:
    """Where the inputs of hoppers, their resins and their dryers stand whose own dryers have nothing of a size, such as no blower."""
    if column not in SIZES or option.option.arrangement != "at the machine":
        return ()
    key = SIZES[column][0]
    there = [one for one in option.served if float(np.max(one.operation.sizing[key])) > 0.0]
    names, resins = {one.hopper.name for one in there}, {one.duty.resin.abbreviation for one in there}
    fed = tuple(
        place
        for one in option.served
        for place, has in (
            (f"hoppers['{one.hopper.name}']", one.hopper.name in names),
            (f"resin {one.duty.resin.abbreviation}.", one.duty.resin.abbreviation in resins),
        )
        if not has
    )
    differ = enumerate(option.option.machines, start=1)
    return fed + tuple(f"options['{option.name}'].machines[{i}]." for i, m in differ if m.hopper not in names)


def _times(path: str, option: OptionResult) -> str:
    """How often a line of capital is paid, where that is more than once."""
    line = re.search(r"\.capital\[(\d+)\]\.amount$", path)
    count = option.option.capital[int(line[1]) - 1].count if line else 1
    return f"{count} × " if count != 1 else ""


def _where(line: Input) -> str:
    """Label of an input, with the hopper, the dryer or the resin that it is of."""
    of = re.match(r"hoppers\['(.*?)'\]|resin (\S+?)\.", line.path)
    if of:
        return f"{line.label} of {of[1] or of[2]}"
    return f"{line.label}, dryer at {line.hopper}" if line.hopper else line.label


def _next(replacement: Replacement) -> str:
    """When the first is due, where that is not an interval from now."""
    return "" if replacement.next_due is None else f", the first in {replacement.next_due:.3g}"


def _numbers(comparison: Comparison, o: OptionResult, column: str, system: str) -> Iterator[str]:
    """The formula with this option's numbers in it."""
    money, finance, m = comparison.case.currency, comparison.case.model.finance, o.measures
    if column == "to run":
        cooled = {"water": " and ".join(c for c in ("cooling", "water") if c in comparison.case.tariffs) or "cooling"}
        parts = [
            f"{cooled.get(name, name)} {amount:,.0f}" for name, amount in o.annual_cost.items() if abs(amount) >= 0.5
        ]
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
        if np.isfinite(m.payback):
            added, last = np.cumsum(m.cash_flow), max(ceil(m.payback) - 1, 0)
            ends = [f"{added[year]:,.0f} at the end of year {year}" for year in (last, last + 1) if year < added.size]
            yield f"Added up: {', '.join(ends)} {money}"
        if np.isfinite(m.capital_over_saving):
            saving = comparison.baseline.total_cost - o.total_cost
            yield (
                f"Extra capital less incentive over a year's net saving of {saving:,.0f} {money} at today's prices, before tax, no overhaul "
                f"in it: {m.capital_over_saving:.1f} years"
            )
        if np.any(m.streams["replacements"] != 0.0):
            alone = paid_back(m, "payback_on_savings", unit=" years", never="never")
            yield f"In brackets, on running cost alone, without the replacements spared or added: {alone}"
    elif column == "net savings" and m is not None:
        late = late_saving(comparison.case, m)
        base, own, rest = in_whole([comparison.baseline.life_cycle_cost, -o.life_cycle_cost, late], m.npv)
        peaks = f", {'less' if rest < 0 else 'plus'} {abs(rest):,} {OLD_PEAKS[rest > 0]}" if rest else ""
        yield f"{base:,} less {-own:,}{peaks} = {m.npv:,.0f} {money}"
    elif column == "life-cycle cost":
        parts = life_cycle_parts(comparison.case, o.option, o.annual_cost)
        whole = in_whole([*parts.values()], o.life_cycle_cost)
        told = [f"{'−' if v < 0 else '+'} {name} {abs(v):,}" for name, v in zip(parts, whole, strict=True) if v]
        yield f"In present value: {' '.join(told).removeprefix('+ ')} = {o.life_cycle_cost:,.0f} {money}"
        yield (
            f"{o.total_cost:,.0f} {money} a year at prices of the base year over {finance.years} years, "
            f"discounted at {100 * finance.rate:.3g} % {finance.rate_basis}, {before_or_after_tax(comparison.case)}"
        )
        for replacement in o.option.replacements:
            yield f"{replacement.item}: {replacement.amount:,.0f} {money} every {replacement.every:.3g} years{_next(replacement)}"
    elif column == "energy":
        electricity, gas = (o.carrier("electricity") + o.carrier("compressed air")) / KWH, o.carrier("gas") / KWH
        resin = show(float(o.year.resin.sum()), "mass", system)
        bought = f"{electricity:,.0f} kWh of electricity" + (
            f" and {gas:,.0f} kWh of gas{_in_us(gas, system)}" if gas else ""
        )
        yield f"{bought} over {resin} of resin = {show(o.specific_energy, 'specific energy', system)}"
        if any(machine.delivered_dew_point is not None for machine in o.machines):
            yield "The dew point that was read of its air counts for what the resin dries to, and changes no energy: its meter has that."
    elif column in ("electricity", "gas"):
        yield from _bought(o, _ELECTRIC if column == "electricity" else ("gas",))
        if column == "gas" and system == "us":
            gas = o.carrier("gas") / KWH
            yield f"{gas:,.0f} kWh{_in_us(gas, system)}"
    elif column == "peak":
        yield _peak(o)
    elif column in SIZES:
        yield _of_machines(o, column, system)
        for served in o.served[:4] if column in _BY_DUTY else ():
            duty = served.duty.built_for
            built = show(float(duty.design_throughput.max()), "mass flow", system)
            hot = show(float(duty.drying_temperature.max()), "temperature", system)
            stay = show(float(duty.residence_time.max()), "time", "h")
            yield f"{served.hopper.name}: built for {built} of {resin_called(served.hopper, duty.resin)}, {hot}, {stay}"


def _in_us(gas: float, system: str) -> str:
    """The same gas [kWh] as it is billed there."""
    return f" ({to_unit(gas * KWH, 'energy', GAS[system]):,.0f} {GAS[system]})" if system == "us" else ""


def _bought(o: OptionResult, carriers: tuple[str, ...]) -> Iterator[str]:
    """A year's energy by end use, then by operating state. Both add up to the same."""
    uses: dict[str, float] = {}
    states: dict[str, float] = {}
    for (use, carrier), energy in o.energy.items():
        if carrier in carriers:
            uses[use] = uses.get(use, 0.0) + energy / KWH
    for (state, _, carrier), energies in o.year.energy_in.items():
        if carrier in carriers:
            state = _STATES.get(state, state)
            states[state] = states.get(state, 0.0) + float(np.sum(energies)) / KWH
    for parts in (uses, states):
        shown = [f"{name} {amount:,.0f}" for name, amount in parts.items() if amount >= 0.5]
        if len(shown) > 1 or (shown and parts is uses):
            yield f"{' + '.join(shown)}{f' = {sum(parts.values()):,.0f}' if len(shown) > 1 else ''} kWh a year"


def _peak(o: OptionResult) -> str:
    """The end uses in the state and month in which their sum is greatest."""
    whole = 0.0 * o.year.resin
    parts = {key: power + whole for key, power in o.year.peak_in.items() if key[2] in _ELECTRIC}
    found: tuple[float, str, int] = (0.0, "", 0)
    for state in dict.fromkeys(key[0] for key in parts):
        together = sum((power for key, power in parts.items() if key[0] == state), start=whole)
        month = int(together.argmax())
        found = max(found, (float(together[month]), state, month))
    most, state, month = found
    uses = [(key[1], power[month] / 1e3) for key, power in parts.items() if key[0] == state and power[month] >= 50.0]
    shown = " + ".join(f"{use} {power:,.1f}" for use, power in uses)
    return f"{month_name[month + 1]}, {_STATES.get(state, state)}: {shown} = {most / 1e3:,.1f} kW"


def _of_machines(o: OptionResult, column: str, system: str) -> str:
    """The size of every machine, or of the largest of several portable ones, and their sum."""
    key, kind, si, us = SIZES[column]
    sign = si if system == "si" else us

    def figure(value: float) -> str:
        return f"{three_digits(float(to_unit(value, kind, sign)))} {sign.replace('3', '³')}"

    machines: dict[int, tuple[list[str], float]] = {}
    moved = [float(np.max(one.operation.sizing[key])) for one in o.served if one.machine.moved]
    for served in o.served:
        size = float(np.max(served.operation.sizing[key]))
        if size == 0.0 or served.machine.moved:
            continue
        names, _ = machines.setdefault(id(served.machine), ([], size))
        names.append(served.hopper.name)

    def named(names: list[str]) -> str:
        return "all hoppers" if len(names) == len(o.served) > 2 else in_a_row(names)

    listed = [f"{named(names)} {figure(size)}" for names, size in machines.values()]
    if moved and max(moved) > 0.0:
        listed.insert(0, f"{o.option.units or 1} dryers of the largest size, {figure(max(moved))}")
    return f"{' + '.join(listed)} = {figure(o.sizing[key])}" if len(listed) > 1 or moved else listed[0]
