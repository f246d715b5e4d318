"""The whole plant's electricity in the Compare view: left out, twelve months typed in, or a file that the case names."""

from __future__ import annotations

import math

from dashboards import lists
from dashboards.form import Part
from dashboards.month_tables import month_table, rows_of
from dashboards.panel import Panel, words
from dashboards.state import State
from energy.study.compare import KWH
from energy.study.meter import plant_load
from energy.study.paths import written
from energy.study.schema import PlantMonth

HEADS = {"energy": "Energy", "peak": "Peak"}
FILES = ("table", "file")
_SAID = {
    "": "Bills are those of the dryers alone; ratchets and demand know no other load.",
    "months": "Of the plant's bills, present dryers included. Cells of a sheet can be pasted.",
}


class PlantLoadInputs:
    """Part of the panel for the plant's own load."""

    def __init__(self, panel: Panel) -> None:
        self._panel, self.state = panel, panel.state

    def part(self) -> Part:
        """A choice and the table, folded."""
        given = self._given()
        said = {"": "left out", "months": "twelve months"}.get(given, "from a file")
        return self._panel.fold(
            "plant_load", "Electricity of the whole plant", self._inside, under=["plant_load"], said=said
        )

    def _given(self) -> str:
        """What the document has: months, table, file or nothing."""
        return next((key for key in ("months", *FILES) if written(self.state.document, f"plant_load.{key}")), "")

    def _inside(self) -> list[Part]:
        state, given = self.state, self._given()
        options = [("left out", ""), ("twelve months typed in", "months")]
        if given in FILES:
            options.append((f"{written(state.document, f'plant_load.{given}')}, a file of the case", given))
        choice: Part = {
            "id": "plant_load:kind",
            "kind": "field",
            "as": "choice",
            "label": "Load of the plant",
            "options": options,
            "value": given,
            "hint": _SAID.get(given, "Read from the file beside the case."),
            "problem": state.problem_of("plant_load"),
            "acts": {"value": self._choose},
        }
        if given != "months":
            return [choice]
        table = month_table(state, "plant_load.months", PlantMonth, HEADS, "Months of the plant's electricity", {})
        return [choice, table, words("plant_load:said", "Energy over all hours, and the highest power that is billed.")]

    def _choose(self, kind: str) -> None:
        if kind == "":
            self.state.set({"plant_load": None})
        elif kind == "months" and self._given() != "months":
            self.state.set({"plant_load": {"months": months_now(self.state)}})
            if not self.state.problems:
                self.state.notice = (
                    "The months begin with what is known so far: put the figures of the bills in their place."
                )


def months_now(state: State) -> list[lists.Row]:
    """Twelve months to begin with: those of the file so far, else of the present dryers alone, which changes no bill."""
    comparison, case = state.comparison, state.comparison.case
    if case.model.plant_load is not None:
        known, _ = plant_load(case, case.tariffs["electricity"])
        energy, peak = known.energy, known.peak
    else:
        year = comparison.baseline.year
        carriers = ("electricity", "compressed air")
        energy = sum(
            (v + 0.0 * year.resin for (_, c), v in year.energy.items() if c in carriers), start=0.0 * year.resin
        )
        peak = year.most(carriers)
    units = {"energy": (KWH, "kWh"), "peak": (1e3, "kW")}

    def shown(key: str, value: float) -> str:
        size, unit = units[key]
        return f"{math.ceil(10.0 * value / size) / 10.0:.10g} {unit}"

    return rows_of({"energy": energy, "peak": peak}, shown)
