"""The Walkthrough view: one dryer, a few readings, an answer in front of it. For a tablet first."""

from __future__ import annotations

import os
from typing import Any

import ipywidgets as w

from dashboards import input_names, tables
from dashboards import walkthrough_cards as cards
from dashboards.case_bar import CaseBar
from dashboards.fields import Field, card
from dashboards.heartbeat import Heartbeat
from dashboards.input_names import told
from dashboards.launch import CASE_VARIABLE
from dashboards.markup import escape
from dashboards.page import show as show_page
from dashboards.walkthrough_state import RECORD, WalkState, in_words
from dashboards.words import MOST, without_label
from energy.reports.print_signs import pretty
from energy.reports.walkthrough import record
from energy.reports.walkthrough_words import label as label_of_type
from energy.resins.properties import resin_names
from energy.study.readings import QUANTITIES
from energy.walkthrough.of_type import becomes_input, has_desiccant

GROUPS: tuple[tuple[str, tuple[str, ...]], ...] = (
    ("Resin drawn", ("weighed_mass", "weighing_time", "throughput")),
    ("Air", ("process_temperature", "return_temperature", "hall_temperature", "dew_point")),
    ("Air flow", ("air_velocity", "duct_diameter", "blower_pressure")),
    ("Regeneration", ("regeneration_temperature", "regeneration_cycle", "regeneration_power")),
    ("Electricity", ("power", "current", "voltage", "power_factor")),
    ("Pellets", ("outlet_moisture",)),
    (
        "If there is time",
        (
            "heater_inlet_temperature",
            "shell_temperature",
            "desiccant_inlet_temperature",
            "return_dew_point",
            "hall_dew_point",
            "air_flow",
        ),
    ),
)
"""The readings in the order of a walk around a dryer."""
_HINTS = {
    "throughput": "Or instead of weighing.",
    "current": "Or instead of the power: read for a minute.",
    "air_flow": "Or instead of velocity and duct.",
    "outlet_moisture": "By moisture analyser, wet basis, or with its unit, such as 0.02 %. Behind ±, % is a share of it.",
}


class Reading(Field):
    """One reading: a number in the unit shown, with its accuracy behind a ± where it is not the usual one."""

    def __init__(self, state: WalkState, name: str) -> None:
        self.state, self.name, self._filling = state, name, False
        super().__init__(w.Text(continuous_update=False))
        self.refresh()
        self.control.observe(self._typed, "value")

    def _typed(self, change: dict[str, Any]) -> None:
        if not self._filling:
            self.state.read(self.name, str(change["new"])[:100])

    def refresh(self) -> None:
        """Take over value, unit, accuracy and problem from the state."""
        unit = pretty(self.state.unit_read(self.name))
        label = QUANTITIES[self.name].label if self.name != "power" else label_of_type(self.name, self.state.dryer_type)
        self._filling = True
        self.control.description = f"{label} ({unit})" if unit else label
        self.control.value = self.state.shown(self.name)
        self._filling = False
        told = _HINTS.get(self.name, "")
        if self.name == "power" and has_desiccant(self.state.dryer_type):
            told = "Over whole regeneration cycles."
        self.hint = f"{told} Usually {self.state.accuracy(self.name)}.".strip()
        self.tell(self.state.problem_of(self.name) or self.state.not_here(self.name) or self.state.to_check(self.name))
        self.box.layout.display = None if self.state.offered(self.name) else "none"


class Noted(Field):
    """Day, reader or note of the readings."""

    def __init__(self, state: WalkState, name: str) -> None:
        self.state, self.name, self._filling = state, name, False
        options: dict[str, Any] = {"continuous_update": False, "description": RECORD[name]}
        super().__init__(w.Textarea(rows=2, **options) if name == "note" else w.Text(**options))
        self.refresh()
        self.control.observe(self._typed, "value")

    def _typed(self, change: dict[str, Any]) -> None:
        if not self._filling:
            self.state.note_down(self.name, str(change["new"])[:MOST])
            self.refresh()  # a day that stands there already, written otherwise

    def refresh(self) -> None:
        """Take over text and problem from the state."""
        self._filling = True
        self.control.value = str(self.state.entry.get(self.name, ""))
        self._filling = False
        self.hint = self.state.record_hint() if self.name == "date" else ""
        self.tell(without_label(self.state.problem_of(self.name), self.name) or self.state.to_check(self.name))


def keep_hint(kind: str) -> str:
    """What becomes of the readings of a type of dryer."""
    said = ["The readings are in the case and are saved with it."]
    if inputs := becomes_input(kind):
        said.append(
            f"Those that are an input of the dryer ({', '.join(inputs)}) can take its place, so that the other views count with them."
        )
    said.append("A moisture of its pellets that the diffusion data allow becomes the resin's diffusivity.")
    still = "still " if inputs else ""
    said.append(f"Where power was read and the model {still}differs, the comparison is brought to the meter.")
    return " ".join(said)


class View:
    """Binds widgets to a state; computes nothing."""

    def __init__(self, state: WalkState) -> None:
        self.state = state
        self._filling = False
        self._units = w.ToggleButtons(options=[("SI", "si"), ("US", "us")], description="Units", value=state.system)
        self._hopper, self._resin = w.Dropdown(description="Dryer of"), w.Dropdown(description="Resin")
        self._where = w.ToggleButtons(options=["return duct", "process duct"], description="Velocity read in")
        self._control = w.ToggleButtons(
            options=[("not seen", None), ("timer", "timer"), ("dew point", "dew point")], description="Beds changed by"
        )
        self._readings = {name: Reading(state, name) for _, names in GROUPS for name in names}
        self._record = {name: Noted(state, name) for name in RECORD}
        self._clear = w.Button(description="Clear the readings")
        self._big = w.ToggleButton(description="Big figures")
        self._adopt = w.Button(description="Take over into the present dryer")
        self._problems, self._figures, self._verdict, self._top = (w.HTML() for _ in range(4))
        self._findings, self._next, self._power, self._heat, self._gaps, self._missing = (w.HTML() for _ in range(6))
        self._about, self._brief, self._keep = w.HTML(), w.HTML(), w.HTML()
        for name in ("brief", "announced"):
            self._brief.add_class(name)
        self._problems.add_class("live")
        self._big.add_class("primary")
        self._big.add_class("to-top")
        self._top.add_class("when-big")
        self.page = self._layout()
        self._watch()
        self.refresh()

    def _layout(self) -> w.Box:
        parts: list[w.Widget] = []
        self._titles = {title: w.HTML(f"<h2>{title}</h2>") for title, _ in GROUPS}
        self._where_field, self._control_field = Field(self._where), Field(self._control, "As the controller says.")
        for title, names in GROUPS:
            parts += [self._titles[title], *(self._readings[name].box for name in names)]
            if title == "Air flow":
                parts.append(self._where_field.box)
            if title == "Regeneration":
                parts.append(self._control_field.box)
        panel = card(
            Field(self._hopper, "The present dryer of the case.").box,
            Field(self._resin, "Typical values: follow the producer's sheet.").box,
            Field(self._units).box,
            w.HTML(
                "<p class='hint'>Type what you read; leave the rest empty. Another accuracy goes behind it: 121 ± 1.</p>"
            ),
            *parts,
            w.HTML("<h2>Taken when, by whom</h2>"),
            *(self._record[name].box for name in RECORD),
            self._clear,
        )
        panel.add_class("panel")
        buttons = w.HBox([self._big])
        buttons.add_class("buttons")
        adopt = w.HBox([self._adopt])
        adopt.add_class("buttons")
        self._head = card(self._problems, self._about, self._figures, self._verdict, self._top, buttons)
        self._head.add_class("headline")
        self._results = [
            self._head,
            card(w.HTML("<h2>Findings, by money a year</h2>"), self._findings),
            card(w.HTML("<h2>Worth reading next</h2><p class='hint'>What the ± would be with it.</p>"), self._next),
            card(w.HTML("<h2>Where the power goes</h2>"), self._power, self._missing),
            card(w.HTML("<h2>Read beside the model</h2>"), self._gaps),
            card(w.HTML("<h2>Heat in the hopper</h2><p class='hint'>From the readings as they are.</p>"), self._heat),
            card(
                self._keep,
                adopt,
                CaseBar(self.state).box,
            ),
        ]
        results = w.VBox([*self._results, w.HTML(tables.cautions()), Heartbeat()])
        results.add_class("results")
        page = w.Box([panel, results, self._brief])
        page.add_class("app")
        page.add_class("walk")
        return page

    def _watch(self) -> None:
        state = self.state
        self._units.observe(self._choose(lambda value: setattr(state, "system", value)), "value")
        self._hopper.observe(self._choose(lambda value: setattr(state, "hopper", value)), "value")
        self._resin.observe(self._choose(state.set_resin), "value")
        self._where.observe(self._choose(lambda value: state.choose_at("velocity_in", value)), "value")
        self._control.observe(
            self._choose(lambda value: state.choose_at("regeneration_control", value), empty=True), "value"
        )
        self._clear.on_click(lambda _: state.clear())
        self._adopt.on_click(lambda _: state.adopt())
        self._big.observe(lambda change: self._show_big(bool(change["new"])), "value")
        state.observe(lambda _: self.refresh(), "revision")

    def _choose(self, act: Any, *, empty: bool = False) -> Any:
        def chosen(change: dict[str, Any]) -> None:
            if not self._filling and (empty or change["new"] is not None):
                act(change["new"])

        return chosen

    def _show_big(self, big: bool) -> None:
        (self.page.add_class if big else self.page.remove_class)("big")
        self._big.description = "Back to the readings" if big else "Big figures"

    # --- showing

    def refresh(self) -> None:
        """Show the state: readings, problems, answer."""
        state, entry = self.state, self.state.entry
        hoppers = state.case.model.hoppers
        self._filling = True
        self._hopper.options = [(hopper.name, i) for i, hopper in enumerate(hoppers)]
        self._hopper.value = state.hopper
        self._resin.options = list(dict.fromkeys([*resin_names(), *(hopper.resin for hopper in hoppers)]))
        self._resin.value = state.chosen_hopper.resin
        self._units.value = state.system
        self._where.options = [(state.return_duct, "return duct"), ("process duct", "process duct")]
        self._where.value = "process duct" if entry.get("velocity_in") == "process duct" else "return duct"
        control = entry.get("regeneration_control")
        self._control.value = control if control in ("timer", "dew point") else None
        self._filling = False
        for field in (*self._readings.values(), *self._record.values()):
            field.refresh()
        self._show_offered()
        self._clear.disabled, self._adopt.disabled = not entry, not state.adoptable
        wrong = [_told(p.key, p.message) for p in state.problems]
        wrong += [state.trouble] if state.trouble else []
        self._problems.value = f'<p class="problem" role="alert">{escape(" ".join(wrong))}</p>' if wrong else ""
        if state.waiting:
            listed = ", ".join(state.waiting)
            self._problems.value += (
                f'<p class="hint" role="status">Left out so far: {escape(listed)}. Why stands beside each.</p>'
            )
        for result in self._results[:-1]:
            (result.add_class if state.stale or state.trouble else result.remove_class)("stale")
        self._show_answer()

    def _show_offered(self) -> None:
        """Leave out of the form what the type of dryer cannot have, but for what was typed already."""
        state = self.state
        self._keep.value = f"<h2>Keep it</h2><p class='hint'>{escape(keep_hint(state.dryer_type))}</p>"
        self._control_field.tell(state.not_here("regeneration_control"))
        for field, name in ((self._where_field, "air_velocity"), (self._control_field, "regeneration_control")):
            field.box.layout.display = None if state.offered(name) else "none"
        for title, names in GROUPS:
            more = ("regeneration_control",) if title == "Regeneration" else ()
            any_offered = any(state.offered(name) for name in (*names, *more))
            self._titles[title].layout.display = None if any_offered else "none"

    def _show_answer(self) -> None:
        state, made = self.state, self.state.result
        for part in self._results[1:-1]:
            part.layout.display = None if made else "none"
        self._big.layout.display = None if made else "none"
        if made is None:
            for html in (self._figures, self._verdict, self._top, self._about, self._brief):
                html.value = ""
            return
        found, system = made.balance.found, state.system
        note = record(made)
        self._about.value = f"<h2>{escape(found.readings.hopper)}</h2>" + (
            f"<p class='hint'>{escape(note)}</p>" if note else ""
        )
        self._brief.value = cards.brief(made, system, stale=state.stale or bool(state.trouble))
        self._figures.value = cards.figures(made, system)
        self._verdict.value, self._top.value = cards.verdict(made, system), cards.top_finding(made)
        self._findings.value, self._next.value = cards.findings(made), cards.next_readings(made, system)
        self._power.value, self._missing.value = cards.power(made), cards.missing(made)
        self._gaps.value = cards.gaps(made, system)
        self._heat.value = cards.heat((*made.balance.hopper, *made.balance.circuit))


def _told(key: str, message: str) -> str:
    """A problem with its place, which goes without saying where it is a reading."""
    return told(input_names.in_words(key), message) if key and not key.startswith("readings[") else in_words(message)


def app() -> None:
    """Show the view on the case that the launcher was given, or on the demo case."""
    show_page(View(WalkState(os.environ.get(CASE_VARIABLE) or None)).page)
