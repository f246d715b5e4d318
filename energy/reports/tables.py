"""The comparison as JSON and as a table on a terminal."""

from __future__ import annotations

import json
import math
from collections.abc import Iterable
from typing import Any

import numpy as np

from energy import __version__
from energy.dryers.base import END_USES
from energy.reports.answer import YEAR, answer, resin_of_hopper
from energy.study.compare import CAUTIONS, KWH, Comparison, OptionResult
from energy.study.cost import Measures, before_or_after_tax
from energy.study.finding import Finding
from energy.study.predicted_moisture import Moisture
from energy.tariffs import Saving, Tariff
from energy.units import shown_unit, to_unit

_COSTS = {"electricity": "electricity", "gas": "gas", "water": "cooling", "maintenance": "maintenance"}
"""Lines of a year's cost and what they are called."""


def to_json(comparison: Comparison) -> str:
    """The comparison as JSON text; keys name their unit."""
    return json.dumps(to_dict(comparison), indent=2, allow_nan=False)


def to_dict(comparison: Comparison) -> dict[str, Any]:
    """The comparison as plain data; numbers that do not exist are None, with a note beside them."""
    case, given = comparison.case, comparison.case.model.finance
    return _rounded(
        {
            "case": case.name,
            "version": __version__,
            "duty": _plant(comparison),
            "hoppers": [_hopper(comparison, place) for place in range(len(comparison.duties))],
            "currency": case.currency,
            "tariffs": {commodity: f"{t.name}: {describe(t)}" for commodity, t in case.tariffs.items()},
            "finance": {
                "rate": given.rate,
                "rate_basis": given.rate_basis,
                "years": given.years,
                "escalation_electricity": given.escalation_electricity,
                "escalation_gas": given.escalation_gas,
                "escalation_other": given.escalation_other,
                "maximum_payback_years": None if given.maximum_payback is None else given.maximum_payback / YEAR,
            },
            "resins": list(dict.fromkeys(resin.abbreviation for resin in case.resins)),
            "answer": answer(comparison),
            "options": [_option(o) for o in comparison.options],
            "cautions": list(CAUTIONS),
        }
    )


def _rounded(value: Any) -> Any:
    """Plain data with numbers to fourteen digits, which hides the last bits of unit conversions."""
    if isinstance(value, dict):
        return {k: _rounded(v) for k, v in value.items()}
    if isinstance(value, list):
        return [_rounded(v) for v in value]
    return float(f"{value:.14g}") if isinstance(value, float) else value


def _plant(comparison: Comparison) -> dict[str, float]:
    """The hall and the hours, the same for every option."""
    d, calendar = comparison.duty, comparison.case.calendar
    return {
        "throughput_kg_h": sum(float(duty.throughput[0]) for duty in comparison.duties) * 3600,
        "hall_temperature_c": float(d.hall_temperature.mean()) - 273.15,
        "hall_dew_point_c": float(d.hall_dew_point.mean()) - 273.15,
        "dampest_month_dew_point_c": float(d.hall_dew_point.max()) - 273.15,
        "production_h": float(calendar.production.sum()) / 3600,
        "standby_h": float(calendar.standby.sum()) / 3600,
        "starts": float(calendar.starts.sum()),
    }


def _hopper(comparison: Comparison, place: int) -> dict[str, Any]:
    """What every option was given to do at one hopper."""
    d, hopper = comparison.duties[place], comparison.case.model.hoppers[place]
    return {
        "name": hopper.name,
        "resin": comparison.case.resins[place].abbreviation,
        "throughput_kg_h": float(d.throughput[0]) * 3600,
        "running": float(hopper.running),
        "drying_temperature_c": float(d.drying_temperature[0]) - 273.15,
        "residence_h": float(d.residence_time[0]) / 3600,
        "initial_moisture_ppm": float(to_unit(float(d.initial_moisture[0]), "moisture", "ppm")),
    }


def _number(value: float | None) -> float | None:
    return None if value is None or not math.isfinite(value) else float(value)


def _ppm(moisture: float | None) -> float | None:
    return None if moisture is None else float(to_unit(moisture, "moisture", "ppm"))


def _hours(seconds: float | None) -> float | None:
    return None if seconds is None else seconds / 3600


def _moisture(moisture: Moisture) -> dict[str, float | None]:
    return {
        "target_ppm": _ppm(moisture.target),
        "predicted_ppm": _ppm(moisture.predicted),
        "low_ppm": _ppm(moisture.low),
        "high_ppm": _ppm(moisture.high),
        "floor_ppm": _ppm(moisture.floor),
        "residence_h": moisture.residence / 3600,
        "diffusion_h": _hours(moisture.diffusion_time),
        "needed_h": _hours(moisture.needed),
        "needed_surely_h": _hours(moisture.needed_surely),
    }


def _findings(findings: Iterable[Finding]) -> list[dict[str, Any]]:
    return [
        {
            "check": f.check,
            **({"hopper": f.hopper} if f.hopper else {}),
            "value": _number(f.value),
            "limit": _number(f.limit),
            "unit": f.unit,
            "verdict": f.verdict,
            "text": f.text,
        }
        for f in findings
    ]


def _saving(saving: Saving) -> dict[str, Any]:
    """What the bill of one meter falls by against the baseline."""
    return {
        "lines": [
            {"line": s.line, "clause": s.clause, "first_year": float(s.first_year), "steady": float(s.steady)}
            for s in saving.lines
        ],
        "first_year": float(saving.first_year),
        "steady": float(saving.steady),
        "demand_realised": _number(saving.demand_realised()),
        "average_price_estimate": _number(float(saving.average_estimate)),
        "average_price_error": _number(saving.average_error),
    }


def _option(o: OptionResult) -> dict[str, Any]:
    m, top = o.measures, o.sizing
    by_use = {use: sum(v for (u, c), v in o.energy.items() if u == use and c != "cooling") / KWH for use in END_USES}
    by_use = {use: value for use, value in by_use.items() if value > 0}
    heat_in = {k: v / KWH for k, v in o.heat_in.items()}
    heat_out = {k: v / KWH for k, v in o.heat_out.items()}
    return {
        "name": o.name,
        "type": o.option.type,
        "arrangement": o.option.arrangement,
        "baseline": o.option.baseline,
        "dries": o.verdict.overall,
        "dries_word": o.verdict.word,
        "findings": _findings(o.verdict.findings),
        "plant": _findings(o.notes),
        "moisture": _moisture(o.verdict.moisture),
        "hoppers": [
            {
                "name": served.hopper.name,
                "type": served.machine.type,
                "dries": served.verdict.overall,
                "moisture": _moisture(served.verdict.moisture),
            }
            for served in o.served
        ],
        "sizing": {
            "hopper_m3": top["hopper_volume"],
            "airflow_m3_h": top["airflow"] * 3600,
            "process_heater_kw": top["process_heater"] / 1e3,
            "regeneration_heater_kw": top["regeneration_heater"] / 1e3,
            "blower_kw": top["blower"] / 1e3,
            "compressed_air_m3_min": top["compressed_air"] * 60,
            "desiccant_kg": top["desiccant"],
        },
        "energy_kwh": {**by_use, "total": sum(by_use.values())},
        "carriers": {
            "electricity_kwh": o.carrier("electricity") / KWH,
            "gas_kwh": o.carrier("gas") / KWH,
            "compressed_air_kwh": o.carrier("compressed air") / KWH,
            "cooling_kwh": o.carrier("cooling") / KWH,
            "water_m3": float(np.sum(o.year.water)),
        },
        "specific_energy_wh_per_kg": o.specific_energy / 3600,
        "minimum_wh_per_kg": o.minimum_energy / 3600,
        "peak_kw": o.peak / 1e3,
        "energy_by_month_kwh": [float(v) / KWH for v in _by_month(o)],
        "energy_by_month_and_use_kwh": {
            use: [float(v) / KWH for v in months] for use, months in by_month_and_use(o).items()
        },
        "energy_by_state_kwh": {k: float(np.sum(v)) / KWH for k, v in o.year.by_state().items()},
        "co2_kg": o.emissions,
        "heat_balance_kwh": {
            "in": heat_in,
            "out": heat_out,
            "residual": sum(heat_in.values()) - sum(heat_out.values()),
        },
        "bill": [{"line": line.line, "clause": line.clause, "amount": line.amount} for line in o.bill],
        "annual_cost": {**o.annual_cost, "total": o.total_cost},
        "saving": {name: _saving(saving) for name, saving in o.savings.items()},
        "cost_by_end_use": dict(o.cost_by_end_use),
        "capital": o.capital,
        "priced": o.priced,
        "cash_flow": None if m is None else [float(x) for x in m.cash_flow],
        "npv": None if m is None else _number(m.npv),
        "irr": None if m is None else _number(m.irr),
        "irr_note": "the baseline itself" if m is None else m.irr_note,
        "simple_payback_years": None if m is None else _number(m.simple_payback),
        "payback_without_replacements_years": None if m is None else _number(m.payback_on_savings),
        "discounted_payback_years": None if m is None else _number(m.discounted_payback),
        "payback_note": "the baseline itself" if m is None else m.payback_note,
        "sir": None if m is None else _number(m.sir),
        "airr": None if m is None else _number(m.airr),
        "life_cycle_cost": o.life_cycle_cost,
    }


def by_month_and_use(o: OptionResult) -> dict[str, np.ndarray]:
    """Electricity and fuel of each month by end use, shape (12,). [J]"""
    found: dict[str, np.ndarray] = {}
    for (use, carrier), energy in o.year.energy.items():
        if carrier != "cooling" and np.any(energy > 0.0):
            found[use] = found.get(use, 0.0) + energy + 0.0 * o.year.resin
    return found


def _by_month(o: OptionResult) -> np.ndarray:
    """Electricity and fuel of each month. [J]"""
    return np.asarray(sum(v + 0.0 * o.year.resin for (_, carrier), v in o.year.energy.items() if carrier != "cooling"))


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
    energy_columns = ["electricity kWh/year", "gas kWh/year", "cooling kWh/year", "peak kW"]
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
                f"{o.carrier('gas') / KWH:,.0f}",
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
            [[o.name, *(f"{o.annual_cost[k]:,.0f}" for k in _COSTS), f"{o.total_cost:,.0f}"] for o in options],
            left=1,
        ),
    ]
    best = next((o for o in comparison.in_order() if o.savings and o.verdict.overall != "fail"), None)
    if best is not None:
        lines += ["", *_bill_saving(best, money)]
    lines += ["", *_end_uses(options, unit), "", *_sizes(options, system), "", *_prices(comparison)]
    doubts = [(o, o.verdict.reasons()) for o in comparison.options if o.verdict.reasons()]
    if doubts:
        lines += ["", "Does it dry?"]
        for o, reasons in doubts:
            lines += [f"  {o.name}: {o.verdict.word}"] + [f"    - {reason}" for reason in reasons]
    lines += ["", "What the plant gives and takes (no part of the drying verdict)"]
    for o in options:
        lines += [f"  {o.name}"] + [f"    - {note.text}" for note in o.notes]
    lines += ["", "Cautions"] + [f"  - {c}" for c in CAUTIONS]
    return "\n".join(lines)


def _bill_saving(o: OptionResult, money: str) -> list[str]:
    """What the bills fall by with one option, line by line."""
    rows = [
        [line.line, line.clause, f"{line.first_year:,.0f}", f"{line.steady:,.0f}"]
        for saving in o.savings.values()
        for line in saving.lines
        if max(abs(line.first_year), abs(line.steady)) >= 0.5
    ]
    if not rows:
        return [f"The bills stay as they are with {o.name}."]
    title = f"What the bills fall by with {o.name}, {money} a year at prices of the base year (minus is what rises)"
    return [title, *_table(["line", "clause", "first year", "later years"], rows)]


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


def paybacks(m: Measures) -> str:
    """Simple payback in years, in brackets that on running cost alone where replacements are spared or added."""

    def years(value: float) -> str:
        return f"{value:.1f}" if math.isfinite(value) else "none"

    alone = f" ({years(m.payback_on_savings)})" if np.any(m.streams["replacements"] != 0.0) else ""
    return years(m.simple_payback) + alone


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
    return [title, *_table(["option", *uses, "total", "minimum"], rows, left=1)]


def _used(o: OptionResult, use: str) -> float:
    """Electricity and fuel of one end use. [J]"""
    return sum(v for (u, carrier), v in o.energy.items() if u == use and carrier != "cooling")


def sizes(options: list[OptionResult], system: str) -> tuple[list[str], list[list[str]]]:
    """How big each machine is: headings with units, and a row for each option that begins with its name."""
    si = system == "si"
    volume, flow, air = ("m3", "m3/h", "m3/min") if si else ("ft3", "acfm", "cfm")
    mass = shown_unit("mass", system)
    head = ["option", f"hopper {volume}", f"air {flow}", "heater kW", "regeneration kW", "blower kW"]
    head += [f"desiccant {mass}", f"compressed-air {air}"]
    rows = []
    for o in options:
        s = o.sizing
        rows.append(
            [
                o.name,
                _figure(float(to_unit(s["hopper_volume"], "volume", volume))),
                f"{to_unit(s['airflow'], 'volume flow', flow):,.0f}",
                *(_figure(s[key] / 1e3) for key in ("process_heater", "regeneration_heater", "blower")),
                _figure(float(to_unit(s["desiccant"], "mass", mass))),
                _figure(float(to_unit(s["compressed_air"], "volume flow", air))),
            ]
        )
    return head, rows


SIZES = (
    "air at the blower's inlet, or as free air (1 bar, 20 degC or 68 degF) where compressed; heater for a start from cold; "
    "regeneration heater while it heats, without margin; motor rating of the blower"
)


def _sizes(options: list[OptionResult], system: str) -> list[str]:
    head, rows = sizes(options, system)
    return [f"How big: {SIZES}", *_table(head, rows, left=1)]


def _figure(value: float) -> str:
    """Three significant digits; a dash for what there is not."""
    return "-" if value <= 0 else f"{value:.3g}" if value < 1e3 else f"{value:,.0f}"


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
    share, once = (
        100 * float(case.model.tariffs.coincidence),
        "once" if case.model.finance.timing == "end" else "half a year",
    )
    lines.append(
        f"  demand: {share:.3g} % of the dryers' peak is taken to fall on the billing peak (tariffs.coincidence); electricity "
        "in the table includes the compressor's"
    )
    lines.append(
        f"  {before_or_after_tax(case)}; year-1 amounts are escalated {once}; value left in machines counted where a life is stated, not "
        "in payback"
    )
    return lines


def describe(tariff: Tariff) -> str:
    """The prices of a tariff in one line."""
    return " + ".join(tariff.describe())


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
