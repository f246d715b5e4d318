"""The check afterwards on the page: a table of metered periods typed or pasted, and what it says."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from dashboards.markup import escape
from dashboards.state import State
from dashboards.words import Lines
from energy.errors import CaseError, EnergyError
from energy.reports import afterwards
from energy.study.compare import Comparison
from energy.study.paths import written
from energy.tariffs.readers import metered_periods_from_text
from energy.units import parse, to_unit

PATH = "request.verification.metered"
HINT = (
    "Paste a table: columns when (before or after), days, resin (kg), electricity (kWh) and, where they are metered, gas (kWh, or m3 where the tariff "
    "has its heating value) and compressed air (kWh); four weeks or more before. It is kept with the case."
)
_COLUMNS = {
    "when": ("when", "", ""),
    "days": ("days", "", ""),
    "resin": ("resin (kg)", "mass", "kg"),
    "electricity": ("electricity (kWh)", "energy", "kWh"),
    "gas": ("gas (kWh)", "energy", "kWh"),
    "gas_volume": ("gas (m3)", "volume", "m3"),
    "compressed_air": ("compressed air (kWh)", "energy", "kWh"),
}
"""By key, the header, and kind and unit of what stands below it."""


class MeteredPeriods(Lines):
    """The periods as a table in text, with tabs between its cells as a spreadsheet gives and takes them."""

    def __init__(self, state: State) -> None:
        super().__init__(state, PATH, "Metered before and after", HINT)

    def _parsed(self, text: str) -> Any:
        try:
            return metered_periods_from_text(text)
        except CaseError:  # kept as it is, and told below
            return text

    def _printed(self, value: Any) -> str:
        if isinstance(value, str):
            return value
        rows = [row for row in value if isinstance(row, Mapping)]
        keys = [key for key in _COLUMNS if any(key in row for row in rows)]
        table = [[_COLUMNS[key][0] for key in keys], *([_cell(row.get(key, ""), key) for key in keys] for row in rows)]
        return "\n".join("\t".join(cells) for cells in table)

    def problem(self) -> str:
        """What is wrong with the table as it stands there, before what the case says of it."""
        value = written(self._state.document, self.path)
        if isinstance(value, str):
            try:
                metered_periods_from_text(value)
            except CaseError as error:
                return str(error)
        return super().problem()


def _cell(value: Any, key: str) -> str:
    kind, unit = _COLUMNS[key][1:]
    try:
        if kind:
            return f"{to_unit(parse(value, kind), kind, unit):.10g}"
        return f"{value:g}" if isinstance(value, float) else str(value)
    except EnergyError:
        return str(value)


def result(comparison: Comparison) -> str:
    """Markup of what the metered periods say; empty where there are none."""
    case = comparison.case
    if not case.model.request.verification.metered:
        return ""
    try:
        found = afterwards.check(comparison)
    except CaseError as error:
        told = " ".join(problem.message for problem in error.problems)
        return f'<h3>Check afterwards</h3><p class="problem" role="status">Metered: {escape(told)}.</p>'
    first, *rest = afterwards.sentences(found, case.currency)
    items = "".join(f"<li>{escape(line)}</li>" for line in rest)
    return f"<h3>Check afterwards: {escape(found.option)}</h3><p><strong>{escape(first)}</strong></p><ul>{items}</ul>"
