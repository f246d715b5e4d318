"""The whole plant's electricity in the Compare view: left out, twelve months typed in, or a file that the case names."""

from __future__ import annotations

import math

from dashboards import lists
from dashboards.form import Part
from dashboards.month_tables import month_table, rows_of
from dashboards.own_files import clock_of, give, with_readings
from dashboards.panel import Panel, words
from dashboards.state import State
from dashboards.taken import of_plant_load
from dashboards.uploaded import from_file, told
from energy.errors import EnergyError
from energy.reports.tables import clock_taken
from energy.study.compare import KWH
from energy.study.meter import plant_load
from energy.study.paths import written
from energy.study.price_sections import PlantMonth
from energy.tariffs.known_load import read_meter
from energy.tariffs.readers import MonthlyTable

HEADS = {"energy": "Energy", "peak": "Peak"}
IN_UTC = "The time stamps are in UTC and the tariff names no clock: days and months are those of UTC. For another clock open the file on Bill."
FILES = ("table", "file", "readings")
_SAID = {
    "": "Bills are those of the dryers alone; ratchets and demand know no other load.",
    "readings": "In the case itself.",
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
            named = written(
                state.document, "plant_load.readings.source" if given == "readings" else f"plant_load.{given}"
            )
            options.append((f"readings of {named}", given))
        choice: Part = {
            "id": "plant_load:kind",
            "kind": "field",
            "as": "choice",
            "label": "Load of the plant",
            "options": options,
            "value": given,
            "hint": _SAID.get(given) or f"Read from the file beside the case. {clock_taken(state.case)}".strip(),
            "problem": state.problem_of("plant_load"),
            "acts": {"value": self._choose},
        }
        taken = self._panel.file(
            "meter",
            "Open readings of the meter",
            self._take,
            accept=".csv,.txt,.xml,.toml",
            hint="Interval readings of twelve months as CSV or ESPI XML, or a table of twelve months; they become part of the case. "
            "Bill asks for column, unit and time zone where a file does not say them.",
        )
        if given != "months":
            return [choice, taken]
        table = month_table(state, "plant_load.months", PlantMonth, HEADS, "Months of the plant's electricity", {})
        return [
            choice,
            taken,
            table,
            words("plant_load:said", "Energy over all hours, and the highest power that is billed."),
        ]

    def _take(self, name: str, data: bytes) -> str:
        tariff, in_utc = self.state.case.tariffs["electricity"], False
        try:
            found, _, said = from_file(name, data, lambda path: read_meter(path, tariff))
            before, changes = self.state.comparison, with_readings(found, tariff, name)
            in_utc = not isinstance(found, MonthlyTable) and clock_of(found, tariff) is None
            give(self.state, changes)
        except EnergyError as error:
            wrong = told(error, name, at_bill=False)
            return f"{wrong.rstrip('.')}. {IN_UTC}" if in_utc else wrong
        changed = of_plant_load(before, self.state.comparison)
        self.state.notice = " ".join(
            [f"{name} is the electricity of the case's plant now.", changed, *said, *([IN_UTC] if in_utc else [])]
        )
        return ""

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
