"""A case in the reader's units: what its inputs show, and how a number typed in is read."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from dashboards.case_state import CaseState
from energy.errors import EnergyError
from energy.study.paths import written
from energy.units import Quantity, parse, shown_unit, to_unit, with_unit


class ShownCase(CaseState):
    """What stands in its inputs: numbers in the units shown, or as they were written where they do not parse."""

    def text_at(self, path: str, kind: str, fallback: float | None, unit: str = "") -> str:
        """The value at a path as a number in the unit shown, or in one named; what does not parse stands as it was written."""
        return self.text_of(written(self.document, path), kind, fallback, unit)

    def text_of(self, raw: Any, kind: str, fallback: float | None, unit: str = "") -> str:
        """The same of what a document says, which may be nothing."""
        given = raw.get("value") if isinstance(raw, Mapping) else raw
        try:
            # Capital in lines is shown as their sum.
            value = fallback if given is None or isinstance(given, list) else parse(given, kind)
        except EnergyError:
            return str(given)
        if value is None:
            return ""
        shown = unit or self.unit(kind)
        return format_number(to_unit(value, kind, shown), exact=isinstance(given, str) and given.endswith(shown))

    def unit(self, kind: str) -> str:
        """Unit in which a kind is shown and in which a bare number is read."""
        if kind == "pressure":
            return "bar(g)" if self.system == "si" else "psig"
        return shown_unit(kind, self.system, str(self.document.get("case", {}).get("currency", "")))

    def unit_of(self, quantity: Quantity) -> str:
        """Unit in which a quantity of the schema is shown and in which a bare number is read: its own, or the US one for it."""
        if not quantity.shown:
            return self.unit(quantity.kind)
        return quantity.unit(self.system, str(self.document.get("case", {}).get("currency", "")))

    def with_unit(self, text: str, kind: str, unit: str = "") -> str:
        """What was typed, with the unit shown (or the one named) put behind a bare number."""
        return with_unit(text, unit or self.unit(kind))


def format_number(value: float, *, exact: bool = True) -> str:
    """Six significant digits of a number as typed, four of one that was converted; what is large in full, with no exponent."""
    if 1e5 <= abs(value) < 1e12:
        return f"{value:.12g}" if exact else f"{value:.0f}"
    return f"{value:.6g}" if exact or abs(value) >= 1e4 else f"{value:.4g}"
