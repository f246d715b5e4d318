"""Energy, cost and payback of plastics pellet dryers, compared on a plant's own duty and prices.

>>> import energy
>>> comparison = energy.compare(energy.load_case("demo"))
>>> comparison.to_frame()  # doctest: +SKIP
"""

from __future__ import annotations

from importlib import import_module
from typing import TYPE_CHECKING, Any

from energy.errors import CaseError, EnergyError

if TYPE_CHECKING:
    from energy.reports.document import write_report
    from energy.study.case import Case, load_case
    from energy.study.compare import Comparison, compare
    from energy.study.simulate import Simulation, simulate

__version__ = "0.1.0"

__all__ = [
    "Case",
    "CaseError",
    "Comparison",
    "EnergyError",
    "Simulation",
    "compare",
    "load_case",
    "simulate",
    "write_report",
]

# Loaded when they are asked for, so that the command line can print its help without numpy.
_HOMES = {
    "Case": "energy.study.case",
    "load_case": "energy.study.case",
    "Comparison": "energy.study.compare",
    "compare": "energy.study.compare",
    "Simulation": "energy.study.simulate",
    "simulate": "energy.study.simulate",
    "write_report": "energy.reports.document",
}


def __getattr__(name: str) -> Any:
    if name not in _HOMES:
        raise AttributeError(f"module 'energy' has no attribute '{name}'")
    return getattr(import_module(_HOMES[name]), name)


def __dir__() -> list[str]:
    return sorted({*globals(), *__all__})
