"""The air around the plant in the Compare view: one air all year, a climate by name, or twelve months typed in."""

from __future__ import annotations

from calendar import month_name

from dashboards import lists
from dashboards.entries import field, fields
from dashboards.form import Part
from dashboards.month_tables import month_table
from dashboards.own_files import give, with_weather
from dashboards.panel import Panel, words
from dashboards.state import MONTHS
from dashboards.taken import of_air
from dashboards.uploaded import told
from energy.errors import EnergyError
from energy.plant.climate import sample_names
from energy.sources import load
from energy.study.compare import Comparison
from energy.study.form import entries
from energy.study.schema import MonthRow, Site
from energy.units import show

SAMPLES = "Sample climates are invented; a weather file can be opened below."
HEADS = {
    "outdoor_temperature": "Outdoor",
    "outdoor_dew_point": "Dew point",
    "hall_temperature": "Hall",
    "hall_dew_point": "Dew point",
}


class ClimateInputs:
    """Parts of the panel for hall and outdoor air."""

    def __init__(self, panel: Panel) -> None:
        self._panel, self.state = panel, panel.state

    def parts(self) -> list[Part]:
        """The climate, its months where they are typed in, and the rest of the site folded."""
        typed = bool(lists.rows(self.state.document, "site.months"))
        return [self._climate(), *([self._months()] if typed else []), self._hall()]

    def _climate(self) -> Part:
        state = self.state
        given = state.climate
        known = list(dict.fromkeys([*sample_names(), *([given] if given not in ("", MONTHS) else [])]))
        part = field(
            state,
            "site.climate",
            entries(Site)["climate"],
            act=lambda text: state.set_climate(text or None),
            hint=_hall(state.comparison, state.system) if given else SAMPLES,
        )
        options = [("the same all year", ""), *((f"{name}, by month", name) for name in known)]
        return part | {"as": "choice", "options": [*options, ("typed in, month by month", MONTHS)], "value": given}

    def _months(self) -> Part:
        state, climate = self.state, self.state.case.climate
        counted = {key: getattr(climate, key) for key in HEADS} if climate is not None else {}
        said = "A hall left empty follows from the air outdoors (in grey). Cells of a sheet can be pasted."
        return self._panel.fold(
            "months",
            "Months of the climate",
            lambda: [
                month_table(state, "site.months", MonthRow, HEADS, "Months of the climate", counted),
                words("months:said", said),
            ],
            under=["site.months"],
            said="typed in",
        )

    def _hall(self) -> Part:
        state, case = self.state, self.state.case
        without = ["climate"]
        if state.climate:
            without += ["hall_temperature", "hall_dew_point"]
        if case.model.cooling is not None and case.climate is not None:
            without.append("cooling_water_temperature")
        return self._panel.fold(
            "hall",
            "Weather file, hall air, altitude, cooling water",
            lambda: [
                self._panel.file(
                    "weather",
                    "Open a weather file",
                    self._take,
                    accept=".epw,.csv",
                    hint="A year of hours as EPW or TMY3; its monthly means become part of the case. At most 10 MB.",
                ),
                *fields(state, "site", Site, compared=case.model.site, stored=load("plant"), but=without),
            ],
            under=[f"site.{key}" for key in Site.model_fields if key not in (*without, "months")],
        )

    def _take(self, name: str, data: bytes) -> str:
        before = self.state.comparison
        try:
            give(self.state, with_weather(name, data))
        except EnergyError as error:
            return told(error, name)
        said = of_air(before, self.state.comparison, self.state.system)
        self.state.notice = f"The months of {name} are the air around the plant now; the hall's follows from it. {said}"
        return ""


def _hall(comparison: Comparison, system: str) -> str:
    """The hall's air over the year of a climate, in a sentence."""
    duty = comparison.duty

    def degrees(kelvin: float) -> str:
        return show(float(kelvin), "temperature", system)

    dampest, hottest = int(duty.hall_dew_point.argmax()), int(duty.hall_temperature.argmax())
    return (
        f"Hall: mean {degrees(duty.hall_temperature.mean())}, dew point {degrees(duty.hall_dew_point.mean())}; hottest "
        f"{degrees(duty.hall_temperature.max())} in {month_name[hottest + 1]}, dampest a dew point of "
        f"{degrees(duty.hall_dew_point.max())} in {month_name[dampest + 1]}."
    )
