"""A plant in two shifts, hot at night and cold at the weekend, and what its present dryer buys in a year."""

from __future__ import annotations

from energy.study.case import Case
from energy.study.compare import compare

SHIFTS = {
    "calendar.production_hours": None,
    "calendar.shifts": [
        {"name": "early", "days": ["mon", "tue", "wed", "thu", "fri"], "start": "06:00", "end": "14:00"},
        {"name": "late", "days": ["mon", "tue", "wed", "thu", "fri"], "start": "14:00", "end": "22:00"},
    ],
    "calendar.standby_up_to": "10 h",
}


def bought(at: Case) -> tuple[float, float]:
    """Electricity and fuel of the present dryer in a year, and what a year costs. [J], [USD]"""
    counted = compare(at).baseline
    return sum(v for (_, carrier), v in counted.energy.items() if carrier != "cooling"), counted.total_cost
