"""A hot-air dryer of 30 kg/h of PA66-GF30, and what was read at it: with return air that fits, and with one that does not."""

from __future__ import annotations

from typing import Any

from cases import PRESENT, document

from energy.study.case import Case, build
from energy.walkthrough.baseline import readings_from
from energy.walkthrough.walk import Walkthrough, walk

HOPPER = "H1 PA66-GF30"
AIR = {
    "process_temperature": "79 degC",
    "hall_temperature": "31 degC",
    "hall_dew_point": "8.5 degC",
    "dew_point": "8 degC",
    "duct_diameter": "80 mm",
    "velocity_in": "process duct",
    "shell_temperature": "48 degC",
}
FITTING = {**AIR, "return_temperature": "43 degC", "air_velocity": "4.1 m/s", "power": "1.4 kW"}
NOT_FITTING = {**AIR, "return_temperature": "58 degC", "air_velocity": "5.5 m/s", "power": "2.6 kW"}
"""The air gives 0.6 kW in the hopper, where resin, water and shell take 1 kW."""


def document_of(kind: str = "hot-air", inputs: dict[str, Any] | None = None, **hopper: Any) -> dict[str, Any]:
    """One hopper with a dryer of this type."""
    whole = document(PRESENT)
    whole["hoppers"] = [
        {
            "name": HOPPER,
            "resin": "PA66",
            "own_resin": {"name": "PA66-GF30", "specific_heat": "1.45 kJ/(kg K)", "bulk_density": "720 kg/m3"},
            "throughput": {"value": "30 kg/h", "low": "27 kg/h", "high": "33 kg/h", "basis": "measured"},
            "drying_temperature": "80 degC",
            "residence_time": "5 h",
            "initial_moisture": "0.3 %",
            "target_moisture": "0.15 %",
            **hopper,
        }
    ]
    whole["options"] = [{"name": "Present", "type": kind, "baseline": True, "inputs": inputs or {}}]
    whole.pop("readings", None)
    return whole


def case_of(kind: str = "hot-air", **hopper: Any) -> Case:
    """The same as a checked case."""
    return build(document_of(kind, **hopper), file="case.toml")


def walked(case: Case | None = None, **read: Any) -> Walkthrough:
    """The walkthrough with these readings."""
    return walk(case or case_of(), readings_from({"hopper": HOPPER, "date": "2026-07-14", **read}))
