"""How sure the answer is: chances, band of cash, tornado, what to measure next; drawn while the page stays free."""

from __future__ import annotations

from typing import Any

import ipywidgets as w

from dashboards import simulation_charts, simulation_tables
from dashboards.fields import Field, card
from dashboards.markup import escape
from dashboards.plotview import PlotView
from dashboards.simulation_state import FINELY, SimulationState


class SimulationCard:
    """Binds widgets to a simulation; computes nothing."""

    def __init__(self, state: SimulationState) -> None:
        self.state = state
        self._filling = False
        self.sentence = w.HTML()
        """The chance in a sentence, to stand below the answer."""
        self._progress = w.HTML()
        self._progress.add_class("live")
        self._chances, self._readings, self._turns, self._drawn = w.HTML(), w.HTML(), w.HTML(), w.HTML()
        self._option = w.Dropdown(description="Option in the band of cash")
        self._band, self._curve, self._tornado = PlotView(), PlotView(), PlotView()
        self._tornado_title = w.HTML()
        self._finer = w.Button(description=f"Draw {FINELY:,} cases")
        buttons = w.HBox([self._finer])
        buttons.add_class("buttons")
        self.box = card(
            w.HTML("<h2>How sure is it?</h2>"),
            self._progress,
            self._chances,
            w.HTML("<h3>Cash against the present machine, with its spread</h3>"),
            Field(self._option).box,
            self._band,
            w.HTML("<h3>Chance of having paid back</h3>"),
            self._curve,
            w.HTML("<h3>What to measure next</h3>"),
            self._readings,
            self._tornado_title,
            self._tornado,
            self._turns,
            self._drawn,
            buttons,
        )
        self._parts = self.box.children[2:]
        self._option.observe(self._choose, "value")
        self._finer.on_click(lambda _: state.run_finely())
        state.observe(lambda _: self._show_progress(), ("what", "share", "problem", "stale"))
        state.observe(lambda _: self.refresh(), "revision")
        self._show_progress()
        self.refresh()

    def _choose(self, change: dict[str, Any]) -> None:
        if not self._filling and change["new"] is not None:
            self._show_band()

    def _show_progress(self) -> None:
        state = self.state
        if state.problem:
            said = f'<p class="problem" role="alert">{escape(state.problem)}</p>'
        elif state.what:
            said = f'<p class="hint">{simulation_tables.progress(state.what, state.share)}</p>'
        elif state.stale:
            said = '<p class="hint">The case has changed; it is drawn again once it stays.</p>'
        else:
            said = ""
        self._progress.value = said
        self.sentence.layout.display = (
            "none" if state.stale else None
        )  # a chance of another case stands beside no answer
        for part in self._parts:
            (part.add_class if state.stale else part.remove_class)("of-before")
        self._finer.layout.display = None if state.could_be_finer else "none"

    def refresh(self) -> None:
        """Show what was found."""
        found = self.state.simulation
        for part in self._parts[:-1]:
            part.layout.display = None if found is not None else "none"
        if found is None:
            return
        self._filling = True
        names = [o.name for o in found.comparison.in_order() if o.measures is not None]
        chosen = self._option.value
        self._option.options = names
        self._option.value = chosen if chosen in names else found.recommended if found.recommended in names else None
        self._filling = False
        count = f'<span class="hint">Of {found.draws:,} simulated cases.</span>'
        self.sentence.value = f'<p id="chance">{escape(found.chance())} {count}</p>'
        self._chances.value = simulation_tables.chances(found)
        self._readings.value = simulation_tables.readings(found)
        self._drawn.value = simulation_tables.drawn(found)
        self._curve.show(simulation_charts.payback_chances(found), "Share of simulated cases paid back, against time.")
        self._show_band()
        self._show_sensitivity()
        self._show_progress()

    def _show_band(self) -> None:
        found, name = self.state.simulation, self._option.value
        self._band.layout.display = "none" if name is None else None
        if found is not None and name is not None:
            self._band.show(simulation_charts.cash_band(found, name), found.chance(name))

    def _show_sensitivity(self) -> None:
        found, sensitivity = self.state.simulation, self.state.sensitivity
        there = found is not None and sensitivity is not None and bool(sensitivity.tornado)
        self._tornado_title.value = "<h3>What the net savings hang on, one input at a time</h3>" if there else ""
        self._tornado.layout.display = None if there else "none"
        self._turns.value = ""
        if found is not None and sensitivity is not None and sensitivity.tornado:
            self._tornado.show(
                simulation_charts.tornado(found, sensitivity),
                f"Net savings of {found.recommended} with one input at its P10 and P90; widest: "
                + ", ".join(s.label for s in sensitivity.tornado[:3]),
            )
        if found is not None and sensitivity is not None:
            self._turns.value = simulation_tables.hangs_on(found, sensitivity)
