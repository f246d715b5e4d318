"""A walkthrough for programs."""

from __future__ import annotations

import json
from typing import Any

from energy.reports.moisture_words import of_pellets
from energy.reports.walkthrough import contradicted, gap_row, nothing_counts, verdict, wider
from energy.study.compare import CAUTIONS
from energy.walkthrough.estimate import COVERAGE
from energy.walkthrough.of_type import left_out_of_type
from energy.walkthrough.walk import Walkthrough
from energy.walkthrough.with_meter import beside_the_meter


def to_json(walkthrough: Walkthrough) -> str:
    """The walkthrough as JSON; SI units but for those in the names."""
    told, year, units = walkthrough.balance, walkthrough.year, walkthrough.case.model.case.units
    made: dict[str, Any] = {
        "hopper": told.found.readings.hopper,
        "date": told.found.readings.date,
        "by": told.found.readings.by,
        "note": told.found.readings.note,
        "type": told.found.machine.type,
        "currency": walkthrough.case.currency,
        "specific_energy_Wh_per_kg": told.specific_energy / 3600.0,
        "expanded_uncertainty_Wh_per_kg": told.expanded / 3600.0,
        "specific_energy_range_Wh_per_kg": [end / 3600.0 for end in told.range],
        "coverage_factor": COVERAGE,
        "throughput_kg_per_h": 3600.0 * told.throughput.value,
        "expanded_uncertainty_of_throughput_kg_per_h": 3600.0 * COVERAGE * told.throughput.uncertainty,
        "throughput_is": told.throughput.origin,
        "wider_because": wider(walkthrough),
        "expected_Wh_per_kg": told.expected / 3600.0,
        "least_Wh_per_kg": walkthrough.least / 3600.0,
        "below_least": walkthrough.impossible,
        "verdict": verdict(walkthrough),
        "to_check": [
            {"reading": d.reading, "text": d.text, "left_out": d.name in told.found.aside} for d in walkthrough.doubts
        ],
        "rests_on_nothing_read": nothing_counts(walkthrough),
        "power_W": told.power.value,
        "energy_kWh_per_year": year.energy / 3.6e6,
        "cost_per_year": year.cost,
        "cost_range_per_year": [*walkthrough.cost_range],
        "marginal_price_per_kWh": year.price * 3.6e6,
        "agrees": told.agrees,
        "contradictions": contradicted(walkthrough),
        "parts_W": {t.name: [t.value, COVERAGE * t.uncertainty, t.origin] for t in told.parts},
        "hopper_W": {t.name: [t.value, COVERAGE * t.uncertainty, t.origin] for t in (*told.hopper, *told.circuit)},
        "gaps": [
            {"name": g.name, "read": g.read, "expected": g.expected, "size": g.size, "word": gap_row(g, units)[3]}
            for g in walkthrough.gaps
        ],
        "pellets": _pellets(walkthrough),
        "findings": [
            {
                "name": c.name,
                "text": c.text,
                "physics": c.physics,
                "settled_by": c.settled_by,
                "energy_kWh_per_year": c.energy / 3.6e6,
                "money_per_year": c.money,
            }
            for c in walkthrough.causes
        ],
        "money_beside_the_meter": beside_the_meter(walkthrough),
        "next_readings": [
            {"name": n.name, "how": n.how, "expanded_uncertainty_Wh_per_kg": COVERAGE * n.uncertainty / 3600.0}
            for n in walkthrough.next_readings
        ],
        "readings_that_locate": [{"name": c.name, "how": c.how} for c in walkthrough.locating],
        "not_read": [*told.missing],
        "not_of_this_type": left_out_of_type(told.found),
        "notes": [*told.notes],
        "cautions": [*CAUTIONS],
    }
    return json.dumps(made, indent=2, ensure_ascii=False)


def _pellets(walkthrough: Walkthrough) -> dict[str, Any] | None:
    """Moisture read of the pellets leaving; by dry basis, but for the sentences."""
    made = walkthrough.pellets
    if made is None:
        return None
    found, units = walkthrough.balance.found, walkthrough.case.model.case.units
    return {
        "moisture": made.read.value,
        "expanded_uncertainty": made.read.expanded,
        "target": made.target,
        "floor": made.floor,
        **dict(zip(("predicted", "low", "high"), made.band or (None, None, None), strict=True)),
        "diffusivity_m2_per_s": made.diffusivity,
        "text": of_pellets(found, made, units),
    }
