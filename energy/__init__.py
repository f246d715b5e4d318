"""Energy, cost and payback of plastics pellet dryers, compared on a plant's own duty and prices.

>>> import energy
>>> comparison = energy.compare(energy.load_case("demo"))
>>> comparison.to_frame()  # doctest: +SKIP
"""

from __future__ import annotations

from energy.errors import CaseError, EnergyError
from energy.study.case import Case, load_case
from energy.study.compare import Comparison, compare

__version__ = "0.1.0"

__all__ = ["Case", "CaseError", "Comparison", "EnergyError", "compare", "load_case"]
