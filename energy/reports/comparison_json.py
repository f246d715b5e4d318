"""The comparison as JSON: plain data whose keys name their unit."""

from __future__ import annotations

import json
import math
from collections.abc import Iterable
from typing import Any

import numpy as np

from energy import __version__
from energy.dryers.base import END_USES
from energy.reports.amounts import YEAR
from energy.reports.answer import answer
from energy.reports.plant_notes import plant_notes
from energy.reports.resins import called as resin_called
from energy.reports.tables import describe
from energy.study.compare import CAUTIONS, KWH, Comparison, OptionResult
from energy.study.finding import Finding
from energy.study.predicted_moisture import Moisture
from energy.study.price_sections import Finance
from energy.tariffs import Saving
from energy.units import to_unit


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
            "finance": _finance(given),
            "resins": list(dict.fromkeys(map(resin_called, case.model.hoppers, case.resins))),
            "answer": answer(comparison),
            "options": [_option(comparison, o) for o in comparison.options],
            "cautions": list(CAUTIONS),
        }
    )


def _finance(given: Finance) -> dict[str, Any]:
    """How money counts; measures and cash flows are after tax where there is one, and before it where that is None."""
    tax = given.tax
    return {
        "rate": given.rate,
        "rate_basis": given.rate_basis,
        "years": given.years,
        "escalation_electricity": given.escalation_electricity,
        "escalation_gas": given.escalation_gas,
        "escalation_other": given.escalation_other,
        "maximum_payback_years": None if given.maximum_payback is None else given.maximum_payback / YEAR,
        "inflation": float(given.inflation),
        "timing": given.timing,
        "delay_years": float(given.delay) / YEAR,
        "capital_year": given.capital_year,
        "after_tax": tax is not None,
        "tax": None
        if tax is None
        else {
            "rate": float(tax.rate),
            "depreciation": tax.depreciation,
            "life_years": tax.life,
            "table": None if tax.table is None else [float(share) for share in tax.table],
            "incentive": tax.incentive,
        },
    }


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
        "resin": resin_called(hopper, comparison.case.resins[place]),
        "stored_resin": comparison.case.resins[place].abbreviation,
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


def _option(comparison: Comparison, o: OptionResult) -> dict[str, Any]:
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
        "plant": _findings(plant_notes(comparison, o)),
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
            use: [float(v) / KWH for v in months] for use, months in _by_month_and_use(o).items()
        },
        "energy_by_state_kwh": {k: float(np.sum(v)) / KWH for k, v in o.year.by_state().items()},
        "hall_kwh": {name: energy / KWH for name, energy in o.hall.items()},
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
        "incentive": float(o.option.incentive),
        "priced": o.priced,
        "cash_flow": None if m is None else [float(x) for x in m.cash_flow],
        "npv": None if m is None else _number(m.npv),
        "irr": None if m is None else _number(m.irr),
        "irr_note": "the baseline itself" if m is None else m.irr_note,
        "simple_payback_years": None if m is None else _number(m.payback),
        "capital_over_saving_years": None if m is None else _number(m.capital_over_saving),
        "payback_without_replacements_years": None if m is None else _number(m.payback_on_savings),
        "discounted_payback_years": None if m is None else _number(m.discounted_payback),
        "payback_note": "the baseline itself" if m is None else m.payback_note,
        "sir": None if m is None else _number(m.sir),
        "airr": None if m is None else _number(m.airr),
        "life_cycle_cost": o.life_cycle_cost,
    }


def _by_month_and_use(o: OptionResult) -> dict[str, np.ndarray]:
    """Electricity and fuel of each month by end use, shape (12,). [J]"""
    found: dict[str, np.ndarray] = {}
    for (use, carrier), energy in o.year.energy.items():
        if carrier != "cooling" and np.any(energy > 0.0):
            found[use] = found.get(use, 0.0) + energy + 0.0 * o.year.resin
    return found


def _by_month(o: OptionResult) -> np.ndarray:
    """Electricity and fuel of each month. [J]"""
    return np.asarray(sum(v + 0.0 * o.year.resin for (_, carrier), v in o.year.energy.items() if carrier != "cooling"))
