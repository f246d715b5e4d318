"""The comparison as tables and sentences on a terminal."""

from __future__ import annotations

from energy.dryers.base import END_USES
from energy.reports.answer import answer
from energy.reports.doubts import COLD
from energy.reports.drying_words import resin_of_hopper
from energy.reports.plant_notes import plant_notes
from energy.reports.tables import GAS, clock_taken, demand_counted, describe, paybacks, sizes, sizes_note
from energy.study import plant_readings
from energy.study.compare import CAUTIONS, KWH, Comparison, OptionResult
from energy.study.life_cycle import before_or_after_tax
from energy.units import shown_unit, to_unit

_COSTS = {"electricity": "electricity", "gas": "gas", "water": "cooling", "maintenance": "maintenance"}
"""Lines of a year's cost and what they are called."""


def to_text(comparison: Comparison, system: str) -> str:
    """The comparison as text for a terminal.

    Parameters
    ----------
    comparison : Comparison
    system : {"si", "us"}
        Units shown.
    """
    case, money = comparison.case, comparison.case.currency
    unit = shown_unit("specific energy", system)
    flow = shown_unit("mass flow", system)
    energy_columns = ["electricity kWh/year", f"gas {GAS[system]}/year", "cooling kWh/year", "peak kW"]
    head = ["option", "dries", unit, *energy_columns, f"running {money}/year", f"capital {money}"]
    head += [f"life-cycle cost {money}", f"net savings {money}", "payback years"]
    options = comparison.in_order()
    rows = []
    for o in options:
        m = o.measures
        payback = "baseline" if m is None else paybacks(m)
        rows.append(
            [
                o.name,
                o.verdict.word,
                f"{to_unit(o.specific_energy, 'specific energy', unit):.1f}",
                f"{(o.carrier('electricity') + o.carrier('compressed air')) / KWH:,.0f}",
                f"{to_unit(o.carrier('gas'), 'energy', GAS[system]):,.0f}",
                f"{o.carrier('cooling') / KWH:,.0f}",
                f"{o.peak / 1e3:.1f}",
                f"{o.total_cost:,.0f}",
                f"{o.capital:,.0f}" if o.priced else "no price",
                f"{o.life_cycle_cost:,.0f}" if o.priced else "-",
                "" if m is None or not o.held_out else f"{m.npv:,.0f}",
                payback if o.held_out else "-",
            ]
        )
    lines = [
        case.name,
        f"{_hoppers(comparison, flow)}, "
        f"{case.model.finance.years} years at {100 * case.model.finance.rate:.3g} % {case.model.finance.rate_basis}",
        "",
        *_table(head, rows),
        "payback in brackets: on running cost alone, without the replacements spared or added",
        "",
        answer(comparison),
        "",
        f"What a year costs, {money} (what the bills rise by with the dryer: fixed charges are left out)",
        *_table(
            ["option", *_COSTS.values(), "total"],
            [[o.name, *(_cost(o, k) for k in _COSTS), f"{o.total_cost:,.0f}"] for o in options],
            left=1,
        ),
    ]
    best = next((o for o in comparison.in_order() if o.savings and o.verdict.overall != "fail"), None)
    if best is not None:
        lines += ["", *_bill_saving(best, comparison.baseline, money)]
    lines += ["", *_end_uses(options, unit), "", *_sizes(options, system), "", *_prices(comparison)]
    doubts = [(o, o.verdict.reasons()) for o in comparison.options if o.verdict.reasons()]
    if doubts:
        lines += ["", "Does it dry?"]
        for o, reasons in doubts:
            lines += [f"  {o.name}: {o.verdict.word}"] + [f"    - {reason}" for reason in reasons]
    lines += ["", "What the plant gives and takes (no part of the drying verdict)"]
    of_readings = [note.text for note in comparison.baseline.notes if note.check == plant_readings.CHECK]
    lines += ["  with any option"] * bool(of_readings) + [f"    - {text}" for text in of_readings]
    for o in options:
        said = [note.text for note in plant_notes(comparison, o) if note.text not in of_readings]
        lines += [f"  {o.name}", *(f"    - {text}" for text in said)]
    lines += ["", "Cautions"] + [f"  - {c}" for c in CAUTIONS]
    return "\n".join(lines)


def _cost(o: OptionResult, key: str) -> str:
    amount = o.annual_cost[key]
    return "not given" if key == "maintenance" and not amount and not o.option.upkeep_given else f"{amount:,.0f}"


def _bill_saving(o: OptionResult, base: OptionResult, money: str) -> list[str]:
    """What the bills fall by with one option, line by line, and what the cost of a year falls by besides."""
    rows = [
        [line.line, line.clause, f"{line.first_year:,.0f}", f"{line.steady:,.0f}"]
        for saving in o.savings.values()
        for line in saving.lines
        if max(abs(line.first_year), abs(line.steady)) >= 0.5
    ]
    if not rows:
        return [f"The bills stay as they are with {o.name}."]
    title = f"What the bills fall by with {o.name}, {money} a year at prices of the base year (minus is what rises)"
    fall = base.total_cost - o.total_cost
    besides = fall - float(sum(saving.steady for saving in o.savings.values()))
    told = [title, *_table(["line", "clause", "first year", "later years"], rows)]
    if abs(besides) >= 0.5:
        told.append(
            f"Besides, upkeep, water of a cooling tower and the hall's heating and cooling: {besides:,.0f} a year, {fall:,.0f} in all."
        )
    return told


def _hoppers(comparison: Comparison, flow: str) -> str:
    """What is dried, hopper by hopper."""
    hoppers = comparison.case.model.hoppers
    parts = []
    for place, hopper in enumerate(hoppers):
        text = (
            f"{resin_of_hopper(comparison, place)} at {to_unit(float(hopper.throughput), 'mass flow', flow):.4g} {flow}"
        )
        parts.append(f"{hopper.name}: {text}" if len(hoppers) > 1 else text)
    return "; ".join(parts)


def _end_uses(options: list[OptionResult], unit: str) -> list[str]:
    """Energy bought per resin by what it is used for."""
    uses = [use for use in END_USES if any(_used(o, use) for o in options)]
    rows = []
    for o in options:
        per_use = [_used(o, use) for use in uses]
        whole = sum(per_use)
        specific = [v / whole * o.specific_energy for v in per_use] + [o.specific_energy, o.minimum_energy]
        rows.append([o.name, *(f"{to_unit(v, 'specific energy', unit):.1f}" for v in specific)])
    title = f"Where the energy goes, {unit} of resin (electricity and fuel; the minimum is resin warmed and water evaporated)"
    colds = [f"{o.name} {COLD}" for o in options if o.cold]
    return [title, *_table(["option", *uses, "total", "minimum"], rows, left=1), *colds]


def _used(o: OptionResult, use: str) -> float:
    """Electricity and fuel of one end use. [J]"""
    return sum(v for (u, carrier), v in o.energy.items() if u == use and carrier != "cooling")


def _sizes(options: list[OptionResult], system: str) -> list[str]:
    head, rows = sizes(options, system)
    return [f"How big: {sizes_note(system)}", *_table(head, rows, left=1)]


def _prices(comparison: Comparison) -> list[str]:
    """Tariffs the bill was worked out with, and what was assumed about money."""
    case = comparison.case
    lines = ["Prices"]
    for commodity, tariff in case.tariffs.items():
        lines.append(
            f"  {commodity}: {tariff.name}{' (invented)' if tariff.invented and 'invented' not in tariff.name else ''}: {describe(tariff)}"
        )
    if case.model.cooling is not None:
        lines.append(
            f"  cooling: the plant's own, {case.model.cooling.medium}; its electricity and water are in the costs"
        )
    elif "cooling" not in case.tariffs and any(o.carrier("cooling") > 0 for o in comparison.options):
        lines.append("  cooling: no tariff given; the heat taken by cooling water is counted as free")
    air = case.model.compressed_air
    if air is not None and air.cost is not None:
        lines.append("  compressed air: at its known cost")
    elif air is not None:
        lines.append(f"  compressed air: what one more cubic metre takes at a compressor under {air.control} control")
    if clock := clock_taken(case):
        lines.append(f"  {clock}")
    once = "once" if case.model.finance.timing == "end" else "half a year"
    lines.append(
        f"  demand: {demand_counted(case)} (tariffs.coincidence); electricity in the table includes the compressor's"
    )
    lines.append(
        f"  {before_or_after_tax(case)}; year-1 amounts are escalated {once}; value left in machines counted where a life is stated, not "
        "in payback"
    )
    return lines


def _table(head: list[str], rows: list[list[str]], left: int = 2) -> list[str]:
    """Left-aligned first columns, the rest right-aligned; headings of two lines keep it narrow."""
    widths = [max(len(w) for h in [head[i]] for w in h.split(" ", 1)) for i in range(len(head))]
    widths = [max([w, *(len(r[i]) for r in rows)]) for i, w in enumerate(widths)]
    parts = [h.split(" ", 1) if " " in h else [h] for h in head]

    def line(cells: list[str]) -> str:
        return "  ".join(
            c.ljust(w) if i < left else c.rjust(w) for i, (c, w) in enumerate(zip(cells, widths, strict=True))
        ).rstrip()

    first = line([p[0] if len(p) > 1 else "" for p in parts])
    second = line([p[-1] for p in parts])
    return [*([first] if first else []), second, "-" * (sum(widths) + 2 * (len(widths) - 1)), *(line(r) for r in rows)]
