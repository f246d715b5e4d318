"""The inputs of the Compare view: the ten or so most used open, all others in sections that fold out."""

from __future__ import annotations

from collections.abc import Callable
from types import SimpleNamespace

from dashboards import lists
from dashboards.climate_inputs import ClimateInputs
from dashboards.duty_inputs import DutyInputs
from dashboards.entries import field, fields
from dashboards.form import Form, Part
from dashboards.money_inputs import MoneyInputs
from dashboards.option_inputs import OptionInputs
from dashboards.panel import Panel, words
from dashboards.plant_load_inputs import PlantLoadInputs
from dashboards.price_inputs import PriceInputs
from dashboards.scenario_inputs import ScenarioInputs
from dashboards.state import State
from energy.equipment.building import Building
from energy.equipment.cooler import CoolingPlant
from energy.sources import load
from energy.study.form import entries
from energy.study.plant_sections import Calendar, ShiftRow
from energy.study.price_sections import CompressedAir


class Inputs:
    """Describes the panel of inputs to its form; what is entered goes into the state."""

    def __init__(self, state: State) -> None:
        self.state = state
        self._panel = panel = Panel(state, self._parts)
        self._duty, self._prices, self._options = DutyInputs(panel), PriceInputs(panel), OptionInputs(panel)
        self._climate, self._plant_load = ClimateInputs(panel), PlantLoadInputs(panel)
        self._money, self._scenarios = MoneyInputs(panel), ScenarioInputs(panel)
        self.refresh, self.labels, self.unfold = panel.refresh, panel.labels, panel.unfold

    @property
    def form(self) -> Form:
        """What stands on the page."""
        return self._panel.form

    def _parts(self) -> list[Part]:
        model = self.state.case.model
        return [
            words("duty", "Duty", "title"),
            *self._duty.parts(),
            words("plant", "Plant", "title"),
            self._load(),
            *self._hours(),
            *self._climate.parts(),
            words("prices", "Prices", "title"),
            *self._prices.parts(),
            self._plant_load.part(),
            self._panel.section("compressed_air", "Compressed air", CompressedAir, model.compressed_air, load("plant")),
            self._panel.section(
                "cooling", "Cooling of the dryers' water", CoolingPlant, model.cooling, load("cooling")
            ),
            self._panel.section("building", "Heat to the building", Building, model.building, load("building")),
            words("money", "Money", "title"),
            *self._money.parts(),
            words("options", "Options", "title"),
            *self._options.parts(),
            words("what-if", "What if", "title"),
            self._scenarios.part(),
        ]

    def _load(self) -> Part:
        state = self.state
        hoppers = state.case.model.hoppers
        now = ""
        if all(len(h.levels) == 1 for h in hoppers):
            now = " Now every hopper has this one."
        elif any(h.levels for h in hoppers):
            now = " Now the levels of the case; their mean is shown."
        return {
            "id": "load",
            "kind": "field",
            "as": "range",
            "label": "Load of every hopper, %",
            "min": 10,
            "max": 100,
            "step": 1,
            "unit": "%",
            "value": str(round(100 * state.load)),
            "problem": "",
            "hint": f"Moving it puts every hopper at one load.{now}",
            "acts": {
                "value": lambda text: self._with_load(text, state.set_load),
                "ahead": lambda text: self._with_load(text, state.foresee_load),
            },
        }

    @staticmethod
    def _with_load(text: str, do: Callable[[float], None]) -> None:
        if text.isdecimal() and 10 <= int(text) <= 100:
            do(int(text) / 100.0)

    def _hours(self) -> list[Part]:
        state, given = self.state, self.state.case.model.calendar
        count = len(lists.rows(state.document, "calendar.shifts"))
        only_hours = field(
            state,
            "calendar.production_hours",
            entries(Calendar)["production_hours"],
            compared=SimpleNamespace(production_hours=self._production()),
            hint=state.calendar_note
            or (
                "From the shifts; a number typed in takes their place, and that of standby and starts." if count else ""
            ),
        )
        keys = [key for key in Calendar.model_fields if key != "production_hours"]
        return [
            only_hours,
            self._panel.fold(
                "shifts",
                "Shifts, stops, holidays",
                lambda: [
                    *self._shifts(),
                    *fields(state, "calendar", Calendar, compared=given, but=("production_hours",)),
                ],
                under=["calendar.shifts", *(f"calendar.{key}" for key in keys)],
                said=f"{count} shift{'s' if count > 1 else ''}" if count else "none",
            ),
        ]

    def _production(self) -> float:
        """Of the year as last compared. [s]"""
        return float(self.state.case.calendar.production.sum())

    def _shifts(self) -> list[Part]:
        state, document = self.state, self.state.document
        return self._panel.entries_of(
            "calendar.shifts",
            ShiftRow,
            "shift",
            lambda: state.set(lists.add_shift(document)),
            lambda i: state.set(lists.remove_shift(document, i, self._production() / 3600)),
            compared=state.case.model.calendar.shifts,
        )
